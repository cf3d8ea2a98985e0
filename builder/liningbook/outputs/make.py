"""The outputs of a build, each as a small description: its name, its key, and how its bytes are made.

To add an output, add a line to the function of its part below. What an output is made from is handed to `one`, which
puts all of it into the key, so that nothing can be forgotten.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, time
from functools import partial
from typing import TYPE_CHECKING, Any

from liningbook.analysis import Analysis
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.outputs.build_key import key_of, program_key
from liningbook.say.catalogue import language, speaking
from liningbook.show.views.build_view import Viewer

if TYPE_CHECKING:
    from liningbook.compare.comparison import Comparison


class CannotMake(Exception):
    """Why an output cannot be made: words for the user."""


@dataclass(frozen=True)
class Output:
    """A file of a build: the part it belongs to, its name below the output folder, its key and what makes it.

    With the same key it has the same bytes. It is made in the language of the protocol, maybe in another process.
    """

    part: str
    name: str
    key: str
    language: str
    _make: Callable[[], bytes]

    def content(self) -> bytes:
        """The bytes of the file. Raises CannotMake."""
        with worded(), speaking(self.language):
            return self._make()


@dataclass(frozen=True)
class Plan:
    """What all outputs of a build are made from."""

    viewer: Viewer
    bundle: dict[str, Any]
    bundle_file: bytes
    epoch: int
    crop_marks: bool


def outputs(
    analysis: Analysis,
    wanted: Sequence[str],
    epoch: int | None = None,
    crop_marks: bool = False,
    since: Comparison | None = None,
) -> list[Output]:
    """The files of each wanted part (`protocol`, `card`, `bundle`, `site`), not yet made.

    `epoch` is the time that the PDF files bear, in seconds since 1970; left out it is the start of the day on which the
    edition came into force, or of the day looked at. With `since`, a comparison with an earlier edition, protocol, card
    and page say what has changed; the bundle does not. Raises CannotMake.
    """
    from liningbook.show.markup.markdown import to_html

    assert analysis.protocol is not None
    bundle = bundle_of(analysis)  # the same in every language
    with worded(), speaking(analysis.protocol.language):
        viewer = Viewer(analysis, bundle["digest"], to_html, since)
        when = _epoch_of(analysis) if epoch is None else epoch
        plan = Plan(viewer, bundle, bundle_bytes(bundle), when, crop_marks)
        return [output for part in wanted for output in PARTS[part](plan)]


def _protocol(plan: Plan) -> Iterator[Output]:
    from liningbook.show.figures.protocol_figures import protocol_figures
    from liningbook.show.paper.pdf import protocol_pdf

    view = plan.viewer.protocol_view()
    figures = protocol_figures(plan.viewer.meaning, plan.viewer.charts)
    yield one("protocol", "protocol.pdf", protocol_pdf, view, plan.bundle_file, plan.epoch, figures)


def _card(plan: Plan) -> Iterator[Output]:
    """The card in every size wanted, the first as `card.pdf`; and what `copies.yaml` asks for."""
    from liningbook.show.paper.copies import copies_files
    from liningbook.show.paper.pdf import card_pdf

    for index, size in enumerate(plan.viewer.protocol.card.sizes):
        views = plan.viewer.card_views(size)
        if not views:
            raise CannotMake(plan.viewer.card.why_none())
        name = f"card-{size.lower()}.pdf" if index else "card.pdf"
        yield one("card", name, card_pdf, views, plan.epoch, plan.crop_marks)
    for name, make, given in copies_files(plan.viewer, plan.epoch, plan.crop_marks):
        yield one("card", name, make, *given)


def _bundle(plan: Plan) -> Iterator[Output]:
    yield from ready("bundle", {"bundle.json": plan.bundle_file})


def _site(plan: Plan) -> Iterator[Output]:
    from liningbook.show.web.page import site_files

    yield from ready(
        "site", {f"site/{name}": content for name, content in site_files(plan.viewer, plan.bundle).items()}
    )


PARTS: Mapping[str, Callable[[Plan], Iterator[Output]]] = {
    "protocol": _protocol,
    "card": _card,
    "bundle": _bundle,
    "site": _site,
}


def one(part: str, name: str, make: Callable[..., bytes], *given: Any) -> Output:
    """A file that takes long to make: it is made from what is given, when it is asked for."""
    return Output(part, name, key_of(program_key(), language(), make, given), language(), partial(make, *given))


def ready(part: str, files: Mapping[str, bytes]) -> list[Output]:
    """Files that are made already."""
    return [Output(part, name, key_of(content), language(), partial(bytes, content)) for name, content in files.items()]


@contextmanager
def worded() -> Iterator[None]:
    """What stands in the way of an output, as CannotMake."""
    from liningbook.show.markup.fonts import MissingGlyph, PrintingUnavailable
    from liningbook.show.paper.pdf import DoesNotFit, RenderError

    try:
        yield
    except (MissingGlyph, PrintingUnavailable, DoesNotFit, RenderError) as error:
        raise CannotMake(str(error)) from error


def _epoch_of(analysis: Analysis) -> int:
    assert analysis.protocol is not None
    day = analysis.protocol.in_force_from or analysis.day
    return int(datetime.combine(day, time(), UTC).timestamp())
