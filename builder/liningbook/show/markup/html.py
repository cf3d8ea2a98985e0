"""View data to HTML: the protocol and the card as WeasyPrint prints them, and the page for the screen.

Every text of the practice goes through the template engine's escaping; only texts that the Markdown module has made
are passed on as they are. The page's Content Security Policy (W3C CSP Level 3) names its style and its scripts by their
SHA-256, so that nothing that slipped in could run.
"""

from __future__ import annotations

import base64
import hashlib
import html
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from liningbook.say.outputs.identity import Mark, draft_mark, expired_mark, rule_words, withdrawn_mark
from liningbook.say.texts import Texts
from liningbook.show.figures import tones as figures
from liningbook.show.figures.card_figures import qr_code
from liningbook.show.figures.drawings import NO_FIGURES, ProtocolFigures
from liningbook.show.figures.icon import icon_address
from liningbook.show.markup import fonts
from liningbook.show.markup.columns import Sizes, column_css
from liningbook.show.markup.grid import grid
from liningbook.show.markup.templates import (
    content_css,
    css,
    filled,
    markup,
    page_numbers,
    short_css,
    tie,
    with_alternative,
)
from liningbook.show.paper import back, card_sheet
from liningbook.show.paper.card_sheet import SHEETS, CardStyle
from liningbook.show.paper.heights import chart_table, departures_table, head_across
from liningbook.show.views.cover import cover_words, first_day
from liningbook.show.views.faults_view import Faults
from liningbook.show.views.view import CardView, Chart, CopiesView, Identity, ProtocolView
from liningbook.show.views.view_texts import view_texts


def mark(identity: Identity) -> Mark | None:
    """What must be written across every page, if anything."""
    if identity.status == "withdrawn":
        return withdrawn_mark(identity.edition)
    if identity.is_draft_build:
        return draft_mark(len(identity.open_findings))
    if identity.status == "draft":
        return draft_mark()
    return expired_mark(identity.use_until) if identity.is_past else None


def protocol_html(
    view: ProtocolView, chart_size: float = 10.5, measuring: bool = False, drawings: ProtocolFigures = NO_FIGURES
) -> str:
    """The printed protocol. `chart_size` is the type size of the decision chart in points.

    `measuring` sets the chart alone on a page so long that nothing is broken.
    """
    fonts.require_glyphs(view_texts(view))
    drawn = grid(view.chart) if view.chart else None
    who = view.identity
    signers = list(dict.fromkeys(fact.label for fact in (*who.approvals, *who.authors)))
    style_text = css(
        "base.css",
        "protocol.css",
        *(["changes.css"] if view.changes else []),
        fonts.print_font_css(),
        figures.tone_css(),
        page_numbers(),
        _running_heads(),
        f":root {{ --chart: {chart_size:g}pt; }}",
        "@page chart { size: 210mm 3000mm; }" if measuring else "",
        column_css(".chart", drawn, 182, Sizes(chart_size, chart_size, 1.2 * chart_size)) if drawn else "",
    )
    return _render(
        "protocol.html",
        view=view,
        css=style_text,
        grid=drawn,
        tones=_tones(view.chart),
        figures=drawings,
        drawing=lambda svg: markup(with_alternative(svg)),
        signers=signers,
        lines=max(8, 15 - len(signers)),
        body=_body_for(view, relative=False),
        measuring=measuring,
    )


def _running_heads() -> str:
    """What the heads of the pages say of the rules: their section, and the rule that goes on from the page before."""
    t = Texts()
    group = content_css(t.rules_of, group="content()")
    rule = content_css(t.rule_continued, number="content()")
    return (
        f'.rules h3 {{ string-set: before " · {t.rules}", continued "", also " · " content(); }}'
        f'.rules h3 .named {{ string-set: before " · " {group}, also ""; }}'
        f'.rule h4 .rule-number {{ string-set: continued ", " {rule}; }}'
    )


def card_html(view: CardView, style: CardStyle | None = None) -> str:
    """The two sides of a card, on paper of the view's size."""
    style = style or CardStyle()
    fonts.require_glyphs(view_texts(view))
    sheet = SHEETS[view.size]
    width, height = card_sheet.paper(sheet, style)
    room = width - 2 * card_sheet.SAFE
    drawn, sizes = chart_table(view, style)
    departures = departures_table(view, style)
    style_text = css(
        "base.css",
        "card.css",
        fonts.print_font_css(),
        figures.tone_css(),
        card_sheet.page_css(sheet, style),
        column_css(".chart", drawn, room, sizes),
        column_css(".departures", departures[0], room, departures[1]),
    )
    run = back.entries(view, style.brief, not style.code_front)
    whole = style.measuring or sheet.halves == 1
    text = _render(
        "card.html",
        view=view,
        style=style,
        sheet=sheet,
        width=width,
        height=height,
        css=style_text,
        grid=drawn,
        head_across=head_across(view, style, drawn),
        tones=_tones(view.chart),
        listings=back.listings(view, joined=sheet.cut),
        columns=(run,) if sheet.halves == 1 else back.shared_out(run, len(run) if whole else style.split),
        code=markup(qr_code(view.code, sheet.module, sheet.correction)) if view.code else "",
        code_words=back.code_words(view),
    )
    # The typesetter may break a line long before a piece that must not be broken, but never at such a space.
    return re.sub(r'<span class="tied">([^<]*)</span>', lambda match: match[1].replace(" ", "\u00a0"), text)


def copies_html(template: str, view: CopiesView, size: float) -> str:
    """A sheet about the copies of the card: `notice.html` or `register.html`, its type `size` points large."""
    fonts.require_glyphs(view_texts(view))
    style_text = css("base.css", "copies.css", fonts.print_font_css(), f":root {{ --size: {size:g}pt; }}")
    return _render(template, view=view, css=style_text)


def page_html(
    view: ProtocolView,
    bundle_json: str,
    scripts: Iterable[str] = (),
    *,
    words_json: str = "",
    band_charts: Sequence[str] = (),
    offline: bool = True,
    faults: Faults | None = None,
) -> str:
    """The protocol as one page for the screen that needs no other file and no network.

    The bundle stands in `<script type="application/json" id="bundle">`, what Python words for the look-up in another
    with the id `words`. `scripts` are inline modules, allowed by their SHA-256. `band_charts` are two drawings (SVG),
    for a wide and for a narrow screen. `offline` lets the page be kept where it is served.
    `faults` are shown by the preview at the top and beside the rules.
    """
    fonts.require_glyphs(view_texts(view))
    dark = figures.tone_css(ink="#a5d8d1", paper="#10181d")
    style_text = short_css(
        "base.css",
        "page.css",
        *(["changes.css"] if view.changes else []),
        "figures.css",
        "lookup.css",
        fonts.web_font_css([*(text for _, text in view_texts(view)), bundle_json, words_json, *band_charts]),
        figures.tone_css(),
        f"@media (prefers-color-scheme: dark) {{\n{dark}\n}}",
        *(["preview.css"] if faults else []),
    )
    modules = tuple(scripts)
    if any("</script" in module.lower() or "<!--" in module for module in modules):
        raise ValueError("a script of the page must not hold `</script` or `<!--`")
    use_from = first_day(bundle_json)
    return _render(
        "page.html",
        view=view,
        css=style_text,
        policy=content_security_policy([style_text], modules),
        icon=icon_address(),
        scripts=[markup(module) for module in modules],
        bundle=markup(json_for_script(bundle_json)),
        words=markup(json_for_script(words_json)),
        cover=cover_words(view.identity, use_from),
        use_from=use_from.isoformat() if use_from else "",
        offline=offline,
        faults=faults,
        titles={rule.id: rule_words(rule.number, rule.title) for group in view.rule_groups for rule in group.rules},
        band_charts=[markup(drawing) for drawing in band_charts],
        grid=grid(view.chart) if view.chart else None,
        tones=_tones(view.chart),
        body=_body_for(view, relative=True),
    )


def content_security_policy(styles: Iterable[str], scripts: Iterable[str]) -> str:
    """A policy that allows these inline styles and scripts by SHA-256, pictures and fonts as data, nothing else.

    Where the page is served, its own manifest, icon and service worker may be fetched, by the browser alone: a script
    may ask for nothing. What the service worker fetches is bound by no policy of the page.
    """
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {_hashes(scripts)}",
            f"style-src {_hashes(styles)}",
            "img-src 'self' data:",
            "font-src data:",
            "manifest-src 'self'",
            "worker-src 'self'",
            "connect-src 'none'",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def _hashes(texts: Iterable[str]) -> str:
    digests = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii") for text in texts]
    return " ".join(f"'sha256-{digest}'" for digest in digests) or "'none'"


def json_for_script(text: str) -> str:
    """JSON text that cannot end the script element it stands in; it reads back as the same data."""
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _tones(chart: Chart | None) -> list[str]:
    """The tones that a chart uses, in the order of a legend."""
    used = {cell.tone for row in chart.cells for cell in row} if chart else set()
    return [tone for tone in figures.TONES if tone in used]


def _render(template: str, **context: Any) -> str:
    view = context["view"]
    anchors = (
        {str(rule.number): rule.anchor for group in view.rule_groups for rule in group.rules}
        if isinstance(view, ProtocolView)
        else {}
    )
    return filled(template, mark=mark(view.identity), anchors=anchors, **context)


def _body_for(view: ProtocolView, relative: bool) -> Callable[[str], Any]:
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
