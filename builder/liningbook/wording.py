"""All wording of numbers, ranges, answers and cases, for findings and outputs alike.

Numbers are exact decimals with a leading zero and no trailing one; a range says for each end whether it is included.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any

from liningbook.model.interval import Lower, Range, Upper
from liningbook.model.protocol import UNBOUNDED, Amount, Answer, Condition, Conditions, Decision, Factor, Protocol, When
from liningbook.model.quantity import Quantity, Unit, decimal_text, parse_quantity

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

ANY_VALUE = "any value"


def day_words(day: date) -> str:
    """`1 September 2027`."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def number_words(value: Fraction, unit: Unit) -> str:
    """`0.5 mm`, `15 years`, `2 µm`."""
    number = decimal_text(value)
    symbol = unit.print_symbol(one=value == 1)
    if not symbol:
        return number
    return f"{number}{symbol}" if symbol in ("%", "°") else f"{number} {symbol}"


def quantity_words(quantity: Quantity) -> str:
    """The same for a quantity."""
    return number_words(quantity.value, quantity.unit)


def range_words(stretch: Range, unit: Unit, limits: Range | None = None) -> str:
    """A range in words; an end at `limits` (or without a bound) is not said.

    `exactly 0.5 mm`, `0.5 mm or less`, `more than 0.5 mm, at most 2 mm`.
    """
    lower, upper = stretch.lower, stretch.upper
    low, high = number_words(lower.value, unit), number_words(upper.value, unit)
    if lower.value == upper.value:
        return f"exactly {low}"
    from_start = lower.value == -UNBOUNDED or (limits is not None and lower == limits.lower)
    to_end = upper.value == UNBOUNDED or (limits is not None and upper == limits.upper)
    if from_start and to_end:
        return ANY_VALUE
    if from_start:
        return f"{high} or less" if upper.closed else f"less than {high}"
    if to_end:
        return f"{low} or more" if lower.closed else f"more than {low}"
    if lower.closed and upper.closed:
        return f"{low} to {high}"
    return f"{'at least' if lower.closed else 'more than'} {low}, {'at most' if upper.closed else 'less than'} {high}"


def amount_words(amount: Amount) -> str:
    """A layer's thickness: `under 0.5 mm`, `0.75 to 1 mm`, `2 to 5 µm`."""
    lower, upper, unit = amount.range.lower, amount.range.upper, amount.unit
    if lower.value == upper.value:
        return number_words(lower.value, unit)
    if upper.value == UNBOUNDED:
        return (
            f"{number_words(lower.value, unit)} or more" if lower.closed else f"over {number_words(lower.value, unit)}"
        )
    if lower.value in (-UNBOUNDED, 0) and (lower.value == -UNBOUNDED or not lower.closed):
        return (
            f"up to {number_words(upper.value, unit)}" if upper.closed else f"under {number_words(upper.value, unit)}"
        )
    if lower.closed and upper.closed:
        return f"{decimal_text(lower.value)} to {number_words(upper.value, unit)}"
    return range_words(amount.range, unit)


def decimal_words(share: float) -> str:
    """A probability to three decimals, never rounded to certainty: `0.977`, `more than 0.999`."""
    if share > 0.9995:
        return "more than 0.999"
    return "less than 0.001" if share < 0.0005 else f"{share:.3f}"


def either(words: Sequence[str]) -> str:
    """`a`, `a or b`, `a, b or c`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def both(words: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def condition_words(factor: Factor, condition: Condition) -> str:
    """What a rule asks of one factor, without its label."""
    if condition.numbers is not None and factor.unit is not None:
        return either([range_words(r, factor.unit, factor.limits) for r in condition.numbers.ranges])
    return values_words(factor, condition.values)


def values_words(factor: Factor, values: Sequence[str]) -> str:
    """Values of a choice by their labels; a choice that leaves out few of many is said by what it leaves out."""
    if factor.kind == "yes-no":
        return either(list(values))
    left_out = [value for value in factor.values if value not in values]
    if len(values) > 2 and left_out and len(left_out) * 2 <= len(values):
        return "not " + either([factor.values[value] for value in left_out])
    return either([factor.values[value] for value in values])


def conditions_words(protocol: Protocol, conditions: Conditions) -> list[tuple[str, str]]:
    """Label and words of each condition, in the order of the factors."""
    return [
        (factor.label, condition_words(factor, conditions.conditions[name]))
        for name, factor in protocol.factors.items()
        if name in conditions.conditions
    ]


def when_words(protocol: Protocol, when: When) -> str:
    """A whole `when` on one line."""
    parts = []
    for conditions in when:
        words = [f"{label}: {text}" for label, text in conditions_words(protocol, conditions)]
        parts.append("; ".join(words) or "every case")
    return " — or ".join(parts)


def case_parts(factors: Mapping[str, Factor], case: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Label and words of each factor that a box (in the notation of the sources) speaks of."""
    found = []
    for name, factor in factors.items():
        if name in case:
            found.append((factor.label, _notation_words(factor, case[name])))
    return found


def _notation_words(factor: Factor, value: Any) -> str:
    if factor.kind == "quantity":
        return either([_range_notation_words(factor, item) for item in (value if isinstance(value, list) else [value])])
    return values_words(factor, value if isinstance(value, list) else [value])


def _range_notation_words(factor: Factor, item: Mapping[str, str]) -> str:
    assert factor.limits is not None and factor.unit is not None
    unit = factor.unit
    bound = {key: parse_quantity(text).in_unit(unit) for key, text in item.items()}
    lower, upper = factor.limits.lower, factor.limits.upper
    for key in ("at_least", "above", "exactly"):
        if key in bound:
            lower = Lower(bound[key], key != "above")
    for key in ("at_most", "below", "exactly"):
        if key in bound:
            upper = Upper(bound[key], key != "below")
    return range_words(Range(lower, upper), unit, factor.limits)


def box_words(factors: Mapping[str, Factor], case: Mapping[str, Any]) -> str:
    """A box on one line: `Restoration: Amalgam; Remaining dentine thickness: exactly 0.5 mm`."""
    return line_words(case_parts(factors, case))


def where_words(factors: Mapping[str, Factor], case: Mapping[str, Any]) -> str:
    """A box as the end of a sentence: `where Restoration is Amalgam and Pulp exposed is no`."""
    return sentence_words(case_parts(factors, case))


def line_words(parts: Sequence[tuple[str, str]]) -> str:
    """Label and words of each factor on one line."""
    return "; ".join(f"{label}: {words}" for label, words in parts) or "every case"


def shortened(text: str, most: int = 80) -> str:
    """A text short enough for a title."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def sentence_words(parts: Sequence[tuple[str, str]]) -> str:
    """The same as the end of a sentence."""
    return f"where {both([f'{label} is {words}' for label, words in parts])}" if parts else "in every case"


def witness_words(factors: Mapping[str, Factor], witness: Mapping[str, str]) -> str:
    """One case on one line, each value by its label."""
    return line_words([(factors[name].label, value_words(factors[name], text)) for name, text in witness.items()])


def value_words(factor: Factor, text: str) -> str:
    """One value of a factor, by its label or as number and unit."""
    if factor.kind == "quantity":
        return quantity_words(parse_quantity(text))
    return factor.values[text]


def answer_words(protocol: Protocol, decision: Decision, answer: Answer) -> str:
    """An answer in full: agent, place, thickness, coats, waiting time."""
    if answer.kind == "none":
        return f"No {decision.label[0].lower()}{decision.label[1:]}"
    if answer.kind == "judgement":
        return "The dentist decides"
    if answer.kind == "choice":
        return decision.answers[answer.name]
    return ", ".join([protocol.agents[answer.name].label, *layer_details(protocol, answer)])


def layer_details(protocol: Protocol, answer: Answer) -> list[str]:
    """What an answer says of a layer beside its agent, each a few words."""
    parts = []
    place = answer.place or protocol.agents[answer.name].place
    if place:
        label = protocol.places[place]
        parts.append(label[0].lower() + label[1:] if label[1:2].islower() else label)
    if answer.thickness:
        parts.append(amount_words(answer.thickness))
    if answer.coats is not None:
        parts.append("1 coat" if answer.coats == 1 else f"{answer.coats} coats")
    if answer.wait:
        parts.append(f"wait {quantity_words(answer.wait)} before the next layer")
    for word, other in (("before", answer.before), ("after", answer.after)):
        if other:
            parts.append(f"{word} the {protocol.decisions[other].label.lower()}")
    return parts


def name_or_label(protocol: Protocol, decision: Decision, name: str) -> str:
    """The label of an agent or of an answer that a rule names under a decision."""
    return protocol.agents[name].label if decision.is_layer else decision.answers[name]


def count_words(number: int, one: str, many: str = "") -> str:
    """`1 rule`, `3 rules`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def joined(items: Iterable[str]) -> str:
    """A plain comma list."""
    return ", ".join(items)
