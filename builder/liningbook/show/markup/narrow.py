"""Tables whose words are wider than the page: those whose words are broken, so that nothing stands beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

from liningbook.show.markup.wrapping import TextBlock

_LIST = 3.0
"""Millimetres that an entry of a list stands in."""
_TIED = r'<span class="tied">([^<]*)</span>'
_TABLE, _NARROW = '<table class="listing', '<table class="listing narrow'


def narrowed(text: str, width: float, points: float, edges: float) -> str:
    """HTML whose tables are marked `narrow` where their columns take more than `width` millimetres with words whole.

    `points` is the size of their type, `edges` the millimetres at both sides of a cell together.
    """
    first, *rest = text.split(_TABLE)
    return first + "".join(_marked(part, width, points, edges) for part in rest)


def _marked(part: str, width: float, points: float, edges: float) -> str:
    inner, end, after = part.partition("</table>")
    if _least(f"{_TABLE}{inner}", points, edges) <= width:
        return _TABLE + part
    # Beside a piece that is tied, the typesetter breaks no word.
    return _NARROW + re.sub(_TIED, r"\1", inner) + end + after


def _least(table: str, points: float, edges: float) -> float:
    """The width in which no word of a table is broken."""
    cells = _TableReader()
    cells.feed(table)
    columns: dict[int, float] = {}
    for number, bold, words in cells.found:
        around = edges + (_LIST if "\n" in words else 0)
        block = TextBlock([[(line, bold)] for line in re.split(r"[\n\t]+", words)], points, around)
        columns[number] = max(columns.get(number, 0.0), block.least())
    return sum(columns.values())


class _TableReader(HTMLParser):
    """The cells of a table: the number of the column, whether the words are bold, the words, each entry a line."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[tuple[bool, str]]] = []
        self.reads = False

    @property
    def found(self) -> Iterator[tuple[int, bool, str]]:
        for row in self.rows:
            yield from ((number, *cell) for number, cell in enumerate(row))

    def handle_starttag(self, tag: str, _attrs: object) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag in ("th", "td"):
            self.rows[-1].append((tag == "th", ""))
            self.reads = True
        elif self.reads and tag in ("li", "br", "div"):
            self._add("\n" if tag == "li" else "\t")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("th", "td"):
            self.reads = False

    def handle_data(self, data: str) -> None:
        if self.reads:
            self._add(data.replace("\n", " "))

    def _add(self, words: str) -> None:
        bold, so_far = self.rows[-1][-1]
        self.rows[-1][-1] = bold, so_far + words
