"""Effects with their variances, made ready for sums that lose nothing.

The most exact study is the origin, and comes first: where one study outweighs all others, what they add is then not
lost in the last digits. Sums are rounded once (`math.fsum`), so that the order of the studies changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum

from liningbook.evidence.synthesis.effects import Estimate


@dataclass(frozen=True)
class Sums:
    """Sums over the studies with the weights 1 / (variance + tau²); `mean` is the distance from the origin."""

    weight: float
    mean: float
    spread: float
    """Of weight × squared distance from the mean: Cochran's Q, where tau² is 0."""
    slope: float
    """Of squared weight × squared distance: how fast the spread falls as tau² grows."""
    shared: float
    """Σw − Σw²/Σw, without taking near equal numbers from each other."""


@dataclass(frozen=True)
class Sample:
    """Distances from the most exact study's effect, and variances, the least variance first."""

    origin: float
    distances: tuple[float, ...]
    variances: tuple[float, ...]

    @classmethod
    def of(cls, estimates: Sequence[Estimate]) -> Sample:
        """A sample of at least one effect."""
        pairs = sorted((estimate.variance, estimate.value) for estimate in estimates)
        origin = pairs[0][1]
        return cls(origin, tuple([value - origin for _, value in pairs]), tuple([variance for variance, _ in pairs]))

    def __len__(self) -> int:
        return len(self.distances)

    def sums(self, tau2: float) -> Sums:
        """The sums at a tau²."""
        weights = [1 / (variance + tau2) for variance in self.variances]
        total = fsum(weights)
        mean = fsum(map(_product, weights, self.distances)) / total
        parts = [weight * (distance - mean) for weight, distance in zip(weights, self.distances, strict=True)]
        return Sums(
            total,
            mean,
            fsum([part * (distance - mean) for part, distance in zip(parts, self.distances, strict=True)]),
            fsum(map(_product, parts, parts)),
            _shared(weights, total),
        )


def _product(one: float, other: float) -> float:
    return one * other


def _shared(weights: Sequence[float], total: float) -> float:
    """Σ w (Σw − w) / Σw, where what is left of the first weight is added up and not subtracted."""
    first, *others = weights
    return fsum([first * fsum(others), *[weight * (total - weight) for weight in others]]) / total
