"""What is said of a change is so: read back, its cases are those of the change, and no two results share their words.

A line speaks of the cases in which its decision is to be made, in either version; a change in which there are others
(cases that a version does not cover) speaks of all that either covers. Which these are is worked out by the second
reading of the contract, in every cell of one grid.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from liningbook.compare.comparison import Comparison, Difference, compare
from liningbook.model.protocol import Protocol
from liningbook.say.cases import labelled
from liningbook.show.changes.changes_page import changes_page
from liningbook.show.changes.changes_view import ChangesView, changes_view
from liningbook.show.markup.templates import filled
from liningbook.show.paper.changes_sheet import sheet_html, sheet_view
from liningbook.show.terminal.changes_text import changes_markdown, changes_text
from tests import seeds
from tests.oracle.generate import DAY
from tests.oracle.pairs import Pair, pair_of
from tests.oracle.said import read_condition, read_line
from tests.oracle.versions import NOT_COVERED, NOT_NEEDED

PAIRS = seeds.window(0, 300, 15, always=[3, 17, 28, 34, 57, 119, 124, 162, 219, 266])


@pytest.fixture(params=PAIRS)
def pair(request: pytest.FixtureRequest) -> Pair:
    return pair_of(request.param)


def view_of(comparison: Comparison) -> ChangesView:
    return changes_view(comparison, "old", "new")


def told(comparison: Comparison) -> Iterator[tuple[Difference, tuple[str, ...]]]:
    """Each change that is told with its sets of cases, as they are printed."""
    for one, change in zip(comparison.ranking.told, view_of(comparison).changes, strict=True):
        yield one.change, change.cases


def as_read(comparison: Comparison, plain: dict[str, Any]) -> dict[str, Any]:
    """The factors as a source would have them, by the labels that are printed."""
    factors = comparison.new.protocol.factors
    return {
        name: {
            **factor,
            "label": factors[name].label,
            **({"values": dict(factors[name].values)} if "values" in factor else {}),
        }
        for name, factor in plain.items()
    }


def to_be_made(pair: Pair, decision: str) -> int:
    """The cells in which a version that knows the decision asks for it."""
    found = 0
    for which in (0, 1):
        for said, cells in pair.versions.outcomes(which).get(decision, {}).items():
            found |= 0 if said in (NOT_NEEDED, NOT_COVERED) else cells
    return found


def test_the_cases_read_back_are_those_of_the_change(pair: Pair) -> None:
    grid, versions = pair.versions.grid, pair.versions
    factors = as_read(pair.comparison, dict(grid.factors))
    for change, lines in told(pair.comparison):
        is_cells = grid.cells([pair.comparison.space.notation(box) for box in change.region])
        boxes = [
            {name: read_condition(factors[name], words) for name, words in read_line(factors, line).words.items()}
            for line in lines
        ]
        among = to_be_made(pair, change.decision)
        if is_cells & ~(among & versions.scopes[0] & versions.scopes[1]):
            among = grid.full  # "Not covered": the line holds in every case that it names
        assert not is_cells & ~among
        assert grid.cells(boxes) & among == is_cells, (change.decision, lines)
        for number in range(len(lines) if len(lines) > 1 else 0):
            rest = boxes[:number] + boxes[number + 1 :]
            assert grid.cells(rest) & among != is_cells, "a set of cases that says nothing more"


def test_no_two_lines_of_the_same_words_have_different_results(pair: Pair) -> None:
    view = view_of(pair.comparison)
    lines = [(change.decision, case) for change in view.changes for case in change.cases]
    assert len(lines) == len(set(lines))
    for change in view.changes:
        assert change.before != change.after, change


def test_every_output_says_all_of_it(pair: Pair) -> None:
    """The terminal and the comment, and what protocol, page and sheet share; the table of a comment names one set."""
    view, page = view_of(pair.comparison), changes_page(pair.comparison)
    shown = {
        "text": one_line(changes_text(view)),
        "comment": one_line(html.unescape(re.sub(r"\\(.)", r"\1", changes_markdown(view)))),
        "listed": text_of(filled("changes_listed.html", changes=page)),
        "sheet": text_of(sheet_html(sheet_view(pair.comparison, "", "", None)).partition("</style>")[2]),
    }
    for change in view.changes:
        for name, text in shown.items():
            head = labelled(change.decision, f"{change.before} → {change.after}")
            if name in ("listed", "sheet"):
                head = one_line(f"{change.number} {change.decision}")
            start = text.index(one_line(head))
            for case in change.cases:
                assert one_line(case) in text[start:], (name, case)


def one_line(text: str) -> str:
    return re.sub(r"\s+", "", text)


def text_of(page: str) -> str:
    return one_line(html.unescape(re.sub(r"<[^>]*>", "", page)))


def test_what_is_called_alike_is_told_apart() -> None:
    """A value that went and one that came under the same label, and likewise agents, are told with their names."""
    seen = 0
    for seed in PAIRS:
        pair = pair_of(seed)
        alike = compare(called_alike(pair.comparison.old_protocol), called_alike(pair.comparison.new_protocol), DAY)
        view = view_of(alike)
        lines = [(change.decision, case) for change in view.changes for case in change.cases]
        assert len(lines) == len(set(lines)), seed
        assert all(change.before != change.after for change in view.changes), seed
        seen += len(lines)
    assert seen > len(PAIRS)


def called_alike(protocol: Protocol) -> Protocol:
    return replace(
        protocol,
        agents={name: replace(agent, label="Cement") for name, agent in protocol.agents.items()},
        factors={
            name: replace(
                factor,
                label="Finding",
                values={value: label if factor.kind == "yes-no" else "It" for value, label in factor.values.items()},
            )
            for name, factor in protocol.factors.items()
        },
    )
