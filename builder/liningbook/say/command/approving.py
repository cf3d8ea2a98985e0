"""What is said when somebody approves an edition."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from liningbook.model.protocol import Approval, Protocol
from liningbook.say.locale import day_words

EXAMPLES = {"--name": "B. Reed", "--role": "clinical lead"}
"""What must be said of whoever approves, each with an example."""
NO_TEXT = "{option} is empty; write for example {option} '{example}'"
HIDDEN_SIGN = "{option} holds a character that does not show, {sign}; write it without"
STILL_TO_COME = "nobody approves on a day that is still to come: {day}"
HAS_ERRORS = "nothing was approved: these errors must be settled first; `liningbook check {protocol}` says more"
WITHDRAWN = "nothing was approved: edition {edition} is withdrawn; give the edition that follows it another `status`"
PAST_REVIEW = (
    "nothing was approved: edition {edition} was to be reviewed by {day}. Review it, write the next date as "
    "`review_by` and give it a new `edition`; then have it approved"
)
CHANGED_MEANWHILE = "nothing was approved: {file} has changed while it was read; look at it once more"
NOT_WRITTEN = (
    "nothing was approved: the entry could not be put into {file} so that it reads back; write it there yourself, "
    "under `approved`:\n  - {line}"
)


def approved_words(protocol: Protocol, approval: Approval, file: str) -> str:
    """Who approved what, and where that is written."""
    return (
        f"{approval.name}, {approval.role}, approves edition {protocol.edition} on {day_words(approval.on)}: "
        f"written into {file}, with the digest {approval.digest[:8]} of what it says.\n"
    )


def next_lines(protocol: Protocol, others: Sequence[Approval], left: Sequence[str]) -> Iterator[str]:
    """What is still to be done; `left` are the messages of what a check still finds about status and approval."""
    for other in others:
        who = f"{other.name}, {other.role}" if other.role else other.name
        yield (
            f"The approval by {who} of {day_words(other.on)} is of an earlier text and does not count any more: "
            "have it given anew, or take it out."
        )
    for message in left:
        yield f"Still to be settled: {message}."
    if protocol.status == "draft":
        yield "It is still a draft. When it is to be followed, write `status: in-force`, which no approval covers."
        if protocol.in_force_from is None:
            yield "Write its first day with it: `in_force_from`."
    yield "Then commit it, so that its history shows who approved what, and build it."
    yield "The digest shows whether the text has changed since; that the advice is right, the person answers for."


def is_too_late(protocol: Protocol, day: date) -> bool:
    """Whether a day is past the review."""
    return day > protocol.review_by.on
