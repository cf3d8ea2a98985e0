"""Which cases depart from the chart, and which of them no stop question takes off it: every case looked at.

Random protocols with random stop questions and cards. What the chart stands for is worked out here from the contract
alone: the bands' quantity and the columns' choice are what most rules on layers ask about, the usual value of another
factor is the first (`no` first) that leaves a layer to be decided on. A case departs where it comes to something else
than each case in scope with the same band and column and usual values (its own value, where that is usual).
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from tests import seeds
from tests.oracle.brute import Brute
from tests.oracle.folder import brute, write_folder, yaml_text
from tests.oracle.generate import Source, random_protocol
from tests.oracle.notation import as_list, holds, mappings, meets, thresholds
from tests.oracle.partial import Cases, Cell
from tests.oracle.readings import said
from tests.oracle.world import World

SEEDS = seeds.window(0, 300, 10)
LATER = seeds.window(300, 60, 10, always=[14, 21, 35, 50, 55, 85])
"""With those in which a later day brings some."""
MOST_CELLS = 1_500


def with_questions(plain: dict[str, Any], source: Source) -> dict[str, Any]:
    """The protocol with stop questions, some of which screen, and a card that may choose what is usual and shown."""
    factors = plain["protocol"]["factors"]
    whens = [when for rule in plain["rules"].values() for when in as_list(rule.get("when", {})) if when]
    plain["protocol"]["stop_questions"] = ["Anything else?"] + [
        {"ask": f"Question {number}?", "screens": source.one(whens)} for number in range(source.count(0, 3)) if whens
    ]
    plain["card"] = {}
    choices = [name for name, factor in factors.items() if factor["kind"] == "choice"]
    quantities = [name for name, factor in factors.items() if factor["kind"] == "quantity"]
    usual: dict[str, Any] = {}
    for names, key in ((quantities, "bands_by"), (choices, "columns_by")):
        if names and source.is_so(40):
            made_by = source.one(names)
            plain["card"][key] = made_by
            others = [name for name in names if name != made_by]
            if others and source.is_so(70):
                name = source.one(others)
                ranges = [mapping[name] for when in whens for mapping in mappings(when) if name in mapping]
                one = source.one(list(factors[name].get("values", [None])))
                if one is not None or ranges:
                    usual[name] = one if one is not None else source.one(ranges)
            if key == "columns_by" and source.is_so(30):
                plain["card"]["restorations"] = source.some(list(factors[made_by]["values"]))
            ranges = [mapping[made_by] for when in whens for mapping in mappings(when) if made_by in mapping]
            if key == "bands_by" and ranges and source.is_so(30):
                plain["card"]["bands"] = source.one(ranges)
    if usual:
        plain["card"]["usual"] = usual
    if source.is_so(30):
        plain["card"]["decisions"] = source.some(list(plain["protocol"]["decisions"]))
    return plain


@dataclass
class Charted:
    """The chart and the stop questions of a protocol, every case looked at."""

    plain: Mapping[str, Any]
    more: Iterable[Mapping[str, Any]] = ()
    """Boxes whose thresholds are told apart besides."""
    mistake: str = ""
    """What is left out, to show that it matters."""
    oracle: Brute = field(init=False)

    def __post_init__(self) -> None:
        self.oracle = brute(self.plain)
        self.factors, self.card = self.oracle.factors, self.plain["card"]
        shown = {self.card["bands_by"]: self.card["bands"]} if "bands" in self.card else {}
        whens = [*self.screens, self.card.get("usual", {}), shown, list(self.more)]
        extra = {
            name: thresholds(name, factor["unit"], whens)
            for name, factor in self.factors.items()
            if factor["kind"] == "quantity"
        }
        self.cases = Cases(self.oracle, self.oracle.grid(extra))
        self.shown_values = {name: list(values) for name, values in self.cases.axes.items()}
        if shown:
            self.keep(self.card["bands_by"], self.card["bands"])

    @property
    def screens(self) -> list[Any]:
        return [q["screens"] for q in self.plain["protocol"]["stop_questions"] if "screens" in q]

    def keep(self, name: str, condition: Any) -> None:
        self.shown_values[name] = [v for v in self.shown_values[name] if meets(self.factors[name], condition, v)]

    # --- the chart --------------------------------------------------------------------------------------------------

    @cached_property
    def axes(self) -> tuple[str, str] | None:
        """The factors of the bands and of the columns."""
        asked: Counter[str] = Counter()
        for rule in self.oracle.rules.values():
            if any("layer" in self.oracle.decisions[name] for name in rule.get("advise", {})):
                asked.update(name for mapping in mappings(rule.get("when")) for name in mapping)
        found = []
        for kind, key in (("quantity", "bands_by"), ("choice", "columns_by")):
            able = [n for n, f in self.factors.items() if f["kind"] == kind and n not in self.card.get("usual", {})]
            if not able:
                return None
            found.append(self.card.get(key) or max(able, key=lambda n: asked[n]))
        return found[0], found[1]

    @cached_property
    def usual(self) -> dict[str, list[Any]]:
        """The usual values of the other factors."""
        assert self.axes is not None
        if "restorations" in self.card:
            self.shown_values[self.axes[1]] = list(self.card["restorations"])
        chosen = self.card.get("usual", {})
        found = {name: list(values) for name, values in self.shown_values.items()}
        for name in chosen:
            found[name] = [v for v in found[name] if meets(self.factors[name], chosen[name], v)]
        layers = [name for name, decision in self.oracle.decisions.items() if "layer" in decision]
        for name, factor in self.factors.items():
            if name in self.axes or name in chosen or factor["kind"] == "quantity":
                continue
            order = sorted(found[name], key=lambda v: v != "no") if factor["kind"] == "yes-no" else found[name]
            wanted = (one for one in order if self.any_needed({**found, name: [one]}, layers))
            found[name] = [next(wanted, order[0])]
        return {name: values for name, values in found.items() if name not in self.axes}

    def any_needed(self, values: Mapping[str, list[Any]], layers: list[str]) -> bool:
        for cell in self.cases.cells():
            case = self.cases.values(cell)
            if all(case[name] in values[name] for name in case):
                judged = self.cases.judged(cell)
                if judged.in_scope and any(judged.states[layer] != "not-needed" for layer in layers):
                    return True
        return False

    @property
    def decisions(self) -> list[str]:
        """Those that the card shows."""
        wanted = set(self.card.get("decisions", self.oracle.decisions))
        for name, decision in reversed(self.oracle.decisions.items()):
            if name in wanted:
                wanted |= set(decision.get("needed_when", {}))
        return [name for name in self.oracle.decisions if name in wanted]

    # --- departures -------------------------------------------------------------------------------------------------

    def unusual(self, cell: Cell) -> tuple[str, ...]:
        case = self.cases.values(cell)
        return tuple(name for name, values in self.usual.items() if case[name] not in values)

    def references(self, cell: Cell) -> Iterator[Cell]:
        """The same case with usual values."""
        return self.with_usual(cell, self.unusual(cell))

    def with_usual(self, cell: Cell, names: Iterable[str]) -> Iterator[Cell]:
        places = [
            [self.cases.axes[name].index(value) for value in self.usual[name]] if name in names else [at]
            for name, at in zip(self.cases.names, cell, strict=True)
        ]
        return product(*places)

    def departs(self, cell: Cell, decision: str) -> bool:
        judged = self.cases.judged(cell)
        if not judged.in_scope or judged.states[decision] == "not-needed":
            return False
        references = [one for other in self.references(cell) if (one := self.cases.judged(other)).in_scope]
        if self.mistake == "out of scope agrees" and not references:
            return False
        return not references or any(said(one, decision) != said(judged, decision) for one in references)

    @cached_property
    def open(self) -> dict[str, set[Cell]]:
        """By decision, the departures that are shown and that no question takes off."""
        found: dict[str, set[Cell]] = {}
        for cell in self.cases.cells():
            case = self.cases.values(cell)
            usual = self.usual  # which says what is shown as well
            if not all(case[name] in self.shown_values[name] for name in case):
                continue
            asked = any(holds(self.factors, when, case) for when in self.screens)
            if (asked and self.mistake != "nothing screens") or not usual:
                continue
            for decision in self.decisions:
                if self.departs(cell, decision):
                    found.setdefault(decision, set()).add(cell)
        return found

    def expected(self) -> dict[tuple[str, ...], tuple[set[Cell], set[str]]]:
        """By the factors that are unusual, the cases and the decisions concerned."""
        if self.axes is None:
            return {}
        rest = set().union(*self.open.values()) if self.open else set()
        found = {}
        while rest:
            least = min(len(self.unusual(cell)) for cell in rest)
            level: dict[tuple[str, ...], set[Cell]] = {}
            for names in {self.unusual(cell) for cell in rest if len(self.unusual(cell)) == least}:
                level[names] = {
                    cell
                    for cell in rest
                    if set(names) <= set(self.unusual(cell))
                    and any(
                        other in rest and self.unusual(other) == names
                        for other in self.with_usual(cell, set(self.unusual(cell)) - set(names))
                    )
                }
            for names, cells in level.items():
                found[names] = cells, {name for name, own in self.open.items() if own & cells}
            rest = rest.difference(*level.values())
        return found


def charted_world(seed: int, folder: Path) -> tuple[Charted, World, dict[str, list[dict[str, Any]]]]:
    """The chart, everything beside it, and what is found, by its day (of the analysis: the empty text)."""
    plain = with_questions(random_protocol(seed, MOST_CELLS), Source(seed))
    world = World(str(seed), plain, write_folder(plain, folder))
    if plain["card"]:
        (folder / "card.yaml").write_text(yaml_text(plain["card"]), "utf-8")
    from liningbook.exchange.findings import findings_json

    assert world.analysis.protocol is not None, [f.fact for f in world.analysis.findings]
    found: dict[str, list[dict[str, Any]]] = {"": []}
    for one in findings_json(world.analysis)["findings"]:
        if one["kind"] == "unscreened":
            found.setdefault(one.get("on", ""), []).append(one)
    return Charted(plain, [box for one in found[""] for box in one["cases"]]), world, found


Told = dict[tuple[str, ...], tuple[set[Cell], set[str]]]


def told_by(chart: Charted, found: Iterable[Mapping[str, Any]]) -> Told:
    """By the factors that are unusual, the cases that are told and the decisions concerned."""
    grid = chart.cases
    told = {}
    for one in found:
        cells: set[Cell] = set()
        for box in one["cases"]:
            own = {cell for cell in grid.cells() if holds(chart.factors, box, grid.values(cell))}
            assert own, "a box holds no case"
            assert not own & cells, "boxes meet"
            cells |= own
        witness = {name: number_or_word(chart, name, text) for name, text in one["witness"].items()}
        assert holds(chart.factors, one["cases"], witness)
        told[tuple(one["factors"])] = cells, set(one["decisions"])
        assert one.get("factor") == (one["factors"][0] if len(one["factors"]) == 1 else None)
    return told


@pytest.mark.parametrize("seed", SEEDS)
def test_the_departures_that_nobody_asks_about_are_those_of_every_case_looked_at(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        chart, _, found = charted_world(seed, Path(folder))
    assert told_by(chart, found[""]) == chart.expected()


@pytest.mark.parametrize("seed", LATER)
def test_those_of_a_later_day_are_told_with_it_where_they_were_not_so_the_day_before(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        chart, _, found = charted_world(seed, Path(folder))
    plain, rules = chart.plain, chart.plain["rules"].values()
    starts = {rule["valid"]["from"] for rule in rules if "from" in rule.get("valid", {})}
    ends = {rule["valid"]["until"] for rule in rules if "until" in rule.get("valid", {})}
    starts |= {(date.fromisoformat(day) + timedelta(days=1)).isoformat() for day in ends}
    days = sorted(day for day in starts if plain["day"] < day <= plain["protocol"]["review_by"])
    assert found.keys() - {"", *days} == set(), "a day on which nothing changes"
    whens = [box for rule in rules for box in as_list(rule.get("when", {})) if box]
    whens += [box for told in found.values() for one in told for box in one["cases"]]
    before = Charted(plain, whens).expected()
    for day in days:
        chart = Charted({**plain, "day": day}, whens)
        now = chart.expected()
        fresh = {
            names: (cells - before[names][0] if names in before and before[names][1] == decisions else cells, decisions)
            for names, (cells, decisions) in now.items()
        }
        assert told_by(chart, found.get(day, [])) == {names: one for names, one in fresh.items() if one[0]}
        before = now


def number_or_word(chart: Charted, name: str, text: str) -> Any:
    from tests.oracle.notation import read_output_number

    factor = chart.factors[name]
    return read_output_number(factor, text) if factor["kind"] == "quantity" else text


@pytest.mark.parametrize("mistake", ["nothing screens", "out of scope agrees"])
def test_each_part_of_the_meaning_decides_some_random_protocols(mistake: str) -> None:
    decided = 0
    for seed in range(200):
        plain = with_questions(random_protocol(seed, 400), Source(seed))
        decided += Charted(plain).expected() != Charted(plain, mistake=mistake).expected()
        if decided == 3:
            return
    raise AssertionError(decided)
