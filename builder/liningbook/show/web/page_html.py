"""View data to the page for the screen, one file that needs no network.

The page's Content Security Policy (W3C CSP Level 3) names its style and its scripts by their SHA-256, so that nothing
that slipped in could run.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable
from datetime import date

from liningbook.resources import site_dir
from liningbook.say.locale import day_words
from liningbook.say.outputs import cover
from liningbook.say.outputs.identity import early_status, expired_status, present_status
from liningbook.say.texts import t
from liningbook.show.assets import fonts
from liningbook.show.figures import tones as figures
from liningbook.show.markup.chart_table import SCREEN, SCREEN_SIZES, drawings, screen_css
from liningbook.show.markup.grid import grid
from liningbook.show.markup.html import body_for, mark_css, rendered
from liningbook.show.markup.plots import screen_plots
from liningbook.show.markup.templates import css, filled, markup, short_css
from liningbook.show.views.view import Identity, ProtocolView
from liningbook.show.views.view_texts import view_texts
from liningbook.show.web.faults_view import Faults


def page_html(
    view: ProtocolView,
    bundle_json: str,
    scripts: Iterable[str] = (),
    *,
    words_json: str = "",
    offline: bool = True,
    faults: Faults | None = None,
) -> str:
    """The protocol as one page for the screen that needs no other file and no network.

    The bundle stands in `<script type="application/json" id="bundle">`, what Python words for the look-up in another
    with the id `words`. `scripts` are inline modules, allowed by their SHA-256. `offline` lets the page be kept where
    it is served.
    `faults` are shown by the preview at the top and beside the rules.
    """
    fonts.require_glyphs(view_texts(view))
    drawn = grid(view.chart) if view.chart else None
    dark = figures.tone_css(ink="#a5d8d1", paper="#10181d")
    style_text = short_css(
        "base.css",
        "exceptions.css",
        "chart.css",
        "page.css",
        "chart_screen.css",
        *(["changes.css"] if view.changes else []),
        *(["evidence.css", "evidence_screen.css"] if view.tables else []),
        "figures.css",
        "lookup.css",
        screen_css(drawn) if drawn else "",
        fonts.web_font_css([*(text for _, text in view_texts(view)), bundle_json, words_json]),
        figures.tone_css(),
        f"@media screen and (prefers-color-scheme: dark) {{\n{dark}\n}}",
        *(["preview.css"] if faults else []),
        mark_css(view.identity),
    )
    modules = tuple(scripts)
    if any("</script" in module.lower() or "<!--" in module for module in modules):
        raise ValueError("a script of the page must not hold `</script` or `<!--`")
    rules = [rule for group in view.rule_groups for rule in group.rules]
    use_from = first_day(bundle_json)
    return rendered(
        "page.html",
        view=view,
        css=style_text,
        policy=content_security_policy([style_text], modules),
        icon=figures.icon_address(),
        scripts=[markup(module) for module in modules],
        bundle=markup(json_for_script(bundle_json)),
        words=markup(json_for_script(words_json)),
        cover=cover_words(view.identity, use_from),
        use_from=use_from.isoformat() if use_from else "",
        statuses=(statuses := status_by_day(view.identity, use_from)),
        feet={when: _foot(view.identity, status) for when, status in statuses.items()},
        offline=offline,
        faults=faults,
        titles={rule.id: t.rule_titled(number=rule.number, title=rule.title) for rule in rules},
        grid=drawn,
        depth=drawings(drawn, SCREEN, SCREEN_SIZES) if drawn else None,
        body=body_for(view, relative=True),
        plots=screen_plots,
    )


def first_day(bundle_json: str) -> date | None:
    """The first day on which a bundle's advice may be used: it is in force, and its rules are those of the day."""
    bundle = json.loads(bundle_json)
    days = (bundle.get("protocol", {}).get("in_force_from"), bundle.get("holds", {}).get("from"))
    return max((date.fromisoformat(day) for day in days if day), default=None)


def status_by_day(identity: Identity, use_from: date | None) -> dict[str, str]:
    """What the page says of its status, on a day of its use (`on`), after the last (`past`), before the first."""
    now = identity.status_words
    early = t.not_yet(day=day_words(use_from)) if use_from else now
    if now == early_status():
        now = present_status()
    return {"on": now, "past": expired_status(), "early": early}


def _foot(who: Identity, status: str) -> str:
    return str(
        t.page_foot(title=who.title, practice=who.practice, edition=who.edition, status=status, day=who.review_by)
    )


def cover_words(identity: Identity, use_from: date | None = None) -> cover.CoverWords:
    """What the page says of this edition; `use_from` is the first day of its use, where that is known."""
    always = ""
    if identity.status == "withdrawn":
        always = cover.withdrawn_cover()
    elif identity.is_draft_build:
        always = cover.draft_cover(len(identity.open_findings))
    elif identity.status == "draft":
        always = cover.draft_cover()
    return cover.cover_words(always, identity.edition, identity.contact, identity.use_until, use_from)


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


def faults_html(faults: Faults) -> str:
    """The findings of sources of which no page can be made, as a page of their own."""
    style_text = css("base.css", "page.css", fonts.web_font_css(), "preview.css")
    return filled("faults_page.html", faults=faults, css=style_text, policy=content_security_policy([style_text], ()))


def window_html() -> tuple[str, str]:
    """The window, and the Content Security Policy it is to be sent with (W3C CSP Level 3).

    It holds the page in a frame, hears of changes, and keeps the reader's place and entries in the memory of the tab
    alone: no storage, no history and no address ever holds them.
    """
    style_text = css("base.css", "page.css", "preview.css")
    script = (site_dir() / "scripts" / "preview.js").read_text("utf-8")
    text = filled("preview.html", css=style_text, script=markup(script))
    policy = content_security_policy([style_text], [script]).replace("connect-src 'none'", "connect-src 'self'")
    return text, f"{policy}; frame-src 'self'; frame-ancestors 'none'"
