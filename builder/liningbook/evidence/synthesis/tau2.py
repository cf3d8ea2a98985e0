"""How much the true effects vary between studies (tau²): three estimators, and the Q-profile interval.

Sources: DerSimonian and Laird, Control Clin Trials 1986;7:177-88; Paule and Mandel, J Res Natl Bur Stand
1982;87:377-85; restricted maximum likelihood: Viechtbauer, J Educ Behav Stat 2005;30:261-93; Q-profile: Viechtbauer,
Stat Med 2007; 26:37-52. (Volumes and pages from memory.)

With k studies there are k − 1 contrasts with variances λ + tau² and squares c², on which spread and likelihood
depend: the spread is Σ c²/(λ + tau²), and no likelihood has its peak beyond the sum of the c².
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, expm1, fsum, log, log1p

from liningbook.evidence.synthesis.sample import Sample

STEP = 0.5
"""How far apart, in log(tau² + least variance), the likelihood's slope is looked at: its terms change over about 1."""

ROUNDS = 200

NEAR = 1e-10
"""The last step to a peak, as a part of it; Newton's method then is as near as double precision lets it be."""


def dersimonian_laird(sample: Sample) -> float:
    """By moments: what Q exceeds its expectation by."""
    sums = sample.sums(0.0)
    return max(0.0, sums.spread - (len(sample) - 1)) / sums.shared


def paule_mandel(sample: Sample) -> float:
    """The tau² at which the spread is what is expected of it."""
    return where_spread_is(len(sample) - 1, sample)


def where_spread_is(target: float, sample: Sample) -> float:
    """The tau² at which the spread falls to a positive target; 0 where it is not above it to begin with.

    Newton's method on the reciprocal of the spread, which is concave and rises: from 0 it comes nearer at every step
    and never passes by.
    """
    tau2 = 0.0
    for _ in range(ROUNDS):
        sums = sample.sums(tau2)
        if sums.spread <= target:
            break
        further = tau2 + sums.spread / sums.slope * ((sums.spread - target) / target)
        if further <= tau2:
            break
        tau2 = further
    return tau2


def reml(sample: Sample) -> float:
    """By restricted maximum likelihood: of all its peaks, the highest."""
    mean = fsum(sample.distances) / len(sample)
    bound = fsum((distance - mean) ** 2 for distance in sample.distances)
    least = sample.variances[0]
    steps = max(1, ceil(log1p(bound / least) / STEP))
    width = log1p(bound / least) / steps
    points = [least * expm1(width * step) for step in range(steps + 1)]
    slopes = [_slope(sample, point) for point in points]
    peaks = [0.0] if slopes[0] <= 0 else []
    for low, high, before, after in zip(points, points[1:], slopes, slopes[1:], strict=False):
        if before > 0 >= after:
            peaks.append(_peak(sample, low, high))
    if slopes[-1] > 0:  # a bound that rounding has moved
        peaks.append(points[-1])
    return peaks[0] if len(peaks) == 1 else max(peaks, key=lambda tau2: (restricted_likelihood(sample, tau2), -tau2))


ESTIMATORS: dict[str, Callable[[Sample], float]] = {
    "dersimonian-laird": dersimonian_laird,
    "paule-mandel": paule_mandel,
    "reml": reml,
}


def restricted_likelihood(sample: Sample, tau2: float) -> float:
    """The logarithm of the restricted likelihood at a tau², without its constant."""
    sums = sample.sums(tau2)
    return -0.5 * fsum([*(log(variance + tau2) for variance in sample.variances), log(sums.weight), sums.spread])


def _slope(sample: Sample, tau2: float) -> float:
    """Twice the slope of the restricted log-likelihood; in plain sums, which tell its sign."""
    weights = [1 / (variance + tau2) for variance in sample.variances]
    others = sum(weights[1:])
    total = weights[0] + others
    mean = sum(map(float.__mul__, weights, sample.distances)) / total
    fall = sum([(weight * (distance - mean)) ** 2 for weight, distance in zip(weights, sample.distances, strict=True)])
    shared = weights[0] * others + sum([weight * (total - weight) for weight in weights[1:]])
    return fall - shared / total


def _peak(sample: Sample, low: float, high: float) -> float:
    """Where the slope passes from above 0 to below: Newton's method, halving where it would leave the bracket."""
    tau2 = (low + high) / 2
    for _ in range(ROUNDS):
        sums = sample.sums(tau2)
        slope = sums.slope - sums.shared
        if slope > 0:
            low = tau2
        else:
            high = tau2
        bend = _bend(sample, tau2)
        further = tau2 - slope / bend if bend < 0 else low
        if not low < further < high:
            further = (low + high) / 2
        if abs(further - tau2) <= NEAR * further or not low < further < high:
            return further
        tau2 = further
    return tau2


def _bend(sample: Sample, tau2: float) -> float:
    """Twice the second derivative of the restricted log-likelihood, in plain sums: tr(PP) − 2 y'PPPy."""
    weights = [1 / (variance + tau2) for variance in sample.variances]
    squared = [weight * weight for weight in weights]
    total, squares, cubes = sum(weights), sum(squared), sum(map(float.__mul__, weights, squared))
    mean = sum(map(float.__mul__, weights, sample.distances)) / total
    parts = [weight * (distance - mean) for weight, distance in zip(weights, sample.distances, strict=True)]
    weighted = sum(map(float.__mul__, weights, parts))
    cubic = sum([weight * part * part for weight, part in zip(weights, parts, strict=True)]) - weighted**2 / total
    return squares - 2 * cubes / total + (squares / total) ** 2 - 2 * cubic
