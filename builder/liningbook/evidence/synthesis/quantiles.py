"""Quantiles and tail areas of the distributions that intervals and tests need; those of t and chi² by scipy.

scipy is loaded where it is asked for alone: loading it takes longer than checking a whole protocol.
"""

from __future__ import annotations

from statistics import NormalDist

Z = NormalDist().inv_cdf(0.975)
"""The half width, in standard errors, of a normal 95 % interval."""


def t_quantile(df: int) -> float:
    """The half width, in standard errors, of a 95 % interval by Student's t with `df` degrees of freedom."""
    from scipy.special import stdtrit

    return float(stdtrit(df, 0.975))


def chi2_above(value: float, df: int) -> float:
    """The probability that chi² with `df` degrees of freedom exceeds a value."""
    from scipy.special import chdtrc

    return float(chdtrc(df, value))


def chi2_limits(df: int) -> tuple[float, float]:
    """The values that chi² with `df` degrees of freedom falls below, and exceeds, with a probability of 0.025 each."""
    from scipy.special import chdtri

    return float(chdtri(df, 0.975)), float(chdtri(df, 0.025))
