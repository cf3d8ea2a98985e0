"""What all tests share: places, random cases, units of work for several cores, and what a missing library means."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

import pytest
from hypothesis import HealthCheck, settings

from tests import seeds

IN_CI = bool(os.environ.get("CI"))

# In CI the same cases every time; on a developer's machine new ones every time, and failures are remembered.
# In neither does the clock decide.
settings.register_profile("dev", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("ci", settings.get_profile("dev"), derandomize=True, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci" if IN_CI else "dev"))


# --- random cases -----------------------------------------------------------------------------------------------------


def pytest_report_header() -> str:
    return seeds.words()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, exitstatus: int) -> None:
    if exitstatus:
        terminalreporter.write_line(seeds.words())


# --- several cores ----------------------------------------------------------------------------------------------------

LONG = ("tests/browser/", "tests/rendering/", "tests/project/")
"""What is begun first, so that no long unit is left over for one core at the end."""

A_SEED = re.compile(r"(tests/(?:laws|published)/\w+\.py)::.*\[(\d+)[-\]]")


def unit(node: str) -> str:
    """The tests that one process must run together, because they share what is dear to make: a random protocol, a
    browser with its sites, the sheets of the sample; otherwise those of a file.
    """
    found = A_SEED.match(node)
    if found:
        return f"{found[1]} {found[2]}"
    return node.partition("::")[0]


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    from xdist.scheduler import LoadScopeScheduling

    class Units(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return unit(nodeid)

    config.option.loadscopereorder = False
    return Units(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: next((n for n, place in enumerate(LONG) if item.nodeid.startswith(place)), len(LONG)))
    left_out = [] if seeds.takes_all() else [item for item in items if item.get_closest_marker("thorough")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if not item.get_closest_marker("thorough")]


# --- places and libraries ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder that holds README.md."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def demonstration(repository: Path) -> Path:
    """The protocol folder of the demonstration."""
    return repository / "guidelines" / "tern-street"


@pytest.fixture(scope="session")
def lacking() -> Callable[[str], NoReturn]:
    """Call it with what this machine lacks: the test is skipped, or in CI, where nothing may be lacking, fails."""

    def lack(what: str) -> NoReturn:
        if IN_CI:
            pytest.fail(f"CI lacks {what}")
        pytest.skip(f"this machine lacks {what}")

    return lack


@pytest.fixture(scope="session")
def pango(lacking: Callable[[str], NoReturn]) -> None:
    """For tests that draw PDF pages: Pango and the other libraries that WeasyPrint opens are there."""
    from ctypes import CDLL

    for library in ("libpangoft2-1.0.so.0", "libharfbuzz-subset.so.0"):
        try:
            CDLL(library)
        except OSError:
            lacking(f"{library}, which draws PDF pages (sh .ci/setup print installs it)")
