"""A protocol as formulas for the Z3 solver, written from the contract: no cells, numbers as they are.

A quantity is a real number between its limits (with a step, a whole number of steps); a choice is the position of its
value. Answers are compared by their meaning, which is no matter of numbers in cases and so is taken from `brute`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import z3

from tests.oracle.brute import Brute, in_list
from tests.oracle.notation import as_list, limits_of, mappings, number, step_of, values_of


class Formulas:
    """The formulas of one protocol on one day."""

    def __init__(self, brute: Brute) -> None:
        self.brute = brute
        self.values: dict[str, Any] = {}
        self.possible: list[z3.BoolRef] = []
        for name, factor in brute.factors.items():
            self.values[name] = self._value(name, factor)
        self.scope = z3.And(*self.possible, *(z3.Not(self.holds(entry.get("when"))) for entry in brute.excluded))
        self.holding = {name: self.holds(rule.get("when")) for name, rule in brute.rules.items()}
        self.left: dict[tuple[str, str], z3.BoolRef] = {}
        self.needed: dict[str, z3.BoolRef] = {}
        for decision in brute.decisions:
            self._decide(decision)

    def _value(self, name: str, factor: Mapping[str, Any]) -> Any:
        if factor["kind"] != "quantity":
            value = z3.Int(name)
            self.possible += [value >= 0, value < len(values_of(factor))]
            return value
        low, high = map(exact, limits_of(factor))
        step = step_of(factor)
        value = z3.Real(name) if step is None else z3.ToReal(z3.Int(name)) * exact(step)
        self.possible += [value >= low, value <= high]
        return value

    def holds(self, when: Any) -> z3.BoolRef:
        """Whether a `when`, or any of a list of boxes, holds."""
        return z3.Or(*(self.box(mapping) for mapping in mappings(when)))

    def box(self, mapping: Mapping[str, Any]) -> z3.BoolRef:
        return z3.And(*(self._condition(name, condition) for name, condition in mapping.items()))

    def _condition(self, name: str, condition: Any) -> z3.BoolRef:
        factor, value = self.brute.factors[name], self.values[name]
        if factor["kind"] == "quantity":
            return z3.Or(*(self._range(value, bounds, factor["unit"]) for bounds in as_list(condition)))
        if isinstance(condition, Mapping):
            return z3.Not(self._condition(name, condition["not"]))
        known = values_of(factor)
        return z3.Or(*(value == known.index(text) for text in as_list(condition)))

    @staticmethod
    def _range(value: Any, bounds: Mapping[str, str], unit: str) -> z3.BoolRef:
        parts = []
        for key, text in bounds.items():
            limit = exact(number(text, unit))
            parts.append(
                {
                    "above": value > limit,
                    "at_least": value >= limit,
                    "below": value < limit,
                    "at_most": value <= limit,
                    "exactly": value == limit,
                }[key]
            )
        return z3.And(*parts)

    def _decide(self, decision: str) -> None:
        brute = self.brute
        needed_when = brute.decisions[decision].get("needed_when")
        self.needed[decision] = z3.BoolVal(True)
        if needed_when is not None:
            [(earlier, wanted)] = needed_when.items()
            self.needed[decision] = z3.Or(
                *(
                    self.left[earlier, name]
                    for name in self.advising(earlier)
                    if in_list(brute.meaning(brute.rules[name]["advise"][earlier]), as_list(wanted))
                )
            )
        for name in self.advising(decision):
            silencing = [by for by in self.advising(decision) if name in brute.rules[by].get("overrides", [])]
            self.left[decision, name] = z3.And(
                self.needed[decision], self.holding[name], *(z3.Not(self.holding[by]) for by in silencing)
            )

    def advising(self, decision: str) -> list[str]:
        return [name for name, rule in self.brute.rules.items() if decision in rule.get("advise", {})]

    # --- findings ---------------------------------------------------------------------------------------------------

    def gap(self, decision: str) -> z3.BoolRef:
        """The cases in which no rule answers a needed decision."""
        left = [self.left[decision, name] for name in self.advising(decision)]
        return z3.And(self.scope, self.needed[decision], z3.Not(z3.Or(*left)))

    def conflict(self, decision: str, first: str, second: str) -> z3.BoolRef:
        """The cases in which two rules give different answers."""
        one, two = (self.brute.meaning(self.brute.rules[name]["advise"][decision]) for name in (first, second))
        if one == two:
            return z3.BoolVal(False)
        return z3.And(self.scope, self.left[decision, first], self.left[decision, second])


def exact(value: Any) -> Any:
    """A fraction as an exact number of the solver."""
    return z3.RealVal(f"{value.numerator}/{value.denominator}")


def never(*formulas: z3.BoolRef) -> bool:
    """Whether no case meets all formulas."""
    solver = z3.Solver()
    solver.add(*formulas)
    verdict = solver.check()
    assert verdict != z3.unknown, "the solver gave up"
    return bool(verdict == z3.unsat)
