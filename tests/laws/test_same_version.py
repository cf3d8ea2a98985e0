"""A version does not differ from itself, however it is named; and whatever is changed in its sources is told."""

from __future__ import annotations

import copy
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from datetime import date
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.compare.comparison import Comparison
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.exchange.versions import Version, compare_versions, read_version
from tests import seeds
from tests.oracle.folder import read_plain, write_folder
from tests.oracle.generate import random_protocol
from tests.test_corpus import CORPUS, entry, written

ROOT = Path(__file__).resolve().parents[2]
DAY = date(2026, 11, 25)
DEMONSTRATION = ROOT / "guidelines" / "tern-street"
FOLDERS = sorted(
    path.parent for place in ("guidelines", "tests/protocols") for path in (ROOT / place).rglob("protocol.yaml")
)


def sound(folder: Path) -> bool:
    """Whether it can be read, and has a rule on the day."""
    meaning = understand(folder, DAY).meaning
    return meaning is not None and bool(meaning.rules)


@pytest.fixture(
    params=[
        *(pytest.param(path, id=str(path.relative_to(ROOT))) for path in (*FOLDERS, *sorted(CORPUS.glob("*.md")))),
        *seeds.window(0, 30, 3),
    ]
)
def folder(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Every protocol of the repository, and some random ones."""
    return folder_of(request.param, tmp_path / "protocol")


def folder_of(what: Path | int, place: Path) -> Path:
    if isinstance(what, int):
        return write_folder(random_protocol(what, 2_000), place)
    return what if what.is_dir() else written(entry(what).files, place)


def assert_alike(first: Version, second: Version, day: date = DAY) -> Comparison:
    for old, new in ((first, second), (second, first)):
        found = compare_versions(old, new, day)
        assert (found.differences, found.notes, found.renamed) == ((), (), ()), new.where
        assert (found.gone, found.added, found.largest_step, found.suggested_edition) == ((), (), "none", "")
    return found


def test_a_folder_is_like_itself_and_its_bundle(folder: Path, tmp_path: Path) -> None:
    if not sound(folder):
        return  # what cannot be read is no version; the next test counts them
    version = read_version(str(folder), DAY)
    assert_alike(version, read_version(str(folder), DAY))
    place = tmp_path / "bundle.json"
    place.write_bytes(bundle_bytes(bundle_of(understand(folder, DAY))))
    bundle = read_version(str(place), DAY)
    assert bundle.caution == ""
    assert_alike(version, bundle)


def test_most_of_the_folders_can_be_read(tmp_path: Path) -> None:
    everything = [*FOLDERS, *CORPUS.glob("*.md")]
    assert sum(sound(folder_of(what, tmp_path / what.stem)) for what in everything) >= 50
    assert all(sound(folder_of(seed, tmp_path / str(seed))) for seed in range(3))


def test_and_like_every_commit_that_left_it_as_it_was(tmp_path: Path) -> None:
    root = tmp_path / "work"
    chosen = [DEMONSTRATION, *(f for f in FOLDERS if f.parent.name == "pass")]
    for folder in chosen:
        shutil.copytree(folder, root / folder.name)

    def git(*arguments: str) -> None:
        who = ("-c", "user.name=A", "-c", "user.email=a@example.org", "-c", "commit.gpgsign=false")
        subprocess.run(["git", *who, *arguments], cwd=root, check=True, capture_output=True)

    git("init", "-q", "-b", "main")
    git("add", ".")
    git("commit", "-qm", "First")
    git("commit", "-qm", "Nothing", "--allow-empty")
    for folder in chosen:
        version = read_version(str(folder), DAY)
        for name in (f"main:{folder.name}", f"HEAD~1:{folder.name}/"):
            assert_alike(version, read_version(name, DAY, root))
        assert_alike(version, read_version("HEAD", DAY, root / folder.name))


# --- whatever is changed is told --------------------------------------------------------------------------------------

OTHERS = (
    "amalgam", "composite", "no", "yes", "none", "spot", "floor", "walls", "acid", "thermal", "low", "high", "strong",
    "conditional", "research", "good-practice", "randomised", "observational", "draft", "in-force", "below", "above",
    "restore", "change", "cavity-varnish", "calcium-hydroxide", "liner", "base", "sealer",
)  # fmt: skip
"""What may stand in place of a word that is a name."""


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from leaves(inner, (*path, key))
    if isinstance(value, str):
        yield path


def instead_of(text: str) -> Iterator[str]:
    if found := re.fullmatch(r"(-?[0-9.]+)( \S+)?", text):
        yield f"{float(found[1]) + 0.5:g}{found[2] or ''}"
        yield f"{int(float(found[1])) + 1}{found[2] or ''}"
    elif re.match(r"[0-9]{4}-", text):
        yield "2027-02-03"
    else:
        yield f"{text} more"
        yield from (other for other in OTHERS if other != text)


SOME = seeds.window(0, 40, 4)
"""Which of so many texts and numbers of the demonstration are replaced by another that the protocol could hold."""


@cache
def plain_and_version() -> tuple[dict[str, Any], Version]:
    plain = read_plain(DEMONSTRATION, DAY)
    return plain, Version("base", _understood(plain))


@cache
def told(number: int) -> tuple[str, bool]:
    """What was written instead, and whether that is told; nothing where nothing else could be written."""
    plain, base = plain_and_version()
    # What a practice does with findings, and the words of a rule's name, are no part of how a case is treated.
    paths = [path for path in leaves(plain) if path[0] != "day" and path[:2] != ("protocol", "accepted")]
    path = Random(1).sample(paths, 40)[number]
    other = copy.deepcopy(plain)
    place = other
    for key in path[:-1]:
        place = place[key]
    for text in instead_of(place[path[-1]]):
        place[path[-1]] = text
        protocol = _understood(other)
        if protocol is not None:
            found = compare_versions(base, Version("other", protocol), DAY)
            return f"{path}: {text}", bool(found.differences or found.notes or found.renamed)
    return "", True


@pytest.mark.parametrize("number", SOME)
def test_whatever_is_written_otherwise_in_the_sources_is_told(number: int) -> None:
    what, is_told = told(number)
    assert is_told, what


def test_most_texts_could_be_written_otherwise() -> None:
    assert sum(bool(told(number)[0]) for number in SOME) >= 0.7 * len(SOME)


def _understood(plain: dict[str, Any]) -> Any:
    with tempfile.TemporaryDirectory() as folder:
        write_folder(plain, Path(folder))
        shutil.copy(DEMONSTRATION / "references.json", folder)
        return understand(Path(folder), DAY).protocol
