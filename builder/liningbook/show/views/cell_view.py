"""The advice of one cell of the chart in words. A cell is never without words."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from liningbook.meaning import chart as charts
from liningbook.meaning.decide import Outcome, placing_order
from liningbook.meaning.rules import answer_word
from liningbook.model.protocol import Decision, Protocol
from liningbook.say.answers import answer_words
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.view import Cell, Step
from liningbook.space.boxes import Box, meets

FAULT = "No advice: the rules leave this open"
ELSEWHERE = "see the protocol"

Held = Mapping[str, list[tuple[Outcome, list[Box]]]]


class CellWords:
    """Words the cells of a chart. On a card each layer is called by its name and a stop is called so.

    A layer that is not among the `decisions` shown keeps its place in the placing order, and the reader is sent to the
    protocol for it wherever it is to be decided: what departs from the chart under it is not on the card either.
    """

    def __init__(
        self, outcomes: charts.Outcomes, words: CaseWords, decisions: Collection[str], on_card: bool = False
    ) -> None:
        self.outcomes, self.words, self.decisions, self.on_card = outcomes, words, decisions, on_card
        self.meaning = outcomes.meaning
        self.protocol: Protocol = outcomes.meaning.protocol

    def cell(self, name: str, box: Box) -> Cell:
        """The cell of the cases of a box."""
        held = {decision: self.outcomes.within(decision, box) for decision in self.protocol.decisions}
        held = {n: found for n, found in held.items() if n in self.decisions or self.protocol.decisions[n].is_layer}
        if not any(held.values()):
            return Cell(name, (Step(0, f"Not covered: {self._why_excluded(box)}"),), "out")
        if any(len(found) > 1 for found in held.values()):
            return self._varied_cell(name, box, held)
        return self._plain_cell(name, {decision: found[0][0] for decision, found in held.items() if found})

    def _why_excluded(self, box: Box) -> str:
        for entry in self.protocol.excluded:
            if any(meets(box, own) for own in self.meaning.space.boxes(entry.when)):
                return entry.instead or entry.because
        return "out of scope"

    def _plain_cell(self, name: str, outcomes: dict[str, Outcome]) -> Cell:
        steps: list[Step] = []
        tones: set[str] = set()
        layers = False
        for decision_id, outcome in outcomes.items():
            decision = self.protocol.decisions[decision_id]
            if outcome.state == "not-needed":
                continue
            if outcome.state != "answered":
                steps.append(Step(0, f"{decision.label}: {FAULT}"))
                tones.add("fault")
            elif decision_id not in self.decisions:
                if outcome.candidates[0].answer.kind != "layer":
                    steps.append(Step(0, f"{decision.label}: {ELSEWHERE}"))
                tones.add("place")
            elif decision.is_layer:
                layers = True
                if outcome.candidates[0].answer.kind == "judgement":
                    steps.append(Step(0, self._judged_layer(decision, outcome)))
                    tones.add("decide")
            elif not self._goes_on(decision, outcome):
                steps.append(Step(0, self.outcome(decision, outcome, in_cell=True)))
                tones.add(self.tone(decision, outcome))
        for number, decision_id in enumerate(placing_order(outcomes), 1):
            steps.append(Step(number, self._layer(self.protocol.decisions[decision_id], outcomes[decision_id])))
            tones.add("place")
        if not steps:
            steps.append(Step(0, "Place nothing" if layers else "Nothing is asked for here"))
            tones.add("nothing")
        return Cell(name, tuple(steps), _strongest(tones))

    def _judged_layer(self, decision: Decision, outcome: Outcome) -> str:
        if not self.on_card:
            return f"{decision.label}: dentist decides"
        why = outcome.candidates[0].answer.why
        return f"Dentist decides: {decision.label}. {why}" if why else f"Dentist decides: {decision.label}"

    def _layer(self, decision: Decision, outcome: Outcome) -> str:
        """A layer that is placed, or that is not: on a card called by its name, unless the agent's says it."""
        answer = outcome.answer
        assert answer is not None
        if decision.id not in self.decisions:
            return f"{decision.label}: {ELSEWHERE}"
        words = answer_words(self.protocol, decision, answer)
        told = answer.kind != "layer" or decision.label.lower() in self.protocol.agents[answer.name].label.lower()
        return f"{decision.label}: {words}" if self.on_card and not told else words

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
                    steps.append(Step(0, f"{decision.label}: {ELSEWHERE}"))
                    tones.add("place")
                continue
            for outcome, parts in found:
                if outcome.state == "not-needed" or (len(found) == 1 and self._goes_on(decision, outcome)):
                    continue
                words = self.outcome(decision, outcome, in_cell=True)
                tones.add(self.tone(decision, outcome))
                if len(found) == 1:
                    steps.append(Step(0, words))
                    continue
                cases = " — or ".join(self._beyond(box, part) for part in parts)
                steps.append(Step(0, f"{cases}: {words}"))
        return Cell(name, tuple(steps) or (Step(0, "Place nothing"),), _strongest(tones or {"nothing"}))

    def _beyond(self, box: Box, part: Box) -> str:
        """What a part of a cell adds to the cell's own conditions, in words."""
        narrowed = tuple(
            shown if mask == own else mask for shown, own, mask in zip(self.words.shown, box, part, strict=True)
        )
        return "; ".join(f"{label} {words}" for label, words in self.words.parts(narrowed) or []) or "otherwise"

    def outcome(self, decision: Decision, outcome: Outcome, in_cell: bool = False) -> str:
        """What a decision comes to. A cell of a card calls it by its name, unless the answer says it."""
        if outcome.state != "answered":
            return f"{decision.label}: {FAULT}"
        answer = outcome.candidates[0].answer
        if answer.kind == "judgement" and self.on_card and (in_cell or not answer.why):
            if decision.is_layer:
                return self._judged_layer(decision, outcome)
            return f"Dentist decides: {answer.why or decision.label}"
        if answer.kind == "judgement" and answer.why:
            return f"Dentist decides: {answer.why}"
        if decision.is_layer and in_cell:
            return self._layer(decision, outcome)
        words = answer_words(self.protocol, decision, answer)
        if answer.kind != "choice" or not self.on_card or self._goes_on(decision, outcome):
            return words
        if self._is_gate(decision):
            return f"Stop: {words}"
        return f"{decision.label}: {words}" if in_cell else words

    def tone(self, decision: Decision, outcome: Outcome) -> str:
        """How a decision's outcome is drawn."""
        if outcome.state != "answered":
            return "fault"
        kind = outcome.candidates[0].answer.kind
        if kind == "choice" and (self._goes_on(decision, outcome) or (self.on_card and not self._is_gate(decision))):
            return "place"
        return {"none": "nothing", "judgement": "decide", "layer": "place", "choice": "refer"}[kind]


def _strongest(tones: set[str]) -> str:
    for tone in ("fault", "refer", "decide", "place", "nothing"):
        if tone in tones:
            return tone
    return "nothing"
