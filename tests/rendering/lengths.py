"""Protocols of every size with labels of every length, and what is wrong with the boxes that they are laid out in.

The same case gives the same protocol. Labels are made of words that mean nothing, so that no one is longer or shorter
than what a practice might write for a reason of ours.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from html.parser import HTMLParser
from random import Random
from typing import Any

from liningbook.analysis import Analysis
from liningbook.evidence.reporting.stated import Stated
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Agent, Protocol, StopQuestion
from liningbook.model.rule import Decision, Factor, Reading
from liningbook.show.markup.markdown import to_html
from liningbook.show.viewer import Viewer
from tests.bench.protocols import DAY, NOWHERE, Row, choice, protocol, quantity, rule, yes_no

MM = 96 / 25.4
SIZES = {2: (2, 1, 1), 18: (3, 3, 2), 60: (6, 10, 1), 120: (6, 10, 2), 196: (14, 14, 1)}
"""Bands, restorations and layers of the protocols of so many rules: one rule for each of each."""
STYLES = {"short": (3, 7, 1, 1), "words": (12, 22, 1, 1), "long": (3, 14, 3, 8), "mixed": (2, 18, 1, 9)}
"""How long the words of labels are, least and most, and how many of them there are."""


@dataclass(frozen=True)
class Case:
    """A protocol of `rules` rules whose labels are made in a style, by chance."""

    rules: int
    style: str
    seed: int

    def __str__(self) -> str:
        return f"{self.rules}-{self.style}-{self.seed}"


class Labels:
    """Labels, no two alike."""

    def __init__(self, case: Case) -> None:
        self.random = Random(str(case))
        self.least, self.most, self.fewest, self.many = STYLES[case.style]
        self.seen: set[str] = set()

    def word(self) -> str:
        length = self.random.randint(self.least, self.most)
        return "".join(self.random.choice("aeiou" if n % 2 else "bcdfglmnprstv") for n in range(length))

    def one(self) -> str:
        while True:
            count = self.random.randint(self.fewest, self.many)
            label = " ".join(self.word() for _ in range(count)).capitalize()
            if label not in self.seen:
                self.seen.add(label)
                return label


def viewer(case: Case) -> Viewer:
    """The protocol of a case, ready to be shown."""
    made = made_protocol(case)
    meaning = Meaning(made, DAY)
    return Viewer(Analysis(DAY, (), {}, made.title, made.edition, made, meaning), "3f9a1c7e" * 8, to_html)


def made_protocol(case: Case) -> Protocol:
    """A rule for each band, restoration and layer, and one question that stops them all."""
    labels, (bands, restorations, layers) = Labels(case), SIZES[case.rules]
    step = 6000 // bands // 50 * 50
    reading = Reading(labels.one(), Fraction(7, 10), Fraction(0), Fraction(400), Fraction(1), "below", NOWHERE)
    rdt = replace(quantity("rdt", 6000), label=labels.one(), reading=reading)
    values = {f"r{n:02}": labels.one() for n in range(restorations)}
    factors: list[Factor] = [
        rdt,
        replace(choice("restoration", 1), label=labels.one(), values=values),
        replace(yes_no("asked"), label=labels.one()),
    ]
    names = [f"layer{n}" for n in range(layers)]
    decisions = {name: Decision(name, labels.one(), NOWHERE, name) for name in names}
    agents = [Agent(f"agent-{name}-{n}", labels.one(), (name,), NOWHERE) for name in names for n in range(4)]
    by_name = {factor.id: factor for factor in factors}
    rules = []
    for band in range(bands):
        ends = (band * step, band == 0, 6000 if band == bands - 1 else (band + 1) * step, True)
        for value in values:
            for name in names:
                row: Row = {"rdt": ends, "restoration": frozenset({value})}
                chosen = labels.random.choice(["none", *(agent.id for agent in agents if name in agent.classes)])
                made = rule(len(rules), by_name, row, {name: chosen})
                rules.append(replace(made, title=labels.one()))
    return replace(
        protocol(factors, decisions, rules, agents),
        title=labels.one(), practice=labels.one(), contact=labels.one(), scope=labels.one(), status="in-force",
        stop_questions=tuple(StopQuestion(f"{labels.one()}?") for _ in range(3)), cautions=(f"{labels.one()}.",),
        reporting={topic: Stated(labels.one(), "", NOWHERE) for topic in ("subtitle", "aims", "limits")},
    )  # fmt: skip


# --- what is wrong with a layout --------------------------------------------------------------------------------------


def faults(document: Any, html: str) -> Iterator[str]:
    """Text beyond its page or its block, pictures beyond their page, and words that are broken."""
    known = words_of(html)
    for number, page in enumerate(document.pages, 1):
        box = page._page_box
        inner = (box.content_box_x(), box.content_box_y(), box.content_box_x() + box.width, 0)
        foot = box.content_box_y() + box.height
        yield from (f"page {number}: {words}" for words in beside_columns(box))
        for item, block, free in boxes(box):
            right, bottom = item.position_x + item.width, item.position_y + item.height
            what = f"page {number}: {getattr(item, 'text', '') or type(item).__name__!r}"
            if free and bottom > foot + 1:
                yield f"{what} runs {(bottom - foot) / MM:.1f} mm through the foot"
            if free and right > inner[2] + 1:
                yield f"{what} runs {(right - inner[2]) / MM:.1f} mm over the edge"
            if hasattr(item, "text") and block is not None:
                over = right - (block.content_box_x() + block.width)
                hangs = item.text.strip() in (".", ",", ";", ":") and over < MM
                if over > 0.5 and item.text == item.text.rstrip() and not hangs:
                    yield f"{what} is {over / MM:.1f} mm wider than its place"
                if free and "::" not in item.element_tag:
                    for token in item.text.split():
                        if token not in known:
                            yield f"{what}: {token!r} is not a word"


def beside_columns(page: Any) -> Iterator[str]:
    """Texts and pictures that stand beside their column, where the next one covers them."""
    for column in (box for box in page.descendants() if getattr(box, "is_column", False)):
        left, right = column.content_box_x(), column.content_box_x() + column.width
        for item, _, free in boxes(column):
            over = max(left - item.position_x, item.position_x + item.width - right)
            if free and over > 1 and getattr(item, "text", ".").strip() not in ("", ".", ",", ";", ":"):
                what = getattr(item, "text", "") or type(item).__name__
                yield f"{what!r} stands {over / MM:.1f} mm beside its column"


def boxes(page: Any) -> Iterator[tuple[Any, Any, bool]]:
    """Every text and picture, the block that it stands in, and whether it stands in the page's own flow."""
    stack: list[tuple[Any, Any, bool]] = [(page, None, True)]
    while stack:
        box, block, flows = stack.pop()
        kind = type(box).__name__
        flows = flows and kind != "MarginBox" and box.style["position"] not in ("absolute", "fixed")
        if hasattr(box, "text") or "Replaced" in kind:
            yield box, block, flows
            continue
        if kind in ("BlockBox", "TableCellBox", "MarginBox"):
            block = box
        stack.extend((child, block, flows) for child in getattr(box, "children", ()) or ())


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()

    def handle_data(self, data: str) -> None:
        self.found |= set(data.split())
        self.found |= {part for word in data.split() for part in re.findall(r"[^-/]*[-/]|[^-/]+", word)}


def words_of(html: str) -> set[str]:
    """Every word that stands in the source, and the parts of those with a hyphen."""
    parser = _Words()
    parser.feed(html)
    return parser.found


APART = 0.2
"""CSS pixels, a twentieth of a millimetre: slots closer stand at one height."""


def chart_faults(document: Any) -> Iterator[str]:
    """Slots of one layer that do not stand at one height, cells of a chart without a word, and blank figures."""
    for number, page in enumerate(document.pages, 1):
        for row in elements(page._page_box, "TableRowBox", "row "):
            slots = list(elements(row, "BlockBox", "slot "))
            tops: dict[str, set[float]] = {}
            for slot in slots:
                tops.setdefault(class_of(slot).split()[1], set()).add(slot.position_y + slot.margin_top)
            yield from (
                f"page {number}: {name} stands at {found}"
                for name, found in tops.items()
                if max(found) - min(found) > APART
            )
            for cell in elements(row, "TableCellBox", "cell "):
                if not any(hasattr(item, "text") and item.text.strip() for item, _, _ in boxes(cell)):
                    yield f"page {number}: a cell without a word"
        for item, _, _ in boxes(page._page_box):
            if not hasattr(item, "text") and min(item.width, item.height) < MM:
                yield f"page {number}: a figure of {item.width / MM:.1f} by {item.height / MM:.1f} mm"


def elements(box: Any, kind: str, name: str) -> Iterator[Any]:
    """The boxes of a kind that an element of a class makes, one an element."""
    seen = set()
    stack = [box]
    while stack:
        box = stack.pop()
        if type(box).__name__ == kind and class_of(box).startswith(name) and box.element not in seen:
            seen.add(box.element)
            yield box
        stack.extend(reversed(list(getattr(box, "children", ()) or ())))


def class_of(box: Any) -> str:
    """The class of the element that a box is made from."""
    element = getattr(box, "element", None)
    return (element.get("class") or "") if element is not None and not isinstance(element, str) else ""


def cases(seeds: Sequence[int]) -> list[Case]:
    """A case a seed: every size in turn, in every style."""
    sizes, styles = [2, 18, 60, 120], list(STYLES)
    return [Case(sizes[n % len(sizes)], styles[n // len(sizes) % len(styles)], n) for n in seeds]
