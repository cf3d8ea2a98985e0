"""What is drawn in the printed protocol: finished drawings (SVG), each with its text alternative."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Picture:
    """A drawing and what it holds for, a line for each set of choices: `Amalgam: 2 mm or less`."""

    holds_for: tuple[str, ...]
    svg: str


@dataclass(frozen=True)
class ProtocolFigures:
    """The band chart and the cross-sections. An empty text or list: it is left out, and so is its heading."""

    band_chart: str = ""
    sections: tuple[Picture, ...] = ()


NO_FIGURES = ProtocolFigures()
