"""The lists on the back of the card, as one run of entries that is shared out to two columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from liningbook.rendering.view import CardView, Fact

_MIDDLE = 4.0
"""Millimetres of height that are given up to keep a section in one column."""


@dataclass(frozen=True)
class Entry:
    """One entry of a list: `label`, in bold, and `text`. `heading` stands over the first entry of a section only.

    `id` names the entry in the template, `sign` a picture of `figures.sign`, if any.
    """

    id: str
    section: str
    heading: str
    label: str
    text: str
    sign: str = ""


def entries(view: CardView) -> tuple[Entry, ...]:
    """All entries in reading order."""
    who = view.identity
    cautions = tuple(Fact("", text) for text in who.cautions)
    contact = (Fact("", who.contact),) if who.contact else ()
    found: list[Entry] = []
    for section, kind, sign, facts in (
        ("Never and avoid", "never", "never", view.never),
        ("Never and avoid", "avoid", "avoid", view.avoid),
        ("Not covered here", "exclusion", "", view.exclusions),
        ("What goes together", "pairing", "", view.pairings),
        ("Cautions", "caution", "", cautions),
        ("Whom to ask", "contact", "", contact),
    ):
        for index, fact in enumerate(facts):
            first = not found or found[-1].section != section
            label = f"{sign.capitalize()}: {fact.label}" if sign else fact.label
            name = f"b-{kind}-{index}"
            found.append(Entry(name, section, section if first else "", label, fact.text, sign))
    return tuple(found)


def shared_out(run: Sequence[Entry], split: int) -> tuple[tuple[Entry, ...], tuple[Entry, ...]]:
    """The entries of the left and of the right column; a section that goes on says so."""
    left, right = tuple(run[:split]), tuple(run[split:])
    if left and right and not right[0].heading:
        right = (replace(right[0], heading=f"{right[0].section}, continued"), *right[1:])
    return left, right


def groups(column: Sequence[Entry]) -> Iterator[tuple[str, tuple[Entry, ...]]]:
    """The entries of a column by heading."""
    start = 0
    for end in range(1, len(column) + 1):
        if end == len(column) or column[end].heading:
            yield column[start].heading, tuple(column[start:end])
            start = end


def best_split(run: Sequence[Entry], tops: Sequence[float], heading: float) -> tuple[int, float]:
    """Where to share out the run, and the height of the taller column.

    `tops` holds where each entry begins (its heading, if it has one) when all stand in one column, and, last, where
    the last one ends; `heading` is the height of a heading. All in one unit.
    """
    if not run:
        return 0, 0.0
    choices = []
    for split in range(1, len(run) + 1):
        left = tops[split] - tops[0]
        right = tops[-1] - tops[split]
        inside = split < len(run) and not run[split].heading
        taller = max(left, right + (heading if inside else 0))
        choices.append((taller + (_MIDDLE if inside else 0), split, taller))
    _, split, taller = min(choices)
    return split, taller
