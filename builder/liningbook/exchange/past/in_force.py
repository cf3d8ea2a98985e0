"""Which commit first held a text in force: said to be so, with a first day, and approved as it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from liningbook.control.history import ApprovedAs, Commit, Held, InForce

MOST_LOOKED_AT = 500
"""In so many commits it is looked whether the edition is in force."""

MOST_READ = 60
"""So many of them are read to hold a digest against the text."""


@dataclass(frozen=True)
class EditionThen:
    """What `protocol.yaml` says of the edition, as far as it can be read."""

    edition: str
    status: str
    first_day: str
    approved: tuple[tuple[str, str, str, str], ...]
    """Name, role, day and digest of each approval."""


@dataclass(frozen=True)
class Editions:
    """What is asked of commits by their numbers; `sealed` is the digest of the text, nothing where it is not read."""

    commits: Sequence[Commit]
    edition: Callable[[int], EditionThen | None]
    sealed: Callable[[int], str | None]


def first_in_force(editions: Editions, numbers: Sequence[int], changed: date) -> Held:
    """The first of some commits, given from the oldest, that holds its text in force; and the first that only says so.

    An approval without a digest counts from the day of the change on: an older one cannot have been of this text.
    """
    unapproved: InForce | None = None
    read = 0
    for number in numbers[:MOST_LOOKED_AT]:
        then = editions.edition(number)
        if then is None or then.status != "in-force":
            continue
        sealed = None
        if any(digest for *_, digest in then.approved):
            read += 1
            if read > MOST_READ:
                return Held(None, unapproved, is_searched=False)
            sealed = editions.sealed(number)
        said = [_approved_as(*one, sealed) for one in then.approved]
        approvals = tuple(one for one in said if one is not None)
        commit, first = editions.commits[number], _day(then.first_day)
        since = None if first is None or commit.when is None else max(first, commit.when.date())
        edition = InForce(commit, then.edition, since, approvals)
        fits = [one.fits if one.digest else one.on >= changed for one in approvals]
        if (
            first is not None
            and any(fits)
            and all(fit or not one.digest for fit, one in zip(fits, approvals, strict=True))
        ):
            return Held(edition, unapproved)
        unapproved = unapproved or edition
    return Held(None, unapproved, is_searched=len(numbers) <= MOST_LOOKED_AT)


def _approved_as(name: str, role: str, on: str, digest: str, sealed: str | None) -> ApprovedAs | None:
    day = _day(on)
    fits = None if not digest or sealed is None else digest == sealed
    return None if day is None else ApprovedAs(name, role, day, digest, fits)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
