"""What all views are put together from: labelled lines, the one chart, rules and what they rest on, rows of lists."""

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


@dataclass(frozen=True)
class RuleLink:
    """Another rule, or a study table: its number and title, and where it stands."""

    number: int
    title: str
    anchor: str


@dataclass(frozen=True)
class RuleView:
    """One rule for reading. `number` counts from 1 in reading order; `anchor` is safe as an HTML id."""

    number: int
    anchor: str
    id: str
    title: str
    conditions: tuple[tuple[Labelled, ...], ...]
    """Any of these; each a list of conditions that all hold. An empty list means every case."""
    advice: tuple[Labelled, ...]
    avoid: tuple[Labelled, ...]
    never: tuple[Labelled, ...]
    overrides: tuple[RuleLink, ...]
    overridden_by: tuple[RuleLink, ...]
    valid: str
    review_by: str
    why_html: str
    evidence: tuple[Labelled, ...]
    cites: tuple[tuple[int, ...], ...]
    """Numbers in the reference list, three or more in a row as their first and last; `cited` says how many."""
    cited: int = 0
    evidence_line: str = ""
    """What it rests on, in few words: `Conditional, very low certainty`."""
    review_month: str = ""
    is_overdue: bool = False
    """Whether its own review was due before the day looked at."""
    judged: tuple[str, ...] = ()
    """How its certainty or level was come to, and `note` why it is as strong as it is."""
    note: str = ""
    dissent: tuple[str, ...] = ()
    """Who does not agree, a sentence each, and in `dissent_line` how many."""
    dissent_line: str = ""
    tables: tuple[RuleLink, ...] = ()
    """The study tables that it rests on."""


@dataclass(frozen=True)
class Ground:
    """What is told of the grounds of some rules beyond their line: see `RuleView.judged` and `RuleView.note`."""

    rules: tuple[RuleLink, ...]
    judged: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class RuleGroup:
    """Rules under one heading."""

    heading: str
    anchor: str
    rules: tuple[RuleView, ...]


@dataclass(frozen=True)
class Accepted:
    """A warning that the practice has accepted: which, in which cases (any of them), why, by whom and until when."""

    label: str
    cases: tuple[str, ...]
    reason: str
    by: str
    until: str
    text: str
    """All but the label in sentences."""


@dataclass(frozen=True)
class Stopper:
    """What stops an irritant in one case: `state` is `dentine`, `layer`, `open` (nothing) or `absent` (no irritant)."""

    state: str
    words: str


@dataclass(frozen=True)
class StopsRow:
    """Cases of the chart in which the same stops the same: choices (`Amalgam and Cast metal`) and a band."""

    choices: str
    band: str
    cells: tuple[Stopper, ...]


@dataclass(frozen=True)
class StopsTable:
    """For the usual case, by this protocol's table: cases by irritants, and what stops each."""

    irritants: tuple[str, ...]
    rows: tuple[StopsRow, ...]


@dataclass(frozen=True)
class FactorView:
    """A factor as the reader meets it: its label, what values it takes, how it is measured."""

    label: str
    values: str
    reading: str


@dataclass(frozen=True)
class ReferenceView:
    """An entry of the reference list, in words."""

    number: int
    id: str
    text: str
    url: str
    retracted: str = ""
    """That the work was retracted, as far as it is known with the day and the reason."""


@dataclass(frozen=True)
class ReadingRow:
    """A threshold as a value and as the reading at which it is passed, and the probability of a value above it."""

    value: str
    reading: str
    probability: str
    words: str = ""
    """The row as a sentence for the card."""


@dataclass(frozen=True)
class ReadingTable:
    """The thresholds of one factor that is read off by `method`, and what is said of readings finer than those given.

    The probability is for the protocol's annex only.
    """

    factor: str
    method: str
    rows: tuple[ReadingRow, ...]
    finer: str = ""


@dataclass(frozen=True)
class DomainBar:
    """A domain in which readers appraised the protocol: its name, how long its bar is (0 to 100), and the number."""

    label: str
    percent: int
    words: str


@dataclass(frozen=True)
class Making:
    """How the protocol was made, topic by topic, and how readers appraised it, domain by domain."""

    topics: tuple[Labelled, ...]
    domains: tuple[DomainBar, ...]
    appraised: str
    """By how many, and what that is worth; nothing where nobody has appraised it."""
