"""An author's text within Markdown: it means nothing to Markdown, and nothing to a site that shows the comment.

GitHub Flavored Markdown Spec, version 0.29-gfm: 2.5 character references, 6.3 code spans. A site looks for
mentions, numbers of issues, commits and addresses in the page that was made of the Markdown, where a reference is a
plain sign again; it does not look within code. So a word that holds one of these is set as code.
"""

from __future__ import annotations

import re

_REACHES_OUT = re.compile(
    r"[@#$]|://|\bwww\.|\bmailto:|\bxmpp:|\bgh-[0-9]|:[a-z0-9_+-]+:|(?<!\w)[!%&~^][\w\"]|(?<![0-9a-z])[0-9a-f]{7,}(?![0-9a-z])",
    re.IGNORECASE,
)
"""A mention, the number of an issue or request, an address, an emoji, a formula, the name of a commit."""

_WORD = re.compile(r"[^\s`|\\]+")
"""What can be set as code, in a table too."""

_EDGES = "()[]{}<>,.;:!?'\"“”\u2018\u2019"

_SIGNS = str.maketrans({sign: f"&#{ord(sign)};" for sign in "\\`*_[]|~&<>"})
"""Signs that Markdown might take for more than a sign."""

_PAIRS = re.compile(r"=(?==)")
_STARTS = re.compile(r"^([0-9]*)([-+=.)])")
"""What begins a list or underlines a heading where it begins a line."""


def inert(text: str) -> str:
    """A text of one line as Markdown that is read as it was written, and as nothing else."""
    parts, at = [], 0
    text = text.strip()
    for found in _WORD.finditer(text):
        word = found[0].strip(_EDGES)
        if word and _REACHES_OUT.search(found[0]):
            word = word if _REACHES_OUT.search(word) else found[0]
            start = found.start() + found[0].index(word)
            parts += [_escaped(text[at:start]), f"`{word}`"]
            at = start + len(word)
    escaped = "".join([*parts, _escaped(text[at:])])
    return _STARTS.sub(lambda found: f"{found[1]}&#{ord(found[2])};", escaped)


def _escaped(text: str) -> str:
    return _PAIRS.sub("&#61;", text.translate(_SIGNS))
