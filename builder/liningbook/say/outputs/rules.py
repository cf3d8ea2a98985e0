"""What stands beside the rules and in them: what they rest on, what goes together, what is asked before what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from liningbook.model.protocol import Acceptance, Pairing, Protocol
from liningbook.model.rule import Decision, Dissent, Evidence, Rule
from liningbook.say import grades
from liningbook.say.answers import answer_words, inside, name_or_label
from liningbook.say.cases import capital, full_stop, labelled
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.kinds import ACCEPTABLE
from liningbook.say.locale import both, day_words, either


def advice_words(protocol: Protocol, decision: Decision, rule: Rule) -> str:
    """What a rule says of a decision, with the reason where the dentist decides."""
    answer = rule.advise[decision.id]
    words = answer_words(protocol, decision, answer)
    return labelled(words, answer.why) if answer.kind == "judgement" and answer.why else words


def valid_words(start: date | None, end: date | None) -> str:
    """From when and until when a rule holds; nothing if always."""
    if start and end:
        return gettext("from {start} until {end}").format(start=day_words(start), end=day_words(end))
    if start:
        return gettext("from {start}").format(start=day_words(start))
    return gettext("until {end}").format(end=day_words(end)) if end else ""


def evidence_line(evidence: Evidence) -> str:
    """What a rule rests on in one line, such as `Conditional, very low certainty` or the law."""
    words = [grades.word(grades.BASES, evidence.basis)] if evidence.basis != "research" else []
    if evidence.strength:
        words.append(grades.word(grades.STRENGTHS_BRIEF, evidence.strength))
    if evidence.certainty:
        words.append(grades.word(grades.CERTAINTIES, evidence.certainty))
    if evidence.level is not None:
        words.append(grades.level(evidence.level, evidence.question or "benefit"))
    return capital(", ".join(words) or grades.word(grades.BASES, evidence.basis))


def evidence_parts(evidence: Evidence, graded: Sequence[str], allowing: str) -> Iterator[tuple[str, str]]:
    """What a rule rests on: label and words of each thing that is told of it.

    `graded` says how the grade or the statement came about, `allowing` what allows its strength.
    """
    yield gettext("Rests on"), grades.word(grades.BASES, evidence.basis)
    if evidence.strength:
        yield gettext("Strength"), grades.word(grades.STRENGTHS, evidence.strength)
    if evidence.certainty:
        yield gettext("Certainty"), labelled(*grades.certainty_words(evidence.certainty))
    if evidence.level is not None:
        yield gettext("Level"), grades.level(evidence.level, evidence.question or "benefit")
    if graded:
        yield gettext("Judged"), capital("; ".join(graded))
    if allowing:
        yield gettext("Why strong"), allowing
    if evidence.note:
        yield gettext("Note"), evidence.note


def dissent_words(dissent: Dissent) -> str:
    """Who does not agree, and why: `C. Doyle disagrees: the dentine left is enough.` is one."""
    said = gettext("{name} disagrees: {reason}").format(name=dissent.name, reason=dissent.reason)
    return full_stop(said)


def dissent_line(count: int) -> str:
    """How many do not agree with a rule, for the line of what it rests on."""
    return ngettext("{number} disagrees", "{number} disagree", count).format(number=count)


def need_words(labels: Sequence[str], earlier: Decision, answers: Sequence[str]) -> str:
    """Which decisions are needed only after which answers to an earlier one."""
    said = gettext("{decisions}: only if {earlier} comes to “{answers}”. If it does not, stop there.")
    return said.format(decisions=both(labels), earlier=earlier.label, answers=either(answers))


def answer_label(protocol: Protocol, decision: Decision, word: str) -> str:
    """An answer by its label, `none` among them."""
    if word == "none":
        return gettext("No {layer}").format(layer=inside(decision.label))
    return name_or_label(protocol, decision, word)


def _agents(protocol: Protocol, layers: Iterable[tuple[str, tuple[str, ...]]]) -> list[str]:
    return [
        gettext("{layer} of {agents}").format(
            layer=protocol.decisions[layer].label, agents=either([protocol.agents[n].label for n in names])
        )
        if names
        else gettext("no {layer}").format(layer=protocol.decisions[layer].label)
        for layer, names in layers
    ]


def having_words(protocol: Protocol, pairing: Pairing, cases: str) -> str:
    """Of what an entry of what goes together speaks; `cases` says in which, or is nothing if in all."""
    words = both(_agents(protocol, pairing.having.items())) if pairing.having else gettext("Any layers")
    return gettext("{layers} ({cases})").format(layers=words, cases=cases) if cases else words


def wanting_words(protocol: Protocol, pairing: Pairing) -> str:
    """What must, and what must not, go with it."""
    parts = [gettext("needs {layer}").format(layer=text) for text in _agents(protocol, pairing.require.items())]
    parts += [gettext("not with {layer}").format(layer=text) for text in _agents(protocol, pairing.forbid.items())]
    return "; ".join(parts)


def accepted_by_words(entry: Acceptance) -> str:
    """`Accepted by B. Reed until 1 September 2028.`, as far as that is said."""
    by, until = entry.by, day_words(entry.until) if entry.until else ""
    if by and until:
        return gettext("Accepted by {name} until {day}.").format(name=by, day=until)
    if by:
        return gettext("Accepted by {name}.").format(name=by)
    return gettext("Accepted until {day}.").format(day=until) if until else ""


def accepted_words(protocol: Protocol, entry: Acceptance) -> str:
    """The kind of an accepted warning, with what it is about."""
    kind = gettext(ACCEPTABLE[entry.kind])
    irritant = protocol.irritants.get(str(entry.narrowed.get("irritant", "")))
    return labelled(kind, irritant.label) if irritant else kind
