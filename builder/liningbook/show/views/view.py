"""What the printed and the web outputs show, in words and in reading order: plain data between analysis and templates.

Nothing here knows of HTML, paper or screens. Texts are plain unless their name ends in `_html`, which holds Markdown
already turned into safe HTML.
"""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.show.views.changed import ChangesPage
from liningbook.show.views.evidence.tables import EvidenceTable
from liningbook.show.views.pieces import (
    Accepted,
    FactorView,
    Ground,
    Making,
    ReadingTable,
    ReferenceView,
    RuleGroup,
    StopsTable,
)
from liningbook.show.views.pieces import Cell as Cell
from liningbook.show.views.pieces import Chart as Chart
from liningbook.show.views.pieces import Depth as Depth
from liningbook.show.views.pieces import Labelled as Labelled
from liningbook.show.views.pieces import Step as Step


@dataclass(frozen=True)
class Identity:
    """What every output bears. Dates are words (`1 September 2027`)."""

    title: str
    practice: str
    edition: str
    status: str
    """draft, in-force or withdrawn."""
    status_words: str
    review_by: str
    use_until: str
    """The earliest of the review date and the last day before a rule starts or ends; as `2027-09-01` below."""
    use_until_day: str
    is_past: bool
    """Whether the day looked at lies after `use_until`."""
    in_force_from: str
    """The first day of an edition that is in force; nothing for any other."""
    digest: str
    scope: str
    authors: tuple[Labelled, ...]
    """Label: name and role; text: declared interests."""
    approvals: tuple[Labelled, ...]
    """Label: name and role; text: date in words."""
    contact: str
    cautions: tuple[str, ...]
    """The practice's cautions, then the standing ones that every Liningbook output carries."""
    stop_questions: tuple[str, ...]
    is_draft_build: bool
    """Built although findings are open: every page must say so."""
    open_findings: tuple[str, ...]
    """One line a finding, for the draft notice."""
    is_early: bool = False
    """Whether the day looked at lies before the first one in force."""
    use_from: str = ""
    """The first day of use, where it is still to come or later than that of the edition."""
    site_address: str = ""
    """Where the page is to be found; nothing where the protocol does not say."""


@dataclass(frozen=True)
class ExceptionLine:
    """Where (none for everywhere), what it is about (`Cavity sealer`, `Stop`), what is done, and its details."""

    where: tuple[str, ...]
    label: str
    head: str
    rest: str
    tone: str


@dataclass(frozen=True)
class ExceptionRow:
    """What goes before the chart for a patient who has any of `triggers`, each conditions that all hold.

    `stops` says that it is about more than the layers; such rows stand first.
    """

    triggers: tuple[tuple[str, ...], ...]
    lines: tuple[ExceptionLine, ...]
    stops: bool = False


@dataclass(frozen=True)
class ProtocolView:
    """Everything the printed protocol and the page show."""

    identity: Identity
    chart: Chart | None
    """None where the protocol has no quantity or no choice to draw a chart of."""
    exceptions: tuple[ExceptionRow, ...]
    factors: tuple[FactorView, ...]
    rule_groups: tuple[RuleGroup, ...]
    pairings: tuple[Labelled, ...]
    """What must, or must not, go together: label and reason."""
    exclusions: tuple[Labelled, ...]
    """Cases not covered: label says which, text why and where to turn."""
    accepted: tuple[Accepted, ...]
    references: tuple[ReferenceView, ...]
    protection: tuple[Labelled, ...] = ()
    """For the usual case, by this protocol's table: where (label), and what stops which irritant (text)."""
    readings: tuple[ReadingTable, ...] = ()
    needs: tuple[str, ...] = ()
    """Sentences that say which decisions are needed only after which answer to another."""
    stops: StopsTable | None = None
    grounds: tuple[Ground, ...] = ()
    pain: Labelled | None = None
    """What the practice has written for a patient who rings with pain, which a small card may leave out."""
    certainties: tuple[Labelled, ...] = ()
    """What the words for the certainty of evidence mean, as far as a rule uses them."""
    changes: ChangesPage | None = None
    """What has changed since the last edition, where that is to be said."""
    subtitle: str = ""
    """What the authors say beneath the title; nothing where they say nothing."""
    making: Making | None = None
    tables: tuple[EvidenceTable, ...] = ()
    """The study tables, with what is computed of them."""


@dataclass(frozen=True)
class CardView:
    """One card of two sides, for the wall (A4) or of one restoration (A5, A6); see `ProtocolView`."""

    identity: Identity
    chart: Chart
    """Its bands are words on the scale that the chart names, what is judged or what is read off a film."""
    exceptions: tuple[ExceptionRow, ...]
    avoid: tuple[Labelled, ...]
    pairings: tuple[Labelled, ...]
    exclusions: tuple[Labelled, ...]
    never: tuple[Labelled, ...] = ()
    """What is never done, whatever else holds; `avoid` holds the rest."""
    protection: tuple[Labelled, ...] = ()
    readings: tuple[ReadingTable, ...] = ()
    needs: tuple[str, ...] = ()
    size: str = "A4"
    """A4, A5 or A6."""
    subject: str = ""
    """What the card is about, where it is not about all of them: `Amalgam`."""
    left_out: tuple[str, ...] = ()
    """Sentences that say what the protocol covers and the card does not show."""
    pain: str = ""
    """What to do when a patient rings with pain, in the practice's words; nothing leaves lines to write on."""
    code: str = ""
    """The text of the QR code: the page's address with the digest."""
    copy: str = ""
    """`Copy 3 of 6, Surgery 3`; nothing on a card that is not numbered."""
    changes: tuple[str, ...] = ()
    """What has changed since the last edition, a sentence each."""
    changes_brief: str = ""
    """The changes in one short sentence, for a card that has no room for more."""
