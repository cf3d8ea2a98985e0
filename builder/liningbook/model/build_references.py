"""`references.bib` and `references.json` to the references of a protocol."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.model.building import Building
from liningbook.model.read_values import whole_number
from liningbook.sources.citations.reference_entry import Reference
from liningbook.sources.citations.reference_list import read_references
from liningbook.sources.citations.retraction import retraction_of


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
    building.years = {name: year for name, entry in found.items() if (year := _year(entry.data)) is not None}
    retracted = {name: said for name, entry in found.items() if (said := retraction_of(entry)) is not None}
    return {"references": found, "reference_files": tuple(files), "retracted": retracted}


def _year(data: Mapping[str, object]) -> int | None:
    """The year in which a work was issued, if its entry gives one in numbers."""
    issued = data.get("issued")
    parts = issued.get("date-parts") if isinstance(issued, dict) else None
    first = parts[0] if isinstance(parts, list) and parts else None
    return whole_number(str(first[0])) if isinstance(first, list) and first else None
