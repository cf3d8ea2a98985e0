"""What is said of figures that are put together: measures and methods by name, numbers, what could not be computed."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor, log10

from liningbook.say.catalogue import N_, gettext
from liningbook.say.locale import decimal_words

MEASURES: Mapping[str, str] = {
    "risk-ratio": N_("risk ratio"),
    "odds-ratio": N_("odds ratio"),
    "risk-difference": N_("risk difference"),
    "mean-difference": N_("mean difference"),
}

ESTIMATORS: Mapping[str, str] = {
    "dersimonian-laird": N_("DerSimonian-Laird"),
    "reml": N_("restricted maximum likelihood"),
    "paule-mandel": N_("Paule-Mandel"),
}
"""How tau², the variance between studies, is estimated."""

_MOST_DECIMALS = 8


def measure_words(measure: str) -> str:
    """`risk ratio`."""
    return gettext(MEASURES[measure])


def estimator_words(name: str) -> str:
    """`restricted maximum likelihood`."""
    return gettext(ESTIMATORS[name])


def estimate_words(value: float, no_effect: int) -> str:
    """An estimate to two decimals, or two digits where it is small; never rounded onto that of no effect."""
    decimals = 2
    if value and abs(value) < 0.1:
        decimals = min(_MOST_DECIMALS, 1 - floor(log10(abs(value))))
    elif abs(value) >= 1000:
        decimals = 0
    text = f"{value:.{decimals}f}"
    while float(text) == no_effect != value and decimals < _MOST_DECIMALS:
        decimals += 1
        text = f"{value:.{decimals}f}"
    if len(text) > 12 or (value and not float(text)):
        text = f"{value:.1e}"
    return decimal_words(text.replace("-", "\N{MINUS SIGN}", 1) if value < 0 else text)


def limits_words(low: float | None, high: float | None, no_effect: int) -> str:
    """`0.34 to 0.70`; nothing where the limits are not known."""
    if low is None or high is None:
        return ""
    return gettext("{low} to {high}").format(low=estimate_words(low, no_effect), high=estimate_words(high, no_effect))


def part_words(part: float) -> str:
    """A part of a whole, to a hundredth: `8%`; what is less is said to be less."""
    percent = 100 * part
    if 0 < percent < 0.5:
        return gettext("under 1%")
    return gettext("{number}%").format(number=f"{percent:.0f}")


def chance_words(p: float) -> str:
    """A p-value: `p = 0.03`, `p < 0.001`."""
    if p < 0.001:
        return gettext("p < {number}").format(number=decimal_words("0.001"))
    return gettext("p = {number}").format(number=decimal_words(f"{p:.3f}" if p < 0.01 else f"{p:.2f}"))
