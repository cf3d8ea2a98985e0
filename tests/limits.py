"""How long something may take, in a way that holds on a slow or a busy machine too: in seconds of the processor, and
more of them the slower it is than the one on which the limits were chosen.
"""

from __future__ import annotations

import time
from functools import cache

HANGS = 600
"""Seconds on the clock after which a process is taken to hang."""

REFERENCE = 0.012
"""What `_work` takes where the limits were chosen."""

HEAD_ROOM = 2
"""Cores share their caches with whatever else runs."""


def processor(seconds: float) -> float:
    """Seconds of this machine's processor for so many of that one's."""
    return seconds * HEAD_ROOM * max(1.0, _measured() / REFERENCE)


@cache
def _measured() -> float:
    return max(_work() for _ in range(3))


def _work() -> float:
    start = time.process_time()
    table: dict[str, int] = {}
    for number in range(60_000):
        table[str(number % 997)] = table.get(str(number % 991), 0) + number
    return time.process_time() - start
