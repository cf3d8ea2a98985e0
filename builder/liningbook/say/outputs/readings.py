"""Quantities, what is read off for them, and what stands between the pulp and its irritants, in words."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from liningbook.model.rule import Factor
from liningbook.notation.quantity import decimal_text
from liningbook.say.amounts import number_words
from liningbook.say.answers import inside
from liningbook.say.cases import sentences, values_words
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import both, decimal_words


def factor_values(factor: Factor) -> str:
    """What values a factor takes: `0 mm to 6 mm, in steps of 0.1 mm`, or its values by their labels."""
    if factor.kind != "quantity" or factor.unit is None or factor.limits is None:
        return values_words(factor, list(factor.values))
    low, high = (number_words(end.value, factor.unit) for end in (factor.limits.lower, factor.limits.upper))
    if factor.step is None:
        return gettext("{low} to {high}").format(low=low, high=high)
    step = number_words(factor.step, factor.unit)
    return gettext("{low} to {high}, in steps of {step}").format(low=low, high=high, step=step)


def factor_measured(factor: Factor) -> str:
    """How a factor is read off and how sure the eye is; nothing where neither is said."""
    return sentences([_read_off(factor), _judged(factor)])


def _read_off(factor: Factor) -> str:
    reading = factor.reading
    if reading is None or factor.unit is None:
        return ""
    parts = [gettext("Read by {method}").format(method=reading.method) if reading.method else gettext("Read off")]
    if reading.scale != 1:
        scale = decimal_words(decimal_text(reading.scale))
        parts.append(gettext("value = {scale} times the reading").format(scale=scale))
    if reading.offset:
        offset = number_words(reading.offset, factor.unit)
        parts.append(gettext("with {offset} added").format(offset=offset))
    if reading.uncertainty:
        uncertainty = number_words(reading.uncertainty, factor.unit)
        parts.append(gettext("expanded uncertainty (k = 2) {uncertainty}").format(uncertainty=uncertainty))
    if reading.cautious == "below":
        parts.append(gettext("in doubt the smaller value counts"))
    elif reading.cautious is not None:
        parts.append(gettext("in doubt the larger value counts"))
    return f"{'; '.join(parts)}."


def _judged(factor: Factor) -> str:
    judged = factor.judged
    if judged is None or factor.unit is None:
        return ""
    if judged.cautious == "below":
        said = gettext(
            "Judged by eye to within {uncertainty}; near a threshold look again, in doubt the smaller value."
        )
    else:
        said = gettext("Judged by eye to within {uncertainty}; near a threshold look again, in doubt the larger value.")
    return said.format(uncertainty=number_words(judged.uncertainty, factor.unit))


def threshold_words(value: str, below: bool, reading: str = "", closed: bool = False) -> str:
    """The reading from which (or, if `below`, up to which) a value counts as beyond a threshold; none may do.

    `closed` says that the reading itself is among those.
    """
    if not reading:
        less, more = (
            gettext("no reading counts as less than {value}"),
            gettext("no reading counts as more than {value}"),
        )
        said = less if below else more
    elif below:
        said = (
            gettext("counts as less than {value} only up to a reading of {reading}")
            if closed
            else gettext("counts as less than {value} only below a reading of {reading}")
        )
    else:
        said = (
            gettext("counts as more than {value} only from a reading of {reading}")
            if closed
            else gettext("counts as more than {value} only above a reading of {reading}")
        )
    return said.format(value=value, reading=reading)


def finer_words(factor: Factor, place: Fraction) -> str:
    """How a reading counts that is finer than those of which the table speaks."""
    assert factor.unit is not None and factor.reading is not None
    if factor.reading.cautious == "above":
        said = gettext("Readings are to {place}; a finer one counts as the next larger.")
    else:
        said = gettext("Readings are to {place}; a finer one counts as the next smaller.")
    return said.format(place=number_words(place, factor.unit))


def readings_lead(factor: str, method: str, chances: bool) -> str:
    """What stands above a table of thresholds; `chances` where it says how probably a value lies above each."""
    if method:
        said = gettext("{factor}, read by {method}: the reading at which each threshold is passed.")
        with_chances = gettext(
            "{factor}, read by {method}: the reading at which each threshold is passed, and how often the value "
            "then lies above it."
        )
    else:
        said = gettext("{factor}: the reading at which each threshold is passed.")
        with_chances = gettext(
            "{factor}: the reading at which each threshold is passed, and how often the value then lies above it."
        )
    return (with_chances if chances else said).format(factor=factor, method=method)


def stops_words(stopped: Sequence[tuple[Sequence[str], Sequence[str]]], open_: Sequence[str]) -> str:
    """What stops which irritants, and which nothing stops."""
    parts = [
        ngettext("{layers} stops {irritants}", "{layers} stop {irritants}", len(by)).format(
            layers=both(list(by)), irritants=_listed(irritants)
        )
        for by, irritants in stopped
    ]
    if open_:
        parts.append(gettext("nothing stops {irritants}").format(irritants=_listed(open_)))
    return "; ".join(parts)


def _listed(labels: Sequence[str]) -> str:
    return ", ".join(map(inside, labels))
