"""The chart at one glance and the lists of departures, in words."""

from __future__ import annotations

from liningbook.logic import chart as charts
from liningbook.logic.boxes import Box
from liningbook.logic.decide import Outcome, placing_order
from liningbook.logic.meaning import Meaning, answer_word
from liningbook.model.protocol import Decision, Factor, Protocol
from liningbook.rendering.view import Cell, Chart, Departure, DepartureList, Fact, Step
from liningbook.wording import answer_words, case_parts

FAULT = "No advice: the rules leave this open"


class ChartWords:
    """Words the chart of one compiled protocol and its departures."""

    def __init__(self, meaning: Meaning) -> None:
        self.meaning = meaning
        self.protocol: Protocol = meaning.protocol
        self.outcomes = charts.Outcomes(meaning)
        self.layout = charts.choose_layout(meaning)
        self.bands = charts.bands(self.outcomes, self.layout) if self.layout else []

    def chart(self) -> Chart | None:
        """Bands against columns for the usual case."""
        layout = self.layout
        if layout is None or not self.bands:
            return None
        space = self.meaning.space
        band_factor = space.axes[layout.band_axis].factor
        column_axis = space.axes[layout.column_axis]
        bands = [self._axis_words(layout.band_axis, mask) for mask in self.bands]
        columns = list(column_axis.factor.values.values())
        cells = tuple(
            tuple(
                self._cell(f"{column}, {words}", charts.cell_box(layout, mask, 1 << cell))
                for cell, column in enumerate(columns)
            )
            for mask, words in zip(self.bands, bands, strict=True)
        )
        usual = tuple(Fact(label, words) for label, words in case_parts(self._factors(), self._notation(layout.usual)))
        return Chart(band_factor.label, column_axis.factor.label, tuple(bands), tuple(columns), cells, usual)

    def departures(self) -> tuple[DepartureList, ...]:
        """How each decision departs from the chart."""
        if self.layout is None or not self.bands:
            return ()
        found = []
        for decision in self.protocol.decisions.values():
            lines = charts.departures(self.outcomes, self.layout, decision.id, self.bands)
            if lines:
                found.append(
                    DepartureList(
                        decision.label,
                        tuple(
                            Departure(
                                tuple(f"{a}: {b}" for a, b in case_parts(self._factors(), self._notation(line.box))),
                                self._outcome_words(decision, line.outcome),
                                self._tone(decision, line.outcome),
                            )
                            for line in lines
                        ),
                    )
                )
        return tuple(found)

    def _axis_words(self, number: int, mask: int) -> str:
        axis = self.meaning.space.axes[number]
        if mask == axis.full:
            return "any value"
        return case_parts(self._factors(), {axis.factor.id: axis.notation(mask)})[0][1]

    def _factors(self) -> dict[str, Factor]:
        return dict(self.protocol.factors)

    def _notation(self, box: Box) -> dict[str, object]:
        return self.meaning.space.notation(box)

    def _cell(self, name: str, box: Box) -> Cell:
        held = {decision: self.outcomes.within(decision, box) for decision in self.protocol.decisions}
        if not any(held.values()):
            return Cell(name, (Step(0, f"Not covered: {self._why_excluded(box)}"),), "out")
        if any(len(found) > 1 for found in held.values()):
            return self._varied_cell(name, box, held)
        return self._plain_cell(name, {decision: found[0][0] for decision, found in held.items() if found})

    def _why_excluded(self, box: Box) -> str:
        for entry in self.protocol.excluded:
            if any(all(a & b for a, b in zip(box, own, strict=True)) for own in self.meaning.space.boxes(entry.when)):
                return entry.instead or entry.because
        return "out of scope"

    def _plain_cell(self, name: str, outcomes: dict[str, Outcome]) -> Cell:
        steps: list[Step] = []
        tones: set[str] = set()
        order = placing_order(outcomes)
        layers = False
        for decision_id, outcome in outcomes.items():
            decision = self.protocol.decisions[decision_id]
            if outcome.state == "not-needed":
                continue
            if outcome.state != "answered":
                steps.append(Step(0, f"{decision.label}: {FAULT}"))
                tones.add("fault")
            elif decision.is_layer:
                layers = True
                if outcome.candidates[0].answer.kind == "judgement":
                    steps.append(Step(0, f"{decision.label}: dentist decides"))
                    tones.add("decide")
            elif not self._goes_on(decision, outcome):
                answer = outcome.candidates[0].answer
                tones.add("decide" if answer.kind == "judgement" else "refer")
                words = answer_words(self.protocol, decision, answer)
                judged = f"Dentist decides: {answer.why}" if answer.why else words
                steps.append(Step(0, judged if answer.kind == "judgement" else words))
        for number, decision_id in enumerate(order, 1):
            answer_ = outcomes[decision_id].answer
            assert answer_ is not None
            steps.append(Step(number, answer_words(self.protocol, self.protocol.decisions[decision_id], answer_)))
            tones.add("place")
        if not steps:
            steps.append(Step(0, "Place nothing" if layers else "Nothing is asked for here"))
            tones.add("nothing")
        return Cell(name, tuple(steps), _strongest(tones))

    def _goes_on(self, decision: Decision, outcome: Outcome) -> bool:
        """Whether an answer only opens the way to the layers, so that the chart need not repeat it."""
        answer = outcome.answer
        return answer is not None and any(
            other.needed_when is not None
            and other.needed_when[0] == decision.id
            and answer_word(answer) in other.needed_when[1]
            for other in self.protocol.decisions.values()
        )

    def _varied_cell(self, name: str, box: Box, held: dict[str, list[tuple[Outcome, list[Box]]]]) -> Cell:
        """A cell whose advice turns on a factor that the chart does not fix: each answer with its cases."""
        steps: list[Step] = []
        tones: set[str] = set()
        for decision_id, found in held.items():
            decision = self.protocol.decisions[decision_id]
            for outcome, parts in found:
                if outcome.state == "not-needed" or (len(found) == 1 and self._goes_on(decision, outcome)):
                    continue
                words = self._outcome_words(decision, outcome)
                tones.add(self._tone(decision, outcome))
                if len(found) == 1:
                    steps.append(Step(0, words))
                    continue
                cases = " — or ".join(self._beyond(box, part) for part in parts)
                steps.append(Step(0, f"{cases}: {words}"))
        return Cell(name, tuple(steps) or (Step(0, "Place nothing"),), _strongest(tones or {"nothing"}))

    def _beyond(self, box: Box, part: Box) -> str:
        """What a part of a cell adds to the cell's own conditions, in words."""
        space = self.meaning.space
        narrowed = tuple(full if mask == own else mask for full, own, mask in zip(space.full, box, part, strict=True))
        parts = case_parts(self._factors(), self._notation(narrowed))
        return "; ".join(f"{label} {words}" for label, words in parts) or "otherwise"

    def _outcome_words(self, decision: Decision, outcome: Outcome) -> str:
        if outcome.state != "answered":
            return f"{decision.label}: {FAULT}"
        answer = outcome.candidates[0].answer
        if answer.kind == "judgement" and answer.why:
            return f"Dentist decides: {answer.why}"
        return answer_words(self.protocol, decision, answer)

    def _tone(self, decision: Decision, outcome: Outcome) -> str:
        if outcome.state != "answered":
            return "fault"
        kind = outcome.candidates[0].answer.kind
        if kind == "choice" and self._goes_on(decision, outcome):
            return "place"
        return {"none": "nothing", "judgement": "decide", "layer": "place", "choice": "refer"}[kind]


def _strongest(tones: set[str]) -> str:
    for tone in ("fault", "refer", "decide", "place", "nothing"):
        if tone in tones:
            return tone
    return "nothing"
