"""The browser's evaluator of bundles, asked by the batch in a real browser, and held against Liningbook's own answers.

A batch comes back as text: every different reply once, and for every case which of them it got. Nothing of a reply is
left out of the comparison.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest

from liningbook.analysis import Analysis
from liningbook.cases.question import BadQuestion
from liningbook.cases.question import answer as liningbook_answer
from liningbook.cases.question import put as liningbook_put
from liningbook.meaning.possible import Possible
from liningbook.say.faults import reason_words
from liningbook.say.look_up.words import script_words
from liningbook.show.assets.scripts import ENGINE, part
from liningbook.show.terminal.reply import reply_json
from tests.oracle.generate import DAY

Given = Mapping[str, str]

BATCH = """([name, bundle, cases, day]) => {
  const { readBundle, answer, BadCase } = globalThis[name];
  const compiled = readBundle(JSON.parse(bundle));
  const kept = new Map();
  const replies = JSON.parse(cases).map((given) => {
    try {
      const { case: values, ...rest } = answer(compiled, given, day);
      const text = JSON.stringify(rest);
      if (!kept.has(text)) kept.set(text, kept.size);
      return { number: kept.get(text), case: values };
    } catch (bad) {
      if (!(bad instanceof BadCase)) return { broken: bad.message };
      return { bad: bad.message, kind: bad.kind, factor: bad.factor };
    }
  });
  return JSON.stringify({ texts: [...kept.keys()], replies });
}"""


def script(*more: str) -> str:
    """The parts of the page's script that answer, with the words of the language spoken; `more` parts after them."""
    text = "".join(map(part, ("say", *ENGINE, *more)))
    return f"{text}\nsayStart({json.dumps(script_words())});\n"


@dataclass
class Evaluator:
    """The evaluator, in a page of its own."""

    page: Any
    loaded: int = 0

    def load(self, text: str) -> str:
        """Runs a script as a module; gives the name under which the page holds it."""
        self.loaded += 1
        name = f"evaluator{self.loaded}"
        exports = "\nexport { Exact, parseQuantity, quantityUnits, readBundle, answer, BadCase };\n"
        self.page.evaluate(
            """async ([name, text]) => {
              const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
              globalThis[name] = await import(address);
            }""",
            [name, text + exports],
        )
        return name

    def replies(
        self, name: str, bundle: Mapping[str, Any], cases: Sequence[Given], day: date = DAY
    ) -> list[dict[str, Any]]:
        """What is replied to each case on a day; one that cannot be answered has `bad`, `kind` and `factor` instead,
        and one in which the evaluator itself fails has `broken`.
        """
        sent = [name, json.dumps(bundle), json.dumps(cases), str(day)]
        found = json.loads(self.page.evaluate(BATCH, sent))
        kept = [json.loads(text) for text in found["texts"]]
        return [
            {"case": reply["case"], **kept[reply["number"]]} if "number" in reply else reply
            for reply in found["replies"]
        ]

    def error(self, name: str, bundle: Mapping[str, Any], given: Given) -> str:
        """What the error says that a bundle or a case ends in; empty if it ends in a reply."""
        return str(
            self.page.evaluate(
                """([name, bundle, given]) => {
                  const { readBundle, answer } = globalThis[name];
                  try {
                    answer(readBundle(JSON.parse(bundle)), given, "2026-11-25");
                  } catch (error) {
                    return error.message;
                  }
                  return "";
                }""",
                [name, json.dumps(bundle), dict(given)],
            )
        )


@pytest.fixture(scope="session")
def evaluator(browser: Any) -> Iterator[Evaluator]:
    """A blank page for evaluators."""
    context = browser.new_context()
    yield Evaluator(context.new_page())
    context.close()


@pytest.fixture(scope="session")
def in_browser(evaluator: Evaluator) -> str:
    """The name of the evaluator as it is."""
    return evaluator.load(script())


# --- against Liningbook ---------------------------------------------------------------------------------------------


def expected(analysis: Analysis, given: Given, possible: Possible | None = None) -> dict[str, Any]:
    """What Liningbook itself replies; `bad` with its reason where it cannot. `possible` saves time with many cases."""
    assert analysis.protocol is not None
    assert analysis.meaning is not None
    try:
        question = liningbook_put(analysis.meaning, given)
    except BadQuestion as bad:
        return {"bad": reason_words(bad)}
    return reply_json(analysis.protocol, liningbook_answer(analysis.meaning, question, possible))


def differences(analysis: Analysis, cases: Sequence[Given], replies: Sequence[Mapping[str, Any]], tally: Counter[str]
                ) -> Iterator[str]:  # fmt: skip
    """A line for every case to which the two reply differently; what the replies hold is counted."""
    assert analysis.meaning is not None
    possible = Possible(analysis.meaning)
    for given, reply in zip(cases, replies, strict=True):
        wanted = expected(analysis, given, possible)
        tally.update(sorts(given, wanted))
        if "bad" in wanted or "bad" in reply:
            if problem := _refusals(wanted.get("bad", ""), reply):
                yield f"{dict(given)}: {problem}"
        elif wanted != reply:
            keys = sorted(key for key in {*wanted, *reply} if wanted.get(key) != reply.get(key))
            yield f"{dict(given)}: " + "; ".join(f"{key}: {wanted.get(key)} / {reply.get(key)}" for key in keys)


SAME_WORDS = ("unit", "out-of-limits", "not-read")
"""Kinds of refusals that the two word alike, the page in sentences. The others name commands, or guess at a word."""

OTHER_UNITS = ("is not a unit that Liningbook knows", "measures another kind of thing")
"""Units that the bundle does not know of, or does not tell from those that nobody knows."""


def _refusals(wanted: str, reply: Mapping[str, Any]) -> str:
    """What is wrong with one refusal or the other; empty if both refuse for the same reason."""
    if not wanted or "bad" not in reply:
        return f"only one of the two refuses: {wanted or 'the browser'} / {reply.get('bad', 'Liningbook')}"
    if reply["factor"] not in wanted and reply["kind"] != "not-read":
        return f"{wanted} / {reply['factor']}"
    if reply["kind"] not in SAME_WORDS or any(words in wanted for words in OTHER_UNITS):
        return ""
    said = wanted.removeprefix(f"{reply['factor']}: ").removesuffix(f"; write {reply['factor']}=…")
    return "" if sentences(said) == sentences(reply["bad"]) else f"{wanted} / {reply['bad']}"


def sentences(text: str) -> str:
    """A message as the page says it: every part a sentence with a capital, and quotation marks for what is written."""
    parts = re.sub("`([^`]*)`", r"“\1”", text).split("; ")
    return " ".join(f"{part[:1].upper()}{part[1:]}".removesuffix(".") + "." for part in parts)


def sorts(given: Given, reply: Mapping[str, Any]) -> Iterator[str]:
    """What sorts of things a reply holds."""
    if "bad" in reply:
        yield "refused"
        return
    yield "read off" if "readings" in reply else "given"
    yield {True: "in scope", False: "excluded", "open": "scope open"}[reply["in_scope"]]
    if reply["missing"]:
        yield "a part"
        yield from (key for key in ("settled", "open", "irrelevant") if reply[key])
        if reply["settled"] and reply["next"]:
            yield "settled in part"
        yield "asked on" if reply["next"] else "finished early"
        if reply["next"] in reply["irrelevant"]:
            yield "always asked"
    yield from {outcome["state"] for outcome in reply["advice"].values()}
    for key in ("silent", "borderline", "near", "otherwise_not_covered", "irritants"):
        if reply.get(key):
            yield key
    if [name for name in reply["advice"] if name in reply["placing_order"]] != reply["placing_order"]:
        yield "another order"
    if any(threat["given_off_by"] for threat in reply.get("irritants", ())):
        yield "given off"
    readings = reply.get("readings", {})
    if len(readings) > 1:
        yield "several readings"
    for key in ("stops_short_of_limit", "outside_limits"):
        if any(taken[key] for taken in readings.values()):
            yield key
    if any(len(text) > 30 for text in given.values()):
        yield "long number"
