"""Findings that have one cause are given one group, so that one wrong sign reads as one report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from heapq import heapify, heappop, heappush

from liningbook.checks.facts import CaseFact
from liningbook.checks.registry import OF_KIND
from liningbook.finding import Finding

MOST_CAUSES = 2000
"""A finding in which more rules meet more stretches has no one likely cause."""

Cause = tuple[str, str, str]
"""A rule, and a quantity with the stretches of it as the sources would write them; no quantity where it is the rule."""


def in_groups(findings: Sequence[Finding]) -> list[Finding]:
    """All findings in their order; two or more that share a likely cause are of one `group`.

    A likely cause is a rule together with the stretch of a quantity in which the finding holds: a wrong sign or
    threshold in one rule shows as several findings on just that stretch. The cause that explains most findings is
    taken first.
    """
    written: dict[tuple[str, int], str] = {}
    waiting: dict[Cause, list[int]] = {}
    for number, finding in enumerate(findings):
        for cause in _causes(finding, written):
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
        replace(finding, group=group_of[number]) if number in group_of else finding
        for number, finding in enumerate(findings)
    ]


def _causes(finding: Finding, written: dict[tuple[str, int], str]) -> set[Cause]:
    fact, groups = finding.fact, OF_KIND[finding.kind].groups
    if groups is None or not isinstance(fact, CaseFact) or not fact.cases.region:
        return set()
    rules = fact.blamed()
    if groups == "rule":
        return {(rule, "", "") for rule in rules}
    stretches = set()
    for box in fact.cases.region:
        for axis, mask in zip(fact.cases.space.axes, box, strict=True):
            key = (axis.factor.id, mask)
            if axis.factor.kind == "quantity" and mask != axis.full:
                if key not in written:
                    written[key] = str(axis.notation(mask))
                stretches.add((axis.factor.id, written[key]))
    if len(rules) * len(stretches) > MOST_CAUSES:
        return set()
    return {(rule, *stretch) for rule in rules for stretch in stretches}
