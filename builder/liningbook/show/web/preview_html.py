"""What the preview shows besides the page: the findings alone, and the window that holds the page."""

from __future__ import annotations

from liningbook.resources import site_dir
from liningbook.show.assets import fonts
from liningbook.show.markup.templates import css, filled, markup
from liningbook.show.web.faults_view import Faults
from liningbook.show.web.page_html import content_security_policy


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
