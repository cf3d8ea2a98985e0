"""What the last build wrote: a small file in the output folder, so that the next removes what is made no longer.

The record is an aid, never a source: what is broken, of another version or not ours is taken as no record at all, and a
file counts as written by us only while its content still has the digest that the record gives.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from liningbook.outputs.rows import is_name_of_output
from liningbook.sources.strays import BUILD_RECORD

NAME = BUILD_RECORD

MAX_BYTES = 1_000_000
"""A record is not longer; nor is a longer file read."""

_DIGEST = re.compile("[0-9a-f]{64}")


@dataclass(frozen=True)
class Written:
    """A file that a build wrote: the part it belongs to, the SHA-256 of its content."""

    part: str
    sha256: str


def read_record(folder: Path) -> dict[str, Written]:
    """What the last build wrote, by the name below the folder; nothing where there is no record that can be read."""
    try:
        status = os.stat(folder / NAME)
        if not stat.S_ISREG(status.st_mode) or status.st_size > MAX_BYTES:
            return {}
        found = json.loads((folder / NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    known = {}
    match found:
        case {"format": "liningbook-build", "version": 1, "files": dict(files)}:
            for name, entry in files.items():
                match entry:
                    case {"part": str(part), "sha256": str(digest)} if is_name_of_output(name) and _DIGEST.fullmatch(
                        digest
                    ):
                        known[name] = Written(part, digest)
    return known


def record_bytes(files: Mapping[str, Written]) -> bytes:
    """The record as a file: sorted, with no path of the machine and no time."""
    entries = {name: {"part": file.part, "sha256": file.sha256} for name, file in sorted(files.items())}
    return (json.dumps({"format": "liningbook-build", "version": 1, "files": entries}, indent=1) + "\n").encode()


def sha256_of(content: bytes) -> str:
    """The SHA-256 of a file's content, as 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def is_as_written(place: Path, written: Written) -> bool:
    """Whether a file is there and holds what the build wrote."""
    try:
        return place.is_file() and sha256_of(place.read_bytes()) == written.sha256
    except OSError:
        return False


def differs(place: Path, content: bytes) -> bool:
    """Whether a file is not there, or holds something else."""
    return not is_as_written(place, Written("", sha256_of(content)))
