"""What two versions ask first, and always, is told where it differs: a person must look, though no case changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.exchange.versions import Version, compare_versions
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Judged
from liningbook.say.changes.notes import note_words

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def protocol(demonstration: Path) -> Protocol:
    found = understand(demonstration, DAY).protocol
    assert found is not None
    return found


def less_screened(protocol: Protocol) -> Protocol:
    first, *others = protocol.stop_questions
    return replace(protocol, stop_questions=(replace(first, screens=None), *others))


def other_words(protocol: Protocol) -> Protocol:
    first, *others = protocol.stop_questions
    return replace(protocol, stop_questions=(replace(first, ask="Is it exposed?"), *others))


def not_always(protocol: Protocol) -> Protocol:
    factor = replace(protocol.factors["rosin-allergy"], always_ask=False)
    return replace(protocol, factors={**protocol.factors, factor.id: factor})


def judged(protocol: Protocol) -> Protocol:
    how = Judged(Fraction(3, 10), "below", protocol.span)
    return replace(protocol, factors={**protocol.factors, "rdt": replace(protocol.factors["rdt"], judged=how)})


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (less_screened, ["what the stop questions take off the chart changed"]),
        (other_words, ["stop questions: Is the pulp exposed? → Is it exposed?"]),
        (not_always, ["factor rosin-allergy: always asked: no longer yes"]),
        (judged, ["factor rdt: how sure a judged value is: now 0.3 mm, below"]),
        (lambda protocol: protocol, []),
    ],
)
def test_what_is_asked_first_or_always_is_told(
    change: Callable[[Protocol], Protocol], told: list[str], protocol: Protocol
) -> None:
    found = compare_versions(Version("old", protocol), Version("new", change(protocol)), DAY)
    assert found.differences == ()
    assert [note_words(note) for note in found.notes] == told
