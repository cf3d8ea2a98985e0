"""What would mend a finding: each proposal tried out by a new analysis before it is offered.

Which mend is right is for the practice to say. Nothing is written. Mends by which no safety is lost stand first, then
the others by what is lost, the gravest last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from liningbook.analysis import Analysis, inspect
from liningbook.checks.facts import Dated, Unsettled, same_thing
from liningbook.checks.kinds.conflicts import NotListed
from liningbook.checks.proposals import Proposal, Proposer, Step
from liningbook.checks.registry import OF_KIND
from liningbook.compare.ranking import Ranking, gravity
from liningbook.compare.safety import Loss
from liningbook.finding import Finding
from liningbook.meaning.difference import Change, changes
from liningbook.meaning.meaning import Meaning
from liningbook.model.build import build_protocol
from liningbook.model.protocol import Protocol
from liningbook.sources.documents import Folder, reread_rule
from liningbook.sources.editing import Edit, apply_edits
from liningbook.sources.shape import check_shape
from liningbook.space.cells import Space

MOST_OFFERS = 8
"""How many mends of one finding are tried."""


@dataclass(frozen=True)
class Mend:
    """Edits that remove a finding, and what they come to.

    `changes` are all cases that would then be treated differently, by consequence; `brings` are findings that there
    would be then and are not now; `removes` how many others would go as well. `meaning` is that before, on the
    thresholds of both.
    """

    steps: tuple[Step, ...]
    edits: tuple[Edit, ...]
    ranking: Ranking[Change]
    brings: tuple[Finding, ...]
    removes: int

    @property
    def meaning(self) -> Meaning:
        """What the protocol means without the mend."""
        return self.ranking.old

    @property
    def changes(self) -> Sequence[Change]:
        """All cases that would be treated differently."""
        return self.ranking.changes

    @property
    def losses(self) -> tuple[Loss, ...]:
        """The safety that would be lost."""
        return self.ranking.losses

    @property
    def fails(self) -> tuple[Finding, ...]:
        """The vignettes that would fail."""
        return tuple(finding for finding in self.brings if finding.kind == "vignette")


class Mender:
    """Tries out mends for the findings of one analysis."""

    def __init__(self, analysis: Analysis) -> None:
        assert analysis.meaning is not None and analysis.folder is not None
        self.analysis = analysis
        self.meaning: Meaning = analysis.meaning
        self.folder: Folder = analysis.folder
        self.proposer = Proposer(self.meaning, self.folder)

    def mends(self, finding: Finding) -> list[Mend]:
        """The mends of a finding that hold: by what safety is lost, then in the order in which they are thought of."""
        think = OF_KIND[finding.kind].mends
        if think is None or isinstance(finding.fact, (Dated, NotListed, Unsettled)):
            return []
        found = []
        seen: set[tuple[Edit, ...]] = set()
        for proposal in think(self.proposer, finding.fact):
            if proposal.edits in seen or len(seen) == MOST_OFFERS:
                continue
            seen.add(proposal.edits)
            mend = self._tried(finding, proposal)
            if mend is not None:
                found.append(mend)
        return sorted(found, key=_gravity)

    def _tried(self, finding: Finding, proposal: Proposal) -> Mend | None:
        """The mend, if the sources can be read after the edits and the finding is gone."""
        protocol = self._edited(proposal.edits)
        if protocol is None:
            return None
        after = Meaning(protocol, self.meaning.day)
        # Every edit is a change since the approval: that says nothing of this one.
        findings = [other for other in inspect(after) if other.kind != "changed-since-approval"]
        known = {same_thing(other) for other in self.analysis.findings if other.kind != "changed-since-approval"}
        left = {same_thing(other) for other in findings}
        if same_thing(finding) in left:
            return None
        brings = tuple(other for other in findings if same_thing(other) not in known)
        removes = len(known - left) - 1
        space = Space.of(self.meaning.protocol, protocol)
        old, new = Meaning(self.meaning.protocol, after.day, space), Meaning(protocol, after.day, space)
        return Mend(proposal.steps, proposal.edits, Ranking(old, new, tuple(changes(old, new))), brings, removes)

    def _edited(self, edits: tuple[Edit, ...]) -> Protocol | None:
        folder = self.folder
        for file in sorted({edit.span.file for edit in edits}):
            text = apply_edits(folder.texts[file], [edit for edit in edits if edit.span.file == file])
            folder, findings = reread_rule(folder, file, text)
            document = folder.rules[file.removeprefix("rules/").removesuffix(".md")]
            if findings or document.root is None or check_shape(document.root, "rule"):
                return None
        protocol = build_protocol(folder, [])[0]
        return replace(protocol, retracted=self.meaning.protocol.retracted) if protocol else None


def _gravity(mend: Mend) -> tuple[int, int]:
    """More for a graver loss; a failing vignette is the least of them, and none is nothing."""
    return max((gravity(loss) for loss in mend.losses), default=0), len(mend.fails)
