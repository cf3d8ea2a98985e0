"""What the study tables come to, in the JSON of the contract (`evidence --format json`).

Estimates are of double precision and on the scale on which they are read; `log_estimate` is that on which ratios are
pooled. What cannot be computed, or is no finite number, is absent, and `notes` say so. Said in English, as all JSON is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import exp, isfinite
from typing import Any

from liningbook.control.decided import RuleCases
from liningbook.control.new_study import NewStudy
from liningbook.control.weighed import Weighed, WeighedTable
from liningbook.evidence.grade import GradeStep
from liningbook.evidence.questioning import OpenQuestion
from liningbook.evidence.synthesis.result import Absolute, Effect, NumberNeeded, Pooled, Synthesis, Without
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.resources import ENGLISH
from liningbook.say.cases import labelled
from liningbook.say.catalogue import speaking
from liningbook.say.command.evidence import NOT_REGRADED
from liningbook.say.findings.grades import step_words
from liningbook.say.findings.questions import question_words
from liningbook.say.synthesis import caveat_words, left_out_words
from liningbook.space.region import Region


def evidence_json(protocol: Protocol, tables: Iterable[WeighedTable]) -> dict[str, Any]:
    """The object that `evidence --format json` prints."""
    with speaking(ENGLISH):
        tables = list(tables)
        studies = dict.fromkeys(study for weighed in tables for study in weighed.table.studies)
        return {
            "protocol": protocol.title,
            "edition": protocol.edition,
            "retracted": [study for study in studies if study in protocol.retracted],
            "tables": {weighed.table.id: _table_json(weighed) for weighed in tables},
        }


def _table_json(weighed: WeighedTable) -> dict[str, Any]:
    table = weighed.table
    found: dict[str, Any] = {
        "file": table.file,
        "question": {
            "population": table.population,
            "intervention": table.intervention,
            "comparator": table.comparator,
        },
    }
    if table.search is not None:
        found["search"] = _present(
            sources=list(table.search.sources), until=table.search.until or None, note=table.search.note or None
        )
    return {**found, "outcomes": {name: outcome_json(one) for name, one in weighed.outcomes.items()}}


def outcome_json(weighed: Weighed) -> dict[str, Any]:
    """One outcome: the studies and what they come to, and how the certainty comes about."""
    outcome, synthesis = weighed.outcome, weighed.synthesis
    return _present(
        label=outcome.label,
        kind=outcome.kind,
        importance=outcome.importance,
        measure=outcome.measure,
        unit=outcome.unit or None,
        method=_present(
            model=outcome.model,
            tau2=outcome.tau2 if outcome.model == "random" else None,
            interval=outcome.interval,
            weights=outcome.weights,
        ),
        studies=[_study_json(synthesis, effect) for effect in synthesis.effects],
        left_out=_left_out(weighed),
        **synthesis_json(synthesis),
        leave_one_out=[_left_out_json(synthesis, one) for one in synthesis.leave_one_out],
        decides=list(weighed.decides),
        cumulative=[_year_json(synthesis, one) for one in synthesis.cumulative],
        questions=[question_json(weighed, question) for question in weighed.questions],
        certainty=_certainty_json(weighed),
        notes=[caveat_words(note) for note in synthesis.notes],
    )


def new_study_json(meaning: Meaning, new: NewStudy) -> dict[str, Any]:
    """Figures without the study and with it, what is asked, and the rules that rest on the table with their cases."""
    year = {} if new.study.year is None else {"year": new.study.year}
    with speaking(ENGLISH):
        return {
            "study": new.study.study,
            **year,
            "table": new.table.id,
            "outcome": new.after.outcome.id,
            "before": _all_figures(new.before),
            "after": _all_figures(new.after),
            "conclusion_changes": new.turns,
            "asked": [question_json(new.after, question) for question in new.asked],
            "no_longer_asked": [question_json(new.before, question) for question in new.settled],
            "rules": [_rule_json(meaning, cases) for cases in new.rules],
            "regraded": False,
            "note": NOT_REGRADED,
        }


def _all_figures(weighed: Weighed) -> dict[str, Any]:
    return {
        **synthesis_json(weighed.synthesis),
        "left_out": _left_out(weighed),
        "decides": list(weighed.decides),
        "notes": [caveat_words(note) for note in weighed.synthesis.notes],
    }


def _left_out(weighed: Weighed) -> list[dict[str, str]]:
    return [{"study": one.study, "because": left_out_words(one)} for one in weighed.synthesis.left_out]


def _rule_json(meaning: Meaning, cases: RuleCases) -> dict[str, Any]:
    evidence = cases.rule.evidence
    stated = {"certainty": evidence.certainty, "level": evidence.level, "strength": evidence.strength}
    return {
        "rule": cases.rule.id,
        "title": cases.rule.title,
        **{key: value for key, value in stated.items() if value is not None},
        "in_force": cases.in_force,
        "advises": _regions(meaning, cases.advises),
        "avoids": _regions(meaning, cases.avoids),
    }


def _regions(meaning: Meaning, regions: Mapping[str, Region | None]) -> dict[str, Any]:
    """The cases by decision; `complete` says where they could not be worked out."""
    return {
        decision: {"cases": [], "complete": False}
        if region is None
        else {"cases": [meaning.space.notation(box) for box in region]}
        for decision, region in regions.items()
    }


def question_json(weighed: Weighed, question: OpenQuestion) -> dict[str, Any]:
    """What the figures ask of the judgement on a domain, and what of them does."""
    return {
        "domain": question.domain,
        "causes": [cause.what for cause in question.causes],
        "question": question_words(weighed.outcome, question),
    }


def synthesis_json(synthesis: Synthesis) -> dict[str, Any]:
    """What all studies come to together; a part that cannot be computed is absent."""
    found: dict[str, Any] = {}
    if synthesis.pooled is not None:
        found["pooled"] = _pooled_json(synthesis, synthesis.pooled)
    if (spread := synthesis.heterogeneity) is not None:
        found["heterogeneity"] = _present(
            q=spread.q,
            df=spread.df,
            p=spread.p,
            tau2=spread.tau2,
            tau2_low=spread.tau2_low,
            tau2_high=spread.tau2_high,
            i2=spread.i2,
            i2_from=spread.i2_from,
        )
    if (next_one := synthesis.prediction) is not None:
        found["prediction"] = _present(
            low=_shown(synthesis, next_one.low), high=_shown(synthesis, next_one.high), df=next_one.df
        )
    if synthesis.absolute is not None:
        found["absolute"] = _absolute_json(synthesis.absolute)
    return found


def _study_json(synthesis: Synthesis, effect: Effect) -> dict[str, Any]:
    return _present(
        study=effect.study,
        **_on_both_scales(synthesis, effect.value),
        variance=effect.variance,
        low=_shown(synthesis, effect.low),
        high=_shown(synthesis, effect.high),
        weight=effect.weight,
        corrected=effect.corrected or None,
    )


def _pooled_json(synthesis: Synthesis, pooled: Pooled) -> dict[str, Any]:
    return _present(
        **_on_both_scales(synthesis, pooled.value),
        standard_error=pooled.standard_error,
        low=_shown(synthesis, pooled.low),
        high=_shown(synthesis, pooled.high),
    )


def _absolute_json(absolute: Absolute) -> dict[str, Any]:
    needed = absolute.number_needed
    return _present(
        comparator_risk=absolute.comparator_risk,
        comparator_risk_from="stated" if absolute.is_stated else "median",
        per_1000=absolute.per_1000,
        low=absolute.low,
        high=absolute.high,
        number_needed=needed.number if needed is not None else None,
        number_needed_for=needed.of if needed is not None else None,
        number_needed_low=_number_json(absolute.number_low),
        number_needed_high=_number_json(absolute.number_high),
        through_infinity=absolute.through_infinity,
    )


def _number_json(needed: NumberNeeded | None) -> dict[str, Any] | None:
    return {"number": needed.number, "for": needed.of} if needed is not None else None


def _left_out_json(synthesis: Synthesis, one: Without) -> dict[str, Any]:
    return {"without": one.study, "pooled": _pooled_json(synthesis, one.pooled), "decides": one.decides}


def _year_json(synthesis: Synthesis, one: Without) -> dict[str, Any]:
    return {
        "year": one.year,
        "studies": list(one.added),
        "pooled": _pooled_json(synthesis, one.pooled),
        "decides": one.decides,
    }


def _certainty_json(weighed: Weighed) -> dict[str, Any]:
    return _present(
        level=weighed.level or weighed.outcome.certainty or None,
        stated=weighed.outcome.certainty or None,
        because=weighed.outcome.because or None,
        steps=[_step(weighed, step) for step in weighed.steps],
    )


def _step(weighed: Weighed, step: GradeStep) -> str:
    """A step on the way to the certainty, with the author's sentence where there is one."""
    outcome = weighed.outcome
    judged = {"lowered": outcome.lowered, "raised": outcome.raised, "not-raised": outcome.raised}.get(step.what, {})
    because = judged[step.name].because if step.name in judged else ""
    return labelled(step_words(step), because) if because else step_words(step)


def _on_both_scales(synthesis: Synthesis, value: float) -> dict[str, float | None]:
    return {"estimate": _shown(synthesis, value), "log_estimate": value if synthesis.is_ratio else None}


def _shown(synthesis: Synthesis, value: float | None) -> float | None:
    """A value as it is read; nothing where that is beyond what a number of double precision holds."""
    try:
        return None if value is None else exp(value) if synthesis.is_ratio else value
    except OverflowError:
        return None


def _present(**values: Any) -> dict[str, Any]:
    """The values that are there and can stand in JSON."""
    return {
        name: value
        for name, value in values.items()
        if value is not None and not (isinstance(value, float) and not isfinite(value))
    }
