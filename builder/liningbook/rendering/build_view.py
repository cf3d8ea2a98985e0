"""An analysed protocol to the words and the reading order of its outputs."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, timedelta

from liningbook.analysis import Analysis
from liningbook.evidence import words as evidence_words
from liningbook.evidence.reference_text import format_reference, reference_url
from liningbook.finding import Severity
from liningbook.logic import chart as charts
from liningbook.logic.boxes import Box
from liningbook.logic.decide import Outcome, placing_order
from liningbook.logic.meaning import Meaning, answer_word
from liningbook.model.protocol import Acceptance, Decision, Evidence, Factor, Pairing, Protocol, Rule, When
from liningbook.model.quantity import decimal_text
from liningbook.rendering.protection_view import protection_facts, reading_tables
from liningbook.rendering.safety import STANDING_CAUTIONS
from liningbook.rendering.view import (
    CardView,
    Cell,
    Chart,
    Departure,
    DepartureList,
    Fact,
    FactorView,
    Identity,
    ProtocolView,
    ReferenceView,
    RuleGroup,
    RuleView,
    Step,
)
from liningbook.wording import (
    answer_words,
    both,
    case_parts,
    conditions_words,
    day_words,
    either,
    name_or_label,
    number_words,
    when_words,
)

STATUS_WORDS = {"draft": "Draft, not in force", "in-force": "In force", "withdrawn": "Withdrawn, not to be used"}

FAULT = "No advice: the rules leave this open"


class Viewer:
    """Builds the views of one analysis. `to_html` turns an author's Markdown into safe HTML."""

    def __init__(self, analysis: Analysis, digest: str, to_html: Callable[[str], str]) -> None:
        assert analysis.protocol is not None and analysis.meaning is not None
        self.analysis = analysis
        self.protocol: Protocol = analysis.protocol
        self.meaning: Meaning = analysis.meaning
        self.digest = digest
        self.to_html = to_html
        self.outcomes = charts.Outcomes(self.meaning)
        self.layout = charts.choose_layout(self.meaning)
        self.bands = charts.bands(self.outcomes, self.layout) if self.layout else []

    # --- the two views ------------------------------------------------------------------------------------------

    def protocol_view(self) -> ProtocolView:
        """What the printed protocol and the page show."""
        numbers = self._reference_numbers()
        return ProtocolView(
            identity=self.identity(),
            chart=self.chart(),
            departures=self.departures(),
            factors=tuple(self._factor(factor) for factor in self.protocol.factors.values()),
            rule_groups=self._rule_groups(numbers),
            pairings=self.pairings(),
            exclusions=self.exclusions(),
            accepted=tuple(
                Fact(self._accepted_words(entry), f"{when_words(self.protocol, entry.when)}. {entry.because}")
                for entry in self.protocol.accepted
            ),
            references=tuple(
                ReferenceView(number, name, format_reference(entry.data), reference_url(entry.data))
                for name, number in numbers.items()
                if (entry := self.protocol.references.get(name)) is not None
            ),
            protection=self.protection(),
            readings=reading_tables(self.meaning),
            needs=self.needs(),
        )

    def card_view(self) -> CardView | None:
        """What the card shows; nothing where the protocol has no chart."""
        chart = self.chart()
        if chart is None:
            return None
        return CardView(
            identity=self.identity(),
            chart=chart,
            departures=self.departures(),
            avoid=self._warnings(lambda rule: rule.avoid),
            pairings=self.pairings(reasons=False),
            exclusions=self.exclusions(),
            never=self._warnings(lambda rule: rule.never),
            protection=self.protection(),
            readings=reading_tables(self.meaning),
            needs=self.needs(),
        )

    def needs(self) -> tuple[str, ...]:
        """Which decisions are needed only after which answer to another, a sentence a condition."""
        found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for decision in self.protocol.decisions.values():
            if decision.needed_when is not None:
                found.setdefault(decision.needed_when, []).append(decision.label)
        sentences = []
        for (on, wanted), labels in found.items():
            earlier = self.protocol.decisions[on]
            answers = [self._answer_label(earlier, word) for word in wanted]
            sentences.append(
                f"{both(labels)}: only if {earlier.label} comes to “{either(answers)}”. If it does not, stop there."
            )
        return tuple(sentences)

    def _answer_label(self, decision: Decision, word: str) -> str:
        if word == "none":
            return f"No {decision.label}"
        return name_or_label(self.protocol, decision, word)

    def protection(self) -> tuple[Fact, ...]:
        """What stops which irritant in the usual case."""
        return protection_facts(self.meaning, self.layout) if self.layout is not None else ()

    def identity(self) -> Identity:
        """What every output bears."""
        protocol = self.protocol
        findings = self.analysis.findings
        draft = any(finding.severity is Severity.ERROR for finding in findings)
        return Identity(
            title=protocol.title,
            practice=protocol.practice,
            edition=protocol.edition,
            status=protocol.status,
            status_words=STATUS_WORDS[protocol.status],
            review_by=day_words(protocol.review_by.on),
            use_until=day_words(use_until(protocol, self.meaning.day)),
            in_force_from=day_words(protocol.in_force_from) if protocol.in_force_from else "",
            digest=self.digest,
            scope=protocol.scope,
            authors=tuple(Fact(_person(p.name, p.role), p.interests) for p in protocol.authors),
            approvals=tuple(Fact(_person(p.name, p.role), day_words(p.on)) for p in protocol.approved),
            contact=protocol.contact,
            cautions=(*protocol.cautions, *STANDING_CAUTIONS),
            stop_questions=protocol.stop_questions,
            is_draft_build=draft,
            open_findings=tuple(
                f"{finding.severity.value}: {finding.message} ({finding.kind})"
                for finding in findings
                if draft and finding.severity is not Severity.NOTE and not finding.accepted
            ),
        )

    # --- the chart ----------------------------------------------------------------------------------------------

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

    # --- lists ----------------------------------------------------------------------------------------------------

    def pairings(self, reasons: bool = True) -> tuple[Fact, ...]:
        """What goes together, as what is placed and what it needs or bars, with the reasons or without."""
        return tuple(
            Fact(self._having(p), self._wanting(p) + (f". {p.because}" if reasons and p.because else ""))
            for p in self.protocol.pairings
        )

    def _agents(self, layers: Iterable[tuple[str, tuple[str, ...]]]) -> list[str]:
        return [
            f"{self.protocol.decisions[layer].label} of {either([self.protocol.agents[n].label for n in names])}"
            if names
            else f"no {self.protocol.decisions[layer].label}"
            for layer, names in layers
        ]

    def _having(self, pairing: Pairing) -> str:
        words = both(self._agents(pairing.having.items())) if pairing.having else "Any layers"
        if any(conditions.conditions for conditions in pairing.when):
            words += f" ({when_words(self.protocol, pairing.when)})"
        return words

    def _wanting(self, pairing: Pairing) -> str:
        parts = [f"needs {text}" for text in self._agents(pairing.require.items())]
        parts += [f"not with {text}" for text in self._agents(pairing.forbid.items())]
        return "; ".join(parts)

    def _accepted_words(self, entry: Acceptance) -> str:
        """The kind of an accepted warning, with what it is about."""
        kind = entry.kind.replace("-", " ")
        irritant = self.protocol.irritants.get(str(entry.narrowed.get("irritant", "")))
        return f"{kind}: {irritant.label}" if irritant else kind

    def exclusions(self) -> tuple[Fact, ...]:
        """The cases that are not covered, why, and where to turn."""
        return tuple(
            Fact(when_words(self.protocol, entry.when), f"{entry.because} {entry.instead}".strip())
            for entry in self.protocol.excluded
        )

    def _warnings(self, table_of: Callable[[Rule], object]) -> tuple[Fact, ...]:
        found = []
        for rule in self.meaning.rules:
            table = table_of(rule)
            assert isinstance(table, dict)
            names = [
                name_or_label(self.protocol, self.protocol.decisions[decision], name.id)
                for decision, items in table.items()
                for name in items
            ]
            if names:
                found.append(Fact(both(list(dict.fromkeys(names))), when_words(self.protocol, rule.when)))
        return tuple(found)

    def _factor(self, factor: Factor) -> FactorView:
        if factor.kind != "quantity" or factor.unit is None or factor.limits is None:
            return FactorView(factor.label, either(list(factor.values.values())), "")
        unit = factor.unit
        low, high = factor.limits.lower.value, factor.limits.upper.value
        values = f"{number_words(low, unit)} to {number_words(high, unit)}"
        if factor.step is not None:
            values += f", in steps of {number_words(factor.step, unit)}"
        return FactorView(factor.label, values, self._reading(factor))

    def _reading(self, factor: Factor) -> str:
        reading = factor.reading
        if reading is None or factor.unit is None:
            return ""
        parts = [f"Read by {reading.method}" if reading.method else "Read off"]
        if reading.scale != 1:
            parts.append(f"value = {decimal_text(reading.scale)} times the reading")
        if reading.offset:
            parts.append(f"with {number_words(reading.offset, factor.unit)} added")
        if reading.uncertainty:
            parts.append(f"expanded uncertainty (k = 2) {number_words(reading.uncertainty, factor.unit)}")
        if reading.cautious is not None:
            side = "smaller" if reading.cautious == "below" else "larger"
            parts.append(f"in doubt the {side} value counts")
        return "; ".join(parts) + "."

    # --- rules ------------------------------------------------------------------------------------------------------

    def _rule_order(self) -> list[tuple[str, list[Rule]]]:
        groups: list[tuple[str, list[Rule]]] = [(d.label, []) for d in self.protocol.decisions.values()]
        index = {name: number for number, name in enumerate(self.protocol.decisions)}
        warnings: list[Rule] = []
        for rule in self.meaning.rules:
            first = min((index[name] for name in rule.advise), default=None)
            (warnings if first is None else groups[first][1]).append(rule)
        groups.append(("Avoid and never", warnings))
        return [(heading, rules) for heading, rules in groups if rules]

    def _reference_numbers(self) -> dict[str, int]:
        cited = [name.id for _, rules in self._rule_order() for rule in rules for name in rule.evidence.cites]
        cited += [name.id for names in self.protocol.materials_cite() for name in names]
        known = [name for name in dict.fromkeys(cited) if name in self.protocol.references]
        return {name: number for number, name in enumerate(known, 1)}

    def _rule_groups(self, references: dict[str, int]) -> tuple[RuleGroup, ...]:
        order = self._rule_order()
        number = {rule.id: n for n, rule in enumerate((r for _, rules in order for r in rules), 1)}
        return tuple(
            RuleGroup(
                heading,
                f"group-{position}",
                tuple(self._rule(rule, number, references) for rule in rules),
            )
            for position, (heading, rules) in enumerate(order, 1)
        )

    def _rule(self, rule: Rule, number: dict[str, int], references: dict[str, int]) -> RuleView:
        protocol = self.protocol
        by_id = {other.id: other for other in self.meaning.rules}

        def links(ids: Iterable[str]) -> tuple[Fact, ...]:
            return tuple(Fact(str(number[i]), by_id[i].title) for i in dict.fromkeys(ids) if i in number)

        return RuleView(
            number=number[rule.id],
            anchor=f"rule-{rule.id}",
            id=rule.id,
            title=rule.title,
            conditions=self._conditions(rule.when),
            advice=tuple(
                Fact(protocol.decisions[name].label, _advice_words(protocol, protocol.decisions[name], rule))
                for name in protocol.decisions
                if name in rule.advise
            ),
            avoid=self._named(rule.avoid),
            never=self._named(rule.never),
            overrides=links(name.id for name in rule.overrides),
            overridden_by=links(
                other.id for other in self.meaning.rules if any(n.id == rule.id for n in other.overrides)
            ),
            valid=_valid_words(rule),
            review_by=day_words(rule.review_by.on) if rule.review_by else "",
            why_html=self.to_html(rule.body),
            evidence=_evidence_facts(rule.evidence),
            cites=tuple(references[n.id] for n in rule.evidence.cites if n.id in references),
        )

    def _conditions(self, when: When) -> tuple[tuple[Fact, ...], ...]:
        sets = tuple(tuple(Fact(a, b) for a, b in conditions_words(self.protocol, c)) for c in when)
        return () if any(not facts for facts in sets) else sets

    def _named(self, table: object) -> tuple[Fact, ...]:
        assert isinstance(table, dict)
        return tuple(
            Fact(
                self.protocol.decisions[decision].label,
                both([name_or_label(self.protocol, self.protocol.decisions[decision], n.id) for n in names]),
            )
            for decision, names in table.items()
            if names
        )


def use_until(protocol: Protocol, day: date) -> date:
    """The last day on which what is printed holds: the review date, or the last day before a rule starts or ends."""
    changes = [protocol.review_by.on]
    for rule in protocol.rules.values():
        if rule.valid_from is not None and rule.valid_from > day:
            changes.append(rule.valid_from - timedelta(days=1))
        if rule.valid_until is not None and rule.valid_until >= day:
            changes.append(rule.valid_until)
    return min(changes)


def _advice_words(protocol: Protocol, decision: Decision, rule: Rule) -> str:
    answer = rule.advise[decision.id]
    words = answer_words(protocol, decision, answer)
    return f"{words}: {answer.why}" if answer.kind == "judgement" and answer.why else words


def _strongest(tones: set[str]) -> str:
    for tone in ("fault", "refer", "decide", "place", "nothing"):
        if tone in tones:
            return tone
    return "nothing"


def _person(name: str, role: str) -> str:
    return f"{name}, {role}" if role else name


def _valid_words(rule: Rule) -> str:
    parts = []
    if rule.valid_from:
        parts.append(f"from {day_words(rule.valid_from)}")
    if rule.valid_until:
        parts.append(f"until {day_words(rule.valid_until)}")
    return " ".join(parts)


def _evidence_facts(evidence: Evidence) -> tuple[Fact, ...]:
    facts = [Fact("Rests on", evidence_words.basis(evidence.basis))]
    if evidence.strength:
        facts.append(Fact("Strength", evidence_words.strength(evidence.strength)))
    if evidence.certainty:
        facts.append(
            Fact(
                "Certainty",
                f"{evidence_words.certainty(evidence.certainty)}: "
                f"{evidence_words.certainty_meaning(evidence.certainty)}",
            )
        )
    if evidence.level is not None:
        facts.append(Fact("Level", evidence_words.level(evidence.level, evidence.question or "benefit")))
    if evidence.design:
        facts.append(Fact("Studies", evidence_words.design(evidence.design)))
    judgements = evidence_words.judgements(evidence.lowered, evidence.raised)
    if judgements:
        facts.append(Fact("Judged", "; ".join(judgements)))
    if evidence.adjusted:
        facts.append(Fact("Adjusted", f"to level {evidence.adjusted.to}: {evidence.adjusted.because}"))
    if evidence.note:
        facts.append(Fact("Note", evidence.note))
    return tuple(facts)
