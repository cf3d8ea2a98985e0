"""What is said of the entries of the reference list."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.references import BadIdentifier, RetractedReference, SameWorkTwice
from liningbook.meaning.resting import Resting
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.references import retraction_words
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


RETRACTED: Mapping[str, str] = {
    "json": '"retracted": {"on": "2024-05-01", "because": "…"}',
    "bib": "retracted = {2024-05-01}, retracted_because = {…}",
}
"""How an entry says that a work was retracted, by the ending of its file."""


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


MOST_PLACES = 8
"""So many places at which a work is named are shown."""


def retracted_reference(fact: RetractedReference) -> Told:
    """A work that was retracted, and what rests on it; or a title that asks."""
    key, found = fact.reference.id, fact.resting
    places = [(name.span, gettext("cited here")) for _, name in found.rules]
    places += [(name.span, gettext("cited here")) for _, _, name in found.entries]
    places += [(study.places["study"], gettext("a study of this table")) for _, _, study in found.studies]
    places += [(names[0].span, gettext("rests on it by this table")) for _, names in found.through]
    further = len(places) - MOST_PLACES
    notes = [ngettext("and {number} place more", "and {number} places more", further).format(number=further)]
    notes = notes if further > 0 else []
    if fact.retraction is None:
        message = gettext("the title of '{name}' begins like that of a retracted work: was it retracted?")
        example = RETRACTED[fact.reference.span.file.lower().rpartition(".")[2]]
        advice = (
            gettext("say in its entry that it was, with the day and the reason: `{example}`").format(example=example),
            gettext("or, if it was not, accept this with the reason"),
        )
        return Told(message.format(name=key), "", tuple(places[:MOST_PLACES]), tuple(notes), advice)
    if fact.retraction.listed:
        file, row = fact.retraction.listed
        notes.insert(0, gettext("listed in {file}, row {row}").format(file=file, row=row))
    else:
        notes.insert(0, retraction_words(fact.retraction))
    return Told(
        _rests_words(found, key),
        related=tuple(places[:MOST_PLACES]),
        notes=tuple(notes),
        help=(gettext("take it out where it is named, and look again at what each rule then rests on"),),
    )


def _rests_words(found: Resting, key: str) -> str:
    """That a work was retracted, and how much rests on it: rules, else a table, else the materials."""
    rules = len(found.all_rules)
    if rules:
        said = ngettext(
            "'{name}' was retracted, and {number} rule rests on it",
            "'{name}' was retracted, and {number} rules rest on it",
            rules,
        )
        return said.format(name=key, number=rules)
    if found.studies:
        return gettext("'{name}' was retracted, and a study table counts it").format(name=key)
    return gettext("'{name}' was retracted, and the materials rest on it").format(name=key)
