"""Every mend that is offered, made on the files, removes its finding and changes only what it said."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.checks.facts import same_thing
from liningbook.finding import Finding
from liningbook.mending import Mend, Mender
from liningbook.sources.editing import apply_edits
from tests import seeds
from tests.oracle.brute import Regions
from tests.oracle.folder import brute, read_plain, write_folder
from tests.oracle.generate import random_protocol
from tests.oracle.world import World, world_of
from tests.saying import messages_of

MOST_CELLS = 300
SEEDS = seeds.window(1_000, 25, 3)

Said = tuple[str, frozenset[object]]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_mend_made_does_what_it_said(seed: int, tmp_path: Path) -> None:
    world = world_of(str(seed), random_protocol(seed, MOST_CELLS), tmp_path / "before")
    mender = Mender(world.analysis)
    for number, finding in enumerate(world.analysis.findings):
        for other, mend in enumerate(mender.mends(finding)):
            folder = _made(world, mend, tmp_path / f"after-{number}-{other}")
            _assert_gone(world, folder, finding, mend)
            _assert_changes_only_what_it_said(world, folder, mend)


def test_mends_are_offered_for_most_conflicts_and_boundary_gaps() -> None:
    """So that the test above cannot pass by offering nothing."""
    offered = {"conflict": 0, "gap": 0, "duplicate": 0}
    found = dict(offered)
    for seed in SEEDS:
        with tempfile.TemporaryDirectory() as folder:
            world = world_of(str(seed), random_protocol(seed, MOST_CELLS), Path(folder))
            mender = Mender(world.analysis)
            for finding in world.analysis.findings:
                if finding.kind in found and finding.fact.about().on is None:
                    found[finding.kind] += 1
                    offered[finding.kind] += bool(mender.mends(finding))
    assert offered["conflict"] > found["conflict"] / 2
    assert offered["duplicate"] > found["duplicate"] / 2
    assert offered["gap"] > 0


def _made(world: World, mend: Mend, folder: Path) -> Path:
    write_folder(world.plain, folder)
    for file in {edit.span.file for edit in mend.edits}:
        text = (folder / file).read_text("utf-8")
        edits = [edit for edit in mend.edits if edit.span.file == file]
        (folder / file).write_text(apply_edits(text, edits), "utf-8")
    return folder


def _assert_gone(world: World, folder: Path, finding: Finding, mend: Mend) -> None:
    after = analyse(folder, world.analysis.day)
    assert after.protocol is not None, (mend.steps, messages_of(after.findings))
    now = {same_thing(other) for other in after.findings}
    assert same_thing(finding) not in now, mend.steps
    before = {same_thing(other) for other in world.analysis.findings}
    assert now - before == {same_thing(other) for other in mend.brings}, mend.steps


def _assert_changes_only_what_it_said(world: World, folder: Path, mend: Mend) -> None:
    before = _said(world.regions)
    after = _said(brute(read_plain(folder, world.analysis.day)).regions(world.regions.grid))
    for decision in world.brute.decisions:
        same = 0
        for said, cells in before.get(decision, {}).items():
            same |= cells & after.get(decision, {}).get(said, 0)
        changed = world.regions.scope & ~same
        told = 0
        for change in mend.changes:
            if change.decision == decision:
                told |= world.cells_of([world.meaning.space.notation(box) for box in change.region])
        assert told == changed, f"{mend.steps}: {decision} {world.shown(told ^ changed)}"


def _said(regions: Regions) -> Mapping[str, dict[Said, int]]:
    """By decision, state and distinct answers, the cells."""
    found: dict[str, dict[Said, int]] = {}
    for (decision, (state, answers, _)), cells in regions.outcomes.items():
        said = (state, frozenset(meaning for meaning, _ in answers))
        table = found.setdefault(decision, {})
        table[said] = table.get(said, 0) | cells
    return found
