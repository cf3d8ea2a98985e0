"""The items and domains of AGREE II, what appraisers scored, and the scaled scores of the domains.

Brouwers et al., AGREE II, CMAJ 2010;182:E839-42, doi 10.1503/cmaj.090449, and its user's manual. The scores of the
domains are independent: they are never added up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal

from liningbook.finding import Span

DOMAINS: Mapping[str, tuple[str, ...]] = {
    "scope": ("1", "2", "3"),
    "stakeholders": ("4", "5", "6"),
    "rigour": ("7", "8", "9", "10", "11", "12", "13", "14"),
    "clarity": ("15", "16", "17"),
    "applicability": ("18", "19", "20", "21"),
    "independence": ("22", "23"),
}
"""The items of each domain, in their order."""

ITEMS: tuple[str, ...] = tuple(item for items in DOMAINS.values() for item in items)

LOWEST, HIGHEST = 1, 7
"""The ends of the scale on which an item, and the whole, is scored."""

AT_LEAST, PREFERRED = 2, 4
"""So many appraisers there must be, and should be."""

Recommends = Literal["yes", "with-changes", "no"]


@dataclass(frozen=True)
class Score:
    """What an appraiser gave an item, and why; nothing where the item was found not to apply."""

    score: int | None
    because: str
    span: Span


@dataclass(frozen=True)
class Appraisal:
    """One appraiser's judgement of the protocol; `quality` is of the whole, on the scale of the items."""

    id: str
    file: str
    span: Span
    appraiser: str
    role: str
    on: date | None
    items: Mapping[str, Score]
    quality: int | None = None
    recommend: Recommends | None = None


@dataclass(frozen=True)
class DomainScore:
    """What all appraisers together gave a domain, with the least and the most that they could have given.

    `percent` is 100 × (obtained − least) / (most − least), exact; nothing where no item applied.
    """

    domain: str
    obtained: int
    least: int
    most: int

    @property
    def percent(self) -> Fraction | None:
        """The scaled score, 0 to 100."""
        if self.most == self.least:
            return None
        return Fraction(100 * (self.obtained - self.least), self.most - self.least)


def domain_scores(appraisals: Sequence[Appraisal]) -> tuple[DomainScore, ...]:
    """The score of each domain; an item that an appraiser found not to apply counts in none of the three sums."""
    found = []
    for domain, items in DOMAINS.items():
        scored = [one for appraisal in appraisals for item in items if (one := appraisal.items.get(item))]
        given = [one.score for one in scored if one.score is not None]
        found.append(DomainScore(domain, sum(given), LOWEST * len(given), HIGHEST * len(given)))
    return tuple(found)
