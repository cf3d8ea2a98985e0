"""What all views are put together from: labelled lines, and the one chart, bands against the values of a choice."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from liningbook.notation.interval import Range
from liningbook.notation.quantity import Unit
from liningbook.say.cases import labelled


@dataclass(frozen=True)
class Labelled:
    """A labelled line: `label` and `text`."""

    label: str
    text: str


@dataclass(frozen=True)
class Step:
    """One line of advice in a cell: `number` is its place in the placing order, 0 if it is no layer that is placed.

    `head` is what is placed or decided, set in bold; `rest`, if any, says more of it. `layer` is the name of the layer
    that it is about, and `slot` that layer's place among those of the protocol, from 1; nothing if it is about none.
    """

    number: int
    head: str
    rest: str = ""
    layer: str = ""
    slot: int = 0

    @property
    def tail(self) -> str:
        """What follows the head, with the sign between them."""
        if not self.rest:
            return ""
        return f", {self.rest}" if self.number else labelled("", self.rest)

    @property
    def text(self) -> str:
        """The whole line."""
        return self.head + self.tail


@dataclass(frozen=True)
class Cell:
    """The advice for one band and one column of a chart. Never without words.

    `id` names the cell in messages (`Amalgam, 0.5 mm or less`). `tone` is one of `place` (layers are
    placed), `nothing` (no layer is placed), `decide` (the clinician decides), `refer` (another answer than
    to go on), `fault` (no or no single answer; draft builds only), `out` (not covered here). `changed` says that it has
    changed since the last edition; `was` is what it said then, where that is to be shown.
    """

    id: str
    steps: tuple[Step, ...]
    tone: str
    changed: bool = False
    was: tuple[Step, ...] = ()

    @property
    def is_layered(self) -> bool:
        """Whether every line is about a layer of its own, so that cells can be read along a layer."""
        slots = [step.slot for step in self.steps]
        return all(slots) and len(set(slots)) == len(slots)


@dataclass(frozen=True)
class Depth:
    """The bands of a chart as numbers in `unit`, thin to thick, and the part of their scale that is drawn.

    `top` lies a little beyond the last threshold.
    """

    bands: tuple[Range, ...]
    unit: Unit
    bottom: Fraction
    top: Fraction


@dataclass(frozen=True)
class Chart:
    """The usual case at one glance: bands of one quantity against the values of one choice.

    `cells[b][c]` belongs to `bands[b]` and `columns[c]`. `usual` says in words which values of the
    other factors the chart stands for. Neighbouring bands with the same advice in every column are one band.
    """

    band_heading: str
    column_heading: str
    bands: tuple[str, ...]
    columns: tuple[str, ...]
    cells: tuple[tuple[Cell, ...], ...]
    usual: tuple[Labelled, ...]
    band_notes: tuple[str, ...] = ()
    """A few words under the heading of a band (`not 0 mm`), or nothing; as many as bands, or none at all."""
    band_readings: tuple[str, ...] = ()
    """The band on the other scale (`up to 1.29 mm`), where it is read off; as many as bands."""
    reading_heading: str = ""
    """What the other scale is: `Bitewing radiograph`."""
    depth: Depth | None = None
    """The bands as numbers, where there is more than one."""
    changed_since: str = ""
    """The edition since which the changed cells have changed; nothing where no cell is marked."""
