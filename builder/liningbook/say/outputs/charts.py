"""The chart, the exceptions to it and the card, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from liningbook.model.rule import Factor
from liningbook.notation.interval import Range
from liningbook.notation.quantity import Unit
from liningbook.say.amounts import brief_range, number_words, range_words
from liningbook.say.cases import capital, labelled
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.locale import both, either


def as_read(factor: Factor) -> str:
    """A quantity on the scale of what is read off: `Thickness as read on the film`."""
    if factor.reading is None or not factor.reading.method:
        return factor_as_read(factor.label)
    return gettext("{factor} as read on the {method}").format(factor=factor.label, method=factor.reading.method)


def as_judged(factor: Factor) -> str:
    """A quantity that may be read off, on the scale of its values: `Thickness as judged in the cavity`."""
    said = gettext("{factor} as judged in the cavity") if _is_length(factor) else gettext("{factor} as judged")
    return said.format(factor=factor.label)


def _is_length(factor: Factor) -> bool:
    return factor.unit is not None and factor.unit.dimension == "length"


def factor_as_read(label: str) -> str:
    """What a reading is of, in short: `Thickness as read`."""
    return gettext("{factor} as read").format(factor=label)


def read_range(factor: Factor, stretches: Sequence[Range]) -> str:
    """The readings that count as a band: `up to 1.2 mm`."""
    assert factor.unit is not None
    return either([brief_range(stretch, factor.unit) for stretch in stretches]) if stretches else gettext("no reading")


def band_as_read(factor: Factor, words: str) -> str:
    """The readings that count as a band, and on what they are read: `Bitewing radiograph: up to 1.2 mm`."""
    assert factor.reading is not None
    return labelled(capital(factor.reading.method), words) if factor.reading.method else read(words)


def read(words: str) -> str:
    """Readings, where it is not said on what they are read."""
    return gettext("read: {range}").format(range=words)


def band_as_judged(words: str) -> str:
    """The values of a band that is given as it is read, as they are judged otherwise."""
    return gettext("judged: {range}").format(range=words)


def other_scale_heading(factor: Factor, is_read: bool) -> str:
    """Over the bands on the scale on which they are not called: on what they are read off, or that they are judged."""
    if is_read:
        return gettext("Judged in the cavity") if _is_length(factor) else gettext("Judged otherwise")
    method = factor.reading.method if factor.reading is not None else ""
    return gettext("Read on {method}").format(method=method) if method else gettext("As read")


def either_of(alternatives: Sequence[str]) -> str:
    """A condition that any of several meets, after another that must hold as well."""
    return gettext("either {alternatives}").format(alternatives=either(alternatives))


def with_other_scale(words: str, other: str) -> str:
    """A condition with the same on the other scale after it, where there is one."""
    return gettext("{range} ({other})").format(range=words, other=other) if other else words


def limits_not_covered(beyond: Sequence[Range], unit: Unit, limits: Range | None) -> str:
    """Said beneath a band beside what is not covered, the limits of its quantity: `not 0 mm: not covered`."""
    values = [
        number_words(stretch.lower.value, unit)
        if stretch.lower.value == stretch.upper.value
        else range_words(stretch, unit, limits)
        for stretch in beyond
    ]
    said = both([gettext("not {value}").format(value=value) for value in values])
    return gettext("{values}: not covered").format(values=said)


def left_to_protocol(protection: bool, pairings: bool, cautions: int, reasons: bool, pain: bool) -> str:
    """Which lists a card leaves to the printed protocol, `cautions` of the practice among them; nothing if none."""
    found = [gettext("what stops which irritant")] if protection else []
    found += [gettext("what goes together")] if pairings else []
    if cautions:
        said = ngettext("{count} caution of the practice", "{count} cautions of the practice", cautions)
        found.append(said.format(count=cautions))
    found += [gettext("why cases are not covered")] if reasons else []
    found += [gettext("when a patient rings with pain")] if pain else []
    if not found:
        return ""
    return gettext("{lists}: see the printed protocol.").format(lists=capital(both(found)))


def sign_words(sign: str, label: str) -> str:
    """What a rule warns of, after the word for its sign: `Never: Eugenol`."""
    return labelled(gettext("Never") if sign == "never" else gettext("Avoid"), label)


def code_words(opens: bool, brief: bool, mark: str) -> str:
    """What stands beside the QR code, which opens the page or holds the digest."""
    if brief:
        return gettext("Scan: its page") if opens else gettext("Scan: its digest")
    if opens:
        said = gettext(
            "Scan to open the page of this edition. The long number in it begins with the edition mark, {mark}."
        )
    else:
        said = gettext(
            "Scan to read this edition's digest. The long number in it begins with the edition mark, {mark}."
        )
    return said.format(mark=mark)


SECTIONS: Mapping[str, str] = {
    "never": N_("Never and avoid"),
    "avoid": N_("Never and avoid"),
    "pairing": N_("What goes together"),
    "reading": N_("Readings"),
    "exclusion": N_("Not covered here"),
    "left-out": N_("Left out of this card"),
    "protection": N_("What stops what, by this protocol's table"),
    "caution": N_("Cautions"),
    "change": N_("New in this edition"),
    "ask": N_("Whom to ask"),
    "pain": N_("Patient rings with pain"),
    "code": N_("This edition on a telephone"),
}
"""The headings of the lists on the back of a card."""


def section(name: str) -> str:
    """The heading of a list on the back of a card."""
    return gettext(SECTIONS[name])
