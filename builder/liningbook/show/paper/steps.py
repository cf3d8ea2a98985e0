"""What is being done while an output is made, told to whoever listens."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_LISTENER: ContextVar[Callable[[str], None] | None] = ContextVar("listener", default=None)


def tell(step: str) -> None:
    """Says what comes next: a few words such as `setting 31 pages`."""
    listener = _LISTENER.get()
    if listener is not None:
        listener(step)


@contextmanager
def listening(listener: Callable[[str], None]) -> Iterator[None]:
    """Hears of every step for a while."""
    token = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(token)
