"""Which findings of two analyses are the same thing, whatever cases they list."""

from __future__ import annotations

from collections.abc import Hashable

from liningbook.finding import Finding


def same_thing(finding: Finding) -> Hashable:
    """Equal for two findings that are the same thing: kind, decision, rules, further keys and day, but no cases."""
    about = finding.fact.about()
    further = {**about.further, "on": about.on.isoformat()} if about.on else about.further
    told = tuple(sorted((key, str(value)) for key, value in further.items()))
    file = finding.span.file if not about.rules and about.decision is None else ""
    return (finding.kind, about.decision, about.rules[: about.telling], told, file)
