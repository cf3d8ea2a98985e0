"""How the look-up puts its questions: each once, where a stop question asks the same in the stop question's words.

A stop question says what it screens. Where that is a yes to one factor, it is that factor's question; where it is one
value or another of several factors, it stands over them; else it is a note at the last factor that it speaks of. What
screens nothing is asked first, by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from liningbook.model.protocol import Protocol
from liningbook.model.rule import Conditions, When
from liningbook.say.cases import condition_words, conditions_words, line_words
from liningbook.say.locale import either
from liningbook.say.look_up.asked import asked_words, screen_note


@dataclass
class Asked:
    """The question of each factor and the notes at it, by id; questions over several factors; what is asked first."""

    questions: dict[str, str]
    notes: dict[str, list[str]] = field(default_factory=dict)
    sets: list[tuple[str, list[str]]] = field(default_factory=list)
    first: list[str] = field(default_factory=list)


def asked(protocol: Protocol) -> Asked:
    """How the questions of a protocol are put."""
    found = Asked({name: asked_words(factor.label) for name, factor in protocol.factors.items()})
    taken: set[str] = set()
    for question in protocol.stop_questions:
        if question.screens is None:
            found.first.append(question.ask)
            continue
        own, several = _own(protocol, question.screens), _several(protocol, question.screens)
        if own and own not in taken:
            found.questions[own] = question.ask
            taken.add(own)
        elif len(several) > 1 and not taken & set(several):
            found.sets.append((question.ask, several))
            taken.update(several)
        else:
            _note(protocol, found, question.ask, question.screens)
    return found


def _own(protocol: Protocol, screens: When) -> str:
    """The one factor to which every case that is screened says yes."""
    common = [
        {
            name
            for name, one in box.conditions.items()
            if protocol.factors[name].kind == "yes-no" and one.values == ("yes",)
        }
        for box in screens
    ]
    shared = set.intersection(*common)
    return shared.pop() if len(shared) == 1 else ""


def _several(protocol: Protocol, screens: When) -> list[str]:
    """The factors of which any one screens a case by itself, in the protocol's order."""
    if any(len(box.conditions) != 1 for box in screens):
        return []
    named = {name for box in screens for name in box.conditions}
    return [name for name in protocol.factors if name in named]


def _note(protocol: Protocol, found: Asked, ask: str, screens: When) -> None:
    places = {last: None for box in screens for last in _last(protocol, box)}
    for name in places:
        boxes = [box for box in screens if name in _last(protocol, box)]
        words = [
            condition_words(protocol.factors[name], box.conditions[name])
            if len(box.conditions) == 1
            else line_words(conditions_words(protocol, box))
            for box in boxes
        ]
        found.notes.setdefault(name, []).append(screen_note(ask, either(words)))
    if not places:
        found.first.append(ask)


def _last(protocol: Protocol, box: Conditions) -> Iterator[str]:
    """The last of the factors that a set of conditions names, if any."""
    yield from [name for name in protocol.factors if name in box.conditions][-1:]
