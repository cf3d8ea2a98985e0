"""What the builders of a protocol share: its sources, and the names that one file defines and others use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from liningbook.model.context import Context
from liningbook.model.protocol import Agent, Irritant, Scheme
from liningbook.model.rule import Decision
from liningbook.sources.documents import Folder


@dataclass
class Building:
    """The sources, and what is known so far. `None` stands for a table that could not be read.

    The factors stand in the context, since every condition needs them.
    """

    context: Context
    folder: Folder
    places: dict[str, str] | None = None
    irritants: dict[str, Irritant] | None = None
    agents: Mapping[str, Agent] | None = None
    decisions: dict[str, Decision] | None = None
    scheme: Scheme | None = None

    @property
    def rules(self) -> frozenset[str]:
        """The names of all rules, those that could not be read included."""
        return frozenset(self.folder.rule_names)
