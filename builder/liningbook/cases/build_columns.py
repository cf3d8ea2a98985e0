"""A file of the practice's own words to the columns of a table; what is wrong in it becomes a finding."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.cases.columns import ColumnForm, why_not_read_off
from liningbook.finding import Finding
from liningbook.model.building import Building
from liningbook.model.read_values import read_unit
from liningbook.model.rule import Factor
from liningbook.notation.quantity import Unit
from liningbook.sources.documents import Folder, read_file
from liningbook.sources.look_alike import folded
from liningbook.sources.node import Node, fields_of, get, listed
from liningbook.sources.shape import check_shape
from liningbook.space.cells import Space

SCHEMA = "columns"


def read_columns(content: bytes, file: str, space: Space) -> tuple[dict[str, ColumnForm], Folder, list[Finding]]:
    """The columns that a file describes, the file itself, and what is wrong with it."""
    folder, findings = read_file(file, content, SCHEMA)
    root = folder.root(SCHEMA)
    if root is None or findings:
        return {}, folder, findings
    if shape := check_shape(root, SCHEMA):
        return {}, folder, shape
    building = Building(folder, factors={axis.factor.id: axis.factor for axis in space.axes})
    columns: dict[str, ColumnForm] = {}
    for name, node in fields_of(root, "columns").items():
        column = _column(building, space, node)
        if column is not None:
            columns[name.strip()] = column
            others = [other for other in columns.values() if other.factor == column.factor]
            if len(others) > 1:
                building.find("schema", node.place, "factor-of-two-columns", factor=column.factor)
    return columns, folder, building.findings


def _column(building: Building, space: Space, node: Node) -> ColumnForm | None:
    named = get(node, "factor")
    factors: Mapping[str, Factor] = building.factors or {}
    name = building.name(named, factors, "unknown-factor")
    if name is None or named is None:
        return None
    factor = factors[name]
    is_reading = get(node, "as") is not None
    if is_reading and (no := why_not_read_off(space.axes[space.index[name]])):
        building.find("schema", get(node, "as") or node, no.what, **no.given)
    unit = _unit(building, factor, get(node, "unit"))
    if get(node, "decimal") is not None and factor.unit is None:
        building.find("schema", get(node, "decimal") or node, "not-of-a-choice", label=factor.label)
    return ColumnForm(name, is_reading, unit, _words(building, factor, node), get(node, "decimal") is not None)


def _unit(building: Building, factor: Factor, node: Node | None) -> Unit | None:
    if node is None:
        return None
    if factor.unit is None:
        building.find("schema", node, "not-of-a-choice", label=factor.label)
        return None
    unit = read_unit(building, node)
    if unit is not None and unit.dimension != factor.unit.dimension:
        building.find("unit", node, "other-dimension", unit=unit.code, like=factor.unit.code, units=())
    return unit


def _words(building: Building, factor: Factor, node: Node) -> dict[str, str]:
    words: dict[str, str] = {}
    for value, children in fields_of(node, "words").items():
        if factor.kind == "quantity":
            building.find("schema", children.place, "words-of-a-quantity", label=factor.label)
        elif value not in factor.values:
            building.unknown(children.place, value, factor.values, "unknown-value", of=factor.label)
        else:
            for child in listed(children):
                word = folded(child.text or "")
                if words.setdefault(word, value) != value:
                    building.find("schema", child, "word-twice", word=child.text, value=words[word])
    return words
