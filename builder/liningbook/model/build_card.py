"""`card.yaml` and `copies.yaml` to what the card shows and where its copies hang."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

from liningbook.model.building import Building
from liningbook.model.protocol import Card, Copy
from liningbook.model.read_values import read_date
from liningbook.model.read_when import read_when
from liningbook.model.rule import Conditions, Factor
from liningbook.notation.interval import RangeSet
from liningbook.sources.node import Node, get, listed, text_of, texts_of
from liningbook.sources.text import one_line


def build_card(building: Building) -> dict[str, Any]:
    """What the card shows; everything, where there is no `card.yaml`."""
    root = building.folder.root("card")
    if root is None or root.fields is None:
        return {"card": Card()}
    sizes = tuple(node.text for node in _apart(building, get(root, "size"), "size-twice") if node.text)
    shown = [
        node.text or ""
        for node in _apart(building, get(root, "decisions"), "decision-twice")
        if building.known(node, building.decisions, "unknown-decision")
    ]
    scale = text_of(root, "scale")
    card = Card(
        sizes=sizes or ("A4",),
        scale=cast(Any, scale) if scale in ("value", "reading") else "value",
        decisions=tuple(shown),
        pain=texts_of(root, "rings_with_pain"),
        crop_marks=text_of(root, "crop_marks") == "yes",
    )
    return {"card": card if building.factors is None else _with_axes(building, root, card, building.factors)}


def _with_axes(building: Building, root: Node, card: Card, factors: dict[str, Factor]) -> Card:
    """The card with all that speaks of factors: its columns, its bands and its usual case."""
    columns, values = _axis(building, get(root, "columns_by"), factors, "choice"), get(root, "restorations")
    if columns is None and values is not None:
        columns = _choice_with(building, values, factors)
    names = tuple(
        node.text or ""
        for node in _apart(building, values, "value-twice")
        if columns is not None and building.known(node, columns.values, "unknown-value", of=columns.label)
    )
    bands = _bands_factor(building, root, factors)
    return replace(
        card,
        columns=names,
        columns_by=columns.id if columns is not None else "",
        bands_by=bands.id if bands is not None else "",
        bands=_numbers(building, root, bands, card) if bands is not None else None,
        usual=_usual(building, get(root, "usual"), factors, columns, bands),
    )


def _apart(building: Building, node: Node | None, what: str) -> list[Node]:
    """The texts of a list without those that stand there twice, each of which is a finding (`schema`)."""
    found: dict[str, Node] = {}
    for child in listed(node):
        if child.text is not None and (first := found.setdefault(child.text, child)) is not child:
            _twice(building, child, first, what)
    return list(found.values())


def _twice(building: Building, node: Node, first: Node, what: str) -> None:
    building.find("schema", node, what, ((first.span, "other-one"),), name=node.text)


def _axis(building: Building, node: Node | None, factors: dict[str, Factor], kind: str) -> Factor | None:
    """The factor that `columns_by` or `bands_by` names, if it is of the kind that can make them."""
    name = building.name(node, factors, "unknown-factor")
    if node is None or name is None:
        return None
    if factors[name].kind == kind:
        return factors[name]
    what = "columns-of-no-choice" if kind == "choice" else "bands-of-no-quantity"
    able = tuple(f.id for f in factors.values() if f.kind == kind)
    building.find("schema", node, what, label=factors[name].label, able=able)
    return None


def _choice_with(building: Building, node: Node, factors: dict[str, Factor]) -> Factor | None:
    """The choice that has the values listed; a finding if that is none, or more than one."""
    names = {child.text for child in listed(node) if child.text is not None}
    choices = [factor for factor in factors.values() if factor.kind == "choice"]
    found = [factor for factor in choices if names <= factor.values.keys()]
    if len(found) == 1 or not names:
        return found[0] if found and names else None
    if found:
        building.find("schema", node.place, "several-choices", able=tuple(f.id for f in found))
        return None
    best = max(choices, key=lambda factor: len(names & factor.values.keys()), default=None)
    if best is not None and names & best.values.keys():
        return best
    building.names(node, [value for factor in choices for value in factor.values], "unknown-value-of-a-choice")
    return None


def _bands_factor(building: Building, root: Node, factors: dict[str, Factor]) -> Factor | None:
    """The quantity that makes the bands, as far as the card must know it here; a finding if it cannot be told."""
    named = get(root, "bands_by")
    if named is not None:
        return _axis(building, named, factors, "quantity")
    node = get(root, "bands")
    if node is None and text_of(root, "scale") == "reading":
        node = get(root, "scale")
    if node is None:
        return None
    quantities = [factor for factor in factors.values() if factor.kind == "quantity"]
    if len(quantities) == 1:
        return quantities[0]
    if quantities:
        building.find("schema", node.place, "several-quantities", able=tuple(f.id for f in quantities))
    elif not building.broken:
        building.find("schema", node.place, "no-quantity")
    return None


def _numbers(building: Building, root: Node, factor: Factor, card: Card) -> RangeSet | None:
    """The part of the range that is shown, nothing if it is the whole; a finding if readings cannot stand for it."""
    node, scale, shown = get(root, "bands"), get(root, "scale"), None
    if node is not None:
        condition = read_when(building, Node({factor.id: node}, node.span, node.key_span))[0].conditions.get(factor.id)
        shown = condition.numbers if condition is not None else None
    if card.scale == "reading" and scale is not None and (factor.reading is None or factor.reading.cautious is None):
        what = "no-reading" if factor.reading is None else "no-cautious-side"
        building.find("schema", scale, what, label=factor.label, factor=factor.id)
    return shown


def _usual(
    building: Building, node: Node | None, factors: dict[str, Factor], columns: Factor | None, bands: Factor | None
) -> Conditions:
    """The usual case: one value of a choice each, a range of a quantity."""
    if node is None or node.fields is None:
        return Conditions({})
    for axis, what in ((columns, "usual-of-columns"), (bands, "usual-of-bands")):
        if axis is not None and (child := get(node, axis.id)) is not None:
            building.find("schema", child.place, what, label=axis.label)
    found = read_when(building, node)[0]
    for name, condition in found.conditions.items():
        if condition.numbers is None and len(condition.values) != 1:
            building.find("schema", condition.span, "several-usual", label=factors[name].label,
                          example=condition.values[0])  # fmt: skip
    for kind, what in (("choice", "every-choice-usual"), ("quantity", "every-quantity-usual")):
        able = tuple(factor.id for factor in factors.values() if factor.kind == kind)
        if able and all(name in found.conditions for name in able):
            building.find("schema", (get(node, able[0]) or node).key_span or node, what, able=able)
    return found


def build_copies(building: Building) -> dict[str, Any]:
    """Where the cards hang, in the order in which they are numbered."""
    found: dict[str, tuple[Copy, Node]] = {}
    for node in listed(get(building.folder.root("copies"), "copies")):
        room = get(node, "room")
        if node.fields is None or room is None or room.text is None:
            continue
        name = one_line(room.text)
        edition, since = text_of(node, "edition"), get(node, "since")
        if since is not None and not edition:
            building.find("schema", since.place, "no-edition", room=name)
        copy = Copy(name, edition, read_date(building, since), node.span)
        first = found.setdefault(name.casefold(), (copy, room))
        if first[0] is not copy:
            _twice(building, room, first[1], "room-twice")
    return {"copies": tuple(copy for copy, _ in found.values())}
