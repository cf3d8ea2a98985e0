"""Findings as text for people."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from liningbook.analysis import Analysis
from liningbook.finding import Finding, Severity, Span
from liningbook.say import report as say
from liningbook.say.findings import told
from liningbook.show.terminal.extract import extract_of, on_one_line


def findings_text(analysis: Analysis, say_accepted: bool = False) -> str:
    """The report for people: every finding with the source lines it speaks of, the placing order, a line of counts."""
    shown = [finding for finding in analysis.findings if say_accepted or not finding.accepted]
    groups: dict[str, list[Finding]] = {}
    for finding in shown:
        groups.setdefault(finding.group or f"alone-{len(groups)}", []).append(finding)
    parts = []
    for first, *others in groups.values():
        text = finding_text(first, analysis.texts)
        if others:
            text += f"\n  {say.with_it(len(others))}"
        for other in others:
            words = told(other)
            text += f"\n    {other.severity.value}: {words.message} ({other.kind})"
            text += "".join(f"\n{line}" for line in _place(other.span, words.label, analysis.texts, "^"))
        parts.append(text)
    order = placing_text(analysis)
    summary = say.summary(analysis.title, analysis.edition, counts_text(analysis), analysis.protocol is not None)
    parts.append(f"{order}\n{summary}" if order else summary)
    return "\n\n".join(parts) + "\n"


def placing_text(analysis: Analysis) -> str:
    """The layers in the order in which they are placed; nothing where there are not two."""
    if analysis.protocol is None or analysis.meaning is None:
        return ""
    layers = [decision.label for decision in analysis.protocol.decisions.values() if decision.is_layer]
    moved = [rule.id for rule in analysis.meaning.rules if any(a.before or a.after for a in rule.advise.values())]
    return say.placing_words(layers, moved)


def counts_text(analysis: Analysis) -> str:
    """How many findings there are of each severity."""
    accepted = sum(1 for finding in analysis.findings if finding.accepted)
    return say.counts_words({severity: analysis.count(severity) for severity in Severity}, accepted)


def finding_text(finding: Finding, texts: Mapping[str, str]) -> str:
    """One finding: severity and message with the kind in brackets, the places, then notes, help and mends."""
    kind = f"{finding.kind}, {say.ACCEPTED}" if finding.accepted else finding.kind
    words = told(finding)
    lines = [f"{finding.severity.value}: {on_one_line(words.message)} ({kind})"]
    lines += _place(finding.span, words.label, texts, "^")
    for span, label in words.related:
        lines += _place(span, label, texts, "-")
    lines += [f"  {say.note(text)}" for text in words.notes]
    lines += ["  " + say.advice(text).replace("\n", "\n    ") for text in words.help]
    return "\n".join([*lines, *_mends(finding)])


def _mends(finding: Finding) -> Iterator[str]:
    if finding.mends is None:
        return
    from liningbook.say.mends import NO_MEND, mend_effects, mend_words

    if not finding.mends:
        yield f"  {say.mend(NO_MEND)}"
    for mend in finding.mends:
        yield f"  {say.mend(mend_words(mend))}"
        yield from (f"          {line}" for line in mend_effects(mend))


def _place(span: Span, label: str, texts: Mapping[str, str], mark: str) -> list[str]:
    extract = extract_of(span, label, texts)
    lines = [f"  {extract.place}"]
    if not extract.has_text:
        return lines
    number = f"{extract.line:>5} | "
    row = f"{extract.before}{extract.wrong}{extract.after}"
    under = " " * (len(number) - 2) + "| " + " " * len(extract.before) + mark * len(extract.wrong)
    return [*lines, (number + row).rstrip(), f"{under} {extract.label}".rstrip()]
