"""A protocol as the practice means it: every name resolved, every number exact, every value with its place.

One frozen type a thing. Nothing here reads files, analyses or words anything. Mappings keep the order of the sources;
rules are ordered by id.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from liningbook.evidence.grade import RatingUp
from liningbook.evidence.reporting.agree import Appraisal
from liningbook.evidence.reporting.stated import Stated
from liningbook.evidence.table import StudyTable
from liningbook.finding import Span
from liningbook.model.rule import Amount, Conditions, Decision, Factor, Name, Rule, When, WrittenDate
from liningbook.notation.interval import RangeSet
from liningbook.resources import ENGLISH
from liningbook.sources.citations.reference_entry import Reference
from liningbook.sources.citations.retraction import Retraction

if TYPE_CHECKING:
    from liningbook.sources.cut_texts import Cut
    from liningbook.sources.unread import Unread

Status = Literal["draft", "in-force", "withdrawn"]

Scheme = Literal["grade", "ocebm-2011"]


@dataclass(frozen=True)
class Person:
    """An author: name, role in the practice, declared interests, and the ORCID if one is given."""

    name: str
    role: str
    interests: str
    orcid: str = ""
    orcid_span: Span | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Approval:
    """Who approved the edition, when, and the digest of what was approved (`model.approval.sealing`), if recorded."""

    name: str
    role: str
    on: date
    span: Span
    """Where the day stands."""
    digest: str = ""
    digest_span: Span | None = None


@dataclass(frozen=True)
class Block:
    """An irritant that an agent's layer stops, from a least thickness on if one is given."""

    irritant: str
    thickness: Amount | None = None


@dataclass(frozen=True)
class Agent:
    """Something that can be placed: the layer classes it serves, what it stops and gives off, the most it covers."""

    id: str
    label: str
    classes: tuple[str, ...]
    span: Span
    blocks: tuple[Block, ...] = ()
    emits: tuple[str, ...] = ()
    place: str | None = None


@dataclass(frozen=True)
class Irritant:
    """Something that can harm the pulp; `acts_on` is the least place that a layer must cover to stop it."""

    id: str
    label: str
    acts_on: str | None
    span: Span


@dataclass(frozen=True)
class Pairing:
    """What one layer requires of another, or forbids in it (an entry of `together`)."""

    having: Mapping[str, tuple[str, ...]]
    require: Mapping[str, tuple[str, ...]]
    forbid: Mapping[str, tuple[str, ...]]
    when: When
    because: str
    cites: tuple[Name, ...]
    span: Span

    @property
    def layers(self) -> tuple[str, ...]:
        """The layer decisions that the entry speaks of."""
        return tuple(dict.fromkeys([*self.having, *self.require, *self.forbid]))

    def broken_by(self, agents: Mapping[str, str]) -> set[str]:
        """The layers that take part in breaking the entry, for one agent (or an empty word) a layer.

        None if it is kept. Else those are the layers of `with`, those that lack what is required, and those that hold
        what is forbidden.
        """
        if not all(agents[layer] in listed for layer, listed in self.having.items()):
            return set()
        lacking = {layer for layer, listed in self.require.items() if agents[layer] not in listed}
        holding = {layer for layer, listed in self.forbid.items() if agents[layer] in listed}
        return lacking | holding | set(self.having) if lacking or holding else set()


@dataclass(frozen=True)
class Exposure:
    """Irritants that can reach the pulp (a source), or that dentine stops (a barrier), in some cases."""

    when: When
    irritants: tuple[str, ...]
    because: str
    cites: tuple[Name, ...]
    span: Span


@dataclass(frozen=True)
class Exclusion:
    """Cases that cannot occur or are out of scope, why, and where to turn instead."""

    when: When
    because: str
    instead: str
    span: Span


@dataclass(frozen=True)
class StopQuestion:
    """A question to ask first, with the cases that a yes, or not knowing, takes off the chart; nothing if not said."""

    ask: str
    screens: When | None = None
    span: Span | None = None


@dataclass(frozen=True)
class Acceptance:
    """A warning that the practice has looked at and accepts, with the cases and the reason.

    `narrowed` holds the further keys (`decision`, `irritant`, `rules`, ...) that a finding must have.
    """

    kind: str
    narrowed: Mapping[str, object]
    when: When
    because: str
    by: str
    until: date | None
    span: Span


@dataclass(frozen=True)
class Vignette:
    """A described case with the advice it must get."""

    name: str
    case: Mapping[str, str]
    """Every factor's value in canonical text (`0.4 mm`, `amalgam`, `yes`)."""
    numbers: Mapping[str, Fraction]
    """The values of the quantities, in the factor's unit."""
    expect: Mapping[str, Name]
    span: Span


@dataclass(frozen=True)
class Card:
    """What the card for the wall shows, as the practice chose; without a choice, everything.

    `bands` are the numbers shown of the quantity that makes the bands, in its unit. A factor left out of `usual` has
    the usual value that `meaning/chart.py` finds. `columns_by` and `bands_by` are empty where nothing is said.
    """

    sizes: tuple[str, ...] = ("A4",)
    scale: Literal["value", "reading"] = "value"
    usual: Conditions = field(default_factory=lambda: Conditions({}))
    columns: tuple[str, ...] = ()
    """Values of the choice `columns_by`, in the order wanted."""
    bands: RangeSet | None = None
    decisions: tuple[str, ...] = ()
    columns_by: str = ""
    bands_by: str = ""
    pain: tuple[str, ...] = ()
    """What to do when a patient rings with pain, a sentence a step."""
    crop_marks: bool = False
    """Whether it is to be cut from a larger sheet: with marks, and colour beyond the cut."""


@dataclass(frozen=True)
class Copy:
    """One place where a card hangs, or will; `edition` is the one that hangs there now, empty if none does."""

    room: str
    edition: str
    since: date | None
    span: Span


@dataclass(frozen=True)
class Protocol:
    """A whole house protocol."""

    title: str
    practice: str
    edition: str
    status: Status
    scope: str
    cautions: tuple[str, ...]
    scheme: Scheme
    review_by: WrittenDate
    span: Span
    factors: Mapping[str, Factor]
    decisions: Mapping[str, Decision]
    rules: Mapping[str, Rule]
    agents: Mapping[str, Agent]
    rating_up: RatingUp = "current"
    """When a recorded reason to raise the certainty counts."""
    authors: tuple[Person, ...] = ()
    approved: tuple[Approval, ...] = ()
    in_force_from: date | None = None
    contact: str = ""
    stop_questions: tuple[StopQuestion, ...] = ()
    site_address: str = ""
    language: str = ENGLISH
    """The tag (BCP 47) of the language of what is printed and shown."""
    places: Mapping[str, str] = field(default_factory=dict)
    irritants: Mapping[str, Irritant] = field(default_factory=dict)
    pairings: tuple[Pairing, ...] = ()
    sources: tuple[Exposure, ...] = ()
    barriers: tuple[Exposure, ...] = ()
    excluded: tuple[Exclusion, ...] = ()
    accepted: tuple[Acceptance, ...] = ()
    references: Mapping[str, Reference] = field(default_factory=dict)
    reference_files: tuple[str, ...] = ()
    retracted: Mapping[str, Retraction] = field(default_factory=dict)
    """The references that were retracted, by their entries or by a list."""
    tables: Mapping[str, StudyTable] = field(default_factory=dict)
    vignettes: tuple[Vignette, ...] = ()
    card: Card = field(default_factory=Card)
    copies: tuple[Copy, ...] = ()
    reporting: Mapping[str, Stated] = field(default_factory=dict)
    """What the authors say of how the protocol was made, by topic."""
    appraisals: tuple[Appraisal, ...] = ()
    written: Mapping[str, Span] = field(default_factory=dict)
    """Where the fields of protocol.yaml stand of whose places something may be said, as far as they are written."""
    unread: tuple[Unread, ...] = ()
    """What lies in the protocol's folder and is read by nothing."""
    cuts: tuple[Cut, ...] = ()
    """Where a text may have been cut in two as it was written."""
    sealed: str = ""
    """The digest of the sources (`model.approval.sealing`), where an approval bears one to be held against it."""
    further: Mapping[str, object] = field(default_factory=dict)
    """What source files hold for which no field stands above, by the names that their builders give it."""

    def opening(self, decision: str) -> frozenset[str] | None:
        """The words for answers to a decision after which another decision is needed; nothing if none waits for it."""
        waiting = [d.needed_when[1] for d in self.decisions.values() if d.needed_when and d.needed_when[0] == decision]
        return frozenset(word for words in waiting for word in words) if waiting else None

    @property
    def passed_over(self) -> tuple[str, ...]:
        """The files that nothing reads though they hold rules or studies."""
        return tuple(one.file for one in self.unread if one.is_error)

    @property
    def asked_first(self) -> tuple[str, ...]:
        """The texts of the stop questions."""
        return tuple(question.ask for question in self.stop_questions)

    def shown_by(self, card: Card) -> tuple[str, ...]:
        """The decisions that a card shows: those it names (all, if it names none), and those on which these depend."""
        wanted = set(card.decisions or self.decisions)
        for name, decision in reversed(list(self.decisions.items())):
            if name in wanted and decision.needed_when is not None:
                wanted.add(decision.needed_when[0])
        return tuple(name for name in self.decisions if name in wanted)

    def materials_cite(self) -> Iterator[tuple[str, int, Pairing | Exposure]]:
        """Each entry that may cite: its table (`together`, `sources`, `barriers`), its place there from 0, itself."""
        tables: Mapping[str, Sequence[Pairing | Exposure]] = {
            "together": self.pairings,
            "sources": self.sources,
            "barriers": self.barriers,
        }
        for table, entries in tables.items():
            yield from ((table, number, entry) for number, entry in enumerate(entries))
