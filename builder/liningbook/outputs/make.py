"""The files of a build, and how their bytes are made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING

from liningbook.analysis import Analysis
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.outputs.cannot import worded
from liningbook.outputs.rows import ROWS, Plan, is_name_of_output
from liningbook.say.catalogue import language, speaking
from liningbook.show.viewer import Viewer

if TYPE_CHECKING:
    from liningbook.compare.comparison import Comparison


@dataclass(frozen=True)
class Output:
    """A file of a build: the part it belongs to, its name below the output folder, and what makes it.

    It is made in the language of the protocol, whenever that is.
    """

    part: str
    name: str
    language: str
    _make: Callable[[], bytes]

    def content(self) -> bytes:
        """The bytes of the file. Raises CannotMake."""
        with worded(), speaking(self.language):
            return self._make()


def outputs(
    analysis: Analysis,
    wanted: Sequence[str],
    epoch: int | None = None,
    crop_marks: bool = False,
    since: Comparison | None = None,
) -> list[Output]:
    """The files of each wanted part (some of `PARTS`), not yet made.

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
        plan = Plan(viewer, bundle, bundle_bytes(bundle), when, crop_marks or viewer.protocol.card.crop_marks)
        rows = [(part, files) for part, files, _ in ROWS if part in wanted]
        made = [Output(part, name, language(), make) for part, files in rows for name, make in files(plan)]
    assert all(is_name_of_output(output.name) for output in made)
    return made


def _epoch_of(analysis: Analysis) -> int:
    assert analysis.protocol is not None
    day = analysis.protocol.in_force_from or analysis.day
    return int(datetime.combine(day, time(), UTC).timestamp())
