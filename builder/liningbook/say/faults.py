"""What is said of a source that is wrong. English alone: whoever writes sources reads it, and no output shows it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from liningbook.finding import Fault
from liningbook.say.told import Told

WORDS: Mapping[str, Callable[[Fault], Told]] = {}
"""The words of each code (`Fault.what`)."""


def fault_told(fault: Fault) -> Told:
    """Message, labels and help for a fault of the sources."""
    return WORDS[fault.what](fault)
