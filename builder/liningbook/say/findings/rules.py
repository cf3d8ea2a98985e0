"""What is said of rules: that they meet, leave cases out, end, are never heard, or override one another."""

from __future__ import annotations

from liningbook.checks.kinds.conflicts import Conflict, Duplicate, Meeting, NotListed
from liningbook.checks.kinds.gaps import Edge, Gap
from liningbook.checks.kinds.overrides import AvoidOverridden, IdleOverride, WeakerOverridesStronger
from liningbook.checks.kinds.reach import PerhapsUnreachable, Unreachable
from liningbook.checks.kinds.validity import Expiring
from liningbook.model.rule import Rule
from liningbook.notation.quantity import Quantity
from liningbook.say.amounts import number_words
from liningbook.say.answers import answer_words
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.findings.cases import MOST_NAMED, more_time, told_of_cases
from liningbook.say.findings.grades import level_words
from liningbook.say.locale import day_words
from liningbook.say.told import Told


def conflict(fact: Conflict) -> Told:
    """Two rules with different answers."""
    first, second = fact.first.id, fact.second.id
    change = gettext("change the conditions of `{first}` or of `{second}` so that they no longer meet")
    override = gettext("or write `overrides: [{second}]` in `{first}`, or `overrides: [{first}]` in `{second}`")
    return told_of_cases(
        fact.cases,
        gettext("two rules disagree on {decision} {where}"),
        gettext("two rules may disagree on {decision}; that takes too long to settle"),
        label=_here(fact, fact.first),
        related=[(fact.other, _here(fact, fact.second))],
        advice=[change.format(first=first, second=second), override.format(first=first, second=second)],
        decision=fact.decision.label,
    )


def duplicate(fact: Duplicate) -> Told:
    """Two rules with one answer."""
    return told_of_cases(
        fact.cases,
        gettext("two rules say the same on {decision} {where}"),
        gettext("two rules may say the same on {decision}; that takes too long to settle"),
        label=_here(fact, fact.first),
        related=[(fact.other, gettext("and here the same"))],
        advice=[gettext("leave these cases to one of the two rules")],
        decision=fact.decision.label,
    )


def _here(fact: Meeting, rule: Rule) -> str:
    answer = answer_words(fact.protocol, fact.decision, rule.advise[fact.decision.id])
    return gettext("here: {answer}").format(answer=answer)


def not_listed(fact: NotListed) -> Told:
    """Further pairs of rules, counted."""
    if fact.alike:
        words = ngettext(
            "{count} further pair of rules with the same answer on {decision} meet, too many to be told one by one",
            "{count} further pairs of rules with the same answer on {decision} meet, too many to be told one by one",
            fact.pairs,
        )
    else:
        words = ngettext(
            "{count} further pair of rules with different answers on {decision} meet, too many to be told one by one",
            "{count} further pairs of rules with different answers on {decision} meet, too many to be told one by one",
            fact.pairs,
        )
    return Told(
        words.format(count=fact.pairs, decision=fact.decision.label),
        gettext("advised on by all these rules"),
        help=(gettext("mend first what is listed"), more_time(fact.limit)),
    )


def gap(fact: Gap) -> Told:
    """A decision without an answer."""
    closing = dict.fromkeys(_closing_words(edges) for edges in fact.closing)
    advice = [gettext("write {bounds}").format(bounds=bounds) for bounds in closing]
    ways = advice[:1]
    for further in advice[1:]:
        ways = [gettext("{one}; and {other}").format(one=ways[0], other=further)]
    if advice:
        either = gettext("or write a rule for these cases")
    else:
        either = gettext("write a rule that advises on `{id}` in these cases").format(id=fact.decision.id)
    told = told_of_cases(
        fact.cases,
        gettext("no rule for {decision} {where}"),
        gettext("there may be cases without a rule for {decision}; that takes too long to settle"),
        label=gettext("this decision is needed there"),
        related=[(edge.span, _edge_words(edge)) for edge in fact.edges],
        advice=[*advice, either],
        decision=fact.decision.label,
    )
    return told._replace(ways=(*ways, *told.help[len(advice) :]))


def _edge_words(edge: Edge) -> str:
    """`stops before 0.5 mm`, `starts at 2 mm`."""
    if edge.stops:
        words = gettext("stops at {value}") if edge.closed else gettext("stops before {value}")
    else:
        words = gettext("starts at {value}") if edge.closed else gettext("starts after {value}")
    return words.format(value=number_words(edge.value, edge.unit))


def _closing_words(edges: tuple[Edge, ...]) -> str:
    """`at_most: 0.5 mm` in one file, or `at_least: 0.5 mm` in another."""
    bounds = dict.fromkeys(
        gettext("`{bound}` in {file}").format(
            bound=f"{'at_most' if edge.stops else 'at_least'}: {Quantity(edge.value, edge.unit)}", file=edge.span.file
        )
        for edge in edges
    )
    first, *others = bounds
    for other in others:
        first = gettext("{one}, or {other}").format(one=first, other=other)
    return first


def expiring(fact: Expiring) -> Told:
    """A rule that ends before the review."""
    label = gettext("ends before the review")
    advice = (
        gettext("write the rule that follows it, or a later day in `until`"),
        gettext("or review the protocol before then"),
    )
    rule, last, day = fact.rule.title, day_words(fact.last), day_words(fact.day)
    if fact.cases.region:
        message = gettext("'{rule}' ends on {last}, and from {day} on there is no answer {where}")
        return told_of_cases(fact.cases, message, label=label, advice=advice, rule=rule, last=last, day=day)
    message = gettext("'{rule}' ends on {last}, before the review").format(rule=rule, last=last)
    note = gettext("other rules answer its cases from {day} on").format(day=day)
    return Told(message, label, notes=(note,), help=advice)


def unreachable(fact: Unreachable) -> Told:
    """A rule that is heard in no case."""
    places = [name.span for winner in fact.winners for name in winner.overrides if name.id == fact.rule.id]
    rules = ", ".join(f"`{winner.id}`" for winner in fact.winners)
    note = (
        gettext("it is overridden by {rules}").format(rules=rules)
        if fact.winners
        else gettext("every case it speaks of is excluded, or its decisions are not needed there")
    )
    return Told(
        gettext("the rule '{rule}' is heard in no case").format(rule=fact.rule.title),
        gettext("never heard"),
        tuple((span, gettext("overridden here")) for span in places),
        (note,),
        (gettext("check its conditions"), gettext("or take the rule out")),
    )


def perhaps_unreachable(fact: PerhapsUnreachable) -> Told:
    """Rules that could not be settled."""
    words = ngettext(
        "whether {count} rule can be heard in any case takes too long to settle",
        "whether {count} rules can be heard in any case takes too long to settle",
        len(fact.rules),
    )
    related = tuple((rule.span, gettext("not settled for this rule")) for rule in fact.rules[:MOST_NAMED])
    return Told(words.format(count=len(fact.rules)), related=related, help=(more_time(fact.limit),))


def avoid_overridden(fact: AvoidOverridden) -> Told:
    """An override that switches off a warning."""
    switched_off = [name.span for decision in fact.decisions for name in fact.loser.avoid[decision.id]]
    return told_of_cases(
        fact.cases,
        gettext("'{winner}' switches off what '{loser}' says to avoid {where}"),
        label=gettext("this override switches off an `avoid`"),
        related=[(span, gettext("switched off")) for span in switched_off],
        advice=[
            gettext("take the override out, or narrow the conditions of one of the rules"),
            gettext("or write `never` instead of `avoid` if the warning must stand"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ],
        winner=fact.winner.title,
        loser=fact.loser.title,
    )


def idle_override(fact: IdleOverride) -> Told:
    """An override that does nothing."""
    message = gettext("'{winner}' overrides '{loser}', but that changes nothing")
    note = (
        gettext("the two rules never apply to the same case in which it matters")
        if fact.share_a_decision
        else gettext("the two rules do not speak on the same decision")
    )
    return Told(
        message.format(winner=fact.winner.title, loser=fact.loser.title),
        gettext("this override does nothing"),
        ((fact.loser.span, gettext("the rule it names")),),
        (note,),
        (gettext("take it out"), gettext("or check the conditions of the two rules")),
    )


def weaker_overrides_stronger(fact: WeakerOverridesStronger) -> Told:
    """A weaker rule that wins."""
    mine, theirs = fact.winner.evidence, fact.loser.evidence
    if mine.certainty and theirs.certainty:
        note = gettext("certainty {weaker} against {stronger}").format(
            weaker=level_words(mine.certainty), stronger=level_words(theirs.certainty)
        )
    else:
        note = gettext("level {weaker} against level {stronger}").format(weaker=mine.level, stronger=theirs.level)
    field = "certainty" if mine.certainty else "level"
    message = gettext("'{winner}' overrides '{loser}', which rests on stronger evidence")
    return Told(
        message.format(winner=fact.winner.title, loser=fact.loser.title),
        gettext("this override"),
        ((mine.places[field], gettext("weaker")), (theirs.places[field], gettext("stronger"))),
        (note,),
        (
            gettext("check that the override is meant"),
            gettext("if it is, add this warning to `accepted` in protocol.yaml, with the reason"),
        ),
    )
