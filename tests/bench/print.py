"""What the printed protocol costs beside WeasyPrint alone on the very same HTML.

Liningbook's part is finding the size of the chart's type, making the HTML, looking for text that is too wide, and the
last touches for PDF/A-3a and PDF/UA-1. Processor seconds of this process, medians, the two in turn, so that a busy
machine does not tip the scales.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace
from statistics import median
from time import process_time
from typing import Any

from liningbook.analysis import Analysis, analyse
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.show.figures.protocol_figures import ProtocolFigures, protocol_figures
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper import typeset
from liningbook.show.paper.pdf import protocol_pdf
from liningbook.show.viewer import Viewer
from liningbook.show.views.view import ProtocolView
from tests.bench.engine import DEMONSTRATION
from tests.bench.protocols import DAY

EPOCH = 1_756_684_800
RUNS = 3


@dataclass(frozen=True)
class Printed:
    """A protocol printed: its pages, seconds with Liningbook and with WeasyPrint alone, and the ratio."""

    name: str
    pages: int
    ours: float
    alone: float

    @property
    def ratio(self) -> float:
        """How many times as much the protocol costs."""
        return self.ours / self.alone


def demonstration() -> tuple[ProtocolView, bytes, ProtocolFigures]:
    """All that is printed of the demonstration."""
    analysis: Analysis = analyse(DEMONSTRATION, DAY)
    bundle = bundle_of(analysis)
    viewer = Viewer(analysis, bundle["digest"], to_html)
    return viewer.protocol_view(), bundle_bytes(bundle), protocol_figures(viewer.meaning, viewer.charts)


def of_rules(view: ProtocolView, count: int) -> ProtocolView:
    """The same with so many rules: those it has, over and over, each under an anchor and a number of its own."""
    own = [(group, rule) for group in view.rule_groups for rule in group.rules]
    groups: dict[str, list[Any]] = {group.heading: [] for group in view.rule_groups}
    for number in range(count):
        group, rule = own[number % len(own)]
        name = f"{rule.id}-{number}"
        groups[group.heading].append(replace(rule, id=name, anchor=f"rule-{name}", overrides=(), overridden_by=()))
    number = 0
    numbered = []
    for group in view.rule_groups:
        rules = [replace(rule, number=n) for n, rule in enumerate(groups[group.heading], number + 1)]
        number += len(rules)
        numbered.append(replace(group, rules=tuple(rules)))
    return replace(view, rule_groups=tuple(numbered))


def compare(name: str, view: ProtocolView, bundle: bytes, drawings: ProtocolFigures, runs: int = RUNS) -> Printed:
    """Prints a protocol both ways, in turn, after one run of each that is not counted."""
    text = _final_html(view, bundle, drawings)
    pages = 0

    def alone() -> None:
        nonlocal pages
        pages = _alone(text, bundle)

    ways: tuple[Callable[[], Any], ...] = (lambda: protocol_pdf(view, bundle, EPOCH, drawings), alone)
    times: list[list[float]] = [[], []]
    for _ in range(runs + 1):
        for way, found in zip(ways, times, strict=True):
            start = process_time()
            way()
            found.append(process_time() - start)
    return Printed(name, pages, median(times[0][1:]), median(times[1][1:]))


def _final_html(view: ProtocolView, bundle: bytes, drawings: ProtocolFigures) -> str:
    """The HTML that is laid out last when the protocol is printed."""
    seen: list[str] = []
    lay_out = typeset.Typesetter.lay_out

    def listen(self: typeset.Typesetter, text: str) -> Any:
        seen.append(text)
        return lay_out(self, text)

    typeset.Typesetter.lay_out = listen  # type: ignore[method-assign]
    try:
        protocol_pdf(view, bundle, EPOCH, drawings)
    finally:
        typeset.Typesetter.lay_out = lay_out  # type: ignore[method-assign]
    return seen[-1]


def _alone(text: str, bundle: bytes) -> int:
    """WeasyPrint's own call, with the same variant, the same attachment and the same fonts. Returns the pages."""
    import weasyprint

    with typeset.typesetter(EPOCH), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        document = weasyprint.HTML(string=text).render()
        document.metadata.attachments = [weasyprint.Attachment(string=bundle.decode(), name="bundle.json")]
        document.write_pdf(pdf_variant="pdf/a-3a")
        return len(document.pages)
