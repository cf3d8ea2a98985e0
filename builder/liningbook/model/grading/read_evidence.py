"""The `evidence` of a rule: what it rests on, and the grade that its author states."""

from __future__ import annotations

from typing import Any, cast

from liningbook.evidence import grade, ocebm
from liningbook.evidence.recommending import GOOD_PRACTICE
from liningbook.finding import Span
from liningbook.model.building import Building
from liningbook.model.grading.read_judgements import levels_of, read_judgements
from liningbook.model.read_values import names_of, whole_number
from liningbook.model.rule import Adjustment, Evidence, Situation
from liningbook.sources.node import Node, get, text_of

GRADE_FIELDS = ("certainty", "strength", "lowered", "raised", "risk_of_bias_tool", "situation")
OCEBM_FIELDS = ("level", "question", "adjusted")


def read_evidence(building: Building, node: Node | None, fallback: Span) -> Evidence:
    """What a rule rests on; findings (`schema`) for what the protocol's evidence scheme does not know."""
    if node is None or node.fields is None:
        return Evidence("research", fallback)
    _check_scheme(building, node)
    _check_situation(building, node)
    lowered, raised = read_judgements(node, "lowered"), read_judgements(node, "raised")
    answers = get(node, "good_practice")
    return Evidence(
        basis=cast(Any, text_of(node, "basis") or "research"),
        span=node.place,
        certainty=text_of(node, "certainty") or None,
        strength=text_of(node, "strength") or None,
        design=text_of(node, "design") or None,
        lowered=levels_of(lowered),
        raised=levels_of(raised),
        judged={**lowered, **raised},
        risk_of_bias_tool=text_of(node, "risk_of_bias_tool"),
        setting=cast(Any, text_of(node, "setting")),
        situation=_situation(get(node, "situation")),
        good_practice={key: said for key in GOOD_PRACTICE if (said := text_of(answers, key))},
        level=whole_number(text_of(node, "level")),
        question=text_of(node, "question") or None,
        adjusted=_adjustment(get(node, "adjusted")),
        note=text_of(node, "note"),
        cites=names_of(get(node, "cites")),
        tables=building.names(get(node, "tables"), building.folder.stems.get("evidence", ()), "unknown-table"),
        because=text_of(node, "because"),
        places={key: child.span for key, child in node.fields.items()},
    )


def _adjustment(node: Node | None) -> Adjustment | None:
    to = whole_number(text_of(node, "to"))
    if node is None or to is None:
        return None
    return Adjustment(to, text_of(node, "because"), node.span, text_of(node, "for"))


def _situation(node: Node | None) -> Situation | None:
    if node is None or node.fields is None:
        return None
    about = {way: said for way in ("for", "against") if (said := text_of(node, way))}
    way, said = next(iter(about.items()), ("", ""))
    benefit, harm = text_of(node, "benefit"), text_of(node, "harm")
    return Situation(text_of(node, "name"), benefit, harm, cast(Any, way), said, node.place)


def _check_situation(building: Building, node: Node) -> None:
    """A finding (`schema`) for a situation that allows nothing, since the rule is not strong on weak certainty."""
    situation, basis = get(node, "situation"), text_of(node, "basis") or "research"
    if situation is None or building.scheme != "grade" or basis != "research":
        return
    strength, certainty = text_of(node, "strength"), text_of(node, "certainty")
    if strength in ("", "conditional") or certainty in ("", "moderate", "high"):
        building.find("schema", situation.place, "situation-of-nothing")


def _check_scheme(building: Building, node: Node) -> None:
    """A finding (`schema`) for what the protocol's evidence scheme does not know: fields, and a study design."""
    scheme, design = building.scheme, get(node, "design")
    if scheme is None:
        return
    foreign, other = (OCEBM_FIELDS, "ocebm-2011") if scheme == "grade" else (GRADE_FIELDS, "grade")
    for key in foreign:
        if (child := get(node, key)) is not None:
            building.find("schema", child.place, "field-of-other-scheme", field=key, other=other, scheme=scheme)
    if design is None or design.text is None:
        return
    known = tuple(grade.START) if scheme == "grade" else ocebm.DESIGNS
    if (design.text.strip() if scheme == "grade" else ocebm.canonical_design(design.text)) not in known:
        building.find("schema", design, "unknown-design", scheme=scheme, written=design.text, known=known)
