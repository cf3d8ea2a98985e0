"""`liningbook check`."""

from __future__ import annotations

import argparse
import os
from dataclasses import replace
from pathlib import Path

from liningbook.analysis import Analysis
from liningbook.cli.common import FOUND, CannotDo, read
from liningbook.cli.terminal import columns, print_json, say, tell
from liningbook.finding import Severity
from liningbook.say.command.usage import NO_SECONDS


def run(options: argparse.Namespace) -> int:
    """Prints what is found; exits 1 if there are errors (with `--strict`, warnings)."""
    analysis = read(options, _budget(options.budget))
    if options.mend:
        analysis = _with_mends(analysis)
    if options.format == "json":
        from liningbook.exchange.findings import findings_json

        print_json(findings_json(analysis))
    elif options.format == "sarif":
        from liningbook.exchange.sarif import sarif

        print_json(sarif(analysis, _relative(options.protocol)))
    elif options.format == "junit":
        from liningbook.exchange.junit import junit
        from liningbook.show.terminal.in_junit import finding_in_junit

        say(junit(analysis, lambda finding: finding_in_junit(finding, analysis.texts), options.strict), "markup")
    else:
        from liningbook.show.terminal.report import findings_text

        tell(findings_text(analysis, options.accepted, columns()))
        if options.explain:
            say(_explained(analysis, columns()))
    failed = analysis.has_errors or (options.strict and analysis.count(Severity.WARNING) > 0)
    return FOUND if failed else 0


def _relative(folder: Path) -> str:
    """The folder as a call from the root of a repository names it; nothing if it lies elsewhere."""
    parts = Path(os.path.normpath(folder)).parts
    return "" if os.path.isabs(folder) or ".." in parts else "/".join(part for part in parts if part != ".")


def _explained(analysis: Analysis, width: int) -> str:
    """What each kind found means and why it matters: the help pages of the checks, each once."""
    from liningbook.checks.registry import OF_KIND
    from liningbook.show.terminal.lines import wrapped

    lines: list[str] = []
    for kind in dict.fromkeys(finding.kind for finding in analysis.findings):
        lines += ["", kind] if OF_KIND[kind].help else []
        for number, paragraph in enumerate(OF_KIND[kind].help.split("\n\n")):
            lines += [""] * bool(number) + (wrapped(" ".join(paragraph.split()), width, "    ") if paragraph else [])
    return "".join(f"{line}\n" for line in lines)


def _budget(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        seconds = float(text) if text.isascii() else -1
    except ValueError:
        seconds = -1
    if not 0 < seconds < 1_000_000:
        raise CannotDo(NO_SECONDS.format(text=text))
    return seconds


def _with_mends(analysis: Analysis) -> Analysis:
    """The findings with what would mend each of them."""
    from liningbook.mending import Mender

    if analysis.meaning is None:
        return analysis
    mender = Mender(analysis)
    findings = (replace(finding, mends=tuple(mender.mends(finding))) for finding in analysis.findings)
    return replace(analysis, findings=tuple(findings))
