"""The placing order: said in words, and asked about where the practice's own words contradict it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping
from itertools import permutations, product
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.finding import Span
from liningbook.meaning.decide import Candidate, Outcome, placing_order
from liningbook.model.rule import Answer

DAY = "2026-11-25"

HEAD = """\
title: Example
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
"""

MATERIALS = """\
places: {spot: Deepest spot, walls: All cavity walls}
irritants: {acid: {label: Acid}}
agents:
  calcium-hydroxide: {label: Calcium hydroxide, class: liner, place: spot}
  cement: {label: Cement, class: base, place: spot, emits: [acid]}
  varnish: {label: Varnish, class: sealer, place: walls, blocks: [acid]}
  adhesive: {label: Adhesive, class: sealer, place: walls}
"""

Checked = Callable[..., dict[str, Any]]


@pytest.fixture
def checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Checked:
    """What `check` finds of decisions in an order, with the advice of each as the sources write it."""

    def check(advice: Mapping[str, str], together: str = "", more: str = "") -> dict[str, Any]:
        folder = tmp_path / "protocol"
        shutil.rmtree(folder, ignore_errors=True)
        (folder / "rules").mkdir(parents=True)
        decisions = "".join(f"  {name}: {{label: {name.capitalize()}, layer: {name}}}\n" for name in advice)
        (folder / "protocol.yaml").write_text(f"{HEAD}decisions:\n{decisions}{more}", "utf-8")
        (folder / "materials.yaml").write_text(MATERIALS + together, "utf-8")
        for name, answer in advice.items():
            (folder / "rules" / f"place-{name}.md").write_text(
                f"---\ntitle: Place {name}\nadvise: {{{name}: {answer}}}\n"
                "evidence: {basis: good-practice, note: Invented.}\n---\n",
                "utf-8",
            )
        main(["check", str(folder), "--format", "json", "--on", DAY])
        found: dict[str, Any] = json.loads(capsys.readouterr().out)
        main(["check", str(folder), "--on", DAY])
        found["text"] = capsys.readouterr().out
        return found

    return check


def told(found: Mapping[str, Any]) -> list[tuple[str, ...]]:
    keys = ("decision", "contradicts", "over", "entry", "wish", "layer")
    return [
        tuple(str(finding[key]) for key in keys if key in finding)
        for finding in found["findings"]
        if finding["kind"] == "placing-order"
    ]


def test_a_layer_of_the_deepest_spot_over_one_of_all_walls_is_asked_about(checked: Checked) -> None:
    first = {"liner": "{agent: calcium-hydroxide}", "sealer": "{agent: adhesive}"}
    assert told(checked(first)) == []
    found = checked(dict(reversed(first.items())))
    assert told(found) == [("liner", "places", "sealer")]
    [finding] = found["findings"]
    assert (finding["severity"], finding["rules"]) == ("warning", ["place-liner", "place-sealer"])
    assert (finding["cases"], finding["witness"]) == ([{}], {"rdt": "3 mm"})
    assert "Liner is placed over sealer, which covers more" in found["text"]


def test_before_and_after_count_on_either_side(checked: Checked) -> None:
    turned = {"liner": "{agent: calcium-hydroxide, after: sealer}", "sealer": "{agent: adhesive}"}
    assert told(checked(turned)) == [("liner", "places", "sealer")]
    put_right = {"sealer": "{agent: adhesive}", "liner": "{agent: calcium-hydroxide, before: sealer}"}
    assert told(checked(put_right)) == []


def test_a_layer_without_a_place_covers_everything_and_so_does_the_place_of_an_answer(checked: Checked) -> None:
    narrow = {"sealer": "{agent: adhesive, place: spot}", "liner": "{agent: calcium-hydroxide}"}
    assert told(checked(narrow)) == []


def test_a_layer_that_lies_under_what_it_stops_is_there_on_purpose(checked: Checked) -> None:
    assert told(checked({"sealer": "{agent: varnish}", "base": "{agent: cement}"})) == []
    assert told(checked({"sealer": "{agent: adhesive}", "base": "{agent: cement}"})) == [("base", "places", "sealer")]


ENTRY = "together:\n  - {with: {base: [cement]}, require: {sealer: [varnish, adhesive]}, because: It is acid.}\n"


def test_a_required_layer_that_comes_after_what_it_is_to_stop_is_asked_about(checked: Checked) -> None:
    found = checked({"base": "{agent: cement}", "sealer": "{agent: varnish}"}, ENTRY)
    assert told(found) == [("sealer", "together", "base", "0")]
    assert "Sealer is to stop acid that base gives off, but is placed over it" in found["text"]
    assert told(checked({"base": "{agent: cement}", "sealer": "{agent: adhesive}"}, ENTRY)) == []
    assert told(checked({"base": "{agent: cement}", "sealer": "{agent: varnish, before: base}"}, ENTRY)) == []


def test_wishes_that_contradict_one_another_are_asked_about(checked: Checked) -> None:
    both = {"base": "{agent: cement, after: sealer}", "sealer": "{agent: varnish, after: base}"}
    assert len(told(checked(both))) == 1
    [(layer, what, wish, other)] = told(checked(both))
    assert (what, wish, {layer, other}) == ("wishes", "after", {"base", "sealer"})
    assert told(checked({"base": "{agent: cement, after: sealer}", "sealer": "none"})) == [], "it is not placed"


def test_an_accepted_part_no_longer_counts_and_the_whole_must_be_accepted(checked: Checked) -> None:
    turned = {"sealer": "{agent: adhesive}", "liner": "{agent: calcium-hydroxide}"}
    accepted = (
        "accepted:\n  - {kind: placing-order, decision: liner, when: {rdt: %s}, because: So it is., by: B. Reed}\n"
    )
    part, whole = (checked(turned, "", accepted % bound) for bound in ("{above: 1 mm}", "{at_least: 0 mm}"))
    assert [part["counts"][name] for name in ("warning", "accepted")] == [1, 0]
    assert [whole["counts"][name] for name in ("warning", "accepted")] == [0, 1]


@pytest.mark.parametrize("count", [2, 3, 4])
def test_the_order_keeps_all_wishes_wherever_any_order_does(count: int) -> None:
    """Each layer asks for nothing, or to come before or after another one."""
    names = [f"layer-{n}" for n in range(count)]
    asked = [
        [(None, None), *((other, None) for other in names if other != name), *((None, o) for o in names if o != name)]
        for name in names
    ]
    span = Span("rules/a.md", 1, 1, 1, 2)
    for wishes in product(*asked):
        outcomes = {
            name: Outcome("answered", (Candidate(Answer("layer", span, name, before=before, after=after), ()),))
            for name, (before, after) in zip(names, wishes, strict=True)
        }

        def is_kept(order: tuple[str, ...], wishes: Any = wishes) -> bool:
            return all(
                (before is None or order.index(name) < order.index(before))
                and (after is None or order.index(name) > order.index(after))
                for name, (before, after) in zip(names, wishes, strict=True)
            )

        assert is_kept(placing_order(outcomes)) == any(map(is_kept, permutations(names))), wishes


# --- said in words ----------------------------------------------------------------------------------------------------


def test_check_says_the_order_in_words_and_in_json(demonstration: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(demonstration), "--on", DAY])
    assert capsys.readouterr().out.startswith("Placing order: 1 Liner, 2 Base, 3 Cavity sealer\n")
    main(["check", str(demonstration), "--on", DAY, "--format", "json"])
    assert json.loads(capsys.readouterr().out)["placing_order"] == ["liner", "base", "sealer"]


def test_check_names_the_rules_that_ask_for_another_order(checked: Checked) -> None:
    found = checked({"base": "{agent: cement}", "sealer": "{agent: varnish, before: base}"})
    said = "Placing order: 1 Base, 2 Sealer; another where `before` or `after` in this rule says so: place-sealer "
    assert said in " ".join(found["text"].split())
    assert "Placing order" not in checked({"sealer": "{agent: varnish}"})["text"], "one layer has no order"


def test_build_and_preview_say_it_too(demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from datetime import date

    from liningbook.preview.workshop import Workshop

    main(["build", str(demonstration), "--out", str(tmp_path / "out"), "--only", "bundle", "--on", DAY])
    assert "Placing order: 1 Liner, 2 Base, 3 Cavity sealer\n" in capsys.readouterr().err
    page = Workshop(demonstration, lambda: date.fromisoformat(DAY)).make().page.decode()
    assert "Placing order: 1 Liner, 2 Base, 3 Cavity sealer" in page
