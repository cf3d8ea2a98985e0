"""What would mend a finding: small edits of the sources, each tried out by a new analysis before it is offered.

Offered are a boundary sign (`below` or `at_most`), an `overrides`, a narrower `when`, an override taken out. None
moves a threshold, so none picks a clinical value; which one is right is for the practice to say. Nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from liningbook.analysis import Analysis, inspect
from liningbook.checks.identity import same_thing
from liningbook.finding import Finding
from liningbook.meaning.difference import Change, changes
from liningbook.meaning.meaning import Meaning
from liningbook.model.build import build_protocol
from liningbook.model.protocol import Protocol
from liningbook.notation.interval import Range
from liningbook.sources.documents import Document, Folder, reread_rule
from liningbook.sources.editing import Edit, apply_edits, flipped_sign, narrowed, with_override, without_override
from liningbook.sources.shape import check_shape
from liningbook.space.boxes import Box, meets, runs
from liningbook.space.cells import Axis, Space

MOST_OFFERS = 8
"""How many mends of one finding are tried."""


@dataclass(frozen=True)
class Mend:
    """Edits that remove a finding.

    `changes` are all cases that would then be treated differently; `brings` are findings that there would be then and
    are not now; `removes` how many others would go as well.
    """

    words: str
    edits: tuple[Edit, ...]
    changes: tuple[Change, ...]
    brings: tuple[Finding, ...]
    removes: int


Proposal = tuple[str, tuple[Edit, ...]]


class Mender:
    """Tries out mends for the findings of one analysis."""

    def __init__(self, analysis: Analysis) -> None:
        assert analysis.meaning is not None and analysis.folder is not None
        self.analysis = analysis
        self.meaning: Meaning = analysis.meaning
        self.folder: Folder = analysis.folder

    def mends(self, finding: Finding) -> list[Mend]:
        """The mends of a finding that hold, in the order in which they are thought of."""
        if "on" in finding.extra:
            return []
        found = []
        seen: set[tuple[Edit, ...]] = set()
        for words, edits in self._proposals(finding):
            if edits in seen or len(seen) == MOST_OFFERS:
                continue
            seen.add(edits)
            mend = self._tried(finding, words, edits)
            if mend is not None:
                found.append(mend)
        return found

    # --- trying out ---------------------------------------------------------------------------------------------------

    def _tried(self, finding: Finding, words: str, edits: tuple[Edit, ...]) -> Mend | None:
        """The mend, if the sources can be read after the edits and the finding is gone."""
        protocol = self._edited(edits)
        if protocol is None:
            return None
        after = Meaning(protocol, self.meaning.day)
        findings = inspect(after)
        known = {same_thing(other) for other in self.analysis.findings}
        left = {same_thing(other) for other in findings}
        if same_thing(finding) in left:
            return None
        brings = tuple(other for other in findings if same_thing(other) not in known)
        removes = len(known - left) - 1
        space = Space.of(self.meaning.protocol, protocol)
        old, new = Meaning(self.meaning.protocol, after.day, space), Meaning(protocol, after.day, space)
        return Mend(words, edits, tuple(changes(old, new)), brings, removes)

    def _edited(self, edits: tuple[Edit, ...]) -> Protocol | None:
        folder = self.folder
        for file in sorted({edit.span.file for edit in edits}):
            text = apply_edits(folder.texts[file], [edit for edit in edits if edit.span.file == file])
            folder, findings = reread_rule(folder, file, text)
            document = folder.rules[_stem(file)]
            if findings or document.root is None or check_shape(document.root, "rule"):
                return None
        return build_protocol(folder, [])[0]

    # --- thinking of -----------------------------------------------------------------------------------------------

    def _proposals(self, finding: Finding) -> Iterator[Proposal]:
        if finding.kind == "gap" and finding.decision is not None:
            yield from self._close_boundaries(finding, finding.decision)
        if finding.kind in ("conflict", "duplicate"):
            first, second = finding.rules
            for loser, winner in ((first, second), (second, first)):
                yield from self._flip_where_they_touch(loser, winner)
            for winner, loser in ((first, second), (second, first)):
                yield from self._override(winner, loser)
            for yielding, standing in ((first, second), (second, first)):
                yield from self._narrow(yielding, [standing])
        if finding.kind == "contraindicated":
            warning, *advisers = finding.rules
            if len(advisers) == 1:
                yield from self._override(advisers[0], warning)
            for adviser in advisers:
                yield from self._narrow(adviser, [warning])
            if len(advisers) == 1 and not self._forbids_always(warning, finding):
                for words, edits in self._narrow(warning, advisers):
                    yield f"{words} (the advice stays; only the warning goes)", edits
        if finding.kind in ("idle-override", "avoid-overridden"):
            yield from self._take_out(finding.rules[0], finding.rules[1])

    def _forbids_always(self, warning: str, finding: Finding) -> bool:
        """Whether the warning is a `never`; a mend that weakens one is not offered."""
        never = self.meaning.protocol.rules[warning].never.get(finding.decision or "", ())
        return any(name.id == finding.extra.get("agent") for name in never)

    def _override(self, winner: str, loser: str) -> Iterator[Proposal]:
        edit = with_override(self._document(winner), self.folder.texts[_file(winner)], loser)
        if edit is not None:
            yield f"let `{winner}` override `{loser}`", (edit,)

    def _take_out(self, winner: str, loser: str) -> Iterator[Proposal]:
        edit = without_override(self._document(winner), self.folder.texts[_file(winner)], loser)
        if edit is not None:
            yield f"take `{loser}` out of the overrides of `{winner}`", (edit,)

    def _document(self, rule: str) -> Document:
        return self.folder.rules[rule]

    def _close_boundaries(self, finding: Finding, decision: str) -> Iterator[Proposal]:
        """One changed sign for each single value that is left out; every way to choose them."""
        space = self.meaning.space
        boxes = [space.from_notation(case) for case in finding.cases]
        choices: list[list[Proposal]] = []
        for box in boxes:
            for number, axis in enumerate(space.axes):
                if axis.factor.kind != "quantity" or box[number] == axis.full:
                    continue
                for first, last in runs(box[number]):
                    hole = Range(axis.cells[first].lower, axis.cells[last].upper)
                    if hole.lower.value == hole.upper.value:
                        choices.append(list(self._signs_beside(decision, box, number, hole)))
        distinct = [options for n, options in enumerate(choices) if options and options not in choices[:n]]
        if not distinct or len(distinct) > 3:
            return
        for chosen in product(*distinct):
            edits = tuple(dict.fromkeys(edit for _, part in chosen for edit in part))
            yield " and ".join(dict.fromkeys(words for words, _ in chosen)), edits

    def _signs_beside(self, decision: str, box: Box, number: int, hole: Range) -> Iterator[Proposal]:
        meaning = self.meaning
        name = meaning.space.names[number]
        for index, rule in enumerate(meaning.rules):
            if decision not in rule.advise:
                continue
            for conditions, own in zip(rule.when, meaning.boxes[index], strict=True):
                condition = conditions.conditions.get(name)
                others = all(a & b for at, (a, b) in enumerate(zip(own, box, strict=True)) if at != number)
                if condition is None or not others:
                    continue
                for stretch in condition.stretches:
                    if stretch.range.upper.value == hole.lower.value and not stretch.range.upper.closed:
                        yield from self._flip(rule.id, stretch.span.line, stretch.span.column, "below")
                    if stretch.range.lower.value == hole.upper.value and not stretch.range.lower.closed:
                        yield from self._flip(rule.id, stretch.span.line, stretch.span.column, "above")

    def _flip(self, rule: str, line: int, column: int, key: str) -> Iterator[Proposal]:
        found = flipped_sign(self._document(rule), line, column, key)
        if found is not None:
            edit, value = found
            yield f"write `{edit.text}: {value}` in `{rule}`", (edit,)

    def _flip_where_they_touch(self, yielding: str, standing: str) -> Iterator[Proposal]:
        """Where two rules share only a boundary value of a quantity: leave it to the other one."""
        meaning = self.meaning
        rule, other = meaning.protocol.rules[yielding], meaning.protocol.rules[standing]
        for conditions in rule.when:
            for name, condition in conditions.conditions.items():
                for stretch in condition.stretches:
                    for theirs in other.when:
                        against = theirs.conditions.get(name)
                        for opposite in against.stretches if against else ():
                            mine, their = stretch.range, opposite.range
                            if mine.upper.closed and mine.upper.value == their.lower.value and their.lower.closed:
                                yield from self._flip(yielding, stretch.span.line, stretch.span.column, "at_most")
                            if mine.lower.closed and mine.lower.value == their.upper.value and their.upper.closed:
                                yield from self._flip(yielding, stretch.span.line, stretch.span.column, "at_least")

    def _narrow(self, yielding: str, standing: list[str]) -> Iterator[Proposal]:
        """Leave to the other rule the cases in which both hold, if one factor's condition can say so."""
        meaning = self.meaning
        number = meaning.number[yielding]
        edits: list[Edit] = []
        parts: list[str] = []
        for position, own in enumerate(meaning.boxes[number]):
            for other in (box for name in standing for box in meaning.boxes[meaning.number[name]]):
                if not meets(own, other):
                    continue
                open_axes = [axis for axis, mask in enumerate(own) if mask & ~other[axis]]
                if len(open_axes) != 1:
                    return
                axis = open_axes[0]
                text = flow_text(meaning.space.axes[axis], own[axis] & ~other[axis])
                edit = narrowed(
                    self._document(yielding),
                    self.folder.texts[_file(yielding)],
                    position,
                    meaning.space.names[axis],
                    text,
                )
                if edit is None:
                    return
                edits.append(edit)
                parts.append(f"`{meaning.space.names[axis]}: {text}`")
        if edits and len({(e.span.line, e.span.column) for e in edits}) == len(edits):
            yield f"narrow `{yielding}` to {' and '.join(parts)}", tuple(edits)


def flow_text(axis: Axis, mask: int) -> str:
    """A condition on one factor on one line, as the sources write it."""
    if axis.factor.kind == "quantity":
        found = axis.notation(mask)
        ranges = [f"{{{', '.join(f'{k}: {v}' for k, v in item.items())}}}" for item in _listed(found)]
        return ranges[0] if len(ranges) == 1 else f"[{', '.join(ranges)}]"
    values = _listed(axis.notation(mask))
    left = [value for value in axis.values if value not in values]
    if axis.factor.kind == "choice" and len(left) < len(values):
        return f"{{not: {left[0]}}}" if len(left) == 1 else f"{{not: [{', '.join(left)}]}}"
    return values[0] if len(values) == 1 else f"[{', '.join(values)}]"


def _listed(value: object) -> list:  # type: ignore[type-arg]
    return value if isinstance(value, list) else [value]


def _file(rule: str) -> str:
    return f"rules/{rule}.md"


def _stem(file: str) -> str:
    return file.removeprefix("rules/").removesuffix(".md")
