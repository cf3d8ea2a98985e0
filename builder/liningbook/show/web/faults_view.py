"""What the preview shows of the findings: each beside the rule that it stands in, or under the name of its file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from liningbook.analysis import Analysis
from liningbook.finding import Finding
from liningbook.say.findings import told
from liningbook.say.report import not_looked_for, nothing_to_read, severity_words
from liningbook.show.terminal.extract import Extract, extract_of, on_one_line
from liningbook.show.terminal.report import counts_text, placing_text


@dataclass(frozen=True)
class ShownFinding:
    """One finding. `anchor` is its place in the page; `others` are the further rules that it speaks of."""

    anchor: str
    severity: str
    severity_words: str
    message: str
    kind: str
    extracts: tuple[Extract, ...]
    """The place that is wrong, then those that it disagrees with."""
    notes: tuple[str, ...]
    help: tuple[str, ...]
    file: str
    rule: str
    """The rule whose file it stands in; nothing if it stands elsewhere or in a rule that the page does not show."""
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Faults:
    """All findings of a protocol as the preview shows them.

    `summary` counts them in words. `lead` says in which order layers are placed, or what could not be done. With
    `out_of_date` the page itself is older than the sources.
    """

    faults: tuple[ShownFinding, ...]
    summary: str
    lead: str = ""
    out_of_date: bool = False
    title: str = ""

    def at(self, rule: str) -> tuple[ShownFinding, ...]:
        """The findings that stand in the file of a rule."""
        return tuple(fault for fault in self.faults if fault.rule == rule)

    def about(self, rule: str) -> tuple[ShownFinding, ...]:
        """The findings that speak of a rule and stand elsewhere."""
        return tuple(fault for fault in self.faults if rule in fault.others)

    def by_file(self) -> tuple[tuple[str, tuple[ShownFinding, ...]], ...]:
        """The findings that stand in no rule of the page, under the names of their files."""
        alone = [fault for fault in self.faults if not fault.rule]
        files = dict.fromkeys(fault.file for fault in alone)
        return tuple((file, tuple(fault for fault in alone if fault.file == file)) for file in files)

    def by_rule(self) -> tuple[tuple[str, tuple[ShownFinding, ...]], ...]:
        """The findings that stand in a rule of the page, under the rule's id."""
        rules = dict.fromkeys(fault.rule for fault in self.faults if fault.rule)
        return tuple((rule, self.at(rule)) for rule in rules)


def faults_of(analysis: Analysis, shown: Iterable[str], *, out_of_date: bool = False) -> Faults:
    """The findings of an analysis, for a page that shows the rules named."""
    rules = frozenset(shown)
    counted = [finding for finding in analysis.findings if not finding.accepted]
    return Faults(
        tuple(_fault(number, finding, analysis, rules) for number, finding in enumerate(counted, 1)),
        counts_text(analysis),
        placing_text(analysis) if analysis.protocol else not_looked_for(),
        out_of_date,
        analysis.title,
    )


def no_protocol(reason: str, *, out_of_date: bool = False) -> Faults:
    """What is shown where there is nothing to read."""
    return Faults((), nothing_to_read(), f"{reason[:1].upper()}{reason[1:]}.", out_of_date)


def _fault(number: int, finding: Finding, analysis: Analysis, rules: frozenset[str]) -> ShownFinding:
    words = told(finding)
    places = ((finding.span, words.label), *words.related)
    rule = _rule_of(finding.span.file)
    named = (*finding.fact.about().rules, *(_rule_of(span.file) for span, _ in words.related))
    return ShownFinding(
        anchor=f"finding-{number}",
        severity=finding.severity.value,
        severity_words=severity_words(finding.severity),
        message=on_one_line(words.message),
        kind=finding.kind,
        extracts=tuple(extract_of(span, label, analysis.texts) for span, label in places),
        notes=words.notes,
        help=words.ways or words.help,
        file=finding.span.file,
        rule=rule if rule in rules else "",
        others=tuple(name for name in dict.fromkeys(named) if name in rules and name != rule),
    )


def _rule_of(file: str) -> str:
    """The id of the rule in a file; nothing if it holds none."""
    return file[6:-3] if file.startswith("rules/") and file.endswith(".md") else ""
