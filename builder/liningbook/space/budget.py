"""How long an analysis may take.

Whether every case is answered is a question that no program answers quickly for every set of rules: it is
co-NP-complete in the number of factors. So the searches look at a budget now and then: that in force where they are
called, as with the context of `decimal`. Outside any budget they take the time they need.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar, Token
from math import inf
from time import monotonic

DEFAULT_SECONDS = 20.0
"""The time that a check may take where nothing else is asked for."""


class OutOfTime(Exception):
    """A question could not be settled in the time given."""


class Budget:
    """So many seconds from now; `with budget:` puts it in force. `clock` gives seconds that never run backwards."""

    def __init__(self, seconds: float = DEFAULT_SECONDS, clock: Callable[[], float] = monotonic) -> None:
        self.seconds = seconds
        self._clock = clock
        self._end = clock() + seconds
        self._tokens: list[Token[Budget]] = []

    @property
    def left(self) -> float:
        """The seconds left, never less than none."""
        return max(0.0, self._end - self._clock())

    @property
    def is_spent(self) -> bool:
        """Whether no time is left."""
        return self._clock() >= self._end

    def part(self, share: float) -> Budget:
        """A budget of a share of the time left, from now on."""
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


def stop_if_spent() -> None:
    """Raises OutOfTime if the budget in force is spent; for loops that may be long."""
    if in_force().is_spent:
        raise OutOfTime


def default_budget() -> Budget:
    """The usual time, or what is left of the budget in force if that is less."""
    return Budget(min(DEFAULT_SECONDS, in_force().left))
