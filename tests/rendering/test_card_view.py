"""What a card shows: what `card.yaml` chooses, true for all that it shows, and said of all that it leaves out."""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.cases.readings import take
from liningbook.cli import main
from liningbook.exchange.bundle import bundle_of
from liningbook.meaning import chart as charts
from liningbook.meaning.decide import Outcome, decide
from liningbook.meaning.exceptions import exceptions, whole_lines
from liningbook.model.protocol import Card, Pairing
from liningbook.model.rule import Conditions
from liningbook.notation.interval import Lower, Range, RangeSet, Upper
from liningbook.show.viewer import Viewer
from liningbook.show.views.card_view import CardWords, with_thresholds
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.list_view import ListWords
from liningbook.show.views.view import CardView
from liningbook.show.views.view_texts import view_texts
from liningbook.space.boxes import inside
from liningbook.space.region import Region

DAY = date(2026, 11, 25)
TERN_STREET = Path(__file__).resolve().parents[2] / "guidelines" / "tern-street"


def viewer_of(folder: Path) -> Viewer:
    analysis = analyse(folder, DAY)
    assert analysis.meaning is not None, analysis.findings
    return Viewer(analysis, bundle_of(analysis)["digest"], lambda text: text)


@pytest.fixture
def card(tmp_path: Path) -> Callable[..., CardView]:
    """The first card of a size of the demonstration with another `card.yaml`."""

    def made(text: str, size: str = "A4", **changed: tuple[str, str]) -> CardView:
        folder = tmp_path / "protocol"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(TERN_STREET, folder)
        (folder / "card.yaml").write_text(text, encoding="utf-8")
        for old, new in changed.values():
            source = (folder / "protocol.yaml").read_text(encoding="utf-8")
            assert source.count(old) == 1
            (folder / "protocol.yaml").write_text(source.replace(old, new), encoding="utf-8")
        return viewer_of(folder).card_views(size)[0]

    return made


@pytest.fixture(scope="module")
def demonstration() -> Viewer:
    return viewer_of(TERN_STREET)


def steps(view: CardView, column: str, band: int) -> list[tuple[int, str]]:
    cell = view.chart.cells[band][view.chart.columns.index(column)]
    return [(step.number, f"{step.layer}: {step.text}" if step.layer else step.text) for step in cell.steps]


# --- the demonstration ------------------------------------------------------------------------------------------------


def test_depth_is_in_words_open_to_the_limit_that_is_not_covered(demonstration: Viewer) -> None:
    chart = demonstration.card_views()[0].chart
    assert chart.band_heading == "Remaining dentine thickness as judged in the cavity"
    assert chart.bands == ("up to 0.5 mm", "over 0.5 up to 2 mm", "over 2 mm")
    assert chart.band_notes == ("not 0 mm: not covered", "", "")


def test_every_layer_is_called_by_its_name_and_a_stop_is_called_so(demonstration: Viewer) -> None:
    view = demonstration.card_views()[0]
    assert steps(view, "Amalgam", 0) == [
        (1, "Liner: Hard-setting calcium hydroxide, deepest spot, under 0.5 mm"),
        (2, "Base: Resin-modified glass ionomer, pulpal or axial floor, 0.75 to 1 mm"),
        (3, "Cavity sealer: Cavity varnish, all cavity walls, 2 to 5 µm, 2 coats"),
    ]
    assert steps(view, "Glass ionomer", 1) == [(0, "Place nothing")]
    told = {(line.label, line.head) for row in view.exceptions for line in row.lines if line.tone == "refer"}
    assert told == {("Stop", "Assess the pulp first"), ("Stop", "Choose another restoration")}


def test_the_code_names_the_page_and_the_whole_digest(demonstration: Viewer) -> None:
    view = demonstration.card_views()[0]
    assert view.code == f"https://tern-street.example/pulp#digest={view.identity.digest}"
    assert re.fullmatch("[0-9a-f]{64}", view.identity.digest)


def test_without_an_address_the_code_is_the_digest(card: Callable[..., CardView]) -> None:
    view = card("{}\n", address=("site_address: https://tern-street.example/pulp\n", ""))
    assert view.code == f"sha256:{view.identity.digest}"


def test_no_rule_no_probability_and_no_citation_stands_on_a_card(demonstration: Viewer) -> None:
    texts = [
        text for view in demonstration.card_views() for where, text in view_texts(view) if "probability" not in where
    ]
    for rule in demonstration.protocol.rules.values():
        assert all(rule.id not in text and rule.title not in text for text in texts)
    for key in demonstration.protocol.references:
        assert all(key not in text for text in texts)


def test_no_cell_is_without_words(demonstration: Viewer) -> None:
    for size in ("A4", "A5"):
        for view in demonstration.card_views(size):
            for row in view.chart.cells:
                assert all(cell.steps and all(step.text.strip(" –-") for step in cell.steps) for cell in row)


def test_numbers_have_a_leading_zero_and_no_trailing_one(demonstration: Viewer) -> None:
    for view in demonstration.card_views():
        for where, text in view_texts(view):
            if "identity" not in where and "the protocol" not in where and where != "code":
                assert not re.search(r"(?<![0-9])\.[0-9]|[0-9]\.[0-9]*0(?![0-9])", text), (where, text)


def test_what_to_do_when_a_patient_rings_is_the_practices_own(card: Callable[..., CardView]) -> None:
    assert card("rings_with_pain: [Note the time, 'Who is it?', Book.]\n").pain == "Note the time. Who is it? Book."
    assert card("{}\n").pain == ""


# --- choosing ---------------------------------------------------------------------------------------------------------


def test_columns_come_in_the_order_chosen_and_the_others_are_named(card: Callable[..., CardView]) -> None:
    view = card("restorations: [composite, amalgam]\n")
    assert view.chart.columns == ("Composite", "Amalgam")
    assert view.left_out == (
        "Not on this card: Glass ionomer, Cast metal, Ceramic, Provisional before resin, Other provisional. "
        "See the protocol.",
    )
    told = " ".join(text for row in view.exceptions for line in row.lines for text in line.where)
    assert "Provisional" not in told
    assert "Ceramic" not in told
    assert [fact.text for fact in view.avoid] == ["if Restoration is Composite"] * 2


def test_bands_may_end_where_no_rule_does(card: Callable[..., CardView]) -> None:
    view = card("bands: [{at_most: 1.3 mm}]\n")
    assert view.chart.bands == ("up to 0.5 mm", "over 0.5 up to 1.3 mm")
    assert view.left_out == ("Not on this card: Remaining dentine thickness of more than 1.3 mm. See the protocol.",)
    assert [row.value for row in view.readings[0].rows] == ["0.5 mm"]


def test_a_layer_that_is_left_out_keeps_its_place(card: Callable[..., CardView]) -> None:
    view = card("decisions: [liner, sealer]\n")
    assert steps(view, "Amalgam", 0) == [
        (1, "Liner: Hard-setting calcium hydroxide, deepest spot, under 0.5 mm"),
        (2, "Base: see the protocol"),
        (3, "Cavity sealer: Cavity varnish, all cavity walls, 2 to 5 µm, 2 coats"),
    ]
    assert view.left_out == ("Not decided on this card: Base. See the protocol.",)
    labels = {line.label for row in view.exceptions for line in row.lines}
    assert labels == {"Stop", "Dentist decides", "Never", "Liner", "Cavity sealer"}


def test_no_card_says_place_nothing_where_a_layer_that_it_leaves_out_is_to_be_decided(
    card: Callable[..., CardView],
) -> None:
    """Other provisional gets a base when the pulp is sore: an exception that this card does not list."""
    view = card("decisions: [liner, sealer]\n")
    assert all("Place nothing" not in step.text for row in view.chart.cells for cell in row for step in cell.steps)
    assert steps(view, "Other provisional", 1) == [(0, "Base: see the protocol")]


def test_a_decision_on_which_one_shown_depends_is_shown(card: Callable[..., CardView]) -> None:
    view = card("decisions: [liner]\nusual: {pulp: necrotic}\n")
    assert {step.text for row in view.chart.cells for cell in row for step in cell.steps} == {
        "Stop: Assess the pulp first"
    }
    assert "Management" not in view.left_out[0]


def test_the_usual_case_is_the_one_chosen(card: Callable[..., CardView]) -> None:
    view = card("usual: {pulp: reversible-pulpitis}\n")
    assert ("Pulp diagnosis", "Reversible pulpitis") in [(fact.label, fact.text) for fact in view.chart.usual]
    assert steps(view, "Amalgam", 0)[0][1].startswith("Liner: Hydraulic calcium silicate")
    assert ("Pulp diagnosis: Normal",) in [one for row in view.exceptions for one in row.triggers]


def test_another_choice_can_make_the_columns(card: Callable[..., CardView]) -> None:
    view = card("columns_by: pulp\nusual: {restoration: amalgam}\n")
    assert view.chart.column_heading == "Pulp diagnosis"
    assert view.chart.columns == ("Normal", "Reversible pulpitis", "Irreversible pulpitis", "Necrotic", "Uncertain")
    assert steps(view, "Uncertain", 0) == [
        (0, "Dentist decides: Retest, place a provisional or review. The evidence does not decide.")
    ]


def test_a_usual_case_that_is_not_covered_is_said(card: Callable[..., CardView]) -> None:
    old = "when: {exposed: no, rdt: {exactly: 0 mm}}"
    with pytest.raises(IndexError):
        card("usual: {pulp: necrotic}\n", excluded=(old, "when: {pulp: necrotic}"))
    view = card("columns_by: pulp\n", excluded=(old, "when: {pulp: necrotic}"))
    assert steps(view, "Necrotic", 0) == [(0, "Not covered: Look again, and answer yes to the question of exposure.")]
    assert view.chart.cells[0][view.chart.columns.index("Necrotic")].tone == "out"


def test_why_there_is_no_card_is_told(demonstration: Viewer, tmp_path: Path) -> None:
    assert "needs a quantity" in _without_layout(demonstration).why_none()
    folder = tmp_path / "protocol"
    shutil.copytree(TERN_STREET, folder)
    (folder / "card.yaml").write_text("bands: {exactly: 0 mm}\nusual: {exposed: no}\n", encoding="utf-8")
    viewer = viewer_of(folder)
    assert viewer.card_views() == ()
    assert viewer.card.why_none().startswith("the protocol covers no case that card.yaml chooses")


def _without_layout(viewer: Viewer) -> CardWords:
    words = CardWords(viewer.meaning)
    words.charts.layout = None
    return words


SOUND = {
    "protocol.yaml": """\
title: A protocol
practice: Example Practice
edition: 1
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  age: {label: Age, kind: quantity, unit: a, at_least: 0 a, at_most: 120 a}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
decisions:
  liner: {label: Liner, layer: liner}
  base: {label: Base, layer: base}
  recall: {label: Recall, answers: {soon: In half a year, late: In a year}}
""",
    "materials.yaml": "agents: {lime: {label: Lime, class: liner}, liner-glass: {label: Liner glass, class: liner}}\n",
    "rules/old.md": "when: {age: {at_least: 18 a}}\nadvise: {liner: {agent: lime}}",
    "rules/young.md": "when: {age: {below: 18 a}}\nadvise: {liner: {agent: liner-glass}}",
    "rules/deep.md": "when: {rdt: {at_most: 0.5 mm}}\nadvise: {base: {judgement: Nobody has looked.}}",
    "rules/other.md": "when: {rdt: {above: 0.5 mm}}\nadvise: {base: none}",
    "rules/recall.md": "advise: {recall: soon}",
}


def small(folder: Path, text: str, reading: str = "") -> CardView:
    """The card of a small protocol with two quantities, of which the age may be read off."""
    protocol = SOUND["protocol.yaml"].replace("at_most: 120 a}", f"at_most: 120 a{reading}}}")
    for name, content in {**SOUND, "protocol.yaml": protocol, "card.yaml": text}.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        rule = f"---\ntitle: A rule\n{content}\nevidence: {{basis: good-practice, note: Invented.}}\n---\n"
        (folder / name).write_text(rule if name.startswith("rules") else content, encoding="utf-8")
    return viewer_of(folder).card_views()[0]


def test_the_usual_case_of_another_quantity_is_a_range(tmp_path: Path) -> None:
    text = "bands_by: rdt\nusual: {age: {at_least: 21 a}}\ndecisions: [liner, base]\n"
    view = small(tmp_path, text)
    assert [(fact.label, fact.text) for fact in view.chart.usual] == [("Age", "21 years or more")]
    assert steps(view, "Amalgam", 1) == [(1, "Liner: Lime")]
    assert [(row.triggers, row.lines[0].head) for row in view.exceptions] == [
        ((("Age: less than 18 years",),), "Liner glass")
    ]
    assert view.left_out == ("Not decided on this card: Recall. See the protocol.",)


FORM = ", reading: {method: form, uncertainty: 2 a, guard_band: 1, cautious: below}"


def test_another_quantity_that_is_read_off_is_said_on_both_scales_on_the_front(tmp_path: Path) -> None:
    view = small(tmp_path, "bands_by: rdt\nusual: {age: {at_least: 21 a}}\n", FORM)
    assert [(fact.label, fact.text) for fact in view.chart.usual] == [("Age", "21 years or more (Form: from 23 years)")]
    view = small(tmp_path, "bands_by: rdt\ndecisions: [liner]\n", FORM)
    assert [text for _, text in steps(view, "Amalgam", 0)][:2] == [
        "Liner: Age 18 years or more (Form: from 20 years): Lime",
        "Liner: Age less than 18 years (Form: up to 19.9 years): Liner glass",
    ]


def test_what_turns_on_a_quantity_that_is_left_open_is_said_in_the_cell(tmp_path: Path) -> None:
    view = small(tmp_path, "bands_by: rdt\ndecisions: [liner]\n")
    assert sorted(steps(view, "Amalgam", 0)) == [
        (0, "Base: see the protocol"),
        (0, "Liner: Age 18 years or more: Lime"),
        (0, "Liner: Age less than 18 years: Liner glass"),
    ]


def test_a_judgement_names_its_layer_and_an_answer_on_which_nothing_depends_is_no_stop(tmp_path: Path) -> None:
    view = small(tmp_path, "bands_by: rdt\nusual: {age: {below: 18 a}}\n")
    assert steps(view, "Amalgam", 0) == [
        (0, "Base: Dentist decides: Nobody has looked."),
        (0, "Recall: In half a year"),
        (1, "Liner: Liner glass"),
    ]
    assert view.chart.cells[0][0].tone == "decide"
    assert view.chart.cells[1][0].tone == "place"
    assert view.chart.band_heading == "Dentine left"
    assert view.chart.band_notes == ()


# --- a card a restoration ---------------------------------------------------------------------------------------------


def test_small_cards_are_one_a_restoration_and_hold_what_concerns_it(demonstration: Viewer) -> None:
    views = demonstration.card_views("A6", "Copy 1 of 2, Surgery 1")
    assert [view.subject for view in views] == list(demonstration.card_views()[0].chart.columns)
    assert {(view.size, view.copy) for view in views} == {("A6", "Copy 1 of 2, Surgery 1")}
    amalgam, composite = views[:2]
    assert amalgam.left_out == (), "its title says so"
    assert demonstration.card_views("A5")[0].left_out == ("This card is for Amalgam only.",)
    assert amalgam.chart.columns == ("Amalgam",)
    assert composite.chart.bands == ("up to 0.5 mm", "over 0.5 mm")
    assert [fact.text for fact in composite.avoid] == ["in every case", "in every case"]
    assert amalgam.avoid == ()
    assert sum(line.tone == "never" for row in amalgam.exceptions for line in row.lines) == 3
    assert all(
        "Amalgam" not in text for view in views for row in view.exceptions for li in row.lines for text in li.where
    )


def test_a_small_card_asks_only_for_what_makes_a_difference(demonstration: Viewer) -> None:
    composite = demonstration.card_views("A5")[1]
    labels = [fact.label for fact in composite.chart.usual]
    assert labels == ["Pulp exposed", "Pulp diagnosis", "Methacrylate allergy"]
    assert [fact.text for fact in composite.chart.usual] == ["no", "Normal", "no"]
    asked = composite.identity.stop_questions
    assert set(asked) < set(demonstration.identity().stop_questions)
    assert not any("amalgam" in question for question in asked), "what it does not place it does not ask about"
    assert demonstration.card_views("A6")[1].chart.usual == (), "the questions ask all of it"


def test_what_is_never_used_stands_under_what_the_patient_has_above_the_layers(demonstration: Viewer) -> None:
    rows = {row.triggers: row for row in demonstration.card_views()[0].exceptions if not row.stops}
    rosin = rows[(("Rosin allergy",),)]
    assert [(line.where, line.label, line.head) for line in rosin.lines] == [
        ((), "Never", "Reinforced zinc oxide-eugenol and Cavity varnish"),
        (("Amalgam",), "Cavity sealer", "Resin adhesive"),
    ]
    assert [line.head for line in rows[(("Eugenol allergy",),)].lines] == ["Reinforced zinc oxide-eugenol"]


def test_exceptions_stop_first_then_ask_more_of_the_patient_before_less(demonstration: Viewer) -> None:
    rows = demonstration.card_views()[0].exceptions
    assert [row.stops for row in rows] == sorted((row.stops for row in rows), reverse=True)
    assert rows[0].triggers == (("Pulp exposed",), ("Pulp diagnosis: Irreversible pulpitis or Necrotic",))
    conditions = [len(row.triggers[0]) for row in rows if not row.stops and row.lines[0].tone != "never"]
    assert conditions == sorted(conditions, reverse=True)
    told = {(line.where, line.head) for row in rows for line in row.lines}
    assert (("Amalgam or Cast metal", "up to 2 mm"), "Conventional glass ionomer") in told, "as the chart says it"


def entry(viewer: Viewer, pairing: Pairing) -> str:
    """An entry of what goes together, as a card names it apart from its cases."""
    return ListWords(viewer.meaning)._having(replace(pairing, when=(Conditions({}),)))


def test_a_small_card_names_of_what_goes_together_what_its_layers_can_come_to(demonstration: Viewer) -> None:
    liner = "Liner of Hard-setting calcium hydroxide or Hydraulic calcium silicate"
    named = {view.subject: [fact.label for fact in view.pairings] for view in demonstration.card_views("A6")}
    assert named == {
        "Amalgam": [liner],
        "Composite": [liner],
        "Glass ionomer": [],
        "Cast metal": [liner],
        "Ceramic": [liner],
        "Provisional before resin": [],
        "Other provisional": ["Base of Reinforced zinc oxide-eugenol"],
    }
    assert len(demonstration.card_views("A4")[0].pairings) == 3


def test_a_small_card_leaves_out_only_what_never_goes_together_on_it(tmp_path: Path) -> None:
    """Case by case, by the evaluator: an entry is named if and only if some case of the card can come to its layers.

    The dentist decides on the base of some deep glass ionomers, and depth is said in readings.
    """
    folder = tmp_path / "protocol"
    shutil.copytree(TERN_STREET, folder)
    (folder / "card.yaml").write_text("scale: reading\n", encoding="utf-8")
    rule = folder / "rules" / "no-base-under-glass-ionomer-or-provisional.md"
    source = rule.read_text(encoding="utf-8")
    assert source.count("base: none") == 1
    rule.write_text(source.replace("base: none", "base: {judgement: Look at the wall.}"), encoding="utf-8")
    viewer = viewer_of(folder)
    views = viewer.card_views("A5")
    space, meaning = viewer.card.meaning.space, viewer.card.meaning
    named = {(view.subject, fact.label.partition(" (")[0]) for view in views for fact in view.pairings}
    met = set()
    column = space.index["restoration"]
    for cells in product(*(range(axis.count) for axis in space.axes)):
        case = tuple(1 << cell for cell in cells)
        advice = decide(meaning, case)
        if advice.excluded is not None or not case[0] & readable(viewer):
            continue
        subject = space.axes[column].factor.values[space.axes[column].values[cells[column]]]
        for pairing in meaning.protocol.pairings:
            if any(inside(case, box) for box in space.boxes(pairing.when)) and all(
                may_be(advice.outcomes[layer], agents) for layer, agents in pairing.having.items()
            ):
                met.add((subject, entry(viewer, pairing)))
    assert named == met
    everywhere = {(view.subject, entry(viewer, pairing)) for view in views for pairing in meaning.protocol.pairings}
    assert ("Glass ionomer", "Base of Zinc phosphate cement") in named, "the dentist may choose it"
    assert everywhere - named, "nothing is left out"


def readable(viewer: Viewer) -> int:
    """The depths as which any reading counts, where the card speaks of readings."""
    scale = viewer.card.charts.words.scale
    return scale.mask if scale else -1


def may_be(outcome: Outcome, agents: tuple[str, ...]) -> bool:
    if outcome.state == "not-needed":
        return False
    kinds = {(c.answer.kind, c.answer.name) for c in outcome.candidates}
    return not kinds or any(kind == "judgement" or (kind == "layer" and name in agents) for kind, name in kinds)


# --- readings ---------------------------------------------------------------------------------------------------------


def test_on_the_scale_of_readings_judged_values_stand_beneath_the_bands_alone(card: Callable[..., CardView]) -> None:
    view = card("scale: reading\n")
    assert view.chart.band_readings == (
        "over 0 up to 0.5 mm",
        "over 0.5 up to 2 mm",
        "over 2 mm",
    )
    assert view.chart.reading_heading == "Judged in the cavity"
    assert view.chart.band_heading == "Remaining dentine thickness as read on the bitewing radiograph"
    assert view.chart.bands == ("up to 1.2 mm", "1.3 to 3.4 mm", "from 3.5 mm")
    assert view.chart.band_notes == ()
    assert view.readings == ()
    depths = [text for row in view.exceptions for line in row.lines for text in line.where if "mm" in text]
    assert set(depths) == {"up to 1.2 mm", "up to 3.4 mm"}
    for facts in (view.avoid, view.never, view.pairings, view.exclusions, view.protection):
        assert all("0.5 mm" not in f"{fact.label} {fact.text}" for fact in facts)
    assert view.left_out == (
        "This card is for Remaining dentine thickness as read on the bitewing radiograph. "
        "Where it is known in another way, see the protocol.",
    )


def test_on_the_scale_of_values_the_back_converts_readings(card: Callable[..., CardView]) -> None:
    assert [row.words for row in card("scale: value\n").readings[0].rows] == [
        "counts as more than 0.5 mm only from a reading of 1.3 mm",
        "counts as more than 2 mm only from a reading of 3.5 mm",
    ]


@pytest.mark.parametrize("size", ["A4", "A5", "A6"])
def test_the_front_says_beneath_every_band_what_is_read_for_it(size: str, card: Callable[..., CardView]) -> None:
    chart = card("scale: value\n", size).chart
    assert chart.band_heading == "Remaining dentine thickness as judged in the cavity"
    assert chart.band_readings == ("up to 1.2 mm", "1.3 to 3.4 mm", "from 3.5 mm")
    assert chart.bands == ("up to 0.5 mm", "over 0.5 up to 2 mm", "over 2 mm")
    assert chart.reading_heading == "Read on bitewing radiograph"


def test_the_protocol_says_it_too(demonstration: Viewer) -> None:
    chart = demonstration.charts.chart()
    assert chart is not None
    assert chart.band_heading == "Remaining dentine thickness as judged in the cavity"
    assert [text.rpartition(": ")[2] for text in chart.band_readings] == [
        "up to 1.2 mm",
        "1.3 to 3.4 mm",
        "from 3.5 mm",
    ]


def test_where_nothing_is_read_off_no_reading_is_named(tmp_path: Path) -> None:
    folder = tmp_path / "protocol"
    shutil.copytree(TERN_STREET, folder)
    source = (folder / "protocol.yaml").read_text(encoding="utf-8")
    start, end = source.index("    reading:"), source.index("  exposed:")
    (folder / "protocol.yaml").write_text(source[:start] + source[end:], encoding="utf-8")
    chart = viewer_of(folder).card_views("A4")[0].chart
    assert chart.band_heading == "Remaining dentine thickness"
    assert (chart.band_readings, chart.reading_heading) == ((), "")


@pytest.mark.parametrize("scale", ["0.7", "0.9", "1", "1.3"])
@pytest.mark.parametrize("cautious", ["below", "above"])
def test_a_reading_looked_up_on_the_front_gives_the_band_that_it_counts_as(
    scale: str, cautious: str, card: Callable[..., CardView]
) -> None:
    """Every tenth of a millimetre, to which the uncertainty is given, from the words alone."""
    changed = {"scale": ("scale: 0.7", f"scale: {scale}"), "side": ("cautious: below", f"cautious: {cautious}")}
    view = card("scale: value\n", **changed)
    words = view.chart.band_readings
    guard = Fraction(2, 5) if cautious == "below" else Fraction(-2, 5)
    for tenth in range(100):
        reading = Fraction(tenth, 10)
        found = [place for place, text in enumerate(words) if is_in_words(reading, text.rpartition(": ")[2])]
        counted = Fraction(scale) * reading - guard
        assert found == [0 if counted <= Fraction(1, 2) else 1 if counted <= 2 else 2], (reading, words)


def is_in_words(reading: Fraction, words: str) -> bool:
    """Whether a reading is in `1.3 to 3.4 mm`, `up to 1.2 mm` or `from 3.5 mm`."""
    first = re.search(r"(?:from |^)([0-9.]+)", words)
    last = re.search(r"to ([0-9.]+)", words)
    return (first is None or reading >= Fraction(first[1])) and (last is None or reading <= Fraction(last[1]))


# --- chart and lists answer every case that is shown ------------------------------------------------------------------


def choices(viewer: Viewer, count: int) -> Iterator[Card]:
    """Cards of a part of the columns, the bands, the decisions and the usual case, at random."""
    chance = random.Random(4)
    values = list(viewer.protocol.factors["restoration"].values)
    for _ in range(count):
        low, high = sorted(chance.sample([Fraction(n, 10) for n in range(0, 61, 3)], 2))
        bands = RangeSet((Range(Lower(low, chance.random() < 0.5 or low == 0), Upper(high, True)),))
        yield Card(
            columns_by="restoration",
            columns=tuple(chance.sample(values, chance.randint(1, 4))),
            bands_by="rdt",
            bands=bands if chance.random() < 0.7 else None,
            decisions=tuple(chance.sample(list(viewer.protocol.decisions), chance.randint(1, 4))),
        )


def test_chart_and_exceptions_answer_every_case_that_a_card_shows(demonstration: Viewer) -> None:
    for card in choices(demonstration, 12):
        words = ChartWords(with_thresholds(demonstration.meaning, card), card)
        for decision in words.decisions:
            assert unanswered(words, decision) == "", card


def unanswered(words: ChartWords, decision: str) -> str:
    """What is wrong with the answers to a decision on a card, or nothing."""
    layout, outcomes = words.layout, words.outcomes
    assert layout is not None
    shown = Region((layout.shown,))
    answers = {outcome.said: region & shown for outcome, region in outcomes.by_decision[decision]}
    dull = [region for outcome, region in outcomes.by_decision[decision] if outcome.state == "not-needed"]
    left = words.meaning.scope & shown
    for region in dull:
        left = left.minus(region.boxes)
    groups = exceptions(outcomes, layout, words.decisions, words.bands)
    for line in [one for group in groups for one in whole_lines(group) if one.decision == decision]:
        told = left & Region((line.box,))
        if told.minus(answers[line.outcome.said].boxes):
            return f"a line of {decision} is wrong"
        left = left.minus([line.box])
    for band in words.bands:
        for column in layout.columns:
            held = outcomes.within(decision, charts.cell_box(layout, band, 1 << column))
            for outcome, boxes in held:
                if Region.any_of(boxes).minus(answers[outcome.said].boxes):
                    return f"a cell of {decision} is wrong"
                left = left.minus(boxes)
            if len(held) == 1:
                anywhere = list(layout.shown)
                anywhere[layout.band_axis], anywhere[layout.column_axis] = band, 1 << column
                followed = left & Region((tuple(anywhere),))
                if followed.minus(answers[held[0][0].said].boxes):
                    return f"a case that follows a cell of {decision} is wrong"
                left = left.minus([tuple(anywhere)])
    return f"{decision}: nothing is said of {len(left.boxes)} boxes" if left else ""


def test_a_card_of_readings_says_of_every_reading_what_the_protocol_says_of_it_or_of_less(
    demonstration: Viewer,
) -> None:
    """Each band as printed, at its ends and in it: the value that counts lies in that band or in a thinner one."""
    card = replace(demonstration.protocol.card, scale="reading", bands_by="rdt")
    words = ChartWords(demonstration.meaning, card)
    assert words.layout is not None
    assert words.words.scale is not None
    axis = words.meaning.space.axes[words.layout.band_axis]
    for position, band in enumerate(words.bands):
        for stretch in words.words.scale.ranges(band):
            for hundredth in range(900):
                if (reading := Fraction(hundredth, 100)) in stretch:
                    counted = 1 << take(axis, reading).cell
                    assert position <= next(n for n, mask in enumerate(words.bands) if mask & counted)


def test_why_and_where_to_turn_are_two_sentences(
    card: Callable[..., CardView], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the card, and where two editions are compared."""
    stop = "    because: Where no dentine is left the pulp is exposed, so the two answers contradict each other"
    view = card("size: A4\n", mended=(f"{stop}.", stop))
    assert "contradict each other. Look again, and answer yes" in view.exclusions[0].text
    protocol = tmp_path / "protocol" / "protocol.yaml"
    protocol.write_text(
        protocol.read_text("utf-8").replace("    instead: Look again", "    instead: Look twice"), "utf-8"
    )
    assert main(["compare", str(TERN_STREET), str(tmp_path / "protocol"), "--on", str(DAY)]) in (0, 1)
    said = capsys.readouterr().out
    assert "Look twice" in said
    assert "each other Look" not in said
