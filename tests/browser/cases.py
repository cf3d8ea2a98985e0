"""Random protocols with readings of every sort, and random cases: exact boundary values, many ways to write a number,
and what must be refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from liningbook.cases.readings import reading_for
from liningbook.notation.quantity import UNITS, decimal_text, has_finite_decimal
from liningbook.space.cells import Axis
from tests.oracle.generate import Source, random_protocol
from tests.oracle.materials import protocol_with_materials
from tests.oracle.notation import as_list, decimal, limits_of, step_of

BLANKS = ["", " ", " ", "  ", "\u00a0", "\t"]

NOT_QUANTITIES = [
    "0,5 mm", "1,000 mm", "1,000.5 mm", "1,2,3 mm", "0.5", "5", "mm", "", " ", "0.5 mmm", "0.5 kg", "5e-1 mm", "1e3 um",
    "1/2 mm", "0.5-1 mm", "<0.5 mm", "≤ 2 mm", "−0.5 mm", "0.5 \u00b5m", "500 \u03bcm", "0.5 µmm",
    "0.5 microns", "0.5 MM", "0.5 mm mm", "1.2.3 mm",
    "0.5 Inch", "3 years", "3 yrs", "0.5 mm.", "+-1 mm", ".", ". mm", "1 000 mm", "0x10 mm", "NaN mm", "Infinity mm",
    "1_000 mm", "٣ mm", "0.5 1", "7 %", "1 d", "1 wk", "0.1 [in_i]", f"0.{'3' * 45} mm", f"{'9' * 90} mm",
    "-0 mm", "00.50 mm",
]  # fmt: skip
"""What people write for a quantity; nearly all of it is refused."""


def protocol(seed: int) -> dict[str, Any]:
    """The protocol of a seed, as plain data."""
    source = Source(seed)
    plain = random_protocol(seed, 3000) if source.is_so(35) else protocol_with_materials(seed)
    quantities = {name: f for name, f in plain["protocol"]["factors"].items() if f["kind"] == "quantity"}
    for factor in quantities.values():
        if source.is_so(60):
            factor["reading"] = any_reading(source, factor)
        if source.is_so(40):
            factor["judged"] = any_judged(source, factor)
    for rule in plain["rules"].values():
        add_wishes(source, plain["protocol"]["decisions"], rule.get("advise", {}))
    if quantities and source.is_so(40):
        name = source.one(list(quantities))
        low, high = limits_of(quantities[name])
        unit, step = quantities[name]["unit"], step_of(quantities[name])
        place = low + step if step else low + (high - low) / Fraction(source.one(["8", "16", "1000"]))
        when = {name: {"exactly": f"{decimal(place)} {unit}"}}
        plain["protocol"]["accepted"] = [{"kind": "duplicate", "when": when, "because": "Ours.", "by": "A. Program"}]
    return plain


def asking(seed: int) -> dict[str, Any]:
    """The protocol of a seed, with factors that are always asked and questions that are asked first."""
    plain, source = protocol(seed), Source(seed + 1)
    whens = [when for rule in plain["rules"].values() for when in as_list(rule.get("when", {})) if when]
    plain["protocol"]["stop_questions"] = ["Is anything else the matter?"] + [
        {"ask": f"Question {number}?", "screens": source.one(whens)} for number in range(source.count(0, 2)) if whens
    ]
    for factor in plain["protocol"]["factors"].values():
        if source.is_so(20):
            factor["always_ask"] = "yes"
    return plain


def add_wishes(source: Source, decisions: Mapping[str, Any], advise: dict[str, Any]) -> None:
    """Has some layers placed before or after another one, against each other's wishes too."""
    layers = [name for name, decision in decisions.items() if "layer" in decision]
    for name, answer in advise.items():
        others = [other for other in layers if other != name]
        if "agent" in answer and not {"before", "after"} & {*answer} and others and source.is_so(40):
            advise[name] = {**answer, source.one(["before", "after"]): source.one(others)}


def any_reading(source: Source, factor: Mapping[str, Any]) -> dict[str, str]:
    """How a quantity is read: any scale, offset and uncertainty, on the step or off it."""
    low, high = limits_of(factor)
    unit, width = factor["unit"], high - low
    found = {
        "method": "some instrument",
        "scale": source.one(["1", "0.7", "0.3", "1.1", "2.5"]),
        "offset": f"{decimal(width * Fraction(source.one(['0', '0.1', '-0.03', '0.015625'])))} {unit}",
        "uncertainty": f"{decimal(width * Fraction(source.one(['0', '0.01', '0.1', '0.21', '0.5'])))} {unit}",
        "guard_band": source.one(["0", "0.83", "1", "1", "2"]),
        "cautious": source.one(["below", "above"]),
    }
    if source.is_so(15):
        del found["cautious"]
    return found


def any_judged(source: Source, factor: Mapping[str, Any]) -> dict[str, str]:
    """How sure a value judged by eye is: on the step or off it, with or without a threshold in reach."""
    low, high = limits_of(factor)
    within = (high - low) * Fraction(source.one(["0.01", "0.05", "0.1", "0.21", "0.5"]))
    return {"uncertainty": f"{decimal(within)} {factor['unit']}", "cautious": source.one(["below", "above"])}


def cases(source: Source, axes: Sequence[Axis], count: int) -> Iterator[dict[str, str]]:
    """Random cases: most can be answered, the rest have one thing wrong."""
    for _ in range(count):
        given: dict[str, str] = {}
        for axis in axes:
            name = axis.factor.id
            if axis.factor.kind != "quantity":
                given[name] = source.one(BLANKS) + source.one(axis.values) + source.one(BLANKS)
            elif axis.factor.reading is not None and source.is_so(55):
                given[f"{name}.reading"] = reading_text(source, axis)
            else:
                given[name] = spelt(source, axis, value(source, axis))
        if source.is_so(9):
            spoil(source, axes, given)
        yield given


def partial_cases(source: Source, axes: Sequence[Axis], count: int) -> Iterator[dict[str, str]]:
    """Random cases of which parts are not told."""
    for given in cases(source, axes, count):
        share = source.one([20, 50, 80])
        yield {name: text for name, text in given.items() if source.is_so(share)}


def value(source: Source, axis: Axis) -> Fraction:
    """A value of a factor: a threshold, one just beside it, or one in between."""
    at = source.one(sorted(axis.places))
    limits, step = axis.factor.limits, axis.factor.step
    assert limits is not None
    beside = step or Fraction(1, 10 ** source.one([1, 2, 5, 17, 25]))
    found: Fraction = source.draw(
        (50, lambda: at),
        (30, lambda: at + source.one([-1, 1]) * beside),
        (20, lambda: axis.number_in(source.count(0, axis.count - 1))),
    )
    return found if found in limits or source.is_so(6) else at


def reading_text(source: Source, axis: Axis) -> str:
    """A reading: often one that counts as a threshold exactly, or whose corrected value is one; or far off."""
    how = axis.factor.reading
    assert how is not None
    at = value(source, axis)
    counted = reading_for(axis.factor, at)
    assert counted is not None
    wide = how.uncertainty + 1
    read: Fraction = source.draw(
        (35, lambda: counted),
        (25, lambda: (at - how.offset) / how.scale),
        (10, lambda: (at + source.one([-1, 1]) * how.uncertainty - how.offset) / how.scale),
        (20, lambda: at),
        (10, lambda: at + source.one([-3, 3, 20]) * wide),
    )
    return spelt(source, axis, Fraction(round(read * 10**12), 10**12))


def spelt(source: Source, axis: Axis, number: Fraction) -> str:
    """A number of the factor's unit, in one of the ways in which people write it."""
    unit = axis.unit
    others = [u for u in UNITS.values() if u.dimension == unit.dimension and source.is_so(25)]
    if axis.factor.step is not None and source.is_so(2):
        number += axis.factor.step / 8
    for other in others:
        size = number * unit.size / other.size
        if has_finite_decimal(size) and len(decimal_text(size)) < 35:
            unit, number = other, size
            break
    text = decimal_text(number)
    text = source.draw(
        (70, lambda: text),
        (10, lambda: text + ("0" * source.count(1, 3) if "." in text else "." + "0" * source.count(0, 2))),
        (5, lambda: text if text.startswith("-") else f"+{text}"),
        (5, lambda: text.removeprefix("0") if text.startswith("0.") else text),
        (5, lambda: text if text.startswith("-") else f"0{text}"),
    )
    return source.one(BLANKS) + text + source.one(BLANKS) + unit.code + source.one(BLANKS)


def spoil(source: Source, axes: Sequence[Axis], given: dict[str, str]) -> None:
    """Does one thing to a case that people do."""
    axis = source.one(axes)
    name = axis.factor.id
    key = name if name in given else f"{name}.reading"

    def written_wrong() -> None:
        words = ["", "no", "Yes", "nothing", f"{axis.factor.id}x", "x" * 60, "constructor", "__proto__"]
        given[key] = source.one(NOT_QUANTITIES if axis.factor.kind == "quantity" else words)

    def read_off() -> None:
        given[f"{name}.reading"] = given.pop(key)

    def both() -> None:
        given[name] = given[f"{name}.reading"] = given[key]

    def stranger() -> None:
        given[source.one(["nobody", "constructor", f"{name}.reading.reading", "toString.reading"])] = "1 mm"

    source.draw((60, lambda: written_wrong), (12, lambda: read_off), (8, lambda: both), (8, lambda: stranger),
                (12, lambda: lambda: given.pop(key)))()  # fmt: skip
