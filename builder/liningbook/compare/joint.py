"""Two versions brought onto one space of cases: the union of their factors, values, limits and thresholds.

A factor that only one version knows is no condition in the other, so a case of the other stands for all its values.
A value of a factor, or a stretch of a quantity, that a version does not know is out of its scope. With a `step` a
version knows every stretch between two thresholds (of either version) that holds a multiple of it, and no other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import gcd, lcm

from liningbook.compare.renames import Names, Renamer, with_conditions
from liningbook.finding import Span
from liningbook.model.protocol import Exclusion, Protocol
from liningbook.model.rule import Condition, Conditions, Factor, Stretch
from liningbook.notation.interval import Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import Unit, has_finite_decimal
from liningbook.space.cells import all_whens

NOWHERE = Span("", 1, 1, 1, 1)


@dataclass(frozen=True)
class Joint:
    """Both versions with the same factors, and the factors that only one of them had (by their joint names)."""

    old: Protocol
    new: Protocol
    gone: tuple[Factor, ...]
    added: tuple[Factor, ...]


def join(old: Protocol, new: Protocol) -> Joint:
    """Both versions on the union of their factors.

    A factor whose kind changed, or whose unit measures something else now, is another one; the old one gets the name
    `old-NAME`. A unit that measures the same is kept as the new version has it, unless some number of the old one has
    no exact decimal form in it (one month is a twelfth of a year): then both are in the unit of the old one.
    """
    old, new = (replace(one, accepted=(), stop_questions=()) for one in (old, new))  # they state cases, treat none
    units, other = _units(old, new)
    old, new = _in_units(_apart(old, new, other), units), _in_units(new, units)
    factors = {name: _joined(old.factors.get(name), factor) for name, factor in new.factors.items()}
    factors |= {name: factor for name, factor in old.factors.items() if name not in factors}
    points = {
        name: sorted(_points(old, name) | _points(new, name)) for name, f in factors.items() if f.kind == "quantity"
    }
    return Joint(
        _within(old, factors, points),
        _within(new, factors, points),
        tuple(factor for name, factor in old.factors.items() if name not in new.factors),
        tuple(factor for name, factor in new.factors.items() if name not in old.factors),
    )


def _units(old: Protocol, new: Protocol) -> tuple[dict[str, Unit], set[str]]:
    """The common unit of each factor of which the unit changed; and factors that are no longer the same thing."""
    units: dict[str, Unit] = {}
    other: set[str] = set()
    for name in (name for name in old.factors if name in new.factors):
        was, now = old.factors[name].unit, new.factors[name].unit
        if old.factors[name].kind != new.factors[name].kind:
            other.add(name)
        elif was is not None and now is not None and was != now:
            if was.dimension == now.dimension and _fits(old, name, now):
                units[name] = now
            elif was.dimension == now.dimension and _fits(new, name, was):
                units[name] = was
            else:
                other.add(name)
    return units, other


def _fits(protocol: Protocol, name: str, to: Unit) -> bool:
    """Whether every number that a protocol states of a factor has an exact decimal form in a unit."""
    factor = protocol.factors[name]
    assert factor.unit is not None
    numbers = _points(protocol, name) | {factor.step or Fraction(0)}
    return all(has_finite_decimal(number * factor.unit.size / to.size) for number in numbers)


def _points(protocol: Protocol, name: str) -> set[Fraction]:
    """The limits of a quantity and all its thresholds, in its unit."""
    if name not in protocol.factors:
        return set()
    limits = protocol.factors[name].limits
    assert limits is not None
    found = {limits.lower.value, limits.upper.value}
    for when in all_whens(protocol):
        for conditions in when:
            if name in conditions.conditions and (numbers := conditions.conditions[name].numbers) is not None:
                found |= {end.value for stretch in numbers.ranges for end in (stretch.lower, stretch.upper)}
    return found


def _apart(old: Protocol, new: Protocol, other: set[str]) -> Protocol:
    """The old version with another name for every factor that is no longer the same thing."""
    if not other:
        return old
    taken = {*old.factors, *new.factors}
    names = {}
    for name in sorted(other):
        fresh = f"old-{name}"
        while fresh in taken:
            fresh = f"old-{fresh}"
        taken.add(fresh)
        names[name] = fresh
    return Renamer(Names(factors=names)).protocol(old)


def _joined(old: Factor | None, new: Factor) -> Factor:
    """The factor with every value of both; labels, unit and reading are those of the new version."""
    if old is None:
        return new
    if new.kind != "quantity":
        return replace(
            new, values={**new.values, **{v: label for v, label in old.values.items() if v not in new.values}}
        )
    assert old.limits and new.limits
    limits = Range(min(new.limits.lower, old.limits.lower), max(new.limits.upper, old.limits.upper))
    return replace(new, limits=limits, step=_common_step(old.step, new.step))


def _common_step(old: Fraction | None, new: Fraction | None) -> Fraction | None:
    """The largest step of which both steps are multiples; none where one version takes any value."""
    if old is None or new is None:
        return None
    below = lcm(old.denominator, new.denominator)
    return Fraction(gcd(int(old * below), int(new * below)), below)


def _scaled(stretch: Range, unit: Unit, to: Unit) -> Range:
    by = unit.size / to.size
    return Range(
        Lower(stretch.lower.value * by, stretch.lower.closed), Upper(stretch.upper.value * by, stretch.upper.closed)
    )


def _in_units(protocol: Protocol, common: Mapping[str, Unit]) -> Protocol:
    """The protocol with all its numbers of some factors in the units given for them."""
    units = {
        name: (factor.unit, common[name])
        for name, factor in protocol.factors.items()
        if name in common and factor.unit is not None and factor.unit != common[name]
    }

    def scaled(condition: Condition) -> Condition:
        if condition.factor not in units or condition.numbers is None:
            return condition
        unit, to = units[condition.factor]
        return replace(
            condition,
            numbers=RangeSet.of(_scaled(r, unit, to) for r in condition.numbers.ranges),
            stretches=tuple(Stretch(_scaled(s.range, unit, to), s.span) for s in condition.stretches),
        )

    def change(conditions: Conditions) -> Conditions:
        return replace(conditions, conditions={name: scaled(c) for name, c in conditions.conditions.items()})

    factors = {name: in_unit(f, *units[name]) if name in units else f for name, f in protocol.factors.items()}
    return replace(with_conditions(protocol, change), factors=factors)


def in_unit(factor: Factor, unit: Unit, to: Unit) -> Factor:
    """The factor in another unit: limits, step, what a reading is corrected with, and how sure a judged value is."""
    assert factor.limits is not None
    by = unit.size / to.size
    step = None if factor.step is None else factor.step * by
    how = factor.reading
    if how is not None:
        how = replace(how, offset=how.offset * by, uncertainty=how.uncertainty * by)
    judged = factor.judged and replace(factor.judged, uncertainty=factor.judged.uncertainty * by)
    limits = _scaled(factor.limits, unit, to)
    return replace(factor, unit=to, limits=limits, step=step, reading=how, judged=judged)


def _within(protocol: Protocol, factors: Mapping[str, Factor], points: Mapping[str, list[Fraction]]) -> Protocol:
    """The protocol over the joint factors; what it does not know of them is out of its scope."""
    unknown = [
        Exclusion((Conditions({name: condition}),), "", "", NOWHERE)
        for name, factor in protocol.factors.items()
        for condition in _beyond(factor, factors[name], points.get(name, []))
    ]
    return replace(protocol, factors=dict(factors), excluded=(*protocol.excluded, *unknown), accepted=(), vignettes=())


def _beyond(own: Factor, joint: Factor, points: list[Fraction]) -> Iterable[Condition]:
    """What the joint factor has and a version's own has not. `points` are limits and thresholds of both versions."""
    if own.limits is not None and joint.limits is not None:
        outside = RangeSet.of([joint.limits]) - RangeSet.of([own.limits])
        if own.step is not None and own.step != joint.step:
            outside = RangeSet.of((*outside.ranges, *_off_step(own.limits, own.step, points)))
        if outside.ranges:
            yield Condition(own.id, NOWHERE, NOWHERE, numbers=outside)
    missing = tuple(value for value in joint.values if value not in own.values)
    if missing:
        yield Condition(own.id, NOWHERE, NOWHERE, values=missing)


def _off_step(limits: Range, step: Fraction, points: list[Fraction]) -> Iterator[Range]:
    """The thresholds within the limits, and the stretches between them, that hold no multiple of the step."""
    within = [point for point in points if limits.lower.value <= point <= limits.upper.value]
    for point in within:
        if (point / step).denominator != 1:
            yield Range(Lower(point, True), Upper(point, True))
    for low, high in pairwise(within):
        stretch = Range(Lower(low, False), Upper(high, False))
        if not stretch.has_multiple(step):
            yield stretch
