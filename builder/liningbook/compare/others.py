"""What else a practice writes, by which no case is treated: accepted warnings, vignettes, card, copies, tables."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from fractions import Fraction
from typing import Any

from liningbook.compare import natures
from liningbook.compare.noting.note import Note, What, of_keys, of_lists, of_text
from liningbook.compare.noting.tables import tables
from liningbook.evidence.reporting.agree import Appraisal
from liningbook.finding import Span
from liningbook.model.protocol import Acceptance, Card, Protocol, Vignette
from liningbook.model.rule import Factor

OTHER: What = "other_changes"


def others_of(old: Protocol, new: Protocol) -> tuple[Note, ...]:
    """Every such difference; `old` bears the names of `new` in them, but is in its own units."""
    return (
        *_accepted(old, new),
        *_vignettes(old, new),
        *_card(old, new),
        *_copies(old, new),
        *tables(old, new),
        *_reporting(old, new),
        *_appraisals(old, new),
        *_further(old, new),
    )


def _by_name(pairs: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    """Things by their names; of those with one name the further ones are numbered."""
    found: dict[str, Any] = {}
    for name, thing in pairs:
        number, known = 1, name
        while known in found:
            number += 1
            known = f"{name} ({number})"
        found[known] = thing
    return found


# --- accepted warnings ------------------------------------------------------------------------------------------------


def _accepted(old: Protocol, new: Protocol) -> Iterator[Note]:
    ours, theirs = (_by_name((_accepted_name(e), e) for e in protocol.accepted) for protocol in (old, new))
    yield from of_keys(OTHER, "accepted", ours, theirs)
    for name, entry in ours.items():
        if name in theirs:
            other = theirs[name]
            if natures.of_when(entry.when, old.factors) != natures.of_when(other.when, new.factors):
                yield Note(OTHER, "accepted", name, "when")
            for field in ("because", "by", "until"):
                yield from of_text(
                    OTHER, "accepted", name, field, _said(getattr(entry, field)), _said(getattr(other, field))
                )


def _accepted_name(entry: Acceptance) -> str:
    """`unprotected bacteria`: the kind, and what it is narrowed to."""
    narrowed = (value if isinstance(value, tuple) else (value,) for _, value in sorted(entry.narrowed.items()))
    return " ".join([entry.kind, *(str(word) for words in narrowed for word in words)])


# --- vignettes --------------------------------------------------------------------------------------------------------


def _vignettes(old: Protocol, new: Protocol) -> Iterator[Note]:
    ours, theirs = (_by_name((v.name, v) for v in protocol.vignettes) for protocol in (old, new))
    yield from of_keys(OTHER, "vignette", ours, theirs)
    for name, vignette in ours.items():
        if name in theirs:
            other: Vignette = theirs[name]
            cases = _case(vignette, old.factors), _case(other, new.factors)
            if cases[0] != cases[1]:
                texts = ([f"{f} {v.case[f]}" for f in v.case] for v in (vignette, other))
                yield from of_lists(OTHER, "vignette", name, "case", *texts)
            expect = ([f"{on} {word.id}" for on, word in v.expect.items()] for v in (vignette, other))
            yield from of_lists(OTHER, "vignette", name, "expect", *expect)


def _case(vignette: Vignette, factors: Mapping[str, Factor]) -> Hashable:
    """The values, numbers in whichever unit."""
    sizes = {name: unit.size for name, factor in factors.items() if (unit := factor.unit) is not None}
    numbers = {name: value * sizes.get(name, Fraction(1)) for name, value in vignette.numbers.items()}
    return frozenset((name, numbers.get(name, text)) for name, text in vignette.case.items())


# --- the card and where copies hang -----------------------------------------------------------------------------------


def _card(old: Protocol, new: Protocol) -> Iterator[Note]:
    for field in ("sizes", "scale", "columns_by", "columns", "bands_by", "decisions", "pain"):
        before, after = (_said(getattr(protocol.card, field)) for protocol in (old, new))
        yield from of_text(OTHER, "card", "", field, before, after)
    if _bands(old.card, old.factors) != _bands(new.card, new.factors):
        yield Note(OTHER, "card", "", "bands")
    usual = [natures.of_when((protocol.card.usual,), protocol.factors) for protocol in (old, new)]
    if usual[0] != usual[1]:
        yield Note(OTHER, "card", "", "usual")


def _said(value: object) -> str:
    return "; ".join(value) if isinstance(value, tuple) else str(value or "")


def _bands(card: Card, factors: Mapping[str, Factor]) -> Hashable:
    if card.bands is None:
        return None
    unit = factors[card.bands_by].unit if card.bands_by in factors else None
    by = unit.size if unit is not None else Fraction(1)
    ends = ((end.value * by, end.closed) for stretch in card.bands.ranges for end in (stretch.lower, stretch.upper))
    return tuple(ends)


def _copies(old: Protocol, new: Protocol) -> Iterator[Note]:
    ours, theirs = (_by_name((copy.room, copy) for copy in protocol.copies) for protocol in (old, new))
    yield from of_keys(OTHER, "copy", ours, theirs)
    for room, copy in ours.items():
        if room in theirs:
            for field in ("edition", "since"):
                yield from of_text(
                    OTHER, "copy", room, field, _said(getattr(copy, field)), _said(getattr(theirs[room], field))
                )


# --- how the protocol was made, and how it was appraised --------------------------------------------------------------


def _reporting(old: Protocol, new: Protocol) -> Iterator[Note]:
    yield from of_keys(OTHER, "reporting", old.reporting, new.reporting)
    for topic, stated in old.reporting.items():
        if topic in new.reporting:
            other = new.reporting[topic]
            yield from of_text(OTHER, "reporting", topic, "text", stated.text, other.text)
            yield from of_text(OTHER, "reporting", topic, "not_applicable", stated.not_applicable, other.not_applicable)


def _appraisals(old: Protocol, new: Protocol) -> Iterator[Note]:
    ours, theirs = (_by_name((one.appraiser, one) for one in protocol.appraisals) for protocol in (old, new))
    yield from of_keys(OTHER, "appraisal", ours, theirs)
    for name, appraisal in ours.items():
        if name in theirs:
            other: Appraisal = theirs[name]
            for field in ("role", "on", "quality", "recommend"):
                yield from of_text(
                    OTHER, "appraisal", name, field, _said(getattr(appraisal, field)), _said(getattr(other, field))
                )
            scores = ([f"{item} {s.score or '–'}" for item, s in one.items.items()] for one in (appraisal, other))
            yield from of_lists(OTHER, "appraisal", name, "scores", *scores)
            reasons = ([s.because for s in one.items.values() if s.because] for one in (appraisal, other))
            yield from of_lists(OTHER, "appraisal", name, "because", *reasons)


# --- what further files hold ------------------------------------------------------------------------------------------


def _further(old: Protocol, new: Protocol) -> Iterator[Note]:
    for kind in dict.fromkeys([*old.further, *new.further]):
        before, after = old.further.get(kind), new.further.get(kind)
        ours, theirs = (thing if isinstance(thing, Mapping) else {} for thing in (before, after))
        if ours or theirs:
            yield from of_keys(OTHER, kind, ours, theirs)
            for name, thing in ours.items():
                if name in theirs and without_places(thing) != without_places(theirs[name]):
                    yield Note(OTHER, kind, name, "entry")
        elif without_places(before) != without_places(after):
            yield Note(OTHER, kind, "", "entry")


def without_places(thing: object) -> object:
    """A thing without the places at which it stands in the sources, to be compared."""
    if isinstance(thing, Span):
        return None
    if is_dataclass(thing) and not isinstance(thing, type):
        return (type(thing).__name__, *(without_places(getattr(thing, field.name)) for field in fields(thing)))
    if isinstance(thing, Mapping):
        return {key: without_places(value) for key, value in thing.items()}
    if isinstance(thing, (list, tuple)):
        return tuple(without_places(value) for value in thing)
    return thing
