"""What the facts of all checks are made of: the cases they speak of, the day, and what could not be settled."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from liningbook.finding import About, Fact, Finding
from liningbook.space.budget import Limit
from liningbook.space.cells import Space
from liningbook.space.region import Region


@dataclass(frozen=True)
class Doubt:
    """That a search was broken off after so much work, with bounds on the part of all cases that it looked for."""

    least: Fraction
    most: Fraction
    limit: Limit


@dataclass(frozen=True)
class Cases:
    """Cases as few large boxes; where there is a doubt there may be more of them."""

    space: Space = field(repr=False, compare=False)
    region: Region
    doubt: Doubt | None = None


@dataclass(frozen=True)
class CaseFact(Fact):
    """A fact that is so in some cases."""

    cases: Cases

    def blamed(self) -> tuple[str, ...]:
        """The rules of which one is most likely the cause, or what else a cause is known by."""
        return self.about().rules


@dataclass(frozen=True)
class Dated(Fact):
    """What a later day brings: the fact, only of the cases in which it is not so on the day before."""

    fact: CaseFact
    day: date

    def about(self) -> About:
        """What the fact itself is about, with the day."""
        return replace(self.fact.about(), on=self.day)


@dataclass(frozen=True)
class Unsettled(Fact):
    """That the work allowed was not enough to say whether there is more of a kind."""

    limit: Limit

    def about(self) -> About:
        """Nothing but that it is not complete."""
        return About(further={"complete": False})


def cases_of(finding: Finding) -> Cases | None:
    """The cases that a finding speaks of, which may be none; nothing for a kind that never speaks of any."""
    fact = finding.fact.fact if isinstance(finding.fact, Dated) else finding.fact
    return fact.cases if isinstance(fact, CaseFact) else None


def same_thing(finding: Finding) -> Hashable:
    """Equal for two findings that are the same thing: kind, decision, rules, further keys and day, but no cases."""
    about = finding.fact.about()
    further = {**about.further, "on": about.on.isoformat()} if about.on else about.further
    told = tuple(sorted((key, str(value)) for key, value in further.items()))
    file = finding.span.file if not about.rules and about.decision is None else ""
    return (finding.kind, about.decision, about.rules[: about.telling], told, file)
