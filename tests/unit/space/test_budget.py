"""What is said of a protocol that is too hard for the time given: never wrong, never silent, and never late."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, product
from time import process_time
from typing import Any

import pytest

from liningbook.checks.facts import cases_of
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.registry import run_all
from liningbook.exchange.findings import facts_json
from liningbook.finding import Finding, Severity
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.needed import Needed
from liningbook.model.protocol import Exclusion, Protocol
from liningbook.model.rule import Conditions
from liningbook.say.findings import told
from liningbook.space.boxes import Box, bits, cell_count, meets
from liningbook.space.budget import Budget, OutOfTime, in_force, stop_if_spent, usual_budget
from liningbook.space.cover import is_covered, uncovered
from liningbook.space.growth import few_large
from liningbook.space.region import Region
from liningbook.space.search import Search
from liningbook.space.share import Weights, share_text
from tests.bench.protocols import (
    DAY,
    NOWHERE,
    clauses,
    decision_table,
    practice,
    protocol,
    question,
    rule,
    unstructured,
)
from tests.limits import processor


class Ticking:
    """A clock that goes on by one second each time it is looked at."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        self.now += 1
        return self.now


def ticks(seconds: float) -> Budget:
    return Budget(seconds, Ticking())


def no_time() -> Budget:
    return Budget(0, lambda: 0.0)


def compiled(made: Protocol) -> tuple[Meaning, list[Box]]:
    meaning = Meaning(made, DAY)
    return meaning, [box for boxes in meaning.boxes for box in boxes]


def checked(made: Protocol, budget: Budget) -> list[Finding]:
    return run_all(Inquiry(Meaning(made, DAY), budget))


def boxes_of(finding: Finding) -> list[Box]:
    cases = cases_of(finding)
    return [] if cases is None else [tuple(box) for box in cases.region]


def keys(finding: Finding) -> dict[str, Any]:
    """What JSON has of a finding beside its kind."""
    about, (cases, further) = finding.fact.about(), facts_json(finding)
    return {"decision": about.decision, "rules": about.rules, **cases, **further}


RAGGED: list[tuple[str, Callable[[], Protocol]]] = [
    ("stretches", lambda: unstructured(40, 2, 3, 0.4, most=12)),
    ("short stretches", lambda: unstructured(60, 3, 4, 0.3, most=8)),
    ("clauses", lambda: clauses(10, 40)),
    ("full clauses", lambda: clauses(9, 90)),
    ("a table", lambda: decision_table(80, 4, "missing")),
]

ragged = pytest.mark.parametrize("made", [make for _, make in RAGGED], ids=[name for name, _ in RAGGED])


# --- the budget -----------------------------------------------------------------------------------------------------


def test_a_budget_runs_out_by_its_own_clock() -> None:
    now = [100.0]
    budget = Budget(5, lambda: now[0])
    part = budget.part(0.5)
    assert (budget.left, part.left, budget.is_spent) == (5, 2.5, False)
    now[0] = 102.5
    assert (budget.is_spent, part.is_spent, budget.left) == (False, True, 2.5)
    now[0] = 107
    assert (budget.is_spent, budget.left, budget.part(0.5).left) == (True, 0, 0)


def test_the_budget_in_force_is_that_of_the_innermost_block() -> None:
    outer, inner = Budget(5), Budget(1)
    before = in_force()
    with outer:
        with inner:
            assert in_force() is inner
        assert in_force() is outer
        assert usual_budget().left == 5
    assert in_force() is before
    assert not before.is_spent
    assert usual_budget().limit == Budget().limit


def test_the_usual_budget_goes_by_the_work_done_and_not_by_the_clock() -> None:
    budget = Budget(5)
    part = budget.part(0.5)
    assert (budget.limit.unit, budget.left, part.left) == ("steps", 5, 2.5)
    part.spend(3)
    assert (part.is_spent, budget.left, budget.is_spent) == (True, 2, False)
    with budget, pytest.raises(OutOfTime):
        stop_if_spent(2)


def test_what_is_found_before_the_work_is_used_up_is_the_same_every_time() -> None:
    made = unstructured(150, 3, 6, 0.3)
    found = [[(f.kind, keys(f)) for f in checked(made, Budget(100_000))] for _ in range(2)]
    assert found[0] == found[1]
    assert any(not keys.get("complete", True) for _, keys in found[0])


def test_more_work_settles_what_less_left_open() -> None:
    made = unstructured(60, 2, 6, 0.3)
    least, most = (gap_of(checked(made, Budget(amount))) for amount in (20_000, 5_000_000))
    assert keys(least)["complete"] is False
    assert keys(most).get("complete", True)
    assert any("--budget" in advice for advice in told(least).help)


# --- subtracting ------------------------------------------------------------------------------------------------------


def test_a_hard_question_is_given_up_when_the_time_is_spent() -> None:
    meaning, covers = compiled(clauses(40, 170))
    with no_time():
        with pytest.raises(OutOfTime):
            uncovered(meaning.space.full, covers)
        with pytest.raises(OutOfTime):
            Region((meaning.space.full,)).minus(covers)
        with pytest.raises(OutOfTime):
            Region.any_of(covers)


def test_an_easy_question_is_settled_however_late_it_is() -> None:
    meaning, covers = compiled(decision_table(12, 3, "missing"))
    expected = uncovered(meaning.space.full, covers)
    with no_time():
        assert uncovered(meaning.space.full, covers) == expected
        assert is_covered(covers[0], covers)
        assert few_large(expected)


# --- a search that is broken off --------------------------------------------------------------------------------------


@ragged
@pytest.mark.parametrize("seconds", [0, 3, 10, 40, 100, 300, 10**6])
def test_what_a_broken_off_search_says_is_true(made: Callable[[], Protocol], seconds: int) -> None:
    meaning, covers = compiled(made())
    full, weights = meaning.space.full, Weights(meaning.space)
    truth = uncovered(full, covers)
    found = Search([full], covers, weights).run(ticks(seconds))
    assert found.least <= weights.of_all(truth) <= found.most
    assert not any(meets(box, cover) for box in found.boxes for cover in covers)
    assert not any(meets(one, other) for one, other in combinations(found.boxes, 2))
    if found.is_complete:
        assert found.least == found.most
        assert list(found.boxes) == few_large(truth)
    if seconds == 10**6:
        assert found.is_complete


@ragged
def test_more_time_never_loosens_the_bounds_to_nothing(made: Callable[[], Protocol]) -> None:
    meaning, covers = compiled(made())
    weights = Weights(meaning.space)
    whole = weights.of(meaning.space.full)
    widths = []
    for seconds in (0, 10**6):
        found = Search([meaning.space.full], covers, weights).run(ticks(seconds))
        widths.append(found.most - found.least)
    assert 0 == widths[1] <= widths[0] <= whole


def test_a_search_keeps_to_the_boxes_it_was_given() -> None:
    meaning, covers = compiled(unstructured(40, 2, 3, 0.4, most=12))
    full = meaning.space.full
    half = full[0] & 0b1111111
    parts: Sequence[Box] = [(half, *full[1:]), (full[0] & ~half, *full[1:])]
    weights = Weights(meaning.space)
    for seconds in (0, 20, 10**6):
        found = Search(parts[:1], covers, weights).run(ticks(seconds))
        assert found.boxes
        assert not any(meets(box, parts[1]) for box in found.boxes)
        assert found.most <= weights.of(parts[0])


# --- shares -----------------------------------------------------------------------------------------------------------


def test_weights_are_lengths_counts_of_values_and_counts_of_multiples() -> None:
    made = decision_table(30, 3, "")
    number = made.factors["number-0"]
    assert number.limits is not None
    stepped = replace(made, factors={**made.factors, "number-0": replace(number, step=Fraction(1))})
    for one, whole in ((made, 1000 * 6 * 1000), (stepped, 1001 * 6 * 1000)):
        meaning = Meaning(one, DAY)
        weights = Weights(meaning.space)
        total = weights.of(meaning.space.full)
        assert Fraction(weights.of_all(Region.any_of(compiled(one)[1])), total) == 1
        unit = Fraction(whole, total)
        for rule_, (box,) in zip(meaning.rules, meaning.boxes, strict=True):
            size = Fraction(1)
            conditions = rule_.when[0].conditions
            for name, factor in one.factors.items():
                condition = conditions.get(name)
                if factor.kind == "choice":
                    size *= len(condition.values if condition else factor.values)
                elif name == "number-0" and one is stepped:
                    size *= sum(1 for n in range(1001) if condition is None or Fraction(n) in (condition.numbers or ()))
                else:
                    assert condition is None or condition.numbers is not None
                    ranges = condition.numbers.ranges if condition and condition.numbers else (factor.limits,)
                    size *= sum((r.upper.value - r.lower.value for r in ranges if r is not None), Fraction(0))
            assert weights.of(box) * unit == size


def test_shares_are_rounded_outwards() -> None:
    assert share_text(Fraction(1, 3), upwards=False) == "0.3333"
    assert share_text(Fraction(1, 3), upwards=True) == "0.3334"
    assert share_text(Fraction(1, 10**9), upwards=True) == "0.0001"
    assert share_text(Fraction(1), upwards=True) == share_text(Fraction(1), upwards=False) == "1.0000"
    assert share_text(Fraction(1, 4), upwards=True) == share_text(Fraction(1, 4), upwards=False) == "0.2500"


# --- findings ---------------------------------------------------------------------------------------------------------


def gap_of(findings: Sequence[Finding]) -> Finding:
    [gap] = [finding for finding in findings if finding.kind == "gap"]
    return gap


@ragged
@pytest.mark.parametrize("seconds", [0, 2000, 10**9])
def test_a_gap_is_never_wrong_and_never_passed_over(made: Callable[[], Protocol], seconds: int) -> None:
    meaning, covers = compiled(made())
    weights = Weights(meaning.space)
    truth = Region((meaning.space.full,)).minus(covers)
    gaps = [finding for finding in checked(made(), ticks(seconds)) if finding.kind == "gap"]
    if not truth:
        assert all(keys(finding)["complete"] is False and not keys(finding)["cases"] for finding in gaps)
        return
    [gap] = gaps
    assert gap.severity is Severity.ERROR
    found = Region(tuple(boxes_of(gap)))
    assert not found.minus(truth.boxes)
    if keys(gap).get("complete", True):
        assert not truth.minus(found.boxes)
        assert keys(gap)["witness"] is not None
        return
    share = Fraction(weights.of_all(truth), weights.of(meaning.space.full))
    assert Fraction(keys(gap)["bounds"]["least"]) <= share <= Fraction(keys(gap)["bounds"]["most"])
    if keys(gap)["cases"]:
        assert keys(gap)["witness"] is not None
    else:
        assert "takes too long to settle" in told(gap).message


def test_a_gap_that_is_too_ragged_has_a_witness_and_its_largest_boxes() -> None:
    gap = gap_of(checked(unstructured(60, 2, 6, 0.3), Budget(0.3, process_time)))
    assert keys(gap)["complete"] is False
    assert 0 < len(keys(gap)["cases"]) <= 20
    assert keys(gap)["witness"] is not None
    assert any("at least" in note for note in told(gap).notes)
    assert any("--budget" in advice for advice in told(gap).help)


def test_a_gap_with_no_time_left_is_an_error_with_bounds() -> None:
    gap = gap_of(checked(clauses(80, 360), no_time()))
    assert (gap.severity, keys(gap)["cases"], keys(gap)["witness"]) == (Severity.ERROR, [], None)
    assert keys(gap)["bounds"]["least"] == "0.0000"
    assert told(gap).message.startswith("there may be cases without a rule")


WHAT = ("decision", "rules", "cases", "witness")


def outline(findings: Sequence[Finding], *kinds: str) -> list[tuple[Any, ...]]:
    return [(f.kind, *(keys(f)[name] for name in WHAT)) for f in findings if f.kind in kinds]


@pytest.mark.parametrize("seed", range(3))
def test_conflicts_are_the_same_however_little_time_there_is(seed: int) -> None:
    made = practice(40, seed)
    kinds = ("conflict", "duplicate", "idle-override", "avoid-overridden", "unreachable")
    assert outline(checked(made, no_time()), *kinds) == outline(checked(made, Budget()), *kinds)


def test_conflicts_that_are_not_listed_are_counted() -> None:
    made = unstructured(80, 1, 4, 0.5)
    whole = [finding for finding in checked(made, Budget()) if finding.kind == "conflict"]
    short = [finding for finding in checked(made, no_time()) if finding.kind == "conflict"]
    assert len(short) == 201
    assert short[-1].severity is Severity.ERROR
    assert short[-1].fact.about().further == {"complete": False, "pairs": len(whole) - 200}
    assert outline(short[:-1], "conflict") == outline(whole[:200], "conflict")


def test_of_rules_that_all_meet_a_fixed_count_of_pairs_is_told_and_the_rest_is_counted() -> None:
    made = unstructured(150, 1, 4, 0.9)
    for amount in (100_000, 2_000_000):
        found = [[f for f in checked(made, Budget(amount)) if f.kind in ("conflict", "duplicate")] for _ in range(2)]
        assert [keys(finding) for finding in found[0]] == [keys(finding) for finding in found[1]]
        further = sum(keys(finding).get("pairs", 1) for finding in found[0])
        assert further == 150 * 149 // 2


def test_whether_a_rule_is_heard_is_left_open_rather_than_claimed() -> None:
    hard = clauses(80, 360)
    rules = list(hard.rules.values())
    last = rule(len(rules), hard.factors, {}, {"grade": "grade-1"})
    over = [
        rule(number, hard.factors, {name: frozenset(c.values) for name, c in one.when[0].conditions.items()},
             {"grade": "grade-0"}, overrides=[len(rules)])
        for number, one in enumerate(rules)
    ]  # fmt: skip
    made = protocol(list(hard.factors.values()), {"grade": question("grade", 2)}, [*over, last])
    [open_] = [finding for finding in checked(made, no_time()) if finding.kind == "unreachable"]
    assert open_.severity is Severity.NOTE
    assert open_.fact.about().further == {"complete": False, "undecided": [last.id]}
    assert not keys(open_)["rules"]


# --- where the cases in which a decision is needed are ragged themselves ----------------------------------------------


def with_exclusion(made: Protocol) -> Protocol:
    when = (Conditions({"caries": next(iter(made.rules.values())).when[0].conditions["pulp"]}),)
    factor = made.factors["caries"]
    condition = replace(when[0].conditions["caries"], factor="caries", values=(next(iter(factor.values)),))
    return replace(made, excluded=(Exclusion((Conditions({"caries": condition}),), "So be it.", "", NOWHERE),))


@pytest.mark.parametrize("seed", range(4))
def test_looking_at_each_region_by_itself_finds_the_same(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    made = with_exclusion(practice(40, seed))
    expected = checked(made, Budget())
    monkeypatch.setattr(Needed, "known", lambda *_: None)
    monkeypatch.setattr(Needed, "known_scope", lambda *_: None)
    found = checked(made, Budget())
    assert len(found) == len(expected)
    for one, other in zip(found, expected, strict=True):
        assert (one.kind, keys(one)["decision"], keys(one)["rules"]) == (
            other.kind,
            keys(other)["decision"],
            keys(other)["rules"],
        )
        assert keys(one).get("complete", True)
        a, b = (Region(tuple(boxes_of(finding))) for finding in (one, other))
        assert not a.minus(b.boxes)
        assert not b.minus(a.boxes)


def test_a_gap_under_a_ragged_decision_is_found_where_it_is_needed() -> None:
    first = unstructured(200, 3, 7, 0.3)
    ways = {
        "grade": first.decisions["grade"],
        "layer": replace(question("layer", 2), needed_when=("grade", ("grade-0",))),
    }
    made = replace(first, decisions=ways)
    findings = [finding for finding in checked(made, Budget(1, process_time)) if finding.kind == "gap"]
    assert [keys(finding)["decision"] for finding in findings] == ["grade", "layer"]
    gap = findings[1]
    assert keys(gap)["complete"] is False
    assert Fraction(keys(gap)["bounds"]["least"]) <= Fraction(keys(gap)["bounds"]["most"])
    meaning = Meaning(made, DAY)
    for box in boxes_of(gap):
        assert any(
            made.rules[r.id].advise["grade"].name == "grade-0"
            for r, (b,) in zip(meaning.rules, meaning.boxes, strict=True)
            if meets(b, box)
        )


# --- time of the processor --------------------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize(
    "family", [(200, 3, 6, 0.3), (500, 3, 8, 0.3), (2000, 4, 8, 0.3), (1000, 6, 8, 0.5), (2000, 8, 8, 0.3)]
)
def test_a_check_of_entangled_rules_ends_in_time_with_a_witness(family: tuple[int, int, int, float]) -> None:
    made = unstructured(*family)
    start = process_time()
    gap = gap_of(checked(made, Budget(1, process_time)))
    assert process_time() - start < processor(2.5), "one second, and what is said however late it is"
    assert keys(gap)["witness"] is not None
    assert keys(gap)["complete"] is False


@pytest.mark.slow
@pytest.mark.parametrize("variables", [60, 100, 150])
def test_a_check_of_random_clauses_ends_in_time(variables: int) -> None:
    start = process_time()
    checked(clauses(variables, round(4.26 * variables)), Budget(1, process_time))
    assert process_time() - start < processor(2.5)


@pytest.mark.parametrize("seed", range(6))
def test_random_clauses_are_settled_as_a_truth_table_settles_them(seed: int) -> None:
    made = clauses(9, 42, seed)
    meaning, covers = compiled(made)
    open_ = sum(
        1
        for case in product(*(list(bits(mask)) for mask in meaning.space.full))
        if not any(all(mask >> cell & 1 for mask, cell in zip(cover, case, strict=True)) for cover in covers)
    )
    assert sum(map(cell_count, uncovered(meaning.space.full, covers))) == open_
