"""The smallest protocols on which engine and oracle once disagreed, with what the contract says of them.

The random protocols find such faults again only by luck; here each stays found.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.oracle.compare import advice_for, disagreements
from tests.oracle.generate import DAY
from tests.oracle.world import World, world_of

TODAY, TOMORROW = DAY.isoformat(), (DAY + timedelta(days=1)).isoformat()

LAYERS = {name: {"layer": name} for name in ("liner", "base", "sealer")}
AGENTS = {f"{name}-{letter}": {"class": name} for name in LAYERS for letter in "ab"}
CASE = {"asked": "yes"}


def world(
    folder: Path,
    rules: Mapping[str, Mapping[str, Any]],
    decisions: Mapping[str, Any] = LAYERS,
    together: list[Mapping[str, Any]] | None = None,
) -> World:
    """A protocol with one yes-no factor."""
    protocol = {
        "title": "Found by the oracle", "practice": "A program", "edition": "1", "status": "draft",
        "review_by": date(2099, 1, 1).isoformat(), "scope": "Tests", "cautions": ["Mind this."],
        "evidence_scheme": "grade",
        "authors": [{"name": "A. Program", "role": "author", "interests": "none"}],
        "factors": {"asked": {"kind": "yes-no"}}, "decisions": dict(decisions),
    }  # fmt: skip
    shared = {"title": "A rule", "evidence": {"basis": "good-practice", "note": "Made by a program."}}
    plain = {
        "protocol": protocol,
        "materials": {"agents": AGENTS, "together": together or []},
        "rules": {name: {**shared, **rule} for name, rule in rules.items()},
        "day": TODAY,
    }
    made = world_of("by hand", plain, folder)
    assert list(disagreements(made)) == []
    return made


@pytest.mark.parametrize(
    ("layer", "wish", "order"),
    [
        ("sealer", {"before": "liner"}, ["sealer", "liner", "base"]),
        ("liner", {"after": "sealer"}, ["base", "sealer", "liner"]),
        ("base", {"before": "liner"}, ["base", "liner", "sealer"]),
        ("liner", {"before": "sealer"}, ["liner", "base", "sealer"]),
        ("sealer", {"after": "liner"}, ["liner", "base", "sealer"]),
    ],
)
def test_only_the_layer_that_asks_for_another_place_moves(
    layer: str, wish: dict[str, str], order: list[str], tmp_path: Path
) -> None:
    advise: dict[str, dict[str, str]] = {name: {"agent": f"{name}-a"} for name in LAYERS}
    advise[layer] |= wish
    assert advice_for(world(tmp_path, {"all": {"advise": advise}}), CASE)["placing_order"] == order


def test_a_layer_that_is_as_required_or_holds_nothing_forbidden_does_not_clash(tmp_path: Path) -> None:
    entry = {
        "with": {"base": ["base-a"]},
        "require": {"liner": ["liner-a"]},
        "forbid": {"sealer": ["sealer-b"]},
        "because": "They react.",
    }
    rules = {"all": {"advise": {"liner": "none", "base": {"agent": "base-a"}, "sealer": {"agent": "sealer-a"}}}}
    states = {
        name: outcome["state"]
        for name, outcome in advice_for(world(tmp_path, rules, together=[entry]), CASE)["advice"].items()
    }
    assert states == {"liner": "clash", "base": "clash", "sealer": "answered"}


def test_a_rule_that_warns_where_nothing_is_advised_is_heard(tmp_path: Path) -> None:
    """A warning that is obeyed, in a gap even, is no unreachable rule."""
    made = world(tmp_path, {"warns": {"never": {"base": "base-a"}}}, {"base": LAYERS["base"]})
    assert [finding["kind"] for finding in made.findings] == ["gap"]


def test_a_warning_that_stood_the_day_before_is_not_said_again_when_an_adviser_ends(tmp_path: Path) -> None:
    rules: dict[str, dict[str, Any]] = {
        "ends": {"advise": {"base": {"agent": "base-a"}}, "valid": {"until": TODAY}},
        "stays": {"advise": {"base": {"agent": "base-a"}}},
        "warns": {"never": {"base": "base-a"}},
    }
    made = world(tmp_path, rules, {"base": LAYERS["base"]})
    assert [(f["kind"], f.get("on")) for f in made.findings if f["kind"] == "contraindicated"] == [
        ("contraindicated", None)
    ]


def test_a_clash_that_stood_the_day_before_is_not_said_again_when_a_rule_starts(tmp_path: Path) -> None:
    entry = {"with": {"liner": ["liner-a"]}, "require": {"sealer": ["sealer-a"]}, "because": "They need each other."}
    rules: dict[str, dict[str, Any]] = {
        "there": {"advise": {"liner": {"agent": "liner-a"}}},
        "starts": {"advise": {"liner": {"agent": "liner-b"}}, "valid": {"from": TOMORROW}},
    }
    made = world(tmp_path, rules, {name: LAYERS[name] for name in ("liner", "sealer")}, [entry])
    assert [f.get("on") for f in made.findings if f["kind"] == "clash"] == [None]
    assert [f.get("on") for f in made.findings if f["kind"] == "conflict"] == [TOMORROW]
