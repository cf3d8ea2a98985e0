"""The one list of what a build makes: a row for each kind of file, with its part, its maker and its names.

To add an output, add a row, and the maker that it names. What is said to be of an earlier build is believed only under
the names that stand here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

from liningbook.outputs.cannot import CannotMake

if TYPE_CHECKING:
    from liningbook.show.paper.card_sheet import CardStyle
    from liningbook.show.viewer import Viewer
    from liningbook.show.views.view import CardView

File = tuple[str, Callable[[], bytes]]
"""The name of a file below the output folder, and what makes its bytes."""


@dataclass(frozen=True)
class Plan:
    """What all outputs of a build are made from. `epoch`, in seconds since 1970, is the time that its files bear."""

    viewer: Viewer
    bundle: dict[str, Any]
    bundle_file: bytes
    epoch: int
    crop_marks: bool

    @cached_property
    def cards(self) -> tuple[list[CardView], list[CardStyle]]:
        """The cards of the first size and how to set them, with room for the longest number of a copy."""
        from liningbook.show.paper.copies import copy_lines
        from liningbook.show.paper.pdf import fitted

        longest = max(copy_lines(self.viewer), key=len, default="")
        views = [replace(view, copy=longest) for view in self.card_views(self.viewer.protocol.card.sizes[0])]
        views, styles = fitted(views, self.epoch, self.crop_marks)
        return [replace(view, copy="") for view in views], styles

    def card_views(self, size: str) -> Sequence[CardView]:
        """The cards of a size, at least one. Raises CannotMake."""
        views = self.viewer.card_views(size)
        if not views:
            raise CannotMake(self.viewer.card.why_none())
        return views


def _protocol(plan: Plan) -> Iterator[File]:
    from liningbook.show.figures.protocol_figures import protocol_figures
    from liningbook.show.paper.pdf import protocol_pdf

    figures = protocol_figures(plan.viewer.meaning, plan.viewer.charts)
    view = plan.viewer.protocol_view()
    yield "protocol.pdf", partial(protocol_pdf, view, plan.bundle_file, plan.epoch, figures)


def _cards(plan: Plan) -> Iterator[File]:
    """The card in every size wanted, the first as `card.pdf`."""
    from liningbook.show.paper.pdf import card_pdf, cards_pdf

    first, *others = plan.viewer.protocol.card.sizes
    plan.card_views(first)
    yield "card.pdf", lambda: cards_pdf(*plan.cards, plan.epoch)
    for size in others:
        yield f"card-{size.lower()}.pdf", partial(card_pdf, plan.card_views(size), plan.epoch, plan.crop_marks)


def _copies(plan: Plan) -> Iterator[File]:
    """The numbered cards for the rooms of `copies.yaml` to which one is due, set as the card is."""
    from liningbook.show.paper.copies import copy_lines, numbered_cards
    from liningbook.show.paper.pdf import cards_pdf

    def make() -> bytes:
        cards, styles = plan.cards
        return cards_pdf(numbered_cards(plan.viewer, cards), styles * count, plan.epoch)

    count = len(copy_lines(plan.viewer))
    if count:
        yield "card-copies.pdf", make


def _papers_of_copies(plan: Plan) -> Iterator[File]:
    """The notice that withdraws old cards, and the register of rooms."""
    from liningbook.show.paper.copies import copies_view, has_register, notice_pdf, register_pdf, takes_down

    view = copies_view(plan.viewer)
    if takes_down(view):
        yield "withdrawal-notice.pdf", partial(notice_pdf, view, plan.epoch)
    if has_register(view):
        yield "copies-register.pdf", partial(register_pdf, view, plan.epoch)


def _bundle(plan: Plan) -> Iterator[File]:
    yield "bundle.json", lambda: plan.bundle_file


def _site(plan: Plan) -> Iterator[File]:
    from liningbook.show.web.page import site_files

    for name, content in site_files(plan.viewer, plan.bundle).items():
        yield f"site/{name}", partial(bytes, content)


ROWS: tuple[tuple[str, Callable[[Plan], Iterator[File]], str], ...] = (
    ("protocol", _protocol, r"protocol\.pdf"),
    ("card", _cards, r"card(-a[456])?\.pdf"),
    ("card", _copies, r"card-copies\.pdf"),
    ("card", _papers_of_copies, r"(withdrawal-notice|copies-register)\.pdf"),
    ("bundle", _bundle, r"bundle\.json"),
    ("site", _site, r"site/[a-z]+\.(html|js|svg|webmanifest)"),
)

PARTS = tuple(dict.fromkeys(part for part, _, _ in ROWS))
"""What a build can be asked for."""

_PLOT = re.compile(r"forest-[a-z0-9-]+\.[a-z0-9-]+\.svg")

_OF_EVIDENCE = rf"evidence\.(html|json)|effects\.csv|{_PLOT.pattern}"
"""What `liningbook evidence --out` writes."""

_NAMES = re.compile("|".join([*(names for _, _, names in ROWS), _OF_EVIDENCE]))


def is_plot(name: str) -> bool:
    """Whether a file of this name is the plot of an outcome."""
    return _PLOT.fullmatch(name) is not None


def is_name_of_output(name: str) -> bool:
    """Whether a build, or the evidence on its own, can write a file of this name below its folder."""
    return _NAMES.fullmatch(name) is not None
