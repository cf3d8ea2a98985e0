"""What the browser words it words as Python does: values, ranges, readings, answers, irritants, what is barred."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.cases.question import BadQuestion, Reply, answer, put
from liningbook.exchange.bundle import bundle_of
from liningbook.meaning.decide import Outcome, unplaced
from liningbook.notation.codec import range_notation
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import UNITS, Quantity
from liningbook.say.amounts import number_words, range_words
from liningbook.say.answers import answer_words, trouble_words
from liningbook.say.catalogue import languages, ngettext, speaking
from liningbook.say.command.reply import threat_words
from liningbook.say.locale import both, either
from liningbook.say.look_up.words import script_words
from liningbook.show.assets.scripts import DRAWING
from liningbook.show.markup.markdown import to_html
from liningbook.show.terminal.reply import reply_text
from liningbook.show.viewer import Viewer
from liningbook.show.web.page_words import page_words, reference_name
from liningbook.space.boxes import inside
from tests.browser.cases import cases, protocol
from tests.browser.evaluator import script
from tests.oracle.folder import write_folder
from tests.oracle.generate import DAY, Source

SEEDS = range(7000, 7040)
CASES = 40

EXPORTS = """
export { Exact, readBundle, answer, say, sayStart, sayBoth, sayEither, wordsFrame, wordsNumber, wordsRange };
export { wordsCounted, wordsOutcome, wordsThreat, wordsBand, wordsKey, groundsBars };
"""

WORD = """async ([bundle, words, cases]) => {
  const w = globalThis.wording;
  const compiled = w.readBundle(JSON.parse(bundle));
  const frame = w.wordsFrame(compiled.bundle, JSON.parse(words));
  return JSON.parse(cases).map((given) => {
    const reply = w.answer(compiled, given, "2026-11-25");
    return {
      counted: [...frame.factors.values()].map((factor) => w.wordsCounted(frame, factor, reply)),
      outcomes: Object.entries(reply.advice).map(
        ([id, one]) => w.wordsOutcome(frame, frame.decisions.get(id), one, reply.advice),
      ),
      threats: (reply.irritants ?? []).map((threat) => w.wordsThreat(frame, threat)),
      band: reply.borderline ? w.wordsBand(frame, reply) : "",
      barred: w.groundsBars(frame, compiled, given, reply).bars.map(
        ({ decision, name, never, rule }) => [decision.id, name, never, rule.id],
      ),
    };
  });
}"""


@pytest.fixture(scope="module")
def words_page(browser: Any) -> Iterator[Any]:
    """A blank page that holds the words' module."""
    context = browser.new_context()
    page = context.new_page()
    page.evaluate(
        """async (text) => {
          const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
          globalThis.wording = await import(address);
        }""",
        script(*DRAWING, "nodes", "grounds", "either", "advice") + EXPORTS,
    )
    yield page
    context.close()


def worded(analysis: Analysis, reply: Reply) -> dict[str, Any]:
    """What Python says of the same."""
    protocol_, meaning = analysis.protocol, analysis.meaning
    assert protocol_ is not None
    assert meaning is not None
    text = reply_text(protocol_, reply, (), width=10_000)
    band = next((line for line in text.splitlines() if line.startswith("Borderline: ")), "")
    found: dict[str, Any] = {
        "counted": case_words(text, protocol_.factors),
        "outcomes": [outcome_words(protocol_, name, reply.advice.outcomes) for name in reply.advice.outcomes],
        "threats": [words for _, words in threat_words(protocol_, reply.threats)],
        "band": band.removeprefix("Borderline: ").removesuffix(". Within that it could also be:"),
        "barred": [],
    }
    holding = [r for r in meaning.rules if any(inside(reply.question.case, b) for b in meaning.space.boxes(r.when))]
    for name, outcome in reply.advice.outcomes.items():
        if outcome.state == "not-needed":
            continue
        overridden = {other.id for r in holding if r.speaks_under(name) for other in r.overrides}
        for rule in holding:
            found["barred"] += [[name, item.id, True, rule.id] for item in rule.never.get(name, ())]
            if rule.id not in overridden:
                found["barred"] += [[name, item.id, False, rule.id] for item in rule.avoid.get(name, ())]
    return found


def case_words(text: str, factors: Mapping[str, Any]) -> list[str]:
    """The words of each value in the block of the case. Labels are random words without two blanks in them."""
    lines = text.split("\nCase:\n")[1].splitlines()[: len(factors)]
    parts = [line.strip().partition("  ") for line in lines]
    assert [label for label, _, _ in parts] == [factor.label for factor in factors.values()]
    return [words.strip() for _, _, words in parts]


def outcome_words(protocol_: Any, name: str, outcomes: Mapping[str, Outcome]) -> str:
    outcome = outcomes[name]
    if outcome.state != "answered":
        return trouble_words(protocol_, protocol_.decisions[name], outcome)
    answer_ = outcome.candidates[0].answer
    words = answer_words(protocol_, protocol_.decisions[name], answer_, unplaced(outcomes))
    return f"{words}: {answer_.why}" if answer_.why else words


def test_random_cases_of_random_protocols_are_worded_alike(words_page: Any, tmp_path: Path) -> None:
    tally: Counter[str] = Counter()
    for seed in SEEDS:
        plain = protocol(seed)
        analysis = analyse(write_folder(plain, tmp_path / str(seed)), date.fromisoformat(plain["day"]))
        assert analysis.meaning is not None
        bundle = bundle_of(analysis)
        words = page_words(Viewer(analysis, bundle["digest"], to_html))
        asked, wanted = [], []
        for given in cases(Source(seed), analysis.meaning.space.axes, CASES):
            try:
                question = put(analysis.meaning, given, complete=True)
            except BadQuestion:
                continue
            asked.append(given)
            wanted.append(worded(analysis, answer(analysis.meaning, question)))
        found = words_page.evaluate(WORD, [json.dumps(bundle), json.dumps(words), json.dumps(asked)])
        for given, one, other in zip(asked, found, wanted, strict=True):
            one["barred"].sort()
            other["barred"].sort()
            assert one == other, f"{seed}: {given}"
            tally.update(key for key, value in one.items() if value)
            tally["just short of a limit"] += any(text.startswith("just ") for text in one["counted"])
            tally["a layer"] += any(", " in text for text in one["outcomes"])
    assert min(tally[key] for key in ("counted", "outcomes", "threats", "band", "barred", "a layer")) >= 50, tally
    assert tally["just short of a limit"] >= 10


NUMBERS = [Fraction(text) for text in ("0", "1", "0.5", "2", "15", "0.05", "1000", "-3", "1.25")]


@pytest.mark.parametrize("code", ["mm", "um", "a", "d", "%", "deg", "1", "[pH]", "min", "Ohm"])
def test_numbers_and_ranges_are_worded_alike_in_every_kind_of_unit(words_page: Any, code: str) -> None:
    unit = UNITS[code]
    limits = Range(Lower(Fraction(0), True), Upper(Fraction(15), True))
    spans = [
        Range(Lower(low, low_in), Upper(high, high_in))
        for low in (Fraction(0), Fraction(1), Fraction("1.25"))
        for high in (Fraction(1), Fraction(2), Fraction(15))
        for low_in in (True, False)
        for high_in in (True, False)
        if low < high or (low == high and low_in and high_in)
    ]
    told = {
        "code": code,
        "symbol": unit.print_symbol(),
        "dimension": unit.dimension,
        "size": str(unit.size),
    }
    factor = {"id": "x", "unit": code, "at_least": f"0 {code}", "at_most": f"15 {code}"}
    found = words_page.evaluate(
        """([told, factor, numbers, spans]) => {
          const w = globalThis.wording;
          const frame = w.wordsFrame({ units: [told] }, {});
          const unit = frame.units.get(told.code);
          const worded = spans.map((span) => w.wordsRange(frame, factor, span));
          return [numbers.map((number) => w.wordsNumber(w.Exact.parse(number), unit)), worded];
        }""",
        [told, factor, [str(Quantity(n, unit)).split()[0] for n in NUMBERS], [range_notation(s, unit) for s in spans]],
    )
    assert found == [[number_words(n, unit) for n in NUMBERS], [range_words(s, unit, limits) for s in spans]]


@pytest.mark.parametrize("tag", languages())
def test_lists_numbers_and_counts_are_worded_alike_in_every_language(words_page: Any, tag: str) -> None:
    lists = [["a"], ["a", "b"], ["a", "b", "c"]]
    with speaking(tag):
        told = script_words()
        wanted = [[either(one), both(one)] for one in lists]
        layers = [
            ngettext("Place {count} layer", "Place {count} layers, in this order", count).format(count=count)
            for count in range(12)
        ]
        numbers = [number_words(Fraction("0.25"), UNITS[code]) for code in ("mm", "a", "%")]
    found = words_page.evaluate(
        """([told, lists, units]) => {
          const w = globalThis.wording;
          w.sayStart(told);
          const quarter = w.Exact.parse("0.25");
          return [
            lists.map((one) => [w.sayEither(one), w.sayBoth(one)]),
            Array.from({ length: 12 }, (_, count) => w.say("place", { count })),
            units.map((unit) => w.wordsNumber(quarter, unit)),
          ];
        }""",
        [told, lists, [{"code": code, "symbol": UNITS[code].print_symbol()} for code in ("mm", "a", "%")]],
    )
    words_page.evaluate("told => wording.sayStart(told)", script_words())
    assert found == [wanted, layers, numbers]


def test_an_answer_is_found_by_its_canonical_text_whatever_the_order_of_its_fields(words_page: Any) -> None:
    from liningbook.digest import canonical

    answer_ = {"wait": "4 min", "agent": 'é\u2028"x', "coats": 2, "thickness": {"below": "1 mm", "above": "0 mm"}}
    assert words_page.evaluate("one => wording.wordsKey(one)", answer_) == canonical(answer_).decode()


@pytest.mark.parametrize(
    ("data", "name"),
    [
        ({"author": [{"family": "Marlow"}], "issued": {"date-parts": [[2019, 3]]}}, "Marlow 2019"),
        ({"author": [{"family": "A"}, {"family": "Berg", "non-dropping-particle": "van der"}]}, "A and van der Berg"),
        ({"author": [{"family": name} for name in "ABC"], "issued": {"date-parts": [[2020]]}}, "A et al. 2020"),
        ({"author": [{"family": "A"}, {"literal": "others"}], "issued": {"raw": "then"}}, "A et al."),
        ({"title": "Amalgam Order", "issued": {"date-parts": [["2025"]]}}, "Amalgam Order 2025"),
        ({"id": "key"}, "key"),
    ],
)
def test_a_reference_is_called_by_its_author_and_year(data: dict[str, Any], name: str) -> None:
    assert reference_name(data) == name


def test_words_are_plain_data_with_an_entry_for_every_rule_in_force(demonstration: Path) -> None:
    analysis = analyse(demonstration, DAY)
    viewer = Viewer(analysis, "0" * 64, to_html)
    words = page_words(viewer)
    assert analysis.meaning is not None
    assert {name for name, _, _ in words["rules"]} == {rule.id for rule in analysis.meaning.rules}
    assert all(0 <= grade < len(words["grades"]) for _, grade, _ in words["rules"])
    assert json.dumps(words) == json.dumps(page_words(Viewer(analysis, "0" * 64, to_html)))
