"""Times of a task in a process of its own, which is ended when its time is up."""

from __future__ import annotations

import gc
import multiprocessing
import os
import resource
import sys
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from statistics import median
from time import perf_counter
from typing import Any

Progress = Callable[[float], None]
Task = Callable[[Progress], Any]

ENOUGH = 2.0
"""Seconds after which a task is not run again."""

MOST_RUNS = 5


@dataclass(frozen=True)
class Measured:
    """What came of a task: its times in seconds, its result, and by how much the process grew in MB.

    Without times it was stopped at `limit`, or not begun (`why`); `estimate` is the whole time by the share done.
    """

    times: tuple[float, ...]
    limit: float
    result: Any = None
    megabytes: float = 0.0
    estimate: float | None = None
    why: str = ""

    @property
    def seconds(self) -> float | None:
        """The median time, if there is one."""
        return median(self.times) if self.times else None

    def words(self) -> str:
        """The time for a table."""
        if self.seconds is not None:
            return time_words(self.seconds)
        if self.why:
            return self.why
        about = f" (about {time_words(self.estimate)})" if self.estimate else ""
        return f"> {self.limit:g} s{about}"


def time_words(seconds: float) -> str:
    """Three figures, in milliseconds below one second."""
    if seconds < 1:
        return f"{seconds * 1000:.3g} ms"
    return f"{seconds:.3g} s" if seconds < 1000 else f"{round(seconds, -2):,.0f} s"


def measure(task: Task, limit: float, runs: int = MOST_RUNS) -> Measured:
    """Runs a task up to so many times, within the limit, in a process forked for it."""
    context = multiprocessing.get_context("fork")
    mine, theirs = context.Pipe(duplex=False)
    process = context.Process(target=_child, args=(task, runs, theirs), daemon=True)
    process.start()
    theirs.close()
    return _listen(process, mine, limit)


def _child(task: Task, runs: int, out: Connection) -> None:
    gc.set_threshold(100_000, 20, 20)
    before = _megabytes()
    told = 0.0
    total = 0.0
    for _ in range(runs):
        start = perf_counter()

        def progress(share: float, start: float = start) -> None:
            nonlocal told
            now = perf_counter()
            if now - told > 0.5:
                told = now
                out.send(("share", share, now - start))

        try:
            result = task(progress)
        except Exception as stop:  # what a rival cannot do is told, not raised
            out.send(("why", str(stop) or type(stop).__name__, 0))
            break
        seconds = perf_counter() - start
        out.send(("run", seconds, (result, _megabytes() - before)))
        total += seconds
        if total > ENOUGH:
            break
    out.send(("end", 0, 0))
    out.close()
    sys.stdout.flush()
    os._exit(0)


def _megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _listen(process: Any, mine: Connection, limit: float) -> Measured:
    end = perf_counter() + limit
    times: list[float] = []
    result, megabytes, estimate, why = None, 0.0, None, ""
    while mine.poll(max(0.0, end - perf_counter())):
        try:
            kind, value, more = mine.recv()
        except EOFError:
            why = why or ("" if times else "ended without a word")
            break
        if kind == "run":
            times.append(value)
            result = more[0]
            megabytes = megabytes or more[1]
        elif kind == "share":
            estimate = more / value if value else None
        elif kind == "why":
            why = value
        else:
            break
    if process.is_alive():
        process.kill()
    process.join()
    return Measured(tuple(times), limit, result, megabytes, None if times else estimate, why)
