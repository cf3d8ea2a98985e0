"""What is odd about the sources though they can be read: what lies beside them, and texts that YAML may have cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from liningbook.checks.inquiry import Inquiry
from liningbook.evidence.synthesis.installed import is_installed
from liningbook.finding import About, Fact, Span
from liningbook.sources.cut_texts import Cut
from liningbook.sources.unread import Unread


@dataclass(frozen=True)
class NotRead(Fact):
    """A file or a folder that nothing reads."""

    unread: Unread


@dataclass(frozen=True)
class CutText(Fact):
    """A place at which a text may have been cut in two."""

    cut: Cut

    def about(self) -> About:
        """What stands after the cut."""
        return About(further={"text": self.cut.after})


def is_harmless(fact: NotRead) -> bool:
    """Whether what is not read is neither a rule nor a study."""
    return not fact.unread.is_error


def unread_facts(unread: Sequence[Unread]) -> Iterator[NotRead]:
    """A fact for each file that nothing reads, the errors first."""
    ordered = sorted(unread, key=lambda one: (not one.is_error, one.file, one.what))
    return (NotRead(Span(one.file, 1, 1, 1, 2), one) for one in ordered)


def not_read(inquiry: Inquiry) -> Iterator[Fact]:
    """A file lies in the protocol's folder that nothing reads: somebody may believe that it counts.

    What is read are the files that README names, and in the folder `rules` those whose names end in `.md`. A rule
    that lies elsewhere, or has another ending, takes part in no advice; that is an error, as is a table of studies.
    All else is a warning. README, LICENSE and the like, names that begin with a dot or an underscore, and what
    `liningbook build` wrote are passed over. Study tables are read in vain where what puts them together is not
    installed; that is told once, on the first of them.
    """
    yield from unread_facts(inquiry.protocol.unread)
    table = next(iter(inquiry.protocol.tables.values()), None)
    if table is not None and not is_installed():
        yield NotRead(table.span, Unread(table.file, "extra-missing", True))


def cut_text(inquiry: Inquiry) -> Iterator[Fact]:
    """A text may have been cut in two where it was written: at a comma within brackets, or before a `#`.

    In `[Check allergies, asthma and drugs]` the comma makes two entries of one; in `Use bur #2` all from the `#` on is
    a comment that nobody reads. Told are entries that begin in small letters after one that does not, single words
    after a sentence, and comments that begin like a part of the text. Quotes around a text keep it whole.
    """
    return (CutText(cut.span, cut) for cut in sorted(inquiry.protocol.cuts, key=lambda cut: cut.span))
