"""Texts wrapped as the typesetter will wrap them: how many lines they take, how high and how wide they are.

The advance widths are those of the font (OpenType `hmtx`); kerning is left out, it only makes lines shorter. What fits
is measured on the finished layout.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from liningbook.say.catalogue import language
from liningbook.show.assets.font_widths import measure

TIED = re.compile(
    r"(?<![\w.])(?:[0-9][0-9.,]* [^\W\d_]{1,3} )?[0-9][0-9.,]* (?:%|°|[^\W\d_]+)"
    r"|(?<!\w)(?:[^\W\d_a-z]\. )+[^\W\d_a-z][^\W\d_]+"
)
"""What is kept on one line: a number, or two with a short word between them (`to`), and the word that follows; a name
and the initials before it (`A. Marsh`)."""

POINT = 25.4 / 72
"""Millimetres in a point."""


def text_height(label: str, text: str, points: float, width: float) -> float:
    """The height in millimetres of a label in bold and a text, wrapped together, in lines as high as the type."""
    block = TextBlock([[(f"{label}: ", True), (text, False)] if label else [(text, False)]], points, 0)
    return block.lines(width) * points * POINT


def text_width(text: str, points: float, bold: bool = False) -> float:
    """How wide a text is on one line, in millimetres; kerning makes it a little narrower yet."""
    return measure(text, bold) * points * POINT / 1000


def line_count(text: str, points: float, width: float) -> int:
    """How many lines a text takes that is `width` millimetres wide, broken at spaces; one more for a word too wide."""
    lines, used = 1, 0.0
    space = text_width(" ", points)
    for word in text.split():
        wide = text_width(word, points)
        if used and used + space + wide > width:
            lines, used = lines + 1, 0.0
        used += (space if used else 0.0) + wide
        if used > width:
            lines, used = lines + 1, width
    return lines


@dataclass(frozen=True)
class _Chunk:
    """What may not be broken, in millimetres: its width, the space after it, the hyphen it takes at a line's end."""

    wide: float
    space: float
    hyphen: float = 0.0


class TextBlock:
    """Paragraphs that are wrapped together; each a list of texts, bold or not. `notes` stand small beneath them.

    `edges` are the millimetres at both sides, `indent` the ems that every line is set in.
    """

    def __init__(
        self,
        paragraphs: Sequence[Sequence[tuple[str, bool]]],
        points: float,
        edges: float,
        indent: float = 0,
        notes: TextBlock | None = None,
    ) -> None:
        self.points, self.edges, self.notes = points, edges + indent * points * POINT, notes
        self.chunks = [
            [chunk for text, bold in paragraph for chunk in _chunks(text, bold, points)] for paragraph in paragraphs
        ]

    def height(self, width: float, leading: float = 1.18) -> float:
        """In millimetres."""
        gaps = 0.28 * (len(self.chunks) - 1)
        notes = self.notes.height(width, leading) if self.notes else 0.0
        return (leading * self.lines(width) + gaps) * self.points * POINT + notes

    def least(self) -> float:
        """The width with which no word is too wide."""
        words = max((chunk.wide + chunk.hyphen for chunks in self.chunks for chunk in chunks), default=0.0)
        return max(words + self.edges, self.notes.least() if self.notes else 0.0)

    def excess(self, width: float) -> float:
        """By how many millimetres words are too wide, together."""
        free = width - self.edges
        over = sum(max(0.0, chunk.wide + chunk.hyphen - free) for chunks in self.chunks for chunk in chunks)
        return over + (self.notes.excess(width) if self.notes else 0.0)

    def lines(self, width: float) -> int:
        """How many lines the paragraphs take, without the notes."""
        free = width - self.edges
        lines = 0
        for chunks in self.chunks:
            lines += 1
            used = 0.0
            for chunk in chunks:
                if used and used + chunk.wide + chunk.hyphen > free:
                    lines += 1
                    used = 0.0
                used += chunk.wide + chunk.space
        return lines


def _chunks(text: str, bold: bool, points: float) -> list[_Chunk]:
    """The pieces of a text between the places where a line may end."""
    tied = TIED.sub(lambda match: match[0].replace(" ", "\xa0"), text)
    space, hyphen = (text_width(sign, points, bold) for sign in " -")
    found = []
    for word in tied.split(" "):
        parts = re.findall(r"[^-]*-|[^-]+", word)
        for index, part in enumerate(parts):
            *first, last = syllables(part)
            found += [_Chunk(text_width(piece, points, bold), 0.0, hyphen) for piece in first]
            found.append(_Chunk(text_width(last, points, bold), space if index == len(parts) - 1 else 0.0))
    return found


def syllables(word: str) -> list[str]:
    """The pieces into which the typesetter may hyphenate a word in the language spoken, by the rules of `base.css`."""
    letters = re.search(r"[^\W\d_]{8,}", word)
    if letters is None or language().startswith("en"):
        return [word]
    ends = [letters.start() + place for place in _hyphenator(language())(letters[0])]
    return [word[start:end] for start, end in zip([0, *ends], [*ends, len(word)], strict=True)]


@lru_cache(maxsize=8)
def _hyphenator(tag: str) -> Callable[[str], Sequence[int]]:
    """Where words of a language may be hyphenated; nowhere where there are no patterns for it."""
    import pyphen

    known = pyphen.language_fallback(tag)
    return pyphen.Pyphen(lang=known, left=3, right=3).positions if known else lambda _: ()
