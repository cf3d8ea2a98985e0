"""Findings that have one cause are given one group, so that one wrong sign reads as one report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding

GROUPED = ("conflict", "duplicate", "contraindicated", "gap", "unprotected", "less-protection", "clash")

Cause = tuple[str, ...]


def in_groups(inquiry: Inquiry, findings: Sequence[Finding]) -> list[Finding]:
    """The same findings in the same order; two or more that share a likely cause have the key `group`.

    A likely cause is a rule together with the stretch of a quantity in which the finding holds: a wrong sign or
    threshold in one rule shows as several findings on just that stretch. The cause that explains most findings is
    taken first.
    """
    causes = [_causes(inquiry, finding) for finding in findings]
    group_of: dict[int, str] = {}
    while True:
        open_: dict[Cause, list[int]] = {}
        for number, found in enumerate(causes):
            if number not in group_of:
                for cause in found:
                    open_.setdefault(cause, []).append(number)
        best = max(open_.items(), key=lambda item: (len(item[1]), item[0]), default=None)
        if best is None or len(best[1]) < 2:
            break
        name = f"{min(best[1]) + 1}"
        for number in best[1]:
            group_of[number] = name
    return [
        replace(finding, extra={**finding.extra, "group": group_of[number]}) if number in group_of else finding
        for number, finding in enumerate(findings)
    ]


def _causes(inquiry: Inquiry, finding: Finding) -> set[Cause]:
    if finding.kind not in GROUPED or not finding.cases or "on" in finding.extra:
        return set()
    stretches = {
        (name, str(case[name]))
        for case in finding.cases
        for name, factor in inquiry.protocol.factors.items()
        if factor.kind == "quantity" and name in case
    }
    rules = finding.rules or tuple(
        rule.id for rule in inquiry.meaning.rules if any(label.span.file == _file(rule.id) for label in finding.related)
    )
    if finding.kind == "contraindicated":
        return {("rule", rule) for rule in rules}
    return {(rule, name, stretch) for rule in rules for name, stretch in stretches}


def _file(rule: str) -> str:
    return f"rules/{rule}.md"
