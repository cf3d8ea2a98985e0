"""Texts to values of a factor: exact numbers within its limits, or one of its names."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from liningbook.finding import RefusedAs
from liningbook.model.rule import Factor
from liningbook.notation.quantity import UNITS, NotAQuantity, Quantity, Unit, has_finite_decimal, parse_short_quantity
from liningbook.sources.text import near

STATES = ("not-needed", "gap", "conflict", "contraindicated", "clash", "answered")
"""What can become of a decision; `expect` of a vignette may name one, so no answer and no agent is called so."""


NOTHING_PLACED = {
    "en-GB": ("No {layer}", "Place nothing", "Nothing", "None", "Not needed", "Not needed in this case"),
    "de": ("Ohne {layer}", "Kein {layer}", "Keine {layer}", "Nichts legen", "Nichts", "In diesem Fall nicht nötig"),
    "es": ("Sin {layer}", "No colocar nada", "Nada", "Ninguno", "Ninguna", "No es necesario en este caso"),
    "fr": ("Sans {layer}", "Ne rien poser", "Rien", "Aucun", "Aucune", "Non nécessaire dans ce cas"),
}
"""How it is said, by language, that no layer is placed: no agent is called so."""


class NotAValue(RefusedAs):
    """Why a text is no value of a factor."""


def read_value(factor: Factor, text: str) -> tuple[str, Fraction | None]:
    """One value of a factor from its text: its canonical text, and its number for a quantity. Raises NotAValue."""
    text = text.strip()
    if factor.kind != "quantity":
        if text in factor.values:
            return text, None
        best = near(text, factor.values)
        raise NotAValue("unknown-name", "no-such-value", written=text, label=factor.label, near=best,
                        values=() if best else tuple(factor.values))  # fmt: skip
    unit = factor.unit or UNITS["1"]
    value = parse_in_unit(text, unit)
    if outside := not_within(factor, value):
        raise NotAValue("out-of-limits", outside[0], **outside[1])
    return str(Quantity(value, unit)), value


def parse_in_unit(text: str, unit: Unit) -> Fraction:
    """A quantity's text as a number of `unit`. Raises NotAValue."""
    try:
        value = parse_short_quantity(text, unit).in_unit(unit)
    except NotAQuantity as no:
        raise NotAValue("unit", no.what, **no.given) from None
    if not has_finite_decimal(value):
        raise NotAValue("unit", "inexact-value", written=text, unit=unit.code)
    return value


def not_within(factor: Factor, value: Fraction) -> tuple[str, dict[str, Any]] | None:
    """What keeps a number from being a value of the factor, as a code and the values of its words.

    `factor`, for the advice to change it, is left empty.
    """
    limits, unit = factor.limits, factor.unit
    if limits is None or unit is None:
        return None
    given: dict[str, Any] = {"value": Quantity(value, unit), "label": factor.label, "factor": ""}
    if value not in limits:
        low, high = Quantity(limits.lower.value, unit), Quantity(limits.upper.value, unit)
        return "outside-limits", given | {"low": low, "high": high}
    if factor.step is not None and value % factor.step != 0:
        return "off-step", given | {"step": Quantity(factor.step, unit)}
    return None
