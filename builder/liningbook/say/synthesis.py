"""What is said of figures that are put together: measures and methods by name, numbers, what could not be computed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import floor, log10
from typing import Any

from liningbook.evidence.synthesis.result import Caveat, LeftOut
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.locale import both, decimal_words

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

EXTRA_MISSING = N_("what puts the studies of `{file}` together is not installed, so no study table is worked out")
INSTALL_EXTRA = N_("install it: pip install 'liningbook[evidence]'")

_MOST_DECIMALS = 8
_LARGEST, _SMALLEST = 1000, 0.001
"""Ratios beyond these are said to be beyond them."""


def measure_words(measure: str) -> str:
    """`risk ratio`."""
    return gettext(MEASURES[measure])


def estimator_words(name: str) -> str:
    """`restricted maximum likelihood`."""
    return gettext(ESTIMATORS[name])


def estimate_words(value: float, no_effect: int) -> str:
    """An estimate to two decimals, or two digits where it is small; never rounded onto that of no effect.

    A ratio (no effect is 1) that is beyond all use is said to be beyond a bound.
    """
    if no_effect == 1 and value > _LARGEST:
        return gettext("over {number}").format(number=_LARGEST)
    if no_effect == 1 and value < _SMALLEST:
        return gettext("under {number}").format(number=decimal_words(str(_SMALLEST)))
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


LEFT_OUT: Mapping[str, str] = {
    "no-events": N_("no event in either arm"),
    "all-events": N_("everybody in both arms had the event"),
    "zero-cell": N_("a cell is 0, and nothing is to be added to it"),
    "no-counts": N_("no counts, which the measure needs"),
    "no-means": N_("no means, which the measure needs"),
    "no-variance": N_("its variance would be 0"),
    "out-of-range": N_("its effect is too large or too small to be computed"),
    "impossible": N_("its figures cannot be true"),
}
"""Why a study has no effect."""

_SENTENCES: Mapping[str, str] = {
    "no-effects": N_("No study has an effect that can be computed, so nothing is pooled."),
    "one-study": N_("There is one study alone: what is shown as pooled is its effect."),
    "no-such-interval": N_(
        "The Hartung-Knapp interval does not go with Mantel-Haenszel weights, so there is none; the normal one does."
    ),
    "one-study-no-interval": N_("The Hartung-Knapp interval needs two studies, so there is none."),
    "no-spread": N_(
        "The studies agree exactly, which leaves the Hartung-Knapp interval without a width: there is none."
    ),
    "not-installed": N_("What computes the Hartung-Knapp interval is not installed, so there is none."),
    "narrower-than-normal": N_(
        "The Hartung-Knapp interval is narrower here than the normal one: the studies agree better than by chance."
    ),
    "interval-out-of-range": N_("The interval of the pooled effect is too wide to be computed."),
    "no-tau2-interval": N_("The studies agree so well that tau² has no Q-profile interval."),
    "prediction-out-of-range": N_("The prediction interval is too wide to be computed."),
    "no-comparator-risk": N_(
        "No comparator risk is stated and no study gives counts, so there is no effect in absolute numbers."
    ),
    "risk-out-of-range": N_("The ratio takes the risk beyond 0 or 1 there, so the risk was kept within them."),
    "difference-out-of-range": N_(
        "The difference takes the risk beyond 0 or 1 there, so the risk was kept within them."
    ),
    "counts-as-they-are": N_(
        "The pooled effect is of the counts as they are: what is added to a cell of 0 concerns that study's effect."
    ),
    "number-too-large": N_("The effect is so small that no number needed is given."),
}
_SAID: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "zero-cells-added": lambda given: ngettext(
        "{number} was added to all four cells of {studies}, which has a cell of 0.",
        "{number} was added to all four cells of {studies}, which have a cell of 0.",
        len(given["studies"]),
    ).format(number=decimal_words(f"{given['added']:g}"), studies=both(given["studies"])),
    "lopsided-interval": lambda given: ngettext(
        "The estimate reported by {studies} is far from the middle of its limits: see whether they are copied rightly.",
        "The estimates reported by {studies} are far from the middle of their limits: see whether they are copied "
        "rightly.",
        len(given["studies"]),
    ).format(studies=both(given["studies"])),
    "pooled-with-correction": lambda given: gettext(
        "The Mantel-Haenszel effect has no value for these counts as they are: {number} was added to all four cells of "
        "studies with a cell of 0."
    ).format(number=decimal_words(f"{given['added']:g}")),
    "no-prediction": lambda given: ngettext(
        "A prediction interval needs three studies; there is {number}.",
        "A prediction interval needs three studies; there are {number}.",
        given["studies"],
    ).format(number=given["studies"]),
    "comparator-risk-at-end": lambda given: gettext(
        "The comparator risk is {risk}, so there is no effect in absolute numbers."
    ).format(risk=decimal_words(f"{given['risk']:g}")),
    "no-year": lambda given: ngettext(
        "Nothing is said of how the effect grew year by year: {studies} has no year.",
        "Nothing is said of how the effect grew year by year: {studies} have no year.",
        len(given["studies"]),
    ).format(studies=both(given["studies"])),
    "too-many-to-leave-out": lambda given: gettext(
        "Leaving out each of {number} studies in turn was not tried: that is done up to {most}."
    ).format(number=given["studies"], most=given["most"]),
}


def left_out_words(left: LeftOut) -> str:
    """Why a study is left out, as the end of a line."""
    return gettext(LEFT_OUT[left.what])


def caveat_words(caveat: Caveat) -> str:
    """What could not be computed, as a sentence."""
    if caveat.what in _SAID:
        return _SAID[caveat.what](caveat.given)
    return gettext(_SENTENCES[caveat.what])
