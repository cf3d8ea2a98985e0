"""The advice of one cell of the chart in words. A cell is never without words."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from liningbook.meaning import chart as charts
from liningbook.meaning.decide import Outcome, placing_order, unplaced
from liningbook.meaning.rules import answer_word
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision
from liningbook.say.answers import answer_words, layer_details
from liningbook.say.cases import alternatives
from liningbook.say.texts import t
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.view import Cell, Step
from liningbook.space.boxes import Box, meets

Held = Mapping[str, list[tuple[Outcome, list[Box]]]]


class Advised(NamedTuple):
    """What an exception says: what it is about, what is done, and its details."""

    label: str
    head: str
    rest: str = ""


class CellWords:
    """Words the cells of a chart: each layer in its slot, a stop called so.

    A layer that is not among the `decisions` shown keeps its place in the placing order, and the reader is sent to the
    protocol for it wherever it is to be decided: what departs from the chart under it is not on the card either.
    """

    def __init__(self, outcomes: charts.Outcomes, cases: CaseWords, decisions: Collection[str]) -> None:
        self.outcomes, self.cases, self.decisions = outcomes, cases, decisions
        self.meaning = outcomes.meaning
        self.protocol: Protocol = outcomes.meaning.protocol
        layers = [name for name, decision in self.protocol.decisions.items() if decision.is_layer]
        self.slots = {name: slot for slot, name in enumerate(layers, 1)}
        """The place of each layer among those of the protocol, from 1."""

    def cell(self, name: str, box: Box) -> Cell:
        """The cell of the cases of a box."""
        held = {decision: self.outcomes.within(decision, box) for decision in self.protocol.decisions}
        held = {n: found for n, found in held.items() if n in self.decisions or self.protocol.decisions[n].is_layer}
        if not any(held.values()):
            return Cell(name, (Step(0, t.not_covered, self._why_excluded(box)),), "out")
        if any(len(found) > 1 for found in held.values()):
            return self._varied_cell(name, box, held)
        return self._plain_cell(name, {decision: found[0][0] for decision, found in held.items() if found})

    def _why_excluded(self, box: Box) -> str:
        for entry in self.protocol.excluded:
            if any(meets(box, own) for own in self.meaning.space.boxes(entry.when)):
                return entry.instead or entry.because
        return str(t.out_of_scope)

    def _plain_cell(self, name: str, outcomes: dict[str, Outcome]) -> Cell:
        steps: list[Step] = []
        tones: set[str] = set()
        layers = False
        for decision_id, outcome in outcomes.items():
            decision = self.protocol.decisions[decision_id]
            if outcome.state == "not-needed":
                continue
            if outcome.state != "answered":
                steps.append(self._about(decision, t.no_advice))
                tones.add("fault")
            elif decision_id not in self.decisions:
                if outcome.candidates[0].answer.kind != "layer":
                    steps.append(self._about(decision, t.see_protocol))
                tones.add("place")
            elif decision.is_layer:
                layers = True
                if outcome.candidates[0].answer.kind == "judgement":
                    steps.append(self._judged_layer(decision, outcome))
                    tones.add("decide")
            elif not self._goes_on(decision, outcome):
                steps.append(self._step(decision, outcome))
                tones.add(self.tone(decision, outcome))
        for number, decision_id in enumerate(placing_order(outcomes), 1):
            decision = self.protocol.decisions[decision_id]
            steps.append(self._layer(number, decision, outcomes[decision_id], unplaced(outcomes)))
            tones.add("place")
        if not steps:
            steps.append(Step(0, t.place_nothing if layers else t.nothing_asked_for))
            tones.add("nothing")
        return Cell(name, tuple(steps), _strongest(tones))

    def _about(self, decision: Decision, words: str, rest: str = "", number: int = 0) -> Step:
        """A line about a decision: in the slot of its layer, or called by its name if it is about no layer."""
        if not decision.is_layer:
            return Step(number, decision.label, words)
        return Step(number, words, rest, decision.label, self.slots[decision.id])

    def _judged_layer(self, decision: Decision, outcome: Outcome) -> Step:
        return self._about(decision, t.dentist_decides, outcome.candidates[0].answer.why)

    def _layer(self, number: int, decision: Decision, outcome: Outcome, unplaced: Collection[str]) -> Step:
        """A layer that is placed, or that is not."""
        answer = outcome.answer
        assert answer is not None
        if decision.id not in self.decisions:
            return self._about(decision, t.see_protocol, number=number)
        if answer.kind != "layer" or not number:
            return self._about(decision, answer_words(self.protocol, decision, answer, unplaced), number=number)
        details = ", ".join(layer_details(self.protocol, answer, unplaced))
        return self._about(decision, self.protocol.agents[answer.name].label, details, number)

    def _goes_on(self, decision: Decision, outcome: Outcome) -> bool:
        """Whether an answer only opens the way to the layers, so that the chart need not repeat it."""
        answer = outcome.answer
        return answer is not None and answer_word(answer) in (self.protocol.opening(decision.id) or ())

    def _is_gate(self, decision: Decision) -> bool:
        """Whether another decision is needed only after some answer to this one."""
        return self.protocol.opening(decision.id) is not None

    def _varied_cell(self, name: str, box: Box, held: Held) -> Cell:
        """A cell whose advice turns on a factor that the chart does not fix: each answer with its cases."""
        steps: list[Step] = []
        tones: set[str] = set()
        for decision_id, found in held.items():
            decision = self.protocol.decisions[decision_id]
            if decision_id not in self.decisions:
                if any(outcome.state != "not-needed" for outcome, _ in found):
                    steps.append(self._about(decision, t.see_protocol))
                    tones.add("place")
                continue
            for outcome, parts in found:
                if outcome.state == "not-needed" or (len(found) == 1 and self._goes_on(decision, outcome)):
                    continue
                step = self._step(decision, outcome, self._unplaced(outcome, parts))
                tones.add(self.tone(decision, outcome))
                if len(found) > 1:
                    cases = alternatives([self._beyond(box, part) for part in parts])
                    step = Step(0, cases, step.text, step.layer, step.slot)
                steps.append(step)
        return Cell(name, tuple(steps) or (Step(0, t.place_nothing),), _strongest(tones or {"nothing"}))

    def _beyond(self, box: Box, part: Box) -> str:
        """What a part of a cell adds to the cell's own conditions, in words."""
        narrowed = tuple(
            shown if mask == own else mask for shown, own, mask in zip(self.cases.shown, box, part, strict=True)
        )
        parts = self.cases.parts(narrowed, both_scales=True) or []
        return "; ".join(f"{label} {value}" for label, value in parts) or t.otherwise

    def exception(self, decision: Decision, outcome: Outcome, boxes: Iterable[Box]) -> tuple[Advised, str]:
        """What a decision comes to in those cases of the boxes in which it is this outcome, and how that is drawn."""
        tone = self.tone(decision, outcome)
        if outcome.state != "answered":
            return Advised(decision.label, t.no_advice), tone
        answer = outcome.candidates[0].answer
        if answer.kind == "none":
            return Advised(decision.label, t.place_none), tone
        if answer.kind == "judgement":
            if decision.is_layer or not answer.why:
                return Advised(decision.label, t.dentist_decides, answer.why), tone
            return Advised(t.dentist_decides, answer.why), tone
        if answer.kind == "layer":
            held = [part for box in boxes for part in self._held(decision, outcome, box)]
            details = layer_details(self.protocol, answer, self._unplaced(outcome, held))
            return Advised(decision.label, self.protocol.agents[answer.name].label, ", ".join(details)), tone
        said = answer_words(self.protocol, decision, answer)
        stops = self._is_gate(decision) and not self._goes_on(decision, outcome)
        return Advised(t.stop if stops else decision.label, said), tone

    def _held(self, decision: Decision, outcome: Outcome, box: Box) -> list[Box]:
        """The parts of a box in which a decision is this outcome."""
        return [p for o, parts in self.outcomes.within(decision.id, box) if o.said == outcome.said for p in parts]

    def _unplaced(self, outcome: Outcome, boxes: Iterable[Box]) -> Collection[str]:
        """Of the layers beside which an outcome asks to be placed those that are placed in none of the boxes."""
        answers = [candidate.answer for candidate in outcome.candidates]
        asked = {layer for answer in answers for layer in (answer.before, answer.after) if layer is not None}
        if not asked:
            return ()
        kept = tuple(boxes)
        return [
            layer
            for layer in asked
            if all(other.is_unplaced for box in kept for other, _ in self.outcomes.within(layer, box))
        ]

    def _step(self, decision: Decision, outcome: Outcome, unplaced: Collection[str] = ()) -> Step:
        """What a decision comes to, in the slot of its layer or called by its name."""
        if outcome.state != "answered":
            return self._about(decision, t.no_advice)
        answer = outcome.candidates[0].answer
        if answer.kind == "judgement" and decision.is_layer:
            return self._judged_layer(decision, outcome)
        if answer.kind == "judgement":
            return Step(0, t.dentist_decides, answer.why or decision.label)
        if decision.is_layer:
            return self._layer(0, decision, outcome, unplaced)
        said = answer_words(self.protocol, decision, answer, unplaced)
        if self._goes_on(decision, outcome):
            return Step(0, said)
        return Step(0, t.stop if self._is_gate(decision) else decision.label, said)

    def tone(self, decision: Decision, outcome: Outcome) -> str:
        """How a decision's outcome is drawn."""
        if outcome.state != "answered":
            return "fault"
        kind = outcome.candidates[0].answer.kind
        if kind == "choice" and (self._goes_on(decision, outcome) or not self._is_gate(decision)):
            return "place"
        return {"none": "nothing", "judgement": "decide", "layer": "place", "choice": "refer"}[kind]


def _strongest(tones: set[str]) -> str:
    for tone in ("fault", "refer", "decide", "place", "nothing"):
        if tone in tones:
            return tone
    return "nothing"
