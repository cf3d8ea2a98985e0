"""The files of `evidence/` to study tables; what cannot be true is told on the cell that is wrong (`bad-table`)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from liningbook.evidence.table import OutcomeTable, Searched, Study, StudyTable
from liningbook.finding import Span
from liningbook.model.building import Building
from liningbook.model.grading.read_judgements import read_judgements
from liningbook.model.read_values import read_date, whole_number
from liningbook.model.studies.read_figures import figure, read_study
from liningbook.sources.documents import Document
from liningbook.sources.node import Node, fields_of, get, listed, text_of, texts_of
from liningbook.sources.shape_values import place_of_value

USUAL = ("model", "tau2", "interval", "weights")
"""Fields that have a usual value where they are left out."""

MOST_STUDIES = 1_000
"""No question has so many studies; leaving out each in turn takes time that grows with the square of their number."""


def build_tables(building: Building) -> dict[str, Any]:
    """The study tables by their names, sorted."""
    documents = building.folder.documents.get("evidence", {})
    made = {name: _table(building, name, document) for name, document in sorted(documents.items())}
    return {"tables": {name: table for name, table in made.items() if table is not None}}


def _table(building: Building, name: str, document: Document) -> StudyTable | None:
    root = document.root
    if root is None or root.fields is None:
        return None
    question, search = get(root, "question"), get(root, "search")
    nodes = fields_of(root, "outcomes")
    building.told_apart(_by_label_and_measure(nodes), "outcomes")
    until = get(search, "until")
    read_date(building, until)
    searched = Searched(texts_of(search, "sources"), text_of(search, "until"), text_of(search, "note"))
    return StudyTable(
        id=name,
        file=document.file,
        span=Span(document.file, 1, 1, 1, 2),
        population=text_of(question, "population"),
        intervention=text_of(question, "intervention"),
        comparator=text_of(question, "comparator"),
        outcomes={key: _outcome(building, key, node) for key, node in nodes.items() if node.fields is not None},
        search=searched if search is not None else None,
    )


def _by_label_and_measure(nodes: Mapping[str, Node]) -> dict[str, Node]:
    """The outcomes whose labels must differ: one label may stand for several measures, which headings then name."""
    found: dict[str, Node] = {}
    measures: dict[str, set[str]] = {}
    for name, node in nodes.items():
        label, measure = text_of(node, "label"), text_of(node, "measure")
        known = measures.setdefault(label, set()) if label else {measure}
        if not known or measure in known:
            found[name] = node
        known.add(measure)
    return found


def _outcome(building: Building, name: str, node: Node) -> OutcomeTable:
    measure = text_of(node, "measure")
    zero_cells = figure(building, get(node, "zero_cells"))
    further: dict[str, Any] = {key: text for key in USUAL if (text := text_of(node, key))}
    if zero_cells is not None:
        further["zero_cells"] = zero_cells
    outcome = OutcomeTable(
        id=name,
        label=text_of(node, "label"),
        kind=cast(Any, text_of(node, "kind")),
        importance=whole_number(text_of(node, "importance")) or 0,
        measure=cast(Any, measure),
        span=node.place,
        studies=tuple(_studies(building, node, measure)),
        comparator_risk=figure(building, get(node, "comparator_risk")),
        unit=text_of(node, "unit"),
        threshold=figure(building, get(node, "threshold")),
        design=text_of(node, "design"),
        risk_of_bias_tool=text_of(node, "risk_of_bias_tool"),
        lowered=read_judgements(node, "lowered"),
        raised=read_judgements(node, "raised"),
        certainty=text_of(node, "certainty"),
        because=text_of(node, "because"),
        places={key: place_of_value(child) for key, child in fields_of(node).items()},
        **further,
    )
    _check_outcome(building, node, outcome)
    return outcome


def _studies(building: Building, node: Node, measure: str) -> list[Study]:
    """The studies of an outcome that could be read."""
    found: list[Study] = []
    first: dict[str, Node] = {}
    nodes = listed(get(node, "studies"))
    if len(nodes) > MOST_STUDIES:
        building.find("bad-table", place_of_value(nodes[MOST_STUDIES]), "too-many-studies", most=MOST_STUDIES)
        return found
    for child in nodes:
        key = get(child, "study")
        if child.fields is None or key is None or key.text is None:
            continue
        name = key.text.strip()
        if first.setdefault(name, key) is not key:
            building.find("bad-table", key, "study-twice", ((first[name].span, "other-one"),), name=name)
        study = read_study(building, child, name, measure)
        if study is not None:
            found.append(study)
    return found


def _check_outcome(building: Building, node: Node, outcome: OutcomeTable) -> None:
    """What is said of an outcome as a whole and cannot be so."""

    def wrong(key: str, what: str, **given: Any) -> None:
        if (child := get(node, key)) is not None:
            building.find("bad-table", child, what, written=child.text or "", **given)

    is_fixed = outcome.model == "fixed"
    if is_fixed:
        wrong("tau2", "tau2-with-fixed")
    if outcome.weights == "mantel-haenszel":
        if not is_fixed:
            wrong("weights", "counts-weighted-random")
        elif outcome.measure == "mean-difference":
            wrong("weights", "means-weighted-as-counts")
        elif without := next((study for study in outcome.studies if study.reported is not None), None):
            wrong("weights", "weights-need-counts", study=without.study)
        elif outcome.interval == "hartung-knapp":
            wrong("interval", "interval-of-other-weights")
    if outcome.zero_cells < 0:
        wrong("zero_cells", "negative-figure")
    elif outcome.zero_cells > 1:
        wrong("zero_cells", "too-much-added")
    if outcome.comparator_risk is not None:
        if outcome.measure == "mean-difference":
            wrong("comparator_risk", "risk-of-means")
        elif not 0 <= outcome.comparator_risk <= 1:
            wrong("comparator_risk", "risk-outside")
    if outcome.threshold is not None:
        if outcome.is_ratio and outcome.threshold <= 0:
            wrong("threshold", "ratio-not-positive")
        elif outcome.measure == "risk-difference" and abs(outcome.threshold) > 1:
            wrong("threshold", "difference-outside")
    if outcome.risk_of_bias_tool and outcome.design != "observational":
        wrong("risk_of_bias_tool", "tool-of-observational")
