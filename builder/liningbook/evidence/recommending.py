"""What a strong recommendation on weak evidence, and a good practice statement, must have to say for themselves.

The five situations in which a strong recommendation may rest on low or very low certainty: Andrews et al., J Clin
Epidemiol 2013;66:726-35, as tabulated in BMJ Open 2017;7:e018593, table 1 (PMC5701989); the names are ours. The five
questions of a good practice statement: Guyatt et al., J Clin Epidemiol 2016 (10.1016/j.jclinepi.2016.07.006), seen as
reproduced; the names are ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from liningbook.evidence.grade import LEVELS, WEAK_LEVELS

Way = Literal["for", "against"]

SURE_LEVELS: frozenset[str] = frozenset(LEVELS) - WEAK_LEVELS
"""High and moderate certainty."""


@dataclass(frozen=True)
class Paradigm:
    """A situation: how certain benefit and harm (or cost) must be, which may be nothing, and which way it allows."""

    benefit: frozenset[str] | None
    harm: frozenset[str] | None
    way: Way
    is_doubtful: bool = False
    """Whether another certainty of the benefit is accepted with a question: versions of the table differ."""


SITUATIONS: Mapping[str, Paradigm] = {
    "life-at-stake": Paradigm(WEAK_LEVELS, None, "for"),
    "harm-surer-than-benefit": Paradigm(WEAK_LEVELS, SURE_LEVELS, "against"),
    "alike-but-surely-safer": Paradigm(WEAK_LEVELS, SURE_LEVELS, "for"),
    "surely-alike-perhaps-riskier": Paradigm(SURE_LEVELS, WEAK_LEVELS, "against"),
    # Seen: the benefit modest, of high or moderate certainty. Another version, from memory: of any certainty.
    "possible-disaster": Paradigm(SURE_LEVELS, WEAK_LEVELS, "against", is_doubtful=True),
}
"""A life or as much is at stake; the harm is surer than the benefit; as good as far as is known, and surely less
harmful or costly; surely as good, and perhaps riskier; a possible disaster."""

GOOD_PRACTICE: tuple[str, ...] = ("what_exactly", "why_needed", "what_is_gained", "why_no_study", "how_it_follows")
"""The five answers of a good practice statement: is it clear and can it be done; does practice need it; is the net
benefit large, all things considered; would looking for studies be a waste; how does what is known lead to it."""


@dataclass(frozen=True)
class Missed:
    """A condition of a situation that does not hold: `benefit`, `harm` or `way`, what is stated and what would do."""

    what: Literal["benefit", "harm", "way"]
    stated: tuple[str, ...]
    wanted: tuple[str, ...]
    is_doubt: bool = False
    """Whether it is only asked about."""
    by_tables: bool = False
    """Whether `wanted` is what the study tables give."""


def missed(name: str, benefit: str, harm: str, ways: frozenset[Way]) -> tuple[Missed, ...]:
    """The conditions of a situation that do not hold.

    `benefit` and `harm` are levels of certainty, empty where none is given; `ways` are those in which the
    recommendation goes. Raises KeyError for a name that is none.
    """
    paradigm = SITUATIONS[name]
    certainties: tuple[tuple[Literal["benefit", "harm"], str, frozenset[str] | None], ...] = (
        ("benefit", benefit, paradigm.benefit),
        ("harm", harm, paradigm.harm),
    )
    found = [
        Missed(what, (stated,) if stated else (), _ordered(wanted), is_doubt=what == "benefit" and paradigm.is_doubtful)
        for what, stated, wanted in certainties
        if wanted is not None and stated not in wanted
    ]
    if paradigm.way not in ways:
        found.append(Missed("way", tuple(sorted(ways)), (paradigm.way,)))
    return tuple(found)


def _ordered(levels: frozenset[str]) -> tuple[str, ...]:
    return tuple(level for level in reversed(LEVELS) if level in levels)
