"""Rules that end, and what goes wrong on a later day on which a rule starts or ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta

from liningbook.checks.identity import same_thing
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Severity
from liningbook.model.protocol import Rule
from liningbook.say.locale import day_words
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.region import Region


def expiring(inquiry: Inquiry) -> Iterator[Finding]:
    """A rule ends (`valid`) before the protocol is to be reviewed; the cases are those left without an answer then.

    No case may be listed: then other rules answer from that day on. Renew the rule, write the one that follows it, or
    review the protocol earlier.
    """
    review = inquiry.protocol.review_by.on
    for rule in inquiry.protocol.rules.values():
        last = rule.valid_until
        if last is None or last < inquiry.day or last >= review:
            continue
        after = inquiry.on(last + timedelta(days=1))
        left = _left_open(after, rule)
        day = day_words(last + timedelta(days=1))
        told = {"on": (last + timedelta(days=1)).isoformat()}
        advice = ["write the rule that follows it, or a later day in `until`", "or review the protocol before then"]
        if not left:
            yield Finding(
                "expiring",
                Severity.WARNING,
                f"'{rule.title}' ends on {day_words(last)}, before the review",
                rule.valid_span or rule.span,
                "ends before the review",
                notes=(f"other rules answer its cases from {day} on",),
                help=tuple(advice),
                rules=(rule.id,),
                extra=told,
            )
            continue
        yield after.about_cases(
            "expiring",
            Severity.WARNING,
            f"'{rule.title}' ends on {day_words(last)}, and from {day} on there is no answer {after.in_brief(left)}",
            rule.valid_span or rule.span,
            left,
            label="ends before the review",
            advice=advice,
            rules=[rule],
            extra=told,
        )


def _left_open(after: Inquiry, rule: Rule) -> Region:
    """The cases of a rule that no rule answers any more."""
    meaning = after.meaning
    held = Region.any_of(meaning.space.boxes(rule.when))
    found = Region()
    for decision in rule.advise:
        found = found | (meaning.gap(decision) & held)
    return found


def change_days(inquiry: Inquiry) -> list[date]:
    """The later days, up to the review, on which a rule starts or is there no more."""
    review = inquiry.protocol.review_by.on
    days = set()
    for rule in inquiry.protocol.rules.values():
        if rule.valid_from is not None:
            days.add(rule.valid_from)
        if rule.valid_until is not None and rule.valid_until < review:
            days.add(rule.valid_until + timedelta(days=1))
    return sorted(day for day in days if inquiry.day < day <= review)


def later(inquiry: Inquiry, checks: Callable[[Inquiry], Iterator[Finding]]) -> Iterator[Finding]:
    """What the given checks find on later days and did not find on the day before; each with its date (`on`).

    Cases left open because a rule ends are left to `expiring`.
    """
    before = inquiry
    for day in change_days(inquiry):
        if in_force().is_spent:
            raise OutOfTime
        now = inquiry.on(day)
        known = {same_thing(finding): finding for finding in checks(before)}
        for finding in checks(now):
            fresh = _fresh(now, before, finding, known.get(same_thing(finding)))
            if fresh is not None:
                yield fresh
        before = now


def _fresh(now: Inquiry, before: Inquiry, finding: Finding, known: Finding | None) -> Finding | None:
    """The finding with its date and only with the cases that are new, or nothing if none is."""
    space = now.meaning.space
    region = Region.any_of(space.from_notation(case) for case in finding.cases)
    if known is not None:
        region = region.minus([space.from_notation(case) for case in known.cases])
    if finding.kind == "gap" and finding.decision is not None:
        ended = [r for r in before.meaning.rules if r.id not in now.meaning.number and finding.decision in r.advise]
        region = region.minus([box for rule in ended for box in space.boxes(rule.when)])
    if not region:
        return None
    told = now.about_cases(
        finding.kind,
        finding.severity,
        f"from {day_words(now.day)} on: {finding.message}",
        finding.span,
        region,
        label=finding.label,
        related=finding.related,
        advice=finding.help,
        decision=now.protocol.decisions[finding.decision] if finding.decision else None,
        rules=[now.protocol.rules[name] for name in finding.rules],
        extra={**finding.extra, "on": now.day.isoformat()},
    )
    return replace(told, notes=(*told.notes, "a rule starts or ends on that day"))
