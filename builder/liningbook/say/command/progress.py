"""How far a command is, and what has become of what."""

from __future__ import annotations

from pathlib import Path

from liningbook.say.cases import count_words

READING = "reading and checking"
WORDING = "putting everything into words"
COMPARING = "comparing with {version}"
UNCHANGED = "unchanged"
MADE = "made"
NOTHING_DIFFERS = "nothing differs from {version}, so nothing is added about changes"
NO_CASE_DIFFERS = "no case is treated differently from {version}; what else differs is listed"
ONE_EDITION = "both are called edition {edition}, though they differ: call this one otherwise"
REMOVED = "removed {name}, which is made no longer"
LEFT = "left {name}: it is made no longer, but it was changed by hand"
PREVIEW_RUNS = "{summary}; Ctrl-C ends the preview\n"
PREVIEW_ENDED = "\nthe preview has ended\n"


def laying_out(tries: int) -> str:
    """The step in which pages are laid out, again until all fits."""
    return "laying out the pages" if tries == 1 else f"laying out the pages, try {tries}"


def setting(pages: int) -> str:
    """The step in which pages become a PDF."""
    return f"setting {count_words(pages, 'page')}"


def doing(name: str, step: str, seconds: float) -> str:
    """What is done to a file now; how long it has taken is said when it takes long."""
    spent = f", {seconds_words(seconds)} so far" if seconds > 1 else ""
    return f"{name}: {step} …{spent}"


def seconds_words(seconds: float) -> str:
    """`1.2 s`."""
    return f"{seconds:.1f} s"


def table_written(out: Path, rows: int, unusable: int, doubtful: int) -> str:
    """A table of cases is done."""
    done = f"{out}: {count_words(rows, 'row')}, {unusable} of them not usable (column problem)"
    return f"{done}, {doubtful} WITH AN IMPOSSIBLE READING (column outside_limits)" if doubtful else done


def preview_shown(summary: str, seconds: float) -> str:
    """The preview was made anew."""
    return f"{summary} ({seconds_words(seconds)})\n"
