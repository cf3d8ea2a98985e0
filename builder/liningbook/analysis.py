"""The whole pipeline on one screen: folder to sources to protocol to meaning to findings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from liningbook.finding import Finding, Severity
from liningbook.meaning.meaning import Meaning
from liningbook.model.build import build_protocol, check_bodies, check_shapes, read_folder, replacing
from liningbook.model.protocol import Protocol
from liningbook.sources.citations.retraction import RetractedList
from liningbook.sources.documents import Folder
from liningbook.sources.node import get


@dataclass(frozen=True)
class Analysis:
    """A protocol on one day with all that was found.

    `protocol` and `meaning` are `None` where a source is wrong; `texts` are the sources by file name.
    """

    day: date
    findings: tuple[Finding, ...]
    texts: dict[str, str]
    title: str
    edition: str
    protocol: Protocol | None = None
    meaning: Meaning | None = None
    folder: Folder | None = None

    @property
    def has_errors(self) -> bool:
        """Whether any finding is an error."""
        return any(finding.severity is Severity.ERROR for finding in self.findings)

    def count(self, severity: Severity) -> int:
        """How many findings of a severity count (accepted ones do not)."""
        return sum(1 for finding in self.findings if finding.severity is severity and finding.counts)


def analyse(path: Path, day: date, seconds: float | None = None, retracted: RetractedList | None = None) -> Analysis:
    """Reads, checks and analyses a protocol folder as it stands on a day, in so many seconds. Raises NoProtocol."""
    read = understand(path, day, retracted)
    if read.meaning is None:
        return read
    return replace(read, findings=inspect(read.meaning, seconds))


def understand(path: Path, day: date, retracted: RetractedList | None = None) -> Analysis:
    """Reads a protocol folder without the checks: the findings are those of wrong sources alone. Raises NoProtocol."""
    return understand_sources(*read_folder(path), day, retracted)


def understand_sources(
    folder: Folder, findings: list[Finding], day: date, retracted: RetractedList | None = None
) -> Analysis:
    """A protocol from sources that have been read, with what was found in reading them.

    Works that a list names are retracted as if their entries said so.
    """
    findings = [*findings, *check_shapes(folder, findings), *check_bodies(folder)]
    protocol, built = build_protocol(folder, findings)
    findings = replacing(findings, built)
    title, edition = named(folder)
    if protocol is None:
        return Analysis(day, in_order([*findings, *_beside(folder)]), folder.texts, title, edition)
    known = {name: said for name, said in protocol.retracted.items() if said.holds_on(day)}
    protocol = replace(protocol, retracted=known)
    if retracted is not None:
        listed = {name: said for name, entry in protocol.references.items() if (said := retracted.of(entry))}
        protocol = replace(protocol, retracted={**listed, **protocol.retracted})
    return Analysis(day, (), folder.texts, title, edition, protocol, Meaning(protocol, day), folder)


def _beside(folder: Folder) -> list[Finding]:
    """What lies beside the sources and is not read, where they are wrong as well."""
    if not folder.unread:
        return []
    from liningbook.checks.kinds.sources import unread_facts
    from liningbook.checks.registry import OF_KIND

    return [OF_KIND["not-read"].finding(fact) for fact in unread_facts(folder.unread)]


def inspect(meaning: Meaning, seconds: float | None = None) -> tuple[Finding, ...]:
    """Every finding of the checks about a compiled protocol, those that the practice accepted marked so."""
    from time import monotonic

    from liningbook.checks.acceptance import mark_accepted
    from liningbook.checks.grouping import in_groups
    from liningbook.checks.inquiry import Inquiry
    from liningbook.checks.registry import run_all
    from liningbook.space.budget import Budget

    inquiry = Inquiry(meaning) if seconds is None else Inquiry(meaning, Budget(seconds, monotonic))
    return tuple(in_groups(mark_accepted(inquiry, run_all(inquiry))))


def named(folder: Folder) -> tuple[str, str]:
    """Title and edition as far as they can be read."""
    root = folder.root("protocol")
    title, edition = get(root, "title"), get(root, "edition")
    return (title.text or "" if title else "", edition.text or "" if edition else "")


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Sorted by place; those of one place and kind as they were found."""
    return tuple(sorted(findings, key=lambda finding: (finding.span, finding.kind)))
