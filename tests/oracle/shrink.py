"""Makes a protocol on which Liningbook and the oracle disagree as small as it gets.

    python -m tests.oracle.shrink SEED [AREA] [--out DIR]

Parts of the plain data are taken out one after the other for as long as the same area still disagrees.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

from tests.oracle.compare import AREAS
from tests.oracle.folder import write_folder, yaml_text
from tests.oracle.generate import random_protocol
from tests.oracle.world import world_of

Plain = dict[str, Any]


def disagreement(plain: Plain, area: str) -> str | None:
    """The first disagreement in an area; nothing if there is none or the sources are no protocol."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            world = world_of("", plain, Path(folder))
            if world.analysis.protocol is None:
                return None
            return next(AREAS[area](world), None)
        except (KeyError, IndexError, AssertionError):
            return None


def shrink(plain: Plain, fails: Callable[[Plain], bool]) -> Plain:
    """A smaller protocol that still fails."""
    found = True
    while found:
        found = False
        for smaller in _smaller(plain):
            if fails(smaller):
                plain, found = smaller, True
                break
    return plain


def _smaller(plain: Plain) -> Iterator[Plain]:
    """Each way to leave one thing out, the large ones first."""
    paths = sorted(_paths(plain, ()), key=lambda path: (len(path), str(path)))
    for path in paths:
        smaller = deepcopy(plain)
        inner = smaller
        for key in path[:-1]:
            inner = inner[key]
        del inner[path[-1]]
        yield smaller
    for path in paths:
        value: Any = plain
        for key in path:
            value = value[key]
        if isinstance(value, list) and len(value) == 1:
            smaller = deepcopy(plain)
            inner = smaller
            for key in path[:-1]:
                inner = inner[key]
            inner[path[-1]] = value[0]
            yield smaller


def _paths(value: Any, path: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    if path and path != ("day",):
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _paths(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _paths(inner, (*path, number))


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("seed", type=int)
    parser.add_argument("area", nargs="?", choices=AREAS)
    parser.add_argument("--out", type=Path, help="write the small protocol as a folder")
    options = parser.parse_args(arguments)
    plain = random_protocol(options.seed)
    area = next((area for area in AREAS if options.area in (None, area) and disagreement(plain, area)), None)
    if area is None:
        sys.stdout.write("no disagreement\n")
        return 0
    small = shrink(plain, lambda smaller: _begins_like(disagreement(plain, area), disagreement(smaller, area)))
    for name, part in (("protocol.yaml", small["protocol"]), ("materials.yaml", small["materials"])):
        sys.stdout.write(f"# {name}\n{yaml_text(part)}\n")
    for name, rule in small["rules"].items():
        sys.stdout.write(f"# rules/{name}.md\n{yaml_text(rule)}\n")
    sys.stdout.write(f"{disagreement(small, area)}\n")
    if options.out:
        write_folder(small, options.out)
    return 1


def _begins_like(one: str | None, other: str | None) -> bool:
    """Whether two disagreements are about the same kind of thing."""
    return one is not None and other is not None and one.split()[:2] == other.split()[:2]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
