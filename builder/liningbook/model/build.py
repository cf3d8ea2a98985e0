"""The documents of a folder to one protocol. Names are resolved here and nowhere else."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import Any

from liningbook.finding import Fault, Finding, fault
from liningbook.model.approval.sealing import seal_of
from liningbook.model.building import Building
from liningbook.model.protocol import Protocol
from liningbook.model.source_table import SOURCES
from liningbook.sources import documents
from liningbook.sources.cut_texts import cut_texts
from liningbook.sources.documents import Folder
from liningbook.sources.files import GivenFiles
from liningbook.sources.markdown_text import problems
from liningbook.sources.shape import WITHOUT_DECISION, check_shape


def read_folder(path: Path) -> tuple[Folder, list[Finding]]:
    """Every source of a protocol folder, with findings (`unreadable`, `schema`). Raises NoProtocol."""
    return documents.read_folder(path, SOURCES)


def read_files(files: GivenFiles) -> tuple[Folder, list[Finding]]:
    """Every source among files that lie nowhere. Raises NoProtocol."""
    return documents.read_files(files, SOURCES)


def check_shapes(folder: Folder, earlier: list[Finding]) -> list[Finding]:
    """What the schemas say of every document; a place already reported is not reported again."""
    reported = {place_of(finding) for finding in earlier}
    return [
        finding
        for row in SOURCES
        for document in folder.documents.get(row.name, {}).values()
        if document.root is not None and row.schema
        for finding in check_shape(document.root, row.schema)
        if place_of(finding) not in reported
    ]


def replacing(earlier: list[Finding], built: list[Finding]) -> list[Finding]:
    """The findings of reading and building, of those about one place what building says."""
    places = {place_of(finding) for finding in built}
    return [*(finding for finding in earlier if place_of(finding) not in places), *built]


def place_of(finding: Finding) -> tuple[str, int, int]:
    """Where a finding begins."""
    return finding.span.file, finding.span.line, finding.span.column


def _may_be_said_better(finding: Finding) -> bool:
    return isinstance(finding.fact, Fault) and finding.fact.what == WITHOUT_DECISION


def check_bodies(folder: Folder) -> list[Finding]:
    """What is not allowed in the rules' reasons: raw HTML, pictures, unsafe links."""
    return [
        fault("schema", document.place(problem.line, problem.column), problem.what, (), **problem.given)
        for group in folder.documents.values()
        for document in group.values()
        for problem in problems(document.body)
    ]


def build_protocol(folder: Folder, earlier: list[Finding]) -> tuple[Protocol | None, list[Finding]]:
    """The protocol of the folder, or `None` where a source is wrong, with what is newly found.

    `earlier` are the findings of reading and of the schemas: a place already reported is not reported again, but for
    names without their decision. Of those more can be said here, and that replaces what the schema says (`replacing`).
    """
    reported = {place_of(finding) for finding in earlier if not _may_be_said_better(finding)}
    building = Building(folder, reported=reported, broken=set(folder.unread_names))
    for row in SOURCES:
        if row.define is not None:
            row.define(building)
    found: dict[str, Any] = {}
    for row in SOURCES:
        found |= row.build(building)
    if earlier or building.findings:
        return None, building.findings
    own = {field.name for field in fields(Protocol)}
    if any(approval.digest for approval in found["approved"]):
        found["sealed"] = seal_of(folder, found["references"])
    further = {name: found.pop(name) for name in [*found] if name not in own}
    return Protocol(**found, unread=tuple(folder.unread), cuts=tuple(cut_texts(folder)), further=further), []
