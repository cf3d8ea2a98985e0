"""Any text as a rule's reasons and in every place of the page: it stays text, and the page stays the page.

What `problems` lets pass can be drawn and holds, for a reader of Markdown that hides nothing, no HTML, no picture, no
deep nesting and no link that leads elsewhere. What is drawn has the elements and attributes of Markdown only.
"""

from __future__ import annotations

import html
import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from liningbook.finding import Fault, Span
from liningbook.say.faults import fault_told
from liningbook.show.assets.fonts import MissingGlyph
from liningbook.show.markup.markdown import to_html
from liningbook.show.views.view import ProtocolView
from liningbook.show.web.page_html import page_html
from liningbook.sources.markdown_text import CLOSERS, MAX_NESTING, OPENERS, is_safe_link, parser_of, problems
from liningbook.sources.text import HIDDEN
from tests.rendering import sample_view as sample
from tests.rendering.test_html import ALLOWED, ATTACKS, Tree, hostile

MAX_LEN = 2000
MARKDOWN = set(
    re.findall(r"\w+", "p h4 h5 h6 em strong code pre blockquote ul ol li br hr a table thead tbody tr th td")
)
MARKDOWN_ATTRIBUTES = {
    "a": {"href", "title"},
    "ol": {"start"},
    "code": {"class"},
    "th": {"class", "scope"},
    "td": {"class"},
}
ON_PAGE = {
    **ALLOWED,
    "a": {"href", "class", "rel", "title"},
    "ol": ALLOWED["ol"] | {"start"},
    "th": ALLOWED["th"] | {"id"},
}


NOWHERE = Span("rules/a.md", 1, 1, 1, 2)


def small(view: ProtocolView) -> ProtocolView:
    """The same with a list or two of everything, so that many texts can be tried in a minute."""
    assert view.chart is not None
    cells = tuple(row[:2] for row in view.chart.cells[:2])
    chart = replace(view.chart, bands=view.chart.bands[:2], columns=view.chart.columns[:2], cells=cells)
    groups = tuple(replace(group, rules=group.rules[:1]) for group in view.rule_groups[:2])
    lists = {name: getattr(view, name)[:1] for name in ("factors", "pairings", "exclusions", "accepted", "references")}
    return replace(
        view, rule_groups=groups, exceptions=view.exceptions[:1], chart=chart, readings=view.readings[:1], **lists
    )


VIEW = small(sample.protocol_view(identity=sample.DRAFT))


def one_input(data: bytes) -> None:
    text = data.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n")
    found = problems(text)
    rows = text.split("\n")
    for problem in found:
        assert 1 <= problem.line <= len(rows), problem
        assert 1 <= problem.column <= len(rows[problem.line - 1]) + 1, problem
        assert fault_told(Fault(NOWHERE, problem.what, problem.given)).message.isprintable(), problem
    if not found:
        assert_harmless(text)
    try:
        drawn = to_html(text)
    except ValueError as error:
        if "nested too deeply" in str(error) and found:
            return  # refused by the check
        raise
    assert_only_markdown(drawn)
    if not found:
        assert not HIDDEN.search(html.unescape(drawn)), "a hidden character is drawn, and not refused"
    if HIDDEN.search(text):
        return  # such a source is not read
    on_page(text)


def assert_harmless(text: str) -> None:
    depth = 0
    for token in parser_of(raw=True, every_link=True).parse(text):
        depth += (token.type in OPENERS) - (token.type in CLOSERS)
        assert depth <= MAX_NESTING, "nested too deeply, and not refused"
        for one in [token, *(token.children or [])]:
            assert one.type not in ("html_block", "html_inline", "image"), f"{one.type} not refused"
            if one.type == "link_open":
                assert is_safe_link(str(one.attrs.get("href", ""))), f"link not refused: {one.attrs}"


def assert_only_markdown(drawn: str) -> None:
    tree = Tree(drawn)
    assert tree.odd == [], tree.odd
    for tag, attributes, _ in tree.elements:
        assert tag in MARKDOWN, tag
        assert set(attributes) <= MARKDOWN_ATTRIBUTES.get(tag, set()), (tag, attributes)
        if tag == "a":
            assert is_safe_link(attributes["href"]), attributes


def on_page(text: str) -> None:
    bundle = json.dumps({"text": text}, ensure_ascii=False)
    try:
        page = page_html(hostile(VIEW, text), bundle)
    except MissingGlyph:
        return  # documented: the font cannot draw it
    tree = Tree(page)
    assert tree.odd == [], tree.odd
    for tag, attributes, _ in tree.elements:
        assert tag in ON_PAGE, tag
        assert set(attributes) <= ON_PAGE[tag], (tag, attributes)
        if tag == "a":
            assert re.match(r"#|https?://|mailto:|(?![/\\])(?![^/?#]*:)", attributes["href"].strip(), re.I), attributes
    for tag in ("script", "style", "link", "meta", "svg", "title", "html", "head", "body", "h1", "h2"):
        assert len(tree.all(tag)) == plain()[tag], f"more or fewer <{tag}>"
    assert json.loads(tree.text_of("script")) == {"text": text}, "the bundle on the page is another one"
    shown = without_blanks("".join(words for tag, words in tree.texts if tag not in ("script", "style")))
    assert without_blanks(VIEW.identity.scope + text) in shown, "a text is not shown as it was written"


@cache
def plain() -> Counter[str]:
    """How many elements of each sort the page has without any such text."""
    return Counter(tag for tag, _, _ in Tree(page_html(VIEW, "{}")).elements)


def without_blanks(text: str) -> str:
    return re.sub(r"\s+", "", text)


def seeds() -> Iterator[bytes]:
    for attack in ATTACKS:
        yield attack.encode()
    for text in (
        "Why, in **words** and *more*, `code`, 0.5 mm ≤ 2 mm.", "# A\n\n### B\n\n> quote\n> - list\n>   1. two\n",
        "[a](https://example.org 'title') [b](#line) [c](javascript:x) [d][e]\n\n[e]: data:x", "![p](x.png) <https://example.org>",
        "| a | b |\n|:-:|---|\n| 1 | `x|y` |\n", "```js\n<b>\n```\n\n    code\n\n~~~\nx",
        "&shy;", "&lt;b&gt; &#x202e; &#0; &amp;amp;",
        "> > > > > deep", "- - - - - deep", "1. 1. 1. 1. 1. deep", "- a\n  - b\n    - c\n      - d\n        - e\n",
        "<!-- c --> <?p?> <![CDATA[x]]> <!D>", "a  \nb\\\nc\n***\n___\nT\n===\n",
    ):  # fmt: skip
        yield text.encode()
