"""What the findings that a practice can accept are called in print; elsewhere their kinds stand in brackets."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.catalogue import N_

ACCEPTABLE: Mapping[str, str] = {
    "unprotected": N_("unprotected"),
    "less-protection": N_("less protection"),
    "placing-order": N_("placing order"),
    "indistinct": N_("indistinct"),
    "expiring": N_("expiring"),
    "unreachable": N_("unreachable"),
    "avoid-overridden": N_("avoid overridden"),
    "idle-override": N_("idle override"),
    "duplicate": N_("duplicate"),
    "unused-reference": N_("unused reference"),
    "unused-table": N_("unused study table"),
    "bad-identifier": N_("an identifier that cannot be right"),
    "same-work-twice": N_("the same work twice"),
    "retracted-reference": N_("a title that asks about a retraction"),
    "review-overdue": N_("review overdue"),
    "questioned": N_("a judgement put in question"),
    "weaker-overrides-stronger": N_("weaker overrides stronger"),
    "no-stop-questions": N_("no stop questions"),
    "unscreened": N_("not asked first"),
    "screens-usual": N_("a question that takes off usual cases"),
    "status": N_("status and dates"),
    "changed-since-approval": N_("changed since its approval"),
    "coming": N_("coming"),
    "not-read": N_("a file that nothing reads"),
    "cut-text": N_("a text that may be cut"),
}
"""The kinds of findings that a practice can accept."""
