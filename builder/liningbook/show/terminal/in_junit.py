"""A finding written out within the report of a test runner, with the wrong text marked in a line below it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from liningbook.finding import Finding, Span
from liningbook.say import report as say
from liningbook.say.findings import told
from liningbook.show.terminal.extract import extract_of, on_one_line


def finding_in_junit(finding: Finding, texts: Mapping[str, str]) -> str:
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
    lines = [f"  {extract.file}:{extract.line}:{extract.column}"]
    if not extract.has_text:
        return lines
    number = f"{extract.line:>5} | "
    row = f"{extract.before}{extract.wrong}{extract.after}"
    under = " " * (len(number) - 2) + "| " + " " * len(extract.before) + mark * len(extract.wrong)
    return [*lines, (number + row).rstrip(), f"{under} {extract.label}".rstrip()]
