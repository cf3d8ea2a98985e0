"""What a protocol means, worked out for every case one after the other, from the contract alone.

`judge` follows the seven steps of section 6 for one case, of which it knows only which rules, excluded cases and
entries of `together` hold. `Brute.advise` looks that up for a single case; `Brute.regions` does so for every cell of a
grid (cells in which the same things hold are judged once). The protocol is plain data, as the YAML says it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from itertools import product
from typing import Any

from tests.oracle.grid import Grid
from tests.oracle.notation import as_list, holds, size

Fact = tuple[Hashable, ...]
"""What is found in a case: ('conflict', decision, {two rules}), ('gap', decision), and so on."""

Outcome = tuple[str, frozenset[tuple[Hashable, frozenset[str]]], frozenset[tuple[str, str]]]
"""State, answers each with its rules, and (agent, rule) where an advised agent is one to avoid."""


@dataclass
class Judgement:
    """One case: what each decision comes to and what is wrong with it."""

    in_scope: bool = True
    excluded_by: list[int] = field(default_factory=list)
    states: dict[str, str] = field(default_factory=dict)
    answers: dict[str, dict[Hashable, set[str]]] = field(default_factory=dict)
    """By decision and distinct answer, the rules that give it."""
    silent: dict[str, set[str]] = field(default_factory=dict)
    facts: set[Fact] = field(default_factory=set)

    def outcome(self, decision: str) -> Outcome:
        """What a decision comes to."""
        answers = frozenset((meaning, frozenset(rules)) for meaning, rules in self.answers[decision].items())
        warned = ((fact[3], fact[2]) for fact in self.facts if fact[:2] == ("contraindicated", decision))
        return self.states[decision], answers, frozenset(warned)


@dataclass
class Regions:
    """The cells in which each fact is found."""

    grid: Grid
    scope: int
    cells: Mapping[Fact, int]
    outcomes: Mapping[tuple[str, Outcome], int]
    """By decision and outcome, cells in scope."""

    def of_kind(self, kind: str) -> dict[Fact, int]:
        return {fact: cells for fact, cells in self.cells.items() if fact[0] == kind}


class Brute:
    """A protocol in plain data, on one day."""

    def __init__(self, protocol: Mapping[str, Any], materials: Mapping[str, Any], rules: Mapping[str, Any], day: date):
        self.factors: Mapping[str, Any] = protocol["factors"]
        self.decisions: Mapping[str, Any] = protocol["decisions"]
        self.excluded = protocol.get("excluded", [])
        self.together = materials.get("together", [])
        self.agents = materials["agents"]
        self.places = list(materials.get("places", {}))
        self.rules = {name: rule for name, rule in rules.items() if _in_force(rule.get("valid", {}), day)}
        """Those in force on the day; the others do not exist."""
        self.whens: dict[Hashable, Any] = {}
        for name, rule in self.rules.items():
            self.whens["rule", name] = rule.get("when")
        for number, entry in enumerate(self.excluded):
            self.whens["excluded", number] = entry.get("when")
        for number, entry in enumerate(self.together):
            self.whens["together", number] = entry.get("when")
        self._all_whens = [rule.get("when") for rule in rules.values()] + list(self.whens.values())
        self._judged: dict[frozenset[Hashable], Judgement] = {}

    # --- every case -------------------------------------------------------------------------------------------------

    def grid(self, more: Mapping[str, Iterable[Fraction]] | None = None) -> Grid:
        return Grid(self.factors, self._all_whens, more)

    def regions(self, grid: Grid) -> Regions:
        """Every cell judged."""
        alike: dict[frozenset[Hashable], int] = {frozenset(): grid.full}
        for key, when in self.whens.items():
            where = grid.cells(when)
            split: dict[frozenset[Hashable], int] = {}
            for holding, cells in alike.items():
                if cells & where:
                    split[holding | {key}] = cells & where
                if cells & ~where:
                    split[holding] = cells & ~where
            alike = split
        found: dict[Fact, int] = defaultdict(int)
        outcomes: dict[tuple[str, Outcome], int] = defaultdict(int)
        scope = 0
        for holding, cells in alike.items():
            judged = self.judge(holding)
            scope |= cells if judged.in_scope else 0
            for fact in judged.facts:
                found[fact] |= cells
            for decision in judged.states:
                outcomes[decision, judged.outcome(decision)] |= cells
        return Regions(grid, scope, found, outcomes)

    def unreachable(self, regions: Regions) -> set[str]:
        """Rules that are heard in no case."""
        return {name for name in self.rules if ("heard", name) not in regions.cells}

    def idle_overrides(self, regions: Regions) -> set[tuple[str, str]]:
        """Overrides that do nothing in any case: the overriding rule, the overridden one."""
        written = {(by, name) for by, rule in self.rules.items() for name in rule.get("overrides", [])}
        return {(by, name) for by, name in written if name in self.rules and ("works", by, name) not in regions.cells}

    # --- one case ---------------------------------------------------------------------------------------------------

    def advise(self, case: Mapping[str, Any]) -> Judgement:
        """One case: a value for every factor."""
        return self.judge(frozenset(key for key, when in self.whens.items() if holds(self.factors, when, case)))

    def judge(self, holding: frozenset[Hashable]) -> Judgement:
        """The case in which exactly these rules, excluded cases and entries of `together` hold."""
        if holding not in self._judged:
            self._judged[holding] = self._judge(holding)
        return self._judged[holding]

    def _judge(self, holding: frozenset[Hashable]) -> Judgement:
        out = Judgement()
        out.excluded_by = [n for n in range(len(self.excluded)) if ("excluded", n) in holding]
        if out.excluded_by:
            out.in_scope = False
            return out
        rules = {name: rule for name, rule in self.rules.items() if ("rule", name) in holding}
        for decision in self.decisions:
            if self._is_needed(decision, out):
                self._decide(decision, rules, out)
            else:
                out.states[decision] = "not-needed"
                out.answers[decision] = {}
        for number, entry in enumerate(self.together):
            if ("together", number) in holding:
                self._try_together(number, entry, out)
        return out

    def _is_needed(self, decision: str, out: Judgement) -> bool:
        needed_when = self.decisions[decision].get("needed_when")
        if needed_when is None:
            return True
        [(earlier, wanted)] = needed_when.items()
        return any(in_list(meaning, as_list(wanted)) for meaning in out.answers[earlier])

    def _decide(self, decision: str, rules: Mapping[str, Any], out: Judgement) -> None:
        speaking = {name for name, rule in rules.items() if decision in rule.get("advise", {})}
        silencing = {(by, name) for by in speaking for name in rules[by].get("overrides", []) if name in speaking}
        silent = {name for _, name in silencing}
        out.silent[decision] = silent
        out.facts |= {("works", by, name) for by, name in silencing}
        answers: dict[Hashable, set[str]] = defaultdict(set)
        for name in sorted(speaking - silent):
            answers[self.meaning(rules[name]["advise"][decision])].add(name)
            out.facts.add(("heard", name))
        out.answers[decision] = dict(answers)
        if not answers:
            out.facts.add(("gap", decision))
        out.states[decision] = ("gap", "answered", "conflict")[min(len(answers), 2)]
        for one, first in answers.items():
            for two, second in answers.items():
                kind = "duplicate" if one == two else "conflict"
                out.facts |= {(kind, decision, frozenset((a, b))) for a in first for b in second if a != b}
        for name in self._warnings(decision, rules, out):
            if out.states[decision] == "answered":
                out.states[decision] = "contraindicated"
            out.facts.add(("contraindicated", decision, *name))

    def _warnings(self, decision: str, rules: Mapping[str, Any], out: Judgement) -> set[tuple[str, str]]:
        """Which rules warn of which advised agents (or answers)."""
        advised = set(out.answers[decision])
        saying = {
            n for n, r in rules.items() if any(decision in r.get(key, {}) for key in ("advise", "avoid", "never"))
        }
        found = set()
        for name in saying:
            rule = rules[name]
            if decision in rule.get("avoid", {}):
                off = {by for by in saying if name in rules[by].get("overrides", [])}
                out.facts |= {("works", by, name) for by in off} | {("avoid-overridden", by, name) for by in off}
                if not off:
                    out.facts.add(("heard", name))
                    found |= {(name, agent) for agent in as_list(rule["avoid"][decision])}
            if decision in rule.get("never", {}):
                out.facts.add(("heard", name))
                found |= {(name, agent) for agent in as_list(rule["never"][decision])}
        return {(name, agent) for name, agent in found if any(in_list(meaning, [agent]) for meaning in advised)}

    def _try_together(self, number: int, entry: Mapping[str, Any], out: Judgement) -> None:
        """Every combination of candidate answers against one entry of `together`."""
        having, require, forbid = (entry.get(key, {}) for key in ("with", "require", "forbid"))
        layers = sorted({*having, *require, *forbid})
        for chosen in product(*(list(out.answers[layer]) or [None] for layer in layers)):
            pick = dict(zip(layers, chosen, strict=True))

            def met(layer: str, wanted: Any, pick: dict[str, Any] = pick) -> bool:
                meaning = pick[layer]
                return meaning is not None and meaning[0] == "layer" and meaning[1] in as_list(wanted)

            if not all(met(layer, wanted) for layer, wanted in having.items()):
                continue
            lacking = {layer for layer, wanted in require.items() if not met(layer, wanted)}
            present = {layer for layer, wanted in forbid.items() if met(layer, wanted)}
            if lacking or present:
                out.facts.add(("clash", number))
                for layer in {*having, *lacking, *present}:
                    if out.states[layer] == "answered":
                        out.states[layer] = "clash"

    # --- answers ----------------------------------------------------------------------------------------------------

    def meaning(self, answer: Any) -> Hashable:
        """The same for any two equal answers: quantities by value, `place` left out is the agent's own."""
        if not isinstance(answer, Mapping):
            return ("word", answer)
        if "judgement" in answer:
            return ("judgement",)
        thickness = frozenset((key, size(text)) for key, text in answer.get("thickness", {}).items())
        largest = self.places[-1] if self.places else None
        place = answer.get("place", self.agents[answer["agent"]].get("place", largest))
        coats = None if "coats" not in answer else int(answer["coats"])
        wait = None if "wait" not in answer else size(answer["wait"])
        return ("layer", answer["agent"], thickness, place, coats, wait, answer.get("before"), answer.get("after"))


def in_list(meaning: Any, wanted: Iterable[str]) -> bool:
    """Whether an answer is one of those named: an agent, `none`, or an answer of the decision; a judgement never is."""
    return meaning[0] != "judgement" and meaning[1] in wanted


def _in_force(valid: Mapping[str, str], day: date) -> bool:
    # Both days included; dates of this form sort as their texts do.
    return valid.get("from", "0000-00-00") <= day.isoformat() <= valid.get("until", "9999-99-99")


def placing_order(judged: Judgement) -> list[str] | None:
    """The layers that are placed, pulp side first; `None` where the answers ask for more than one departure.

    A layer counts as placed if its one answer is an agent, whatever may be said against it.
    """
    answers = {decision: next(iter(found)) for decision, found in judged.answers.items() if len(found) == 1}
    placed = [decision for decision, answer in answers.items() if answer[0] == "layer"]
    asked = []
    for decision in placed:
        *_, before, after = answers[decision]
        asked += [(decision, other, gap) for other, gap in ((before, 0), (after, 1)) if other in placed]
    if len(asked) > 1:
        return None
    for decision, other, gap in asked:
        wrong = (placed.index(decision) < placed.index(other)) == bool(gap)
        if wrong:
            placed.remove(decision)
            placed.insert(placed.index(other) + gap, decision)
    return placed
