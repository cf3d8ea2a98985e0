"""One random protocol with everything that is held against one another: sources, Liningbook's analysis, the oracle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

from liningbook.analysis import Analysis, analyse
from liningbook.exchange.findings import findings_json
from liningbook.exchange.outcomes import outcome_json
from liningbook.meaning.decide import Outcome
from tests.oracle.brute import Brute, Regions
from tests.oracle.brute import Outcome as TrueOutcome
from tests.oracle.folder import brute, write_folder
from tests.oracle.notation import Unsound, decimal, read_box, thresholds
from tests.saying import messages_of

NOT_LOOKED_AT = {
    "unprotected", "less-protection", "placing-order", "indistinct",
    "certainty-mismatch", "level-mismatch", "strong-on-weak", "questioned", "weaker-overrides-stronger",
    "unknown-reference", "uncited", "unused-reference", "unused-table", "review-overdue", "vignette", "status",
    "bad-identifier", "same-work-twice", "retracted-reference",
    "not-read", "cut-text", "bad-table", "no-stop-questions", "screens-usual",
    "unscreened", "changed-since-approval",
}  # fmt: skip
"""Kinds that this oracle does not work out; `tests/oracle/irritants.py` and `tests/laws/test_screening.py` do some."""


@dataclass
class World:
    """A protocol. `name` is its seed, or says what it is an example of."""

    name: str
    plain: Mapping[str, Any]
    folder: Path

    @cached_property
    def analysis(self) -> Analysis:
        return analyse(self.folder, date.fromisoformat(self.plain["day"]))

    @cached_property
    def findings(self) -> list[dict[str, Any]]:
        assert self.analysis.protocol is not None, messages_of(self.analysis.findings)
        found: list[dict[str, Any]] = findings_json(self.analysis)["findings"]
        return [finding for finding in found if finding["kind"] not in NOT_LOOKED_AT]

    @property
    def findings_of_the_day(self) -> list[dict[str, Any]]:
        """The same without those that speak of a later day."""
        return [finding for finding in self.findings if "on" not in finding]

    @property
    def meaning(self) -> Any:
        assert self.analysis.meaning is not None, messages_of(self.analysis.findings)
        return self.analysis.meaning

    @cached_property
    def brute(self) -> Brute:
        return brute(self.plain)

    @property
    def factors(self) -> Mapping[str, Any]:
        return self.brute.factors

    @cached_property
    def regions(self) -> Regions:
        """Every cell judged; cut at the thresholds of the findings too, should they have any of their own."""
        boxes = [box for finding in self.findings for box in finding["cases"]]
        for box in boxes:
            read_box(self.factors, box)  # before its thresholds can be used
        more: dict[str, Iterable[Fraction]] = {
            name: thresholds(name, factor["unit"], boxes)
            for name, factor in self.factors.items()
            if factor["kind"] == "quantity"
        }
        return self.brute.regions(self.brute.grid(more))

    def cells_of(self, boxes: Iterable[Mapping[str, Any]]) -> int:
        """The cells of boxes in the notation of the sources, which must be disjoint and not empty."""
        union = 0
        for box in boxes:
            read_box(self.factors, box)
            cells = self.regions.grid.box(box)
            if not cells or cells & union:
                raise Unsound(f"{box} is empty or meets another box")
            union |= cells
        return union

    def cells_of_box(self, box: Any) -> int:
        """The cells of one of Liningbook's boxes."""
        return self.cells_of([self.meaning.space.notation(box)])

    def outcome(self, outcome: Outcome) -> TrueOutcome:
        """One of Liningbook's outcomes, with answers by their meaning."""
        return self.outcome_of_json(outcome_json(outcome))

    def outcome_of_json(self, found: Mapping[str, Any]) -> TrueOutcome:
        answers = found.get("answers", [found] if "answer" in found else [])
        return (
            found["state"],
            frozenset((self.brute.meaning(item["answer"]), frozenset(item["rules"])) for item in answers),
            frozenset((item["agent"], item["rule"]) for item in found.get("avoided_by", [])),
        )

    def shown(self, cells: int) -> list[dict[str, str]]:
        """The first few cases of a set, to be read."""
        cases = [case for case, _ in zip(self.regions.grid.cases(cells), range(3), strict=False)]
        return [{name: self.text(name, value) for name, value in case.items()} for case in cases]

    def text(self, factor: str, value: Any) -> str:
        """A factor's value as an output gives it."""
        if self.factors[factor]["kind"] == "quantity":
            return f"{decimal(value)} {self.factors[factor]['unit']}"
        return str(value)


def world_of(name: str, plain: Mapping[str, Any], folder: Path) -> World:
    """Writes the sources and gives the world."""
    return World(name, plain, write_folder(plain, folder))
