"""A case of which only a part is known: what is said of it holds in every completion, and only what matters is asked.

Random protocols, of which every completion is looked at (`tests/oracle/partial.py`), with nothing of the engine.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.cases.question import Reply, answer, put
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.possible import Possible
from liningbook.show.terminal.reply import reply_json
from tests import seeds
from tests.oracle.brute import Brute
from tests.oracle.folder import brute, write_folder
from tests.oracle.generate import Source, random_protocol
from tests.oracle.notation import as_list, decimal, thresholds
from tests.oracle.partial import Cases, Partial, asked_first
from tests.oracle.readings import said

SEEDS = seeds.window(0, 200, 10)
MOST_CELLS = 1_500
CASES = 6
"""How many cases of each protocol are asked for to the end, and how many parts of cases are looked at beside."""


@dataclass
class Asked:
    """A protocol, some of whose factors are always asked, and with questions to be asked first."""

    plain: dict[str, Any]
    meaning: Meaning
    possible: Possible
    cases: Cases
    source: Source

    @property
    def brute(self) -> Brute:
        return self.cases.brute

    @property
    def always(self) -> list[str]:
        return [name for name, f in self.plain["protocol"]["factors"].items() if f.get("always_ask") == "yes"]

    def reply(self, known: tuple[int | None, ...]) -> Reply:
        given = {
            name: self.text(name, self.cases.axes[name][n])
            for name, n in zip(self.cases.names, known, strict=True)
            if n is not None
        }
        return answer(self.meaning, put(self.meaning, given), self.possible)

    def text(self, name: str, value: Any) -> str:
        factor = self.plain["protocol"]["factors"][name]
        return f"{decimal(value)} {factor['unit']}" if factor["kind"] == "quantity" else str(value)

    def some_case(self) -> tuple[int, ...]:
        return tuple(self.source.random.randrange(len(axis)) for axis in self.cases.axes.values())


def with_questions(plain: dict[str, Any], source: Source) -> dict[str, Any]:
    """The protocol with what it asks first, some of it screening, and factors that it always asks."""
    factors = plain["protocol"]["factors"]
    whens = [when for rule in plain["rules"].values() for when in as_list(rule.get("when", {})) if when]
    plain["protocol"]["stop_questions"] = ["Is anything else the matter?"] + [
        {"ask": f"Question {number}?", "screens": source.one(whens)} for number in range(source.count(0, 2)) if whens
    ]
    for factor in factors.values():
        if source.is_so(20):
            factor["always_ask"] = "yes"
    return plain


@pytest.fixture(scope="module", params=SEEDS)
def asked(request: pytest.FixtureRequest) -> Iterator[Asked]:
    source = Source(request.param)
    plain = with_questions(random_protocol(request.param, MOST_CELLS), source)
    with tempfile.TemporaryDirectory() as folder:
        meaning = understand(write_folder(plain, Path(folder)), date.fromisoformat(plain["day"])).meaning
        assert meaning is not None
        oracle = brute(plain)
        screens = [q["screens"] for q in plain["protocol"]["stop_questions"] if "screens" in q]
        more = {
            name: thresholds(name, factor["unit"], screens)
            for name, factor in oracle.factors.items()
            if factor["kind"] == "quantity"
        }
        yield Asked(plain, meaning, Possible(meaning), Cases(oracle, oracle.grid(more)), source)


def test_what_is_said_of_a_part_of_a_case_holds_in_every_completion(asked: Asked) -> None:
    for _ in range(CASES):
        whole = asked.some_case()
        known = tuple(None if asked.source.is_so(50) else n for n in whole)
        if None in known:
            assert_right(asked, known)
    assert_right(asked, (None,) * len(asked.cases.names))


def test_following_the_questions_settles_every_case_and_asks_nothing_that_can_change_nothing(asked: Asked) -> None:
    for _ in range(CASES):
        whole = asked.some_case()
        known: tuple[int | None, ...] = (None,) * len(whole)
        while None in known:
            reply = asked.reply(known)
            assert reply.rest is not None
            name = reply.rest.asking.next
            if name is None:
                break
            at = asked.cases.names.index(name)
            assert known[at] is None
            assert name not in reply.rest.asking.irrelevant or name in asked.always
            known = (*known[:at], whole[at], *known[at + 1 :])
        assert_as_the_whole(asked, known, whole)


def assert_as_the_whole(asked: Asked, known: tuple[int | None, ...], whole: tuple[int, ...]) -> None:
    """Nothing is open any more, and the whole case is advised just so."""
    reply = asked.reply(known)
    judged = asked.cases.judged(whole)
    if reply.rest is not None:
        assert not reply.rest.open
        assert reply.rest.in_scope is judged.in_scope
        if judged.in_scope:
            assert all(known[asked.cases.names.index(name)] is not None for name in asked.always)
    told = {name: said_of(asked, one) for name, one in reply_json(asked.meaning.protocol, reply)["advice"].items()}
    assert told == {name: said(judged, name) for name in judged.states}


def said_of(asked: Asked, told: dict[str, Any]) -> Any:
    answers = told.get("answers", [told] if "answer" in told else [])
    return told["state"], frozenset(asked.brute.meaning(item["answer"]) for item in answers)


def assert_right(asked: Asked, known: tuple[int | None, ...]) -> None:
    expected = Partial(asked.cases, known)
    told = reply_json(asked.meaning.protocol, asked.reply(known))
    assert told["missing"] == expected.missing
    assert told["in_scope"] == expected.in_scope
    settled = {name: some for name, some in expected.possible.items() if len(some) == 1}
    assert {name: {said_of(asked, one)} for name, one in told["settled"].items()} == settled
    assert {name: {said_of(asked, one) for one in some} for name, some in told["open"].items()} == {
        name: expected.possible[name] for name in expected.open
    }
    assert all(len(some) == len(expected.possible[name]) for name, some in told["open"].items())
    assert list(told["advice"]) == list(settled)
    for name, one in told["advice"].items():
        answers = one.get("answers", [one] if "answer" in one else [])
        rules = {asked.brute.meaning(item["answer"]): set(item["rules"]) for item in answers}
        assert rules == expected.rules(name)
        assert {(item["agent"], item["rule"]) for item in one.get("avoided_by", [])} == expected.avoided(name)
        assert set(told["silent"].get(name, [])) == expected.silent(name)
    if (order := expected.order()) is not None and expected.judgements:
        assert told["placing_order"] == order
    assert told["irrelevant"] == [name for name in expected.missing if not expected.matters(name)]
    assert told["next"] == expected.next(asked.always, asked_first(asked.cases, asked.plain["protocol"]))


def test_an_order_of_placing_that_hangs_on_what_is_missing_is_not_said(tmp_path: Path) -> None:
    """The sealer is to come before the liner, wherever there is one: then it comes before the base too."""
    plain = random_protocol(0, MOST_CELLS)
    layers = ("liner", "base", "sealer")
    plain["protocol"] |= {
        "factors": {"deep": {"label": "Deep", "kind": "yes-no"}},
        "decisions": {layer: {"label": layer.capitalize(), "layer": layer} for layer in layers},
        "excluded": [],
        "stop_questions": ["Any pain?"],
    }
    plain["materials"] = {"agents": {f"an-agent-{layer}": {"label": layer, "class": layer} for layer in layers}}

    def advising(when: dict[str, str], **advise: Any) -> dict[str, Any]:
        evidence = {"basis": "good-practice", "note": "None."}
        return {"title": "One", "when": when, "advise": advise, "evidence": evidence}

    agents: dict[str, dict[str, str]] = {layer: {"agent": f"an-agent-{layer}"} for layer in layers}
    plain["rules"] = {
        "one": advising({}, base=agents["base"], sealer={**agents["sealer"], "before": "liner"}),
        "deep": advising({"deep": "yes"}, liner=agents["liner"]),
        "shallow": advising({"deep": "no"}, liner="none"),
    }
    meaning = understand(write_folder(plain, tmp_path), date.fromisoformat(plain["day"])).meaning
    assert meaning is not None
    orders = [
        reply_json(meaning.protocol, answer(meaning, put(meaning, given)))["placing_order"]
        for given in ({"deep": "yes"}, {"deep": "no"}, {})
    ]
    assert orders == [["sealer", "liner", "base"], ["base", "sealer"], []]
    plain["rules"]["one"]["advise"]["sealer"] = agents["sealer"]
    meaning = understand(write_folder(plain, tmp_path / "alike"), date.fromisoformat(plain["day"])).meaning
    assert meaning is not None
    alike = reply_json(meaning.protocol, answer(meaning, put(meaning, {})))
    assert alike["placing_order"] == ["base", "sealer"]


def test_the_protocols_show_every_sort_of_part() -> None:
    """A law about cases in which nothing is ever open, or settled, or out of scope would prove nothing."""
    seen: dict[str, int] = {}
    for seed in range(30):
        source = Source(seed)
        plain = with_questions(random_protocol(seed, 400), source)
        oracle = brute(plain)
        cases = Cases(oracle, oracle.grid())
        for _ in range(4):
            cell = [source.random.randrange(len(axis)) for axis in cases.axes.values()]
            part = Partial(cases, tuple(None if source.is_so(50) else n for n in cell))
            irrelevant = [name for name in part.missing if not part.matters(name)]
            for what, holds in {
                "open": part.open, "settled": len(part.open) < len(part.possible), "out": part.in_scope is False,
                "scope open": part.in_scope == "open", "irrelevant": irrelevant and part.open,
                "asked": part.next([], []), "always": part.next(part.missing, []) in irrelevant,
            }.items():  # fmt: skip
                seen[what] = seen.get(what, 0) + bool(holds)
    assert min(seen.values()) >= 3, seen
