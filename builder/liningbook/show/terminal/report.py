"""Findings as text for people: numbered sentences under what must be done about them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from liningbook.analysis import Analysis
from liningbook.checks.facts import cases_of
from liningbook.finding import Finding, Severity
from liningbook.meaning.meaning import Meaning
from liningbook.say import report as say
from liningbook.say.cases import full_stop, labelled, sentences
from liningbook.say.findings import told
from liningbook.show.terminal.examples import Examples
from liningbook.show.terminal.extract import Extract, extract_of, on_one_line
from liningbook.show.terminal.lines import USUAL, wrapped

Lines = Iterator[str]


def findings_text(analysis: Analysis, say_accepted: bool = False, width: int = USUAL) -> str:
    """The report for people: every finding under what must be done about it, the placing order, and the sum."""
    shown = [finding for finding in analysis.findings if say_accepted or not finding.accepted]
    name, counts = say.protocol_name(analysis.title, analysis.edition), counts_text(analysis)
    order = placing_text(analysis)
    head = wrapped(order, width) if order else []
    if not shown:
        return "\n".join([*head, *wrapped(say.nothing_found(name, counts), width)]) + "\n"
    end = say.sum_words(counts, must_be_settled=analysis.has_errors, is_protocol=analysis.protocol is not None)
    found = _Writer(analysis.texts, analysis.meaning, width).lines(shown)
    return "\n".join([*wrapped(name, width), *head, "", *found, *wrapped(end, width)]) + "\n"


def findings_alone(findings: Sequence[Finding], texts: Mapping[str, str], width: int = USUAL) -> str:
    """Findings in a file that is no part of a protocol."""
    return "".join(f"{line}\n" for line in _Writer(texts, None, width).lines(findings))


def placing_text(analysis: Analysis) -> str:
    """The layers in the order in which they are placed; nothing where there are not two."""
    if analysis.protocol is None or analysis.meaning is None:
        return ""
    layers = [decision.label for decision in analysis.protocol.decisions.values() if decision.is_layer]
    moved = [rule.id for rule in analysis.meaning.rules if any(a.before or a.after for a in rule.advise.values())]
    return say.placing_words(layers, moved)


def counts_text(analysis: Analysis) -> str:
    """How many findings there are about which the same must be done."""
    accepted = sum(1 for finding in analysis.findings if finding.accepted)
    return say.counts_words({severity: analysis.count(severity) for severity in Severity}, accepted)


class _Writer:
    """Writes the findings of one analysis one after another, numbered, each under its number."""

    def __init__(self, texts: Mapping[str, str], meaning: Meaning | None, width: int) -> None:
        self.texts, self.examples, self.width = texts, Examples(meaning), width
        self.digits, self.indent, self.number = 2, "", 0

    def lines(self, findings: Sequence[Finding]) -> Lines:
        """All findings, those with one cause together, under what must be done about the gravest of them."""
        self.digits = max(2, len(str(len(findings))))
        self.indent = " " * (self.digits + 2)
        groups: dict[str, list[Finding]] = {}
        for finding in findings:
            groups.setdefault(finding.group or f"alone-{len(groups)}", []).append(finding)
        order = list(Severity)
        gravest = [min((finding.severity for finding in group), key=order.index) for group in groups.values()]
        for severity in dict.fromkeys(sorted(gravest, key=order.index)):
            yield from (say.HEADS[severity], "")
            for group, worst in zip(groups.values(), gravest, strict=True):
                if worst is severity:
                    yield from self._group(group, severity)
        if said := self.examples.left_out():
            yield from (*wrapped(say.usual_words(said), self.width), "")

    def _group(self, group: Sequence[Finding], under: Severity) -> Lines:
        first, *others = group
        yield from self._finding(first, under)
        if others:
            yield from (*self._text(say.SAME_CAUSE), "")
        for other in others:
            words = told(other)
            yield from self._sentence(other, words.message, under)
            yield from (*self._place(extract_of(other.span, words.label, self.texts)), "")

    def _finding(self, finding: Finding, under: Severity) -> Lines:
        words = told(finding)
        yield from self._sentence(finding, words.message, under)
        for span, label in ((finding.span, words.label), *words.related):
            yield from self._place(extract_of(span, label, self.texts))
        yield from self._notes([note for note in words.notes if note != words.example])
        cases = cases_of(finding)
        if words.example and cases is not None:
            yield from self._text(full_stop(say.example_words(*self.examples.words(cases))))
        yield from self._ways(words.ways or words.help)
        yield from self._mends(finding)
        yield ""

    def _notes(self, notes: Sequence[str]) -> Lines:
        """Facts as sentences; those that begin with blanks belong to the one above them."""
        for note, further in pairwise((*notes, "")):
            text = note.lstrip(" ")
            if text != note:
                yield from self._text(text, " " * (len(note) - len(text)))
            else:
                text = say.as_sentence(text)
                yield from self._text(text if further.startswith(" ") else full_stop(text))

    def _sentence(self, finding: Finding, message: str, under: Severity) -> Lines:
        self.number += 1
        message = say.as_sentence(on_one_line(message))
        if finding.severity is not under:
            message = labelled(say.severity_words(finding.severity), message)
        said = sentences([message, f"({say.kind_words(finding.kind, bool(finding.accepted))})"])
        yield from wrapped(said, self.width, f"{self.number:>{self.digits}}  ")

    def _text(self, text: str, further: str = "") -> Lines:
        yield from wrapped(text, self.width, self.indent + further)

    def _place(self, extract: Extract) -> Lines:
        yield from self._text(say.at_place(extract.place, extract.label))
        if extract.has_text:
            wrong, after = extract.wrong, extract.after
            if extract.line == extract.column == len(wrong) == 1 and (rest := re.match(r"\w+", after)):
                wrong, after = wrong + rest[0], after[rest.end() :]  # a whole file, told by its first word
            text = say.set_off(extract.before.lstrip(), wrong, after)
            yield from wrapped(text, self.width, self.indent + "    ", self.indent + "      ")

    def _ways(self, ways: Sequence[str]) -> Lines:
        for head, way in say.ways_words(ways):
            text, *to_type = way.split("\n")
            yield from self._text(text, head)
            for line in to_type:
                yield from self._text(line.lstrip(" "), " " * (4 + len(line) - len(line.lstrip(" "))))

    def _mends(self, finding: Finding) -> Lines:
        if finding.mends is None:
            return
        from liningbook.say.mends import NO_MEND, mend_effects, mend_words

        if not finding.mends:
            yield from self._text(say.TRIED_OUT.format(what=NO_MEND))
        for mend in finding.mends:
            yield from self._text(say.TRIED_OUT.format(what=mend_words(mend)))
            for line in mend_effects(mend):
                yield from self._text(line.lstrip(), " " * (4 + len(line) - len(line.lstrip())))
