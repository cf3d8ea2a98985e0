"""Citations that lead nowhere, rules without any, references that nobody cites, and reviews that are due."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Severity
from liningbook.model.protocol import Dated, Name, Protocol
from liningbook.say.locale import day_words
from liningbook.sources.suggest import did_you_mean

MOST_COMPARED = 20_000
"""How many names are compared to find what was meant; beyond that a mistake is reported without a suggestion."""


def _citations(protocol: Protocol) -> Iterator[tuple[tuple[str, ...], Name]]:
    for rule in protocol.rules.values():
        for name in rule.evidence.cites:
            yield (rule.id,), name
    for cites in protocol.materials_cite():
        for name in cites:
            yield (), name


def unknown_reference(inquiry: Inquiry) -> Iterator[Finding]:
    """A citation names no entry of the reference list.

    A reader cannot look up what the rule rests on, and nobody can see whether it says so.
    """
    protocol = inquiry.protocol
    in_force = set(inquiry.meaning.number)
    compared = 0
    for rules, name in _citations(protocol):
        if name.id in protocol.references or not in_force.issuperset(rules):
            continue
        compared += len(protocol.references)
        near = did_you_mean(name.id, protocol.references) if compared <= MOST_COMPARED else ""
        yield Finding(
            "unknown-reference",
            Severity.ERROR,
            f"there is no reference called '{name.id}'",
            name.span,
            help=tuple(text for text in (near, "add it to references.json or references.bib") if text),
            rules=rules,
        )


def uncited(inquiry: Inquiry) -> Iterator[Finding]:
    """A rule rests on research, law or instructions, and cites nothing.

    What rests on none of these is good practice: `basis: good-practice`, with a `note`.
    """
    for rule in inquiry.meaning.rules:
        evidence = rule.evidence
        if evidence.basis == "good-practice" or evidence.cites:
            continue
        yield Finding(
            "uncited",
            Severity.ERROR,
            f"'{rule.title}' rests on {evidence.basis}, but cites nothing",
            evidence.span,
            help=(
                "name the sources: `cites: [key]`, with the key of an entry of the reference list",
                "or write `basis: good-practice` with a `note`, if nothing is to be cited",
            ),
            rules=(rule.id,),
        )


def unused_reference(inquiry: Inquiry) -> Iterator[Finding]:
    """An entry of the reference list is cited nowhere.

    Readers take it for a source of the protocol; perhaps a rule has lost its citation.
    """
    protocol = inquiry.protocol
    cited = {name.id for _, name in _citations(protocol)}
    for entry in protocol.references.values():
        if entry.id not in cited:
            yield Finding(
                "unused-reference",
                Severity.WARNING,
                f"the reference '{entry.id}' is cited nowhere",
                entry.span,
                help=("cite it where it belongs", "or take it out of the list"),
                extra={"reference": entry.id},
            )


def review_overdue(inquiry: Inquiry) -> Iterator[Finding]:
    """The day by which the protocol, or a rule, was to be reviewed is past.

    Evidence and law may have moved on; whoever uses the protocol relies on somebody having looked.
    """
    due: list[tuple[tuple[str, ...], str, Dated]] = [((), "the protocol", inquiry.protocol.review_by)]
    due += [((rule.id,), f"'{rule.title}'", rule.review_by) for rule in inquiry.meaning.rules if rule.review_by]
    for rules, what, review in due:
        if review.on < inquiry.day:
            yield Finding(
                "review-overdue",
                Severity.WARNING,
                f"{what} was to be reviewed by {day_words(review.on)}",
                review.span,
                notes=(f"looked at on {day_words(inquiry.day)}",),
                help=("review it and write the next date",),
                rules=rules,
            )
