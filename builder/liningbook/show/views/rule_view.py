"""The rules and what they rest on, in words and in reading order."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from liningbook.control.weighed import WeighedTable
from liningbook.evidence.grade import LEVELS
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.resting import citations
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Rule, When
from liningbook.say import grades
from liningbook.say.answers import name_or_label
from liningbook.say.cases import conditions_words, sentences
from liningbook.say.locale import both, day_words, month_of_year
from liningbook.say.outputs.grounds import allowing_words, answers_words, graded_words
from liningbook.say.outputs.rules import (
    advice_words,
    dissent_line,
    dissent_words,
    evidence_line,
    evidence_parts,
    valid_words,
)
from liningbook.say.references import format_reference, number_runs, reference_url, retraction_words
from liningbook.say.texts import t
from liningbook.show.views.evidence.evidence_view import EvidenceWords
from liningbook.show.views.evidence.tables import EvidenceTable
from liningbook.show.views.pieces import Ground, Labelled, ReferenceView, RuleGroup, RuleLink, RuleView


class RuleWords:
    """Words the rules of one compiled protocol. `to_html` turns an author's Markdown into safe HTML."""

    def __init__(self, meaning: Meaning, to_html: Callable[[str], str]) -> None:
        self.meaning = meaning
        self.protocol: Protocol = meaning.protocol
        self.to_html = to_html
        self.order = self._rule_order()
        self.numbers = {rule.id: n for n, rule in enumerate((r for _, rules in self.order for r in rules), 1)}
        """The number of each rule in reading order."""
        self.reference_numbers = self._reference_numbers()
        self.evidence = EvidenceWords(self.protocol.references, self.reference_numbers, self.protocol.retracted)
        self.table_links = {
            name: self.evidence.link(number, table)
            for number, (name, table) in enumerate(self.protocol.tables.items(), 1)
        }

    def references(self) -> tuple[ReferenceView, ...]:
        """The reference list, numbered in the order of the first citation."""
        return tuple(
            ReferenceView(
                number,
                name,
                format_reference(entry.data),
                reference_url(entry.data),
                retraction_words(self.protocol.retracted[name]) if name in self.protocol.retracted else "",
            )
            for name, number in self.reference_numbers.items()
            if (entry := self.protocol.references.get(name)) is not None
        )

    def groups(self) -> tuple[RuleGroup, ...]:
        """The rules under the decision that each advises first, those that only warn last."""
        return tuple(
            RuleGroup(heading, f"group-{position}", tuple(self._rule(rule) for rule in rules))
            for position, (heading, rules) in enumerate(self.order, 1)
        )

    def tables(self, weighed: Iterable[WeighedTable]) -> tuple[EvidenceTable, ...]:
        """The study tables, each with the rules that rest on it."""
        rests: dict[str, list[RuleLink]] = {}
        for rule in sorted(self.meaning.rules, key=lambda rule: self.numbers[rule.id]):
            for name in rule.evidence.tables:
                rests.setdefault(name.id, []).append(self._link(rule))
        return tuple(
            self.evidence.table(one, self.table_links[one.table.id].number, rests.get(one.table.id, ()))
            for one in weighed
        )

    def _link(self, rule: Rule) -> RuleLink:
        return RuleLink(self.numbers[rule.id], rule.title, _anchor(rule.id))

    def certainties(self) -> tuple[Labelled, ...]:
        """What the words for the certainty of evidence mean, as far as the rules use them, the weakest first."""
        used = {rule.evidence.certainty for rule in self.meaning.rules}
        return tuple(Labelled(*grades.certainty_words(name)) for name in LEVELS if name in used)

    def _rule_order(self) -> list[tuple[str, list[Rule]]]:
        groups: list[tuple[str, list[Rule]]] = [(d.label, []) for d in self.protocol.decisions.values()]
        index = {name: number for number, name in enumerate(self.protocol.decisions)}
        warnings: list[Rule] = []
        for rule in self.meaning.rules:
            first = min((index[name] for name in rule.advise), default=None)
            (warnings if first is None else groups[first][1]).append(rule)
        groups.append((t.only_warning, warnings))
        return [(heading, rules) for heading, rules in groups if rules]

    def _reference_numbers(self) -> dict[str, int]:
        cited = [name.id for _, rules in self.order for rule in rules for name in rule.evidence.cites]
        cited += [one.name.id for one in citations(self.protocol) if one.rule is None]
        known = [name for name in dict.fromkeys(cited) if name in self.protocol.references]
        return {name: number for number, name in enumerate(known, 1)}

    def _rule(self, rule: Rule) -> RuleView:
        protocol, number, references = self.protocol, self.numbers, self.reference_numbers
        by_id = {other.id: other for other in self.meaning.rules}

        def links(ids: Iterable[str]) -> tuple[RuleLink, ...]:
            return tuple(self._link(by_id[i]) for i in dict.fromkeys(ids) if i in number)

        allowing = allowing_words(protocol, rule.evidence)
        graded = (*graded_words(protocol, rule.evidence), *answers_words(rule.evidence))
        cited = {references[name.id] for name in rule.evidence.cites if name.id in references}
        return RuleView(
            number=number[rule.id],
            anchor=_anchor(rule.id),
            id=rule.id,
            title=rule.title,
            conditions=self._conditions(rule.when),
            advice=tuple(
                Labelled(protocol.decisions[name].label, advice_words(protocol, protocol.decisions[name], rule))
                for name in protocol.decisions
                if name in rule.advise
            ),
            avoid=self._named(rule.avoid),
            never=self._named(rule.never),
            overrides=links(name.id for name in rule.overrides),
            overridden_by=links(
                other.id for other in self.meaning.rules if any(n.id == rule.id for n in other.overrides)
            ),
            valid=valid_words(rule.valid_from, rule.valid_until),
            review_by=day_words(rule.review_by.on) if rule.review_by else "",
            why_html=self.to_html(rule.body),
            evidence=tuple(Labelled(label, words) for label, words in evidence_parts(rule.evidence, graded, allowing)),
            cites=number_runs(cited),
            cited=len(cited),
            evidence_line=evidence_line(rule.evidence),
            review_month=month_of_year(rule.review_by.on) if rule.review_by else "",
            is_overdue=rule.review_by is not None and rule.review_by.on < self.meaning.day,
            judged=graded,
            note=sentences([rule.evidence.note, allowing]),
            tables=tuple(self.table_links[n.id] for n in rule.evidence.tables if n.id in self.table_links),
            dissent=tuple(dissent_words(one) for one in rule.dissent),
            dissent_line=dissent_line(len(rule.dissent)) if rule.dissent else "",
        )

    def _conditions(self, when: When) -> tuple[tuple[Labelled, ...], ...]:
        sets = tuple(tuple(Labelled(a, b) for a, b in conditions_words(self.protocol, c)) for c in when)
        return () if any(not facts for facts in sets) else sets

    def _named(self, table: object) -> tuple[Labelled, ...]:
        assert isinstance(table, dict)
        return tuple(
            Labelled(
                self.protocol.decisions[decision].label,
                both([name_or_label(self.protocol, self.protocol.decisions[decision], n.id) for n in names]),
            )
            for decision, names in table.items()
            if names
        )


def grounds(groups: Iterable[RuleGroup]) -> tuple[Ground, ...]:
    """What is told of the grounds of each rule beyond its line; rules of which the same is told stand together."""
    found: dict[tuple[tuple[str, ...], str], list[RuleLink]] = {}
    for group in groups:
        for rule in group.rules:
            if rule.judged or rule.note:
                found.setdefault((rule.judged, rule.note), []).append(RuleLink(rule.number, rule.title, rule.anchor))
    return tuple(Ground(tuple(rules), *told) for told, rules in found.items())


def _anchor(rule: str) -> str:
    return f"rule-{rule}"
