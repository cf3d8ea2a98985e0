"""What is said of a source that is wrong. English alone: whoever writes sources reads it, and no output shows it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.finding import Fault, Refused
from liningbook.say.faults.cases import CASES
from liningbook.say.faults.citations import CITATIONS
from liningbook.say.faults.files import FILES
from liningbook.say.faults.protocol import PROTOCOL
from liningbook.say.faults.quantities import QUANTITIES
from liningbook.say.faults.tables import TABLES
from liningbook.say.faults.words import Say, advice, fill
from liningbook.say.told import Told

WORDS: Mapping[str, Say] = {**FILES, **QUANTITIES, **PROTOCOL, **CITATIONS, **CASES, **TABLES}
"""The words of each code (`Fault.what`)."""

RELATED: Mapping[str, str] = {
    "first-given": "first given here",
    "first-label": "the other label",
    "other-one": "the other one",
    "other-key": "the other key",
    "opened": "opened here",
    "overrides": "overrides {other}",
}
"""What is said at a further place of a fault; `other` is what `others`, by position, names there."""


def fault_told(fault: Fault) -> Told:
    """Message, labels and help for a fault of the sources."""
    words = WORDS[fault.what]
    given = fault.given
    others = given.get("others", ("",) * len(fault.related))
    related = tuple(
        (span, fill(RELATED[what], {"other": other})) for (span, what), other in zip(fault.related, others, strict=True)
    )
    return Told(fill(words.message, given), fill(words.label, given), related, (), advice(words, given))


def reason_words(no: Refused) -> str:
    """Why something cannot be used, with what to do about it, in one piece."""
    words, given = WORDS[no.what], {name: _in_words(value) for name, value in no.given.items()}
    return "; ".join((fill(words.message, given), *advice(words, given)))


def _in_words(value: Any) -> Any:
    """A reason within a reason in words, several with semicolons; any other value as it is."""
    if isinstance(value, Refused):
        return reason_words(value)
    if isinstance(value, tuple) and value and all(isinstance(item, Refused) for item in value):
        return "; ".join(reason_words(item) for item in value)
    return value
