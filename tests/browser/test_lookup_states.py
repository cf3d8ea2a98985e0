"""Every state of the look-up: axe finds nothing, nothing is wider than a phone, random protocols are told in words."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.cases.question import BadQuestion, Reply, answer, put
from liningbook.exchange.bundle import bundle_of
from liningbook.say.command.reply import counted_words
from liningbook.show.markup.markdown import to_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.page import site_files
from tests import seeds
from tests.browser.cases import cases, protocol
from tests.browser.conftest import LOOKS, WIDTHS, Site, seen_in
from tests.browser.looking_up import (
    ask,
    case,
    choose,
    fragment,
    group,
    head,
    plain,
    read,
    shown_case,
    type_number,
    without,
)
from tests.browser.making import put as put_files
from tests.oracle.folder import write_folder
from tests.oracle.generate import Source

Open = Callable[..., Any]
SEEDS = seeds.window(7000, 40, 4, always=[7000, 7002, 7006, 7030, 7034, 7035])
"""With those that come to one answer, to several, and to none since they are out of scope."""


def wrong_number(page: Any) -> None:
    ask(page, case())
    type_number(page, "rdt", "value", "70")
    page.locator("#ask-rdt[data-state=wrong]").wait_for()


def unfolded(page: Any) -> None:
    ask(page, case(rdt_reading="1.2 mm", restoration="provisional-otherwise", eugenol_allergy="yes"))
    page.evaluate("for (const one of document.querySelectorAll('.look details')) one.open = true")
    page.locator("#look-make-link").click()


def partly(page: Any) -> None:
    page.locator(".look-bar button").click()
    choose(page, "pulp", "normal")
    choose(page, "rdt", "reading")


def settled_in_part(page: Any) -> None:
    ask(page, without(case(restoration="composite"), "rdt", "metal-contact", "amalgam-restricted"))
    page.locator("#look-idle").click()
    page.locator("#look-make-link").click()


def finished_early(page: Any) -> None:
    ask(page, without(case(exposed="yes"), "rdt", "pulp", "restoration", "metal-contact", "amalgam-restricted"))
    head(page)


STATES: dict[str, Callable[[Any], None]] = {
    "empty": lambda _: None,
    "partly answered": partly,
    "settled in part": settled_in_part,
    "finished early": finished_early,
    "wrong number": wrong_number,
    "answered": lambda page: ask(page, case()),
    "borderline, all unfolded": unfolded,
    "nothing": lambda page: ask(page, case(rdt="4 mm", restoration="glass-ionomer")),
    "refer": lambda page: ask(page, case(amalgam_restricted="yes")),
    "judgement": lambda page: ask(page, case(pulp="uncertain")),
    "not covered, and a strange link": lambda page: ask(page, case(rdt="0 mm") | {"colour": "blue"}),
}


WIDE = """[...document.querySelectorAll(".look *:not(.hidden)")]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 0.5)
  .map((one) => one.outerHTML.slice(0, 100))"""


AT_A_GLANCE = [
    case(), case(rdt_reading="1.2 mm"), case(rosin_allergy="yes", restoration="amalgam"), case(pulp="uncertain"),
    case(restoration="provisional-otherwise", eugenol_allergy="yes"), case(exposed="yes"),
    case(restoration="ceramic", rosin_allergy="yes", eugenol_allergy="yes"), case(rdt="0 mm"),
]  # fmt: skip
LINES = """[...document.querySelectorAll("#look-result :is(p, li, dt, dd), .look-bar, #look-case-fold > summary")]
  .filter((one) => one.offsetHeight).map((one) => one.getBoundingClientRect())
  .map(({ top, bottom }) => [top, bottom])"""
INNER = """[...document.querySelectorAll("body *")]
  .filter((one) => one.offsetHeight && !one.matches("input, textarea, select")
    && /auto|scroll/.test(getComputedStyle(one).overflowY)).map((one) => one.className || one.tagName)"""


def test_all_advice_is_on_the_screen_when_the_last_question_is_answered(site: Site, open_page: Open) -> None:
    """At 1280 x 800: the verdict, what must not be used, a line a layer, and what is folded; nothing scrolls inside."""
    page = open_page(site.address)
    page.set_viewport_size({"width": 1280, "height": 800})
    for given in AT_A_GLANCE:
        page.locator(".look-bar button").click()
        while following := group(page, "next"):
            [name] = following
            if name == "rdt":
                way = "reading" if "rdt.reading" in given else "value"
                type_number(page, "rdt", way, given.get("rdt.reading", given.get("rdt", "")).removesuffix(" mm"))
                page.locator("#ask-rdt[data-state=given]").wait_for()
            else:
                choose(page, name, given[name])
        head(page)
        lines = page.evaluate(LINES)
        assert len(lines) > 3
        assert [line for line in lines if line[0] < 0 or line[1] > 800] == [], given
        barred, layers = page.locator(".barred"), page.locator(".layer-list > li")
        if barred.count() and layers.count():
            assert barred.last.bounding_box()["y"] < layers.first.bounding_box()["y"]
        assert page.evaluate(INNER) == []


@pytest.mark.parametrize("width", [320, 390, 700, 1000, 1100, 1280])
def test_no_word_of_a_question_is_broken(site: Site, open_page: Open, width: int) -> None:
    page = open_page(site.address, width=width)
    page.locator("#look-rest").click()
    broken = """[
      ...document.querySelectorAll(".ask legend, .ask-over, .pick span, .ask-group button, .look-open a, .look-bar a"),
    ].flatMap((one) => {
      const walker = document.createTreeWalker(one, NodeFilter.SHOW_TEXT), found = [];
      while (walker.nextNode()) for (const { 0: word, index } of walker.currentNode.data.matchAll(/[^ \u00a0]+/g)) {
        const range = document.createRange();
        range.setStart(walker.currentNode, index);
        range.setEnd(walker.currentNode, index + word.length);
        if (new Set([...range.getClientRects()].map(({ top }) => Math.round(top))).size > 1) found.push(word);
      }
      return found;
    })"""
    assert page.evaluate(broken) == []
    page.evaluate("""for (const { style } of document.querySelectorAll(".ask legend"))
      Object.assign(style, { width: "3rem", flex: "none", minWidth: 0, overflowWrap: "anywhere" })""")
    assert "Methacrylate" in page.evaluate(broken)


@pytest.mark.parametrize("width", [*WIDTHS, 390])
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(
    site: Site, open_page: Open, axe: Callable[..., list[str]], width: int
) -> None:
    page = open_page(site.address, width=width)
    for name, reach in STATES.items():
        reach(page)
        for look in LOOKS if width in WIDTHS else ():  # 390 px have the names and colours of 320
            seen_in(page, look)
            assert axe(page, ".look-up", look) == [], (name, look)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        assert page.evaluate(WIDE) == [], name


def test_axe_finds_nothing_in_a_draft_with_a_gap(
    sites: dict[str, Site], open_page: Open, axe: Callable[..., list[str]]
) -> None:
    page = open_page(sites["open findings"].address + fragment(case(exposed="yes")), width=320)
    for shown in ("covered", "revealed"):
        if shown == "revealed":
            page.locator("#look-reveal").click()
            assert head(page) == "No single answer: Management"
        for look in LOOKS:
            seen_in(page, look)
            assert axe(page, ".look-up", look) == [], (shown, look)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_what_can_be_pressed_is_large_enough_for_a_gloved_finger(site: Site, open_page: Open) -> None:
    page = open_page(site.address + fragment(case()), width=320)
    head(page)
    sizes = page.locator(".look .pick, .look button, .look input[type=text], .look input[type=range]").evaluate_all(
        "all => all.filter((one) => one.offsetParent).map((one) => [one.offsetWidth, one.offsetHeight])"
    )
    assert len(sizes) > 30
    assert min(min(size) for size in sizes) >= 44


def test_random_protocols_open_without_an_error_and_answer_in_words(tmp_path: Path, open_page: Open) -> None:
    """A page for each, with a case that Python answers: every value, every layer and every judgement is told."""
    states: set[str] = set()
    page = None
    for seed in SEEDS:
        plain_data = protocol(seed)
        day = date.fromisoformat(plain_data["day"])
        analysis = analyse(write_folder(plain_data, tmp_path / str(seed) / "sources"), day)
        assert analysis.meaning is not None
        bundle = bundle_of(analysis)
        viewer = Viewer(analysis, bundle["digest"], to_html)
        place = put_files(site_files(viewer, bundle, offline=False), tmp_path / str(seed) / "site")
        given, reply = first_answered(analysis, seed)
        who = viewer.identity()
        link = place.as_uri() + fragment(given, edition=who.edition, digest=who.digest[:8])
        if page is None:
            page = open_page(link, day=str(day))
        else:
            page.goto(link)
        page.locator("#look-lookup").wait_for()
        assert not page.locator("#look-notice").is_visible(), read(page, "#look-notice")
        reveal = page.locator("#look-reveal")
        if reveal.is_visible():
            reveal.click()
        line = head(page)
        assert line
        if line.startswith("Too close to call"):
            line = read(page, ".say-then b")
        shown, told = shown_case(page), read(page, "#look-advice")
        for name, factor in analysis.meaning.protocol.factors.items():
            words = counted_words(factor, reply.question.values[name], reply.question.taken.get(name))
            assert words in shown, (seed, name, words, shown)
        states |= {tell(analysis, reply, line, told, seed)}
    assert states >= {"Place", "No single answer", "Not covered here"}


def first_answered(analysis: Any, seed: int) -> tuple[dict[str, str], Reply]:
    for given in cases(Source(seed), analysis.meaning.space.axes, 50):
        try:
            return given, answer(analysis.meaning, put(analysis.meaning, given, complete=True))
        except BadQuestion:
            continue
    raise AssertionError(f"no case of {seed} can be answered")


def tell(analysis: Any, reply: Reply, line: str, told: str, seed: int) -> str:
    """Checks that the page tells what the reply says; gives the beginning of its line."""
    if reply.advice.excluded is not None:
        assert line == "Not covered here"
        assert plain(reply.advice.excluded.because) in told
        return line
    for name, outcome in reply.advice.outcomes.items():
        label = analysis.protocol.decisions[name].label
        if outcome.state not in ("answered", "not-needed"):
            assert line.startswith("No single answer"), (seed, line)
            assert label in line
        for candidate in outcome.candidates:
            if candidate.answer.kind == "layer":
                assert analysis.protocol.agents[candidate.answer.name].label in told, (seed, told)
            if candidate.answer.kind == "judgement" and outcome.state == "answered":
                assert plain(candidate.answer.why) in told, (seed, told)
    return "No single answer" if line.startswith("No single") else line.split()[0]
