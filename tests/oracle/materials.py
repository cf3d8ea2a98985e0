"""Random protocols with materials: places, irritants, what agents stop and give off, sources, barriers, readings.

Like `tests.oracle.generate`, but with several layers, thicknesses nearly everywhere and fewer cells. The layers of one
decision only ask to be placed elsewhere, because the contract does not say what several such wishes come to.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

from liningbook.exchange.findings import findings_json
from tests.oracle.brute import Regions
from tests.oracle.folder import write_folder
from tests.oracle.generate import ANSWERS, LAYERS, Source, _Protocol
from tests.oracle.grid import Grid
from tests.oracle.irritants import KINDS, Guarded, expected
from tests.oracle.notation import decimal, limits_of, read_box, step_of, thresholds
from tests.oracle.world import World
from tests.saying import messages_of

MOST_CELLS = 1_500

PLACES = {"spot": "Spot", "floor": "Floor", "walls": "Walls"}
IRRITANTS = ["heat", "acid", "monomer", "current"]

SCALES = ["1", "0.5", "0.8", "1.25", "0.4"]
"""Their inverses are finite decimals, so that any threshold can be read exactly."""


def protocol_with_materials(seed: int, most_cells: int = MOST_CELLS) -> dict[str, Any]:
    """The protocol of a seed, as plain data."""
    source = Source(seed)
    for _ in range(1000):
        plain = _WithMaterials(source).plain()
        if Grid(plain["protocol"]["factors"], whens_of(plain)).count <= most_cells:
            return plain
    raise AssertionError(f"seed {seed} gives no protocol of {most_cells} cells")


def whens_of(plain: Mapping[str, Any]) -> list[Any]:
    """Every `when` of a protocol."""
    materials = plain["materials"]
    things = [*plain["rules"].values(), *plain["protocol"].get("excluded", [])]
    things += [entry for key in ("together", "sources", "barriers") for entry in materials.get(key, [])]
    return [thing.get("when") for thing in things]


def guarded(plain: Mapping[str, Any], day: date | None = None) -> Guarded:
    """The oracle of a protocol, on its own day or another."""
    on = day or date.fromisoformat(plain["day"])
    return Guarded(plain["protocol"], plain["materials"], plain["rules"], on)


class GuardedWorld(World):
    """A protocol with materials, its analysis and the oracle's table of all cases."""

    @cached_property
    def brute(self) -> Guarded:
        return guarded(self.plain)

    @cached_property
    def findings(self) -> list[dict[str, Any]]:
        """All of them, whatever their kind."""
        assert self.analysis.protocol is not None, messages_of(self.analysis.findings)
        found: list[dict[str, Any]] = findings_json(self.analysis)["findings"]
        return found

    @property
    def of_materials(self) -> list[dict[str, Any]]:
        """The findings of the day that this oracle works out."""
        return [finding for finding in self.findings_of_the_day if finding["kind"] in KINDS]

    @cached_property
    def expected(self) -> dict[Any, int]:
        return expected(self.brute, self.regions)

    @cached_property
    def regions(self) -> Regions:
        boxes = [box for finding in self.findings for box in finding["cases"]]
        for box in boxes:
            read_box(self.factors, box)
        quantities = {name: factor for name, factor in self.factors.items() if factor["kind"] == "quantity"}
        more = {name: thresholds(name, factor["unit"], boxes) for name, factor in quantities.items()}
        return self.brute.regions(self.brute.grid(more))


def guarded_world(name: str, plain: Mapping[str, Any], folder: Path) -> GuardedWorld:
    """Writes the sources and gives the world."""
    return GuardedWorld(name, plain, write_folder(plain, folder))


class _WithMaterials(_Protocol):
    """One protocol in the making."""

    def __init__(self, source: Source) -> None:
        super().__init__(source)
        self.wisher = source.one([name for name, decision in self.decisions.items() if "layer" in decision])

    def plain(self) -> dict[str, Any]:
        plain = super().plain()
        materials = plain["materials"]
        materials["irritants"] = self.irritants
        materials["sources"] = [self.exposure() for _ in range(self.source.count(1, 3))]
        materials["barriers"] = [self.exposure() for _ in range(self.source.count(0, 2))]
        return plain

    def make_factors(self) -> dict[str, Any]:
        source = self.source
        made = [self.quantity() for _ in range(source.one([1, 1, 1, 2]))]
        for number, (_, factor) in enumerate(made):
            if source.is_so(85 if number == 0 else 30):
                factor["reading"] = reading(source, factor)
        values = {value: value.capitalize() for value in ["amalgam", "resin", "gold"][: source.one([2, 2, 3])]}
        made.append(("restoration", {"kind": "choice", "values": values}))
        if source.is_so(30):
            made.append(("asked", {"kind": "yes-no"}))
        source.random.shuffle(made)
        return dict(made)

    def make_decisions(self) -> dict[str, Any]:
        source = self.source
        layers = sorted(source.some(LAYERS, 2 if source.is_so(85) else 1), key=LAYERS.index)
        made: dict[str, Any] = {}
        if source.is_so(60):
            made["management"] = {"answers": {answer: answer.capitalize() for answer in ANSWERS[:2]}}
        return made | {name: {"layer": name} for name in layers}

    def make_agents(self) -> dict[str, Any]:
        """Sets the places and irritants too: agents name them."""
        source = self.source
        self.places = dict(list(PLACES.items())[: source.one([0, 2, 3, 3, 3])])
        largest = list(self.places)[-1] if self.places else ""
        self.irritants = {}
        for name in IRRITANTS[: source.count(2, 4)]:
            has_place = self.places and source.is_so(80)
            self.irritants[name] = {
                "label": name,
                **({"acts_on": source.one([*self.places, largest])} if has_place else {}),
            }
        agents: dict[str, Any] = super().make_agents()
        for agent in agents.values():
            if source.is_so(95):
                agent["blocks"] = [self.block(name) for name in source.some(list(self.irritants), 2)]
                if source.is_so(10):
                    agent["blocks"].append(source.one(list(self.irritants)))
            if source.is_so(50):
                agent["emits"] = source.some(list(self.irritants), 1, 2)
        return agents

    def block(self, irritant: str) -> Any:
        source = self.source
        if source.is_so(50):
            return irritant
        return {"irritant": irritant, "thickness": self.thickness()} if source.is_so(90) else {"irritant": irritant}

    def thickness(self) -> dict[str, str]:
        """Of an answer or of a block: neighbours often, so that one just reaches or misses the other."""
        source = self.source
        low = {source.one(["at_least", "above"]): self.respelt("0.75 mm")}
        high = {source.one(["at_most", "below"]): self.respelt("1 mm")}
        found: dict[str, str] = source.draw(
            (45, lambda: low),
            (10, lambda: high),
            (25, lambda: {**low, **high}),
            (10, lambda: {"exactly": self.respelt("1 mm")}),
            (10, lambda: {"exactly": self.respelt("0.75 mm")}),
        )
        return found

    def new_answer(self, decision: str) -> Any:
        answer = super().new_answer(decision)
        if not isinstance(answer, dict) or "agent" not in answer:
            return answer
        if self.source.is_so(50):
            answer["thickness"] = self.thickness()
        for key in ("before", "after"):
            answer.pop(key, None)
        others = [name for name, other in self.decisions.items() if "layer" in other and name != decision]
        if decision == self.wisher and others and self.source.is_so(75):
            answer[self.source.one(["before", "after"])] = self.source.one(others)
        return answer

    def exposure(self) -> dict[str, Any]:
        found: dict[str, Any] = {"irritants": self.source.some(list(self.irritants), 1, 2)}
        if self.source.is_so(75):
            found["when"] = self.when()
        return found


def reading(source: Source, factor: Mapping[str, Any], side: str | None = None) -> dict[str, str]:
    """How a quantity is read, at random. Without a step anything goes; with one U and w are multiples of it."""
    low, high = limits_of(factor)
    step, unit = step_of(factor), factor["unit"]
    if step is not None:
        uncertainty, guard_band = step * source.count(1, 4), source.one(["1", "1", "0", "2"])
    else:
        uncertainty = (high - low) * Fraction(source.one(["0.02", "0.05", "0.1", "0.2"]))
        guard_band = source.one(["1", "1", "0", "0.83", "0.5"])
    found: dict[str, str] = {
        "method": "some instrument",
        "uncertainty": f"{decimal(uncertainty)} {unit}",
        "guard_band": guard_band,
        "cautious": side or source.one(["below", "below", "above"]),
    }
    if source.is_so(70):
        found["scale"] = source.one(SCALES)
    if source.is_so(40):
        found["offset"] = f"{decimal((high - low) * Fraction(source.one(['-0.05', '0.02', '0.1'])))} {unit}"
    return found
