"""How the grade of a rule came about, and what allows its strength: for the annex of judgements and the page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from liningbook.evidence.grade import WEAK_LEVELS, GradeStep, Manner, explain
from liningbook.evidence.overall import given, overall, rated
from liningbook.evidence.recommending import GOOD_PRACTICE
from liningbook.evidence.table import StudyTable
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Evidence, Situation
from liningbook.say import grades
from liningbook.say.cases import labelled
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.locale import both

_ENDS: Mapping[str, str] = {
    "ends": N_("result: {level}"),
    "floor": N_("result: {level}, the lowest there is"),
    "ceiling": N_("result: {level}, the highest there is"),
}

_NOT_RAISED: Mapping[str, str] = {
    "randomised": N_("not raised for {reason}: that counts for observational studies only"),
    "lowered": N_("not raised for {reason}: that counts only where nothing is lowered"),
    "lowered-otherwise": N_("not raised for {reason}: that counts only where nothing but risk of bias is lowered"),
}


def graded_words(protocol: Protocol, evidence: Evidence) -> tuple[str, ...]:
    """How a rule's certainty or level was come to: start, each domain with its sentence, result; its tables."""
    return (*_judged(protocol, evidence), *_by_tables(protocol, evidence))


def _judged(protocol: Protocol, evidence: Evidence) -> Iterator[str]:
    if evidence.design and protocol.scheme == "grade":
        manner = Manner(evidence.risk_of_bias_tool, protocol.rating_up)
        start, *steps, end = explain(evidence.design, evidence.lowered, evidence.raised, manner)
        yield _start(evidence, start)
        if evidence.setting:
            yield grades.word(grades.SETTINGS, evidence.setting)
        not_raised = {step.name: step.ignored for step in steps if step.what == "not-raised"}
        for name in grades.DOMAINS:
            if (judged := evidence.judged.get(name)) is None or not (judged.level or judged.because):
                continue
            said = (
                gettext(_NOT_RAISED[not_raised[name]]).format(reason=grades.word(grades.DOMAINS, name))
                if name in not_raised
                else grades.judged_words(name, judged.level, name in evidence.raised)
            )
            yield _with_reason(said, judged.because)
        yield gettext(_ENDS[end.what]).format(level=grades.word(grades.CERTAINTIES, end.level))
    elif evidence.design:
        yield grades.design(evidence.design)
        if evidence.setting:
            yield grades.word(grades.SETTINGS, evidence.setting)
    if evidence.adjusted:
        said = gettext("adjusted to level {level}: {reason}")
        yield said.format(level=evidence.adjusted.to, reason=evidence.adjusted.because.rstrip("."))


def _start(evidence: Evidence, start: GradeStep) -> str:
    said = (
        gettext("{studies} start at {level} with the tool {tool}")
        if start.name == evidence.risk_of_bias_tool
        else gettext("{studies} start at {level}")
    )
    level = grades.word(grades.CERTAINTIES, start.level)
    return said.format(studies=grades.design(evidence.design or ""), level=level, tool=evidence.risk_of_bias_tool)


def _with_reason(said: str, because: str) -> str:
    return gettext("{words} ({reason})").format(words=said, reason=because.rstrip(".")) if because else said


def _tables(protocol: Protocol, evidence: Evidence) -> list[StudyTable]:
    return [protocol.tables[name.id] for name in evidence.tables if name.id in protocol.tables]


def _by_tables(protocol: Protocol, evidence: Evidence) -> Iterator[str]:
    tables = _tables(protocol, evidence)
    outcomes = [one for one in rated(tables, protocol.rating_up) if one.is_critical and one.level] if tables else []
    found = overall(outcomes)
    if found is None:
        return
    listed = [_with_reason(one.label, grades.word(grades.CERTAINTIES, one.level)) for one in outcomes]
    message = ngettext("the critical outcome is {outcomes}", "the critical outcomes are {outcomes}", len(listed))
    yield message.format(outcomes=both(listed))
    if len(found.deciding) < len(outcomes):
        decide = ngettext("{outcomes} decides, as the lowest", "{outcomes} decide, as the lowest", len(found.deciding))
        yield decide.format(outcomes=both(found.deciding))
    if evidence.because and evidence.certainty:
        said = gettext("stated as {level} all the same: {reason}")
        level = grades.word(grades.CERTAINTIES, evidence.certainty)
        yield said.format(level=level, reason=evidence.because.rstrip("."))


def answers_words(evidence: Evidence) -> tuple[str, ...]:
    """The answers to the five questions of a good practice statement, or that none is given; nothing for others."""
    if evidence.basis != "good-practice":
        return ()
    if not evidence.good_practice:
        return (gettext("the five questions of a good practice statement are not answered"),)
    return tuple(
        labelled(grades.word(grades.GOOD_PRACTICE, name), evidence.good_practice[name].rstrip("."))
        for name in GOOD_PRACTICE
        if name in evidence.good_practice
    )


def allowing_words(protocol: Protocol, evidence: Evidence) -> str:
    """What allows a strong recommendation on weak evidence, or that nothing of it is named; else nothing."""
    if evidence.strength != "strong":
        return ""
    manner = Manner(evidence.risk_of_bias_tool, protocol.rating_up)
    design, tables = evidence.design or "", _tables(protocol, evidence)
    if (evidence.certainty or given(tables, design, evidence.lowered, evidence.raised, manner)) not in WEAK_LEVELS:
        return ""
    if evidence.situation is None:
        return gettext("None of the five situations that allow strong advice on weak evidence is named.")
    return _situation(evidence.situation)


def _situation(situation: Situation) -> str:
    words = []
    if situation.benefit:
        words.append(labelled(gettext("benefit"), grades.word(grades.CERTAINTIES, situation.benefit)))
    if situation.harm:
        words.append(labelled(gettext("harm"), grades.word(grades.CERTAINTIES, situation.harm)))
    if situation.way:
        words.append(
            labelled(gettext("for") if situation.way == "for" else gettext("against"), situation.about.rstrip("."))
        )
    said = gettext("Strong by the situation “{situation}”").format(
        situation=grades.word(grades.SITUATIONS, situation.name)
    )
    return _with_reason(said, "; ".join(words))
