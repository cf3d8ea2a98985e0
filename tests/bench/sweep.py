"""The published way: sweep one column, and go into the next with the rules that are open there.

Written from the description of findOverlappingRules and findMissingRules in D. Calvanese, M. Dumas, Ü. Laurson,
F. M. Maggi, M. Montali and I. Teinemaa, Semantics and Analysis of DMN Decision Tables, BPM 2016 (arXiv 1603.07466).
Columns are cut into cells as in Liningbook, so that both look at the same table; a set of values that do not follow one
another counts as several stretches.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

Stretches = list[tuple[int, int]]
Row = list[Stretches]
"""For each column the stretches of cells of a rule, first and last."""
Missing = tuple[tuple[int, int], ...]


def overlapping_rules(rows: Sequence[Row]) -> set[frozenset[int]]:
    """Sets of two or more rules that all hold together somewhere; sets within others may be among them."""
    found: set[frozenset[int]] = set()
    _overlapping(rows, list(range(len(rows))), 0, found)
    return found


def overlapping_pairs(rows: Sequence[Row]) -> set[tuple[int, int]]:
    """All pairs of rules within those sets."""
    return {pair for group in overlapping_rules(rows) for pair in combinations(sorted(group), 2)}


def _overlapping(rows: Sequence[Row], rules: list[int], column: int, found: set[frozenset[int]]) -> None:
    if len(rules) < 2:
        return
    if column == len(rows[0]):
        found.add(frozenset(rules))
        return
    is_open: list[int] = []
    grown = False
    for _, is_end, rule in _bounds(rows, rules, column):
        if is_end:
            if grown:
                _overlapping(rows, list(is_open), column + 1, found)
                grown = False
            is_open.remove(rule)
        else:
            is_open.append(rule)
            grown = True


def _bounds(rows: Sequence[Row], rules: list[int], column: int) -> list[tuple[int, bool, int]]:
    """Where the rules start and end on a column, in order; at one cell the starts come before the ends."""
    bounds = []
    for rule in rules:
        for first, last in rows[rule][column]:
            bounds += [(first, False, rule), (last, True, rule)]
    return sorted(bounds)


def missing_rules(rows: Sequence[Row], cells: Sequence[int]) -> list[Missing]:
    """Stretches of each column in which no rule holds; neighbours on a column that miss the same are joined."""
    return list(_missing(rows, list(range(len(rows))), 0, cells))


def _missing(rows: Sequence[Row], rules: list[int], column: int, cells: Sequence[int]) -> Iterator[Missing]:
    if not rules:
        yield tuple((0, count - 1) for count in cells[column:])
        return
    if column == len(cells):
        return
    pending: tuple[int, int, list[Missing]] | None = None
    for first, last, is_open in _stretches(rows, rules, column, cells[column]):
        found = list(_missing(rows, is_open, column + 1, cells))
        if pending is not None and pending[2] == found:
            pending = (pending[0], last, found)
            continue
        if pending is not None:
            yield from (((pending[0], pending[1]), *rest) for rest in pending[2])
        pending = (first, last, found)
    if pending is not None:
        yield from (((pending[0], pending[1]), *rest) for rest in pending[2])


def _stretches(rows: Sequence[Row], rules: list[int], column: int, cells: int) -> Iterator[tuple[int, int, list[int]]]:
    """The stretches of a column between one bound and the next, each with the rules open there."""
    events: dict[int, list[tuple[bool, int]]] = {}
    for rule in rules:
        for first, last in rows[rule][column]:
            events.setdefault(first, []).append((True, rule))
            events.setdefault(last + 1, []).append((False, rule))
    is_open: dict[int, None] = {}
    start = 0
    for place in sorted({*events, cells}):
        if place > start:
            yield start, place - 1, list(is_open)
            start = place
        for opens, rule in events.get(place, ()):
            if opens:
                is_open[rule] = None
            else:
                is_open.pop(rule, None)
