"""Which random cases a run takes: a part of the seeds of each law, another part after each commit, or all of them.

`LININGBOOK_SEEDS` says which: `all`, or any text, of which a commit's name is one. Without it that is the name of the
commit that is checked out, or outside a clone the version of the program; so one commit takes the same cases every
time, whatever is being edited. The head of every run says what was taken and how to take it again.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
from collections.abc import Iterable
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
VARIABLE = "LININGBOOK_SEEDS"


@cache
def taken() -> str:
    """What says which part is taken; the processes of one run are told it by the first."""
    return os.environ.setdefault(VARIABLE, _commit() or _version())


def takes_all() -> bool:
    return taken() == "all"


def window(first: int, count: int, parts: int, always: Iterable[int] = ()) -> list[int]:
    """One of so many parts of the seeds from `first` on, or all.

    Seeds that once found a fault, or that alone show something rare, are `always` taken. `LAWS_FIRST` and `LAWS_COUNT`
    look at other seeds, or more, and then at all of them.
    """
    asked = [os.environ.get(name) for name in ("LAWS_FIRST", "LAWS_COUNT")]
    if any(asked):
        first, count = int(asked[0] or first), int(asked[1] or count)
    if any(asked) or takes_all():
        parts = 1
    return sorted({*windows(first, count, parts)[place(taken(), parts)], *always})


def windows(first: int, count: int, parts: int) -> list[list[int]]:
    """The seeds from `first` on in so many parts: every so-manieth."""
    seeds = range(first, first + count)
    return [list(seeds[number::parts]) for number in range(parts)]


def place(text: str, parts: int) -> int:
    """Which of so many parts a text stands for: a small number for itself, anything else for one by chance."""
    number = int(text) if re.fullmatch(r"[0-9]{1,3}", text) else int(hashlib.sha256(text.encode()).hexdigest(), 16)
    return number % parts


def words() -> str:
    """One line for the head of a run."""
    if takes_all():
        return "seeds: all"
    return f"seeds: the part for {taken()} ({VARIABLE}={taken()} takes it again, {VARIABLE}=all takes all)"


def _commit() -> str:
    try:
        done = subprocess.run(
            ["git", "rev-parse", "--short=12", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
        )
    except OSError:
        return ""
    return done.stdout.strip() if done.returncode == 0 else ""


def _version() -> str:
    found = re.search(r'__version__ = "(.*)"', (ROOT / "builder/liningbook/__init__.py").read_text("utf-8"))
    return found[1] if found else "1"
