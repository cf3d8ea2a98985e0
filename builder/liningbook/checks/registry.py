"""The one visible, ordered list of what is looked for: one row a kind of finding, which says everything about it.

A check is a function from an `Inquiry` to facts; its docstring is its help page. The kinds of the sources (a file
that is no protocol) are found while reading and have no function here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from inspect import cleandoc
from typing import Any, Literal

from liningbook.checks import proposals
from liningbook.checks.facts import Unsettled
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds import (
    asked_first,
    coming,
    conflicts,
    gaps,
    indistinct,
    layers,
    overrides,
    placing,
    protection,
    reach,
    references,
    sources,
    validity,
    vignettes,
)
from liningbook.checks.kinds.graded import questioned, stated, strong
from liningbook.finding import Fact, Finding, Severity
from liningbook.space.budget import OutOfTime

ERROR, WARNING, NOTE = Severity

FOR_A_CHECK = 0.5
"""The share of the time left that may go into one check."""


@dataclass(frozen=True)
class Kind:
    """A kind of finding.

    One that is `lasting` is also looked for on each later day, up to the review, on which a rule starts or ends.
    `warns` says of which facts of an error it makes a warning. `groups` says by what likely cause its findings are
    brought together: a rule, or a rule and the stretch of a quantity. `mends` thinks of what would mend one.
    """

    kind: str
    severity: Severity
    find: Callable[[Inquiry], Iterator[Fact]] | None = None
    lasting: bool = False
    warns: Callable[[Any], bool] | None = None
    groups: Literal["rule", "stretch"] | None = None
    mends: Callable[[proposals.Proposer, Any], Iterator[proposals.Proposal]] | None = None

    @property
    def help(self) -> str:
        """What it means and why it matters; nothing for the kinds of the sources."""
        return cleandoc(self.find.__doc__ or "") if self.find else ""

    def look(self, inquiry: Inquiry) -> Iterator[Finding]:
        """Every finding of this kind."""
        return (self.finding(fact) for fact in self.find(inquiry)) if self.find else iter(())

    def settled(self, inquiry: Inquiry, look: Callable[[Inquiry], Iterable[Finding]]) -> list[Finding]:
        """What is found in half of the time left; if that was not enough to settle everything, that is said."""
        found: list[Finding] = []
        try:
            with inquiry.budget.part(FOR_A_CHECK):
                found.extend(look(inquiry))
        except OutOfTime:
            found.append(self.finding(Unsettled(inquiry.protocol.span, inquiry.budget.limit)))
        return found

    def finding(self, fact: Fact) -> Finding:
        """A fact as a finding; a doubt whether there is a warning is no more than a note."""
        if isinstance(fact, Unsettled):
            return Finding(self.kind, self.severity if self.severity is ERROR else NOTE, fact)
        slight = self.warns is not None and self.warns(fact)
        return Finding(self.kind, WARNING if slight else self.severity, fact)


KINDS: tuple[Kind, ...] = (
    Kind("unreadable", ERROR),
    Kind("schema", ERROR),
    Kind("unit", ERROR),
    Kind("unknown-name", ERROR),
    Kind("empty-range", ERROR),
    Kind("out-of-limits", ERROR),
    Kind("override-circle", ERROR),
    Kind("bad-table", ERROR),
    Kind("not-read", ERROR, sources.not_read, warns=sources.is_harmless),
    Kind("cut-text", WARNING, sources.cut_text),
    Kind("conflict", ERROR, conflicts.conflict, lasting=True, groups="stretch", mends=proposals.for_meeting),
    Kind("gap", ERROR, gaps.gap, lasting=True, groups="stretch", mends=proposals.for_gap),
    Kind(
        "contraindicated",
        ERROR,
        layers.contraindicated,
        lasting=True,
        groups="rule",
        mends=proposals.for_contraindicated,
    ),
    Kind("clash", ERROR, layers.clash, lasting=True, groups="stretch"),
    Kind("unprotected", WARNING, protection.unprotected, lasting=True),
    Kind("less-protection", WARNING, protection.less_protection, lasting=True),
    Kind("placing-order", WARNING, placing.placing_order, lasting=True),
    Kind("indistinct", WARNING, indistinct.indistinct),
    Kind("expiring", WARNING, validity.expiring),
    Kind("unreachable", WARNING, reach.unreachable),
    Kind("avoid-overridden", WARNING, overrides.avoid_overridden, mends=proposals.for_override),
    Kind("idle-override", WARNING, overrides.idle_override, mends=proposals.for_override),
    Kind("duplicate", NOTE, conflicts.duplicate, groups="stretch", mends=proposals.for_meeting),
    Kind("certainty-mismatch", ERROR, stated.certainty_mismatch),
    Kind("level-mismatch", ERROR, stated.level_mismatch),
    Kind("strong-on-weak", ERROR, strong.strong_on_weak),
    Kind("questioned", WARNING, questioned.questioned),
    Kind("unknown-reference", ERROR, references.unknown_reference),
    Kind("uncited", ERROR, references.uncited),
    Kind("unused-reference", WARNING, references.unused_reference),
    Kind("unused-table", WARNING, references.unused_table),
    Kind("bad-identifier", WARNING, references.bad_identifier),
    Kind("same-work-twice", WARNING, references.same_work_twice),
    Kind("retracted-reference", ERROR, references.retracted_reference, warns=references.is_asked),
    Kind("review-overdue", WARNING, references.review_overdue),
    Kind("weaker-overrides-stronger", WARNING, overrides.weaker_overrides_stronger),
    Kind("vignette", ERROR, vignettes.vignette),
    Kind("coming", NOTE, coming.coming, groups="rule"),
    Kind("no-stop-questions", WARNING, asked_first.no_stop_questions),
    Kind("unscreened", WARNING, asked_first.unscreened, lasting=True),
    Kind("screens-usual", NOTE, asked_first.screens_usual),
    Kind("status", ERROR, validity.status, warns=validity.is_slight),
    Kind("changed-since-approval", ERROR, validity.changed_since_approval, warns=validity.is_not_followed),
)

OF_KIND: dict[str, Kind] = {row.kind: row for row in KINDS}

CHECKS: tuple[Kind, ...] = tuple(row for row in KINDS if row.find is not None)
"""What is looked for in a protocol."""


def run_all(inquiry: Inquiry, checks: Sequence[Kind] = CHECKS) -> list[Finding]:
    """Every finding of the checks, in the order of the list; then those of later days, by date."""

    def lasting(then: Inquiry) -> Iterator[Finding]:
        return (finding for check in checks if check.lasting for finding in check.look(then))

    found = [finding for check in checks for finding in check.settled(inquiry, check.look)]
    return found + OF_KIND["expiring"].settled(inquiry, lambda now: validity.later(now, lasting))
