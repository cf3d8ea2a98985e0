"""Any protocol folder, from its bytes to what is said about it: read, checked, analysed, worded.

Nothing is ever raised. Every finding is in words that can be printed and has a place that is in the sources.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from liningbook.analysis import Analysis
from liningbook.exchange.findings import findings_json
from liningbook.finding import Span
from liningbook.say.findings import told
from liningbook.show.terminal.report import findings_text
from liningbook.sources.text import HIDDEN
from tests.fuzz.sources import ROOT, analysed, joined, split

MAX_LEN = 12_000


def one_input(data: bytes) -> None:
    files = split(data)
    analysis = analysed(files)
    for finding in analysis.findings:
        said = told(finding)
        texts = (
            said.message,
            said.label,
            *said.notes,
            *said.help,
            *(text for _, text in said.related),
        )
        for text in texts:
            assert not re.search(r"[\r\n\t]", text), f"more than one line: {text!r}"
            assert not HIDDEN.search(text), f"not printable: {text!r}"
        assert said.message, finding
        for place in (finding.span, *(span for span, _ in said.related)):
            assert is_a_place(place, analysis), f"no such place: {place} in {finding.kind}"
    findings_text(analysis).encode()
    json.dumps(findings_json(analysis), ensure_ascii=False).encode()


def is_a_place(span: Span, analysis: Analysis) -> bool:
    """Whether a span lies in its source, of which one line and column more than there are may be named."""
    if (span.end_line, span.end_column) <= (span.line, span.column) or min(span.line, span.column) < 1:
        return False
    text = analysis.texts.get(span.file)
    if text is None:
        return True  # not a text, so no one can look at its lines
    rows = text.split("\n")
    if not span.line <= span.end_line <= len(rows) + 1:
        return False
    row = rows[span.line - 1] if span.line <= len(rows) else ""
    return span.column <= len(row) + 1


def seeds() -> Iterator[bytes]:
    """Every faulty protocol; of the demonstration, whose whole is slow to mutate, each file by itself."""
    for folder in sorted(path.parent for path in (ROOT / "guidelines" / "faulty").rglob("protocol.yaml")):
        yield joined(folder)
    tern_street = ROOT / "guidelines" / "tern-street"
    frame = joined(tern_street, "protocol.yaml") + joined(tern_street, "materials.yaml")
    for file in sorted(tern_street.rglob("*.md")):
        yield frame + joined(tern_street, file.name)
    yield joined(tern_street, "references.json")
    yield joined(tern_street, "vignettes.yaml")
    yield frame + joined(tern_street, "card.yaml") + joined(tern_street, "copies.yaml")
    for folder in sorted(path.parent for path in (ROOT / "tests" / "protocols").rglob("protocol.yaml")):
        yield joined(folder)
    yield BIBTEX


BIBTEX = rb"""=== references.json
=== references.bib
@string{journal = "Invented Journal"}
@article{quill2017,
  author = {Quill, A. and {The \'Etude Group} and van der Berg, Jr., B.},
  title = "An {Invented} study of \emph{dentine} -- 50\% \& more $\leq 0.5$~mm",
  journal = journal # { of Teeth}, year = 2017, month = mar, pages = {1--9}, doi = {10.5555/12345678},
}
@comment{nothing}
@book{moss, editor = {Moss, C.}, title = {Teeth}, publisher = {P}, isbn = {978-3-16-148410-0}, date = {2019-03-02/2020}}
=== rules/line.md
---
title: Line
when: {rdt: {at_most: 0.5 mm}}
advise: {liner: {agent: calcium-hydroxide}}
evidence: {certainty: low, strength: conditional, design: observational, cites: [quill2017, moss]}
---
Why, see [it](https://example.org) and `code`.

> - a
>   1. b

| a | b |
|---|:-:|
| 1 | 2 |
"""
