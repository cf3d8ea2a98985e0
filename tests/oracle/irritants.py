"""What reaches the pulp, worked out for every case one after the other, from sections 5 to 7 of the contract.

An irritant is *brought* by an entry of `sources` that holds, or by an agent placed there that emits it; *dentine stops
it* where an entry of `barriers` that holds lists it; a placed layer *stops* it if the agent blocks it, the answer's
whole thickness lies within the block's and the layer covers the place on which the irritant acts. What an agent emits
must be stopped by a layer placed before it. The *placing order is contradicted* where a layer lies over one that covers
more and does not stop what the upper one emits, and where a layer that an entry of `together` requires stops what one
of its `with` emits, lies over that one, and nothing below it stops the same. All of this is looked at in cases in scope
in which a layer decision is needed, and in a conflict for every combination of the candidate answers: an irritant
passes if it does in any, and is kept out if it is in all.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from datetime import date
from fractions import Fraction
from itertools import product
from typing import Any

from tests.oracle.brute import Brute, Fact, Judgement, Regions, placing_order
from tests.oracle.grid import Grid
from tests.oracle.notation import Unsound, as_list, holds, read_witness, size
from tests.oracle.world import World

KINDS = ("unprotected", "less-protection", "clash", "placing-order")

SEVERITIES = {
    "unprotected": "warning", "less-protection": "warning", "clash": "error", "placing-order": "warning",
}  # fmt: skip

Bound = tuple[Fraction, bool] | None
"""Where a range ends and whether the end counts; nothing where it has no end."""


class Guarded(Brute):
    """A protocol with its irritants.

    Facts more: ('unprotected', irritant), ('kept-out', irritant) where it is brought and layers stop all that brings
    it, whether or not dentine would stop it too, and ('placing-order', upper layer, lower layer, number of the entry).
    """

    def __init__(self, protocol: Mapping[str, Any], materials: Mapping[str, Any], rules: Mapping[str, Any], day: date):
        super().__init__(protocol, materials, rules, day)
        self.irritants: Mapping[str, Any] = materials.get("irritants", {})
        self.exposures: Mapping[str, list[Any]] = {key: materials.get(key, []) for key in ("sources", "barriers")}
        for key, entries in self.exposures.items():
            for number, entry in enumerate(entries):
                self.whens[key, number] = entry.get("when")
                self._all_whens.append(entry.get("when"))

    def _judge(self, holding: frozenset[Hashable]) -> Judgement:
        out = super()._judge(holding)
        layers = [name for name, decision in self.decisions.items() if "layer" in decision]
        if out.in_scope and any(out.states[layer] != "not-needed" for layer in layers):
            out.facts |= self._reaching(holding, out, layers) | self._misplaced(holding, out, layers)
        return out

    def _misplaced(self, holding: frozenset[Hashable], out: Judgement, layers: list[str]) -> set[Fact]:
        facts: set[Fact] = set()
        for chosen in product(*(list(out.answers[layer]) or [None] for layer in layers)):
            by_layer = {layer: answer for layer, answer in zip(layers, chosen, strict=True) if answer}
            placed = self.in_order(by_layer)
            name = {id(answer): layer for layer, answer in by_layer.items()}
            for n, lower in enumerate(placed):
                for upper in placed[n + 1 :]:
                    pair = (name[id(upper)], name[id(lower)])
                    if self._lies_wrongly(upper, lower):
                        facts.add(("placing-order", *pair, None))
                    facts |= {
                        ("placing-order", *pair, number)
                        for number, entry in enumerate(self.together)
                        if ("together", number) in holding
                        and self._is_protector(entry, by_layer, *pair)
                        and self._comes_too_late(upper, lower, placed[:n])
                    }
        return facts

    def _lies_wrongly(self, upper: Any, lower: Any) -> bool:
        if not self.places or self.places.index(upper[3]) >= self.places.index(lower[3]):
            return False
        return not any(self.stops(lower, irritant) for irritant in self.emitted(upper))

    def _is_protector(self, entry: Mapping[str, Any], by_layer: Mapping[str, Any], upper: str, lower: str) -> bool:
        def met(layer: str, wanted: Any) -> bool:
            answer = by_layer.get(layer)
            return answer is not None and answer[0] == "layer" and answer[1] in as_list(wanted)

        having, require = entry.get("with", {}), entry.get("require", {})
        if lower not in having or upper not in require or not met(upper, require[upper]):
            return False
        return all(met(layer, wanted) for layer, wanted in having.items())

    def _comes_too_late(self, upper: Any, lower: Any, below: list[Any]) -> bool:
        return any(
            self.stops(upper, irritant) and not any(self.stops(answer, irritant) for answer in below)
            for irritant in self.emitted(lower)
        )

    def _reaching(self, holding: frozenset[Hashable], out: Judgement, layers: list[str]) -> set[Fact]:
        from_sources, by_dentine = self.listed(holding, "sources"), self.listed(holding, "barriers")
        brought: set[str] = set()
        passing: set[str] = set()
        for chosen in product(*(list(out.answers[layer]) or [None] for layer in layers)):
            placed = self.in_order(dict(zip(layers, chosen, strict=True)))
            for irritant in self.irritants:
                met_by = [placed] if irritant in from_sources else []
                met_by += [placed[:n] for n, answer in enumerate(placed) if irritant in self.emitted(answer)]
                if met_by:
                    brought.add(irritant)
                if not all(any(self.stops(answer, irritant) for answer in before) for before in met_by):
                    passing.add(irritant)
        facts: set[Fact] = {("unprotected", irritant) for irritant in passing - by_dentine}
        return facts | {("kept-out", irritant) for irritant in brought - passing}

    def listed(self, holding: frozenset[Hashable], key: str) -> set[str]:
        """The irritants of the entries of `sources` or `barriers` that hold."""
        entries = enumerate(self.exposures[key])
        return {name for number, entry in entries if (key, number) in holding for name in as_list(entry["irritants"])}

    def in_order(self, chosen: Mapping[str, Any]) -> list[Any]:
        """The answers that place a layer, pulp side first."""
        answers = {layer: {answer: set[str]()} for layer, answer in chosen.items() if answer and answer[0] == "layer"}
        order = placing_order(Judgement(answers=answers))
        assert order is not None, "the contract does not say in which order layers lie of which several ask to be moved"
        return [chosen[layer] for layer in order]

    def emitted(self, answer: Any) -> list[str]:
        """What a placed layer gives off itself."""
        return list(self.agents[answer[1]].get("emits", []))

    def stops(self, answer: Any, irritant: str) -> bool:
        """Whether one placed layer stops an irritant where it acts."""
        blocks = self.agents[answer[1]].get("blocks", [])
        wanted = [
            block.get("thickness", {})
            for block in blocks
            if not isinstance(block, str) and block["irritant"] == irritant
        ]
        is_blocked = irritant in blocks or any(self.is_as_thick(answer, thickness) for thickness in wanted)
        return is_blocked and self.covers(answer, irritant)

    def covers(self, answer: Any, irritant: str) -> bool:
        """Whether a layer lies at least where the irritant acts."""
        least = self.irritants[irritant].get("acts_on")
        return least is None or self.places.index(answer[3]) >= self.places.index(least)

    def is_as_thick(self, answer: Any, wanted: Mapping[str, str]) -> bool:
        """Whether every thickness that the answer leaves open is one at which the agent blocks."""
        if not wanted:
            return True
        return bool(answer[2]) and _within(dict(answer[2]), {key: size(text) for key, text in wanted.items()})

    def less_protection(self, regions: Regions) -> dict[Fact, int]:
        """By irritant, the cells in which it passes though layers keep it out with the cautious factor moved away."""
        found: dict[Fact, int] = {}
        for irritant in self.irritants:
            kept_out = regions.cells.get(("kept-out", irritant), 0)
            lost = 0
            for name, factor in self.factors.items():
                side = factor.get("reading", {}).get("cautious")
                if side is not None:
                    lost |= with_some_beyond(regions.grid, kept_out, name, larger=side == "below")
            lost &= regions.cells.get(("unprotected", irritant), 0)
            if lost:
                found["less-protection", irritant] = lost
        return found


def _within(inner: Mapping[str, tuple[str, Fraction]], outer: Mapping[str, tuple[str, Fraction]]) -> bool:
    """Whether every thickness of one range is one of the other."""
    low, high = _bounds(inner)
    outer_low, outer_high = _bounds(outer)
    if outer_low is not None and (low is None or (low[0], not low[1]) < (outer_low[0], not outer_low[1])):
        return False
    return outer_high is None or (high is not None and (high[0], high[1]) <= (outer_high[0], outer_high[1]))


def _bounds(written: Mapping[str, tuple[str, Fraction]]) -> tuple[Bound, Bound]:
    low: Bound = None
    high: Bound = None
    for key, (_, value) in written.items():
        if key in ("at_least", "above", "exactly"):
            low = (value, key != "above")
        if key in ("at_most", "below", "exactly"):
            high = (value, key != "below")
    return low, high


def with_some_beyond(grid: Grid, cells: int, factor: str, larger: bool) -> int:
    """The cells from which moving one factor to some larger (or smaller) value leads into a set of cells."""
    stride, places = grid.strides[factor], range(len(grid.axes[factor]))
    first = _slice(grid, factor)
    found = beyond = 0
    for n in reversed(places) if larger else places:
        found |= beyond << n * stride
        beyond |= cells >> n * stride & first
    return found


def _slice(grid: Grid, factor: str) -> int:
    """The cells of a factor's first value."""
    found = 1
    for name, values in grid.axes.items():
        if name != factor:
            found = sum(found << n * grid.strides[name] for n in range(len(values)))
    return found


# --- against Liningbook ---------------------------------------------------------------------------------------------


def expected(oracle: Guarded, regions: Regions) -> dict[Fact, int]:
    """What must be found of these kinds, with its cells."""
    found = {
        fact: cells for fact, cells in regions.cells.items() if fact[0] in ("unprotected", "clash", "placing-order")
    }
    return found | oracle.less_protection(regions)


def key_of(finding: Mapping[str, Any]) -> Fact:
    """What a finding is about."""
    if finding["kind"] == "placing-order":
        return ("placing-order", finding["decision"], finding["over"], finding.get("entry"))
    return (finding["kind"], finding["entry" if finding["kind"] == "clash" else "irritant"])


def differences(world: World, kind: str, said: list[dict[str, Any]], true: Mapping[Fact, int]) -> Iterator[str]:
    """Where the findings of one kind are not exactly what is so: one line each, none if all is well."""
    wanted = {fact: cells for fact, cells in true.items() if fact[0] == kind}
    keys = [key_of(finding) for finding in said if finding["kind"] == kind]
    yield from (f"{key} is said twice" for key in set(keys) if keys.count(key) > 1)
    yield from (f"{key} is missing in {world.shown(cells)}" for key, cells in wanted.items() if key not in keys)
    for finding in said:
        if finding["kind"] != kind:
            continue
        key = key_of(finding)
        if finding["severity"] != SEVERITIES[kind]:
            yield f"{key} is of severity {finding['severity']}"
        try:
            cells = world.cells_of(finding["cases"])
            witness = read_witness(world.factors, finding["witness"])
        except Unsound as wrong:
            yield f"{key}: {wrong}"
            continue
        if cells & ~wanted.get(key, 0):
            yield f"{key} is not so in {world.shown(cells & ~wanted.get(key, 0))}"
        if wanted.get(key, 0) & ~cells:
            yield f"{key} lacks {world.shown(wanted[key] & ~cells)}"
        if not holds(world.factors, finding["cases"], witness):
            yield f"{key}: the witness {finding['witness']} is none"
