"""A protocol folder in one text, and back: what the fuzzers mutate, read without touching the disk.

Each file stands below a line `=== its name`. A file that the text does not name is that of the small sound protocol
of `tests/test_bad_input.py`; a file with nothing below its line is left out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from liningbook.analysis import Analysis, check_bodies, check_shapes, in_order, inspect, named
from liningbook.finding import Finding, Severity
from liningbook.logic.meaning import Meaning
from liningbook.model.build import build_protocol
from liningbook.reading.documents import Folder, _Reader
from tests.test_bad_input import SOUND

ROOT = Path(__file__).parent.parent.parent
DAY = date(2026, 11, 25)
ANALYSIS_SECONDS = 0.5
"""What the checks may take; the rest of the two seconds is for reading and wording."""

FILE = re.compile(rb"^=== ([ -.0-~]{1,60}|rules/[ -.0-~]{1,60})\n", re.M)
MOST_RULES = 12


class InMemory(_Reader):
    """Reads a folder that is only a table of contents by name."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        super().__init__(Path())
        self.path = Path("/nowhere")
        self.files = files

    def names_in_rules(self) -> list[str]:
        return sorted(name.removeprefix("rules/") for name in self.files if name.startswith("rules/"))

    def exists(self, file: str) -> bool:
        return file in self.files

    def inside(self, file: str) -> bool:  # noqa: ARG002
        return True

    def text(self, file: str) -> str | None:
        return self.decode(file, self.files[file])


def split(data: bytes) -> dict[str, bytes]:
    """The files of one input."""
    files = {name: text.encode() for name, text in SOUND.items()}
    _, *parts = FILE.split(data)
    named_here = dict(zip((name.decode() for name in parts[::2]), parts[1::2], strict=True))
    if any(name.startswith("rules/") for name in named_here):
        files = {name: content for name, content in files.items() if not name.startswith("rules/")}
    for name, content in named_here.items():
        files.pop(name, None)
        if content.strip():
            files[name] = content
    rules = sorted(name for name in files if name.startswith("rules/"))
    for name in rules[MOST_RULES:]:
        del files[name]
    files.setdefault("protocol.yaml", SOUND["protocol.yaml"].encode())
    return files


def joined(folder: Path, only: str = "*") -> bytes:
    """A folder of the disk as one input."""
    files = sorted(path for path in folder.rglob(only) if path.is_file())
    return b"".join(
        b"=== " + path.relative_to(folder).as_posix().encode() + b"\n" + path.read_bytes().rstrip(b"\n") + b"\n"
        for path in files
    )


def read(files: Mapping[str, bytes]) -> tuple[Folder, list[Finding]]:
    """What `read_folder` gives for such a folder."""
    reader = InMemory(files)
    reader.read_all()
    return reader.folder, reader.findings


def analysed(files: Mapping[str, bytes]) -> Analysis:
    """What `analyse` gives for such a folder."""
    folder, findings = read(files)
    findings += check_shapes(folder, findings)
    findings += check_bodies(folder)
    protocol, built = build_protocol(folder, findings)
    findings += built
    title, edition = named(folder)
    if protocol is None:
        assert any(finding.severity is Severity.ERROR for finding in findings), "no protocol, and nothing says why"
        return Analysis(DAY, in_order(findings), folder.texts, title, edition)
    meaning = Meaning(protocol, DAY)
    found = inspect(meaning, ANALYSIS_SECONDS)
    return Analysis(DAY, found, folder.texts, title, edition, protocol, meaning, folder)
