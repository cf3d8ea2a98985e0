"""The advice for a table of cases: every row written again with what the protocol says to it.

The advice comes from `decide` alone. It depends on nothing but which of the stated conditions hold, so that one case
stands for all in which the same do, and few are ever looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

from liningbook.cases.asking import asking
from liningbook.cases.case_table import Case, CaseTable, read_cases
from liningbook.cases.columns import PLAIN, TableForm
from liningbook.finding import Refused
from liningbook.meaning.decide import Outcome, decide
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.possible import Possible
from liningbook.model.edition import edition_state
from liningbook.model.rule import Answer
from liningbook.sources.csv_rows import CannotRead
from liningbook.space.boxes import Box, bits
from liningbook.space.holding import MOST_KEPT, Holding, Kept

MOST_TOLD = 5
"""So many rows that could not be used are told at the end."""


ADDED = ("state", "rules", "grade")
"""What stands beside the answer to each decision."""


@dataclass
class Tally:
    """How many rows there were so far below the header; how many could not be used, or hold an impossible reading."""

    rows: int = 0
    unusable: int = 0
    doubtful: int = 0
    problems: list[tuple[int, Refused]] = field(default_factory=list)
    """The first rows that could not be used, with the reason."""


def label(
    meaning: Meaning,
    rows: Iterable[list[str]],
    words: Callable[[Refused], str],
    tally: Tally | None = None,
    form: TableForm = PLAIN,
) -> Iterator[list[str]]:
    """A table of cases with the advice added to the right of every row, header included. Raises CannotRead.

    For each decision its answer in one word, its state, the rules that say so and their grades (those of the several
    answers of a conflict are set apart by ` | `, those of several rules by `; `); then
    `borderline` and `outside_limits` if anything is read off, `scope`, `edition_state`, and `problem`, which says (in
    `words`) why a row could not be used, as `outside_limits` says what cannot have been read. A row that cannot be used
    has no advice, but is in its place. `tally` is kept up to date as rows are taken.
    """
    conditions = conditions_of(meaning)
    table = read_cases(meaning.space, rows, conditions, form)
    added = [column for name in meaning.protocol.decisions for column in (name, *(f"{name}.{what}" for what in ADDED))]
    added += [*(["borderline", "outside_limits"] if table.is_read_off else []), "scope", "edition_state", "problem"]
    taken = {name.strip() for name in table.header}
    for name in added:
        if name in taken:
            raise CannotRead("table-column-taken", name=name)
    adviser = _Adviser(meaning, Holding(meaning.space, conditions))
    return _labelled(adviser, table, added, words, Tally() if tally is None else tally)


def conditions_of(meaning: Meaning) -> list[Box]:
    """The boxes on which the advice depends: cases that lie in the same of them are advised alike."""
    protocol = meaning.protocol
    found = [box for boxes in meaning.boxes for box in boxes]
    for when in [*(entry.when for entry in protocol.excluded), *(entry.when for entry in protocol.pairings)]:
        found += meaning.space.boxes(when)
    return list(dict.fromkeys(found))


def _labelled(
    adviser: _Adviser, table: CaseTable, added: list[str], why: Callable[[Refused], str], tally: Tally
) -> Iterator[list[str]]:
    is_read_off = table.is_read_off

    def words(case: Case) -> list[str] | Refused:
        said = adviser.partly(case) if case.missing else adviser.said(case.cell)
        if isinstance(said, Refused):
            return said
        doubt = [_yes_no(adviser.is_borderline(case, said)), doubts(case.doubtful, why)] if is_read_off else []
        return [*said.words, *doubt, _yes_no(said.in_scope), adviser.edition_state, ""]

    words_of: Kept[Case, list[str] | Refused] = Kept(words)
    blank = [""] * (len(added) - 1)
    yield table.header + added
    for number, fields, _, case, problem in table:
        tally.rows = number - 1
        found = problem if case is None else words_of[case]
        if isinstance(found, list):
            tally.doubtful += bool(case and case.doubtful)
            yield fields + found
            continue
        assert found is not None
        tally.unusable += 1
        if len(tally.problems) < MOST_TOLD:
            tally.problems.append((number, found))
        yield [*fields, *blank, why(found)]


class _Said(NamedTuple):
    """What the protocol says to a case: the words for the table, and what two cases share that are advised alike."""

    words: list[str]
    in_scope: bool
    meaning: Hashable


class _Adviser:
    """The advice for cases, worked out once for each set of conditions that hold."""

    def __init__(self, meaning: Meaning, holding: Holding) -> None:
        self._meaning = meaning
        self._holding = holding
        self.edition_state = edition_state(meaning.protocol, meaning.day)
        self._known: dict[int, _Said] = {}
        self._unsaid = [""] * (1 + len(ADDED)) * len(meaning.protocol.decisions)
        self._possible: Possible | None = None
        """What cases of which factors are missing can come to, from the first of them on."""

    def said(self, cell: Box) -> _Said:
        """What the protocol says to a case."""
        holding = self._holding.of(cell)
        found = self._known.get(holding)
        if found is None:
            if len(self._known) >= MOST_KEPT:
                self._known.clear()
            found = self._known[holding] = self._decide(cell)
        return found

    def _decide(self, cell: Box) -> _Said:
        advice = decide(self._meaning, cell)
        if advice.excluded is not None:
            return _Said(self._unsaid, False, None)
        return self._said(advice.outcomes)

    def _said(self, outcomes: Mapping[str, Outcome]) -> _Said:
        words: list[str] = []
        for outcome in outcomes.values():
            found = outcome.candidates
            words += [" | ".join(_word(candidate.answer) for candidate in found), outcome.state]
            words += [" | ".join("; ".join(candidate.rules) for candidate in found)]
            words += [" | ".join("; ".join(map(self._grade, candidate.rules)) for candidate in found)]
        return _Said(words, True, tuple(outcome.said for outcome in outcomes.values()))

    def partly(self, case: Case) -> _Said | Refused:
        """What the protocol says whatever is missing of a case; or which of it the advice hangs on."""
        self._possible = self._possible or Possible(self._meaning)
        outlook = self._possible.outlook(case.cell)
        if outlook.in_scope is False:
            return _Said(self._unsaid, False, None)
        if outlook.in_scope is None or outlook.open:
            irrelevant = asking(self._meaning, outlook, case.missing).irrelevant
            names = [name for name in case.missing if name not in irrelevant]
            return Refused("row-useless", problems=tuple(Refused("cell-blank-matters", name=name) for name in names))
        return self._said({name: way.shared for name, way in outlook.settled.items()})

    def _grade(self, rule: str) -> str:
        """The grade of a rule in the words of the sources: `conditional, very-low`, `level-2`, `law`."""
        evidence = self._meaning.protocol.rules[rule].evidence
        basis = "" if evidence.basis == "research" else evidence.basis
        level = "" if evidence.level is None else f"level-{evidence.level}"
        return ", ".join(part for part in (basis, evidence.strength, evidence.certainty, level) if part)

    def is_borderline(self, case: Case, said: _Said) -> bool:
        """Whether any value within the uncertainty of what was read off is advised otherwise (as `readings.doubt`)."""
        if self._possible is not None and case.missing:
            wider = self._possible.outlook(case.within)
            said_there = tuple(way.outcome.said for way in wider.settled.values()) if wider.in_scope else None
            return bool(wider.open) or wider.in_scope is not said.in_scope or said_there != said.meaning
        mine = said.meaning
        within = product(*[[1 << cell for cell in bits(mask)] for mask in case.within])
        return any(self.said(other).meaning != mine for other in within)


def _word(answer: Answer) -> str:
    return answer.kind if answer.kind in ("none", "judgement") else answer.name


def doubts(factors: Iterable[str], words: Callable[[Refused], str]) -> str:
    """What is said of readings that cannot be, so that no row gets advice from one silently."""
    return "; ".join(words(Refused("cell-doubtful", name=name)) for name in factors)


def _yes_no(holds: bool) -> str:
    return "yes" if holds else "no"
