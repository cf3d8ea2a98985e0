"""Nodes of the sources to values of the model: names, dates, quantities, ranges and conditions.

What is wrong becomes a finding on the smallest wrong text and the value is left out; what the schema has already
reported (a value of the wrong type) is passed over.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from liningbook.finding import Finding, Label, Span, worded
from liningbook.model.protocol import Amount, Condition, Conditions, Factor, Name, Stretch, When
from liningbook.notation.interval import UNBOUNDED, Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import (
    TOO_LONG,
    UNITS,
    NotAQuantity,
    Quantity,
    Unit,
    has_finite_decimal,
    is_too_long,
    parse_number,
    parse_quantity,
    parse_unit,
)
from liningbook.sources.suggest import did_you_mean, near
from liningbook.sources.yaml_nodes import Node, one_line

STATES = ("not-needed", "gap", "conflict", "contraindicated", "clash", "answered")
"""What can become of a decision; `expect` of a vignette may name one, so no answer and no agent is called so."""

RANGE_KEYS = ("above", "at_least", "below", "at_most", "exactly")

MOST_ALTERNATIVES = 200
"""So many sets of conditions, or ranges, may stand in one list; who needs more has not found the pattern."""

MOST_LISTED = 12
"""So many known names are listed where none is near."""

MOST_COMPARED = 20_000
"""How many known names are compared with unknown ones before no more suggestions are sought (they cost time)."""


@dataclass
class Context:
    """What is known while a protocol is built. Where a table is `None` it could not be read, and its names pass."""

    findings: list[Finding] = field(default_factory=list)
    factors: dict[str, Factor] | None = None
    reported: set[tuple[str, int, int]] = field(default_factory=set)
    """Places at which a finding already stands; a second one there would be about the same cause."""
    broken: set[str] = field(default_factory=set)
    """Names of what is written but could not be read; that is reported where it stands, not where it is used."""
    compared: int = 0
    """How many known names have been compared with unknown ones."""

    def find(
        self,
        kind: str,
        place: Node | Span,
        message: str,
        *advice: str,
        label: str = "",
        related: tuple[Label, ...] = (),
    ) -> None:
        """Adds an error at a place, unless one stands there already."""
        span = place.span if isinstance(place, Node) else place
        start = (span.file, span.line, span.column)
        if start in self.reported:
            return
        self.reported.add(start)
        lines = tuple(one_line(line) for line in advice if line)
        self.findings.append(worded(kind, one_line(message), span, label, related=related, help=lines))

    def known(self, node: Node, table: Collection[str] | None, what: str) -> bool:
        """Whether a name is in a table; a finding (`unknown-name`) if not."""
        name = node.text
        if name is None:
            return False
        if table is None or name in table:
            return True
        self.unknown(node.span, name, table, what)
        return False

    def known_key(self, key: str, node: Node, table: Collection[str] | None, what: str) -> bool:
        """The same for the key of a mapping."""
        if table is None or key in table:
            return True
        self.unknown(node.key_span or node.span, key, table, what)
        return False

    def taken(self, node: Node, name: str, words: Collection[str]) -> None:
        """A finding (`schema`) if an author's name is a word that means something else where names are used."""
        if name in words:
            message = f"'{name}' has a meaning of its own, so nothing can be called so"
            self.find("schema", node.key_span or node, message, "choose another name")

    def unknown(self, span: Span, name: str, table: Collection[str], what: str) -> None:
        """A finding that a name is not known."""
        if name in self.broken:
            return
        self.compared += len(table)
        near = did_you_mean(name, table) if self.compared <= MOST_COMPARED else ""
        if not near and 0 < len(table) <= MOST_LISTED:
            near = f"known here: {', '.join(sorted(table) if isinstance(table, frozenset) else table)}"
        self.find("unknown-name", span, f"there is no {what} called '{shorten(name)}'", near, _foreign(name))


def _foreign(name: str) -> str:
    """Advice for a name with a letter that may look like one of the keyboard, such as a Cyrillic a."""
    letter = next((letter for letter in name if ord(letter) > 127), None)
    if letter is None:
        return ""
    return f"'{letter}' is not a letter that names are made of (U+{ord(letter):04X}), though it may look like one"


def whole_number(text: str | None) -> int | None:
    """The number that a few plain digits stand for, or nothing."""
    return int(text) if text is not None and re.fullmatch("[0-9]{1,4}", text) else None


def shorten(text: str, most: int = 40) -> str:
    """A text short enough for a message."""
    return text if len(text) <= most else text[: most - 1] + "…"


def get(node: Node | None, key: str) -> Node | None:
    """The value of a field, if the node is a mapping that has it."""
    fields = node.fields if node is not None else None
    return fields.get(key) if fields else None


def text_of(node: Node | None, key: str) -> str:
    """The text of a field on one line, without blanks around it; empty if there is none."""
    child = get(node, key)
    return one_line(child.text or "") if child is not None else ""


def listed(node: Node | None) -> list[Node]:
    """The nodes of a list; a single value counts as a list of one."""
    if node is None:
        return []
    return node.items if node.items is not None else [node]


def texts_of(node: Node | None, key: str) -> tuple[str, ...]:
    """The texts of a list field."""
    return tuple(one_line(child.text) for child in listed(get(node, key)) if child.text is not None)


def names_of(node: Node | None) -> tuple[Name, ...]:
    """The names in a list, or a single one."""
    return tuple(Name(child.text, child.span) for child in listed(node) if child.text is not None)


def read_date(context: Context, node: Node | None) -> date | None:
    """A calendar date; a finding (`schema`) if there is no such day."""
    if node is None or node.text is None:
        return None
    try:
        return date.fromisoformat(node.text.strip())
    except ValueError:
        context.find("schema", node, f"'{shorten(node.text)}' is not a day of the calendar",
                     "write year, month and day, for example `2027-09-01`")  # fmt: skip
        return None


def read_digits(context: Context, node: Node | None, least: Fraction | None = None) -> Fraction | None:
    """A plain number; a finding (`schema`, `out-of-limits`) if it is none or below `least`."""
    if node is None or node.text is None:
        return None
    try:
        number = _not_too_long(parse_number(node.text.strip()))
    except NotAQuantity as no:
        context.find("schema", node, no.reason, f"write {no.instead}" if no.instead else "write a number such as `0.7`")
        return None
    if least is not None and number < least:
        context.find("out-of-limits", node, f"'{shorten(node.text)}' is too small", f"write {least} or more")
        return None
    return number


def read_quantity(context: Context, node: Node | None, like: Unit | None) -> Quantity | None:
    """A number with a unit; a finding (`unit`) if it is none."""
    if node is None or node.text is None:
        return None
    try:
        quantity = parse_quantity(node.text, like)
        _not_too_long(quantity.value)
    except NotAQuantity as no:
        context.find("unit", node, no.reason, f"write {no.instead}" if no.instead else "")
        return None
    return quantity


def _not_too_long(value: Fraction) -> Fraction:
    """The value. Raises NotAQuantity if it has too many digits for any printed page."""
    if is_too_long(value):
        raise NotAQuantity(TOO_LONG, "a number that can be measured")
    return value


def read_unit(context: Context, node: Node | None) -> Unit | None:
    """A unit code; a finding (`unit`) if it is not known."""
    if node is None or node.text is None:
        return None
    try:
        return parse_unit(node.text)
    except NotAQuantity as no:
        context.find("unit", node, no.reason, f"write {no.instead}" if no.instead else "")
        return None


def read_in_unit(context: Context, node: Node | None, unit: Unit) -> Fraction | None:
    """A quantity as a number of `unit`; a finding (`unit`) if it cannot be written exactly in it."""
    quantity = read_quantity(context, node, unit)
    return None if quantity is None or node is None else _exactly(context, node, quantity, unit)


def _exactly(context: Context, node: Node, quantity: Quantity, unit: Unit) -> Fraction | None:
    value = quantity.in_unit(unit)
    if not has_finite_decimal(value):
        context.find("unit", node, f"{quantity} is no exact decimal number of {unit.code}",
                     f"write it in {unit.code}")  # fmt: skip
        return None
    if is_too_long(value) or abs(value) >= UNBOUNDED:
        context.find("unit", node, f"in {unit.code} {TOO_LONG}" if is_too_long(value) else "the number is too large",
                     "write a number that can be measured")  # fmt: skip
        return None
    return value


def read_bounds(context: Context, node: Node, unit: Unit | None, like: Unit) -> tuple[Range, Unit] | None:
    """A range mapping as a range in `unit`, or else in its first quantity's; a missing bound is UNBOUNDED away."""
    fields = node.fields
    if not fields:
        if fields is not None:
            context.find("empty-range", node, "this range has no bound", "write for example `{at_most: 0.5 mm}`")
        return None
    lower, upper = Lower(-UNBOUNDED, True), Upper(UNBOUNDED, True)
    sound = fields.keys() <= set(RANGE_KEYS)
    for key, child in fields.items():
        quantity = read_quantity(context, child, like) if key in RANGE_KEYS else None
        if quantity is not None:
            unit = unit or quantity.unit
        value = None if quantity is None or unit is None else _exactly(context, child, quantity, unit)
        if value is None:
            sound = False
            continue
        if key in ("above", "at_least", "exactly"):
            lower = Lower(value, key != "above")
        if key in ("below", "at_most", "exactly"):
            upper = Upper(value, key != "below")
    return (Range(lower, upper), unit) if unit and sound else None


def read_amount(context: Context, node: Node | None, like: Unit) -> Amount | None:
    """A layer's thickness as written; a finding if it holds nothing or reaches below zero."""
    if node is None or node.fields is None:
        return None
    bounds = read_bounds(context, node, None, like)
    if bounds is None:
        return None
    found, unit = bounds
    if found.is_empty:
        context.find("empty-range", node, "nothing lies between these bounds", "check which is the smaller")
        return None
    if any(-UNBOUNDED < value < 0 for value in (found.lower.value, found.upper.value)):
        context.find("out-of-limits", node, "a thickness cannot be less than nothing", "write numbers from 0 on")
        return None
    return Amount(found, unit)


def holds_multiple(stretch: Range, step: Fraction) -> bool:
    """Whether a whole multiple of `step` lies in the range."""
    first = -(-stretch.lower.value // step) * step
    if first == stretch.lower.value and not stretch.lower.closed:
        first += step
    return first in stretch


def read_when(context: Context, node: Node | None) -> When:
    """A `when`: any of several sets of conditions; left out or empty means every case."""
    if node is None:
        return (Conditions({}),)
    if node.items is not None:
        return tuple(_conditions(context, child) for child in _few(context, node, "sets of conditions")) or (
            Conditions({}),
        )
    return (_conditions(context, node),)


def _few(context: Context, node: Node, what: str) -> list[Node]:
    """The items of a list; a finding (`schema`) and the first ones only if there are too many to be looked at."""
    items = listed(node)
    if len(items) > MOST_ALTERNATIVES:
        context.find("schema", node.key_span or node, f"{len(items)} {what} stand here, and one list may hold "
                     f"{MOST_ALTERNATIVES}", "say the same in fewer, larger ones")  # fmt: skip
    return items[:MOST_ALTERNATIVES]


def _conditions(context: Context, node: Node) -> Conditions:
    found: dict[str, Condition] = {}
    for name, child in (node.fields or {}).items():
        if context.factors is None or not context.known_key(name, child, context.factors, "factor"):
            continue
        condition = _condition(context, context.factors[name], child)
        if condition is not None:
            found[name] = condition
    return Conditions(found, node.span)


def _condition(context: Context, factor: Factor, node: Node) -> Condition | None:
    key_span = node.key_span or node.span
    if factor.kind == "quantity":
        stretches = _stretches(context, factor, node)
        if not stretches:
            return None
        numbers = RangeSet.of(s.range for s in stretches)
        return Condition(factor.id, node.span, key_span, numbers, tuple(stretches))
    values = _values(context, factor, node)
    return Condition(factor.id, node.span, key_span, values=values) if values else None


def _stretches(context: Context, factor: Factor, node: Node) -> list[Stretch]:
    unit, limits = factor.unit, factor.limits
    if unit is None or limits is None:
        return []
    found: list[Stretch] = []
    for item in _few(context, node, "ranges"):
        if item.fields is None:
            context.find("schema", item, f"{factor.label} is a quantity, so it needs a range here",
                         _range_meant(item.text or "", unit))  # fmt: skip
            continue
        for key, child in item.fields.items():
            if key == "not":
                context.find("schema", child.key_span or child, f"`not` does not go with {factor.label}, a quantity",
                             "write the ranges that are meant")  # fmt: skip
        bounds = read_bounds(context, item, unit, unit)
        if bounds is None or not _named_within(context, factor, item):
            continue
        stretch = bounds[0].meet(limits)
        if stretch.is_empty or (factor.step is not None and not holds_multiple(stretch, factor.step)):
            context.find("empty-range", item, f"no value of {factor.label} lies in this range",
                         "check which bound is the smaller, and which of them are to be included")  # fmt: skip
            continue
        found.append(Stretch(stretch, item.span))
    return found


def _range_meant(text: str, unit: Unit) -> str:
    """Advice for a text that stands where a range should."""
    try:
        parse_quantity(text, unit)
        example = shorten(text.strip())
    except NotAQuantity as no:
        if "range" in no.instead:
            return f"write {no.instead}"
        example = f"0.5 {unit.code}"
    return f"write for example `{{at_most: {example}}}` or `{{exactly: {example}}}`"


def _named_within(context: Context, factor: Factor, node: Node) -> bool:
    """Whether every bound that a range names lies within the factor's limits and on its step."""
    before = len(context.findings)
    for child in (node.fields or {}).values():
        if factor.unit is not None and (value := read_in_unit(context, child, factor.unit)) is not None:
            check_value(context, factor, value, child)
    return len(context.findings) == before


def check_value(context: Context, factor: Factor, value: Fraction, place: Node) -> bool:
    """Whether a value lies within the factor's limits and on its step; a finding (`out-of-limits`) if not."""
    problem = limit_problem(factor, value)
    if problem:
        within = factor.limits is None or value in factor.limits
        advice = "write a multiple of it, or change the step" if within else "write a value within them, or change them"
        context.find("out-of-limits", place, problem, f"{advice} (factor {factor.id} in protocol.yaml)")
    return not problem


def limit_problem(factor: Factor, value: Fraction) -> str:
    """What keeps a number from being a value of the factor, in words; empty if nothing does."""
    limits, unit = factor.limits, factor.unit
    if limits is None or unit is None:
        return ""
    low, high = Quantity(limits.lower.value, unit), Quantity(limits.upper.value, unit)
    if value not in limits:
        return f"{Quantity(value, unit)} is outside the limits of {factor.label} ({low} to {high})"
    if factor.step is not None and value % factor.step != 0:
        step = Quantity(factor.step, unit)
        return f"{Quantity(value, unit)} is not a whole multiple of the step of {factor.label} ({step})"
    return ""


def _values(context: Context, factor: Factor, node: Node) -> tuple[str, ...]:
    what = f"value of {factor.label}"
    inner = get(node, "not")
    if node.fields is not None and (inner is None or factor.kind == "yes-no" or len(node.fields) != 1):
        want = "`yes` or `no`" if factor.kind == "yes-no" else "a value, a list of values, or `{not: value}`"
        context.find("schema", node, f"{factor.label} is not a quantity, so a range does not fit here", f"write {want}")
        return ()
    if factor.kind == "yes-no" and node.items is not None:
        context.find("schema", node, f"{factor.label} is answered by yes or no", "write `yes` or `no`, or leave it out")
        return ()
    named = [child for child in listed(inner or node) if child.fields is None and child.items is None]
    if len(named) != len(listed(inner or node)):
        context.find("schema", node, f"the values of {factor.label} are single words", f"write for example "
                     f"`{next(iter(factor.values), 'value')}`")  # fmt: skip
        return ()
    good = {child.text for child in named if context.known(child, factor.values, what)}
    if len(good) < len({child.text for child in named}):
        return ()
    values = tuple(v for v in factor.values if (v in good) != (inner is not None))
    if not values:
        context.find("empty-range", node, f"no value of {factor.label} is left here", "leave at least one value")
    return values


class NotAValue(Exception):
    """Why a text is no value of a factor: the finding kind it would be, the reason, and what to write instead."""

    def __init__(self, kind: str, reason: str, instead: str = "") -> None:
        super().__init__(reason)
        self.kind, self.reason, self.instead = kind, reason, instead


def read_value(factor: Factor, text: str) -> tuple[str, Fraction | None]:
    """One value of a factor from its text: its canonical text, and its number for a quantity. Raises NotAValue."""
    text = text.strip()
    if factor.kind != "quantity":
        if text in factor.values:
            return text, None
        near = did_you_mean(text, factor.values)
        listing = "one of " + ", ".join(factor.values)
        raise NotAValue("unknown-name", f"'{shorten(text)}' is not a value of {factor.label}", near or listing)
    unit = factor.unit or UNITS["1"]
    value = parse_in_unit(text, unit)
    problem = limit_problem(factor, value)
    if problem:
        raise NotAValue("out-of-limits", problem)
    return str(Quantity(value, unit)), value


def parse_in_unit(text: str, unit: Unit) -> Fraction:
    """A quantity's text as a number of `unit`. Raises NotAValue."""
    try:
        quantity = parse_quantity(text, unit)
        _not_too_long(quantity.value)
    except NotAQuantity as no:
        raise NotAValue("unit", no.reason, f"write {no.instead}" if no.instead else "") from None
    value = quantity.in_unit(unit)
    if not has_finite_decimal(value):
        reason = f"'{shorten(text)}' is no exact decimal number of {unit.code}"
        raise NotAValue("unit", reason, f"give it in {unit.code}")
    return value


def read_case(
    context: Context, factors: Mapping[str, Factor], node: Node | None
) -> tuple[dict[str, str], dict[str, Fraction]]:
    """A described case: every factor's value, with findings for what is missing or wrong."""
    values: dict[str, str] = {}
    numbers: dict[str, Fraction] = {}
    if node is None or node.fields is None:
        return values, numbers
    for name, child in node.fields.items():
        if not context.known_key(name, child, factors, "factor") or child.text is None:
            continue
        try:
            values[name], number = read_value(factors[name], child.text)
        except NotAValue as no:
            context.find(no.kind, child, no.reason, no.instead)
            continue
        if number is not None:
            numbers[name] = number
    meant = {near(name, factors) for name in node.fields if name not in factors}
    missing = [name for name in factors if name not in node.fields and name not in meant]
    if missing:
        context.find("schema", node.key_span or node, f"the case does not say: {', '.join(missing)}",
                     "give a value for every factor")  # fmt: skip
    return values, numbers
