"""Texts that YAML cut in two without a word: at a comma within `[ ]`, or at a blank and `#`.

Only what may well be a mistake is told: a list of texts in which one begins like the rest of a sentence, and a comment
that begins like a number or a word of the text before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from liningbook.finding import Span
from liningbook.sources.documents import Folder
from liningbook.sources.node import Node, get, listed

LISTS = ("cautions", "stop_questions", "rings_with_pain")
"""Fields that are lists of sentences."""

MANY_WORDS = 3
"""A text of so many words is no name and no quantity."""

COMMENT = re.compile(r"[ \t]+#(?:(?P<number>\d)|(?=[^\s#])).*|[ ]#[ ](?=\d).*")
ENDED = re.compile(r"[.?!…:;][)»”’\"']*\Z")


@dataclass(frozen=True)
class Cut:
    """Where a text may have been cut: what stands before, what after, and at which sign."""

    span: Span
    sign: Literal[",", "#"]
    before: str
    after: str
    other: Span | None = None
    """The place of the text before, where it is another entry."""


def cut_texts(folder: Folder) -> Iterator[Cut]:
    """Every place at which a text of a protocol may have been cut, in the order of the files and their lines."""
    for group in folder.documents.values():
        for document in group.values():
            text = folder.texts.get(document.file, "")
            if document.root is None:
                continue
            rows = text.split("\n")
            for key in LISTS:
                yield from _at_commas(get(document.root, key), rows)
            if "#" in text:
                yield from _at_hashes(document.root, rows)


def _at_commas(node: Node | None, rows: list[str]) -> Iterator[Cut]:
    """The entries of a list in brackets that may belong to the one before: in lower case, or a single word."""
    entries = [child for child in listed(node) if child.text]
    if node is None or node.items is None or _sign_at(node.span, rows) != "[":
        return
    texts = [" ".join((child.text or "").split()) for child in entries]
    for at in range(1, len(entries)):
        before, text = texts[at - 1], texts[at]
        is_lower = text[:1].islower() and not texts[0][:1].islower()
        is_word = len(text.split()) == 1 and len(before.split()) > MANY_WORDS
        if (is_lower or is_word) and _is_plain(entries[at], rows) and not (is_word and ENDED.search(text)):
            yield Cut(entries[at].span, ",", before, text, entries[at - 1].span)


def _at_hashes(node: Node, rows: list[str]) -> Iterator[Cut]:
    for child in _values(node):
        words = (child.text or "").split()
        if not words or words[0][:1].isdigit() or not _is_plain(child, rows):
            continue
        row = rows[child.span.end_line - 1] if child.span.end_line <= len(rows) else ""
        found = COMMENT.match(row, child.span.end_column - 1)
        if found and (found["number"] or len(words) >= MANY_WORDS):
            line, column = child.span.end_line, found.start() + len(found[0]) - len(found[0].lstrip()) + 1
            place = Span(child.span.file, line, column, line, found.end() + 1)
            yield Cut(place, "#", " ".join(words), found[0].strip())


def _values(node: Node) -> Iterator[Node]:
    if isinstance(node.value, str):
        yield node
    for child in node.value.values() if isinstance(node.value, Mapping) else node.items or ():
        yield from _values(child)


def _is_plain(node: Node, rows: list[str]) -> bool:
    """Whether a text stands without quotes, and not below `|` or `>`."""
    return _sign_at(node.span, rows) not in ("'", '"', "|", ">")


def _sign_at(span: Span, rows: list[str]) -> str:
    return rows[span.line - 1][span.column - 1 : span.column] if span.line <= len(rows) else ""
