"""What is known while a protocol is built from its sources, and what is found wrong with them."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from liningbook.finding import Finding, Span, fault
from liningbook.model.protocol import Agent, Irritant, Scheme
from liningbook.model.rule import Decision, Factor, Name
from liningbook.sources.documents import Folder
from liningbook.sources.look_alike import foreign_letter, pairs_alike
from liningbook.sources.node import Node, get, listed
from liningbook.sources.shape import WITHOUT_DECISION
from liningbook.sources.shape_values import place_of_value, written
from liningbook.sources.text import kebab, near, one_line

NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")
"""What a name must be; that it is none is reported where it is given, not where it is used as it will be called."""

MOST_LISTED = 12
"""So many known names are listed where none is near."""

MOST_COMPARED = 20_000
"""How many known names are compared with unknown ones before no more suggestions are sought (they cost time)."""


@dataclass
class Building:
    """The sources, and the names that one file defines and others use; a table that is `None` could not be read."""

    folder: Folder
    findings: list[Finding] = field(default_factory=list)
    factors: dict[str, Factor] | None = None
    decisions: dict[str, Decision] | None = None
    places: dict[str, str] | None = None
    irritants: dict[str, Irritant] | None = None
    agents: Mapping[str, Agent] | None = None
    scheme: Scheme | None = None
    reported: set[tuple[str, int, int]] = field(default_factory=set)
    """Places at which a finding already stands; a second one there would be about the same cause."""
    broken: set[str] = field(default_factory=set)
    """Names of what is written but could not be read; that is reported where it stands, not where it is used."""
    years: dict[str, int] = field(default_factory=dict)
    """The year of each reference that has one."""
    compared: int = 0
    """How many known names have been compared with unknown ones."""

    def find(
        self, kind: str, place: Node | Span, what: str, related: tuple[tuple[Span, str], ...] = (), **given: Any
    ) -> None:
        """Adds a fault at a place, unless one stands there already."""
        span = place.span if isinstance(place, Node) else place
        start = (span.file, span.line, span.column)
        if start not in self.reported:
            self.reported.add(start)
            self.findings.append(fault(kind, span, what, related, **given))

    def known(self, node: Node, table: Collection[str] | None, what: str, **given: Any) -> bool:
        """Whether a name is in a table (or the table could not be read); a finding (`unknown-name`) if not."""
        if node.text is not None and table is not None and node.text not in table:
            self.unknown(node.span, node.text, table, what, **given)
            return False
        return node.text is not None

    def known_key(self, key: str, node: Node, table: Collection[str] | None, what: str) -> bool:
        """Whether the key of a mapping is in a table; a finding (`unknown-name`) if not."""
        return self.known(Node(key, node.place), table, what)

    def name(self, node: Node | None, table: Collection[str] | None, what: str, **given: Any) -> str | None:
        """A single name that is in a table; a finding (`unknown-name`) for another one."""
        return node.text if node is not None and self.known(node, table, what, **given) else None

    def names(self, node: Node | None, table: Collection[str] | None, what: str, **given: Any) -> tuple[Name, ...]:
        """The names in a list, or a single one, that are in a table; a finding (`unknown-name`) for each other one."""
        found = [child for child in listed(node) if self.known(child, table, what, **given)]
        return tuple(Name(child.text or "", child.span) for child in found)

    def taken(self, node: Node, name: str, words: Collection[str]) -> None:
        """A finding (`schema`) if an author's name is a word that means something else where names are used."""
        if name in words:
            self.find("schema", node.place, "name-taken", name=name)

    def told_apart(self, entries: Mapping[str, Node], things: str, of: str = "") -> None:
        """A finding (`schema`) for every entry of a list whose label a reader takes for that of an earlier one.

        An entry is its label or a group that has one; left out, the name is the label. `things` says what they are,
        `of` to what they belong.
        """
        marked = [get(node, "label") or node for node in entries.values()]
        labels = [one_line(node.text or "") or name for name, node in zip(entries, marked, strict=True)]
        places = [node.place if node.text is None else node.span for node in marked]
        for one, other in pairs_alike(labels):
            self.find(
                "schema", places[other], "same-label" if labels[one] == labels[other] else "labels-alike",
                ((places[one], "first-label"),), label=labels[other], first=labels[one], things=things, of=of,
                foreign=foreign_letter(labels[other]) or foreign_letter(labels[one]),
            )  # fmt: skip

    def without_decision(self, node: Node | None, field: str) -> None:
        """A finding (`schema`) for agents or answers that stand in a field without their decision, if it is known."""
        words = [word for child in listed(node) for word in re.split(r"[\s,;]+", child.text or "") if word]
        groups: dict[str, list[str]] = {}
        for decision in (self.decisions or {}).values():
            agents = [agent.id for agent in (self.agents or {}).values() if decision.layer in agent.classes]
            known = agents if decision.is_layer else decision.answers
            if named := [name for word in words if (name := word if word in known else near(word, known))]:
                groups[decision.id] = named
        if node is None or node.fields is not None or not groups:
            return
        names = [name for named in groups.values() for name in named]
        several = tuple(key for key, named in groups.items() if any(names.count(name) > 1 for name in named))
        self.find("schema", place_of_value(node), WITHOUT_DECISION,
                  called=(field,), instead=written(groups), several=several, example="")  # fmt: skip

    def unknown(self, span: Span, name: str, table: Collection[str], what: str, **given: Any) -> None:
        """A finding that a name is not known."""
        if name in self.broken or name in {kebab(other) for other in table if not NAME.match(other)}:
            return
        self.compared += len(table)
        best = near(name, table) if self.compared <= MOST_COMPARED else None
        listed = best is None and 0 < len(table) <= MOST_LISTED
        known = tuple(sorted(table) if isinstance(table, set) else table) if listed else ()
        foreign = next((letter for letter in name if ord(letter) > 127), None)
        self.find("unknown-name", span, what, name=name, near=best, known=known, foreign=foreign, **given)
