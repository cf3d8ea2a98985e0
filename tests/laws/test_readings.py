"""Readings and narrow bands against a second calculation, on random protocols.

Readings are put so that the corrected value, or where it counts, often meets a threshold exactly; some lie off the
scale. What the contract leaves open is not asked at random: a step with a U that is no multiple of it. Bands
(`indistinct`) are compared band for band: exactly without a step; with one, the contract does not say where between two
multiples a change lies, so a band must be found if it is too narrow even from the multiple before it to the one after
it, and may be if it is from its first multiple to its last.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from liningbook.cases.question import answer, put
from liningbook.show.terminal.reply import reply_json
from tests import seeds
from tests.oracle.generate import Source
from tests.oracle.materials import GuardedWorld, guarded, guarded_world, protocol_with_materials, whens_of
from tests.oracle.notation import decimal, holds, limits_of, number, read_witness
from tests.oracle.readings import (
    Band,
    Expected,
    Said,
    corrected,
    expect,
    in_band,
    narrow_bands,
    read_band,
    said,
)

RANGE = (1000, 100, 5)
SEEDS = seeds.window(*RANGE)

RDT = {"kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm"}
BITEWING = {"scale": "0.7", "uncertainty": "0.4 mm", "guard_band": "1", "cautious": "below"}

QUESTIONS = 12
"""How many readings a protocol is asked about."""


@pytest.fixture(scope="module", params=SEEDS)
def world(request: pytest.FixtureRequest) -> Iterator[GuardedWorld]:
    with tempfile.TemporaryDirectory() as folder:
        yield guarded_world(str(request.param), protocol_with_materials(request.param), Path(folder))


@dataclass(frozen=True)
class Asked:
    """One question, as texts and as numbers; what is replied, and what must be."""

    texts: Mapping[str, str]
    reply: Mapping[str, Any]
    true: Expected


@pytest.fixture(scope="module")
def questions(world: GuardedWorld) -> list[Asked]:
    return list(ask(world))


def ask(world: GuardedWorld) -> Iterator[Asked]:
    """Random questions with a reading, and the replies."""
    source, grid, whens = Source(int(world.name)), world.brute.grid(), whens_of(world.plain)
    readable = [name for name, factor in world.factors.items() if "reading" in factor]
    for _ in range(QUESTIONS if readable else 0):
        given = grid.case(source.count(0, grid.count - 1))
        chosen = source.some(readable)
        read = {name: a_reading(source, world.factors[name], source.one(grid.axes[name])) for name in chosen}
        texts = {
            f"{name}.reading" if name in read else name: world.text(name, read.get(name, value))
            for name, value in given.items()
        }
        reply = reply_json(world.meaning.protocol, answer(world.meaning, put(world.meaning, texts)))
        yield Asked(texts, reply, expect(world.brute, whens, given, read))


def a_reading(source: Source, factor: Mapping[str, Any], value: Fraction) -> Fraction:
    """A reading that comes to a value, or to one on the edge of its uncertainty or guard band, or near it."""
    how, unit = factor["reading"], factor["unit"]
    expanded = number(how["uncertainty"], unit)
    guard = expanded * Fraction(how["guard_band"])
    y = value + source.one([guard, -guard, expanded, -expanded, Fraction(0)])
    if source.is_so(40):
        y += source.one([1, -1]) * Fraction(source.count(1, 99), 1000)
    read: Fraction = (y - corrected(factor, Fraction(0))) / Fraction(how.get("scale", "1"))
    return read


def says(world: GuardedWorld, outcome: Mapping[str, Any]) -> Said:
    """State and answers of an outcome in the reply."""
    state, answers, _ = world.outcome_of_json(outcome)
    return state, frozenset(meaning for meaning, _ in answers)


def says_bare(world: GuardedWorld, outcome: Mapping[str, Any]) -> Said:
    """State and answers of an outcome without its rules."""
    answers = outcome.get("answers", [outcome] if "answer" in outcome else [])
    return outcome["state"], frozenset(world.brute.meaning(item["answer"]) for item in answers)


def test_a_reading_is_corrected_and_counts_on_the_cautious_side(world: GuardedWorld, questions: list[Asked]) -> None:
    for asked in questions:
        for name, taken in asked.true.taken.items():
            factor, shown = world.factors[name], asked.reply["readings"][name]
            value = number(shown["treated_as"], factor["unit"])
            low, high = limits_of(factor)
            assert number(shown["corrected"], factor["unit"]) == taken.corrected, asked.texts
            assert low < value < high, asked.texts
            assert taken.stops_short or value == taken.value, asked.texts
            assert asked.reply["case"][name] == shown["treated_as"]


def test_the_advice_for_a_reading_is_that_of_the_value_it_counts_as(
    world: GuardedWorld, questions: list[Asked]
) -> None:
    for asked in questions:
        advice = asked.true.advice
        assert asked.reply["in_scope"] == advice.in_scope, asked.texts
        got = {decision: says(world, outcome) for decision, outcome in asked.reply["advice"].items()}
        assert got == {decision: said(advice, decision) for decision in advice.states}, asked.texts


def test_a_reading_is_borderline_exactly_where_the_advice_within_its_uncertainty_differs(
    world: GuardedWorld, questions: list[Asked]
) -> None:
    for asked in questions:
        assert ("borderline" in asked.reply) == asked.true.is_borderline, asked.texts
        shown: dict[str, Band] = {
            name: read_band(world.factors[name], band) for name, band in asked.reply.get("borderline", {}).items()
        }
        true = {name: taken.band for name, taken in asked.true.taken.items()}
        assert shown == (true if asked.true.is_borderline else {}), asked.texts


def test_otherwise_tells_what_else_the_advice_could_be(world: GuardedWorld, questions: list[Asked]) -> None:
    for asked in questions:
        got = {
            decision: {says(world, outcome) for outcome in outcomes}
            for decision, outcomes in asked.reply.get("otherwise", {}).items()
        }
        assert got == asked.true.otherwise, asked.texts


def test_of_a_part_of_a_case_it_tells_what_else_is_possible_in_any_completion(world: GuardedWorld) -> None:
    source, grid, whens = Source(int(world.name)), world.brute.grid(), whens_of(world.plain)
    readable = [name for name, factor in world.factors.items() if "reading" in factor]
    for _ in range(QUESTIONS // 4 if readable else 0):
        given = grid.case(source.count(0, grid.count - 1))
        read = {name: a_reading(source, world.factors[name], given[name]) for name in source.some(readable, most=1)}
        left_out = source.some([name for name in given if name not in read], most=2)
        if not left_out:
            continue
        texts = {
            f"{name}.reading" if name in read else name: world.text(name, read.get(name, value))
            for name, value in given.items()
            if name not in left_out
        }
        reply = reply_json(world.meaning.protocol, answer(world.meaning, put(world.meaning, texts)))
        completions = product(*(grid.axes[name] for name in left_out))
        true = [
            expect(world.brute, whens, {**given, **dict(zip(left_out, some, strict=True))}, read)
            for some in completions
        ]
        within = [one.advice.in_scope for one in true]
        assert reply["in_scope"] == (all(within) if all(within) or not any(within) else "open"), texts
        otherwise: dict[str, set[Said]] = {}
        for one in true:
            for decision, some in one.otherwise.items():
                mine = {says_bare(world, reply["settled"][decision])} if decision in reply["settled"] else set()
                if (mine or not any(within)) and some - mine:
                    otherwise.setdefault(decision, set()).update(some - mine)
        got = {name: {says_bare(world, out) for out in some} for name, some in reply.get("otherwise", {}).items()}
        assert got == otherwise, texts
        may_leave = all(within) and any(one.may_leave_scope for one in true)
        assert ("otherwise_not_covered" in reply) == may_leave, texts
        assert ("borderline" in reply) == bool(otherwise or may_leave), texts


def test_it_is_said_where_a_reading_may_be_one_that_the_protocol_does_not_cover(
    world: GuardedWorld, questions: list[Asked]
) -> None:
    reasons = {entry.get("because") or entry.get("instead", "") for entry in world.brute.excluded}
    for asked in questions:
        said_so = asked.reply.get("otherwise_not_covered", [])
        assert bool(said_so) == (asked.true.advice.in_scope and asked.true.may_leave_scope), asked.texts
        assert set(said_so) <= reasons


# --- bands too narrow for a reading ---------------------------------------------------------------------------------


def found_bands(world: GuardedWorld) -> dict[tuple[str, Band], int]:
    """The cells of each finding, by factor and band: sound boxes, all of the one band, with a witness inside."""
    found: dict[tuple[str, Band], int] = {}
    for finding in world.findings_of_the_day:
        if finding["kind"] != "indistinct":
            continue
        name = finding["factor"]
        bands = {read_band(world.factors[name], box[name]) for box in finding["cases"]}
        assert len(bands) == 1, finding["cases"]
        key = (name, bands.pop())
        assert key not in found, f"{key} is said twice"
        assert finding["severity"] == "warning"
        assert holds(world.factors, finding["cases"], read_witness(world.factors, finding["witness"]))
        found[key] = world.cells_of(finding["cases"])
    return found


def test_indistinct_bands_are_those_of_every_line_of_cases_looked_at(world: GuardedWorld) -> None:
    found = found_bands(world)
    true = narrow_bands(world.regions.grid, world.regions, world.factors)
    for key in {*found, *true.may}:
        missed = true.must.get(key, 0) & ~found.get(key, 0)
        wrong = found.get(key, 0) & ~true.may.get(key, 0)
        assert not missed, f"{key} lacks {world.shown(missed)}"
        assert not wrong, f"{key} is not so in {world.shown(wrong)}"


def test_a_clash_is_another_advice(tmp_path: Path) -> None:
    """The same answers, at odds with one another below 1 mm only: with U = 1.5 mm no reading tells which."""
    plain = protocol_with_materials(0)
    factor = {**RDT, "reading": {"uncertainty": "1.5 mm", "cautious": "below"}}
    layers = {"liner": {"layer": "liner"}, "base": {"layer": "base"}}
    plain["protocol"] |= {"factors": {"rdt": factor}, "excluded": [], "decisions": layers}
    pairing = {"with": {"liner": ["l"]}, "require": {"base": ["b"]}, "when": {"rdt": {"at_most": "1 mm"}}}
    plain["materials"] = {"agents": {"l": {"class": "liner"}, "b": {"class": "base"}}, "together": [pairing]}
    evidence = {"basis": "good-practice", "note": "None."}
    plain["rules"] = {
        "one": {"title": "One", "advise": {"liner": {"agent": "l"}, "base": "none"}, "evidence": evidence}
    }
    world = guarded_world("by hand", plain, tmp_path)
    assert set(found_bands(world)) == {("rdt", (Fraction(0), False, Fraction(1), True))}


# --- the calculation itself -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("how", "step", "read", "value", "band"),
    [
        # By hand from the contract: reading, the value that it counts as (nothing: just inside a limit), the range.
        ({}, None, "2", "1", {"at_least": "1 mm", "at_most": "1.8 mm"}),
        ({"guard_band": "0"}, None, "2", "1.4", {"at_least": "1 mm", "at_most": "1.8 mm"}),
        ({"guard_band": "0.83"}, None, "2", "1.068", {"at_least": "1 mm", "at_most": "1.8 mm"}),
        ({"cautious": "above"}, None, "2", "1.8", {"at_least": "1 mm", "at_most": "1.8 mm"}),
        ({"offset": "-0.2 mm"}, None, "2", "0.8", {"at_least": "0.8 mm", "at_most": "1.6 mm"}),
        ({}, None, "0.5", None, {"above": "0 mm", "at_most": "0.75 mm"}),
        ({}, None, "8.5", "5.55", {"at_least": "5.55 mm", "below": "6 mm"}),
        ({"cautious": "above"}, None, "8.5", None, {"at_least": "5.55 mm", "below": "6 mm"}),
        ({}, "0.05 mm", "2.01", "1", {"at_least": "1 mm", "at_most": "1.8 mm"}),
        ({"cautious": "above"}, "0.05 mm", "2.01", "1.85", {"at_least": "1.05 mm", "at_most": "1.85 mm"}),
        ({}, "0.05 mm", "0.5", "0.05", {"at_least": "0.05 mm", "at_most": "0.75 mm"}),
    ],
)
def test_the_second_calculation_against_one_by_hand(
    how: dict[str, str], step: str | None, read: str, value: str | None, band: dict[str, str], tmp_path: Path
) -> None:
    """Both agree with sums done on paper."""
    factor = {**RDT, "reading": {**BITEWING, **how}, **({"step": step} if step else {})}
    plain = protocol_with_materials(0)
    plain["protocol"] |= {"factors": {"rdt": factor}, "excluded": [], "decisions": {"done": {"answers": {"so": "So"}}}}
    plain["materials"] = {"agents": {}}
    edge = next(iter(band.values()))
    rule = {"title": "One", "advise": {"done": "so"}, "evidence": {"basis": "good-practice", "note": "None."}}
    plain["rules"] = {"one": {**rule, "when": {"rdt": [{"above": edge}, {"below": edge}]}}}
    if edge == "0 mm":
        plain["rules"]["one"]["when"] = {"rdt": {"above": "0.5 mm"}}
    world = guarded_world("by hand", plain, tmp_path)
    true = expect(world.brute, whens_of(plain), {}, {"rdt": Fraction(read)})
    reply = reply_json(world.meaning.protocol, answer(world.meaning, put(world.meaning, {"rdt.reading": f"{read} mm"})))
    assert true.taken["rdt"].band == read_band(factor, band)
    assert true.taken["rdt"].stops_short or value is not None
    assert read_band(factor, reply["borderline"]["rdt"]) == true.taken["rdt"].band
    assert step is not None or reply["borderline"]["rdt"] == band
    if value is not None:
        assert true.taken["rdt"].value == Fraction(value)
        assert reply["readings"]["rdt"]["treated_as"] == f"{value} mm"


def test_with_a_step_the_borderline_runs_from_multiple_to_multiple(tmp_path: Path) -> None:
    """y = 0.8 mm and U = w = 0.42 mm in steps of 0.05 mm: between 0.38 and 1.22 mm lie 0.4 to 1.2 mm."""
    factor = {**RDT, "step": "0.05 mm", "reading": {**BITEWING, "scale": "1", "uncertainty": "0.42 mm"}}
    plain = protocol_with_materials(0)
    plain["protocol"] |= {"factors": {"rdt": factor}, "excluded": [], "decisions": {"done": {"answers": {"so": "So"}}}}
    plain["materials"] = {"agents": {}}
    rule = {"title": "One", "advise": {"done": "so"}, "evidence": {"basis": "good-practice", "note": "None."}}
    plain["rules"] = {"one": {**rule, "when": {"rdt": {"above": "0.5 mm"}}}}
    world = guarded_world("by hand", plain, tmp_path)
    question = put(world.meaning, {"rdt.reading": "0.8 mm"})
    reply = reply_json(world.meaning.protocol, answer(world.meaning, question))
    assert reply["readings"]["rdt"]["treated_as"] == "0.35 mm"
    assert reply["borderline"] == {"rdt": {"at_least": "0.4 mm", "at_most": "1.2 mm"}}


def test_a_quantity_of_one_value_is_that_value_whatever_is_read(tmp_path: Path) -> None:
    """Both limits are 1 mm, so the guard band, which would take the reading below, takes it nowhere."""
    factor = {**RDT, "at_least": "1 mm", "at_most": "1 mm", "reading": BITEWING}
    plain = protocol_with_materials(0)
    plain["protocol"] |= {"factors": {"rdt": factor}, "excluded": [], "decisions": {"done": {"answers": {"so": "So"}}}}
    plain["materials"] = {"agents": {}}
    rule = {"title": "One", "advise": {"done": "so"}, "evidence": {"basis": "good-practice", "note": "None."}}
    plain["rules"] = {"one": rule}
    world = guarded_world("by hand", plain, tmp_path)
    for read in ("0 mm", "1 mm", "9 mm"):
        assert put(world.meaning, {"rdt.reading": read}).values == {"rdt": "1 mm"}


@pytest.mark.parametrize(
    ("edges", "uncertainty", "narrow"),
    [
        # Thresholds, U, and the bands too narrow: less than 2 U between thresholds, less than U to a limit (0, 6 mm).
        (["1", "2"], "0.5", []),
        (["1", "2"], "0.501", [("1", "2")]),
        (["0.5", "3"], "0.5", []),
        (["0.5", "3"], "0.501", [("0", "0.5")]),
        (["3", "5.5"], "0.501", [("5.5", "6")]),
        (["3"], "2.9", []),
        (["3"], "3.1", [("0", "3"), ("3", "6")]),
        (["2", "2.2", "3"], "0.45", [("2", "2.2"), ("2.2", "3")]),
    ],
)
def test_a_band_is_too_narrow_below_twice_u_and_at_a_limit_below_u(
    edges: list[str], uncertainty: str, narrow: list[tuple[str, str]], tmp_path: Path
) -> None:
    plain = protocol_with_materials(0)
    factor = {**RDT, "reading": {"uncertainty": f"{uncertainty} mm", "cautious": "below"}}
    answers = {f"a{n}": f"Something {n}" for n in range(len(edges) + 1)}
    plain["protocol"] |= {"factors": {"rdt": factor}, "excluded": [], "decisions": {"done": {"answers": answers}}}
    plain["materials"], plain["rules"] = {"agents": {}}, {}
    for n, (low, high) in enumerate(zip([None, *edges], [*edges, None], strict=True)):
        bounds = ({"above": f"{low} mm"} if low else {}) | ({"at_most": f"{high} mm"} if high else {})
        plain["rules"][f"r{n}"] = {
            "title": "One", "when": {"rdt": bounds}, "advise": {"done": f"a{n}"},
            "evidence": {"basis": "good-practice", "note": "None."},
        }  # fmt: skip
    world = guarded_world("by hand", plain, tmp_path)
    assert [(decimal(low), decimal(high)) for _, (low, _, high, _) in sorted(found_bands(world))] == narrow
    true = narrow_bands(world.regions.grid, world.regions, world.factors)
    assert true.must == true.may == found_bands(world)


def test_the_random_protocols_have_readings_and_bands_of_every_kind() -> None:
    """Otherwise the tests above would prove less than they say."""
    seen: Counter[str] = Counter()
    wanted = (
        "step True",
        "step False",
        "cautious below",
        "cautious above",
        "exact",
        "perhaps",
        "at a limit",
        "between",
    )
    for seed in SEEDS:
        if all(seen[what] >= 3 for what in wanted):
            break
        plain = protocol_with_materials(seed)
        oracle = guarded(plain)
        grid = oracle.grid()
        true = narrow_bands(grid, oracle.regions(grid), oracle.factors)
        for (name, (low, _, high, _)), cells in true.may.items():
            factor = oracle.factors[name]
            seen.update([f"step {'step' in factor}", f"cautious {factor['reading']['cautious']}"])
            seen.update(["exact"] if true.must.get((name, (low, _, high, _))) == cells else ["perhaps"])
            seen.update(["at a limit"] if {low, high} & {*limits_of(factor)} else ["between"])
            assert in_band((low, True, high, True), (low + high) / 2)
    assert {what: seen[what] for what in wanted if seen[what] < 3} == {}
