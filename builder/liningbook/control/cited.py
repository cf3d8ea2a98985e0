"""What rests on a work, and which cases that decides: rules that cite it, or count its figures in their tables."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from liningbook.control.decided import RuleCases, cases_decided
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.resting import Resting, resting_on_all
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Rule
from liningbook.sources.citations.reference_entry import Reference
from liningbook.sources.citations.retraction import Retraction, plain_doi, title_asks
from liningbook.space.budget import OutOfTime, usual_budget
from liningbook.space.region import Region
from liningbook.space.share import Weights


@dataclass(frozen=True)
class Portion:
    """Cases as few large boxes, and which part of all in scope they are.

    Both are nothing where they could not be worked out in the work allowed.
    """

    region: Region | None
    share: Fraction | None


@dataclass(frozen=True)
class Decided:
    """What rests on a work under one decision: where a rule gives the advice, and where one only silences or avoids."""

    decision: str
    advises: Portion
    only: Portion


@dataclass(frozen=True)
class CitedWork:
    """A work of the reference list with what rests on it; `in_force` are those of its rules that apply on the day."""

    reference: Reference
    also: tuple[str, ...]
    """The further keys under which the work is listed, by its DOI; what rests on them is told with it."""
    retraction: Retraction | None
    is_asked: bool
    """Whether its title begins like that of a retracted work."""
    resting: Resting
    in_force: tuple[Rule, ...]
    decisions: tuple[Decided, ...]


def key_of_work(protocol: Protocol, written: str) -> str | None:
    """The key of the work that is meant by a key or by a DOI in any form."""
    if written in protocol.references:
        return written
    return next(_listed_with(protocol, written), None)


def keys_of_work(protocol: Protocol, key: str) -> tuple[str, ...]:
    """Every key under which a work is listed: those of its DOI, if it has one, the given one first."""
    doi = protocol.references[key].data.get("DOI")
    alike = _listed_with(protocol, doi) if isinstance(doi, str) else ()
    return tuple(dict.fromkeys((key, *alike)))


def _listed_with(protocol: Protocol, doi: str) -> Iterator[str]:
    """The keys of the works that have a DOI, in any of its forms."""
    plain = plain_doi(doi)
    for key, entry in protocol.references.items():
        if isinstance(own := entry.data.get("DOI"), str) and plain_doi(own) == plain:
            yield key


def cited_work(meaning: Meaning, key: str) -> CitedWork:
    """What rests on the work of a key, on the day of a meaning, by whichever of its keys."""
    protocol = meaning.protocol
    keys = keys_of_work(protocol, key)
    found, entry = resting_on_all(protocol, keys), protocol.references[key]
    in_force = tuple(rule for rule in found.all_rules if rule.id in meaning.number)
    decided = tuple(cases_decided(meaning, rule) for rule in in_force)
    return CitedWork(
        entry,
        keys[1:],
        next((protocol.retracted[each] for each in keys if each in protocol.retracted), None),
        any(title_asks(protocol.references[each].data.get("title")) for each in keys),
        found,
        in_force,
        tuple(_decided(meaning, decided, name) for name in protocol.decisions if _speaks(in_force, name)),
    )


def _speaks(rules: tuple[Rule, ...], decision: str) -> bool:
    return any(rule.speaks_under(decision) for rule in rules)


def _decided(meaning: Meaning, decided: tuple[RuleCases, ...], decision: str) -> Decided:
    try:
        with usual_budget():
            advised, further = Region(), Region()
            for cases in decided:
                advises, avoids = cases.advises.get(decision, Region()), cases.avoids.get(decision, Region())
                if advises is None or avoids is None:
                    return Decided(decision, Portion(None, None), Portion(None, None))
                advised = advised | advises
                further = further | avoids | _silenced(meaning, cases.rule, decision)
            only = further.minus(advised.boxes)
            whole = meaning.scope.few_large()
            weights = Weights(meaning.space)
            all_of_it = weights.of_all(whole.boxes)
            parts = [region.few_large() for region in (advised, only)]
            shares = [Fraction(weights.of_all(part.boxes), all_of_it) if all_of_it else None for part in parts]
            return Decided(decision, *(Portion(part, share) for part, share in zip(parts, shares, strict=True)))
    except OutOfTime:
        return Decided(decision, Portion(None, None), Portion(None, None))


def _silenced(meaning: Meaning, rule: Rule, decision: str) -> Region:
    """The cases in which a rule silences another's advice on a decision, or switches off what it says to avoid."""
    index, found = meaning.number[rule.id], Region()
    for name in dict.fromkeys(name.id for name in rule.overrides):
        other = meaning.number.get(name)
        if other is None:
            continue
        loser = meaning.rules[other]
        silences = decision in rule.advise and decision in loser.advise
        if silences or (decision in loser.avoid and rule.speaks_under(decision)):
            found = found | meaning.cases_both(decision, index, other)
    return found
