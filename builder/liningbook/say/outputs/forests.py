"""What stands in a forest plot and beneath it: columns, the two sides, how the studies are put together and differ."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from liningbook.evidence.synthesis.result import Caveat, Heterogeneity, LeftOut
from liningbook.evidence.table import Means, OutcomeTable
from liningbook.say.answers import inside
from liningbook.say.cases import capital, labelled
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import decimal_words
from liningbook.say.synthesis import (
    caveat_words,
    chance_words,
    estimate_words,
    estimator_words,
    left_out_words,
    limits_words,
    measure_words,
    part_words,
)

_SHOWN = frozenset({"zero-cells-added", "one-study", "no-year", "no-prediction", "too-many-to-leave-out"})
"""Caveats that the plot itself tells, or that concern what is not shown here."""


def study_name(data: Mapping[str, object] | None, key: str, year: int | None) -> str:
    """A study by its first author and year: `Marlow 2019`; by its key where the reference names nobody."""
    people = data.get("author") if data else None
    first = people[0] if isinstance(people, list) and people and isinstance(people[0], dict) else {}
    author = str(first.get("family") or first.get("literal") or "")
    return f"{author} {year}" if author and year else author or key


def told_apart(name: str, known: Collection[str]) -> str:
    """The name with a letter where it is among those known: `Marlow 2019b`."""
    letters = ("", *"bcdefghijklmnopqrstuvwxyz")
    return next((name + letter for letter in letters if name + letter not in known), f"{name} ({len(known)})")


def forest_title(outcome: str, intervention: str, comparator: str) -> str:
    """What a plot is of."""
    said = gettext("Forest plot of {outcome}: {intervention} against {comparator}")
    return said.format(outcome=inside(outcome), intervention=inside(intervention), comparator=inside(comparator))


def continued_words(outcome: str) -> str:
    """Over a part of a plot that goes on from the page before."""
    return gettext("{outcome}, continued").format(outcome=outcome)


def study_head() -> str:
    """The head of the names."""
    return gettext("Study")


def weight_head() -> str:
    """The head of the weights."""
    return gettext("Weight")


def tick_words(value: float) -> str:
    """A round value of the axis."""
    text = f"{value:.9f}".rstrip("0").rstrip(".")
    return decimal_words(text.replace("-", "\N{MINUS SIGN}"))


def arms_head(outcome: OutcomeTable) -> str:
    """What the figures of an arm are."""
    if any(isinstance(study.treated, Means) for study in outcome.studies):
        return gettext("mean (SD), people")
    return gettext("events/people")


def estimate_head(outcome: OutcomeTable) -> str:
    """Above the estimates: `Risk ratio (95% interval)`."""
    words = capital(measure_words(outcome.measure))
    said = gettext("{measure}, {unit} (95% interval)") if outcome.unit else gettext("{measure} (95% interval)")
    return said.format(measure=words, unit=outcome.unit) if outcome.unit else said.format(measure=words)


def axis_words(outcome: OutcomeTable) -> str:
    """Beneath the axis: what it measures, and that it is one of logarithms."""
    words = capital(measure_words(outcome.measure))
    if outcome.is_ratio:
        return gettext("{measure}, logarithmic scale").format(measure=words)
    return f"{words}, {outcome.unit}" if outcome.unit else words


def sides(outcome: OutcomeTable, intervention: str, comparator: str) -> tuple[str, str]:
    """Whom each side of no effect speaks for: the left one, of smaller values, and the right one."""
    intervention, comparator = inside(intervention), inside(comparator)
    left, right = (intervention, comparator) if outcome.kind == "harm" else (comparator, intervention)
    better = gettext("in favour of {treatment}")
    return better.format(treatment=left), better.format(treatment=right)


def threshold_words(outcome: OutcomeTable) -> str:
    """That an effect matters from a value on; nothing where none is stated."""
    if outcome.threshold is None:
        return ""
    return gettext("matters from {value}").format(value=tick_words(float(outcome.threshold)))


def all_studies(count: int) -> str:
    """The name of the pooled effect."""
    if count > 1:
        return gettext("All {number} studies").format(number=count)
    return ngettext("{number} study", "{number} studies", count).format(number=count)


def prediction_name() -> str:
    """The name of the prediction interval."""
    return gettext("A further study (95% prediction)")


def method_words(outcome: OutcomeTable) -> str:
    """How the studies are put together, by the terms of the methods."""
    if outcome.model == "random":
        words = [gettext("random effects, tau² by {method}").format(method=estimator_words(outcome.tau2))]
    else:
        words = [gettext("fixed effect")]
    mantel = outcome.weights == "mantel-haenszel"
    words.append(gettext("Mantel-Haenszel weights") if mantel else gettext("inverse-variance weights"))
    if outcome.interval == "hartung-knapp":
        words.append(gettext("Hartung-Knapp interval"))
    return labelled(gettext("Method"), ", ".join(words))


def heterogeneity_words(found: Heterogeneity) -> str:
    """How far the studies differ: Q, I² by its definition, tau² with its interval; nothing for one study."""
    if not found.df:
        return ""
    q = gettext("Q = {q}, df = {df}").format(q=estimate_words(found.q, 0), df=found.df)
    words = [f"{q}, {chance_words(found.p)}" if found.p is not None else q]
    of = gettext("I² = {part} (from Q)") if found.i2_from == "q" else gettext("I² = {part} (from tau²)")
    words.append(of.format(part=part_words(found.i2)))
    if found.tau2 is not None:
        limits = limits_words(found.tau2_low, found.tau2_high, 0)
        said = gettext("tau² = {value} (Q-profile {limits})") if limits else gettext("tau² = {value}")
        value = estimate_words(found.tau2, 0)
        words.append(said.format(value=value, limits=limits) if limits else said.format(value=value))
    tied = [
        one.replace(" = ", "\N{NO-BREAK SPACE}=\N{NO-BREAK SPACE}").replace(
            " < ", "\N{NO-BREAK SPACE}<\N{NO-BREAK SPACE}"
        )
        for one in words
    ]
    return labelled(gettext("Differences between studies"), "; ".join(tied))


def left_out_line(one: LeftOut) -> str:
    """In place of an effect: why a study has none."""
    return gettext("left out: {reason}").format(reason=left_out_words(one))


def no_effects(left_out: Sequence[tuple[str, LeftOut]]) -> str:
    """In place of a plot: that no study has an effect, and why, each by its name."""
    reasons = "; ".join(labelled(name, left_out_words(one)) for name, one in left_out)
    return gettext("No plot: none of the studies has an effect that can be shown. {reasons}.").format(reasons=reasons)


def notes(caveats: Sequence[Caveat]) -> list[str]:
    """What is to be said beneath a plot beyond what it shows by itself."""
    return [capital(caveat_words(one)) for one in caveats if one.what not in _SHOWN]


def corrected_words(added: float) -> str:
    """What the dagger means."""
    said = gettext("† {number} added to each of the four cells, since one is 0")
    return said.format(number=decimal_words(f"{added:g}"))


def both_arms(treated: str, comparator: str) -> str:
    """The figures of both arms: `5/156 against 8/74`; nothing where they are not known."""
    return gettext("{treated} against {comparator}").format(treated=treated, comparator=comparator) if treated else ""


def arms_named(figures: str, intervention: str, comparator: str) -> str:
    """What the figures of both arms are, and which arm is which."""
    said = gettext("{figures}: {intervention} against {comparator}")
    words = {"intervention": inside(intervention), "comparator": inside(comparator)}
    return capital(said.format(figures=figures, **words))


def row_words(name: str, arms: str, estimate: str, weight: str, reason: str) -> str:
    """A line of the plot for who cannot see it; what is not known is left out."""
    said = gettext("weight {weight}").format(weight=weight) if weight else ""
    return labelled(name, "; ".join(part for part in (arms, estimate, said, reason) if part))
