"""Two versions brought onto one space of cases: the union of their factors, values, limits and thresholds.

A factor that only one version knows is no condition in the other, so a case of the other stands for all its values.
A value of a factor, or a stretch of a quantity, that a version does not know is out of its scope.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import gcd, lcm

from liningbook.finding import Span
from liningbook.model.interval import Lower, Range, RangeSet, Upper
from liningbook.model.protocol import Condition, Conditions, Exclusion, Factor, Protocol, Stretch, When
from liningbook.model.quantity import Unit

NOWHERE = Span("", 1, 1, 1, 1)


@dataclass(frozen=True)
class Joint:
    """Both versions with the same factors, and which factors only one of them had (by their joint names)."""

    old: Protocol
    new: Protocol
    gone: tuple[str, ...]
    added: tuple[str, ...]


def join(old: Protocol, new: Protocol) -> Joint:
    """Both versions on the union of their factors.

    A factor whose kind changed, or whose unit measures something else now, is another one; the old one gets the name
    `old-NAME`.
    """
    old = _apart(old, new)
    factors = {name: _joined(old.factors.get(name), factor) for name, factor in new.factors.items()}
    for name, factor in old.factors.items():
        factors.setdefault(name, factor)
    return Joint(
        _within(_in_units(old, factors), factors),
        _within(new, factors),
        tuple(name for name in old.factors if name not in new.factors),
        tuple(name for name in new.factors if name not in old.factors),
    )


def _apart(old: Protocol, new: Protocol) -> Protocol:
    """The old version with another name for every factor that is no longer the same thing."""
    other = {
        name for name, factor in old.factors.items() if name in new.factors and _differs(factor, new.factors[name])
    }
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
    factors = {names.get(name, name): replace(f, id=names.get(name, name)) for name, f in old.factors.items()}
    return _with_whens(replace(old, factors=factors), lambda conditions: _renamed(conditions, names))


def _renamed(conditions: Conditions, names: Mapping[str, str]) -> Conditions:
    held = {
        names.get(name, name): replace(c, factor=names.get(name, name)) for name, c in conditions.conditions.items()
    }
    return replace(conditions, conditions=held)


def _differs(first: Factor, second: Factor) -> bool:
    if first.kind != second.kind:
        return True
    return first.unit is not None and second.unit is not None and first.unit.dimension != second.unit.dimension


def _joined(old: Factor | None, new: Factor) -> Factor:
    """The factor with every value of both; labels, unit and reading are those of the new version."""
    if old is None:
        return new
    if new.kind != "quantity":
        return replace(
            new, values={**new.values, **{v: label for v, label in old.values.items() if v not in new.values}}
        )
    assert old.limits and new.limits and old.unit and new.unit
    theirs = _scaled(old.limits, old.unit, new.unit)
    limits = Range(min(new.limits.lower, theirs.lower), max(new.limits.upper, theirs.upper))
    return replace(new, limits=limits, step=_common_step(old, new))


def _common_step(old: Factor, new: Factor) -> Fraction | None:
    """The largest step of which both steps are multiples; none where one version takes any value."""
    if old.step is None or new.step is None or old.unit is None or new.unit is None:
        return None
    theirs = old.step * old.unit.size / new.unit.size
    below = lcm(theirs.denominator, new.step.denominator)
    return Fraction(gcd(int(theirs * below), int(new.step * below)), below)


def _scaled(stretch: Range, unit: Unit, to: Unit) -> Range:
    by = unit.size / to.size
    return Range(
        Lower(stretch.lower.value * by, stretch.lower.closed), Upper(stretch.upper.value * by, stretch.upper.closed)
    )


def _in_units(protocol: Protocol, factors: Mapping[str, Factor]) -> Protocol:
    """The protocol with the numbers of its conditions in the units of the joint factors."""
    units = {
        name: (factor.unit, unit)
        for name, factor in protocol.factors.items()
        if factor.unit is not None and (unit := factors[name].unit) is not None and unit.size != factor.unit.size
    }
    if not units:
        return protocol

    def change(conditions: Conditions) -> Conditions:
        return replace(conditions, conditions={n: scale(n, c) for n, c in conditions.conditions.items()})

    def scale(name: str, condition: Condition) -> Condition:
        if name not in units or condition.numbers is None:
            return condition
        unit, to = units[name]
        return replace(
            condition,
            numbers=RangeSet.of(_scaled(r, unit, to) for r in condition.numbers.ranges),
            stretches=tuple(Stretch(_scaled(s.range, unit, to), s.span) for s in condition.stretches),
        )

    changed = _with_whens(protocol, change)
    own = {
        name: _limits_in(factor, *units[name]) if name in units else factor for name, factor in protocol.factors.items()
    }
    return replace(changed, factors=own)


def _limits_in(factor: Factor, unit: Unit, to: Unit) -> Factor:
    assert factor.limits is not None
    by = unit.size / to.size
    step = None if factor.step is None else factor.step * by
    return replace(factor, unit=to, limits=_scaled(factor.limits, unit, to), step=step)


def _within(protocol: Protocol, factors: Mapping[str, Factor]) -> Protocol:
    """The protocol over the joint factors; what it does not know of them is out of its scope."""
    unknown = [
        Exclusion((Conditions({name: condition}),), "This version does not go so far.", "", NOWHERE)
        for name, factor in protocol.factors.items()
        for condition in _beyond(factor, factors[name])
    ]
    return replace(protocol, factors=dict(factors), excluded=(*protocol.excluded, *unknown), accepted=(), vignettes=())


def _beyond(own: Factor, joint: Factor) -> Iterable[Condition]:
    """What the joint factor has and a version's own has not."""
    if own.limits is not None and joint.limits is not None:
        outside = RangeSet.of([own.limits]).within(joint.limits)
        if outside.ranges:
            yield Condition(own.id, NOWHERE, NOWHERE, numbers=outside)
    missing = tuple(value for value in joint.values if value not in own.values)
    if missing:
        yield Condition(own.id, NOWHERE, NOWHERE, values=missing)


def _with_whens(protocol: Protocol, change: Callable[[Conditions], Conditions]) -> Protocol:
    """The protocol with every set of conditions changed."""

    def when(old: When) -> When:
        return tuple(change(conditions) for conditions in old)

    return replace(
        protocol,
        rules={name: replace(rule, when=when(rule.when)) for name, rule in protocol.rules.items()},
        excluded=tuple(replace(entry, when=when(entry.when)) for entry in protocol.excluded),
        pairings=tuple(replace(entry, when=when(entry.when)) for entry in protocol.pairings),
        sources=tuple(replace(entry, when=when(entry.when)) for entry in protocol.sources),
        barriers=tuple(replace(entry, when=when(entry.when)) for entry in protocol.barriers),
        accepted=(),
    )
