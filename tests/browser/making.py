"""Sites as the tests need them, made in memory from a copy of the demonstration."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.show.markup.markdown import to_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.page import site_files

DAY = date(2026, 10, 1)
"""On this day the demonstration is in force, and each test's browser believes that it is this day."""


def make_site(protocol: Path, day: date = DAY) -> dict[str, bytes]:
    """The files of a protocol's site."""
    analysis = analyse(protocol, day)
    assert analysis.protocol is not None, analysis.findings
    bundle = bundle_of(analysis)
    return site_files(Viewer(analysis, bundle["digest"], to_html), bundle)


def changed(demonstration: Path, folder: Path, changes: Mapping[str, str], remove: tuple[str, ...] = ()) -> Path:
    """A copy of the demonstration with lines of `protocol.yaml` replaced (a pattern and its text) and files removed."""
    protocol = Path(shutil.copytree(demonstration, folder / "protocol"))
    place = protocol / "protocol.yaml"
    text = place.read_text("utf-8")
    for pattern, line in changes.items():
        text, count = re.subn(pattern, line, text, flags=re.MULTILINE)
        assert count == 1, pattern
    place.write_text(text, "utf-8")
    for name in remove:
        (protocol / name).unlink()
    return protocol


def put(files: Mapping[str, bytes], folder: Path) -> Path:
    """Writes the files of a site; returns the place of its page."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return folder / "index.html"
