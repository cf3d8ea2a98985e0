"""What the cross-section of a case shows: dentine left, the layers in placing order, and what is placed on them.

Plain data between the reply and the drawing. `site/scripts/section.mjs` builds the same from the bundle.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from liningbook.cases.question import Reply
from liningbook.meaning.chart import choose_layout
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Amount, Answer, Decision, Protocol
from liningbook.notation.interval import UNBOUNDED
from liningbook.notation.quantity import UNITS, parse_quantity
from liningbook.say.amounts import amount_words, number_words
from liningbook.show.terminal.reply import counted_words, nearer_limit

MILLIMETRE = UNITS["mm"]


@dataclass(frozen=True)
class Ground:
    """The tissue that is left under the layers: label and value in words, and its thickness in mm where it has one.

    `is_just_short` says that the value lies just short of a limit, which is the thickness then.
    """

    label: str
    words: str
    thickness: Fraction | None
    is_just_short: bool = False


@dataclass(frozen=True)
class Layer:
    """A layer that is placed.

    `number` is its place in the placing order, `hatch` that of its decision among the layer decisions. `place` counts
    from 0 (the least of `places`), or is -1 where the protocol names no places. `thickness` in mm is what it is drawn
    at: the most that is allowed, or the least where there is no most; `amount` says the range in words.
    """

    number: int
    agent: str
    words: tuple[str, ...]
    place: int
    thickness: Fraction | None
    amount: str
    drawn_at: str
    """The thickness it is drawn at in words, where the range leaves a choice."""
    hatch: int


@dataclass(frozen=True)
class Section:
    """Everything the figure shows.

    `top` is what lies on the layers: label, and the name of the factor it is a value of; empty where the protocol has
    no chart.
    """

    ground: Ground
    layers: tuple[Layer, ...]
    places: int
    top: tuple[str, str]


def section_of(meaning: Meaning, reply: Reply) -> Section | None:
    """The section of a reply; nothing where the advice is not one full set of layers.

    That is so out of scope, where any decision is left open, where the dentist decides on a layer, and where no layer
    is to be decided on.
    """
    protocol, advice = meaning.protocol, reply.advice
    layers = [name for name, decision in protocol.decisions.items() if decision.is_layer]
    asked = False
    for name, outcome in advice.outcomes.items():
        if outcome.state == "not-needed":
            continue
        if outcome.state != "answered":
            return None
        if name in layers:
            asked = True
            if outcome.candidates[0].answer.kind == "judgement":
                return None
    if advice.excluded is not None or not asked:
        return None
    layout = choose_layout(meaning)
    placed = []
    for number, name in enumerate(advice.placing_order, 1):
        answer = advice.outcomes[name].answer
        assert answer is not None
        placed.append(_layer(protocol, protocol.decisions[name], answer, number, layers.index(name)))
    top = ("", "")
    if layout is not None:
        factor = meaning.space.axes[layout.column_axis].factor
        top = (factor.values[reply.question.values[factor.id]], factor.label)
    band = meaning.space.axes[layout.band_axis].factor.id if layout is not None else ""
    return Section(_ground(protocol, reply, band), tuple(placed), len(protocol.places), top)


def _ground(protocol: Protocol, reply: Reply, band: str) -> Ground:
    factor = protocol.factors.get(band)
    if factor is None or factor.unit is None or factor.unit.dimension != MILLIMETRE.dimension:
        return Ground("Dentine", "its thickness is not asked for", None)
    text, taken = reply.question.values[band], reply.question.taken.get(band)
    words = counted_words(factor, text, taken)
    value = parse_quantity(text).in_unit(factor.unit)
    short = taken is not None and taken.stops_short
    if short:
        value = nearer_limit(factor, value)
    if value < 0:
        return Ground(factor.label, words, None)
    return Ground(factor.label, words, value * factor.unit.size / MILLIMETRE.size, short)


def _layer(protocol: Protocol, decision: Decision, answer: Answer, number: int, hatch: int) -> Layer:
    agent = protocol.agents[answer.name]
    order = list(protocol.places)
    place = answer.place or agent.place
    words = [decision.label]
    if place:
        words.append(_lowered(protocol.places[place]))
    if answer.coats is not None:
        words.append("1 coat" if answer.coats == 1 else f"{answer.coats} coats")
    thickness, at = _drawn(answer.thickness)
    return Layer(
        number,
        agent.label,
        tuple(words),
        order.index(place) if place else len(order) - 1,
        thickness,
        amount_words(answer.thickness) if answer.thickness else "",
        at,
        hatch,
    )


def _drawn(amount: Amount | None) -> tuple[Fraction | None, str]:
    """The thickness in mm at which a layer is drawn, and that in words where the range leaves a choice."""
    if amount is None or amount.unit.dimension != MILLIMETRE.dimension:
        return None, ""
    low, high = amount.range.lower.value, amount.range.upper.value
    value = high if high != UNBOUNDED else low
    if value <= 0:
        return None, ""
    at = "" if low == high else number_words(value, amount.unit)
    return value * amount.unit.size / MILLIMETRE.size, at


def _lowered(label: str) -> str:
    return label[0].lower() + label[1:] if label[1:2].islower() else label
