"""A browser, and the sites that the tests look at: each is made once a session, as files and on a loopback server.

No test sleeps or counts on a fast machine: all wait for what they want to see, and `LIMIT` alone says how long at most.
`LININGBOOK_SLOW=10` tries them with a browser slowed down so many times.
"""

from __future__ import annotations

import functools
import os
import re
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ClassVar, NoReturn

import pytest

from tests.browser.making import DAY, changed, make_site, put

WIDTHS = (320, 1280)
SLOW = int(os.environ.get("LININGBOOK_SLOW", "1"))
LIMIT = 60_000 * SLOW
"""Milliseconds; reached only where something hangs."""
LOOKS: dict[str, dict[str, Any]] = {
    "light": {"color_scheme": "light"},
    "dark": {"color_scheme": "dark"},
    "forced": {"color_scheme": "light", "forced_colors": "active"},
}
SHORTEN = """() => {
  const many = [".rule:nth-of-type(n+3)", ".references li:nth-child(n+4)", "tbody tr:nth-child(n+3)",
    ".factors > div:nth-child(n+3)", "table.exceptions tbody tr:nth-child(n+3)", "#look-questions > :nth-child(n+3)"];
  for (const one of document.querySelectorAll(`main :is(${many.join(", ")})`)) one.remove();
}"""
"""Leaves the first few of what a page has many of, all made by one template: axe-core looks at every element."""
QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser(lacking: Callable[[str], NoReturn]) -> Iterator[Any]:
    """Chromium, started once."""
    try:
        from playwright.sync_api import Error, sync_playwright
    except ImportError:
        lacking("Playwright, which drives a browser (pip install 'liningbook[test]')")
    program = os.environ.get("BROWSER_PATH") or shutil.which("chromium")
    if program is None:
        lacking("Chromium (sh .ci/setup browser installs it)")
    with sync_playwright() as driver:
        try:
            started = driver.chromium.launch(
                executable_path=program, chromium_sandbox=os.geteuid() != 0, args=list(QUIET), timeout=LIMIT
            )
        except Error as error:
            lacking(f"a Chromium that starts ({error.message.splitlines()[0]})")
        plain_context = started.new_context

        def new_context(**options: Any) -> Any:
            context = plain_context(**options)
            context.set_default_timeout(LIMIT)
            if SLOW > 1:
                context.on("page", slowed)
            return context

        started.new_context = new_context
        yield started
        started.close()


def slowed(page: Any) -> None:
    """Gives a page a slow processor."""
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOW})


def settled(page: Any) -> None:
    """Waits until a page has nothing left to load or to do: what has not happened then will not happen."""
    page.wait_for_load_state("networkidle")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestIdleCallback(done)))")


@dataclass
class Told:
    """What pages did that they were not asked for."""

    errors: list[str] = field(default_factory=list)
    """Errors and warnings of the console, and failures of scripts."""
    requests: list[str] = field(default_factory=list)
    """The address of everything that was asked for."""


@pytest.fixture
def told() -> Told:
    return Told()


@pytest.fixture
def open_page(browser: Any, told: Told) -> Iterator[Callable[..., Any]]:
    """Opens an address at a width and in a look on a day; fails the test if the page tells of an error.

    `open_page(address, width=1280, look="light", day="2026-10-01", scripts=True)` returns Playwright's page. Its clock
    stands still at noon of that day; with no day the test sets the clock.
    """
    contexts = []

    def opened(address: str, width: int = 1280, look: str = "light", day: str = str(DAY), scripts: bool = True) -> Any:
        context = browser.new_context(
            viewport={"width": width, "height": 900},
            locale="en-GB",
            timezone_id="Europe/London",
            java_script_enabled=scripts,
            **LOOKS[look],
        )
        contexts.append(context)
        context.on("console", lambda m: told.errors.append(m.text) if m.type in ("error", "warning") else None)
        context.on("weberror", lambda e: told.errors.append(str(e.error)))
        context.on("request", lambda request: told.requests.append(request.url))
        page = context.new_page()
        if scripts and day:
            page.clock.set_fixed_time(f"{day}T12:00:00")
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert told.errors == []


class _Quiet(SimpleHTTPRequestHandler):
    """Serves a folder without a log."""

    extensions_map: ClassVar[dict[str, str]] = {
        **SimpleHTTPRequestHandler.extensions_map,
        ".webmanifest": "application/manifest+json",
    }

    def log_message(self, *_: object) -> None:
        """Nothing is logged."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of a folder on a loopback server."""
    with ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder))) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}/"
        server.shutdown()
        thread.join()


@dataclass(frozen=True)
class Site:
    """A site that was built: where its page lies, and its digest."""

    page: Path
    digest: str

    @property
    def address(self) -> str:
        """The page as a file."""
        return self.page.as_uri()


def seen_in(page: Any, look: str) -> None:
    """Changes the look of a page that is open."""
    chosen = LOOKS[look]
    page.emulate_media(color_scheme=chosen["color_scheme"], forced_colors=chosen.get("forced_colors", "none"))


def _built(files: dict[str, bytes], folder: Path) -> Site:
    found = re.search(r'data-digest="([0-9a-f]{64})"', files["index.html"].decode())
    assert found
    return Site(put(files, folder), found[1])


@pytest.fixture(scope="session")
def site(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Site:
    """The demonstration's site: in force."""
    return _built(make_site(demonstration), tmp_path_factory.mktemp("site"))


@pytest.fixture(scope="session")
def sites(site: Site, demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Site]:
    """Sites by their state: `in force`, `draft`, `open findings`, `withdrawn` and the `next` edition."""
    changes: dict[str, tuple[dict[str, str], tuple[str, ...]]] = {
        "draft": ({"^status: .*": "status: draft"}, ()),
        "open findings": ({}, ("rules/assess-an-exposed-pulp.md",)),
        "withdrawn": ({"^status: .*": "status: withdrawn"}, ()),
        "next": ({"^edition: .*": "edition: 2027.1"}, ()),
    }
    made = {"in force": site}
    for name, (lines, removed) in changes.items():
        folder = tmp_path_factory.mktemp(name.replace(" ", "-"))
        made[name] = _built(make_site(changed(demonstration, folder, lines, removed)), folder / "site")
    return made


@pytest.fixture
def server(site: Site) -> Iterator[str]:
    """The demonstration's site on a loopback server: its address."""
    with served(site.page.parent) as address:
        yield address


OF_COLOURS = ("color-contrast", "link-in-text-block")
"""The rules of axe-core whose verdict hangs on colours: they alone can differ between the looks of one state."""


@pytest.fixture(scope="session")
def axe() -> Callable[..., list[str]]:
    """Every violation that axe-core finds on a page as it stands, in words; nothing where all is well.

    `axe(page, part, look)`: in a part of the page alone; in another look than the light one by what hangs on colours
    alone, where the state was looked at in the light one.
    """
    from axe_playwright_python.sync_playwright import Axe

    text = Axe().axe_script

    def violations(page: Any, part: str = "html", look: str = "light") -> list[str]:
        if page.evaluate("typeof axe") == "undefined":
            page.evaluate(text)
        options: dict[str, Any] = {"resultTypes": ["violations"], "elementRef": False, "selectors": True}
        if look != "light":
            options["runOnly"] = {"type": "rule", "values": list(OF_COLOURS)}
        found = page.evaluate("async ([part, options]) => (await axe.run(part, options)).violations", [part, options])
        return [f"{one['id']}: {node['target']} {node['failureSummary']}" for one in found for node in one["nodes"]]

    return violations
