"""Common practice, told as small protocols. Common practice, no source.

What every dental school has taught for decades of dentine, varnish, liners and cements. No figure here is a
recommendation: each test says that if a practice writes this down, Liningbook draws the conclusion that any dentist
would.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.cases.question import answer, put
from liningbook.exchange.findings import findings_json
from liningbook.notation.quantity import UNITS, parse_quantity
from liningbook.show.terminal.reply import reply_json
from tests.oracle.folder import write_folder
from tests.oracle.generate import DAY
from tests.saying import messages_of

RDT = {"label": "RDT", "kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm"}
RESTORATION = {
    "label": "Restoration",
    "kind": "choice",
    "values": {"amalgam": "Amalgam", "composite": "Composite", "gold": "Cast gold"},
}

CHEMICAL = ["acid", "corrosion"]
PHYSICAL = ["heat", "condensation", "galvanic"]

MATERIALS: dict[str, Any] = {
    "places": {"spot": "Deepest spot", "floor": "Floor", "walls": "All walls"},
    "irritants": {
        **{name: {"label": name, "acts_on": "floor"} for name in PHYSICAL},
        **{name: {"label": name, "acts_on": "walls"} for name in CHEMICAL},
    },
    "agents": {
        "varnish": {"label": "Cavity varnish", "class": "sealer", "blocks": CHEMICAL, "place": "walls"},
        "calcium-hydroxide": {"label": "Calcium hydroxide", "class": "liner", "blocks": ["acid"], "place": "spot"},
        "glass-ionomer": {
            "label": "Glass ionomer", "class": "base", "blocks": PHYSICAL, "emits": ["acid"], "place": "floor",
        },
        "zinc-phosphate": {
            "label": "Zinc phosphate", "class": "base", "blocks": ["heat", "condensation"], "emits": ["acid"],
            "place": "floor",
        },
    },
    "together": [
        {"with": {"liner": ["calcium-hydroxide"]}, "require": {"base": ["glass-ionomer"]}, "because": "It dissolves."}
    ],
    "sources": [
        {"when": {"restoration": "amalgam"}, "irritants": ["heat", "condensation", "corrosion"]},
        {"when": {"restoration": "gold"}, "irritants": ["heat", "galvanic"]},
    ],
    "barriers": [{"when": {"rdt": {"above": "2 mm"}}, "irritants": PHYSICAL}],
}  # fmt: skip

VARNISH = {
    "agent": "varnish", "coats": "2", "thickness": {"at_least": "2 um", "at_most": "5 um"}, "place": "walls",
}  # fmt: skip
BARE = {"liner": "none", "base": "none", "sealer": "none"}


def analysed(folder: Path, rules: Mapping[str, Mapping[str, Any]], **changed: Any) -> Analysis:
    """A protocol of rules over dentine thickness and restoration; `changed` replaces parts of protocol or materials."""
    shared = {"title": "A rule", "evidence": {"basis": "good-practice", "note": "Common practice."}}
    protocol = {
        "title": "Common practice", "practice": "Invented", "edition": "1", "status": "draft",
        "review_by": "2099-01-01", "authors": [{"name": "Nobody", "role": "none", "interests": "none"}],
        "scope": "Tests", "cautions": ["Mind this."], "evidence_scheme": "grade",
        "factors": {"rdt": changed.get("rdt", RDT), "restoration": RESTORATION},
        "decisions": {name: {"label": name.capitalize(), "layer": name} for name in ("liner", "base", "sealer")},
    }  # fmt: skip
    assert {*changed} <= {"rdt", "decisions", "excluded", *MATERIALS}
    plain = {
        "protocol": {**protocol, **{key: part for key, part in changed.items() if key in ("decisions", "excluded")}},
        "materials": {**MATERIALS, **{key: part for key, part in changed.items() if key in MATERIALS}},
        "rules": {name: {**shared, **rule} for name, rule in rules.items()},
    }
    analysis = analyse(write_folder(plain, folder), DAY)
    assert analysis.meaning is not None, messages_of(analysis.findings)
    return analysis


def found(analysis: Analysis, kind: str) -> list[dict[str, Any]]:
    return [finding for finding in findings_json(analysis)["findings"] if finding["kind"] == kind]


def unprotected(analysis: Analysis) -> dict[str, list[dict[str, Any]]]:
    """The cases in which an irritant reaches the pulp, by irritant."""
    return {finding["irritant"]: finding["cases"] for finding in found(analysis, "unprotected")}


def case(analysis: Analysis, rdt: str, restoration: str) -> dict[str, Any]:
    assert analysis.protocol is not None
    assert analysis.meaning is not None
    question = put(analysis.meaning, {"rdt": rdt, "restoration": restoration})
    return reply_json(analysis.protocol, answer(analysis.meaning, question))


def live(analysis: Analysis, rdt: str, restoration: str) -> set[str]:
    """The irritants that reach the pulp in one case."""
    return {threat["irritant"] for threat in case(analysis, rdt, restoration)["irritants"] if not threat["stopped"]}


# --- three bands ----------------------------------------------------------------------------------------------------

SPOKEN: dict[str, dict[str, Any]] = {
    "shallow": {"when": {"rdt": {"above": "2 mm"}}, "advise": {"sealer": VARNISH}},
    "middle": {
        "when": {"rdt": {"above": "0.5 mm", "below": "2 mm"}},
        "advise": {"sealer": {"agent": "varnish", "coats": "2"}},
    },
    "deep": {"when": {"rdt": {"below": "0.5 mm"}}, "advise": {"sealer": "none"}},
}
"""Over 2 mm; 0.5 to 2 mm; under 0.5 mm: written down as it is usually spoken."""

SEALER_ONLY = {"sealer": {"label": "Sealer", "layer": "sealer"}}


def test_three_bands_as_spoken_leave_their_two_edges_without_a_rule(tmp_path: Path) -> None:
    [gap] = found(analysed(tmp_path, SPOKEN, decisions=SEALER_ONLY, together=[]), "gap")
    assert gap["cases"] == [{"rdt": [{"exactly": "0.5 mm"}, {"exactly": "2 mm"}]}]
    assert gap["witness"]["rdt"] in ("0.5 mm", "2 mm")


@pytest.mark.parametrize(
    ("rdt", "state"),
    [
        ("0.499 mm", "answered"), ("0.5 mm", "gap"), ("0.501 mm", "answered"),
        ("1.999 mm", "answered"), ("2 mm", "gap"), ("2.001 mm", "answered"),
    ],
)  # fmt: skip
def test_only_the_edges_are_open(rdt: str, state: str, tmp_path: Path) -> None:
    analysis = analysed(tmp_path, SPOKEN, decisions=SEALER_ONLY, together=[])
    assert case(analysis, rdt, "amalgam")["advice"]["sealer"]["state"] == state


def test_three_bands_that_each_take_one_edge_leave_nothing_open(tmp_path: Path) -> None:
    closed = {**SPOKEN, "middle": {**SPOKEN["middle"], "when": {"rdt": {"at_least": "0.5 mm", "at_most": "2 mm"}}}}
    analysis = analysed(tmp_path, closed, decisions=SEALER_ONLY, together=[])
    assert found(analysis, "gap") == found(analysis, "conflict") == []


def test_three_bands_that_both_take_an_edge_disagree_on_it(tmp_path: Path) -> None:
    both = {
        "shallow": {**SPOKEN["shallow"], "when": {"rdt": {"at_least": "2 mm"}}},
        "middle": {**SPOKEN["middle"], "when": {"rdt": {"at_least": "0.5 mm", "at_most": "2 mm"}}},
        "deep": SPOKEN["deep"],
    }
    [conflict] = found(analysed(tmp_path, both, decisions=SEALER_ONLY, together=[]), "conflict")
    assert conflict["cases"] == [{"rdt": {"exactly": "2 mm"}}]


# --- dentine --------------------------------------------------------------------------------------------------------


def test_more_than_two_millimetres_of_dentine_stop_heat_pressure_and_current_but_no_chemicals(tmp_path: Path) -> None:
    everything = [{"irritants": [*PHYSICAL, *CHEMICAL]}]
    analysis = analysed(tmp_path, {"nothing": {"advise": BARE}}, sources=everything)
    assert live(analysis, "2.001 mm", "amalgam") == set(CHEMICAL)
    assert live(analysis, "2 mm", "amalgam") == {*PHYSICAL, *CHEMICAL}
    up_to_two = [{"rdt": {"at_most": "2 mm"}}]
    assert unprotected(analysis) == {**dict.fromkeys(PHYSICAL, up_to_two), **{name: [{}] for name in CHEMICAL}}


READ_OFF = {**RDT, "reading": {"method": "radiograph", "cautious": "below"}}


def test_thin_dentine_under_no_layer_at_all_is_no_layer_lost(tmp_path: Path) -> None:
    """Below 2 mm it is dentine that no longer stops heat: nothing that a layer gave is lost."""
    analysis = analysed(tmp_path, {"nothing": {"advise": BARE}}, rdt=READ_OFF)
    assert found(analysis, "less-protection") == []
    assert "heat" in unprotected(analysis)


def test_a_base_left_out_in_the_deepest_cavities_is_a_layer_lost(tmp_path: Path) -> None:
    rules = {
        "base": {
            "when": {"rdt": {"at_least": "0.5 mm"}},
            "advise": {**BARE, "base": {"agent": "glass-ionomer"}},
        },
        "deep": {"when": {"rdt": {"below": "0.5 mm"}}, "advise": BARE},
    }
    analysis = analysed(tmp_path, rules, rdt=READ_OFF)
    lost = {finding["irritant"]: finding["cases"] for finding in found(analysis, "less-protection")}
    assert lost == {
        "heat": [{"rdt": {"below": "0.5 mm"}, "restoration": ["amalgam", "gold"]}],
        "condensation": [{"rdt": {"below": "0.5 mm"}, "restoration": ["amalgam"]}],
        "galvanic": [{"rdt": {"below": "0.5 mm"}, "restoration": ["gold"]}],
    }


def test_metal_conducts_heat_and_composite_does_not(tmp_path: Path) -> None:
    analysis = analysed(tmp_path, {"nothing": {"advise": BARE}})
    assert unprotected(analysis)["heat"] == [{"rdt": {"at_most": "2 mm"}, "restoration": ["amalgam", "gold"]}]
    assert live(analysis, "1 mm", "composite") == set()


def test_caries_into_the_pulp_is_no_case_for_pulp_protection(tmp_path: Path) -> None:
    excluded = [{"when": {"rdt": {"exactly": "0 mm"}}, "because": "The pulp is exposed."}]
    analysis = analysed(tmp_path, {"nothing": {"advise": BARE}}, excluded=excluded)
    assert [case(analysis, rdt, "amalgam")["in_scope"] for rdt in ("0 mm", "0.01 mm")] == [False, True]
    assert unprotected(analysis)["condensation"] == [
        {"rdt": {"above": "0 mm", "at_most": "2 mm"}, "restoration": ["amalgam"]}
    ]


# --- varnish --------------------------------------------------------------------------------------------------------


def test_two_coats_of_varnish_on_all_walls_stop_chemicals_only(tmp_path: Path) -> None:
    everything = [{"irritants": [*PHYSICAL, *CHEMICAL]}]
    analysis = analysed(tmp_path, {"varnish": {"advise": {**BARE, "sealer": VARNISH}}}, sources=everything)
    advice = case(analysis, "1 mm", "amalgam")["advice"]["sealer"]["answer"]
    assert advice["coats"] == 2
    assert advice["thickness"] == {"at_least": "2 um", "at_most": "5 um"}
    assert set(unprotected(analysis)) == set(PHYSICAL)


def test_varnish_on_the_floor_alone_does_not_seal_the_walls(tmp_path: Path) -> None:
    floor = {**BARE, "sealer": {**VARNISH, "place": "floor"}}
    assert "corrosion" in unprotected(analysed(tmp_path, {"varnish": {"advise": floor}}))


def test_varnish_alone_under_amalgam_at_one_millimetre_leaves_heat_and_condensation_open(tmp_path: Path) -> None:
    analysis = analysed(tmp_path, {"varnish": {"advise": {**BARE, "sealer": VARNISH}}})
    assert live(analysis, "1 mm", "amalgam") == {"heat", "condensation"}
    up_to_two = {"rdt": {"at_most": "2 mm"}}
    assert unprotected(analysis)["condensation"] == [{**up_to_two, "restoration": ["amalgam"]}]
    assert unprotected(analysis)["heat"] == [{**up_to_two, "restoration": ["amalgam", "gold"]}]


def test_a_base_under_the_amalgam_closes_them(tmp_path: Path) -> None:
    base = {"liner": "none", "base": {"agent": "glass-ionomer"}, "sealer": {**VARNISH, "before": "base"}}
    assert unprotected(analysed(tmp_path, {"base": {"advise": base}})) == {}


def test_varnish_must_not_lie_under_composite(tmp_path: Path) -> None:
    rules: dict[str, dict[str, Any]] = {
        "varnish": {"advise": {**BARE, "sealer": VARNISH}},
        "composite": {"when": {"restoration": "composite"}, "never": {"sealer": "varnish"}},
    }
    [finding] = found(analysed(tmp_path, rules), "contraindicated")
    assert finding["cases"] == [{"restoration": ["composite"]}]
    assert (finding["agent"], finding["rules"][0]) == ("varnish", "composite")


# --- zinc phosphate -------------------------------------------------------------------------------------------------


def zinc_phosphate(folder: Path, sealer: Any) -> Analysis:
    """Zinc phosphate over thin dentine under amalgam, whose corrosion is left aside."""
    advise = {"liner": "none", "base": {"agent": "zinc-phosphate"}, "sealer": sealer}
    rules = {"thin": {"when": {"rdt": {"at_most": "1 mm"}}, "advise": advise}}
    rules["thick"] = {"when": {"rdt": {"above": "1 mm"}}, "advise": BARE}
    return analysed(folder, rules, sources=[{"when": {"restoration": "amalgam"}, "irritants": ["heat"]}])


def test_the_acid_of_zinc_phosphate_over_thin_dentine_reaches_the_pulp_without_varnish(tmp_path: Path) -> None:
    analysis = zinc_phosphate(tmp_path, "none")
    assert unprotected(analysis)["acid"] == [{"rdt": {"at_most": "1 mm"}}]
    assert live(analysis, "1 mm", "gold") == {"acid"}


def test_varnish_placed_under_zinc_phosphate_stops_its_acid(tmp_path: Path) -> None:
    analysis = zinc_phosphate(tmp_path, {**VARNISH, "before": "base"})
    assert "acid" not in unprotected(analysis)
    assert case(analysis, "1 mm", "amalgam")["placing_order"] == ["sealer", "base"]


def test_varnish_placed_over_zinc_phosphate_comes_too_late(tmp_path: Path) -> None:
    analysis = zinc_phosphate(tmp_path, VARNISH)
    assert unprotected(analysis)["acid"] == [{"rdt": {"at_most": "1 mm"}}]
    assert case(analysis, "1 mm", "amalgam")["placing_order"] == ["base", "sealer"]


# --- calcium hydroxide ----------------------------------------------------------------------------------------------


def calcium_hydroxide(folder: Path, base: Any) -> Analysis:
    deep: dict[str, Any] = {
        "when": {"rdt": {"below": "0.5 mm"}},
        "advise": {**BARE, "liner": {"agent": "calcium-hydroxide"}},
    }
    deep["advise"]["base"] = base
    return analysed(folder, {"deep": deep, "rest": {"when": {"rdt": {"at_least": "0.5 mm"}}, "advise": BARE}})


@pytest.mark.parametrize("base", ["none", {"agent": "zinc-phosphate"}])
def test_calcium_hydroxide_left_uncovered_is_a_clash(base: Any, tmp_path: Path) -> None:
    analysis = calcium_hydroxide(tmp_path, base)
    [clash] = found(analysis, "clash")
    assert clash["cases"] == [{"rdt": {"below": "0.5 mm"}}]
    assert case(analysis, "0.4 mm", "amalgam")["advice"]["liner"]["state"] == "clash"


def test_calcium_hydroxide_under_glass_ionomer_is_none(tmp_path: Path) -> None:
    analysis = calcium_hydroxide(tmp_path, {"agent": "glass-ionomer"})
    assert found(analysis, "clash") == []
    assert case(analysis, "0.4 mm", "amalgam")["placing_order"] == ["liner", "base"]


def test_calcium_hydroxide_on_the_deepest_spot_does_not_keep_acid_off_the_walls(tmp_path: Path) -> None:
    assert "acid" in unprotected(calcium_hydroxide(tmp_path, {"agent": "glass-ionomer"}))


# --- force of condensation ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("pounds", "newtons"), [("3 [lbf_av]", 13), ("4 [lbf_av]", 18)])
def test_three_to_four_pounds_are_thirteen_to_eighteen_newtons(pounds: str, newtons: int) -> None:
    assert round(parse_quantity(pounds).in_unit(UNITS["N"])) == newtons
