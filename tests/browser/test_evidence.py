"""What the studies show, on the page: from 320 pixels on, in every look, for who sees it and for who hears it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import LOOKS, SHORTEN, Site
from tests.browser.test_figures import OVERLAPS
from tests.rendering.measure import weakest_contrast

Open = Callable[..., Any]

BEYOND = """() => [...document.querySelectorAll('#evidence, #evidence ~ *, #evidence ~ * *')].filter((one) =>
  one.getClientRects().length > 0 && !one.closest('.hidden')
  && one.getBoundingClientRect().right > innerWidth + 0.5).map((one) => one.outerHTML.slice(0, 80))"""
"""What reaches over the right edge."""


@pytest.fixture
def opened(site: Site, open_page: Open) -> Callable[[int, str], Any]:
    """The page with all plots unfolded."""

    def at(width: int, look: str) -> Any:
        page = open_page(site.address, width, look)
        page.evaluate("location.hash = 'evidence'")
        page.locator("#evidence").wait_for(state="visible")
        page.evaluate("for (const one of document.querySelectorAll('.study-table details')) one.open = true")
        return page

    return at


@pytest.mark.parametrize("width", [320, 390, 760, 1024, 1280])
def test_nothing_scrolls_sideways_and_every_plot_can_be_read(opened: Callable[[int, str], Any], width: int) -> None:
    page = opened(width, "light")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    assert page.evaluate(BEYOND) == []
    shown = page.locator(".study-table svg.forest:visible")
    assert shown.count() == page.locator(".study-table details").count() == 7
    sizes = shown.evaluate_all(
        "all => all.map((one) => parseFloat(getComputedStyle(one).fontSize) * one.getBoundingClientRect().width"
        " / one.viewBox.baseVal.width)"
    )
    assert min(sizes) >= 14.39
    page.evaluate("for (const one of document.querySelectorAll('svg.figure:not(.study-table *)')) one.remove()")
    page.evaluate("for (const one of document.querySelectorAll('svg.forest')) if (!one.checkVisibility()) one.remove()")
    assert page.evaluate(OVERLAPS) == []


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("look", LOOKS)
def test_axe_finds_nothing(opened: Callable[[int, str], Any], axe: Any, width: int, look: str) -> None:
    page = opened(width, look)
    assert axe(page, "section[aria-labelledby=evidence]", look) == []


@pytest.mark.parametrize("width", [320, 1280])
def test_a_screen_reader_is_told_every_figure_once(opened: Callable[[int, str], Any], width: int) -> None:
    page = opened(width, "light")
    told = page.locator("section[aria-labelledby=evidence]").aria_snapshot()
    assert told.count("Stroudley 2021† 0/140 3/141 0.14 (0.0075 to 2.76) 4%") == 1
    assert told.count('table "Forest plot of pain to cold after one month') == 1
    assert "img" not in told
    effects = page.get_by_role("table", name="A liner of hard-setting calcium hydroxide against no liner: the effect")
    assert effects.get_by_role("row").filter(has_text="Pulp necrosis within two years").count() == 1


def test_the_plot_is_drawn_in_the_ink_of_the_look(opened: Callable[[int, str], Any]) -> None:
    inks = {}
    for look in LOOKS:
        page = opened(1280, look)
        inks[look] = page.locator(".plot-wide .diamond").first.evaluate("one => getComputedStyle(one).fill")
        words = page.locator(".plot-wide text").first.evaluate("one => getComputedStyle(one).fill")
        assert words == inks[look]
    assert inks["light"] != inks["dark"]


def test_a_rule_leads_to_its_table_and_back(opened: Callable[[int, str], Any]) -> None:
    page = opened(1280, "light")
    page.locator("#table-3 + p a").first.click()
    rule = page.evaluate("location.hash")
    assert rule.startswith("#rule-")
    page.evaluate("for (const one of document.querySelectorAll('.rule details')) one.open = true")
    page.locator(f"article:has({rule}) a[href='#table-3']").click()
    assert page.evaluate("location.hash") == "#table-3"


@pytest.mark.parametrize("look", ["light", "dark"])
def test_what_is_printed_can_be_read_whatever_the_screen_is_like(opened: Callable[[int, str], Any], look: str) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    page = opened(1280, look)
    page.evaluate(SHORTEN)
    page.evaluate("for (const one of document.querySelectorAll('.study-table:nth-of-type(n+3)')) one.remove()")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    pdf = page.pdf(prefer_css_page_size=True, format="A4", print_background=False)
    texts = [sheet.get_textpage().get_text_range() for sheet in pdfium.PdfDocument(pdf)]
    weak = {}
    for number, text in enumerate(texts):
        ratio, place = weakest_contrast(pdf, number)
        if ratio < 4.5:
            weak[number] = place
        assert text.count("Plot of the studies") <= text.count("in favour of")
    assert weak == {}
    assert any("Plot of the studies" in text for text in texts)
    assert any("Up to 0.5 mm" in text for text in texts)
