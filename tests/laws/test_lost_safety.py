"""What safety a new version loses, and what stands first in the report of it: by every case of random pairs.

`tests/oracle/safety.py` reads both versions by itself. The pairs are random protocols with materials, and what random
edits make of them: half of the edits are those that touch safety. A failure names the seed.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from random import Random

import pytest

from liningbook.compare.comparison import Comparison, compare
from liningbook.exchange.changes_json import changes_json
from liningbook.meaning.difference import OUT_OF_SCOPE
from liningbook.space.region import Region
from tests import seeds
from tests.oracle.edits import EDITS, Edit, another, any_rule
from tests.oracle.generate import DAY
from tests.oracle.materials import protocol_with_materials
from tests.oracle.pairs import protocol_of
from tests.oracle.safety import Lost, any_of, expected, safe
from tests.oracle.versions import Plain, Versions

RANGE = (0, 240, 4)
SEEDS = seeds.window(*RANGE, always=[10, 14, 15, 28, 30, 33, 42, 45, 64, 97, 176, 187, 196, 202])
"""With those that bring what is rare (the last test)."""


def never_removed(plain: Plain, _: Random) -> None:
    for rule in plain["rules"].values():
        if "never" in rule:
            rule.setdefault("avoid", {}).update(rule.pop("never"))
            return


def opened(plain: Plain, random: Random) -> None:
    """A rule that said something else of a decision that others wait for now says what leads to them."""
    for decision in plain["protocol"]["decisions"].values():
        for on, wanted in decision.get("needed_when", {}).items():
            rule = any_rule(plain, random)
            word = wanted if isinstance(wanted, str) else wanted[0]
            if "answers" in plain["protocol"]["decisions"][on] and on in rule.get("advise", {}):
                rule["advise"][on] = word


def judged(plain: Plain, random: Random) -> None:
    """A rule leaves to the clinician what it said, or says what it left to the clinician."""
    for name, decision in plain["protocol"]["decisions"].items():
        rules = [rule for rule in plain["rules"].values() if name in rule.get("advise", {})]
        if "answers" in decision and rules:
            rule = random.choice(rules)
            was = isinstance(rule["advise"][name], dict)
            rule["advise"][name] = random.choice(list(decision["answers"])) if was else {"judgement": "Look."}


def blocks_less(plain: Plain, random: Random) -> None:
    agent = random.choice(list(plain["materials"]["agents"].values()))
    agent["blocks"] = agent.get("blocks", [])[1:]


def barrier_removed(plain: Plain, _: Random) -> None:
    plain["materials"]["barriers"] = plain["materials"].get("barriers", [])[1:]


OF_SAFETY: list[Edit] = [never_removed, opened, judged, blocks_less, barrier_removed]


@cache
def pair(seed: int) -> tuple[Comparison, Versions]:
    old = protocol_with_materials(seed)
    edits = [*EDITS, *OF_SAFETY * (len(EDITS) // len(OF_SAFETY))]
    with tempfile.TemporaryDirectory() as folder:
        first = protocol_of(old, Path(folder) / "old")
        for attempt in range(40):
            new = another(old, seed + 10_000 * attempt, edits)
            second = protocol_of(new, Path(folder) / f"new-{attempt}")
            if first is not None and second is not None:
                comparison = compare(first, second, DAY)
                renamed = changes_json(comparison, "", "", DAY)["renamed"]
                return comparison, Versions(old, new, renamed, safe)
    raise AssertionError(f"seed {seed} gives no second version")


def found(seed: int) -> Iterator[tuple[Lost, tuple[int, set[str]]]]:
    """What is said to be lost, as the oracle says it."""
    comparison, versions = pair(seed)
    for loss in comparison.ranking.losses:
        boxes = [comparison.space.notation(box) for box in loss.region]
        cells = [versions.grid.cells(box) for box in boxes]
        assert sum(mask.bit_count() for mask in cells) == versions.grid.cells(boxes).bit_count(), "a case twice"
        yield (loss.kind, loss.decision, loss.name), (versions.grid.cells(boxes), {*loss.layers, *loss.rules})


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_lost_is_what_every_case_says(seed: int) -> None:
    said = list(found(seed))
    assert len({lost for lost, _ in said}) == len(said)
    assert dict(said) == expected(pair(seed)[1])


# --- which changes are told, and which only follow --------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_a_change_that_is_only_counted_follows_in_every_case_from_one_that_is_told(seed: int) -> None:
    comparison, versions = pair(seed)
    ranking = comparison.ranking
    told = [one.change for one in ranking.told]
    counted = [change for one in ranking.told for change in one.following]
    assert {id(d) for d in comparison.differences} == {id(d) for d in (*told, *counted)}
    assert not {id(d) for d in told} & {id(d) for d in counted}
    changed = changed_cells(versions)
    for difference in counted:
        causes = ranking.causes_of(difference)
        mine = cells_of(comparison, versions, difference.region)
        assert all(any(cause is one for one in told) for cause in causes)
        assert mine & ~any_of([cells_of(comparison, versions, cause.region) for cause in causes]) == 0
        assert all(changed[cause.decision] & mine for cause in causes)
        assert "not-needed" in (difference.before.state, difference.after.state) or difference.after == OUT_OF_SCOPE
        assert difference.after.state not in ("gap", "conflict", "contraindicated", "clash")
        assert not ranking.lost_by(difference, difference.region)


@pytest.mark.parametrize("seed", SEEDS)
def test_changes_stand_by_consequence_and_losses_by_gravity(seed: int) -> None:
    comparison, versions = pair(seed)
    kinds = ["referral", "judgement", "protection", "never"]
    ranks = []
    for one in comparison.ranking.told:
        mine = cells_of(comparison, versions, one.change.region)
        for loss in one.losses:
            assert cells_of(comparison, versions, loss.region) & mine, "a loss that has no part in the change"
        unsettled = one.change.after.state in ("gap", "conflict", "contraindicated", "clash")
        gravest = min((kinds.index(loss.kind) for loss in one.losses), default=4 if unsettled else 5)
        ranks.append(gravest)
    assert ranks == sorted(ranks)
    gravities = [kinds.index(loss.kind) for loss in comparison.ranking.losses]
    assert gravities == sorted(gravities)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_report_has_every_change_once_what_is_told_first(seed: int) -> None:
    comparison, _ = pair(seed)
    found = changes_json(comparison, "", "", DAY)
    follows = ["follows_from" in change and "lost_safety" not in change for change in found["changes"]]
    alone = sum(len(one.change.parts) for one in comparison.ranking.told)
    assert len(found["changes"]) == sum(len(d.parts) for d in comparison.differences)
    assert all(follows[alone:])
    lost = [kind for change in found["changes"] for kind in change.get("lost_safety", ())]
    assert set(lost) <= {loss["kind"] for loss in found["lost_safety"]}


def cells_of(comparison: Comparison, versions: Versions, region: Region) -> int:
    return versions.grid.cells([comparison.space.notation(box) for box in region]) if region else 0


def changed_cells(versions: Versions) -> dict[str, int]:
    """By decision, the cells in which it comes to something else, by the oracle."""
    found: dict[str, int] = {}
    for (decision, _, _), cells in versions.changes().items():
        found[decision] = found.get(decision, 0) | cells
    return found


def test_the_pairs_lose_in_every_way() -> None:
    """What the laws above say is said of pairs that lose something, and of changes that follow from others."""
    seen: Counter[str] = Counter()
    for seed in SEEDS:
        ranking = pair(seed)[0].ranking
        seen.update({loss.kind for loss in ranking.losses})
        seen["by a change"] += any(one.losses for one in ranking.told)
        by_some = [loss for one in ranking.told for loss in one.losses]
        seen["by no change"] += any(not any(loss is known for known in by_some) for loss in ranking.losses)
        seen["following"] += any(one.following for one in ranking.told)
        causes = [ranking.causes_of(d) for d in ranking.changes]
        seen["of several causes"] += any(len(some) > 1 for some in causes)
        seen["told though it follows"] += any(ranking.causes_of(one.change) for one in ranking.told)
    for what in ("referral", "judgement", "protection", "never", "by a change", "by no change", "following",
                 "of several causes", "told though it follows"):  # fmt: skip
        assert seen[what] >= 3, (what, seen)
