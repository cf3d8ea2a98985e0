"""What two versions give for safety in every case, from the contract and the words of `compare/safety.py` alone.

Each case is judged with its facts: which layer is held back and how, what is never to be placed, which decision is
needed, which irritant passes and which is kept out. A loss is what the old version has in a case and the new one lacks.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from itertools import product
from typing import Any

from tests.oracle.brute import Fact, Judgement, in_list
from tests.oracle.irritants import Guarded
from tests.oracle.notation import as_list
from tests.oracle.versions import Versions

Lost = tuple[str, str, str]
"""The kind, the decision and the name."""


class Safe(Guarded):
    """A protocol of which every case is looked at for what makes it safe."""

    def _judge(self, holding: frozenset[Hashable]) -> Judgement:
        out = super()._judge(holding)
        if not out.in_scope:
            return out
        for name, decision in self.decisions.items():
            out.facts |= {("needed", name)} if out.states[name] != "not-needed" else set()
            if "layer" in decision:
                out.facts |= set(self._held(name, out))
        for name, rule in self.rules.items():
            if ("rule", name) in holding:
                for decision, agents in rule.get("never", {}).items():
                    out.facts |= {("never", decision, agent, name) for agent in as_list(agents)}
        layers = [name for name, decision in self.decisions.items() if "layer" in decision]
        if any(out.states[layer] != "not-needed" for layer in layers):
            for chosen in product(*(list(out.answers[layer]) or [None] for layer in layers)):
                only = replace(out, answers={n: {c: set()} if c else {} for n, c in zip(layers, chosen, strict=True)})
                facts = self._reaching(holding, only, layers)
                out.facts |= {("kept-out-by-one", fact[1]) for fact in facts if fact[0] == "kept-out"}
        return out

    def _held(self, layer: str, out: Judgement) -> Iterator[Fact]:
        """By which decision a layer is held back, whether by a referral or a judgement, by all answers or by one."""
        waiting = layer
        while "needed_when" in self.decisions[waiting]:
            [(on, wanted)] = self.decisions[waiting]["needed_when"].items()
            if "layer" not in self.decisions[on] and out.states[on] != "not-needed":
                answers = set(out.answers[on])
                leading = {meaning for meaning in answers if in_list(meaning, as_list(wanted))}
                judged = answers & {("judgement",)}
                if answers - leading - judged:
                    yield "held", layer, on, "referral", "one"
                if judged:
                    yield "held", layer, on, "judgement", "one"
                if answers and not leading:
                    yield "held", layer, on, "judgement" if judged else "referral", "all"
            waiting = on


def safe(plain: Mapping[str, Any]) -> Safe:
    return Safe(plain["protocol"], plain["materials"], plain["rules"], date.fromisoformat(plain["day"]))


def expected(versions: Versions) -> dict[Lost, tuple[int, set[str]]]:
    """What is lost, with its cells, and which layers or rules it was about."""
    old, new = (oracle.regions(versions.grid).cells for oracle in versions.brutes)
    scopes = versions.scopes
    before = {fact: cells & scopes[0] for fact, cells in old.items()}
    after = {fact: cells & scopes[1] for fact, cells in new.items()}
    found: dict[Lost, tuple[int, set[str]]] = {}

    def lose(lost: Lost, cells: int, what: str = "") -> None:
        if cells:
            known, about = found.get(lost, (0, set()))
            found[lost] = known | cells, about | ({what} if what else set())

    layers = {name for name, one in versions.brutes[0].decisions.items() if "layer" in one}
    for fact, cells in before.items():
        if fact[0] == "held" and fact[1] in layers & set(versions.brutes[1].decisions):
            _, layer, on, how, by = (str(part) for part in fact)
            still = ("referral",) if how == "referral" else ("referral", "judgement")
            alike = {other: now for other, now in after.items() if other[0] == "held" and other[4] == by}
            kept = [now for other, now in alike.items() if other[1] == layer and other[3] in still]
            lose((how, on, ""), cells & ~any_of(kept), layer)
        if fact[0] == "kept-out":
            lose(("protection", "", str(fact[1])), cells & after.get(("unprotected", fact[1]), 0))
        if fact[0] == "kept-out-by-one":
            by_none = after.get(("unprotected", fact[1]), 0) & ~after.get(fact, 0)
            lose(("protection", "", str(fact[1])), cells & by_none)
        if fact[0] == "never":
            _, decision, name, rule = (str(part) for part in fact)
            if _can_be_advised(versions.brutes[1], decision, name):
                forbidden = [now for other, now in after.items() if other[:3] == ("never", decision, name)]
                needed = after.get(("needed", decision), 0)
                lose(("never", decision, name), cells & needed & ~any_of(forbidden), rule)
    return found


def _can_be_advised(oracle: Any, decision: str, name: str) -> bool:
    asked = oracle.decisions.get(decision, {})
    if "layer" in asked:
        return name in oracle.agents and asked["layer"] in as_list(oracle.agents[name]["class"])
    return name in asked.get("answers", {})


def any_of(masks: list[int]) -> int:
    found = 0
    for mask in masks:
        found |= mask
    return found
