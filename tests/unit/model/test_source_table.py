"""A source file is one row of one table: what is read, held against its schema and built follows from the row."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook import resources
from liningbook.analysis import analyse, understand
from liningbook.model import build
from liningbook.model.building import Building
from liningbook.model.source_table import SOURCES
from liningbook.sources.node import fields_of, text_of
from liningbook.sources.source_file import SourceFile
from tests.saying import advice_of, message_of

ROOT = Path(__file__).resolve().parents[3]
DAY = date(2026, 11, 25)

SCHEMA = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "x-name": "cupboard.yaml",
    "type": "object",
    "x-say": "the shelves of a cupboard",
    "properties": {"shelves": {"type": "object", "x-say": "shelves by what stands on them", "examples": [{"a": "1"}]}},
    "required": ["shelves"],
    "additionalProperties": False,
    "$defs": {},
}


def build_cupboard(building: Building) -> dict[str, Any]:
    """Which agent stands on which shelf."""
    root = building.folder.root("cupboard")
    for name, child in fields_of(root, "shelves").items():
        building.known_key(name, child, building.agents, "unknown-agent")
    return {"cupboard": {name: text_of(root and root.at(["shelves"]), name) for name in fields_of(root, "shelves")}}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demonstration, read with one more row in the table."""
    row = SourceFile("cupboard", ("cupboard.yaml",), ("cupboard", "cupboards"), schema="cupboard", build=build_cupboard)
    monkeypatch.setattr(build, "SOURCES", (*SOURCES, row))
    shutil.copytree(resources.schema_dir(), tmp_path / "schema")
    (tmp_path / "schema" / "cupboard.schema.json").write_text(json.dumps(SCHEMA))
    monkeypatch.setattr(resources, "schema_dir", lambda: tmp_path / "schema")
    return Path(shutil.copytree(ROOT / "guidelines" / "tern-street", tmp_path / "protocol"))


def said(folder: Path) -> list[tuple[str, int, str]]:
    return [(f.span.file, f.span.line, message_of(f)) for f in understand(folder, DAY).findings]


def test_a_row_brings_a_file_into_the_protocol(folder: Path) -> None:
    agents = list(understand(folder, DAY).protocol.agents)  # type: ignore[union-attr]
    (folder / "cupboard.yaml").write_text(f"shelves: {{{agents[0]}: Top}}\n")
    read = understand(folder, DAY)
    assert read.findings == ()
    assert read.protocol is not None
    assert read.protocol.further == {"cupboard": {agents[0]: "Top"}}


def test_what_is_wrong_with_it_is_found_like_anywhere(folder: Path) -> None:
    (folder / "cupboard.yaml").write_text("selves: {}\n")
    assert said(folder) == [("cupboard.yaml", 1, "'selves' is not a field of cupboard.yaml")]
    (folder / "cupboard.yaml").write_text("shelves:\n  unheard-of: Top\n")
    assert said(folder) == [("cupboard.yaml", 2, "there is no agent called 'unheard-of'")]
    (folder / "cupboard.yaml").write_text("shelves: [\n")
    assert said(folder) == [("cupboard.yaml", 1, "a value is missing here")]


def test_a_slip_in_its_name_is_told(folder: Path) -> None:
    (folder / "cupboards.yml").write_text("shelves: {}\n")
    (unread,) = analyse(folder, DAY).findings[:1]
    assert (unread.kind, unread.span.file) == ("not-read", "cupboards.yml")
    assert advice_of(unread)[0] == "rename it to `cupboard.yaml`"


@pytest.mark.parametrize("row", SOURCES, ids=lambda row: row.name)
def test_every_row_names_a_schema_that_is_there_and_files_of_its_own(row: SourceFile) -> None:
    assert not row.schema or resources.schema(row.schema)
    others = [name for other in SOURCES if other is not row for name in (*other.files, *other.meant)]
    assert not {*row.files, *row.meant} & set(others)
