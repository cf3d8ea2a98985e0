"""A protocol folder in one text, and back: what the fuzzers mutate.

Each file stands below a line `=== its name`. A file that the text does not name is that of the small sound protocol
of `tests/test_bad_input.py`; a file with nothing below its line is left out.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from liningbook.analysis import Analysis, analyse
from tests.test_bad_input import SOUND

ROOT = Path(__file__).parent.parent.parent
DAY = date(2026, 11, 25)
ANALYSIS_SECONDS = 0.5
"""What the checks may take; the rest of the two seconds is for reading and wording."""

FILE = re.compile(rb"^=== ([ -.0-~]{1,60}|(?:rules|evidence)/[ -.0-~]{1,60})\n", re.M)
FOLDERS = ("rules", "evidence")
NO_FILES = (".", "..", *FOLDERS, *(f"{folder}/{dots}" for folder in FOLDERS for dots in (".", "..")))
MOST_IN_FOLDER = 12


def split(data: bytes) -> dict[str, bytes]:
    """The files of one input."""
    files = {name: text.encode() for name, text in SOUND.items()}
    _, *parts = FILE.split(data)
    named_here = dict(zip((name.decode() for name in parts[::2]), parts[1::2], strict=True))
    if any(name.startswith("rules/") for name in named_here):
        files = {name: content for name, content in files.items() if not name.startswith("rules/")}
    for name, content in named_here.items():
        files.pop(name, None)
        if content.strip() and name not in NO_FILES:
            files[name] = content
    for folder in FOLDERS:
        for name in sorted(name for name in files if name.startswith(f"{folder}/"))[MOST_IN_FOLDER:]:
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


def analysed(files: Mapping[str, bytes]) -> Analysis:
    """The analysis of such a folder, which is in memory where the system has a place for that."""
    shared = "/dev/shm"
    with tempfile.TemporaryDirectory(dir=shared if os.access(shared, os.W_OK) else None) as place:
        for folder in {name.partition("/")[0] for name in files if "/" in name} | {"rules"}:
            os.mkdir(f"{place}/{folder}")
        for name, content in files.items():
            with open(f"{place}/{name}", "wb") as stream:
                stream.write(content)
        analysis = analyse(Path(place), DAY, ANALYSIS_SECONDS)
    assert analysis.protocol is not None or analysis.has_errors, "no protocol, and nothing says why"
    return analysis
