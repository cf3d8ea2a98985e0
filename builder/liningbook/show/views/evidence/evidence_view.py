"""Study tables and what is computed of them, in words and in reading order: plain data for every output."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import log

from liningbook.control.weighed import Weighed, WeighedTable
from liningbook.evidence.synthesis.result import Effect, Synthesis
from liningbook.evidence.table import OutcomeTable, Study, StudyTable
from liningbook.say import grades
from liningbook.say.cases import capital, sentences
from liningbook.say.findings.grades import step_words
from liningbook.say.outputs import effects, forests
from liningbook.say.references import number_runs, retracted_name
from liningbook.say.synthesis import limits_words, part_words
from liningbook.show.views.evidence.axis import shown_part, ticks
from liningbook.show.views.evidence.figures import domain_rows, people_of, pooled_interval, total_of
from liningbook.show.views.evidence.forest import NO_EFFECT, EffectAxis, Forest, ForestRow, Heads, Spot
from liningbook.show.views.evidence.tables import EvidenceTable, OutcomeView
from liningbook.show.views.pieces import Labelled, RuleLink
from liningbook.sources.citations.reference_entry import Reference


class EvidenceWords:
    """Words the study tables of one protocol, with its references and the numbers that they have in the list.

    Studies that were `retracted` are named so.
    """

    def __init__(
        self,
        references: Mapping[str, Reference],
        numbers: Mapping[str, int] | None = None,
        retracted: Collection[str] = (),
    ) -> None:
        self.references = references
        self.numbers = numbers or {}
        self.retracted = retracted

    def link(self, number: int, table: StudyTable) -> RuleLink:
        """A study table by its number, and where it stands."""
        return RuleLink(number, effects.compared_words(table.intervention, table.comparator), f"table-{number}")

    def table(self, weighed: WeighedTable, number: int = 1, rules: Sequence[RuleLink] = ()) -> EvidenceTable:
        """One study table, which has this number; `rules` are those that rest on it."""
        table, link = weighed.table, self.link(number, weighed.table)
        return EvidenceTable(
            id=table.id,
            number=number,
            anchor=link.anchor,
            title=link.title,
            question=tuple(Labelled(label, words) for label, words in effects.question_parts(table)),
            outcomes=tuple(
                self.outcome(table, one, f"{link.anchor}-{place}")
                for place, one in enumerate(weighed.outcomes.values(), 1)
            ),
            rules=tuple(rules),
        )

    def outcome(self, table: StudyTable, weighed: Weighed, anchor: str) -> OutcomeView:
        """One outcome of a table."""
        outcome, synthesis = weighed.outcome, weighed.synthesis
        absolute = synthesis.absolute
        relative = pooled_interval(outcome, synthesis)
        counted = {effect.study for effect in synthesis.effects}
        numbers = {self.numbers[one.study] for one in outcome.studies if one.study in self.numbers}
        return OutcomeView(
            id=outcome.id,
            anchor=anchor,
            label=effects.label_words(outcome, table.outcomes.values()),
            importance=effects.importance_words(outcome.importance),
            effect=effects.effect_words(outcome, weighed.conclusion),
            relative=effects.estimate_line(outcome, relative) if relative else "",
            comparator=effects.comparator_words(absolute, table.comparator) if absolute else "",
            absolute=effects.difference_per_1000(absolute) if absolute else "",
            needed=effects.number_needed_words(absolute) if absolute else "",
            certainty=grades.certainty_words(outcome.certainty)[0] if outcome.certainty else "",
            graded=effects.graded_words([step_words(step) for step in weighed.steps], outcome.because),
            domains=domain_rows(weighed),
            people=effects.people_words(len(counted), *people_of(outcome, counted)),
            numbers=tuple(sorted(numbers)),
            cites=number_runs(numbers),
            forest=self.forest(table, outcome, synthesis, anchor) if synthesis.effects else None,
            nothing="" if synthesis.effects else self._nothing(outcome, synthesis),
        )

    def forest(self, table: StudyTable, outcome: OutcomeTable, synthesis: Synthesis, anchor: str) -> Forest:
        """The plot of an outcome of which at least one study has an effect."""
        rows = self._rows(outcome, synthesis)
        has_arms = any(study.treated is not None for study in outcome.studies)
        pooled, prediction = _pooled(outcome, synthesis), _prediction(outcome, synthesis)
        figures = forests.arms_head(outcome)
        label = effects.label_words(outcome, table.outcomes.values())
        heads = Heads(
            study=forests.study_head(),
            estimate=forests.estimate_head(outcome),
            weight=forests.weight_head(),
            treated=capital(table.intervention) if has_arms else "",
            comparator=capital(table.comparator) if has_arms else "",
            figures=figures if has_arms else "",
            arms=forests.arms_named(figures, table.intervention, table.comparator) if has_arms else "",
        )
        below = (
            forests.heterogeneity_words(synthesis.heterogeneity) if synthesis.heterogeneity else "",
            forests.method_words(outcome),
            *(forests.corrected_words(one.given["added"]) for one in synthesis.notes if one.what == "zero-cells-added"),
            *forests.notes(synthesis.notes),
        )
        return Forest(
            id=anchor,
            title=forests.forest_title(label, table.intervention, table.comparator),
            alternative=_alternative(rows, pooled, prediction, [line for line in below if line]),
            heads=heads,
            rows=rows,
            axis=_axis(table, outcome, rows, pooled, prediction),
            pooled=pooled,
            prediction=prediction,
            below=tuple(line for line in below if line),
            continued=forests.continued_words(label),
        )

    def _names(self, outcome: OutcomeTable) -> dict[str, str]:
        names: dict[str, str] = {}
        for study in outcome.studies:
            entry = self.references.get(study.study)
            name = forests.study_name(entry.data if entry else None, study.study, _year(study, entry))
            name = forests.told_apart(name, names.values())
            names[study.study] = retracted_name(name) if study.study in self.retracted else name
        return names

    def _rows(self, outcome: OutcomeTable, synthesis: Synthesis) -> tuple[ForestRow, ...]:
        found = {effect.study: effect for effect in synthesis.effects}
        reasons = {one.study: forests.left_out_line(one) for one in synthesis.left_out}
        names = self._names(outcome)
        return tuple(
            _row(outcome, synthesis, study, names[study.study], found.get(study.study), reasons.get(study.study, ""))
            for study in outcome.studies
        )

    def _nothing(self, outcome: OutcomeTable, synthesis: Synthesis) -> str:
        names = self._names(outcome)
        return forests.no_effects([(names[one.study], one) for one in synthesis.left_out])


def _row(
    outcome: OutcomeTable, synthesis: Synthesis, study: Study, name: str, effect: Effect | None, reason: str
) -> ForestRow:
    has_arms = any(one.treated is not None for one in outcome.studies)
    arms = (effects.arm_words(study.treated), effects.arm_words(study.comparator)) if has_arms else ("", "")
    if effect is None:
        return ForestRow(name, treated=arms[0], comparator=arms[1], arms=forests.both_arms(*arms), reason=reason)
    shown = [synthesis.shown(value) for value in (effect.value, effect.low, effect.high)]
    return ForestRow(
        name + ("†" if effect.corrected else ""),
        estimate=effects.interval_words(outcome, *shown),
        mark=Spot(effect.value, effect.low, effect.high),
        treated=arms[0],
        comparator=arms[1],
        arms=forests.both_arms(*arms),
        weight=part_words(effect.weight),
        share=effect.weight,
    )


def _pooled(outcome: OutcomeTable, synthesis: Synthesis) -> ForestRow | None:
    pooled = synthesis.pooled
    if pooled is None:
        return None
    counted = {effect.study for effect in synthesis.effects}
    totals = [total_of(outcome, counted, is_treated) for is_treated in (True, False)]
    return ForestRow(
        forests.all_studies(len(synthesis.effects)),
        estimate=pooled_interval(outcome, synthesis),
        mark=Spot(pooled.value, pooled.low, pooled.high),
        treated=totals[0],
        comparator=totals[1],
        arms=forests.both_arms(*totals),
        weight=part_words(1),
        share=1,
    )


def _prediction(outcome: OutcomeTable, synthesis: Synthesis) -> ForestRow | None:
    ahead = synthesis.prediction
    if ahead is None:
        return None
    low, high = synthesis.shown(ahead.low), synthesis.shown(ahead.high)
    return ForestRow(
        forests.prediction_name(),
        estimate=limits_words(low, high, outcome.no_effect),
        mark=Spot((ahead.low + ahead.high) / 2, ahead.low, ahead.high),
    )


def _axis(
    table: StudyTable,
    outcome: OutcomeTable,
    rows: Sequence[ForestRow],
    pooled: ForestRow | None,
    prediction: ForestRow | None,
) -> EffectAxis:
    threshold = None
    if outcome.threshold is not None:
        threshold = log(outcome.threshold) if outcome.is_ratio else float(outcome.threshold)
    musts = [NO_EFFECT, *([threshold] if threshold is not None else [])]
    if pooled is not None and pooled.mark is not None:
        musts += [end for end in (pooled.mark.low, pooled.mark.high) if end is not None]
    marks = [row.mark for row in (*rows, *([pooled] if pooled else [])) if row.mark is not None]
    ahead = [prediction.mark] if prediction is not None and prediction.mark is not None else []
    low, high = shown_part(marks, musts, outcome.is_ratio, ahead)
    left, right = forests.sides(outcome, table.intervention, table.comparator)
    return EffectAxis(
        low=low,
        high=high,
        ticks=ticks(low, high, outcome.is_ratio, forests.tick_words),
        words=forests.axis_words(outcome),
        left=left,
        right=right,
        threshold=threshold,
        threshold_words=forests.threshold_words(outcome),
    )


def _alternative(
    rows: Sequence[ForestRow], pooled: ForestRow | None, prediction: ForestRow | None, below: Sequence[str]
) -> str:
    """The whole plot in sentences, a study each."""
    shown = [*rows, *(row for row in (pooled, prediction) if row is not None)]
    found = [forests.row_words(row.name, row.arms, row.estimate, row.weight, row.reason) for row in shown]
    return sentences([*found, *below])


def _year(study: Study, entry: Reference | None) -> int | None:
    if study.year is not None or entry is None:
        return study.year
    issued = entry.data.get("issued")
    parts = issued.get("date-parts") if isinstance(issued, dict) else None
    if isinstance(parts, list) and parts and isinstance(parts[0], list) and parts[0]:
        return int(parts[0][0]) if str(parts[0][0]).isdigit() else None
    return None
