"""Two versions of a protocol from their folders, and a million past cases against both.

The protocol is that of `tests/bench/page.py` (the demonstration, each rule once for each of four sorts of tooth: 120
rules); in its other version one threshold is moved, in eight rules.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from random import Random
from time import perf_counter

from liningbook.compare.comparison import Comparison
from liningbook.compare.past_cases import PastCases, past_cases
from liningbook.exchange.versions import compare_versions, read_version
from liningbook.sources.csv_rows import open_rows
from tests.bench.engine import DEMONSTRATION, ROOT
from tests.bench.many_cases import table
from tests.bench.page import DAY, larger
from tests.oracle.folder import write_folder


@contextmanager
def two_folders() -> Iterator[tuple[Path, Path]]:
    """The folders of both versions, for as long as they are needed."""
    with tempfile.TemporaryDirectory() as name:
        plain = larger(DEMONSTRATION)
        folders = []
        for version in ("old", "new"):
            folder = write_folder(plain, Path(name) / version)
            (folder / "references.json").write_bytes((DEMONSTRATION / "references.json").read_bytes())
            folders.append(folder)
        moved = 0
        for stem in ("line-a-deep-cavity", "no-liner-in-a-middle-cavity"):
            for path in (folders[1] / "rules").glob(f"{stem}-*.md"):
                text = path.read_text("utf-8")
                if "0.5 mm" in text:
                    path.write_text(text.replace("0.5 mm", "0.6 mm", 1), "utf-8")
                    moved += 1
        assert moved >= 8, moved
        yield folders[0], folders[1]


def compared(old: Path, new: Path) -> Comparison:
    """Both versions read from their folders and compared: all that the command does but the printing."""
    return compare_versions(read_version(str(old), DAY), read_version(str(new), DAY), DAY)


def command(old: Path, new: Path) -> float:
    """Seconds of the whole command by the clock; it keeps its bytecode, as installed ones do."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "builder")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    start = perf_counter()
    subprocess.run(
        [sys.executable, "-m", "liningbook", "compare", str(old), str(new), "--on", DAY.isoformat()],
        stdout=subprocess.DEVNULL,
        env=environment,
        check=True,
    )
    return perf_counter() - start


def rows_of(comparison: Comparison, count: int) -> bytes:
    """A table of random past cases, its thicknesses read off."""
    block = table(comparison.new, min(count, 100_000), read_off=True)
    header, _, body = block.partition(b"\n")
    lines = body.rstrip(b"\n").split(b"\n")
    random = Random(1)
    return header + b"\n" + b"\n".join(random.choice(lines) for _ in range(count)) + b"\n"


def counted(comparison: Comparison, content: bytes) -> PastCases:
    """Every row of the table against both versions."""
    tally = PastCases()
    deque(past_cases(comparison, open_rows(BytesIO(content)), tally), 0)
    return tally
