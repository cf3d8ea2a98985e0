"""What the figures of an outcome come to, beside what was judged of it."""

from __future__ import annotations

from liningbook.control.weighed import Weighed
from liningbook.evidence.grade import LOWERED_AT_MOST, RAISED_AT_MOST
from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.table import Counts, Means, OutcomeTable
from liningbook.say import grades
from liningbook.say.findings.questions import cause_words
from liningbook.say.locale import both
from liningbook.say.outputs import effects
from liningbook.show.views.evidence.tables import DomainRow


def domain_rows(weighed: Weighed) -> tuple[DomainRow, ...]:
    """Each domain that was judged, or that the figures question, with the author's sentence and what they say."""
    outcome = weighed.outcome
    asked = {one.domain: both([cause_words(cause) for cause in one.causes]) for one in weighed.questions}
    rows = []
    for judgements, domains, is_raised in (
        (outcome.lowered, LOWERED_AT_MOST, False),
        (outcome.raised, RAISED_AT_MOST, True),
    ):
        for name in domains:
            judged = judgements.get(name)
            if judged is not None or name in asked:
                words = grades.judged_words(name, judged.level if judged else 0, is_raised)
                figures = asked.get(name) or _figures(name, outcome, weighed.synthesis)
                rows.append(DomainRow(words, judged.because if judged else "", figures))
    return tuple(rows)


def pooled_interval(outcome: OutcomeTable, synthesis: Synthesis) -> str:
    """The effect of all studies with its interval, as it is read; nothing where there is none."""
    pooled = synthesis.pooled
    if pooled is None:
        return ""
    low, high = (None if end is None else synthesis.shown(end) for end in (pooled.low, pooled.high))
    return effects.interval_words(outcome, synthesis.shown(pooled.value), low, high)


def total_of(outcome: OutcomeTable, counted: set[str], is_treated: bool) -> str:
    """The figures of one arm of all studies with an effect, where all of them have counts; else nothing."""
    arms = [one.treated if is_treated else one.comparator for one in outcome.studies if one.study in counted]
    found = [arm for arm in arms if isinstance(arm, Counts)]
    if len(found) < len(arms):
        return ""
    return effects.arm_words(Counts(sum(arm.events for arm in found), sum(arm.total for arm in found)))


def people_of(outcome: OutcomeTable, counted: set[str]) -> tuple[int, int]:
    """How many people the studies with an effect have, and how many of these studies tell it."""
    told = [one for one in outcome.studies if one.study in counted and one.treated is not None]
    arms = [arm for one in told for arm in (one.treated, one.comparator)]
    people = (arm.total if isinstance(arm, Counts) else arm.number for arm in arms if isinstance(arm, Counts | Means))
    return sum(people), len(told)


def _events(outcome: OutcomeTable, counted: set[str]) -> int | None:
    arms = [arm for one in outcome.studies if one.study in counted for arm in (one.treated, one.comparator)]
    found = [arm.events for arm in arms if isinstance(arm, Counts)]
    return sum(found) if found else None


def _figures(domain: str, outcome: OutcomeTable, synthesis: Synthesis) -> str:
    """What the figures say of a domain; a dash where they say nothing of it."""
    counted = {effect.study for effect in synthesis.effects}
    match domain:
        case "imprecision":
            events, (people, telling) = _events(outcome, counted), people_of(outcome, counted)
            return effects.amount_words(events, people, telling, len(counted), pooled_interval(outcome, synthesis))
        case "inconsistency" if synthesis.heterogeneity is not None and synthesis.heterogeneity.df:
            return effects.spread_words(synthesis.heterogeneity)
        case "large-effect":
            return pooled_interval(outcome, synthesis) or "–"
        case "indirectness":
            return effects.settings_words([study.setting for study in outcome.studies])
    return "–"
