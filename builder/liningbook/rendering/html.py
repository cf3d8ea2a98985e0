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
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from liningbook.rendering import back, figures, fonts
from liningbook.rendering.columns import TIED, Sizes, column_css, split_step
from liningbook.rendering.grid import grid
from liningbook.rendering.view import CardView, Chart, Identity, ProtocolView
from liningbook.rendering.view_texts import view_texts
from liningbook.resources import site_dir


@dataclass(frozen=True)
class Mark:
    """What is written across a draft or a withdrawn edition: one word, and one line."""

    word: str
    strip: str


@dataclass(frozen=True)
class CardStyle:
    """How the card is set: type sizes in points; stretch, space added around rows and blocks, in millimetres.

    `bands_down` puts the bands in the rows, `gathered` joins all choices with the same advice. `front_breaks` and
    `back_breaks` let a word that is wider than its column be broken. `split` is how many entries of the back's lists
    stand in the left column; `brief` leaves out of them what `back.entries` says. `measuring` names a side (`front`,
    `back`) to set alone on a page so long that nothing is broken, with all lists in the left column.
    """

    landscape: bool = False
    bands_down: bool = False
    gathered: bool = False
    front: float = 14
    back: float = 12
    stretch: float = 0
    back_stretch: float = 0
    crop_marks: bool = False
    front_breaks: bool = False
    back_breaks: bool = False
    split: int = 0
    brief: bool = False
    measuring: str = ""


def mark(identity: Identity) -> Mark | None:
    """What must be written across every page, if anything."""
    if identity.status == "withdrawn":
        return Mark("WITHDRAWN", f"WITHDRAWN: do not use. Edition {identity.edition}")
    if identity.is_draft_build:
        count = len(identity.open_findings)
        findings = "1 finding is open" if count == 1 else f"{count} findings are open"
        return Mark("DRAFT", f"DRAFT: do not use. {findings}")
    if identity.status == "draft":
        return Mark("DRAFT", "DRAFT: not in force, do not use")
    return None


def protocol_html(view: ProtocolView, chart_size: float = 10.5, measuring: bool = False) -> str:
    """The printed protocol. `chart_size` is the type size of the decision chart in points.

    `measuring` sets the chart alone on a page so long that nothing is broken.
    """
    fonts.require_glyphs(view_texts(view))
    drawn = grid(view.chart) if view.chart else None
    css = _css(
        "base.css",
        "protocol.css",
        fonts.print_font_css(),
        figures.tone_css(),
        f":root {{ --chart: {chart_size:g}pt; }}",
        "@page chart { size: 210mm 3000mm; }" if measuring else "",
        column_css(".chart", drawn, 182, Sizes(chart_size, chart_size, 1.2 * chart_size)) if drawn else "",
    )
    return _render(
        "protocol.html",
        view=view,
        css=css,
        grid=drawn,
        tones=_tones(view.chart),
        body=_body_for(view, relative=False),
        measuring=measuring,
    )


def card_html(view: CardView, style: CardStyle | None = None) -> str:
    """The two sides of the card for the wall."""
    style = style or CardStyle()
    fonts.require_glyphs(view_texts(view))
    width, height = (297, 210) if style.landscape else (210, 297)
    page = f"size: {width}mm {3000 if style.measuring else height}mm;"
    if style.crop_marks:
        page += " bleed: 10mm; marks: crop cross;"
    sizes = (
        f"--front: {style.front:g}pt; --back: {style.back:g}pt; --stretch: {style.stretch:.3f}mm; "
        f"--back-stretch: {style.back_stretch:.3f}mm;"
    )
    drawn = grid(view.chart, style.bands_down, style.gathered)
    type_sizes = Sizes(style.front, 18, 14) if style.bands_down else Sizes(style.front, style.front, 18)
    css = _css(
        "base.css",
        "card.css",
        fonts.print_font_css(),
        figures.tone_css(),
        f"@page {{ {page} }} :root {{ {sizes} }}",
        column_css(".chart", drawn, width - 16, type_sizes),
        column_css(".departures", back.departures_grid(view), width - 16, Sizes(style.back, style.back, style.back)),
    )
    run = back.entries(view, style.brief)
    return _render(
        "card.html",
        view=view,
        style=style,
        css=css,
        grid=drawn,
        tones=_tones(view.chart),
        columns=back.shared_out(run, len(run) if style.measuring else style.split),
    )


def page_html(view: ProtocolView, bundle_json: str, scripts: Iterable[str] = ()) -> str:
    """The protocol as one page for the screen that needs no other file and no network.

    The bundle stands in `<script type="application/json" id="bundle">`. `scripts` are inline modules, allowed by their
    SHA-256.
    """
    fonts.require_glyphs(view_texts(view))
    dark = figures.tone_css(ink="#a5d8d1", paper="#10181d")
    css = _css(
        "base.css",
        "page.css",
        fonts.web_font_css(),
        figures.tone_css(),
        f"@media (prefers-color-scheme: dark) {{\n{dark}\n}}",
    )
    modules = tuple(scripts)
    if any("</script" in module.lower() or "<!--" in module for module in modules):
        raise ValueError("a script of the page must not hold `</script` or `<!--`")
    return _render(
        "page.html",
        view=view,
        css=css,
        policy=content_security_policy([css], modules),
        scripts=[_markup(module) for module in modules],
        bundle=_markup(json_for_script(bundle_json)),
        grid=grid(view.chart) if view.chart else None,
        tones=_tones(view.chart),
        body=_body_for(view, relative=True),
    )


def content_security_policy(styles: Iterable[str], scripts: Iterable[str]) -> str:
    """A policy that allows these inline styles and scripts by SHA-256, pictures and fonts as data, nothing else."""
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {_hashes(scripts)}",
            f"style-src {_hashes(styles)}",
            "img-src data:",
            "font-src data:",
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


def _css(*parts: str) -> Any:
    """Style sheets of the site (names that end in `.css`) and style texts, joined; safe inside `<style>`."""
    folder = site_dir() / "styles"
    texts = [(folder / part).read_text("utf-8") if part.endswith(".css") else part for part in parts]
    css = "\n".join(texts)
    if "</" in css:
        raise ValueError("a style sheet must not hold `</`")
    return _markup(css)


def _render(template: str, **context: Any) -> str:
    view = context["view"]
    anchors = (
        {str(rule.number): rule.anchor for group in view.rule_groups for rule in group.rules}
        if isinstance(view, ProtocolView)
        else {}
    )
    return str(_environment().get_template(template).render(mark=mark(view.identity), anchors=anchors, **context))


@cache
def _environment() -> Any:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(site_dir() / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(
        heading_of_step=split_step,
        halves=_halves,
        web_address=_web_address,
        tied=_tied,
        capital=_capital,
        groups=back.groups,
    )
    environment.globals.update(
        swatch=lambda tone, uid: _markup(figures.swatch(tone, uid)),
        sign=lambda name: _markup(figures.sign(name)),
        across=lambda word, width, height: _markup(figures.across(word, width, height)),
        tone_words=figures.TONES,
    )
    return environment


def _markup(text: str) -> Any:
    from markupsafe import Markup

    return Markup(text)


def _tied(text: str) -> Any:
    """The text with every number on one line with what it counts."""
    return _markup(_tie(html.escape(text)))


def _tie(escaped: str) -> str:
    return TIED.sub(r'<span class="tied">\g<0></span>', escaped)


def _capital(text: str) -> str:
    """The text with a capital at its head, for a heading."""
    return text[0].upper() + text[1:] if text[:1].isascii() else text


def _halves(digest: str) -> str:
    return f"{digest[:32]} {digest[32:]}"


def _web_address(url: str) -> str:
    """The address if it is one of the web, else nothing."""
    return url if re.fullmatch(r"https?://\S+", url, re.IGNORECASE) else ""


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
        return _markup("".join(part if part[:1] == "<" else _tie(part) for part in re.split("(<[^>]*>)", linked)))

    return body
