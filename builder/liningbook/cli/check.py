"""`liningbook check`."""

from __future__ import annotations

import argparse
import os
from dataclasses import replace
from pathlib import Path
from textwrap import indent

from liningbook.analysis import Analysis
from liningbook.cli.common import FOUND, CannotDo, print_json, read, say
from liningbook.finding import Severity
from liningbook.show.terminal.report import findings_json, findings_text

NO_MEND = "none was found that can be tried out"


def run(options: argparse.Namespace) -> int:
    """Prints what is found; exits 1 if there are errors (with `--strict`, warnings)."""
    analysis = read(options, _budget(options.budget))
    if options.mend:
        analysis = _with_mends(analysis)
    if options.format == "json":
        print_json(findings_json(analysis))
    elif options.format == "sarif":
        from liningbook.exchange.sarif import sarif_text

        say(sarif_text(analysis, _relative(options.protocol)))
    elif options.format == "junit":
        from liningbook.exchange.junit import junit

        say(junit(analysis, options.strict))
    else:
        say(findings_text(analysis, options.accepted))
        if options.explain:
            say(_explained(analysis))
    failed = analysis.has_errors or (options.strict and analysis.count(Severity.WARNING) > 0)
    return FOUND if failed else 0


def _relative(folder: Path) -> str:
    """The folder as a call from the root of a repository names it; nothing if it lies elsewhere."""
    parts = Path(os.path.normpath(folder)).parts
    return "" if os.path.isabs(folder) or ".." in parts else "/".join(part for part in parts if part != ".")


def _explained(analysis: Analysis) -> str:
    """What each kind found means and why it matters: the help pages of the checks, each once."""
    from liningbook.checks.registry import help_page

    kinds = dict.fromkeys(finding.kind for finding in analysis.findings)
    pages = [(kind, help_page(kind)) for kind in kinds]
    return "".join(f"\n{kind}\n{indent(page, '  ')}\n" for kind, page in pages if page)


def _budget(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        seconds = float(text)
    except ValueError:
        seconds = -1
    if not 0 < seconds < 1_000_000:
        raise CannotDo(f"'{text}' is not a number of seconds; write for example --budget 20")
    return seconds


def _with_mends(analysis: Analysis) -> Analysis:
    """The findings with what would mend each of them."""
    from liningbook.mending import Mender
    from liningbook.show.terminal.mends import mend_json, mend_lines

    if analysis.meaning is None:
        return analysis
    mender = Mender(analysis)
    findings = []
    for finding in analysis.findings:
        mends = mender.mends(finding)
        lines = tuple(line for mend in mends for line in mend_lines(analysis, mend)) or (NO_MEND,)
        extra = {**finding.extra, "mends": [mend_json(analysis, mend) for mend in mends]}
        findings.append(replace(finding, extra=extra, mends=lines))
    return replace(analysis, findings=tuple(findings))
