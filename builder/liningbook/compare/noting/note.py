"""One thing that differs between two versions, and how texts, lists and names are compared."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, TypeVar

from liningbook.compare.effects import Grade
from liningbook.evidence.table import Judgement

What = Literal["shown", "readings", "rules", "evidence", "materials", "dates", "words", "frame", "other_changes"]
"""The groups of differences, in the order in which they are told."""

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class NeededWhen:
    """Under which answers of another decision a decision is asked; as a text it is the notation of the JSON."""

    decision: str
    answers: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.decision} is {' or '.join(self.answers)}"


@dataclass(frozen=True)
class Note:
    """One thing that differs.

    `what` is the group; `kind` and `name` say what it is (`rule`, `line-the-floor`) and `field` which part of it.
    `under` is the decision of whose advice it is a part. `before` and `after` are texts as the sources would say it,
    empty where there is none or where it is too long.
    """

    what: What
    kind: str
    name: str
    field: str
    before: str | NeededWhen = ""
    after: str | NeededWhen = ""
    grade: Grade = ""
    under: str = ""


def in_both(old: Mapping[str, Thing], new: Mapping[str, Thing]) -> Iterator[tuple[str, Thing, Thing]]:
    """What has one name in both."""
    return ((name, thing, new[name]) for name, thing in old.items() if name in new)


def of_text(
    what: What, kind: str, name: str, field: str, before: str | NeededWhen, after: str | NeededWhen
) -> Iterator[Note]:
    """A text that is another one now."""
    if before != after:
        yield Note(what, kind, name, field, before, after)


def of_lists(what: What, kind: str, name: str, field: str, old: Iterable[str], new: Iterable[str]) -> Iterator[Note]:
    """What went from a list and what came; another order alone is no difference."""
    before, after = list(old), list(new)
    went, came = [t for t in before if t not in after], [t for t in after if t not in before]
    if went or came:
        yield Note(what, kind, name, field, "; ".join(went), "; ".join(came))


def judged_text(name: str, judgement: Judgement) -> str:
    """`risk-of-bias 1`, with the author's sentence where there is one."""
    step = f"{name} {judgement.level}"
    return f"{step}: {judgement.because}" if judgement.because else step


def of_keys(what: What, kind: str, old: Mapping[str, object], new: Mapping[str, object]) -> Iterator[Note]:
    """Names that went and names that came."""
    yield from (Note(what, kind, name, "taken out") for name in old if name not in new)
    yield from (Note(what, kind, name, "added") for name in new if name not in old)
