"""What is said where something is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from liningbook.finding import Refused
from liningbook.say.faults import reason_words


@contextmanager
def refusing(kind: type[Refused], words: str) -> Iterator[None]:
    """Within it something must be refused, with words that match."""
    with pytest.raises(kind) as stop:
        yield
    assert re.search(words, reason_words(stop.value)), reason_words(stop.value)
