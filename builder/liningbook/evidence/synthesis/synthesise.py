"""All that is computed of the studies of one outcome."""

from __future__ import annotations

from dataclasses import replace

from liningbook.evidence.synthesis.absolute import absolute
from liningbook.evidence.synthesis.effects import Estimate, estimates
from liningbook.evidence.synthesis.heterogeneity import heterogeneity, with_tests
from liningbook.evidence.synthesis.pooling import Pooling, pool, prediction
from liningbook.evidence.synthesis.result import Caveat, Effect, Synthesis
from liningbook.evidence.synthesis.robustness import robustness
from liningbook.evidence.table import OutcomeTable


def pool_only(outcome: OutcomeTable) -> Synthesis:
    """Effects, pooled and absolute effect, Q, I², tau²: what `check` asks for. Loads scipy for Hartung-Knapp alone."""
    return _start(outcome)[0]


def synthesise(outcome: OutcomeTable) -> Synthesis:
    """Everything, with p, the interval of tau², the prediction interval and what each study decides. Needs scipy."""
    found, each, pooling = _start(outcome)
    if pooling is None or found.pooled is None or found.heterogeneity is None:
        return found
    tested, of_tau2 = with_tests(found.heterogeneity, pooling.sample)
    further, of_prediction = prediction(outcome, pooling)
    left_out, by_year, of_studies = robustness(outcome, each, found.pooled)
    return replace(
        found,
        heterogeneity=tested,
        prediction=further,
        leave_one_out=left_out,
        cumulative=by_year,
        notes=(*found.notes, *of_tau2, *of_prediction, *of_studies),
    )


def _start(outcome: OutcomeTable) -> tuple[Synthesis, list[Estimate], Pooling | None]:
    """What needs neither quantiles of chi² nor many poolings."""
    each, left_out, notes = estimates(outcome)
    if not each:
        none = Caveat("no-effects")
        return Synthesis(outcome.is_ratio, (), tuple(left_out), notes=(*notes, none)), each, None
    pooling = pool(outcome, each)
    in_people, of_people = absolute(outcome, pooling.pooled)
    found = Synthesis(
        is_ratio=outcome.is_ratio,
        effects=tuple(
            Effect(one.study, one.value, one.variance, one.low, one.high, weight, one.corrected)
            for one, weight in zip(each, pooling.weights, strict=True)
        ),
        left_out=tuple(left_out),
        pooled=pooling.pooled,
        heterogeneity=heterogeneity(pooling.sample, pooling.about, pooling.tau2, outcome.tau2),
        absolute=in_people,
        notes=(*notes, *pooling.notes, *([Caveat("one-study")] if len(each) == 1 else []), *of_people),
    )
    return found, each, pooling
