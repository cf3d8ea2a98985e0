"""Labels that tell things apart: where two things of a kind are called alike, each is told with its name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from liningbook.model.protocol import Agent, Irritant, Protocol
from liningbook.model.rule import Decision, Factor

Labelled = TypeVar("Labelled", Factor, Decision, Agent, Irritant)


def told_apart(old: Protocol, new: Protocol) -> tuple[Protocol, Protocol]:
    """Two versions on one space in which no two things that differ are called the same."""
    return _apart(old, new), _apart(new, old)


def _apart(one: Protocol, other: Protocol) -> Protocol:
    factors = _things(one.factors, other.factors)
    decisions = _things(one.decisions, other.decisions)
    return replace(
        one,
        factors={
            name: replace(factor, values=_labels(factor.values, _of(other.factors, name)))
            for name, factor in factors.items()
        },
        decisions={
            name: replace(decision, answers=_labels(decision.answers, _of(other.decisions, name)))
            for name, decision in decisions.items()
        },
        agents=_things(one.agents, other.agents),
        irritants=_things(one.irritants, other.irritants),
        places=_labels(one.places, other.places),
    )


def _of(things: Mapping[str, Factor] | Mapping[str, Decision], name: str) -> Mapping[str, str]:
    thing = things.get(name)
    return {} if thing is None else thing.values if isinstance(thing, Factor) else thing.answers


def _things(ours: Mapping[str, Labelled], theirs: Mapping[str, Labelled]) -> dict[str, Labelled]:
    mine, others = ({name: thing.label for name, thing in table.items()} for table in (ours, theirs))
    labels = _labels(mine, others)
    return {name: replace(thing, label=labels[name]) for name, thing in ours.items()}


def _labels(ours: Mapping[str, str], theirs: Mapping[str, str]) -> dict[str, str]:
    """Each label, with the name where another name bears it too; capitals make no difference."""
    bearers: dict[str, set[str]] = {}
    for name, label in _all((ours, theirs)):
        bearers.setdefault(label.casefold(), set()).add(name)
    return {name: label if len(bearers[label.casefold()]) == 1 else f"{label} ({name})" for name, label in ours.items()}


def _all(tables: Iterable[Mapping[str, str]]) -> Iterable[tuple[str, str]]:
    return (item for table in tables for item in table.items())
