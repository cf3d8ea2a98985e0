"""A forest plot as plain data: its words, and where its marks stand on the scale on which effects are pooled."""

from __future__ import annotations

from dataclasses import dataclass

NO_EFFECT = 0.0
"""Where no effect stands on the scale of pooling, of ratios too."""


@dataclass(frozen=True)
class Spot:
    """Where an effect stands on the axis, and its interval where that is known. Ratios are logarithms here."""

    value: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class ForestRow:
    """A line of the plot. A study without a mark is left out: `reason` says why.

    `share` is its part of the pooled effect, `weight` that part in words.
    """

    name: str
    estimate: str = ""
    mark: Spot | None = None
    treated: str = ""
    comparator: str = ""
    arms: str = ""
    """Both in one text: `5/156 against 8/74`."""
    weight: str = ""
    share: float = 0.0
    reason: str = ""


@dataclass(frozen=True)
class Tick:
    """A value of the axis that is named."""

    value: float
    label: str


@dataclass(frozen=True)
class EffectAxis:
    """The axis: the part of the scale that is drawn, and what is named on it.

    `ticks` holds sets of ticks, from many to few: the first that has room is drawn.
    """

    low: float
    high: float
    ticks: tuple[tuple[Tick, ...], ...]
    words: str
    left: str
    """Whom the side of smaller values speaks for."""
    right: str
    threshold: float | None = None
    threshold_words: str = ""


@dataclass(frozen=True)
class Heads:
    """The heads of the columns; `figures` says what the figures of both arms are. Without arms those are empty."""

    study: str
    estimate: str
    weight: str
    treated: str = ""
    comparator: str = ""
    figures: str = ""
    arms: str = ""
    """What the text of both arms holds."""


@dataclass(frozen=True)
class Forest:
    """The plot of one outcome. `alternative` tells all of it in sentences."""

    id: str
    title: str
    alternative: str
    heads: Heads
    rows: tuple[ForestRow, ...]
    axis: EffectAxis
    pooled: ForestRow | None
    prediction: ForestRow | None
    below: tuple[str, ...]
    """Lines beneath the plot: how the studies differ, how they are put together, notes."""
    heading: str = ""
    """What stands over the plot where no heading of a page does."""
    continued: str = ""
    """What stands over a part of the plot that does not begin it."""
