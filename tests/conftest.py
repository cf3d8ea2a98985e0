"""What all tests share: places, profiles of the property tests, and what a missing library means."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest
from hypothesis import HealthCheck, settings

IN_CI = bool(os.environ.get("CI"))

# In CI the same cases every time; on a developer's machine new ones every time, and failures are remembered.
settings.register_profile(
    "ci",
    derandomize=True,
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("dev", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci" if IN_CI else "dev"))


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
