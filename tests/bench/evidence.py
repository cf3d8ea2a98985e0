"""Study tables: 1,000 of 20 studies beside two libraries that pool effects, and `check` with and without tables."""

from __future__ import annotations

import json
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from math import exp, isnan, nan
from pathlib import Path
from random import Random
from statistics import median
from time import process_time
from typing import Any

from liningbook.analysis import analyse
from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.synthesis.synthesise import pool_only, synthesise
from liningbook.evidence.table import OutcomeTable
from tests.bench.engine import DEMONSTRATION, ROOT
from tests.bench.protocols import DAY
from tests.tables import counted, table

STUDIES = 20

Rows = list[list[tuple[int, int, int, int]]]
Way = Callable[[], list[float]]
"""Pools every table, and gives the pooled logarithms; not a number where a library is known to be wrong."""


def rows(count: int) -> Rows:
    """Counts of random tables of 20 studies, no cell empty (one of the libraries corrects those wrongly)."""
    draw = Random(20)
    found: Rows = []
    for _ in range(count):
        base, effect, differ = draw.uniform(0.1, 0.5), draw.gauss(0, 0.4), draw.choice([0.0, 0.2, 0.5])
        studies = []
        for _ in range(STUDIES):
            n1, n2 = draw.randint(20, 400), draw.randint(20, 400)
            risk = min(0.9, base * exp(effect + draw.gauss(0, differ)))
            a, c = (min(n - 1, max(1, round(draw.gauss(n * p, (n * p) ** 0.5)))) for n, p in ((n1, risk), (n2, base)))
            studies.append((a, n1, c, n2))
        found.append(studies)
    return found


def tables(found: Rows, tau2: str) -> list[OutcomeTable]:
    """Those counts as study tables, as they come from reading a protocol."""
    return [table(counted(studies), tau2=tau2) for studies in found]


def ours(outcomes: list[OutcomeTable], whole: bool) -> Way:
    """What `check` asks for, or everything."""

    def value(found: Synthesis) -> float:
        assert found.pooled
        return found.pooled.value

    return lambda: [value((synthesise if whole else pool_only)(outcome)) for outcome in outcomes]


def by_statsmodels(found: Rows, tau2: str, whole: bool) -> Way:
    """Effects, pooled effect, its interval, Q and I²; `whole`: with each study left out as well."""
    import numpy
    from statsmodels.stats.meta_analysis import combine_effects, effectsize_2proportions

    method = {"dersimonian-laird": "dl", "paule-mandel": "iterated"}[tau2]

    def one(values: Any, variances: Any) -> float:
        with numpy.errstate(invalid="ignore"):
            result = combine_effects(values, variances, method_re=method)
            result.conf_int(use_t=False)
        return float(result.mean_effect_re) if is_right(result) else nan

    def is_right(result: Any) -> bool:
        """It does not cut off a tau² below 0, and may give 0 where its last step passes the root by a rounding."""
        return bool(result.tau2 > 0 or (result.tau2 == 0 and result.q <= STUDIES - 1))

    def pool() -> list[float]:
        pooled = []
        for studies in found:
            columns = numpy.array(studies).T
            values, variances = effectsize_2proportions(*columns, statistic="risk-ratio")
            pooled.append(one(values, variances))
            for index in range(STUDIES) if whole else ():
                one(numpy.delete(values, index), numpy.delete(variances, index))
        return pooled

    return pool


def by_pymare(found: Rows, tau2: str, whole: bool) -> Way:
    """Pooled effect, its interval and tau², from effects by numpy; `whole`: Q-profile and each left out as well."""
    import numpy

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a file that it leaves open
        from pymare import Dataset
        from pymare.estimators import DerSimonianLaird, VarianceBasedLikelihoodEstimator

    def fitted(values: Any, variances: Any) -> Any:
        estimator = (
            DerSimonianLaird(small_sample_correction="wald")
            if tau2 == "dersimonian-laird"
            else VarianceBasedLikelihoodEstimator(method="reml", small_sample_correction="wald")
        )
        data = Dataset(y=values, v=variances, X=numpy.ones((len(values), 1)), add_intercept=False)
        summary = estimator.fit_dataset(data).summary()
        summary.get_fe_stats()
        return summary

    def pool() -> list[float]:
        pooled = []
        for studies in found:
            a, n1, c, n2 = numpy.array(studies, dtype=float).T
            values, variances = numpy.log(a * n2 / (c * n1)), 1 / a - 1 / n1 + 1 / c - 1 / n2
            summary = fitted(values, variances)
            pooled.append(float(summary.fe_params.item()))
            if whole:
                summary.get_re_stats()
            for index in range(STUDIES) if whole else ():
                fitted(numpy.delete(values, index), numpy.delete(variances, index))
        return pooled

    return pool


def processor_times(ways: dict[str, Way], runs: int) -> dict[str, float]:
    """Medians of the processor seconds of each way, in turn; stops where a library gives other pooled effects."""
    times: dict[str, list[float]] = {name: [] for name in ways}
    pooled: dict[str, list[float]] = {}
    for _ in range(runs):
        for name, way in ways.items():
            start = process_time()
            pooled[name] = way()
            times[name].append(process_time() - start)
    first, *others = pooled
    for other in others:
        if not disagreement(pooled[first], pooled[other]) < 1e-6:
            raise SystemExit(f"{other} and {first} give other pooled effects")
    return {name: median(each) for name, each in times.items()}


def disagreement(values: list[float], others: list[float]) -> float:
    """The largest difference between pooled logarithms, of the tables on which the library is right."""
    return max((abs(one - other) for one, other in zip(values, others, strict=True) if not isnan(other)), default=nan)


@contextmanager
def with_and_without() -> Iterator[tuple[Path, Path]]:
    """The demonstration, and a copy whose rules rest on judgements alone, without study tables and their studies."""
    with tempfile.TemporaryDirectory() as folder:
        bare = Path(folder) / DEMONSTRATION.name
        shutil.copytree(DEMONSTRATION, bare)
        shutil.rmtree(bare / "evidence")
        for rule in (bare / "rules").glob("*.md"):
            text = rule.read_text(encoding="utf-8")
            lowered = "" if re.search(r"^  certainty: low$", text, re.MULTILINE) else ", lowered: {risk-of-bias: 1}"
            judged = f"  design: observational{lowered}".replace(", ", "\n  ")
            rule.write_text(re.sub(r"^  tables: .*$", judged, text, flags=re.MULTILINE), encoding="utf-8")
        cited = "".join(path.read_text(encoding="utf-8") for path in (bare / "rules").glob("*.md"))
        references = bare / "references.json"
        kept = [entry for entry in json.loads(references.read_text(encoding="utf-8")) if entry["id"] in cited]
        references.write_text(json.dumps(kept), encoding="utf-8")
        kinds = [sorted(finding.kind for finding in analyse(each, DAY).findings) for each in (DEMONSTRATION, bare)]
        if kinds[0] != kinds[1]:
            raise SystemExit(f"the demonstration and its copy without tables do not agree: {kinds}")
        yield DEMONSTRATION, bare


def processor_time(folder: Path) -> float:
    """Processor seconds of `liningbook check` as a command of its own."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "builder")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "liningbook", "check", str(folder), "--on", DAY.isoformat()]
    subprocess.run(command, stdout=subprocess.DEVNULL, env=environment, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
