"""How much work an analysis may take.

Whether every case is answered is a question that no program answers quickly for every set of rules: it is
co-NP-complete in the number of factors. So the searches look at a budget now and then: that in force where they are
called, as with the context of `decimal`. Outside any budget they take the work they need.

The usual budget counts steps of work, not seconds: the same protocol is then looked at equally far on every machine,
however busy, and what is said of it is the same bytes. Whoever asks for seconds gets seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar, Token
from math import inf
from typing import Literal, NamedTuple

USUAL_STEPS = 16_000_000
"""The steps that a check may take where nothing else is asked for: one is about one box looked at.

Practices need a thousandth of it; entangled rules take some ten seconds of a processor for all of them.
"""


class OutOfTime(Exception):
    """A question could not be settled in the work allowed."""


class Limit(NamedTuple):
    """How much work was allowed."""

    amount: float
    unit: Literal["steps", "seconds"]


class Steps:
    """A clock that goes on by the work that is done."""

    def __init__(self) -> None:
        self.done = 0

    def __call__(self) -> float:
        """The steps done so far."""
        return self.done


class Budget:
    """So many steps from now, or seconds by a `clock` that never runs backwards; `with budget:` puts it in force."""

    def __init__(self, amount: float = USUAL_STEPS, clock: Callable[[], float] | None = None) -> None:
        self._clock = clock or Steps()
        self._steps = self._clock if isinstance(self._clock, Steps) else None
        self.limit = Limit(amount, "seconds" if self._steps is None else "steps")
        self._end = self._clock() + amount
        self._tokens: list[Token[Budget]] = []

    @property
    def left(self) -> float:
        """The steps or seconds left, never less than none."""
        return max(0.0, self._end - self._clock())

    @property
    def is_spent(self) -> bool:
        """Whether nothing is left."""
        return self._clock() >= self._end

    def spend(self, steps: int) -> None:
        """Says that so much work has been done."""
        if self._steps is not None:
            self._steps.done += steps

    def part(self, share: float) -> Budget:
        """A budget of a share of what is left, from now on."""
        return Budget(self.left * share, self._clock)

    def __enter__(self) -> Budget:
        self._tokens.append(_IN_FORCE.set(self))
        return self

    def __exit__(self, *_: object) -> None:
        _IN_FORCE.reset(self._tokens.pop())


UNLIMITED = Budget(inf)

_IN_FORCE: ContextVar[Budget] = ContextVar("budget", default=UNLIMITED)


def in_force() -> Budget:
    """The budget in force here."""
    return _IN_FORCE.get()


def stop_if_spent(steps: int) -> None:
    """Spends so many steps; raises OutOfTime if the budget in force is spent. For loops that may be long."""
    budget = in_force()
    budget.spend(steps)
    if budget.is_spent:
        raise OutOfTime


def usual_budget() -> Budget:
    """The usual work, or what is left of the budget in force."""
    budget = in_force()
    return Budget() if budget is UNLIMITED else budget.part(1)
