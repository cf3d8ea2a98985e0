"""How much the studies of an outcome differ.

Sources: Q, Cochran, Biometrics 1954;10:101-29; I², Higgins and Thompson, Stat Med 2002;21:1539-58, from Q or from tau²;
the Q-profile interval as in `tau2`. (Volumes and pages from memory.)
"""

from __future__ import annotations

from dataclasses import replace
from math import fsum

from liningbook.evidence.synthesis.quantiles import chi2_above, chi2_limits
from liningbook.evidence.synthesis.result import Caveat, Heterogeneity
from liningbook.evidence.synthesis.sample import Sample
from liningbook.evidence.synthesis.tau2 import where_spread_is


def heterogeneity(sample: Sample, about: float | None, tau2: float | None, method: str) -> Heterogeneity:
    """Q, and I² by the definition that belongs to the estimator of tau²; without p and the interval of tau².

    Q is about the given effect, else about that by inverse variance.
    """
    df = len(sample) - 1
    sums = sample.sums(0.0)
    q = sums.spread
    if about is not None and df:
        pairs = zip(sample.distances, sample.variances, strict=True)
        q = fsum((distance - (about - sample.origin)) ** 2 / variance for distance, variance in pairs)
    if tau2 is not None and method != "dersimonian-laird":
        typical = df / sums.shared if df else 1.0
        return Heterogeneity(q, df, None, tau2 / (tau2 + typical), "tau2", tau2 if df else None)
    i2 = max(0.0, (q - df) / q) if q > 0 else 0.0
    return Heterogeneity(q, df, None, i2, "q", tau2 if df else None)


def with_tests(found: Heterogeneity, sample: Sample) -> tuple[Heterogeneity, list[Caveat]]:
    """Adds p and, where tau² was estimated, its interval; gives what is to be told too."""
    if not found.df:
        return found, []
    found = replace(found, p=chi2_above(found.q, found.df))
    if found.tau2 is None:
        return found, []
    least, most = chi2_limits(found.df)
    if sample.sums(0.0).spread <= least:
        return found, [Caveat("no-tau2-interval")]
    return replace(found, tau2_low=where_spread_is(most, sample), tau2_high=where_spread_is(least, sample)), []
