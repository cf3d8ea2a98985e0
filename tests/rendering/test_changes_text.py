"""The report of two versions as text and as a comment on a pull request: what authors write stays inert."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import cmarkgfm
import pytest
from markdown_it import MarkdownIt

from liningbook.show.changes.changes_view import ChangesView
from liningbook.show.terminal.changes_text import MOST_CHARACTERS, changes_markdown, changes_text
from liningbook.show.views.changed import ChangeView, NoteGroup, Where
from liningbook.show.views.pieces import Labelled
from liningbook.sources.text import visible

HOSTILE = [
    "a | b || c",
    "`code` ``two`` ```\nfence\n```",
    "<script>alert(1)</script><img src=x onerror=y>",
    "</details><details open><summary>",
    "<!-- a comment -->",
    "[text](https://evil.example) ![image](https://evil.example/x.png)",
    "https://evil.example and www.evil.example and mailto:a@evil.example",
    "@everyone @org/team a@evil.example",
    "#1 GH-1 org/repo#1",
    "first\nsecond\r\nthird\rfourth\u2028fifth\u0085sixth",
    "\n\n# Heading\n\n- list\n\n1. list\n\n> quote\n\n---\n\n    code",
    "**bold** _it_ ~~gone~~ ==mark==",
    "a\\|b \\` \\\\| \\",
    "&lt;b&gt; &#124; &amp;#124; &copy;",
    "[ref]: https://evil.example",
    "[^1] [x] $x$ :smile: \\(x\\)",
    "| --- | --- |",
    "\u202eright to left\u202c\u200b",
    "tab\tand trailing  ",
    "1. one",
    "- one",
    "+ one",
    "===",
]


def view(text: str, changes: int = 2) -> ChangesView:
    one = ChangeView(
        1, text, text, text, (Where((Labelled("Case", text),), ()),) * 2, text, (text,), (text, text), (text,), text,
    )  # fmt: skip
    return ChangesView(
        text, text, text, text, (text,), tuple(replace(one, number=n + 1) for n in range(changes)),
        (NoteGroup(text, (text, text)),), (NoteGroup(text, (text,)),), (text,), text, (text,),
    )  # fmt: skip


def tokens(markdown: str) -> list[Any]:
    reader = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    found = []
    for token in reader.parse(markdown):
        found.append(token)
        found += token.children or []
    return found


def shape(markdown: str) -> list[str]:
    """The kinds of a comment's parts, whatever its words."""
    words = ("text", "text_special", "softbreak", "code_inline")
    return [token.type for token in tokens(markdown) if token.type not in words]


@pytest.mark.parametrize("text", HOSTILE)
def test_what_an_author_writes_means_nothing_to_markdown(text: str) -> None:
    plain, attacked = changes_markdown(view("words")), changes_markdown(view(text))
    assert shape(attacked) == shape(plain)
    found = tokens(attacked)
    assert {token.type for token in found}.isdisjoint({"link_open", "image", "fence", "code_block", "s_open"})
    raw = [token.content for token in found if token.type in ("html_block", "html_inline")]
    known = re.compile(r"\s*(<details><summary>[A-Z][a-z ()]*</summary>|</details>|<sub>|</sub>)\s*")
    assert all(known.fullmatch(content) for content in raw), raw
    rows = [line for line in attacked.splitlines() if line.startswith("|")]
    assert [len(re.findall(r"(?<!\\)\|", row)) for row in rows] == [7] * 4


@pytest.mark.parametrize("text", HOSTILE)
def test_and_is_read_as_it_was_written(text: str) -> None:
    wanted = visible(" ".join(text.split()))
    found = [t for t in tokens(changes_markdown(view(text))) if t.type == "inline"]
    shown = [" ".join("".join(child.content for child in t.children or []).split()) for t in found]
    assert sum(wanted in words for words in shown) >= 8


REACHES_OUT = {
    "a mention": "@[a-z0-9]",
    "an issue": r"#[0-9]|\bgh-[0-9]+|(?<!\w)![0-9]",
    "a commit": r"(?<![0-9a-z])[0-9a-f]{7,40}(?![0-9a-z])",
    "an address": r"https?:|ftp:|www\.[a-z]|mailto:|xmpp:|[a-z0-9._+-]+@[a-z0-9-]+\.[a-z]",
    "an emoji": r":[a-z0-9_+-]+:",
    "a formula": r"\$[^ ]",
}
"""What a site looks for in the page that it makes of a comment, but not within code."""

TEXTS = [
    *("@marsh", "@org/team", "(@a-b),", "a@evil.example", "see @marsh: @reed", "\\@a", "`@a`", "&commat;a", "&#64;a"),
    *("#12", "GH-12", "gh-12.", "org/repo#12", "o/r@deadbeef", "x|#12", "`#12", "**#12**", "&#35;12", "~~#1~~"),
    *("deadbeef", "1234567890abcdef1234567890abcdef12345678", "effaced!", "(0123456)", "abc-1234567"),
    *("https://evil.example/a|b", "www.evil.example", "<https://evil.example>", "[a](https://b.example)"),
    *("mailto:a@b.example", "xmpp:a@b.example", "![x](https://b.example/p.png)", ":smile:", "::tada::", "$x$", "$`x`$"),
]


class Outside(HTMLParser):
    """The texts of a page outside code, and the tags that lead or show something elsewhere."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.within: list[str] = []
        self.code: list[str] = []
        self.leads: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.within.append(tag)
        self.leads += [tag] if tag in ("a", "img") or dict(attrs).keys() & {"href", "src"} else []

    def handle_endtag(self, tag: str) -> None:
        assert self.within.pop() == tag

    def handle_data(self, data: str) -> None:
        (self.code if {"code", "pre"} & {*self.within} else self.texts).append(data)


@pytest.mark.parametrize("text", [*HOSTILE, *TEXTS])
def test_nothing_in_it_reaches_out_on_the_page_that_a_site_makes_of_it(text: str) -> None:
    page = cmarkgfm.github_flavored_markdown_to_html(changes_markdown(view(f"before {text} after")))
    seen = Outside(page.replace("<br />", "").replace("<hr />", ""))
    assert seen.leads == []
    for what, pattern in REACHES_OUT.items():
        for words in seen.texts:
            assert not re.search(pattern, words, re.IGNORECASE), (what, words)


@pytest.mark.parametrize("text", [text for text in TEXTS if text.count("`") != 2])  # two make code by themselves
def test_and_each_of_these_would_without_it(text: str) -> None:
    seen = Outside(cmarkgfm.github_flavored_markdown_to_html(f"before {text} after"))
    patterns = REACHES_OUT.values()
    assert seen.leads or any(re.search(one, words, re.IGNORECASE) for one in patterns for words in seen.texts)


def test_a_long_report_is_cut_to_fit_a_comment_and_says_so() -> None:
    long = view("word " * 200, 400)
    comment = changes_markdown(long)
    assert len(comment) <= MOST_CHARACTERS
    shown = sum(line.startswith("| ") and line[2].isdigit() for line in comment.splitlines())
    said = re.search(r"\*\*(\d+) further changes\*\* are left out", comment)
    assert said is not None
    assert shown + int(said[1]) == 400
    assert comment.count("<details>") == comment.count("</details>")


def test_a_comment_fits_however_long_the_rest_is() -> None:
    notes = (NoteGroup("Notes", tuple(f"line {n} " + "word " * 30 for n in range(2000))),)
    for one in (
        replace(view("word " * 3000), notes=notes),
        replace(view("word"), faults=notes * 30, past=("word " * 9000,)),
    ):
        comment = changes_markdown(one)
        assert len(comment) <= MOST_CHARACTERS
        assert comment.count("<details>") == comment.count("</details>")
        assert "left out" in comment


def test_nothing_is_cut_that_fits() -> None:
    comment = changes_markdown(view("words", 40))
    assert "left out" not in comment
    assert sum(line.startswith("| ") and line[2].isdigit() for line in comment.splitlines()) == 40


@pytest.mark.parametrize("text", HOSTILE)
def test_the_terminal_gets_one_line_for_each_thing(text: str) -> None:
    plain, attacked = (changes_text(view(said), width=10_000) for said in ("words", text))
    assert len(attacked.splitlines()) == len(plain.splitlines())
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]", attacked)
