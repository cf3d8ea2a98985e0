"""Liningbook's own answers to the questions of the bench, on protocols in memory and on a folder."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from random import Random
from time import perf_counter

from liningbook.analysis import Analysis, analyse, inspect
from liningbook.checks.facts import cases_of
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds.conflicts import left_both
from liningbook.checks.kinds.gaps import left_open
from liningbook.checks.kinds.reach import unreachable
from liningbook.meaning.difference import changes
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Answer
from liningbook.say.findings import told
from liningbook.space.boxes import Box, bits
from liningbook.space.cells import Space
from liningbook.space.cover import uncovered
from liningbook.space.growth import few_large
from liningbook.space.overlap import Join
from liningbook.space.search import Remainder
from tests.bench.protocols import DAY

ROOT = Path(__file__).resolve().parents[2]
DEMONSTRATION = ROOT / "guidelines" / "tern-street"


def pairs(full: Box, boxes: Sequence[Box]) -> int:
    """The number of pairs of rules that meet, the building of the index included."""
    join = Join(full, boxes)
    return (sum(join.meeting(box).bit_count() for box in boxes) - len(boxes)) // 2


def gap_boxes(full: Box, boxes: Sequence[Box]) -> list[Box]:
    """The cases that no rule answers, as few, large, disjoint boxes."""
    return few_large(uncovered(full, boxes))


def whole_check(protocol: Protocol) -> tuple[int, int, int]:
    """Everything: compiling, all checks, all findings in words. Findings, pairs of rules among them, boxes of cases."""
    findings = inspect(Meaning(protocol, DAY))
    of_pairs = sum(1 for finding in findings if finding.kind in ("conflict", "duplicate"))
    boxes = 0
    for finding in findings:
        told(finding)
        cases = cases_of(finding)
        boxes += len(cases.region.boxes) if cases else 0
    return len(findings), of_pairs, boxes


def questions(protocol: Protocol) -> int:
    """The same questions without the words: regions as boxes and one case of each. Gives the number of boxes."""
    inquiry = Inquiry(Meaning(protocol, DAY))
    found: list[Remainder] = []
    for decision in protocol.decisions.values():
        for alike in (False, True):
            for first, partners in inquiry.meaning.partners_left(decision.id, alike):
                found += [left_both(inquiry, decision, first, second) for second in bits(partners)]
        found.append(left_open(inquiry, decision))
    for left in found:
        if left.boxes:
            inquiry.meaning.space.witness(left.boxes[0])
    return sum(len(left.boxes) for left in found) + len(list(unreachable(inquiry)))


def from_disk() -> Analysis:
    """The demonstration, read and checked."""
    return analyse(DEMONSTRATION, DAY)


def command_from_cold() -> float:
    """Seconds of `check` on the demonstration as a command of its own; it keeps its bytecode, as installed ones do."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "builder")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    start = perf_counter()
    subprocess.run(
        [sys.executable, "-m", "liningbook", "check", str(DEMONSTRATION), "--on", DAY.isoformat()],
        stdout=subprocess.DEVNULL,
        env=environment,
        check=False,
    )
    return perf_counter() - start


def with_changes(protocol: Protocol, count: int, seed: int = 1) -> Protocol:
    """The same protocol with another answer in so many of its rules."""
    random = Random(seed)
    rules = dict(protocol.rules)
    for name in random.sample(list(rules), count):
        advise = dict(rules[name].advise)
        for decision, answer in advise.items():
            advise[decision] = _other(protocol, decision, answer)
        rules[name] = replace(rules[name], advise=advise)
    return replace(protocol, rules=rules)


def _other(protocol: Protocol, decision: str, answer: Answer) -> Answer:
    candidates = [rule.advise[decision] for rule in protocol.rules.values() if decision in rule.advise]
    return next((other for other in candidates if other.meaning != answer.meaning), answer)


def difference(old: Meaning, new: Meaning) -> int:
    """The number of boxes of cases whose advice is not the same in both."""
    return sum(len(change.region.boxes) for change in changes(old, new))


def two_versions(protocol: Protocol, count: int) -> tuple[Meaning, Meaning]:
    """A protocol and one with so many rules changed, compiled on one space."""
    changed = with_changes(protocol, count)
    space = Space.of(protocol, changed)
    return Meaning(protocol, DAY, space), Meaning(changed, DAY, space)
