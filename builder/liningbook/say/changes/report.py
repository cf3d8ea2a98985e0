"""The report of two versions on the terminal and as a comment: English, like all of the command line."""

from __future__ import annotations

from collections.abc import Sequence

FROM_TO = "from {old} to {new}"
CHANGE = "{decision}: {before} → {after}"
EXAMPLE_ROW, RULES_ROW, PART_ROW = "example", "rules", "part"
TURNS = "{before} → {after}"

# In a comment.
HEADING = "{title}: what changes for which cases"
AS_SENTENCE = "From {old} to {new}."
TABLE = ("", "Decision", "Cases", "Before", "After", "Part")
MORE_SETS = " … and {number} more"
EVERY_CHANGE = "Every change in full"
EXAMPLE = "For example: {witness}"
RULES_BEFORE = "Rules before: {titles}"
RULES_AFTER = "Rules after: {titles}"
WHAT_ELSE = "What else differs (no case hangs on it)"
MORE_LEFT_OUT = "and {number} more, left out here"
NUMBER_LOST = "{number} (safety lost)"
FOLLOWING_OF = "Change {number}: {following}"
CHANGES_LEFT_OUT = "**{number} further changes** are left out here; `liningbook compare` has all."


def version_words(edition: str, where: str) -> str:
    """A version by its edition and by what the user called it."""
    return f"edition {edition}{f' ({where})' if where else ''}"


def case_rows(cases: Sequence[str]) -> list[tuple[str, str]]:
    """The sets of cases of a change, one below the other."""
    return [("or" if number else "where", case) for number, case in enumerate(cases)]


def rules_listed(titles: Sequence[str], most: int) -> str:
    """The rules on one side, no more than so many by their titles."""
    more = len(titles) - most
    if more > 1:
        return f"{', '.join(titles[:most])} and {more} more rules"
    return ", ".join(titles) or "no rule"
