"""The preview in a browser: a save is seen at once, and the reader stays where she was, with what she had entered."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

from liningbook.preview import watch as watching
from liningbook.preview.server import Server
from liningbook.preview.workshop import Workshop
from tests.browser.conftest import LOOKS, Told, seen_in
from tests.browser.making import DAY
from tests.limits import HANGS

SHOWN = "iframe:not(.coming)"
RULE = "rules/line-a-deep-cavity.md"
ADVISE = "advise:"


@pytest.fixture
def folder(demonstration: Path, tmp_path: Path) -> Path:
    """A protocol that may be changed."""
    return Path(shutil.copytree(demonstration, tmp_path / "protocol"))


@pytest.fixture
def address(folder: Path) -> Iterator[str]:
    """The preview of that protocol."""
    works, seen = Workshop(folder, lambda: DAY), watching.look(folder)
    server, stop = Server(0, works.make()), Event()

    def changed() -> None:
        showing = works.make()
        if showing.version != server.showing.version:
            server.show(showing)

    threads = [
        Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}),
        Thread(target=watching.watch, args=(folder, seen, changed, stop)),
    ]
    for thread in threads:
        thread.start()
    yield server.address
    stop.set()
    server.end()
    for thread in threads:
        thread.join(HANGS)
        assert not thread.is_alive()


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def retitle(folder: Path, title: str) -> None:
    text = (folder / "protocol.yaml").read_text("utf-8")
    (folder / "protocol.yaml").write_text(re.sub("^title: .*", f"title: {title}", text, flags=re.MULTILINE), "utf-8")


Opened = Callable[..., Any]


@pytest.fixture
def window(address: str, open_page: Opened) -> Any:
    """The window of the preview, with the page in it."""
    page = open_page(address)
    page.frame_locator(SHOWN).locator("h1").wait_for()
    return page


def shows(window: Any, selector: str, text: str = "") -> Any:
    """What the page in the window shows, once it does."""
    found = window.frame_locator(SHOWN).locator(selector, has_text=text or None).first
    found.wait_for()
    return found


def test_a_save_is_seen_without_touching_the_browser(window: Any, folder: Path) -> None:
    retitle(folder, "Written just now")
    shows(window, "h1", "Written just now")
    assert window.title().startswith("Preview: Written just now")


def test_a_finding_appears_beside_its_rule_and_goes_again(window: Any, folder: Path) -> None:
    edit(folder / RULE, ADVISE, "advice:")
    assert "1 must be settled" in shows(window, "#findings h2", "must be settled").inner_text()
    shows(window, ".stale", "Out of date")
    shows(window, ".fault-links a").click()  # to the rule, in the view that shows it
    fault = shows(window, "article.rule .fault", "advice")
    assert fault.evaluate("e => { const at = e.getBoundingClientRect(); return at.top >= 0 && at.top < innerHeight }")
    assert fault.locator(".extract-place").first.inner_text().startswith(RULE)
    assert fault.locator("mark").first.inner_text() == "advice"
    assert fault.locator("mark").first.evaluate("e => getComputedStyle(e).textDecorationLine") == "underline"
    edit(folder / RULE, "advice:", ADVISE)
    shows(window, "#findings h2", "nothing found")
    assert window.frame_locator(SHOWN).locator(".fault, .stale").count() == 0
    shows(window, "article.rule")  # the reader is still in the view that she chose


def test_the_reader_stays_at_her_place(window: Any, folder: Path) -> None:
    shows(window, "h1")
    place = "rule-varnish-under-amalgam"
    where = f"document.getElementById('{place}').getBoundingClientRect().top"
    frame = window.frame(url=re.compile("/page"))
    frame.evaluate(f"location.hash = '{place}'")
    shows(window, f"#{place}")
    frame.evaluate(f"scrollTo({{top: scrollY + {where} - 200, behavior: 'instant'}})")
    before = frame.evaluate(where)
    assert 190 < before < 210
    # A finding at the top makes the page longer above that place.
    (folder / "rules" / "assess-an-exposed-pulp.md").unlink()
    shows(window, "#findings h2", "must be settled")
    [frame] = [one for one in window.frames if one.parent_frame]
    assert abs(frame.evaluate(where) - before) < 2


def test_what_was_entered_stays_as_far_as_it_exists(window: Any, folder: Path) -> None:
    page = window.frame_locator(SHOWN)
    page.locator("#look-rest").click()
    page.locator("input[name=ask-rdt-way][value=value]").check()
    page.locator("#ask-rdt-number").fill("0.4")
    for name, value in (("exposed", "no"), ("pulp", "normal"), ("restoration", "cast-metal")):
        page.locator(f"input[name=ask-{name}][value={value}]").check()
    retitle(folder, "Written just now")
    shows(window, "h1", "Written just now")
    assert page.locator("#ask-rdt-number").input_value() == "0.4"
    assert page.locator("input[name=ask-rdt-way][value=value]").is_checked()
    for name, value in (("exposed", "no"), ("pulp", "normal"), ("restoration", "cast-metal")):
        assert page.locator(f"input[name=ask-{name}][value={value}]").is_checked()
    assert page.locator("#look-form input:checked").count() == 4
    # The page has taken the entries for entries, and asks for the first of the others.
    assert page.locator(".ask[data-group=given]").count() == 4
    assert page.locator("#look-open-list li").all_inner_texts() == ["Next: Methacrylate allergy?"]


def test_what_was_entered_is_stored_nowhere(window: Any, folder: Path) -> None:
    page = window.frame_locator(SHOWN)
    page.locator("#look-rest").click()
    page.locator("input[name=ask-pulp][value=normal]").check()
    retitle(folder, "Written just now")
    shows(window, "h1", "Written just now")
    assert page.locator("input[name=ask-pulp][value=normal]").is_checked()
    for frame in window.frames:
        kept = (
            "[localStorage.length, sessionStorage.length, document.cookie, window.name, JSON.stringify(history.state)]"
        )
        assert frame.evaluate(kept) == [0, 0, "", "", "null"]
        assert "normal" not in frame.url


def test_a_folder_that_is_gone_for_a_moment_is_told_and_comes_back(window: Any, folder: Path) -> None:
    folder.rename(folder.with_name("elsewhere"))
    shows(window, ".faults-lead", "There is no folder")
    shows(window, ".stale", "Out of date")
    folder.with_name("elsewhere").rename(folder)
    shows(window, "#findings h2", "nothing found")


def test_no_request_leaves_the_machine(window: Any, folder: Path, address: str, told: Told) -> None:
    retitle(folder, "Written just now")
    shows(window, "h1", "Written just now")
    assert told.requests
    assert {request for request in told.requests if not request.startswith((address, "data:"))} == set()


@pytest.fixture(scope="module")
def faulty(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    """Addresses of two previews: of sources that cannot be read any more, and of such as never could be.

    Small ones: axe takes long on a long page, and the page itself is tested elsewhere.
    """
    faults = repository / "guidelines" / "faulty"
    folder = Path(shutil.copytree(faults / "conflict", tmp_path_factory.mktemp("faulty") / "protocol"))
    works = Workshop(folder, lambda: DAY)
    works.make()
    edit(folder / RULE, ADVISE, "advice:")
    (folder / "rules" / "no-liner-needed.md").write_text("---\n", "utf-8")
    never = Workshop(faults / "unreadable", lambda: DAY)
    servers = {"no more": Server(0, works.make()), "never": Server(0, never.make())}
    threads = [Thread(target=one.serve_forever, kwargs={"poll_interval": 0.02}) for one in servers.values()]
    for thread in threads:
        thread.start()
    yield {name: one.address for name, one in servers.items()}
    for one, thread in zip(servers.values(), threads, strict=True):
        one.end()
        thread.join(HANGS)


@pytest.mark.parametrize("width", [320, 1280])
def test_the_findings_can_be_used_by_everybody(
    width: int, faulty: dict[str, str], open_page: Opened, axe: Callable[..., list[str]]
) -> None:
    for address in faulty.values():
        page = open_page(f"{address}page", width)
        assert page.locator(".fault mark").count() > 0
        for look in LOOKS:
            seen_in(page, look)
            assert axe(page, look=look) == [], look
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_window_can_be_used_by_everybody(
    faulty: dict[str, str], open_page: Opened, axe: Callable[[Any], list[str]]
) -> None:
    window = open_page(faulty["never"])
    shows(window, ".fault mark")
    assert axe(window) == []
