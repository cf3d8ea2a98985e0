"""What one more study would change, as text for people: the figures side by side, then the cases that rest on them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from liningbook.control.decided import RuleCases
from liningbook.control.new_study import NewStudy
from liningbook.control.weighed import Weighed
from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import Evidence
from liningbook.say import grades
from liningbook.say.answers import name_or_label
from liningbook.say.cases import box_words, capital, full_stop, labelled
from liningbook.say.command import evidence as say
from liningbook.say.findings.questions import question_words
from liningbook.say.locale import both
from liningbook.say.outputs import effects
from liningbook.say.outputs.forests import left_out_line
from liningbook.say.synthesis import caveat_words, limits_words, measure_words
from liningbook.show.terminal.evidence_text import INDENT, cautions_lines, pooled_words
from liningbook.show.terminal.lines import USUAL, block, table, wrapped
from liningbook.space.region import Region


def new_study_text(meaning: Meaning, new: NewStudy, width: int = USUAL) -> str:
    """The pooled effect before and after, what is asked, which rules rest on the table and the cases they decide."""
    outcome = new.after.outcome
    lines = wrapped(say.arriving(new.study.study, outcome.label, new.table.file), width)
    lines += [
        "",
        *_figures(new, width),
        "",
        *wrapped(say.concluded(new.before.conclusion, new.after.conclusion), width),
    ]
    for left in [one for one in new.after.synthesis.left_out if one not in new.before.synthesis.left_out]:
        lines += wrapped(full_stop(labelled(left.study, left_out_line(left))), width)
    for note in [one for one in new.after.synthesis.notes if one not in new.before.synthesis.notes]:
        lines += wrapped(caveat_words(note), width)
    lines += ["", *_asked(new, width), "", *_resting(meaning, new.rules, width)]
    lines += ["", *wrapped(say.NOT_REGRADED, width), "", *cautions_lines(meaning.protocol, width)]
    return "\n".join(lines) + "\n"


def _figures(new: NewStudy, width: int) -> list[str]:
    """What is computed without the study and with it, side by side, or below one another where there is no room."""
    before, after = dict(_facts(new.before)), dict(_facts(new.after))
    rows = [(name, before.get(name, "–"), after.get(name, "–")) for name in dict.fromkeys([*before, *after])]
    if (lines := table(("", say.BEFORE, say.AFTER), rows, width)) is not None:
        return lines
    found: list[str] = []
    for name, first, second in rows:
        found += [*wrapped(name, width), *block([(say.BEFORE, first), (say.AFTER, second)], width, INDENT)]
    return found


def _facts(weighed: Weighed) -> Iterator[tuple[str, str]]:
    outcome, synthesis = weighed.outcome, weighed.synthesis
    if synthesis.pooled is not None:
        yield capital(measure_words(outcome.measure)), pooled_words(weighed, synthesis.pooled)
    if synthesis.absolute is not None:
        yield say.ABSOLUTE, effects.difference_per_1000(synthesis.absolute)
        if needed := effects.number_needed_words(synthesis.absolute):
            yield say.NEEDED, needed
    if synthesis.heterogeneity is not None and synthesis.heterogeneity.df:
        yield say.SPREAD, effects.spread_words(synthesis.heterogeneity)
    if (ahead := synthesis.prediction) is not None:
        yield say.NEXT, limits_words(synthesis.shown(ahead.low), synthesis.shown(ahead.high), outcome.no_effect)
    if synthesis.leave_one_out:
        yield say.SINGLE, both(weighed.decides) if weighed.decides else say.SINGLE_NONE


def _asked(new: NewStudy, width: int) -> Iterator[str]:
    for head, questions, none in ((say.ASKED, new.asked, say.NOTHING_NEW), (say.SETTLED, new.settled, "")):
        if questions:
            yield from wrapped(head, width)
            for question in questions:
                yield from wrapped(full_stop(capital(question_words(new.after.outcome, question))), width, INDENT)
        elif none:
            yield from wrapped(none, width)


def _resting(meaning: Meaning, rules: Sequence[RuleCases], width: int) -> Iterator[str]:
    if not rules:
        yield from wrapped(say.NOTHING_RESTS, width)
        return
    yield from wrapped(say.RESTING, width)
    for cases in rules:
        rule = cases.rule
        yield from wrapped(say.rule_head(rule.id, rule.title, _grade(rule.evidence)), width, INDENT)
        yield from _decided(meaning, cases, width)


def _grade(evidence: Evidence) -> list[str]:
    tables = ((grades.CERTAINTIES, evidence.certainty), (grades.STRENGTHS, evidence.strength))
    return [grades.word(words, name) for words, name in tables if name]


def _decided(meaning: Meaning, cases: RuleCases, width: int) -> Iterator[str]:
    """The cases that a rule decides."""
    inner = INDENT * 2
    if cases.is_silent:
        yield from wrapped(say.SILENT if cases.in_force else say.OUT_OF_FORCE, width, inner)
        return
    protocol = meaning.protocol
    for name, region in cases.advises.items():
        yield from _boxes(meaning, say.decides(protocol.decisions[name].label), region, width)
    for name, region in cases.avoids.items():
        decision = protocol.decisions[name]
        named = dict.fromkeys(one.id for one in (*cases.rule.avoid.get(name, ()), *cases.rule.never.get(name, ())))
        what = [name_or_label(protocol, decision, one) for one in named]
        yield from _boxes(meaning, say.forbids(decision.label, what), region, width)


def _boxes(meaning: Meaning, head: str, region: Region | None, width: int) -> Iterator[str]:
    if region is not None and not region:
        return
    inner = INDENT * 2
    yield from wrapped(head, width, inner)
    if region is None:
        yield from wrapped(say.NOT_WORKED_OUT, width, inner + INDENT)
    for box in region or ():
        words = box_words(meaning.protocol.factors, meaning.space.notation(box))
        yield from wrapped(full_stop(words), width, inner + "- ")
