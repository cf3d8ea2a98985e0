"""The chart, the departures from it and the card, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from liningbook.model.rule import Factor
from liningbook.notation.interval import Range
from liningbook.notation.quantity import Unit
from liningbook.say.amounts import number_words, range_words
from liningbook.say.cases import capital, labelled
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.locale import both


def no_advice() -> str:
    """What is said where the rules leave a decision open."""
    return gettext("No advice: the rules leave this open")


def see_protocol() -> str:
    """What stands for a decision that the card leaves to the protocol."""
    return gettext("see the protocol")


def not_covered() -> str:
    """The head of a cell that is out of scope."""
    return gettext("Not covered")


def out_of_scope() -> str:
    """Why a cell is not covered, where the protocol does not say."""
    return gettext("out of scope")


def place_nothing(layers: bool = True) -> str:
    """A cell without a step, where layers are asked for or not."""
    return gettext("Place nothing") if layers else gettext("Nothing is asked for here")


def dentist_decides() -> str:
    """The head of a step that is left to judgement."""
    return gettext("Dentist decides")


def dentist_decides_here() -> str:
    """That the dentist decides, after the name of the decision."""
    return gettext("dentist decides")


def stop() -> str:
    """The head of an answer after which nothing is placed."""
    return gettext("Stop")


def otherwise() -> str:
    """The rest of the cases of a cell."""
    return gettext("otherwise")


def true_value(factor: Factor) -> str:
    """A quantity on the scale of what is so: `Thickness (true value)`."""
    return gettext("{factor} (true value)").format(factor=factor.label)


def as_read(factor: Factor) -> str:
    """A quantity on the scale of what is read off: `Thickness as read on the film`."""
    if factor.reading is None or not factor.reading.method:
        return factor_as_read(factor.label)
    return gettext("{factor} as read on the {method}").format(factor=factor.label, method=factor.reading.method)


def factor_as_read(label: str) -> str:
    """What a reading is of, in short: `Thickness as read`."""
    return gettext("{factor} as read").format(factor=label)


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


def columns_left_out(labels: Sequence[str]) -> str:
    """Which restorations a card does not show."""
    return gettext("Not on this card: {restorations}. See the protocol.").format(restorations=", ".join(labels))


def bands_left_out(label: str, words: str) -> str:
    """Which part of the range a card does not show."""
    return gettext("Not on this card: {factor} of {range}. See the protocol.").format(factor=label, range=words)


def decisions_left_out(labels: Sequence[str]) -> str:
    """Which decisions a card does not show."""
    return gettext("Not decided on this card: {decisions}. See the protocol.").format(decisions=", ".join(labels))


def only_for(subject: str) -> str:
    """What a card is for."""
    return gettext("This card is for {restoration} only.").format(restoration=subject)


def only_as_read(factor: Factor) -> str:
    """On which scale a card is to be read."""
    said = gettext("This card is for {quantity}. Where it is known in another way, see the protocol.")
    return said.format(quantity=as_read(factor))


def left_to_protocol(protection: bool, pairings: bool, cautions: int, reasons: bool) -> str:
    """Which lists a card leaves to the printed protocol, `cautions` of the practice among them; nothing if none."""
    found = [gettext("what stops which irritant")] if protection else []
    found += [gettext("what goes together")] if pairings else []
    if cautions:
        said = ngettext("{count} caution of the practice", "{count} cautions of the practice", cautions)
        found.append(said.format(count=cautions))
    found += [gettext("why cases are not covered")] if reasons else []
    if not found:
        return ""
    return gettext("{lists}: see the printed protocol.").format(lists=capital(both(found)))


def sign_words(sign: str, label: str) -> str:
    """What a rule warns of, after the word for its sign: `Never: Eugenol`."""
    return labelled(gettext("Never") if sign == "never" else gettext("Avoid"), label)


def continued(section: str) -> str:
    """The heading of a section that goes on in the next column."""
    return gettext("{section}, continued").format(section=section)


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
