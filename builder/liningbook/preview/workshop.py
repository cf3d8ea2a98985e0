"""From the sources as they stand at this moment to what the preview shows; never without something to show."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.say.catalogue import speaking
from liningbook.say.faults import reason_words
from liningbook.show.assets.fonts import MissingGlyph
from liningbook.show.markup.markdown import to_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.faults_view import Faults, faults_of, no_protocol
from liningbook.show.web.page import site_files
from liningbook.show.web.page_html import faults_html
from liningbook.sources.documents import NoProtocol


@dataclass(frozen=True)
class Showing:
    """What is to be seen: the page, its version (the digest of its content), and what was found in a few words."""

    page: bytes
    version: str
    summary: str


@dataclass(frozen=True)
class _Good:
    """The last sources of which a page could be made."""

    viewer: Viewer
    bundle: dict[str, Any]

    @property
    def rules(self) -> tuple[str, ...]:
        return tuple(rule.id for rule in self.viewer.meaning.rules)

    def page(self, faults: Faults) -> bytes:
        return site_files(self.viewer, self.bundle, offline=False, faults=faults)["index.html"]


class Workshop:
    """Makes the page of a protocol folder anew whenever it is asked to; `day` gives the day that is looked at."""

    def __init__(self, folder: Path, day: Callable[[], date]) -> None:
        self.folder, self.day = folder, day
        self.good: _Good | None = None

    def make(self) -> Showing:
        """The page with the findings; where the sources cannot be read, the findings and the last page, marked so.

        A folder or a file that is gone is told in the page.
        """
        try:
            analysis = analyse(self.folder, self.day())
        except NoProtocol as no:
            return self._without(reason_words(no))
        except OSError as error:  # it went away while it was read
            return self._without(error.strerror or str(error))
        if analysis.protocol is None:
            rules = self.good.rules if self.good else ()
            return self._last(faults_of(analysis, rules, out_of_date=self.good is not None))
        with speaking(analysis.protocol.language):
            bundle = bundle_of(analysis)
            good = _Good(Viewer(analysis, bundle["digest"], to_html), bundle)
            faults = faults_of(analysis, good.rules)
            try:
                page = good.page(faults)
            except MissingGlyph as no:
                return self._without(str(no))
        self.good = good
        return _showing(page, faults)

    def _without(self, reason: str) -> Showing:
        return self._last(no_protocol(reason, out_of_date=self.good is not None))

    def _last(self, faults: Faults) -> Showing:
        if self.good is None:
            return _showing(faults_html(faults).encode(), faults)
        with speaking(self.good.viewer.protocol.language):
            return _showing(self.good.page(faults), faults)


def _showing(page: bytes, faults: Faults) -> Showing:
    return Showing(page, hashlib.sha256(page).hexdigest()[:32], faults.summary)
