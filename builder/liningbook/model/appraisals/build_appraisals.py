"""`appraisals/` to what each appraiser gave the items of AGREE II."""

from __future__ import annotations

from typing import Any, cast

from liningbook.evidence.reporting.agree import ITEMS, Appraisal, Score
from liningbook.finding import Span
from liningbook.model.building import Building
from liningbook.model.read_values import read_date
from liningbook.sources.node import Node, fields_of, get, text_of


def build_appraisals(building: Building) -> dict[str, Any]:
    """The appraisals in the order of their files."""
    found: list[Appraisal] = []
    first: dict[str, Node] = {}
    for name, document in building.folder.documents.get("appraisals", {}).items():
        root = document.root
        if root is None or root.fields is None:
            continue
        found.append(_appraisal(building, name, document.file, root))
        who = get(root, "appraiser")
        if who is None or not who.text:
            continue
        person = " ".join(who.text.split())
        other = first.setdefault(person.casefold(), who)
        if other is not who:
            building.find("schema", who, "appraiser-twice", ((other.span, "other-one"),), name=person)
    return {"appraisals": tuple(found)}


def _appraisal(building: Building, name: str, file: str, root: Node) -> Appraisal:
    overall, recommend = get(root, "overall"), text_of(get(root, "overall"), "recommend")
    return Appraisal(
        id=name,
        file=file,
        span=Span(file, 1, 1, 1, 2),
        appraiser=text_of(root, "appraiser"),
        role=text_of(root, "role"),
        on=read_date(building, get(root, "on")),
        items=_items(building, get(root, "items")),
        quality=_points(text_of(overall, "quality")),
        recommend=cast(Any, recommend) if recommend in ("yes", "with-changes", "no") else None,
    )


def _items(building: Building, node: Node | None) -> dict[str, Score]:
    """The scores by item; a finding for an item that there is not, and for those left out."""
    found: dict[str, Score] = {}
    for item, child in fields_of(node).items():
        if item not in ITEMS:
            building.find("schema", child.place, "no-such-item", name=item)
        elif child.fields is None:
            found[item] = Score(_points(child.text or ""), "", child.place)
        else:
            because = text_of(child, "because") or text_of(child, "not_applicable")
            found[item] = Score(_points(text_of(child, "score")), because, child.place)
    missing = tuple(item for item in ITEMS if item not in found)
    if node is not None and node.fields and missing:
        building.find("schema", node.place, "items-left-out", missing=missing)
    return found


def _points(text: str) -> int | None:
    """A score; nothing where none stands, or one that its schema refuses."""
    return int(text) if text.isascii() and text.isdigit() and len(text) == 1 else None
