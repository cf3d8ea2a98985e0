"""What every output in HTML shares: what is written across it, the tones of its chart, links between rules.

Every text of the practice goes through the template engine's escaping; only texts that the Markdown module has made
are passed on as they are.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

from liningbook.say.outputs.identity import Mark, draft_mark, expired_mark, withdrawn_mark
from liningbook.show.markup.templates import filled, markup, tie
from liningbook.show.views.view import Identity, ProtocolView


def mark(identity: Identity) -> Mark | None:
    """What must be written across every page, if anything."""
    if identity.status == "withdrawn":
        return withdrawn_mark(identity.edition)
    if identity.is_draft_build:
        return draft_mark(len(identity.open_findings))
    if identity.status == "draft":
        return draft_mark()
    return expired_mark(identity.use_until) if identity.is_past else None


def mark_css(identity: Identity) -> str:
    """CSS that writes the mark on every sheet that a browser prints; nothing where there is no mark."""
    borne = mark(identity)
    if borne is None:
        return ""
    escaped = "".join(sign if sign.isascii() and sign.isalnum() else f"\\{ord(sign):06x}" for sign in borne.strip)
    return f':root {{ --printed-mark: "{escaped}"; }}'


def rendered(template: str, **context: Any) -> str:
    """A template of the site, filled in for a view, with its mark."""
    return filled(template, mark=mark(context["view"].identity), **context)


def body_for(view: ProtocolView, relative: bool) -> Callable[[str], Any]:
    """A filter for HTML made from Markdown: links to rules by their id, no link that leads nowhere."""
    anchors = {rule.id: rule.anchor for group in view.rule_groups for rule in group.rules}
    known = set(anchors.values())

    def resolve(match: re.Match[str]) -> str:
        target, words = html.unescape(match[1]), match[2]
        if target.startswith("#"):
            name = anchors.get(target[1:], target[1:])
            return f'<a href="#{html.escape(name)}">{words}</a>' if name in known else words
        if relative or re.match("https:|mailto:", target, re.IGNORECASE):
            return match[0]
        return words

    def body(text: str) -> Any:
        linked = re.sub(r'<a href="([^"]*)"[^>]*>(.*?)</a>', resolve, text, flags=re.DOTALL)
        return markup("".join(part if part[:1] == "<" else tie(part) for part in re.split("(<[^>]*>)", linked)))

    return body
