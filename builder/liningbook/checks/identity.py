"""Which findings of two analyses are the same thing, whatever cases they list."""

from __future__ import annotations

from collections.abc import Hashable

from liningbook.finding import Finding

RULES_THAT_TELL: dict[str, int] = {"contraindicated": 1, "clash": 0}
"""Kinds of which only the first so many rules tell two findings apart; the others are who happens to advise."""


def same_thing(finding: Finding) -> Hashable:
    """Equal for two findings that are the same thing: kind, decision, rules and further keys, but no cases."""
    rules = finding.rules[: RULES_THAT_TELL.get(finding.kind, len(finding.rules))]
    told = tuple(sorted((key, str(value)) for key, value in finding.extra.items() if key not in ("group", "mends")))
    file = finding.span.file if not finding.rules and finding.decision is None else ""
    return (finding.kind, finding.decision, rules, told, file)
