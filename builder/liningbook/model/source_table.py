"""The source files of a protocol: one row each, with its names, its schema and its builder."""

from __future__ import annotations

from liningbook.model.appraisals.build_appraisals import build_appraisals
from liningbook.model.build_card import build_card, build_copies
from liningbook.model.build_frame import build_frame, define_frame
from liningbook.model.build_materials import build_materials, define_materials
from liningbook.model.build_references import build_references
from liningbook.model.build_rules import build_rules
from liningbook.model.build_vignettes import build_vignettes
from liningbook.model.studies.build_tables import build_tables
from liningbook.sources.source_file import SourceFile

SOURCES: tuple[SourceFile, ...] = (
    SourceFile(
        "materials", ("materials.yaml",), ("material", "materials"),
        schema="materials", missing="materials-missing", define=define_materials, build=build_materials,
    ),
    SourceFile(
        "protocol", ("protocol.yaml",), ("protocol", "protocols"),
        schema="protocol", define=define_frame, build=build_frame,
    ),
    SourceFile("rules", ("rules",), ("rule", "rules"), "rules", schema="rule", build=build_rules, is_relied_on=True),
    SourceFile(
        "references", ("references.bib", "references.json"), ("reference", "references", "refs"), "text",
        build=build_references,
    ),
    SourceFile(
        "evidence", ("evidence",), ("evidence", "studies", "study", "tables", "study-tables", "study-table"), "folder",
        schema="evidence", build=build_tables, known_by="outcomes", is_relied_on=True,
    ),
    SourceFile("vignettes", ("vignettes.yaml",), ("vignette", "vignettes"), schema="vignettes", build=build_vignettes),
    SourceFile("card", ("card.yaml",), ("card", "cards"), schema="card", build=build_card),
    SourceFile("copies", ("copies.yaml",), ("copy", "copies"), schema="copies", build=build_copies),
    SourceFile(
        "appraisals", ("appraisals",), ("appraisal", "appraisals", "agree"), "folder",
        schema="appraisal", build=build_appraisals, known_by="appraiser",
    ),
)  # fmt: skip
"""The table. A file that defines names stands before those that use them to define others."""
