"""Two versions of a protocol, by meaning: which cases are treated differently, exactly, and what else differs.

Both are compiled on one space of cases, so a region of the result is a region of either. The parts of the case space
speak of combinations in a table, not of patients.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import Literal

from liningbook.compare.effects import Effects, effects_of, together
from liningbook.compare.joint import join
from liningbook.compare.labels import told_apart
from liningbook.compare.notes import notes_of
from liningbook.compare.noting.note import Note
from liningbook.compare.others import others_of
from liningbook.compare.ranking import Ranking
from liningbook.compare.renames import Renamed, Renamer, with_new_names
from liningbook.compare.safety import holding_back
from liningbook.compare.where import cases_told, set_apart
from liningbook.meaning.chart import Layout, choose_layout
from liningbook.meaning.decide import Outcome
from liningbook.meaning.difference import Change, changes
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision, Factor
from liningbook.space.boxes import Box
from liningbook.space.cells import Space
from liningbook.space.region import Region
from liningbook.space.share import Weights

Step = Literal["treatment", "grounds", "words", "none"]

Key = tuple[str, Hashable, Hashable]


def key_of(decision: str, before: Outcome, after: Outcome) -> Key:
    """What tells two changes apart: decision, states and answers, whichever rules give them."""
    return (decision, before.said, after.said)


def _shares(old: Meaning, new: Meaning) -> Callable[[Region], Fraction]:
    """The part that a region is of the cases in scope of either of two versions on one space."""
    weights = Weights(new.space)
    whole = weights.of_all(old.scope | new.scope)
    return lambda region: Fraction(weights.of_all(region), whole) if whole else Fraction(0)


@dataclass(frozen=True)
class Exactly:
    """Those cases of a difference in which the same rules give the answers before, and the same after."""

    before: Outcome
    after: Outcome
    share: Fraction
    effects: Effects
    pieces: Region = field(repr=False)
    """The cases in boxes as they come."""
    space: Space = field(repr=False, compare=False)

    @cached_property
    def region(self) -> Region:
        """The cases as few, large boxes; only the full report asks for them."""
        return self.pieces.few_large()

    @property
    def witness(self) -> Mapping[str, str]:
        """One of the cases."""
        return self.space.witness(self.region.boxes[0])


@dataclass(frozen=True)
class Difference:
    """Cases in which a decision comes to something else now, whichever rules say so; `parts` tell those apart.

    `share` is their part of the cases in scope of either version, `witness` one of them.
    """

    decision: str
    before: Outcome
    after: Outcome
    region: Region
    witness: Mapping[str, str]
    share: Fraction
    effects: Effects
    parts: tuple[Exactly, ...]

    def opens(self, state: str) -> bool:
        """Whether a gap (or a conflict) is new here."""
        return self.after.state == state != self.before.state

    def closes(self, state: str) -> bool:
        """Whether a gap (or a conflict) is gone here."""
        return self.before.state == state != self.after.state


@dataclass(frozen=True)
class Comparison:
    """Two versions on one day, compiled on one space.

    Everything bears its new name, but for the rules that speak `before`, which bear the names that they had.
    `old` and `new` are over the joint space, the old one under the new names; `old_protocol` and `new_protocol` are as
    they were written. `gone` and `added` are factors that only one of them has, by their joint names.
    """

    old_protocol: Protocol
    new_protocol: Protocol
    old: Meaning
    new: Meaning
    differences: tuple[Difference, ...]
    renamed: tuple[Renamed, ...]
    gone: tuple[Factor, ...]
    added: tuple[Factor, ...]
    notes: tuple[Note, ...]
    share_of: Callable[[Region], Fraction]
    _told: dict[int, tuple[Box, ...]] = field(default_factory=dict, repr=False, compare=False)

    @property
    def space(self) -> Space:
        """The space of both."""
        return self.new.space

    def decision(self, name: str) -> Decision:
        """A decision of either version."""
        return self.new.protocol.decisions.get(name) or self.old.protocol.decisions[name]

    @property
    def is_alike(self) -> bool:
        """Whether the versions do not differ in anything that can be told."""
        return not (self.differences or self.notes or self.renamed or self.gone or self.added)

    @property
    def no_case_changed(self) -> bool:
        """Whether no case, with the value of every factor known, is treated differently."""
        return not self.differences

    @cached_property
    def layout(self) -> Layout | None:
        """What a chart of the new version shows."""
        return choose_layout(self.new)

    def cases_of(self, change: Difference) -> tuple[Box, ...]:
        """The cases of a change by what sets them apart where its decision is to be made, before or now."""
        if id(change) not in self._told:
            self._told[id(change)] = self.told_of(change.decision, change.region)
        return self._told[id(change)]

    def told_of(self, decision: str, region: Region) -> tuple[Box, ...]:
        """Cases by what sets them apart where a decision is to be made, before or now."""
        return cases_told(self.old, self.new, decision, region, self._charted)

    def covered(self, region: Region) -> tuple[Box, ...]:
        """Cases by what sets them apart among all that either version covers."""
        return set_apart(region, self.old.scope | self.new.scope, self.space, self._charted)

    @property
    def _charted(self) -> tuple[int, ...]:
        return (self.layout.column_axis, self.layout.band_axis) if self.layout else ()

    @cached_property
    def ranking(self) -> Ranking[Difference]:
        """The differences by consequence, and what safety is lost."""
        same_materials = not any(note.what == "materials" or note.kind == "place" for note in self.notes)
        usual = self.layout.usual if self.layout else None
        return Ranking(self.old, self.new, self.differences, same_materials, usual)

    @cached_property
    def lost_words(self) -> tuple[Note, ...]:
        """Stop questions and cautions that went, and other labels of answers that hold layers back."""
        holding = holding_back(self.old.protocol)
        return tuple(
            note
            for note in self.notes
            if note.what == "shown"
            and note.before
            and (
                note.field in ("stop_questions", "cautions")
                if note.kind == "protocol"
                else note.kind == "decision" and note.after and (note.name, note.field) in holding
            )
        )

    @property
    def approval_is_older(self) -> bool:
        """Whether it is in force by the approval of the old version, though more than words has changed since."""
        old, new = self.old_protocol, self.new_protocol
        approvals = [[(p.name, p.role, p.on, p.digest) for p in protocol.approved] for protocol in (old, new)]
        is_same = bool(new.approved) and approvals[0] == approvals[1] and new.status == "in-force"
        return is_same and self.largest_step in ("treatment", "grounds")

    @cached_property
    def share_changed(self) -> Fraction:
        """The part of the cases in scope of either version that are treated differently under any decision."""
        return self.share_of(Region.any_of(box for difference in self.differences for box in difference.region))

    @property
    def largest_step(self) -> Step:
        """How far the largest change goes.

        treatment: a case, or a reading, is treated differently; grounds: what is asked or shown (a label, the scope, a
        stop question, the card), the evidence and its studies, the materials, the accepted warnings or the days;
        words: no more than wording.
        """
        kinds = {note.what for note in self.notes}
        is_printed = any(
            note.what == "other_changes" and note.kind in ("accepted", "card", "tables") for note in self.notes
        )
        if self.differences or "readings" in kinds:
            return "treatment"
        if kinds & {"shown", "evidence", "materials", "dates", "rules"} or is_printed or self.gone or self.added:
            return "grounds"
        return "words" if kinds - {"frame", "other_changes"} or self.renamed else "none"

    @property
    def suggested_edition(self) -> str:
        """The edition that would follow the old one after this change; nothing where its name counts nothing.

        After `2026.2` it is `2026.3` for a change of treatment or of its grounds, `2026.2.1` for words.
        """
        step = self.largest_step
        found = re.fullmatch(r"([0-9]+\.)?([0-9]+)(?:\.([0-9]+))?", self.old_protocol.edition)
        if found is None or step == "none":
            return ""
        head, number, part = found[1] or "", int(found[2]), int(found[3] or 0)
        if step == "words":
            return f"{head}{number}.{part + 1}" if head else ""
        return f"{head}{number + 1}"


def four_decimals(share: Fraction) -> str:
    """A share with four decimals, to the nearest: `0.0417`."""
    number = (share * 10000 + Fraction(1, 2)).__floor__()
    return f"{number // 10000}.{number % 10000:04}"


def compare(old: Protocol, new: Protocol, day: date) -> Comparison:
    """Every difference between two versions as they stand on a day."""
    renamed, names = with_new_names(old, new)
    joint = join(renamed, new)
    first, second = told_apart(joint.old, joint.new)
    space = Space.of(first, second)
    before, after = Meaning(first, day, space), Meaning(second, day, space)
    share_of = _shares(before, after)
    former = {new_name: old_name for old_name, new_name in names.rules.items()}
    return Comparison(
        old,
        new,
        before,
        after,
        tuple(_difference(before, after, change, share_of, former) for change in changes(before, after)),
        names.listed(),
        joint.gone,
        joint.added,
        (*notes_of(renamed, new), *others_of(Renamer(names).stated(old), new)),
        share_of,
    )


def _difference(
    old: Meaning, new: Meaning, change: Change, share_of: Callable[[Region], Fraction], former: Mapping[str, str]
) -> Difference:
    parts = tuple(
        Exactly(
            _by_former(part.before, former),
            part.after,
            share_of(part.region),
            effects_of(old.protocol, new.protocol, change.decision, part.before, part.after),
            part.region,
            new.space,
        )
        for part in change.parts
    )
    return Difference(
        change.decision,
        _by_former(change.before, former),
        change.after,
        change.region,
        new.space.witness(change.region.boxes[0]),
        share_of(change.region),
        together([part.effects for part in parts]),
        parts,
    )


def _by_former(outcome: Outcome, former: Mapping[str, str]) -> Outcome:
    """An outcome whose rules bear the names that they had before."""
    if not former:
        return outcome
    candidates = tuple(
        replace(c, rules=tuple(sorted(former.get(rule, rule) for rule in c.rules))) for c in outcome.candidates
    )
    return replace(outcome, candidates=candidates, warnings=tuple((a, former.get(r, r)) for a, r in outcome.warnings))
