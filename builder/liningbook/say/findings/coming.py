"""What is said of changes that a coming day brings."""

from __future__ import annotations

from liningbook.checks.kinds.coming import AdvisedOtherwise, FailsThen
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.findings.cases import told_of_cases
from liningbook.say.findings.grades import outcome_words, vignette
from liningbook.say.locale import day_words
from liningbook.say.told import Told

MOST_TURNS = 4
"""How many changes of one decision are named; the rest is counted."""


def advised_otherwise(fact: AdvisedOtherwise) -> Told:
    """Cases that are advised otherwise from a day on."""
    protocol, decision = fact.protocol, fact.decision
    then = gettext("then {before} becomes {after}")
    turns = [
        then.format(before=outcome_words(protocol, decision, old), after=outcome_words(protocol, decision, new))
        for old, new in fact.turns[:MOST_TURNS]
    ]
    if more := len(fact.turns) - len(turns):
        turns.append(ngettext("and {count} further change", "and {count} further changes", more).format(count=more))
    starts, ends = gettext("this rule applies from that day on"), gettext("this rule applies no longer on that day")
    rules = [(rule.valid_span or rule.span, starts) for rule in fact.starting]
    rules += [(rule.valid_span or rule.span, ends) for rule in fact.ending]
    (_, label), *related = rules
    return told_of_cases(
        fact.cases,
        gettext("from {day} on there is other advice on {decision} {where}"),
        label=label,
        related=related,
        notes=turns,
        advice=[gettext("look at that day (`--on {day}`), and print anew for it").format(day=fact.day.isoformat())],
        day=day_words(fact.day),
        decision=decision.label,
    )


def fails_then(fact: FailsThen) -> Told:
    """A vignette that fails from a day on."""
    said = vignette(fact.fact)
    message = gettext("from {day} on: {message}").format(day=day_words(fact.day), message=said.message)
    return said._replace(message=message, notes=(*said.notes, gettext("a rule starts or ends on that day")))
