"""The page in another language: its words, its numbers, and what is typed with a decimal comma.

The language is a strange one under the tag of German: every message of ours with strange vowels. So a word with plain
vowels is the practice's own, or is one that no catalogue says.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.show.figures.script import Drawer
from tests.browser.conftest import Site, _built
from tests.browser.looking_up import answer_all, ask, case, choose, head, plain, read, type_number
from tests.browser.making import DAY, make_site
from tests.unit.say.strange import speaking_strangely, strange

OURS_BY_RIGHT = {
    "januar",
    "februar",
    "juni",
    "august",
    "september",
    "oktober",
    "oder",
    "digest",
    "bundle",
    "json",
    "site",
}
"""Words that are no messages: months and lists of the language, and names."""

TEXTS = """() => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const { parentElement: parent, data } = walker.currentNode;
    if (!parent.closest("script, style, .body, .references, .snippet") && data.trim()) found.push(data);
  }
  for (const one of document.querySelectorAll("[aria-label], [placeholder], [aria-valuetext], textarea, input"))
    for (const text of [one.ariaLabel, one.placeholder, one.ariaValueText, one.value]) if (text) found.push(text);
  return found;
}"""


@pytest.fixture(scope="module")
def strange_site(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with speaking_strangely(tmp_path_factory.mktemp("catalogue")):
        yield _built(make_site(demonstration), tmp_path_factory.mktemp("site"))


def plain_words(texts: list[str]) -> set[str]:
    """Words that have a plain vowel and no strange one."""
    words = {word.lower() for text in texts for word in re.findall(r"\b[^\W\d_]{3,}\b", text)}
    return {word for word in words if re.search("[aeiou]", word) and not re.search("[äéíöü]", word)}


CASES = [case(), case(rdt_reading="0.6 mm"), case(rdt_reading="0 mm"), case(pulp="uncertain")]


@pytest.mark.parametrize("given", CASES)
def test_every_word_is_the_practices_own_or_of_the_language(
    strange_site: Site, open_page: Callable[..., Any], demonstration: Path, given: dict[str, str]
) -> None:
    page = open_page(strange_site.address)
    assert page.locator("html").get_attribute("lang") == "de"
    sources = [path.read_text("utf-8") for path in demonstration.rglob("*") if path.is_file()]
    own = plain_words([*sources, *OURS_BY_RIGHT])
    ask(page, given)
    page.locator(".say-line").wait_for(state="visible")
    page.locator("#look-make-link").click()
    page.locator("#views a[href='#protocol']").click()
    page.locator("#search-field").fill("a")
    rest = {word for word in plain_words(page.evaluate(TEXTS)) - own if not any(word in one for one in own)}
    address = r"(?:https?|file|html?|index|www|doi|org|tmp|pytest|popen|root)\w*"
    left = sorted(word for word in rest if not re.fullmatch(address, word))
    assert left == [], " ".join(left)


def test_a_decimal_comma_is_taken_and_written(strange_site: Site, open_page: Callable[..., Any]) -> None:
    page = open_page(strange_site.address, width=320)
    answer_all(page, {**case(), "rdt": "0,4"})
    assert plain(page.locator(".case-facts").text_content()).startswith("Remaining dentine thickness: 0,4 mm")
    assert "0,75" in read(page, "#look-advice")
    assert "0,4 mm" in page.locator("#look-line").input_value()
    assert re.findall(r"\d\.\d+", page.locator("#look-line").input_value()) == ["6.2"]  # of the edition, 2026.2
    ask(page, case(rdt="0.45 mm"))
    assert page.locator("#ask-rdt-number").input_value() == "0,45"
    page.locator("#ask-rdt input[type=range]").press("ArrowRight")
    assert re.fullmatch(r"\d,\d+", page.locator("#ask-rdt-number").input_value())


@pytest.mark.parametrize(
    ("typed", "counts"),
    [("0,5", "0,5 mm"), ("0.5", "0,5 mm"), (",5 mm", "0,5 mm"), ("500 um", "0,5 mm"), ("1,000", "1 mm")],
)
def test_what_can_be_meant_in_one_way_only_is_taken(
    strange_site: Site, open_page: Callable[..., Any], typed: str, counts: str
) -> None:
    page = open_page(strange_site.address)
    answer_all(page, {**case(), "rdt": typed})
    head(page)
    assert plain(page.locator(".case-facts").text_content()).startswith(f"Remaining dentine thickness: {counts}")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1.000", ("The number has a point between its digits.", "1000 mm", "1,000 mm")),
        ("1.234,5", ("The number has points between its digits.", "1234,5 mm")),
        ("0,5 kg", ("Write ", "Millimeter", ", for example 0,4.")),
        ("9,5", ("9,5 mm", "is outside the limits of", "6 mm")),
        ("0,5-1", ("Write ", "Millimeter", ", for example 0,4.")),
    ],
)
def test_what_cannot_be_taken_is_told_in_the_language(
    strange_site: Site, open_page: Callable[..., Any], typed: str, says: tuple[str, ...]
) -> None:
    page = open_page(strange_site.address)
    choose(page, "rdt", "value")
    type_number(page, "rdt", "value", typed)
    page.locator("#ask-rdt-number").press("Tab")
    told = plain(page.locator("#ask-rdt-error").text_content())
    for one in says:
        assert one in told or strange(one) in told, told


def test_figures_for_print_and_screen_are_the_same_in_the_language(
    strange_site: Site, open_page: Callable[..., Any], demonstration: Path
) -> None:
    from liningbook.analysis import analyse
    from liningbook.cases.question import answer, put

    meaning = analyse(demonstration, DAY).meaning
    assert meaning is not None
    page = open_page(strange_site.address)
    ask(page, case(rdt_reading="0.6 mm"))
    reply = answer(meaning, put(meaning, case(rdt_reading="0.6 mm")))
    drawer = Drawer(meaning)
    for where, drawn in (
        (".layer-figure svg", drawer.section(reply, "case")),
        (".reading-figure svg", drawer.reading(reply, "case")),
    ):
        shown = page.locator(where).evaluate(
            "one => [...one.querySelectorAll('text, desc')].map((text) => text.textContent)"
        )
        printed = [json.loads(json.dumps(text)) for text in re.findall(r"<(?:text|desc)[^>]*>([^<]*)<", drawn)]
        assert shown == [text.replace("&#x27;", "'").replace("&amp;", "&") for text in printed]
        assert strange("within its uncertainty") in "".join(shown) or "layer" in where


@pytest.mark.parametrize("day", [date(2028, 9, 2), date(2026, 8, 1)])
def test_the_strip_of_a_covered_edition_is_in_the_language(
    strange_site: Site, open_page: Callable[..., Any], day: date
) -> None:
    page = open_page(strange_site.address, day=str(day))
    told = page.locator("#strip").inner_text()
    said = (
        "Past its date: do not use for patients." if day.year > 2026 else "Not yet in force: do not use for patients."
    )
    assert told == strange(said)
