"""What each kind of finding means: its help page, in English alone; and the words that a SARIF log has of its own."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.registry import Kind

SOURCE_PAGES: Mapping[str, str] = {
    "unreadable": "A source file cannot be read.",
    "schema": "A field of a source is unknown, missing or of the wrong kind.",
    "unit": "A number has no unit, or one that is not known.",
    "unknown-name": "A name is used that the protocol does not define.",
    "empty-range": "A range holds no value.",
    "out-of-limits": "A value lies beyond the limits of its factor or off its step.",
    "override-circle": "Rules override one another in a circle.",
    "bad-table": "A study table says what cannot be true.",
}
"""What the kinds of finding mean that stop the analysis."""

PROGRAM = "Liningbook"
SEE_HERE = "see here"


def help_page(row: Kind) -> str:
    """What a kind means and why it matters."""
    return row.help or SOURCE_PAGES[row.kind]


def what_to_do(text: str) -> str:
    """A line of advice."""
    return f"What to do: {text}"
