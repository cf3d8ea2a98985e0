"""What the tests of the look-up share: a case of the demonstration, its link, and answering by mouse."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from tests.usual import USUAL_CASE

BASE = {**USUAL_CASE, "rdt": "0.4 mm"}


def case(**changes: str) -> dict[str, str]:
    """The base case with other values; `rdt_reading` stands for `rdt.reading` and takes the place of `rdt`."""
    found = {**BASE, **{name.replace("_", "-"): value for name, value in changes.items() if name != "rdt_reading"}}
    if "rdt_reading" in changes:
        del found["rdt"]
        found["rdt.reading"] = changes["rdt_reading"]
    return found


def fragment(given: Mapping[str, str], **made: str) -> str:
    """The end of a link that asks a case; `made` are the edition and the digest that the link says."""
    return "#case?" + urlencode({**given, **{f".{name}": value for name, value in made.items()}})


def ask(page: Any, given: Mapping[str, str]) -> None:
    """Asks a case by its link."""
    page.evaluate("hash => { location.hash = hash; }", fragment(given))
    page.wait_for_function(
        "hash => document.getElementById('look-notice').dataset.opened === hash", arg=fragment(given)
    )


def unfold(page: Any, name: str) -> None:
    """Unfolds the questions that may be asked later, or can change nothing, if this is one of them."""
    question = page.locator(f"#ask-{name}")
    question.wait_for(state="attached")
    if question.get_attribute("hidden") is not None:
        page.locator(f"#look-{question.get_attribute('data-group')}").click()


def choose(page: Any, name: str, value: str) -> None:
    """Chooses a value with the mouse."""
    unfold(page, name)
    page.locator(f"#ask-{name} label.pick:has(input[value='{value}'])").click()


def type_number(page: Any, name: str, way: str, number: str) -> None:
    """Says what the number is, and types it."""
    choose(page, name, way)
    page.locator(f"#ask-{name}-number").fill(number)


def answer_all(page: Any, given: Mapping[str, str]) -> None:
    """Answers every question with the mouse, and types the number."""
    for name, value in given.items():
        if name.startswith("rdt"):
            type_number(page, "rdt", "reading" if name.endswith(".reading") else "value", value.removesuffix(" mm"))
        else:
            choose(page, name, value)


def unfold_part(page: Any, words: str) -> Any:
    """Unfolds the part under the advice whose summary has these words; returns it."""
    part = page.locator(".look-right .say-more", has=page.locator("summary", has_text=words))
    if part.get_attribute("open") is None:
        part.locator("summary").first.click()
    return part


def without(given: Mapping[str, str], *names: str) -> dict[str, str]:
    """A case without some of its factors."""
    return {name: value for name, value in given.items() if name.removesuffix(".reading") not in names}


def group(page: Any, name: str) -> list[str]:
    """The questions of a group (`given`, `next`, `rest`, `always`, `idle`), in the order in which they stand."""
    found = page.locator(f".ask[data-group='{name}']").evaluate_all("all => all.map((one) => one.id.slice(4))")
    return list(found)


def head(page: Any) -> str:
    """The line at the head of the advice; waits until there is one."""
    line = page.locator(".say-line")
    line.wait_for(state="visible")
    return plain(line.text_content())


def plain(text: str | None) -> str:
    """A text with ordinary blanks."""
    return " ".join((text or "").replace("\u00a0", " ").split())


def shown_case(page: Any) -> str:
    """The case in words, as it stands folded beneath the advice."""
    return plain(page.locator("#look-case").evaluate("one => one.innerText || one.textContent"))


def read(page: Any, where: str) -> str:
    """The text that can be seen at a place."""
    return plain(page.locator(where).inner_text())
