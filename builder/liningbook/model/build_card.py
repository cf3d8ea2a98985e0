"""`card.yaml` and `copies.yaml` to what the card shows and where its copies hang."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, cast

from liningbook.model.building import Building
from liningbook.model.context import Context
from liningbook.model.protocol import Card, Copy
from liningbook.model.read_values import read_date
from liningbook.model.read_when import read_when
from liningbook.model.rule import Conditions, Decision, Factor
from liningbook.notation.interval import RangeSet
from liningbook.sources.node import Node, get, listed, text_of, texts_of
from liningbook.sources.text import one_line


def build_card(building: Building) -> dict[str, Any]:
    """What the card shows."""
    return {"card": _card(building.context, building.folder.root("card"), building.decisions)}


def build_copies(building: Building) -> dict[str, Any]:
    """Where the cards hang."""
    return {"copies": _copies(building.context, building.folder.root("copies"))}


def _card(context: Context, root: Node | None, decisions: dict[str, Decision] | None) -> Card:
    """What the card shows; everything, where there is no `card.yaml`."""
    if root is None or root.fields is None:
        return Card()
    sizes = tuple(node.text for node in _apart(context, get(root, "size"), "size-twice") if node.text)
    shown = [
        node.text or ""
        for node in _apart(context, get(root, "decisions"), "decision-twice")
        if context.known(node, decisions, "unknown-decision")
    ]
    scale = text_of(root, "scale")
    card = Card(
        sizes=sizes or ("A4",),
        scale=cast(Any, scale) if scale in ("value", "reading") else "value",
        decisions=tuple(shown),
        pain=texts_of(root, "rings_with_pain"),
    )
    return card if context.factors is None else _with_axes(context, root, card, context.factors)


def _with_axes(context: Context, root: Node, card: Card, factors: dict[str, Factor]) -> Card:
    """The card with all that speaks of factors: its columns, its bands and its usual case."""
    columns = _axis(context, get(root, "columns_by"), factors, "choice")
    values = get(root, "restorations")
    if columns is None and values is not None:
        columns = _choice_with(context, values, factors)
    names = tuple(
        node.text or ""
        for node in _apart(context, values, "value-twice")
        if columns is not None and context.known(node, columns.values, "unknown-value", of=columns.label)
    )
    bands = _bands_factor(context, root, factors)
    numbers = _numbers(context, get(root, "bands"), bands)
    if card.scale == "reading" and bands is not None:
        _check_reading(context, get(root, "scale"), bands)
    usual = _usual(context, get(root, "usual"), factors, columns, bands)
    return Card(
        card.sizes,
        card.scale,
        usual,
        names,
        numbers,
        card.decisions,
        columns.id if columns is not None else "",
        bands.id if bands is not None else "",
        card.pain,
    )


def _apart(context: Context, node: Node | None, what: str) -> list[Node]:
    """The texts of a list without those that stand there twice, each of which is a finding (`schema`)."""
    found: dict[str, Node] = {}
    for child in listed(node):
        if child.text is None:
            continue
        first = found.setdefault(child.text, child)
        if first is not child:
            _twice(context, child, first, what)
    return list(found.values())


def _twice(context: Context, node: Node, first: Node, what: str) -> None:
    context.find("schema", node, what, ((first.span, "other-one"),), name=node.text)


def _axis(context: Context, node: Node | None, factors: dict[str, Factor], kind: str) -> Factor | None:
    """The factor that `columns_by` or `bands_by` names, if it is of the kind that can make them."""
    if node is None or node.text is None:
        return None
    if not context.known(node, factors, "unknown-factor") or node.text not in factors:
        return None
    factor = factors[node.text]
    if factor.kind == kind:
        return factor
    what = "columns-of-no-choice" if kind == "choice" else "bands-of-no-quantity"
    able = tuple(f.id for f in factors.values() if f.kind == kind)
    context.find("schema", node, what, label=factor.label, able=able)
    return None


def _choice_with(context: Context, node: Node, factors: dict[str, Factor]) -> Factor | None:
    """The choice that has the values listed; a finding if that is none, or more than one."""
    names = {child.text for child in listed(node) if child.text is not None}
    choices = [factor for factor in factors.values() if factor.kind == "choice"]
    found = [factor for factor in choices if names <= factor.values.keys()]
    if len(found) == 1 or not names:
        return found[0] if found and names else None
    if found:
        context.find("schema", node.place, "several-choices", able=tuple(f.id for f in found))
        return None
    best = max(choices, key=lambda factor: len(names & factor.values.keys()), default=None)
    if best is not None and names & best.values.keys():
        return best
    every = [value for factor in choices for value in factor.values]
    for child in listed(node):
        context.known(child, every, "unknown-value-of-a-choice")
    return None


def _bands_factor(context: Context, root: Node, factors: dict[str, Factor]) -> Factor | None:
    """The quantity that makes the bands, as far as the card must know it here; a finding if it cannot be told."""
    named = get(root, "bands_by")
    if named is not None:
        return _axis(context, named, factors, "quantity")
    node = get(root, "bands")
    if node is None and text_of(root, "scale") == "reading":
        node = get(root, "scale")
    if node is None:
        return None
    quantities = [factor for factor in factors.values() if factor.kind == "quantity"]
    if len(quantities) == 1:
        return quantities[0]
    if quantities:
        context.find("schema", node.place, "several-quantities", able=tuple(f.id for f in quantities))
    elif not context.broken:
        context.find("schema", node.place, "no-quantity")
    return None


def _numbers(context: Context, node: Node | None, factor: Factor | None) -> RangeSet | None:
    """The part of the range that is shown; nothing if it is the whole."""
    if node is None or factor is None:
        return None
    when = read_when(context, Node({factor.id: node}, node.span, node.key_span))
    condition = when[0].conditions.get(factor.id)
    return condition.numbers if condition is not None else None


def _check_reading(context: Context, node: Node | None, factor: Factor) -> None:
    """A finding if the bands cannot be given as readings, or not on the cautious side."""
    if node is None:
        return
    if factor.reading is None:
        context.find("schema", node, "no-reading", label=factor.label, factor=factor.id)
    elif factor.reading.cautious is None:
        context.find("schema", node, "no-cautious-side", label=factor.label, factor=factor.id)


def _usual(
    context: Context, node: Node | None, factors: dict[str, Factor], columns: Factor | None, bands: Factor | None
) -> Conditions:
    """The usual case: one value of a choice each, a range of a quantity."""
    if node is None or node.fields is None:
        return Conditions({})
    for axis, what in ((columns, "usual-of-columns"), (bands, "usual-of-bands")):
        child = get(node, axis.id) if axis is not None else None
        if child is not None and axis is not None:
            context.find("schema", child.place, what, label=axis.label)
    found = read_when(context, node)[0]
    for name, condition in found.conditions.items():
        if condition.numbers is None and len(condition.values) != 1:
            context.find("schema", condition.span, "several-usual", label=factors[name].label,
                         example=condition.values[0])  # fmt: skip
    _check_some_left(context, node, found.conditions, factors)
    return found


def _check_some_left(context: Context, node: Node, named: Collection[str], factors: dict[str, Factor]) -> None:
    """A finding if every factor that could make the columns, or the bands, has a usual value."""
    for kind, what in (("choice", "every-choice-usual"), ("quantity", "every-quantity-usual")):
        able = [factor.id for factor in factors.values() if factor.kind == kind]
        if able and all(name in named for name in able):
            child = get(node, able[0])
            context.find("schema", (child.key_span if child is not None else None) or node, what, able=tuple(able))


def _copies(context: Context, root: Node | None) -> tuple[Copy, ...]:
    """Where the cards hang, in the order in which they are numbered."""
    found: dict[str, tuple[Copy, Node]] = {}
    for node in listed(get(root, "copies")):
        room = get(node, "room")
        if node.fields is None or room is None or room.text is None:
            continue
        name = one_line(room.text)
        edition, since = text_of(node, "edition"), get(node, "since")
        if since is not None and not edition:
            context.find("schema", since.place, "no-edition", room=name)
        copy = Copy(name, edition, read_date(context, since), node.span)
        first = found.setdefault(name.casefold(), (copy, room))
        if first[0] is not copy:
            _twice(context, room, first[1], "room-twice")
    return tuple(copy for copy, _ in found.values())
