"""One case to advice: the protocol's meaning, step by step, for a set of rules that hold.

The same judgement of "these rules hold" serves a single case and the cells of a decision table.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from itertools import product

from liningbook.meaning.meaning import Meaning
from liningbook.meaning.rules import answer_word
from liningbook.model.protocol import Exclusion
from liningbook.model.rule import Answer, Decision
from liningbook.space.boxes import Box, bits, inside


@dataclass(frozen=True)
class Candidate:
    """An answer with the rules that give it."""

    answer: Answer
    rules: tuple[str, ...]


@dataclass(frozen=True)
class Outcome:
    """What a protocol says under one decision.

    `state` is one of not-needed, gap, conflict, contraindicated, clash, answered. `warnings` are (agent, rule) where an
    advised agent is one to avoid; `clashes` are numbers of entries of `together`.
    """

    state: str
    candidates: tuple[Candidate, ...] = ()
    silent: tuple[str, ...] = ()
    warnings: tuple[tuple[str, str], ...] = ()
    clashes: tuple[int, ...] = ()

    @property
    def answer(self) -> Answer | None:
        """The one answer, where there is one."""
        return self.candidates[0].answer if len(self.candidates) == 1 else None

    @property
    def is_unplaced(self) -> bool:
        """Whether surely no layer is placed: it is not needed, or every answer is that none is."""
        kinds = {candidate.answer.kind for candidate in self.candidates}
        return self.state == "not-needed" or kinds == {"none"}

    @property
    def said(self) -> Hashable:
        """What is advised, equal for two outcomes that advise alike: state and answers, whichever rules give them."""
        return (self.state, frozenset(candidate.answer.meaning for candidate in self.candidates))


@dataclass(frozen=True)
class Advice:
    """The advice for one case. `excluded` says why it is out of scope, if it is."""

    outcomes: Mapping[str, Outcome]
    placing_order: tuple[str, ...]
    excluded: Exclusion | None = None


NOT_NEEDED = Outcome("not-needed")


def judge(meaning: Meaning, decision: str, holding: int) -> Outcome:
    """What a needed decision comes to where exactly the rules `holding` hold (contract: steps 2, 3, 5 and 6)."""
    speaking = holding & meaning.advising(decision)
    silent = 0
    for index in bits(speaking):
        silent |= meaning.overrides[index] & speaking
    left = speaking & ~silent
    by_meaning: dict[object, tuple[Answer, list[str]]] = {}
    for index in bits(left):
        answer = meaning.rules[index].advise[decision]
        by_meaning.setdefault(answer.meaning, (answer, []))[1].append(meaning.rules[index].id)
    candidates = tuple(Candidate(answer, tuple(rules)) for answer, rules in by_meaning.values())
    quiet = tuple(meaning.rules[index].id for index in bits(silent))
    if not candidates:
        return Outcome("gap", silent=quiet)
    warnings = _warnings(meaning, decision, holding, candidates)
    if len(candidates) > 1:
        return Outcome("conflict", candidates, quiet, warnings)
    return Outcome("contraindicated" if warnings else "answered", candidates, quiet, warnings)


def _warnings(
    meaning: Meaning, decision: str, holding: int, candidates: tuple[Candidate, ...]
) -> tuple[tuple[str, str], ...]:
    names = {c.answer.name for c in candidates if c.answer.kind in ("layer", "choice")}
    heard = holding & meaning.speaking(decision)
    found = []
    for index in bits(heard):
        rule = meaning.rules[index]
        agents = [name.id for name in rule.never.get(decision, ())]
        if not meaning.overridden_by[index] & heard:
            agents += [name.id for name in rule.avoid.get(decision, ())]
        found += [(agent, rule.id) for agent in dict.fromkeys(agents) if agent in names]
    return tuple(found)


def is_needed(decision: Decision, earlier: Mapping[str, Outcome]) -> bool:
    """Whether a decision is needed, given what came of the decisions before it (step 4)."""
    if decision.needed_when is None:
        return True
    on, wanted = decision.needed_when
    return any(answer_word(candidate.answer) in wanted for candidate in earlier[on].candidates)


def decide(meaning: Meaning, case: Box) -> Advice:
    """The advice for one case, given as a box of one cell on every axis."""
    for entry in meaning.protocol.excluded:
        if meaning.space.holds(entry.when, case):
            return Advice({}, (), entry)
    holding = sum(1 << index for index, boxes in enumerate(meaning.boxes) if any(inside(case, box) for box in boxes))
    outcomes: dict[str, Outcome] = {}
    for name, decision in meaning.protocol.decisions.items():
        outcomes[name] = judge(meaning, name, holding) if is_needed(decision, outcomes) else NOT_NEEDED
    _mark_clashes(meaning, case, outcomes)
    return Advice(outcomes, placing_order(outcomes))


def _mark_clashes(meaning: Meaning, case: Box, outcomes: dict[str, Outcome]) -> None:
    for number, pairing in enumerate(meaning.protocol.pairings):
        if not meaning.space.holds(pairing.when, case):
            continue
        options = {layer: _agents(outcomes[layer]) for layer in pairing.layers}
        bearing: set[str] = set()
        for chosen in product(*options.values()):
            bearing |= pairing.broken_by(dict(zip(options, chosen, strict=True)))
        for layer in pairing.layers:
            if layer in bearing and outcomes[layer].state != "not-needed":
                outcomes[layer] = with_clash(outcomes[layer], number)


def _agents(outcome: Outcome) -> list[str]:
    """The agent of each candidate answer; an empty word for a layer that is not placed."""
    names = [c.answer.name if c.answer.kind == "layer" else "" for c in outcome.candidates]
    return list(dict.fromkeys(names)) or [""]


def with_clash(outcome: Outcome, number: int) -> Outcome:
    """The outcome, marked as breaking an entry of `together`."""
    state = "clash" if outcome.state == "answered" else outcome.state
    return Outcome(state, outcome.candidates, outcome.silent, outcome.warnings, (*outcome.clashes, number))


def unplaced(outcomes: Mapping[str, Outcome]) -> frozenset[str]:
    """The decisions under which surely no layer is placed."""
    return frozenset(name for name, outcome in outcomes.items() if outcome.is_unplaced)


def placing_order(outcomes: Mapping[str, Outcome]) -> tuple[str, ...]:
    """The layers that are placed, in order: that of the decisions, each layer moved only where its own answer says so.

    A layer that is to come `before` (`after`) another and does not is moved to just before (after) it. Where such
    wishes contradict one another, those that can be met in turn are.
    """
    answers = {name: outcome.answer for name, outcome in outcomes.items()}
    order = [name for name, answer in answers.items() if answer is not None and answer.kind == "layer"]
    wishes = [
        (name, other, side)
        for name in order
        if (answer := answers[name]) is not None
        for other, side in ((answer.before, 0), (answer.after, 1))
        if other in order
    ]
    for _ in wishes:
        for name, other, side in wishes:
            assert other is not None
            if (order.index(name) < order.index(other)) == bool(side):
                order.remove(name)
                order.insert(order.index(other) + side, name)
    return tuple(order)
