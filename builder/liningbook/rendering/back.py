"""The back of the card: its table of departures, and its lists as one run of entries shared out to two columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from liningbook.rendering.grid import Grid, GridRow
from liningbook.rendering.view import CardView, Cell, Fact, Step

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


def entries(view: CardView, brief: bool = False) -> tuple[Entry, ...]:
    """All entries in reading order. `brief` sends the reader to the protocol for what stops what, and says so."""
    who = view.identity
    cautions = tuple(Fact("", text) for text in who.cautions)
    contact = (Fact("", who.contact),) if who.contact else ()
    readings = []
    for table in view.readings:
        rows = [row.words or f"{row.value} is passed at a reading of {row.reading}" for row in table.rows]
        if rows:
            readings.append(Fact(f"{table.factor}, {table.method}", "; ".join(rows)))
    protection = view.protection
    if brief and protection:
        protection = (Fact("", "There is no room for it here: see the section of this name in the printed protocol."),)
    found: list[Entry] = []
    for section, kind, sign, facts in (
        ("Never and avoid", "never", "never", view.never),
        ("Never and avoid", "avoid", "avoid", view.avoid),
        ("Readings", "reading", "", readings),
        ("Not covered here", "exclusion", "", view.exclusions),
        ("What goes together", "pairing", "", view.pairings),
        ("What stops what, by this protocol's table", "protection", "", protection),
        ("Cautions", "caution", "", cautions),
        ("Whom to ask", "contact", "", contact),
    ):
        for index, fact in enumerate(facts):
            first = not found or found[-1].section != section
            label = f"{sign.capitalize()}: {fact.label}" if sign else fact.label
            name = f"b-{kind}-{index}"
            found.append(Entry(name, section, section if first else "", label, fact.text, sign))
    return tuple(found)


def departures_grid(view: CardView) -> Grid:
    """The departures as a grid of lines, for the widths of their columns."""
    rows = []
    for listing in view.departures:
        for index, line in enumerate(listing.lines, 1):
            texts = " and ".join(line.when), line.then
            cells = tuple(Cell("", (Step(0, text),), line.tone) for text in texts)
            rows.append(GridRow((f"{listing.decision} {index}",), cells))
    return Grid("Line", "", (("If",), ("then",)), tuple(rows))


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
