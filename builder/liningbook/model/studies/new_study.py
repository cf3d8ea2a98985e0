"""A file with one study for one outcome of a study table, of which it is asked what it would change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from liningbook.evidence.table import OutcomeTable, Study, StudyTable
from liningbook.finding import Finding
from liningbook.model.building import Building
from liningbook.model.studies.read_figures import read_study
from liningbook.sources.documents import Folder, read_file
from liningbook.sources.node import Node, get
from liningbook.sources.shape import check_shape

SCHEMA = "new_study"


@dataclass(frozen=True)
class MeantFor:
    """A study, and the outcome of a table that it is meant for."""

    study: Study
    table: StudyTable
    outcome: OutcomeTable


def read_new_study(
    content: bytes, file: str, tables: Mapping[str, StudyTable]
) -> tuple[MeantFor | None, Folder, list[Finding]]:
    """The study that a file describes, the file itself, and what is wrong with it: then there is no study."""
    folder, findings = read_file(file, content, SCHEMA)
    root = folder.root(SCHEMA)
    if root is None or findings:
        return None, folder, findings
    if shape := check_shape(root, SCHEMA):
        return None, folder, shape
    building = Building(folder)
    found = _meant_for(building, root, tables)
    return (None if building.findings else found), folder, building.findings


def _meant_for(building: Building, root: Node, tables: Mapping[str, StudyTable]) -> MeantFor | None:
    table, key = _table(building, root, tables), get(root, "study")
    if table is None or key is None or key.text is None:
        return None
    named = building.name(get(root, "outcome"), table.outcomes, "unknown-outcome", of=table.id)
    if named is None:
        return None
    outcome, name = table.outcomes[named], key.text.strip()
    if same := next((study for study in outcome.studies if study.study == name), None):
        building.find("bad-table", key, "study-there-already", name=name, file=same.span.file, line=same.span.line)
    study = read_study(building, root, name, outcome.measure)
    if study is not None and study.reported is not None and outcome.weights == "mantel-haenszel":
        building.find("bad-table", get(root, "estimate") or root, "weights-need-counts", study=name)
    return MeantFor(study, table, outcome) if study is not None else None


def _table(building: Building, root: Node, tables: Mapping[str, StudyTable]) -> StudyTable | None:
    """The table that is named, or the only one that has the outcome."""
    if (named := get(root, "table")) is not None:
        name = building.name(named, tables, "unknown-table")
        return tables[name] if name is not None else None
    outcome = get(root, "outcome")
    if outcome is None:
        return None
    having = [table for table in tables.values() if outcome.text in table.outcomes]
    if len(having) > 1:
        building.find("schema", outcome, "which-table", name=outcome.text, tables=tuple(one.id for one in having))
    elif not having:
        building.name(outcome, {name for table in tables.values() for name in table.outcomes}, "unknown-outcome", of="")
    return having[0] if len(having) == 1 else None
