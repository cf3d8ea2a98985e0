"""The words of findings: one function a type of fact, one module a family of kinds."""

from __future__ import annotations

from liningbook.finding import Fault, Finding
from liningbook.say.faults import fault_told
from liningbook.say.told import Told


def told(finding: Finding) -> Told:
    """Message, labels, notes and help of a finding, in the language spoken."""
    if isinstance(finding.fact, Fault):
        return fault_told(finding.fact)
    related = tuple((label.span, label.text) for label in finding.related)
    return Told(finding.message, finding.label, related, finding.notes, finding.help)
