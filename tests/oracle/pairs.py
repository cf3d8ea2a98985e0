"""Pairs of versions with what the engine says of them: random protocols, and what random edits make of them."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from liningbook.analysis import understand
from liningbook.compare.comparison import Comparison, compare
from liningbook.exchange.changes_json import changes_json
from liningbook.model.protocol import Protocol
from tests.oracle.edits import Edit, another
from tests.oracle.folder import write_folder
from tests.oracle.generate import DAY, random_protocol
from tests.oracle.versions import Plain, Versions

MOST_CELLS = 2_500


@dataclass(frozen=True)
class Pair:
    """Two versions, what the engine says of them, and the table of all cases."""

    old: Plain
    new: Plain
    comparison: Comparison
    told: dict[str, Any]
    versions: Versions

    @property
    def changes(self) -> list[Mapping[str, Any]]:
        found: list[Mapping[str, Any]] = self.told["changes"]
        return found


def protocol_of(plain: Plain, folder: Path) -> Protocol | None:
    return understand(write_folder(plain, folder), date.fromisoformat(plain["day"])).protocol


def versions_of(seed: int, folder: Path, kinds: list[Edit] | None = None) -> tuple[Plain, Plain, Protocol, Protocol]:
    """A random protocol and what edits make of it; edits that leave it unsound are made anew."""
    old = random_protocol(seed, MOST_CELLS)
    for name, agent in old["materials"]["agents"].items():
        agent["label"] = name.capitalize()  # what has no label is called by its name, so that a new name shows
    first = protocol_of(old, folder / "old")
    assert first is not None
    for attempt in range(40):
        new = another(old, seed + 10_000 * attempt, kinds)
        second = protocol_of(new, folder / f"new-{attempt}")
        if second is not None:
            return old, new, first, second
    raise AssertionError(f"seed {seed} gives no second version")


@cache
def pair_of(seed: int) -> Pair:
    with tempfile.TemporaryDirectory() as folder:
        old, new, *both = versions_of(seed, Path(folder))
    comparison = compare(both[0], both[1], DAY)
    told = changes_json(comparison, "old", "new", DAY)
    return Pair(old, new, comparison, told, Versions(old, new, told["renamed"]))
