"""What is said of the entries of the reference list."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.references import BadIdentifier, SameWorkTwice
from liningbook.say.catalogue import N_, gettext
from liningbook.say.told import Told

FORMS: Mapping[str, str] = {
    "DOI": N_("write it as on the publication, for example 10.5555/12345678"),
    "PMID": N_("write the number alone, at most eight digits"),
    "PMCID": N_("write PMC and the number, for example PMC1234567"),
    "ISBN": N_("write its 10 or 13 digits as they stand on the book"),
    "ISSN": N_("write its eight digits as they stand on the journal, for example 1234-5679"),
    "ORCID": N_("write its 16 digits in four groups, for example 0000-0002-1825-0097"),
}
"""How an identifier is written."""

BY: Mapping[str, str] = {
    "DOI": N_("both have this DOI"),
    "PMID": N_("both have this PMID"),
    "PMCID": N_("both have this PMCID"),
    "ISBN": N_("both have this ISBN"),
    "title": N_("both have this title, year and first author"),
}
"""By what two entries were told to be one work."""


def bad_identifier(fact: BadIdentifier) -> Told:
    """An identifier that cannot be right."""
    identifier, given = fact.identifier, {"sort": fact.identifier.sort, "written": fact.identifier.written}
    if identifier.wrong == "check-digit":
        message = (
            gettext("the {sort} '{written}' of {author} cannot be right: its check digit does not match")
            if fact.author
            else gettext("the {sort} '{written}' of '{reference}' cannot be right: its check digit does not match")
        )
        note = gettext("the last digit is worked out from the others, so one of them is mistyped or out of place")
        advice = (gettext("compare every digit with the publication"),)
        if fact.author:
            advice = (gettext("compare every digit with the author's own record"),)
        return Told(message.format(**given, reference=fact.reference, author=fact.author), notes=(note,), help=advice)
    message = (
        gettext("'{written}', given as the {sort} of {author}, is none")
        if fact.author
        else gettext("'{written}', given as the {sort} of '{reference}', is none")
    )
    return Told(
        message.format(**given, reference=fact.reference, author=fact.author),
        help=(gettext(FORMS[identifier.sort]), gettext("or take it out")),
    )


def same_work_twice(fact: SameWorkTwice) -> Told:
    """Two entries that seem to be one work."""
    message = gettext("the references '{first}' and '{second}' seem to be the same work")
    return Told(
        message.format(first=fact.first.id, second=fact.reference.id),
        gettext(BY[fact.by]),
        ((fact.first_span, gettext("the first of the two")),),
        help=(
            gettext("keep one of the two, and cite that one everywhere"),
            gettext("or, if they are two works, put right what both have"),
        ),
    )
