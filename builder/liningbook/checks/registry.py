"""The one visible, ordered list of what is looked for, with the severity of each kind.

A check is a function from an `Inquiry` to findings; its docstring is its help page. The kinds of the sources (a file
that is no protocol) are found while reading and have no function here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from inspect import cleandoc

from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds import (
    conflicts,
    evidence,
    gaps,
    indistinct,
    layers,
    overrides,
    protection,
    reach,
    references,
    validity,
    vignettes,
)
from liningbook.finding import Finding, Severity


@dataclass(frozen=True)
class Check:
    """A kind of finding and the function that looks for it."""

    kind: str
    severity: Severity
    run: Callable[[Inquiry], Iterator[Finding]]


SOURCE_KINDS: tuple[str, ...] = (
    "unreadable",
    "schema",
    "unit",
    "unknown-name",
    "empty-range",
    "out-of-limits",
    "override-circle",
)
"""Kinds that mean that the source is not a protocol; nothing is analysed on top of them. All are errors."""

CHECKS: tuple[Check, ...] = (
    Check("conflict", Severity.ERROR, conflicts.conflict),
    Check("gap", Severity.ERROR, gaps.gap),
    Check("contraindicated", Severity.ERROR, layers.contraindicated),
    Check("clash", Severity.ERROR, layers.clash),
    Check("unprotected", Severity.WARNING, protection.unprotected),
    Check("less-protection", Severity.WARNING, protection.less_protection),
    Check("indistinct", Severity.WARNING, indistinct.indistinct),
    Check("expiring", Severity.WARNING, validity.expiring),
    Check("unreachable", Severity.WARNING, reach.unreachable),
    Check("avoid-overridden", Severity.WARNING, overrides.avoid_overridden),
    Check("idle-override", Severity.WARNING, overrides.idle_override),
    Check("duplicate", Severity.NOTE, conflicts.duplicate),
    Check("certainty-mismatch", Severity.ERROR, evidence.certainty_mismatch),
    Check("level-mismatch", Severity.ERROR, evidence.level_mismatch),
    Check("strong-on-weak", Severity.ERROR, evidence.strong_on_weak),
    Check("unknown-reference", Severity.ERROR, references.unknown_reference),
    Check("uncited", Severity.ERROR, references.uncited),
    Check("unused-reference", Severity.WARNING, references.unused_reference),
    Check("review-overdue", Severity.WARNING, references.review_overdue),
    Check("weaker-overrides-stronger", Severity.WARNING, overrides.weaker_overrides_stronger),
    Check("vignette", Severity.ERROR, vignettes.vignette),
)


ON_LATER_DAYS = ("conflict", "gap", "contraindicated", "clash", "unprotected", "less-protection")
"""Kinds that are also looked for on each later day, up to the review, on which a rule starts or ends."""


def help_page(kind: str) -> str:
    """What a kind of finding means and why it matters; nothing for the kinds of the sources."""
    return next((cleandoc(check.run.__doc__ or "") for check in CHECKS if check.kind == kind), "")


def run_all(inquiry: Inquiry, checks: Sequence[Check] = CHECKS) -> list[Finding]:
    """Every finding of the checks, in the order of the list; then those of later days, by date."""

    def lasting(then: Inquiry) -> Iterator[Finding]:
        for check in checks:
            if check.kind in ON_LATER_DAYS:
                yield from check.run(then)

    found = [finding for check in checks for finding in inquiry.settled(check.kind, check.severity, check.run)]
    return found + inquiry.settled("expiring", Severity.WARNING, lambda now: validity.later(now, lasting))
