"""Findings that have one cause are given one group, so that one wrong sign reads as one report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from heapq import heapify, heappop, heappush

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding

GROUPED = ("conflict", "duplicate", "contraindicated", "gap", "unprotected", "less-protection", "clash")

MOST_CAUSES = 2000
"""A finding in which more rules meet more stretches has no one likely cause."""

Cause = tuple[str, ...]


def in_groups(inquiry: Inquiry, findings: Sequence[Finding]) -> list[Finding]:
    """The same findings in the same order; two or more that share a likely cause have the key `group`.

    A likely cause is a rule together with the stretch of a quantity in which the finding holds: a wrong sign or
    threshold in one rule shows as several findings on just that stretch. The cause that explains most findings is
    taken first.
    """
    waiting: dict[Cause, list[int]] = {}
    for number, finding in enumerate(findings):
        for cause in _causes(inquiry, finding):
            waiting.setdefault(cause, []).append(number)
    group_of: dict[int, str] = {}
    order = sorted(waiting, reverse=True)
    heap = [(-len(waiting[cause]), place) for place, cause in enumerate(order)]
    heapify(heap)
    while heap:
        _, place = heappop(heap)
        found = waiting[order[place]]
        left = [number for number in found if number not in group_of]
        if len(left) < 2:
            continue
        if len(left) < len(found):
            waiting[order[place]] = left
            heappush(heap, (-len(left), place))
            continue
        name = f"{min(left) + 1}"
        group_of |= dict.fromkeys(left, name)
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
    files = {label.span.file for label in finding.related}
    rules = finding.rules or tuple(rule.id for rule in inquiry.meaning.rules if _file(rule.id) in files)
    if finding.kind == "contraindicated":
        return {("rule", rule) for rule in rules}
    if len(rules) * len(stretches) > MOST_CAUSES:
        return set()
    return {(rule, name, stretch) for rule in rules for name, stretch in stretches}


def _file(rule: str) -> str:
    return f"rules/{rule}.md"
