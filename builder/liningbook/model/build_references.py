"""`references.bib` and `references.json` to the references of a protocol."""

from __future__ import annotations

from typing import Any

from liningbook.model.building import Building
from liningbook.sources.citations.reference_entry import Reference
from liningbook.sources.citations.reference_list import read_references


def build_references(building: Building) -> dict[str, Any]:
    """The references by id, and the names of the files in use."""
    found: dict[str, Reference] = {}
    files = sorted(building.folder.plain.get("references", ()))
    for file in files:
        entries, findings = read_references(file, building.folder.texts[file])
        building.findings += findings
        for name, entry in entries.items():
            if name in found:
                building.find("unreadable", entry.span, "reference-in-two-files", name=name)
            found.setdefault(name, entry)
    return {"references": found, "reference_files": tuple(files)}
