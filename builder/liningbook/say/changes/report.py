"""The report of two versions on the terminal and as a comment: English, like all of the command line."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.say.cases import count_words

TABLE = ("", "Decision", "Cases", "Before", "After", "Part")
"""The head of the table in a comment."""
EVERY_CHANGE = "Every change in full"
WHAT_ELSE = "What else differs (no case hangs on it)"


def new_errors(number: int) -> str:
    """That a check of the new version finds errors."""
    return f"THE NEW VERSION HAS {count_words(number, 'ERROR')} and cannot be built: `liningbook check` lists them."


def version_words(edition: str, where: str) -> str:
    """A version by its edition and by what the user called it."""
    return f"edition {edition}{f' ({where})' if where else ''}"


def from_to(old: str, new: str) -> str:
    """Which two versions these are."""
    return f"from {old} to {new}"


def as_sentence(old: str, new: str) -> str:
    """Which two versions these are, as a sentence."""
    return f"From {old} to {new}."


def comment_heading(title: str) -> str:
    """Over a comment."""
    return f"{title}: what changes for which cases"


def case_line(number: int, case: str) -> str:
    """A set of cases, the first or a further one."""
    return f"{'or' if number else 'where':>5} {case}"


def example_line(witness: str) -> str:
    """One of the cases."""
    return f"for example {witness}"


def by_line(before: Sequence[str], after: Sequence[str], most: int) -> str:
    """The rules on either side."""
    return f"by {rules_listed(before, most)} → {rules_listed(after, most)}"


def part_line(share: str) -> str:
    """How large a part of the cases it is."""
    return f"part: {share}"


def rules_listed(titles: Sequence[str], most: int) -> str:
    """The rules on one side, no more than so many by their titles."""
    more = len(titles) - most
    if more > 1:
        return f"{', '.join(titles[:most])} and {more} more rules"
    return ", ".join(titles) or "no rule"


def example(witness: str) -> str:
    """One of the cases, in a comment."""
    return f"For example: {witness}"


def rules_before(titles: str) -> str:
    """The rules before, in a comment."""
    return f"Rules before: {titles}"


def rules_after(titles: str) -> str:
    """The rules after, in a comment."""
    return f"Rules after: {titles}"


def more_sets(number: int) -> str:
    """That there are more sets of cases than the one shown."""
    return f" … and {number} more"


def more_left_out(number: int) -> str:
    """That a list is cut."""
    return f"and {number} more, left out here"


def changes_left_out(number: int) -> str:
    """That changes are cut."""
    return f"**{number} further changes** are left out here; `liningbook compare` has all."
