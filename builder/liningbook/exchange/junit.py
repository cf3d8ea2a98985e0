"""Findings in the XML that test runners report in, which most build servers show as a list of tests.

There is no standard of this form, only common practice: `testsuites`, `testsuite` and `testcase` elements with a
`failure` in those that failed. Each kind of finding is a suite; one without findings is a test that passed.
"""

from __future__ import annotations

from collections.abc import Callable
from xml.etree import ElementTree

from liningbook.analysis import Analysis
from liningbook.checks.registry import KINDS
from liningbook.finding import Finding, Severity
from liningbook.say.findings import told
from liningbook.say.report import NONE_FOUND
from liningbook.sources.text import visible


def junit(analysis: Analysis, text_of: Callable[[Finding], str], strict: bool = False) -> str:
    """The report as XML text, each finding written out by `text_of`.

    A warning fails only if `strict`; one that was accepted is a test that was skipped.
    """
    root = ElementTree.Element("testsuites", name=_clean(f"{analysis.title} {analysis.edition}".strip()))
    found = {finding.kind for finding in analysis.findings}
    kinds = [row.kind for row in KINDS if row.find is None or analysis.protocol is not None or row.kind in found]
    total = failed = 0
    for kind in kinds:
        findings = [finding for finding in analysis.findings if finding.kind == kind]
        failures = sum(_fails(finding, strict) for finding in findings)
        skipped = sum(not finding.counts for finding in findings)
        suite = ElementTree.SubElement(
            root, "testsuite", name=kind, tests=str(max(len(findings), 1)), failures=str(failures), errors="0",
            skipped=str(skipped),
        )  # fmt: skip
        if not findings:
            ElementTree.SubElement(suite, "testcase", classname=f"liningbook.{kind}", name=NONE_FOUND)
        for finding in findings:
            _case(suite, finding, text_of(finding), strict)
        total += max(len(findings), 1)
        failed += failures
    root.set("tests", str(total))
    root.set("failures", str(failed))
    ElementTree.indent(root, " ")
    text: str = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _fails(finding: Finding, strict: bool) -> bool:
    return finding.severity is Severity.ERROR or (strict and finding.severity is Severity.WARNING and finding.counts)


def _case(suite: ElementTree.Element, finding: Finding, text: str, strict: bool) -> None:
    span, said = finding.span, told(finding)
    case = ElementTree.SubElement(
        suite, "testcase", classname=f"liningbook.{finding.kind}", name=_clean(said.message),
        file=_clean(span.file), line=str(span.line),
    )  # fmt: skip
    if finding.accepted:
        ElementTree.SubElement(case, "skipped", message=_clean(said.notes[-1]))
    elif _fails(finding, strict):
        failure = ElementTree.SubElement(case, "failure", type=finding.severity.value, message=_clean(said.message))
        failure.text = _clean(text)
    else:
        ElementTree.SubElement(case, "system-out").text = _clean(text)


def _clean(text: str) -> str:
    """The text without characters that XML 1.0 cannot hold (section 2.2) or that do not show: they are written out."""
    return visible(text)
