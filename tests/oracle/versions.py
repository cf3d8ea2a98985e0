"""Two versions of a protocol, judged case by case on the union of both, from the contract alone.

Nothing of Liningbook is used here. A factor of only one version stands for all its values in the other; a value, a
stretch beyond a limit, and a stretch between two thresholds that holds no multiple of a version's step are out of that
version's scope. The old version is read under the new names that the report gives, which are looked at by themselves.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import lcm
from typing import Any

from tests.oracle.brute import Brute
from tests.oracle.folder import brute
from tests.oracle.grid import Grid
from tests.oracle.notation import (
    SIZES,
    as_list,
    decimal,
    limits_of,
    mappings,
    meets,
    number,
    size,
    step_of,
    thresholds,
    values_of,
)

Plain = dict[str, Any]
Said = tuple[str, frozenset[tuple[Hashable, frozenset[str]]], frozenset[tuple[str, str]]]
"""State, answers each with its rules, and what is advised though a rule says to avoid it (agent, rule)."""

TABLES = ("together", "sources", "barriers")

NOT_COVERED: Said = ("out-of-scope", frozenset(), frozenset())
NOT_NEEDED: Said = ("not-needed", frozenset(), frozenset())


# --- names ------------------------------------------------------------------------------------------------------------


def with_names(plain: Mapping[str, Any], renamed: Iterable[Mapping[str, str]]) -> Plain:
    """The protocol with some names changed wherever they stand. Each entry has kind, before, after, and `of`."""
    names: dict[tuple[str, str], dict[str, str]] = {}
    for entry in renamed:
        names.setdefault((entry["kind"], entry.get("of", "")), {})[entry["before"]] = entry["after"]

    def name(kind: str, old: str, within: str = "") -> str:
        return names.get((kind, within), {}).get(old, old)

    def keys(table: Mapping[str, Any], kind: str, change: Callable[[Any, str], Any] = lambda v, _: v) -> Plain:
        return {name(kind, key): change(value, name(kind, key)) for key, value in table.items()}

    def some(value: Any, change: Callable[[str], str]) -> Any:
        return [change(one) for one in value] if isinstance(value, list) else change(value)

    def condition(value: Any, factor: str) -> Any:
        if isinstance(value, Mapping) and set(value) == {"not"}:
            return {"not": some(value["not"], lambda one: name("value", one, factor))}
        if isinstance(value, str) or (isinstance(value, list) and all(isinstance(one, str) for one in value)):
            return some(value, lambda one: name("value", one, factor))
        return value

    def when(value: Any) -> Any:
        if isinstance(value, list):
            return [when(one) for one in value]
        return keys(value, "factor", condition)

    def word(one: str, decision: str) -> str:
        return name("agent", name("answer", one, decision))

    def advice(value: Any, decision: str) -> Any:
        if isinstance(value, str):
            return word(value, decision)
        found = dict(value)
        if "agent" in found:
            found["agent"] = name("agent", found["agent"])
        for key in ("before", "after"):
            if key in found:
                found[key] = name("decision", found[key])
        return found

    def layers(table: Mapping[str, Any]) -> Plain:
        return keys(table, "decision", lambda value, _: some(value, lambda one: name("agent", one)))

    def entry_of(entry: Mapping[str, Any]) -> Plain:
        found = {key: layers(v) if key in ("with", "require", "forbid") else v for key, v in entry.items()}
        return {**found, "when": when(entry["when"])} if "when" in entry else found

    def factor_of(factor: Mapping[str, Any], own: str) -> Plain:
        if "values" not in factor:
            return dict(factor)
        return {**factor, "values": {name("value", key, own): label for key, label in factor["values"].items()}}

    def decision_of(decision: Mapping[str, Any], own: str) -> Plain:
        found = dict(decision)
        if "answers" in found:
            found["answers"] = {name("answer", key, own): label for key, label in found["answers"].items()}
        if "needed_when" in found:
            [(on, wanted)] = found["needed_when"].items()
            on = name("decision", on)
            found["needed_when"] = {on: some(wanted, lambda one: word(one, on))}
        return found

    def rule_of(rule: Mapping[str, Any], _: str) -> Plain:
        found = dict(rule)
        if "when" in found:
            found["when"] = when(found["when"])
        if "advise" in found:
            found["advise"] = keys(found["advise"], "decision", advice)
        for key in ("avoid", "never"):
            if key in found:
                found[key] = keys(found[key], "decision", lambda v, on: some(v, lambda one: word(one, on)))
        if "overrides" in found:
            found["overrides"] = [name("rule", one) for one in found["overrides"]]
        return found

    found = copy.deepcopy(dict(plain))
    protocol, materials = found["protocol"], found["materials"]
    protocol["factors"] = keys(protocol["factors"], "factor", factor_of)
    protocol["decisions"] = keys(protocol["decisions"], "decision", decision_of)
    protocol["excluded"] = [entry_of(entry) for entry in protocol.get("excluded", [])]
    materials["agents"] = keys(materials["agents"], "agent")
    materials |= {key: [entry_of(entry) for entry in materials[key]] for key in TABLES if key in materials}
    found["rules"] = keys(found["rules"], "rule", rule_of)
    return found


def is_so_named(old: Mapping[str, Any], new: Mapping[str, Any], entry: Mapping[str, str]) -> bool:
    """Whether a name went and another came, so that one may have become the other."""
    kind, before, after = entry["kind"], entry["before"], entry["after"]
    within = entry.get("of", "")

    def known(plain: Mapping[str, Any]) -> Iterable[str]:
        protocol = plain["protocol"]
        if kind in ("value", "answer"):
            things = protocol["factors" if kind == "value" else "decisions"]
            return things.get(within, {}).get("values" if kind == "value" else "answers", ())
        return {"factor": protocol["factors"], "decision": protocol["decisions"], "rule": plain["rules"],
                "agent": plain["materials"]["agents"]}[kind]  # fmt: skip

    if within and within not in old["protocol"]["factors" if kind == "value" else "decisions"]:
        return after in known(new)  # the factor itself is called otherwise now
    return before in known(old) and before not in known(new) and after in known(new) and after not in known(old)


# --- the union of both ------------------------------------------------------------------------------------------------


def joint_factors(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[Plain, dict[str, str]]:
    """The factors of both, and other names for those of the old version that are another thing now."""
    factors: Plain = {}
    apart: dict[str, str] = {}
    ours, theirs = old["protocol"]["factors"], new["protocol"]["factors"]
    for name, factor in theirs.items():
        if name not in ours:
            factors[name] = factor
        elif is_other(ours[name], factor):
            factors[name] = factor
            apart[name] = f"old-{name}"
        elif factor["kind"] == "quantity":
            factors[name] = _joint_quantity(name, old, new)
        elif factor["kind"] == "choice":
            factors[name] = {**factor, "values": {**factor["values"], **ours[name]["values"]}}
        else:
            factors[name] = factor
    for name, factor in ours.items():
        factors.setdefault(apart.get(name, name), factor)
    return factors, apart


def is_other(first: Mapping[str, Any], second: Mapping[str, Any]) -> bool:
    if first["kind"] != second["kind"]:
        return True
    return first["kind"] == "quantity" and SIZES[first["unit"]][0] != SIZES[second["unit"]][0]


def _joint_quantity(name: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Plain:
    both = [plain["protocol"]["factors"][name] for plain in (old, new)]
    unit = both[1]["unit"]
    numbers = [size(text)[1] / SIZES[unit][1] for text in _texts(name, old)]
    if not all(_is_decimal(value) for value in numbers):
        unit = both[0]["unit"]
    limits = [[number(factor[key], unit) for key in ("at_least", "at_most")] for factor in both]
    found = {
        **both[1], "unit": unit,
        "at_least": f"{decimal(min(limits[0][0], limits[1][0]))} {unit}",
        "at_most": f"{decimal(max(limits[0][1], limits[1][1]))} {unit}",
    }  # fmt: skip
    found.pop("step", None)
    if all("step" in factor for factor in both):
        steps = [number(factor["step"], unit) for factor in both]
        whole = lcm(*(step.denominator for step in steps))
        least = next(n for n in range(int(min(steps) * whole), 0, -1) if all(int(s * whole) % n == 0 for s in steps))
        found["step"] = f"{decimal(Fraction(least, whole))} {unit}"
    return found


def _texts(name: str, plain: Mapping[str, Any]) -> Iterator[str]:
    factor = plain["protocol"]["factors"][name]
    yield from (factor[key] for key in ("at_least", "at_most", "step") if key in factor)
    for when in whens_of(plain):
        for mapping in mappings(when):
            for bounds in as_list(mapping.get(name, [])):
                yield from bounds.values()


def _is_decimal(value: Fraction) -> bool:
    return (value * 10**40).denominator == 1


def whens_of(plain: Mapping[str, Any]) -> list[Any]:
    things = [*plain["rules"].values(), *plain["protocol"].get("excluded", [])]
    things += [entry for key in TABLES for entry in plain["materials"].get(key, [])]
    return [thing.get("when") for thing in things]


def is_end(name: str, factors: Mapping[str, Any], whens: list[Any], point: Fraction) -> bool:
    """Whether some condition holds on one side of a number, or at it, and not on the other side or there.

    The number may be named by ranges that meet there and so have no end.
    """
    near = Fraction(1, 10**9)
    for when in whens:
        for mapping in mappings(when):
            if name in mapping:
                at = {meets(factors[name], mapping[name], point + by) for by in (-near, 0, near)}
                if len(at) > 1:
                    return True
    return False


@dataclass
class Versions:
    """Both versions on one grid. `old` already bears the new names; `former` gives rules their old ones back."""

    old: Plain
    new: Plain
    former: Mapping[str, str]
    grid: Grid
    brutes: tuple[Brute, Brute]

    def __init__(
        self,
        old: Mapping[str, Any],
        new: Mapping[str, Any],
        renamed: Iterable[Mapping[str, str]] = (),
        reader: Callable[[Mapping[str, Any]], Brute] = brute,
    ):
        renamed = list(renamed)
        assert all(is_so_named(old, new, entry) for entry in renamed), renamed
        self.former = {entry["after"]: entry["before"] for entry in renamed if entry["kind"] == "rule"}
        self.old, self.new = with_names(old, renamed), copy.deepcopy(dict(new))
        factors, apart = joint_factors(self.old, self.new)
        if apart:
            self.old = with_names(self.old, [{"kind": "factor", "before": a, "after": b} for a, b in apart.items()])
        whens = [*whens_of(self.old), *whens_of(self.new)]
        more: dict[str, list[Fraction]] = {}
        for plain in (self.old, self.new):
            for name, factor in plain["protocol"]["factors"].items():
                if factor["kind"] == "quantity":
                    unit = factors[name]["unit"]
                    more.setdefault(name, []).extend(number(factor[key], unit) for key in ("at_least", "at_most"))
        self.grid = Grid(factors, whens, more)
        self.points = {
            name: sorted({*limits_of(f), *more[name], *thresholds(name, f["unit"], whens)})
            for name, f in factors.items()
            if f["kind"] == "quantity"
        }
        self.ends = {
            name: [
                p for p in points if p in more[name] or p in limits_of(factors[name]) or is_end(name, factors, whens, p)
            ]
            for name, points in self.points.items()
        }
        self.brutes = (reader(self.old), reader(self.new))

    def known(self, plain: Mapping[str, Any]) -> int:
        """The cells of which a version knows every value."""
        known = self.grid.full
        for name, factor in plain["protocol"]["factors"].items():
            axis = self.grid.axes[name]
            if factor["kind"] == "quantity":
                here = [value for value in axis if self._is_known(name, factor, value)]
            else:
                here = list(values_of(factor))
            known &= self._of_values(name, here)
        return known

    def _of_values(self, name: str, values: Iterable[Any]) -> int:
        wanted = set(values)
        found = 1
        for other, axis in self.grid.axes.items():
            kept = [n for n, value in enumerate(axis) if other != name or value in wanted]
            found = sum(found << n * self.grid.strides[other] for n in kept)
        return found

    def _is_known(self, name: str, factor: Mapping[str, Any], value: Fraction) -> bool:
        unit = self.grid.factors[name]["unit"]
        low, high = (number(factor[key], unit) for key in ("at_least", "at_most"))
        if not low <= value <= high:
            return False
        if "step" not in factor:
            return True
        step = number(factor["step"], unit)
        if value in self.ends[name]:
            return (value / step).denominator == 1
        below = max(point for point in self.ends[name] if point < value)
        above = min(point for point in self.ends[name] if point > value)
        return (below // step + 1) * step < above

    @cached_property
    def scopes(self) -> tuple[int, int]:
        """The cells that each version covers."""
        first, second = (
            oracle.regions(self.grid).scope & self.known(plain)
            for oracle, plain in zip(self.brutes, (self.old, self.new), strict=True)
        )
        return first, second

    def outcomes(self, which: int) -> dict[str, dict[Said, int]]:
        """By decision of either version, what it comes to in which cells."""
        oracle, scope = self.brutes[which], self.scopes[which]
        names = [*self.brutes[1].decisions, *self.brutes[0].decisions]
        found: dict[str, dict[Said, int]] = {name: {NOT_COVERED: self.grid.full & ~scope} for name in names}
        for name in names:
            if name not in oracle.decisions:
                found[name][NOT_NEEDED] = scope
        for (decision, (state, answers, warned)), cells in oracle.regions(self.grid).outcomes.items():
            if which == 0:
                answers = frozenset((m, frozenset(self.former.get(r, r) for r in rules)) for m, rules in answers)
                warned = frozenset((agent, self.former.get(rule, rule)) for agent, rule in warned)
            if cells & scope:
                held = found[decision].get((state, answers, warned), 0)
                found[decision][state, answers, warned] = held | cells & scope
        return found

    def changes(self) -> dict[tuple[str, Said, Said], int]:
        """By decision, before and after, the cells in which state or answers differ."""
        before, after = self.outcomes(0), self.outcomes(1)
        found = {}
        for decision in before:
            for first, here in before[decision].items():
                for second, there in after[decision].items():
                    if bare(first) != bare(second) and here & there:
                        found[decision, first, second] = here & there
        return found

    def told(self, which: int, outcome: Mapping[str, Any]) -> Said:
        """An outcome as the report tells it."""
        entries = outcome.get("answers") or ([outcome] if "answer" in outcome else [])
        meaning = self.brutes[which].meaning
        answers = frozenset((meaning(one["answer"]), frozenset(one["rules"])) for one in entries)
        warned = frozenset((one["agent"], one["rule"]) for one in outcome.get("avoided_by", ()))
        return outcome["state"], answers, warned

    # --- shares -------------------------------------------------------------------------------------------------------

    @cached_property
    def weights(self) -> list[int]:
        """The weight of each cell, in a unit that is the same for all."""
        axes = [self._weights(name, values) for name, values in self.grid.axes.items()]
        found = [Fraction(1)]
        for axis in axes:  # the first axis runs fastest
            found = [weight * one for one in axis for weight in found]
        whole = lcm(*(weight.denominator for weight in found))
        return [int(weight * whole) for weight in found]

    def _weights(self, name: str, values: list[Any]) -> list[Fraction]:
        factor = self.grid.factors[name]
        if factor["kind"] != "quantity" or len(values) == 1:
            return [Fraction(1)] * len(values)
        step, points = step_of(factor), self.points[name]
        if step is not None:
            between = {low + step: (high - low) / step - 1 for low, high in pairwise(points)}
            return [Fraction(1) if value in points else between[value] for value in values]
        return [Fraction(0) if value in points else values[n + 1] - values[n - 1] for n, value in enumerate(values)]

    def weight(self, cells: int) -> int:
        return sum(self.weights[n] for n, bit in enumerate(reversed(f"{cells:b}")) if bit == "1")

    def share(self, cells: int) -> Fraction:
        """The part of the cases in scope of either version."""
        whole = self.weight(self.scopes[0] | self.scopes[1])
        return Fraction(self.weight(cells), whole) if whole else Fraction(0)


def bare(said: Said) -> Any:
    """What counts for a difference: the state and the answers, whichever rules give them."""
    return said[0], frozenset(meaning for meaning, _ in said[1])
