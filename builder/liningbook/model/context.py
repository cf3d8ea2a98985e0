"""What is known while a protocol is built from its sources, and what is found wrong with them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

from liningbook.finding import Finding, Span, fault
from liningbook.model.rule import Factor
from liningbook.sources.node import Node
from liningbook.sources.suggest import near

MOST_LISTED = 12
"""So many known names are listed where none is near."""

MOST_COMPARED = 20_000
"""How many known names are compared with unknown ones before no more suggestions are sought (they cost time)."""


@dataclass
class Context:
    """What is known while a protocol is built. Where a table is `None` it could not be read, and its names pass."""

    findings: list[Finding] = field(default_factory=list)
    factors: dict[str, Factor] | None = None
    reported: set[tuple[str, int, int]] = field(default_factory=set)
    """Places at which a finding already stands; a second one there would be about the same cause."""
    broken: set[str] = field(default_factory=set)
    """Names of what is written but could not be read; that is reported where it stands, not where it is used."""
    compared: int = 0
    """How many known names have been compared with unknown ones."""

    def find(
        self, kind: str, place: Node | Span, what: str, related: tuple[tuple[Span, str], ...] = (), **given: Any
    ) -> None:
        """Adds a fault at a place, unless one stands there already."""
        span = place.span if isinstance(place, Node) else place
        start = (span.file, span.line, span.column)
        if start in self.reported:
            return
        self.reported.add(start)
        self.findings.append(fault(kind, span, what, related, **given))

    def known(self, node: Node, table: Collection[str] | None, what: str, **given: Any) -> bool:
        """Whether a name is in a table; a finding (`unknown-name`) if not."""
        name = node.text
        if name is None:
            return False
        if table is None or name in table:
            return True
        self.unknown(node.span, name, table, what, **given)
        return False

    def known_key(self, key: str, node: Node, table: Collection[str] | None, what: str) -> bool:
        """Whether the key of a mapping is in a table; a finding (`unknown-name`) if not."""
        if table is None or key in table:
            return True
        self.unknown(node.place, key, table, what)
        return False

    def taken(self, node: Node, name: str, words: Collection[str]) -> None:
        """A finding (`schema`) if an author's name is a word that means something else where names are used."""
        if name in words:
            self.find("schema", node.place, "name-taken", name=name)

    def unknown(self, span: Span, name: str, table: Collection[str], what: str, **given: Any) -> None:
        """A finding that a name is not known."""
        if name in self.broken:
            return
        self.compared += len(table)
        best = near(name, table) if self.compared <= MOST_COMPARED else None
        listed = best is None and 0 < len(table) <= MOST_LISTED
        known = tuple(sorted(table) if isinstance(table, frozenset) else table) if listed else ()
        foreign = next((letter for letter in name if ord(letter) > 127), None)
        self.find("unknown-name", span, what, name=name, near=best, known=known, foreign=foreign, **given)
