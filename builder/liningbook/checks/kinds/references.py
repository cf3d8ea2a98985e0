"""Citations that lead nowhere, rules without any, what is odd about references, and reviews that are due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.meaning.resting import Resting, citations, resting
from liningbook.model.rule import Rule, WrittenDate
from liningbook.sources.citations.identifiers import orcid_wrong
from liningbook.sources.citations.reference_entry import Reference, WrongIdentifier
from liningbook.sources.citations.retraction import Retraction, title_asks
from liningbook.sources.citations.same_work import signs_of
from liningbook.sources.text import near

MOST_COMPARED = 20_000
"""How many names are compared to find what was meant; beyond that a mistake is reported without a suggestion."""


@dataclass(frozen=True)
class UnknownReference(Fact):
    """A name that is no entry of the list; `meant` is an entry with a name near it, `file` where one could be added."""

    name: str
    rules: tuple[str, ...]
    meant: str | None
    file: str

    def about(self) -> About:
        """The rule that cites, if it is one."""
        return About(rules=self.rules)


@dataclass(frozen=True)
class Uncited(Fact):
    """A rule that cites nothing."""

    rule: Rule

    def about(self) -> About:
        """The rule."""
        return About(rules=(self.rule.id,))


@dataclass(frozen=True)
class UnusedReference(Fact):
    """An entry of the list that nothing cites."""

    reference: str

    def about(self) -> About:
        """The entry."""
        return About(further={"reference": self.reference})


@dataclass(frozen=True)
class UnusedTable(Fact):
    """A study table that no rule rests on."""

    table: str

    def about(self) -> About:
        """The table."""
        return About(further={"table": self.table})


@dataclass(frozen=True)
class ReviewOverdue(Fact):
    """A review that was due before the day looked at: of a rule, else of the whole protocol."""

    rule: Rule | None
    due: date
    day: date

    def about(self) -> About:
        """The rule."""
        return About(rules=(self.rule.id,) if self.rule else ())


@dataclass(frozen=True)
class BadIdentifier(Fact):
    """An identifier that cannot be right, of an entry of the list or, with the ORCID, of an author."""

    identifier: WrongIdentifier
    reference: str = ""
    author: str = ""

    def about(self) -> About:
        """Its sort, how it is written, and whose it is."""
        whose = {"reference": self.reference} if self.reference else {"author": self.author}
        return About(further={"identifier": self.identifier.sort, "written": self.identifier.written, **whose})


@dataclass(frozen=True)
class SameWorkTwice(Fact):
    """Two entries of the list that seem to be one work; `by` says what both have: `DOI`, ..., or their `title`."""

    reference: Reference
    first: Reference
    first_span: Span
    by: str

    def about(self) -> About:
        """The second entry, the first one, and by what they were told to be one."""
        return About(further={"reference": self.reference.id, "first": self.first.id, "by": self.by})


@dataclass(frozen=True)
class RetractedReference(Fact):
    """A work that was retracted, or whose title asks whether it was (no `retraction`), with what rests on it."""

    reference: Reference
    retraction: Retraction | None
    resting: Resting

    def about(self) -> About:
        """All rules that rest on it, the tables with it, and the entry itself, which alone tells it from others."""
        tables = list(dict.fromkeys(table.id for table, _, _ in self.resting.studies))
        further = {"reference": self.reference.id, **({"tables": tables} if tables else {})}
        return About(rules=tuple(rule.id for rule in self.resting.all_rules), further=further, telling=0)


def unknown_reference(inquiry: Inquiry) -> Iterator[Fact]:
    """A citation names no entry of the reference list.

    A reader cannot look up what the rule rests on, and nobody can see whether it says so.
    """
    protocol = inquiry.protocol
    file = next(iter(protocol.reference_files), "references.bib")
    in_force = set(inquiry.meaning.number)
    compared = 0
    for one in citations(protocol):
        name, rules = one.name, (one.rule.id,) if one.rule else ()
        if name.id in protocol.references or not in_force.issuperset(rules):
            continue
        compared += len(protocol.references)
        meant = near(name.id, protocol.references) if compared <= MOST_COMPARED else None
        yield UnknownReference(name.span, name.id, rules, meant, file)


def uncited(inquiry: Inquiry) -> Iterator[Fact]:
    """A rule rests on research, law or instructions, and cites nothing, nor names a table of studies.

    What rests on none of these is good practice: `basis: good-practice`, with a `note`.
    """
    for rule in inquiry.meaning.rules:
        evidence = rule.evidence
        if evidence.basis != "good-practice" and not evidence.cites and not evidence.tables:
            yield Uncited(evidence.span, rule)


def unused_reference(inquiry: Inquiry) -> Iterator[Fact]:
    """An entry of the reference list is cited nowhere.

    Readers take it for a source of the protocol; perhaps a rule has lost its citation.
    """
    protocol = inquiry.protocol
    cited = {one.name.id for one in citations(protocol)}
    for entry in protocol.references.values():
        if entry.id not in cited:
            yield UnusedReference(entry.span, entry.id)


def unused_table(inquiry: Inquiry) -> Iterator[Fact]:
    """A table of studies is named by no rule.

    Nothing is then checked against it; perhaps a rule has lost its `tables`.
    """
    used = {name.id for rule in inquiry.protocol.rules.values() for name in rule.evidence.tables}
    for table in inquiry.protocol.tables.values():
        if table.id not in used:
            yield UnusedTable(table.span, table.id)


def bad_identifier(inquiry: Inquiry) -> Iterator[Fact]:
    """An identifier of a publication or an author cannot be right: its form is another one, or its check digit.

    The last digit of an ISBN, an ISSN and an ORCID is worked out from the others; where it does not match, one of them
    is mistyped, or two have changed places. A DOI, a PMID and a PMCID have a form alone. Which digit is wrong cannot
    be known: compare it with the publication. Whoever looks the work up by it finds nothing, or another one.
    """
    protocol = inquiry.protocol
    for person in protocol.authors:
        if person.orcid and person.orcid_span and (wrong := orcid_wrong(person.orcid)):
            identifier = WrongIdentifier("ORCID", person.orcid, wrong, person.orcid_span)
            yield BadIdentifier(identifier.span, identifier, author=person.name)
    for entry in protocol.references.values():
        for identifier in entry.doubtful:
            yield BadIdentifier(identifier.span, identifier, reference=entry.id)


def same_work_twice(inquiry: Inquiry) -> Iterator[Fact]:
    """Two entries of the reference list seem to be one work.

    Both have one DOI, PMID, PMCID or ISBN, or one title, year and first author. A reader takes them for two sources,
    and a study that stands twice in a table is counted twice. Parts of one book share its ISBN; that is not told.
    """
    seen: dict[tuple[str, ...], Reference] = {}
    for entry in inquiry.protocol.references.values():
        told: set[str] = set()
        for by, *signs in signs_of(entry):
            first = seen.setdefault((by, *signs), entry)
            if first is not entry and first.id not in told:
                told.add(first.id)
                yield SameWorkTwice(entry.place(by), entry, first, first.place(by), by)


def is_asked(fact: RetractedReference) -> bool:
    """Whether only the title of the work asks."""
    return fact.retraction is None


def retracted_reference(inquiry: Inquiry) -> Iterator[Fact]:
    """A rule, an entry of the materials or a study table rests on a work that was retracted.

    That a work was retracted stands in its entry (`retracted`) or in the list of `--retracted`. What it found can no
    longer carry advice: take it out, and look again at what then is left to rest on. A rule rests on the studies of
    its tables too. Where only the title begins with RETRACTED, or as a note of a retraction does, that is a question.
    """
    protocol = inquiry.protocol
    asked = {key: entry for key, entry in protocol.references.items() if title_asks(entry.data.get("title"))}
    for key, found in resting(protocol, {**protocol.retracted, **asked}).items():
        rules = tuple(pair for pair in found.rules if not _is_over(pair[0], inquiry.day))
        through = tuple(pair for pair in found.through if not _is_over(pair[0], inquiry.day))
        if left := replace(found, rules=rules, through=through):
            retraction, entry = protocol.retracted.get(key), protocol.references[key]
            yield RetractedReference(retraction.span if retraction else entry.place("title"), entry, retraction, left)


def _is_over(rule: Rule, day: date) -> bool:
    return rule.valid_until is not None and rule.valid_until < day


def review_overdue(inquiry: Inquiry) -> Iterator[Fact]:
    """The day by which the protocol, or a rule, was to be reviewed is past.

    Evidence and law may have moved on; whoever uses the protocol relies on somebody having looked.
    """
    dates: list[tuple[Rule | None, WrittenDate]] = [(None, inquiry.protocol.review_by)]
    dates += [(rule, rule.review_by) for rule in inquiry.meaning.rules if rule.review_by]
    for rule, review in dates:
        if review.on < inquiry.day:
            yield ReviewOverdue(review.span, rule, review.on, inquiry.day)
