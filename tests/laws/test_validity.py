"""What happens on later days against brute force: random protocols whose rules start and end over three years.

The oracle judges every case on the day of the analysis and on every day up to the review on which a rule starts or
ends. Each finding of a later day must be so on its date; each error that a change brings must be reported with its
date, or be among the cases that a rule which ends leaves open.
"""

from __future__ import annotations

import json
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from tests import seeds
from tests.oracle.brute import Fact
from tests.oracle.compare import key_of
from tests.oracle.generate import DAY, Source
from tests.oracle.irritants import KINDS, Guarded, expected
from tests.oracle.irritants import key_of as of_materials
from tests.oracle.materials import GuardedWorld, guarded, guarded_world, protocol_with_materials
from tests.oracle.notation import holds, read_witness

RARE = (2002, 2045)
"""Those in which a later day brings a clash."""
SEEDS = seeds.window(2000, 60, 3, always=RARE)

REVIEW = date(2029, 11, 25)
A_DAY = timedelta(days=1)
ERRORS = ("conflict", "gap", "contraindicated", "clash")
OF_THE_DAY = (*ERRORS, "duplicate", "avoid-overridden", *KINDS)


def protocol_that_changes(seed: int) -> dict[str, Any]:
    """A random protocol about half of whose rules start or end, on few days so that several do so at once."""
    plain = protocol_with_materials(seed, most_cells=600)
    source = Source(seed)
    plain["protocol"]["review_by"] = REVIEW.isoformat()
    days = [DAY, DAY + A_DAY, date(2027, 6, 1), date(2028, 2, 28), date(2028, 2, 29), REVIEW - A_DAY, REVIEW]
    days += [REVIEW + A_DAY, DAY - A_DAY]
    for rule in plain["rules"].values():
        rule.pop("valid", None)
        if source.is_so(50):
            first, last = sorted(source.some(days, 2, 2))
            rule["valid"] = source.one(
                [{"from": first}, {"until": last}, {"until": last}, {"from": first, "until": last}]
            )
            rule["valid"] = {key: day.isoformat() for key, day in rule["valid"].items()}
    return plain


@dataclass
class Later(GuardedWorld):
    """A protocol on all its days."""

    @cached_property
    def changes(self) -> list[date]:
        """The later days up to the review on which a rule starts or has just ended."""
        spans = [rule.get("valid", {}) for rule in self.plain["rules"].values()]
        days = {date.fromisoformat(span["from"]) for span in spans if "from" in span}
        days |= {date.fromisoformat(span["until"]) + A_DAY for span in spans if "until" in span}
        return sorted(day for day in days if DAY < day <= REVIEW)

    @cached_property
    def facts(self) -> dict[date, dict[Fact, int]]:
        """What is so on the day and on each day of a change, with its cells."""
        found = {}
        for day in (DAY, *self.changes):
            oracle: Guarded = guarded(self.plain, day)
            regions = oracle.regions(self.regions.grid)
            found[day] = {fact: cells for fact, cells in regions.cells.items() if fact[0] in OF_THE_DAY}
            found[day] |= expected(oracle, regions)
        return found

    @cached_property
    def said(self) -> dict[date, dict[str, dict[Any, int]]]:
        """What each decision comes to on the day and on each day of a change, whoever says so, with its cells."""
        found: dict[date, dict[str, dict[Any, int]]] = {}
        for day in (DAY, *self.changes):
            tables = found.setdefault(day, {name: {} for name in self.brute.decisions})
            for (name, outcome), cells in guarded(self.plain, day).regions(self.regions.grid).outcomes.items():
                what = (outcome[0], frozenset(meaning for meaning, _ in outcome[1]))
                tables[name][what] = tables[name].get(what, 0) | cells
        return found

    def other_advice(self, before: date, day: date) -> dict[str, int]:
        """Where each decision comes to something else; without what a rule that ends leaves open."""
        found = {}
        for name, table in self.said[day].items():
            changed = 0
            for what, cells in table.items():
                changed |= cells & ~self.said[before][name].get(what, 0)
            for rule, first_without in self.ending().items():
                if first_without == day and name in self.plain["rules"][rule].get("advise", {}):
                    held = self.regions.grid.cells(self.plain["rules"][rule].get("when"))
                    changed &= ~(self.facts[day].get(("gap", name), 0) & held)
            if changed:
                found[name] = changed
        return found

    def on(self, day: date) -> list[dict[str, Any]]:
        """The findings of a later day."""
        return [finding for finding in self.findings if finding.get("on") == day.isoformat()]

    def ending(self) -> dict[str, date]:
        """The rules that end before the review but not before the day, each with the first day without it."""
        spans = {name: rule.get("valid", {}) for name, rule in self.plain["rules"].items()}
        ends = {name: date.fromisoformat(span["until"]) for name, span in spans.items() if "until" in span}
        return {name: end + A_DAY for name, end in ends.items() if DAY <= end < REVIEW}

    def left_open(self, name: str) -> int:
        """The cases of a rule that ends for which a decision that it answers has no answer then."""
        rule, day = self.plain["rules"][name], self.ending()[name]
        where = self.regions.grid.cells(rule.get("when"))
        found = 0
        for decision in rule.get("advise", {}):
            found |= self.facts[day].get(("gap", decision), 0) & where
        return found


def about(finding: dict[str, Any]) -> Fact:
    """What a finding is about, as the oracle names it."""
    return of_materials(finding) if finding["kind"] in KINDS else key_of(finding)


BY_ITSELF = ("expiring", "coming", "unscreened")
"""Kinds that speak of nothing but later days, and one that `test_screening.py` holds against every case of a day."""


@pytest.fixture(scope="module", params=SEEDS)
def world(request: pytest.FixtureRequest) -> Iterator[Later]:
    with tempfile.TemporaryDirectory() as folder:
        made = guarded_world(str(request.param), protocol_that_changes(request.param), Path(folder))
        yield Later(made.name, made.plain, made.folder)


def test_every_finding_of_a_later_day_is_so_on_its_date(world: Later) -> None:
    days = {day.isoformat(): day for day in world.changes}
    for finding in world.findings:
        if "on" not in finding or finding["kind"] in BY_ITSELF:
            continue
        assert finding["on"] in days, f"nothing changes on {finding['on']}"
        true = world.facts[days[finding["on"]]].get(about(finding), 0)
        cells = world.cells_of(finding["cases"])
        assert cells, finding
        assert not cells & ~true, f"{about(finding)} on {finding['on']} is not so in {world.shown(cells & ~true)}"
        assert holds(world.factors, finding["cases"], read_witness(world.factors, finding["witness"]))


def test_every_error_that_a_change_brings_is_said_with_its_date(world: Later) -> None:
    before = DAY
    for day in world.changes:
        reported: Counter[Fact] = Counter()
        for finding in world.on(day):
            if finding["kind"] not in BY_ITSELF:
                reported[about(finding)] |= world.cells_of(finding["cases"])
        for name, first_without in world.ending().items():
            if first_without == day:
                for decision in world.plain["rules"][name].get("advise", {}):
                    reported["gap", decision] |= world.left_open(name)
        for fact, cells in world.facts[day].items():
            if fact[0] in (*ERRORS, *KINDS):
                missed = cells & ~world.facts[before].get(fact, 0) & ~reported[fact]
                assert not missed, f"{fact} from {day} on is not said of {world.shown(missed)}"
        before = day


def test_nothing_is_said_again_for_a_later_day_where_it_was_so_all_along(world: Later) -> None:
    before = DAY
    for day in world.changes:
        for finding in world.on(day):
            if finding["kind"] not in BY_ITSELF:
                old = world.cells_of(finding["cases"]) & world.facts[before].get(about(finding), 0)
                assert not old, f"{about(finding)} is said again from {day} on for {world.shown(old)}"
        before = day


def test_a_rule_that_ends_before_the_review_is_said_with_the_cases_left_open(world: Later) -> None:
    said = {finding["rules"][0]: finding for finding in world.findings if finding["kind"] == "expiring"}
    assert len(said) == sum(finding["kind"] == "expiring" for finding in world.findings)
    assert set(said) == set(world.ending())
    for name, finding in said.items():
        assert finding["severity"] == "warning"
        assert finding["on"] == world.ending()[name].isoformat()
        cells, true = world.cells_of(finding["cases"]), world.left_open(name)
        assert not cells & ~true, f"{name} leaves answered {world.shown(cells & ~true)}"
        assert not true & ~cells, f"{name} leaves open {world.shown(true & ~cells)} too"


def test_other_advice_is_said_with_its_day_for_exactly_its_cases(world: Later) -> None:
    before = DAY
    for day in world.changes:
        reported = [finding for finding in world.on(day) if finding["kind"] == "coming"]
        found = {finding["decision"]: world.cells_of(finding["cases"]) for finding in reported}
        assert len(found) == len(reported)
        assert all(finding["severity"] == "note" for finding in reported)
        assert found == world.other_advice(before, day)
        before = day


def test_the_findings_of_a_day_are_those_of_the_rules_in_force_on_it(
    world: Later, capsys: pytest.CaptureFixture[str]
) -> None:
    """`check --on` for the last day on which something changes."""
    day = max(world.changes, default=DAY)
    main(["check", str(world.folder), "--format", "json", "--on", day.isoformat()])
    found = [finding for finding in json.loads(capsys.readouterr().out)["findings"] if finding["kind"] in OF_THE_DAY]
    now = {about(finding): world.cells_of(finding["cases"]) for finding in found if "on" not in finding}
    assert now == world.facts[day]


def test_the_random_protocols_change_in_every_way() -> None:
    """Otherwise the tests above would prove less than they say."""
    seen: Counter[str] = Counter()
    wanted = (*ERRORS, "unprotected", "less-protection", "left open", "nothing left open", "changes more than once")
    for seed in sorted(SEEDS, key=lambda seed: seed not in RARE):
        if all(seen[what] >= 2 for what in wanted):
            break
        with tempfile.TemporaryDirectory() as folder:
            made = guarded_world(str(seed), protocol_that_changes(seed), Path(folder))
            world = Later(made.name, made.plain, made.folder)
            before: dict[Fact, int] = {}
            for day, facts in world.facts.items():
                if day > DAY:
                    seen.update({str(fact[0]) for fact, cells in facts.items() if cells & ~before.get(fact, 0)})
                before = facts
        seen.update("left open" if world.left_open(name) else "nothing left open" for name in world.ending())
        seen.update(["changes more than once"] if len(world.changes) > 1 else [])
    assert {what: seen[what] for what in wanted if seen[what] < 2} == {}
