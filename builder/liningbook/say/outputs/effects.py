"""The effect of one outcome in words: how sure one may be of it, how large it is, and in how many people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from liningbook.evidence.synthesis.concluded import Conclusion
from liningbook.evidence.synthesis.result import Absolute, Heterogeneity, NumberNeeded
from liningbook.evidence.table import Counts, Means, OutcomeTable, StudyTable
from liningbook.notation.quantity import decimal_text
from liningbook.say.answers import inside
from liningbook.say.cases import capital, full_stop, labelled, sentences
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.locale import both, day_words, decimal_words
from liningbook.say.synthesis import estimate_words, limits_words, measure_words, part_words

_EVENTS: Mapping[tuple[str, str], str] = {
    ("less", "high"): N_("happens less often"),
    ("less", "moderate"): N_("probably happens less often"),
    ("less", "low"): N_("may happen less often"),
    ("less", "very-low"): N_("may happen less often, but the evidence is very uncertain"),
    ("less", ""): N_("happened less often in these studies"),
    ("more", "high"): N_("happens more often"),
    ("more", "moderate"): N_("probably happens more often"),
    ("more", "low"): N_("may happen more often"),
    ("more", "very-low"): N_("may happen more often, but the evidence is very uncertain"),
    ("more", ""): N_("happened more often in these studies"),
    ("little", "high"): N_("happens about as often"),
    ("little", "moderate"): N_("probably happens about as often"),
    ("little", "low"): N_("may happen about as often"),
    ("little", "very-low"): N_("may happen about as often, but the evidence is very uncertain"),
    ("little", ""): N_("happened about as often in these studies"),
    ("open", "high"): N_("shows no clear difference: it may happen less often or more often"),
    ("open", "moderate"): N_("probably shows no clear difference: it could happen less often or more often"),
    ("open", "low"): N_("may happen less often, as often or more often"),
    ("open", "very-low"): N_("may happen less often, as often or more often, but the evidence is very uncertain"),
    ("open", ""): N_("showed no clear difference in these studies"),
}
"""How often something happens with the treatment, by what the interval says and by the certainty."""

_MEANS: Mapping[tuple[str, str], str] = {
    ("less", "high"): N_("is lower"),
    ("less", "moderate"): N_("is probably lower"),
    ("less", "low"): N_("may be lower"),
    ("less", "very-low"): N_("may be lower, but the evidence is very uncertain"),
    ("less", ""): N_("was lower in these studies"),
    ("more", "high"): N_("is higher"),
    ("more", "moderate"): N_("is probably higher"),
    ("more", "low"): N_("may be higher"),
    ("more", "very-low"): N_("may be higher, but the evidence is very uncertain"),
    ("more", ""): N_("was higher in these studies"),
    ("little", "high"): N_("is about the same"),
    ("little", "moderate"): N_("is probably about the same"),
    ("little", "low"): N_("may be about the same"),
    ("little", "very-low"): N_("may be about the same, but the evidence is very uncertain"),
    ("little", ""): N_("was about the same in these studies"),
    ("open", "high"): N_("shows no clear difference: it may be lower or higher"),
    ("open", "moderate"): N_("probably shows no clear difference: it could be lower or higher"),
    ("open", "low"): N_("may be no different, or lower or higher"),
    ("open", "very-low"): N_("may be no different, or lower or higher, but the evidence is very uncertain"),
    ("open", ""): N_("showed no clear difference in these studies"),
}
"""How large something is with the treatment."""

IMPORTANCE: Mapping[str, str] = {
    "critical": N_("critical"),
    "important": N_("important"),
    "limited": N_("of limited importance"),
}


def label_words(outcome: OutcomeTable, others: Iterable[OutcomeTable]) -> str:
    """The label of an outcome, with its measure where another one of the table has the same."""
    is_shared = any(one.id != outcome.id and one.label == outcome.label for one in others)
    return f"{outcome.label} ({measure_words(outcome.measure)})" if is_shared else outcome.label


def effect_words(outcome: OutcomeTable, conclusion: Conclusion | None) -> str:
    """What the treatment does, with a verb that follows the certainty: `probably happens less often`."""
    if conclusion is None:
        return gettext("the studies give no effect together")
    if conclusion == "no-interval":
        return gettext("no interval can be given for the effect")
    table = _MEANS if outcome.measure == "mean-difference" else _EVENTS
    return gettext(table[conclusion, outcome.certainty])


def interval_words(outcome: OutcomeTable, value: float, low: float | None, high: float | None) -> str:
    """An estimate on the scale that it is read on: `0.49 (0.34 to 0.70)`; alone where its interval is not known."""
    said = estimate_words(value, outcome.no_effect)
    limits = limits_words(low, high, outcome.no_effect)
    return gettext("{value} ({limits})").format(value=said, limits=limits) if limits else said


def arm_words(arm: Counts | Means | None) -> str:
    """The figures of one arm: `5 / 156`, `1.2 (0.4), 30`; a dash where a study tells only its effect."""
    match arm:
        case Counts(events, total):
            return f"{events}/{total}"
        case Means(mean, deviation, number):
            said = [decimal_words(decimal_text(one).replace("-", "−")) for one in (mean, deviation)]
            return f"{said[0]} ({said[1]}), {number}"
    return "–"


def people_words(studies: int, people: int, telling: int) -> str:
    """How much the effect rests on: `4 studies, 612 people`; where not all studies tell it, how many do (`telling`)."""
    words = ngettext("{number} study", "{number} studies", studies).format(number=studies)
    if not people:
        return words
    counted = ngettext("{number} person", "{number} people", people).format(number=people)
    if telling == studies:
        return f"{words}, {counted}"
    return gettext("{studies}, {people} in {number} of them").format(studies=words, people=counted, number=telling)


def importance_words(importance: int) -> str:
    """How much an outcome weighs in a decision: `critical (8 of 9)`."""
    band = "critical" if importance >= 7 else "important" if importance >= 4 else "limited"
    return gettext("{importance} ({number} of 9)").format(importance=gettext(IMPORTANCE[band]), number=importance)


def comparator_words(absolute: Absolute, comparator: str) -> str:
    """How many of 1000 have the event with the comparator, and where the figure is from."""
    if absolute.comparator_risk is None:
        return ""
    count = _whole(absolute.comparator_risk * 1000)
    said = gettext("{count} (stated)") if absolute.is_stated else gettext("{count} (median of the studies)")
    return labelled(capital(comparator), said.format(count=count))


def difference_per_1000(absolute: Absolute) -> str:
    """`61 fewer (79 fewer to 36 fewer)`."""
    value = _more_or_fewer(absolute.per_1000)
    if absolute.low is None or absolute.high is None:
        return value
    said = gettext("{value} ({low} to {high})")
    return said.format(value=value, low=_more_or_fewer(absolute.low), high=_more_or_fewer(absolute.high))


def _more_or_fewer(count: float) -> str:
    if count == 0:
        return gettext("no difference")
    said = gettext("{count} fewer") if count < 0 else gettext("{count} more")
    return said.format(count=_whole(abs(count)))


def number_needed_words(absolute: Absolute) -> str:
    """How many are treated for one to gain by it or to be harmed; where it crosses no effect, through infinity."""
    if absolute.number_needed is None:
        return ""
    value = _needed(absolute.number_needed)
    first, last = absolute.number_low, absolute.number_high
    known = first or last
    if known is not None and absolute.through_infinity and (first is None or last is None):
        said = (
            gettext("{value} (gain 1 in {number} to ∞)")
            if known.of == "benefit"
            else gettext("{value} (harm 1 in {number} to ∞)")
        )
        return said.format(value=value, number=known.number)
    if first is None or last is None:
        return value
    if absolute.through_infinity:
        gain, harm = (first, last) if first.of == "benefit" else (last, first)
        said = gettext("{value} (gain 1 in {gain} to ∞ to harm 1 in {harm})")
        return said.format(value=value, gain=gain.number, harm=harm.number)
    low, high = sorted((first.number, last.number))
    return gettext("{value} ({low} to {high})").format(value=value, low=low, high=high)


def _needed(needed: NumberNeeded) -> str:
    said = gettext("1 in {number} gains") if needed.of == "benefit" else gettext("1 in {number} is harmed")
    return said.format(number=needed.number)


def compared_words(intervention: str, comparator: str) -> str:
    """What a table compares."""
    said = gettext("{intervention} against {comparator}")
    return capital(said.format(intervention=intervention, comparator=inside(comparator)))


def question_parts(table: StudyTable) -> Iterator[tuple[str, str]]:
    """Whom it is about, and where studies were looked for until when: label and words."""
    yield gettext("For"), full_stop(table.population)
    if (search := table.search) is not None:
        words = both(search.sources) if search.sources else ""
        if search.until:
            words = gettext("{sources}, until {day}").format(sources=words, day=_day(search.until))
        yield gettext("Searched"), full_stop(sentences([words, search.note]))


def _day(text: str) -> str:
    try:
        return day_words(date.fromisoformat(text))
    except ValueError:
        return text


def estimate_line(outcome: OutcomeTable, interval: str) -> str:
    """`Risk ratio 0.49 (0.34 to 0.70)`."""
    said = gettext("{measure} {interval} {unit}") if outcome.unit else gettext("{measure} {interval}")
    words = {"measure": capital(measure_words(outcome.measure)), "interval": interval}
    return said.format(**words, unit=outcome.unit) if outcome.unit else said.format(**words)


def graded_words(steps: Sequence[str], because: str) -> str:
    """From where to where the certainty went, and why another one is stated."""
    ends = [steps[0], steps[-1]] if steps else []
    return sentences([capital(", ".join(ends)), because])


def amount_words(events: int | None, people: int, telling: int, studies: int, interval: str) -> str:
    """How many events and people there are, in how many of the studies if not in all, and the interval."""
    found = [] if events is None else [ngettext("{number} event", "{number} events", events).format(number=events)]
    if people:
        found.append(ngettext("{number} person", "{number} people", people).format(number=people))
    if found and telling < studies:
        found.append(gettext("in {number} of {all} studies").format(number=telling, all=studies))
    return "; ".join(part for part in (", ".join(found), interval) if part) or "–"


def spread_words(found: Heterogeneity) -> str:
    """How far the studies differ, in few words."""
    return gettext("I² = {part}").format(part=part_words(found.i2))


def settings_words(settings: Sequence[str]) -> str:
    """Where the studies were done, where not all of them were with patients."""
    others = sum(setting != "patients" for setting in settings)
    if not others:
        return "–"
    said = gettext("{number} of {all} studies not with patients")
    return said.format(number=others, all=len(settings))


def _whole(count: float) -> str:
    """A count rounded to a whole one; with decimals where it would be 0 and is not."""
    return f"{count:.0f}" if count >= 0.5 or not count else estimate_words(count, 0)
