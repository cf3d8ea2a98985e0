"""An author's Markdown to safe HTML: CommonMark with tables; no raw HTML, no images."""

from __future__ import annotations

from liningbook.sources.markdown_text import CLOSERS, MAX_NESTING, OPENERS, parser_of

RULE_HEADING = 4
"""The level of the heading that stands over a rule's text; its own headings go below."""


def to_html(markdown_text: str) -> str:
    """The text as HTML that holds only what Markdown can say: no raw HTML, no image, no script.

    Raw HTML comes out as the text it is. Headings go below the heading of the rule and skip no level. A link to
    anything but a place in the page, `https:`, `mailto:` or a relative address stays text.
    """
    parser = parser_of()
    tokens = parser.parse(markdown_text)
    depth, last, level = 0, RULE_HEADING, RULE_HEADING
    for token in tokens:
        depth += (token.type in OPENERS) - (token.type in CLOSERS)
        if depth > MAX_NESTING:
            raise ValueError("a text nested too deeply must be refused by the check before it is drawn")
        if token.type == "heading_open":
            level = min(RULE_HEADING + int(token.tag[1]), last + 1, 6)
            last = level
            token.tag = f"h{level}"
        elif token.type == "heading_close":
            token.tag = f"h{level}"
        elif token.type in ("th_open", "td_open"):
            style = str(token.attrs.pop("style", ""))
            if style:
                token.attrSet("class", style.replace("text-align:", "align-"))
            if token.type == "th_open":
                token.attrSet("scope", "col")
    return str(parser.renderer.render(tokens, parser.options, {}))
