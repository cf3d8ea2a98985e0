"""Small edits of a small protocol, one after another, each with exactly the report that it must have."""

from __future__ import annotations

import copy
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.compare.comparison import compare
from liningbook.exchange.changes_json import changes_json
from liningbook.exchange.versions import Version, compare_versions
from liningbook.say.changes.notes import note_words
from liningbook.show.changes.changes_view import changes_view
from liningbook.show.terminal.changes_text import changes_text
from tests.oracle.folder import write_folder
from tests.saying import messages_of

DAY = date(2026, 11, 25)
HABIT = {"basis": "good-practice", "note": "House habit."}
CALCIUM = {"agent": "calcium-hydroxide"}


def rule(title: str, when: dict[str, Any], liner: Any) -> dict[str, Any]:
    return {"title": title, "when": when, "advise": {"liner": liner}, "evidence": HABIT}


def protocol() -> dict[str, Any]:
    return {
        "day": "2026-11-25",
        "protocol": {
            "title": "Liners", "practice": "Example", "edition": "2026.1", "status": "draft",
            "review_by": "2035-12-01", "authors": [{"name": "A. Marsh", "role": "dentist", "interests": "none"}],
            "scope": "Adults.", "cautions": ["Invented."], "evidence_scheme": "grade",
            "factors": {
                "rdt": {"label": "Dentine", "kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "4 mm",
                        "reading": {"method": "radiograph", "scale": "0.7", "uncertainty": "0.4 mm", "guard_band": "1",
                                    "cautious": "below"}},
                "restoration": {"label": "Restoration", "kind": "choice",
                                "values": {"amalgam": "Amalgam", "composite": "Composite"}},
            },
            "decisions": {"liner": {"label": "Liner", "layer": "liner"}},
        },
        "materials": {
            "irritants": {"acid": {"label": "Acid"}},
            "agents": {
                "calcium-hydroxide": {"label": "Calcium hydroxide", "class": "liner", "blocks": ["acid"]},
                "silicate": {"label": "Silicate", "class": "liner"},
            },
        },
        "rules": {
            "deep": rule("Deep", {"rdt": {"at_most": "1 mm"}}, CALCIUM),
            "shallow": rule("Shallow", {"rdt": {"above": "1 mm"}}, "none"),
        },
    }  # fmt: skip


@pytest.fixture
def told(tmp_path: Path) -> Any:
    number = iter(range(100))

    def compared(old: dict[str, Any], new: dict[str, Any]) -> tuple[dict[str, Any], str]:
        protocols = []
        for plain in (old, new):
            analysis = understand(write_folder(plain, tmp_path / str(next(number))), DAY)
            assert analysis.protocol is not None, messages_of(analysis.findings)
            protocols.append(analysis.protocol)
        comparison = compare(*protocols, DAY)
        text = changes_text(changes_view(comparison, "old", "new"), width=10_000)
        return changes_json(comparison, "old", "new", DAY), text

    return compared


def bare(told: dict[str, Any]) -> list[tuple[Any, ...]]:
    """The changes without what the tests below look at apart."""
    return [(c["decision"], c["cases"], _said(c["before"]), _said(c["after"]), c["share"]) for c in told["changes"]]


def _said(outcome: dict[str, Any]) -> Any:
    if outcome["state"] == "conflict":
        return "conflict", [one["rules"] for one in outcome["answers"]]
    answer = outcome.get("answer")
    return outcome["state"], answer.get("agent") if isinstance(answer, dict) else answer, outcome.get("rules")


NONE_SHALLOW = ("answered", "none", ["shallow"])
CALCIUM_DEEP = ("answered", "calcium-hydroxide", ["deep"])


def test_a_threshold_moved(told: Any) -> None:
    new = protocol()
    new["rules"]["deep"]["when"] = {"rdt": {"at_most": "1.5 mm"}}
    new["rules"]["shallow"]["when"] = {"rdt": {"above": "1.5 mm"}}
    found, text = told(protocol(), new)
    box = {"rdt": {"above": "1 mm", "at_most": "1.5 mm"}}
    assert bare(found) == [("liner", [box], NONE_SHALLOW, CALCIUM_DEEP, "0.1250")]
    effects = found["changes"][0]["effects"]
    assert (effects["protection_added"], effects["protection_removed"], effects["layer"]) == (["acid"], [], "starts")
    assert found["edition_step"] == {"step": "treatment", "suggested": "2026.2"}
    assert "Liner: No liner → Calcium hydroxide" in text
    assert "over 1 up to 1.5 mm" in text
    assert "Adds protection against Acid" in text
    back, _ = told(new, protocol())
    assert bare(back) == [("liner", [box], CALCIUM_DEEP, NONE_SHALLOW, "0.1250")]
    assert back["changes"][0]["effects"]["protection_removed"] == ["acid"]


def test_one_sign_flipped_opens_a_gap_at_one_value(told: Any) -> None:
    new = protocol()
    new["rules"]["deep"]["when"] = {"rdt": {"below": "1 mm"}}
    found, text = told(protocol(), new)
    box = {"rdt": {"exactly": "1 mm"}}
    assert bare(found) == [("liner", [box], CALCIUM_DEEP, ("gap", None, None), "0.0000")]
    assert [gap["cases"] for gap in found["gaps"]["new"]] == [[box]]
    assert found["gaps"]["closed"] == found["conflicts"]["new"] == found["conflicts"]["closed"] == []
    assert "New gaps\n  Liner: Dentine: exactly 1 mm" in text
    assert "single values" in text
    back, _ = told(new, protocol())
    assert [gap["cases"] for gap in back["gaps"]["closed"]] == [[box]]


def test_another_language_is_another_look_and_no_other_case(tmp_path: Path) -> None:
    write_folder(protocol(), tmp_path)
    one = understand(tmp_path, DAY).protocol
    assert one is not None
    other = replace(one, language="de")
    whole = compare_versions(Version("one", one), Version("other", other), DAY)
    assert (whole.no_case_changed, whole.largest_step) == (True, "grounds")
    assert [note_words(note) for note in whole.notes] == ["language: en-GB → de"]
    assert compare_versions(Version("one", one), Version("bundle", other, is_whole=False), DAY).is_alike


def test_another_agent(told: Any) -> None:
    new = protocol()
    new["rules"]["deep"]["advise"] = {"liner": {"agent": "silicate"}}
    found, text = told(protocol(), new)
    silicate = ("answered", "silicate", ["deep"])
    assert bare(found) == [("liner", [{"rdt": {"at_most": "1 mm"}}], CALCIUM_DEEP, silicate, "0.2500")]
    assert found["changes"][0]["effects"]["protection_removed"] == ["acid"]
    assert "Removes protection against Acid" in text


def test_a_rule_split_in_two_of_the_same_meaning(told: Any) -> None:
    new = protocol()
    deep = new["rules"].pop("deep")
    for value in ("amalgam", "composite"):
        when = {"rdt": {"at_most": "1 mm"}, "restoration": value}
        new["rules"][f"deep-{value}"] = {**deep, "when": when}
    found, text = told(protocol(), new)
    assert (found["changes"], found["no_case_changed"]) == ([], True)
    assert [(note["name"], note["field"]) for note in found["rules"]] == [
        ("deep", "taken out"), ("deep-amalgam", "added"), ("deep-composite", "added"),
    ]  # fmt: skip
    assert "No case is treated differently: both versions were compared over every case" in text


def test_new_names_for_the_same(told: Any) -> None:
    new = protocol()
    new["rules"]["line-it"] = new["rules"].pop("deep")
    factors = new["protocol"]["factors"]
    factors["dentine-left"] = factors.pop("rdt")
    factors["restoration"]["values"] = {"silver": "Amalgam", "composite": "Composite"}
    for rule in new["rules"].values():
        rule["when"]["dentine-left"] = rule["when"].pop("rdt")
    found, text = told(protocol(), new)
    assert (found["changes"], found["no_case_changed"], found["rules"]) == ([], True, [])
    assert {(one["kind"], one["before"], one["after"]) for one in found["renamed"]} == {
        ("factor", "rdt", "dentine-left"), ("value", "amalgam", "silver"), ("rule", "deep", "line-it"),
    }  # fmt: skip
    assert "rule deep is now called line-it" in text


def test_a_name_that_changed_with_something_else_is_another_thing(told: Any) -> None:
    new = protocol()
    new["rules"]["line-it"] = {**new["rules"].pop("deep"), "title": "Line it"}
    found, _ = told(protocol(), new)
    assert found["renamed"] == []
    assert [(note["name"], note["field"]) for note in found["rules"]] == [("deep", "taken out"), ("line-it", "added")]


def test_an_override_added_ends_a_conflict(told: Any) -> None:
    old = protocol()
    old["rules"]["amalgam"] = {
        "title": "Amalgam", "when": {"restoration": "amalgam"}, "advise": {"liner": "none"}, "evidence": HABIT,
    }  # fmt: skip
    new = copy.deepcopy(old)
    new["rules"]["amalgam"]["overrides"] = ["deep"]
    found, text = told(old, new)
    box = {"rdt": {"at_most": "1 mm"}, "restoration": ["amalgam"]}
    conflict = ("conflict", [["amalgam"], ["deep"]])
    assert bare(found) == [("liner", [box], conflict, ("answered", "none", ["amalgam"]), "0.1250")]
    assert [one["cases"] for one in found["conflicts"]["closed"]] == [[box]]
    assert "Closed conflicts" in text


def test_a_factor_added_or_taken_out(told: Any) -> None:
    new = protocol()
    new["protocol"]["factors"]["allergy"] = {"label": "Allergy", "kind": "yes-no"}
    new["rules"]["deep"]["when"]["allergy"] = "no"
    new["rules"]["allergic"] = {
        "title": "Allergic", "when": {"rdt": {"at_most": "1 mm"}, "allergy": "yes"}, "advise": {"liner": "none"},
        "evidence": HABIT,
    }  # fmt: skip
    found, _ = told(protocol(), new)
    box = {"rdt": {"at_most": "1 mm"}, "allergy": "yes"}
    allergic = ("answered", "none", ["allergic"])
    assert bare(found) == [("liner", [box], CALCIUM_DEEP, allergic, "0.1250")]
    assert found["factors"] == {"added": ["allergy"], "removed": []}
    back, _ = told(new, protocol())
    assert bare(back) == [("liner", [box], allergic, CALCIUM_DEEP, "0.1250")]
    assert back["factors"] == {"added": [], "removed": ["allergy"]}


def test_another_reading_is_never_said_to_change_nothing(told: Any) -> None:
    new = protocol()
    new["protocol"]["factors"]["rdt"]["reading"]["scale"] = "0.8"
    found, text = told(protocol(), new)
    assert found["changes"] == []
    assert [(n["field"], n["before"], n["after"]) for n in found["readings"]] == [("scale", "0.7", "0.8")]
    assert found["edition_step"]["step"] == "treatment"
    assert "a reading may now lead to other advice" in text
    assert "boundary values too" not in text


def test_evidence_and_words_change_no_case(told: Any) -> None:
    new = protocol()
    new["rules"]["deep"]["evidence"] = {**HABIT, "note": "Another note."}
    found, text = told(protocol(), new)
    assert (found["no_case_changed"], found["edition_step"]["step"]) == (True, "grounds")
    assert [(n["name"], n["field"]) for n in found["evidence"]] == [("deep", "note")]
    new = protocol()
    new["rules"]["deep"]["title"] = "A deep cavity"
    found, text = told(protocol(), new)
    assert (found["no_case_changed"], found["edition_step"]) == (True, {"step": "words", "suggested": "2026.1.1"})
    assert "Wording only\n  rule deep: title: Deep → A deep cavity" in text


def test_nothing(told: Any) -> None:
    found, text = told(protocol(), protocol())
    assert found["no_case_changed"]
    assert found["edition_step"] == {"step": "none", "suggested": ""}
    assert "Nothing has changed: no new edition." in text


def test_limits_that_grow_cover_more_cases(told: Any) -> None:
    new = protocol()
    new["protocol"]["factors"]["rdt"]["at_most"] = "5 mm"
    found, text = told(protocol(), new)
    box = {"rdt": {"above": "4 mm"}}
    assert bare(found) == [("liner", [box], ("out-of-scope", None, None), NONE_SHALLOW, "0.2000")]
    assert found["changes"][0]["effects"]["cover"] == "starts"
    assert "These cases are covered now." in text


# --- effects ----------------------------------------------------------------------------------------------------------


def with_management() -> dict[str, Any]:
    """The small protocol with a decision that leads to the liner, or away from it."""
    plain = protocol()
    answers = {"restore": "Restore", "refer": "Refer"}
    liner = plain["protocol"]["decisions"]["liner"]
    plain["protocol"]["decisions"] = {
        "management": {"label": "Management", "answers": answers},
        "liner": {**liner, "needed_when": {"management": "restore"}},
    }
    for name, when, answer in (
        ("restore", {"rdt": {"at_least": "0.5 mm"}}, "restore"), ("refer", {"rdt": {"below": "0.5 mm"}}, "refer"),
    ):  # fmt: skip
        plain["rules"][name] = {"title": name, "when": when, "advise": {"management": answer}, "evidence": HABIT}
    return plain


def test_a_referral_starts_and_ends(told: Any) -> None:
    new = with_management()
    new["rules"]["restore"]["when"] = {"rdt": {"at_least": "1 mm"}}
    new["rules"]["refer"]["when"] = {"rdt": {"below": "1 mm"}}
    found, text = told(with_management(), new)
    box = {"rdt": {"at_least": "0.5 mm", "below": "1 mm"}}
    not_needed = ("not-needed", None, None)
    restore, refer = ("answered", "restore", ["restore"]), ("answered", "refer", ["refer"])
    assert bare(found) == [
        ("management", [box], restore, refer, "0.1250"), ("liner", [box], CALCIUM_DEEP, not_needed, "0.1250"),
    ]  # fmt: skip
    assert [c["effects"]["referral"] for c in found["changes"]] == ["starts", "same"]
    assert found["changes"][1]["effects"]["protection_removed"] == ["acid"]
    assert "A referral starts: no layer is reached now." in text
    assert found["share_changed"] == "0.1250"
    back, text = told(new, with_management())
    assert [c["effects"]["referral"] for c in back["changes"]] == ["ends", "same"]
    assert "A referral ends: the layers are reached." in text


def test_a_referral_that_ends_leads_and_what_follows_is_counted(told: Any) -> None:
    old = with_management()
    old["rules"]["restore"]["when"] = {"rdt": {"at_least": "1 mm"}}
    old["rules"]["refer"]["when"] = {"rdt": {"below": "1 mm"}}
    new = with_management()
    new["rules"]["shallow"]["advise"] = {"liner": {"agent": "silicate"}}
    found, text = told(old, new)
    assert [c["decision"] for c in found["changes"]] == ["management", "liner", "liner"]
    assert found["changes"][0]["lost_safety"] == ["referral"]
    assert ["follows_from" in change for change in found["changes"]] == [False, False, True]
    assert found["changes"][2]["follows_from"] == ["management"]
    [lost] = found["lost_safety"]
    assert (lost["kind"], lost["decision"], lost["layers"]) == ("referral", "management", ["liner"])
    assert lost["cases"] == [{"rdt": {"at_least": "0.5 mm", "below": "1 mm"}}]
    assert lost["share"] == "0.1250"
    heading = text.index("Lost safety: look at this first")
    assert heading < text.index("A referral ends: Management held back Liner.") < text.index("Cases are treated")
    assert "So newly needed: Liner (1 change that follows, not listed)." in text
    assert "Not needed → Calcium hydroxide" not in text
    assert "Part of all combinations: 13%. See change 1." in text
    # The cases were stopped before, so there was no protection to add to.
    assert "Adds protection" not in text
    assert found["changes"][2]["effects"]["protection_added"] == []
    _, back = told(new, old)
    assert "Lost safety" not in back
    assert "Removes protection" not in back.split("So no longer needed: Liner")[0].split("Management:")[1]


def test_a_referral_that_becomes_a_judgement_has_ended_and_a_judgement_ends_where_the_layers_are_reached(
    told: Any,
) -> None:
    judged = with_management()
    judged["rules"]["refer"]["advise"] = {"management": {"judgement": "Look."}}
    found, text = told(with_management(), judged)
    assert [lost["kind"] for lost in found["lost_safety"]] == ["referral"]
    assert "the layers are reached" not in text
    reached = with_management()
    reached["rules"]["restore"]["when"] = {}
    del reached["rules"]["refer"]
    found, text = told(judged, reached)
    assert [lost["kind"] for lost in found["lost_safety"]] == ["judgement"]
    assert "No longer left to the dentist: Management held back Liner." in text
    assert told(judged, with_management())[0]["lost_safety"] == []


def test_a_layer_that_waits_for_nothing_any_more_follows_from_no_other_change(told: Any) -> None:
    new = with_management()
    del new["protocol"]["decisions"]["liner"]["needed_when"]
    new["rules"]["restore"]["when"] = {"rdt": {"at_least": "0.3 mm"}}
    new["rules"]["refer"]["when"] = {"rdt": {"below": "0.3 mm"}}
    found, text = told(with_management(), new)
    [liner] = [change for change in found["changes"] if change["decision"] == "liner"]
    assert liner["cases"] == [{"rdt": {"below": "0.5 mm"}}]
    assert "follows_from" not in liner
    assert liner["lost_safety"] == ["referral"]
    [lost] = found["lost_safety"]
    assert lost["cases"] == liner["cases"]
    assert "A referral ends: Management held back Liner." in text
    assert "Liner: Not needed → Calcium hydroxide" in text


def test_protection_is_lost_only_where_nothing_else_stops_what_is_live(told: Any) -> None:
    old, new = protocol(), protocol()
    new["rules"]["deep"]["advise"] = {"liner": "none"}
    found, text = told(old, new)
    assert found["lost_safety"] == []  # no entry of `sources` brings the acid
    assert "Removes protection against Acid, by the protocol's table." in text
    for plain in (old, new):
        plain["materials"]["sources"] = [{"irritants": ["acid"]}]
        plain["materials"]["barriers"] = [{"irritants": ["acid"], "when": {"rdt": {"above": "0.5 mm"}}}]
    found, text = told(old, new)
    [lost] = found["lost_safety"]
    assert (lost["kind"], lost["irritant"]) == ("protection", "acid")
    assert lost["cases"] == [{"rdt": {"at_most": "0.5 mm"}}]
    assert "In some of these cases: Protection is lost: Acid is live, and no layer stops it now" in text
    assert "Removes protection" not in text
    for plain in (old, new):
        plain["protocol"]["decisions"]["base"] = {"label": "Base", "layer": "base"}
        agent = {**plain["materials"]["agents"]["calcium-hydroxide"], "label": "Cover", "class": "base"}
        plain["materials"]["agents"]["cover"] = agent
        plain["rules"]["cover"] = {"title": "Cover", "advise": {"base": {"agent": "cover"}}, "evidence": HABIT}
    assert told(old, new)[0]["lost_safety"] == []


def test_a_never_that_is_gone_leads_though_no_case_is_treated_differently(told: Any) -> None:
    old = protocol()
    old["rules"]["never"] = {
        "title": "Never", "when": {"rdt": {"at_most": "2 mm"}}, "never": {"liner": ["silicate"]}, "evidence": HABIT,
    }  # fmt: skip
    found, text = told(old, protocol())
    assert found["no_case_changed"]
    [lost] = found["lost_safety"]
    about = (lost["kind"], lost["decision"], lost["agent"], lost["rules"], lost["cases"])
    assert about == ("never", "liner", "silicate", ["never"], [{"rdt": {"at_most": "2 mm"}}])
    assert "under Liner" in text.split("A “never” is gone: ")[1]
    assert "No change of advice goes with it." in text
    softer = protocol()
    softer["rules"]["never"] = {**old["rules"]["never"], "avoid": {"liner": ["silicate"]}}
    del softer["rules"]["never"]["never"]
    assert [one["kind"] for one in told(old, softer)[0]["lost_safety"]] == ["never"]


def test_a_judgement_starts_and_ends(told: Any) -> None:
    new = protocol()
    new["rules"]["deep"]["advise"] = {"liner": {"judgement": "The evidence does not decide."}}
    found, text = told(protocol(), new)
    assert found["changes"][0]["effects"]["judgement"] == "starts"
    assert "The dentist decides now." in text
    back, _ = told(new, protocol())
    assert back["changes"][0]["effects"]["judgement"] == "ends"
    other = copy.deepcopy(new)
    other["rules"]["deep"]["advise"] = {"liner": {"judgement": "For another reason."}}
    found, _ = told(new, other)
    assert (found["changes"], [n["field"] for n in found["words"]]) == ([], ["why, liner"])


def graded(certainty: str, strength: str = "conditional") -> dict[str, Any]:
    return {
        "basis": "research", "certainty": certainty, "strength": strength, "design": "randomised",
        "lowered": {"indirectness": {"high": "", "moderate": "1", "low": "2"}[certainty]}, "note": "Invented.",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("before", "after", "grade"),
    [
        (("low",), ("high",), "stronger"), (("high",), ("low",), "weaker"), (("high",), ("high",), "same"),
        (("low", "strong"), ("high", "conditional"), "other"), (("high", "strong"), ("high",), "weaker"),
    ],
)  # fmt: skip
def test_the_grade_behind_the_advice(before: Any, after: Any, grade: str, told: Any) -> None:
    old, new = protocol(), protocol()
    for plain, words, agent in ((old, before, "calcium-hydroxide"), (new, after, "silicate")):
        plain["rules"]["deep"] |= {"advise": {"liner": {"agent": agent}}, "evidence": graded(*words)}
        plain["rules"]["deep"]["evidence"]["lowered"] = {
            key: value for key, value in plain["rules"]["deep"]["evidence"]["lowered"].items() if value
        }
    found, text = told(old, new)
    assert found["changes"][0]["effects"]["grade"] == grade
    words = {"stronger": "a stronger grade", "weaker": "a weaker grade", "other": "another kind of grade"}.get(grade)
    assert ("The advice rests on" in text) == (grade != "same")
    assert words is None or words in text


def test_grades_that_do_not_change_everywhere_in_one_way(told: Any) -> None:
    """The same answers before and after, by rules of which one grade rises and the other falls."""
    old, new = protocol(), protocol()
    for plain, agent, grades in ((old, "calcium-hydroxide", ("low", "high")), (new, "silicate", ("high", "low"))):
        deep = plain["rules"].pop("deep")
        for value, certainty in zip(("amalgam", "composite"), grades, strict=True):
            plain["rules"][f"deep-{value}"] = {
                **deep, "when": {"rdt": {"at_most": "1 mm"}, "restoration": value},
                "advise": {"liner": {"agent": agent}}, "evidence": {**graded("high"), "certainty": certainty},
            }  # fmt: skip
            plain["rules"][f"deep-{value}"]["evidence"]["lowered"] = {"indirectness": "2"} if certainty == "low" else {}
    found, text = told(old, new)
    assert [(c["before"]["rules"], c["effects"]["grade"], c["share"]) for c in found["changes"]] == [
        (["deep-amalgam"], "stronger", "0.1250"), (["deep-composite"], "weaker", "0.1250"),
    ]  # fmt: skip
    assert text.count("Liner: Calcium hydroxide → Silicate") == 1
    assert "not in the same way in all these cases" in text
    assert "rules    Deep (deep-amalgam), Deep (deep-composite) → Deep (deep-amalgam), Deep (deep-composite)" in text


# --- the frame --------------------------------------------------------------------------------------------------------


def test_a_factor_alone_is_called_otherwise(told: Any) -> None:
    new = protocol()
    factors = new["protocol"]["factors"]
    new["protocol"]["factors"] = {"depth": factors["rdt"], "restoration": factors["restoration"]}
    for one in new["rules"].values():
        one["when"] = {"depth": one["when"]["rdt"]}
    found, text = told(protocol(), new)
    assert found["renamed"] == [{"kind": "factor", "before": "rdt", "after": "depth"}]
    assert (found["changes"], found["edition_step"]["step"]) == ([], "words")
    assert "factor rdt is now called depth" in text
    new["rules"]["deep"]["when"] = {"depth": {"below": "1 mm"}}
    found, _ = told(protocol(), new)
    assert [c["cases"] for c in found["changes"]] == [[{"depth": {"exactly": "1 mm"}}]]


def test_a_value_gone_or_new_is_out_of_the_scope_of_the_other(told: Any) -> None:
    new = protocol()
    new["protocol"]["factors"]["restoration"]["values"]["ceramic"] = "Ceramic"
    found, _ = told(protocol(), new)
    outside = ("out-of-scope", None, None)
    assert bare(found) == [
        ("liner", [{"rdt": {"at_most": "1 mm"}, "restoration": ["ceramic"]}], outside, CALCIUM_DEEP, "0.0833"),
        ("liner", [{"rdt": {"above": "1 mm"}, "restoration": ["ceramic"]}], outside, NONE_SHALLOW, "0.2500"),
    ]
    back, _ = told(new, protocol())
    assert [c["effects"]["cover"] for c in back["changes"]] == ["ends", "ends"]


def test_a_step_closes_a_gap_between_its_multiples(told: Any) -> None:
    old = protocol()
    old["rules"]["shallow"]["when"] = {"rdt": {"at_least": "1.05 mm"}}
    new = copy.deepcopy(old)
    new["protocol"]["factors"]["rdt"]["step"] = "0.05 mm"
    found, text = told(old, new)
    box = {"rdt": {"above": "1 mm", "below": "1.05 mm"}}
    assert bare(found) == [("liner", [box], ("gap", None, None), ("out-of-scope", None, None), "0.0125")]
    assert [gap["cases"] for gap in found["gaps"]["closed"]] == [[box]]
    assert "factor rdt: step: now 0.05 mm" in text
    back, _ = told(new, old)
    assert [gap["cases"] for gap in back["gaps"]["new"]] == [[box]]


def test_a_step_alone_is_told_as_another_way_to_read(told: Any) -> None:
    new = protocol()
    new["protocol"]["factors"]["rdt"]["step"] = "0.1 mm"
    found, text = told(protocol(), new)
    assert (found["changes"], found["edition_step"]["step"]) == ([], "treatment")
    assert [(n["field"], n["after"]) for n in found["readings"]] == [("step", "0.1 mm")]
    assert "boundary values too" not in text


def test_another_unit_changes_no_case_and_no_rule(told: Any) -> None:
    new = protocol()
    new["protocol"]["factors"]["rdt"]["unit"] = "um"
    found, text = told(protocol(), new)
    assert (found["changes"], found["rules"], found["readings"]) == ([], [], [])
    assert [(n["field"], n["before"], n["after"]) for n in found["shown"]] == [
        ("unit", "mm", "um"), ("at_least", "0 mm", "0 um"), ("at_most", "4 mm", "4000 um"),
    ]  # fmt: skip
    assert "boundary values too" not in text


def test_a_month_is_no_decimal_part_of_a_year(told: Any) -> None:
    old = protocol()
    del old["protocol"]["factors"]["rdt"]["reading"]
    old["protocol"]["factors"]["rdt"] |= {"unit": "mo", "at_least": "0 mo", "at_most": "48 mo"}
    old["rules"]["deep"]["when"] = {"rdt": {"at_most": "7 mo"}}
    old["rules"]["shallow"]["when"] = {"rdt": {"above": "7 mo"}}
    new = copy.deepcopy(old)
    new["protocol"]["factors"]["rdt"] |= {"unit": "a"}
    new["rules"]["deep"]["when"] = {"rdt": {"at_most": "0.5 a"}}
    new["rules"]["shallow"]["when"] = {"rdt": {"above": "0.5 a"}}
    found, _ = told(old, new)
    assert bare(found) == [
        ("liner", [{"rdt": {"above": "6 mo", "at_most": "7 mo"}}], CALCIUM_DEEP, NONE_SHALLOW, "0.0208")
    ]


def test_layers_in_another_order_are_told(told: Any) -> None:
    old = protocol()
    old["protocol"]["decisions"]["base"] = {"label": "Base", "layer": "base"}
    old["rules"]["shallow"] = {**old["rules"]["shallow"], "advise": {"liner": "none", "base": "none"}}
    old["rules"]["deep"] = {**old["rules"]["deep"], "advise": {"liner": CALCIUM, "base": "none"}}
    new = copy.deepcopy(old)
    new["protocol"]["decisions"] = dict(reversed(old["protocol"]["decisions"].items()))
    found, text = told(old, new)
    assert [(n["field"], n["before"], n["after"]) for n in found["shown"]] == [
        ("placing order", "liner, base", "base, liner")
    ]
    assert found["edition_step"]["step"] == "grounds"
    assert "boundary values too" not in text


def test_the_status_alone_calls_for_no_new_edition(told: Any) -> None:
    new = protocol()
    new["protocol"]["status"] = "withdrawn"
    found, text = told(protocol(), new)
    assert (found["changes"], found["edition_step"]["step"]) == ([], "none")
    assert "status: draft → withdrawn" in text
    assert "Nothing has changed that calls for a new edition." in text
    assert "Nothing has changed: no new edition." not in text
