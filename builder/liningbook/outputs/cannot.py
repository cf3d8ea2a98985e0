"""What stands in the way of an output."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


class CannotMake(Exception):
    """Why an output cannot be made: words for the user."""


@contextmanager
def worded() -> Iterator[None]:
    """What stands in the way of an output, as CannotMake."""
    from liningbook.show.assets.fonts import MissingGlyph, PrintingUnavailable
    from liningbook.show.paper.overflow import DoesNotFit
    from liningbook.show.paper.typeset import RenderError

    try:
        yield
    except (MissingGlyph, PrintingUnavailable, DoesNotFit, RenderError) as error:
        raise CannotMake(str(error)) from error
