"""The template engine and the style sheets of the site, for every output that is set in HTML.

Every text goes through the engine's escaping but one that `markup` has marked as being HTML already.
"""

from __future__ import annotations

import html
import re
from functools import cache
from typing import Any

from liningbook.resources import site_dir
from liningbook.say.cases import capital, sentences
from liningbook.say.catalogue import language
from liningbook.say.outputs.figures import tone_words
from liningbook.say.texts import Unfilled, t
from liningbook.show.figures import tones as figures
from liningbook.show.figures.card_figures import check_bar
from liningbook.show.markup.wrapping import TIED


def filled(template: str, **context: Any) -> str:
    """The text of a template of the site, filled in."""
    return str(_environment().get_template(template).render(**context))


def css(*parts: str) -> Any:
    """Style sheets of the site (names that end in `.css`) and style texts, joined; safe inside `<style>`."""
    folder = site_dir() / "styles"
    texts = [(folder / part).read_text("utf-8") if part.endswith(".css") else part for part in parts]
    joined = "\n".join(texts)
    if "</" in joined:
        raise ValueError("a style sheet must not hold `</`")
    return markup(joined)


def content_css(message: Unfilled, **parts: str) -> str:
    """A message as the value of CSS `content`: its names are filled in with CSS, such as `counter(page)`."""
    pieces = message(**{name: f"\0{name}\0" for name in parts}).split("\0")
    escaped = [piece.replace("\\", r"\\").replace('"', r"\"") for piece in pieces]
    return " ".join(parts[piece] if number % 2 else f'"{piece}"' for number, piece in enumerate(escaped))


def page_numbers() -> str:
    """The style rule that numbers the pages of a document: `Page 3 of 12`."""
    words = content_css(t.page_of_pages, page="counter(page)", pages="counter(pages)")
    return f"@page {{ @bottom-right {{ content: {words}; }} }}"


def short_css(*parts: str) -> Any:
    """Style sheets and style texts joined, without comments and without blanks that mean nothing."""
    import rcssmin

    return markup(rcssmin.cssmin(str(css(*parts))))


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
    environment.filters.update(grouped=_grouped, web_address=_web_address, tied=_tied, capital=capital)
    environment.globals.update(
        t=t,
        language=language,
        sentences=sentences,
        swatch=lambda tone, uid: markup(figures.swatch(tone, uid)),
        dot=lambda is_included: markup(figures.dot(is_included)),
        svg=lambda text: markup(text),
        sign=lambda name: markup(figures.sign(name)),
        check_bar=lambda: markup(check_bar()),
        across=lambda word, width, height, outlined=True: markup(figures.across(word, width, height, outlined)),
        tone_words=tone_words,
    )
    return environment


def markup(text: str) -> Any:
    """A text that is HTML already."""
    from markupsafe import Markup

    return Markup(text)


def _tied(text: str) -> Any:
    """The text with every number on one line with what it counts."""
    return markup(tie(html.escape(text)))


def tie(escaped: str) -> str:
    """Escaped text with every number on one line with what it counts."""
    return TIED.sub(r'<span class="tied">\g<0></span>', escaped)


def _grouped(digest: str, size: int = 8) -> str:
    """A digest in groups of characters, to be compared by eye."""
    return " ".join(digest[start : start + size] for start in range(0, len(digest), size))


def _web_address(url: str) -> str:
    """The address if it is one of the web, else nothing."""
    return url if re.fullmatch(r"https?://\S+", url, re.IGNORECASE) else ""


def with_alternative(svg: str) -> str:
    """A drawing whose whole text alternative stands in its title, the only one that the typesetter passes on."""
    pair = r"<title([^>]*)>(.*?)</title>\s*<desc[^>]*>(.*?)</desc>"
    return re.sub(pair, r"<title\1>\2. \3</title>", svg, count=1, flags=re.DOTALL)
