"""What is not allowed in an author's Markdown.

CommonMark with tables; no raw HTML, no images. `problems` is called for every rule by every check, so it loads the
Markdown library only for a text that could hold something to complain of.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from liningbook.sources.text import HIDDEN, line_and_column

MAX_NESTING = 4
"""How many lists and quotes may stand in each other."""


class Problem(NamedTuple):
    """Something in a Markdown text that is not allowed, as a code and the values that its words need.

    Lines and columns count from 1, columns in characters.
    """

    line: int
    column: int
    what: str
    given: Mapping[str, str | int] = {}


_ENTITY = re.compile(r"&(?:#[0-9]{1,7}|#[xX][0-9a-fA-F]{1,6}|[A-Za-z][A-Za-z0-9]{1,31});")
_SAFE_TARGET = re.compile(r"#|https://|mailto:|(?![/\\])(?![^/?#]*:)", re.IGNORECASE)
_LINK = re.compile(r"\](?:\(|:)\s*<?([^\s)>]*)")
_MARKUP = re.compile(r"<[A-Za-z/!?]|!\[")
_NESTING = re.compile(
    r"^[ \t]*(?:(?:>|[-+*]|[0-9]{1,9}[.)])[ \t]*){3}|^(?: {6}|\t| {1,3}\t)[ \t]*(?:>|[-+*][ \t]|[0-9]{1,9}[.)])", re.M
)
OPENERS = {"blockquote_open", "bullet_list_open", "ordered_list_open"}
CLOSERS = {"blockquote_close", "bullet_list_close", "ordered_list_close"}


def problems(markdown_text: str) -> list[Problem]:
    """Everything in the text that is not allowed, in the order of the text."""
    found = [*_hidden(markdown_text)]
    if _MARKUP.search(markdown_text) or _NESTING.search(markdown_text) or any(_unsafe_links(markdown_text)):
        found += _markup(markdown_text)
    return sorted(found, key=lambda problem: problem[:3])


def is_safe_link(target: str) -> bool:
    """Whether a link may lead there: a place in the page, `https:`, `mailto:` or a relative address."""
    return bool(_SAFE_TARGET.match(target.strip())) and not HIDDEN.search(target)


def parser_of(raw: bool = False, every_link: bool = False) -> Any:
    """The one Markdown reader: CommonMark with tables; `raw` and `every_link` let pass what is to be found."""
    from markdown_it import MarkdownIt

    parser: Any = MarkdownIt("commonmark", {"html": raw, "maxNesting": 100}).enable("table")
    if not raw:
        parser.disable(["image", "autolink"])
    parser.validateLink = (lambda _: True) if every_link else is_safe_link
    return parser


def _unsafe_links(text: str) -> Iterator[re.Match[str]]:
    return (link for link in _LINK.finditer(text) if not is_safe_link(html.unescape(link[1])))


def _hidden(text: str) -> Iterator[Problem]:
    for match in HIDDEN.finditer(text):
        yield Problem(*line_and_column(text[: match.start()]), "invisible-character", {"character": match.group()})
    for match in _ENTITY.finditer(text):
        if HIDDEN.search(html.unescape(match.group())):
            yield Problem(*line_and_column(text[: match.start()]), "invisible-entity", {"entity": match.group()})


def _markup(text: str) -> Iterator[Problem]:
    lines = re.split("\r\n?|\n", text)
    finder = _Finder(lines)
    unsafe = (line_and_column(text[: link.start()]) for link in _unsafe_links(text))
    depth = 0
    for token in parser_of(raw=True, every_link=True).parse(text):
        first = token.map[0] if token.map else 0
        if token.type in OPENERS:
            depth += 1
            if depth == MAX_NESTING + 1:
                column = len(lines[first]) - len(lines[first].lstrip(" \t>")) + 1 if first < len(lines) else 1
                yield Problem(first + 1, column, "nested-too-deep", {"most": MAX_NESTING})
        elif token.type in CLOSERS:
            depth -= 1
        elif token.type == "html_block":
            yield Problem(*finder.find(token.content.strip().splitlines()[0], first), "raw-html")
        elif token.type == "inline":
            yield from _inline(token.children or [], first, finder, unsafe)


def _inline(children: list[Any], first: int, finder: _Finder, unsafe: Iterator[tuple[int, int]]) -> Iterator[Problem]:
    for child in children:
        if child.type == "html_inline":
            yield Problem(*finder.find(child.content.splitlines()[0], first), "raw-html")
        elif child.type == "image":
            yield Problem(*finder.find("![", first), "picture")
        elif child.type == "link_open":
            target = str(child.attrs.get("href", ""))
            if child.info == "auto":
                yield Problem(*finder.find("<", first), "bare-address", {"target": target})
            elif not is_safe_link(target):
                yield Problem(*next(unsafe, (first + 1, 1)), "unsafe-link")


class _Finder:
    """Where a piece of text stands, looking on from the last piece found."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        self.at = (0, 0)

    def find(self, piece: str, first: int) -> tuple[int, int]:
        """Line and column, from 1, of the next occurrence at or after line `first` (from 0); else that line's start."""
        line, column = max(self.at, (first, 0))
        while line < len(self.lines):
            found = self.lines[line].find(piece, column)
            if found >= 0:
                self.at = (line, found + len(piece))
                return line + 1, found + 1
            line, column = line + 1, 0
        return first + 1, 1
