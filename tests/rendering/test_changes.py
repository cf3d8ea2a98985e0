"""What two versions differ in, as it is printed: the meeting's sheet, the charts, and what `build --since` adds."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

import pikepdf
import pytest

from liningbook.cli import main
from liningbook.compare.comparison import Comparison, compare
from liningbook.compare.past_cases import PastCases, past_cases
from liningbook.exchange.versions import read_version
from liningbook.meaning.chart import Outcomes, cell_box
from liningbook.show.assets.fonts import MissingGlyph
from liningbook.show.changes.changed_chart import changed_chart
from liningbook.show.changes.changes_card import card_changes
from liningbook.show.changes.changes_page import changes_page
from liningbook.show.changes.changes_view import changes_view
from liningbook.show.markup.grid import grid
from liningbook.show.paper import changes_sheet as sheets
from liningbook.show.paper.changes_picture import changes_picture
from liningbook.show.paper.changes_sheet import changes_sheet, sheet_html, sheet_view
from liningbook.show.paper.paper_html import protocol_html
from liningbook.show.paper.pdf import card_pdf
from liningbook.show.terminal.changes_text import changes_markdown
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Cell
from liningbook.show.web.page_html import page_html
from liningbook.space.boxes import bits
from tests.oracle.folder import write_folder
from tests.oracle.generate import random_protocol
from tests.rendering import sample_view as sample
from tests.rendering.measure import figure_texts, font_names, page_texts, problems_of, squeeze, weakest_contrast
from tests.rendering.test_html import ALLOWED, ATTACKS, Tree, hostile

pytestmark = pytest.mark.usefixtures("pango")

DAY = date(2026, 11, 25)
SMALLEST = Path(__file__).parent.parent / "protocols" / "pass" / "smallest"

PROTOCOL = """\
title: Liners
practice: Example Practice
edition: 2026.1
status: draft
in_force_from: 2026-09-01
review_by: 2027-09-01
authors: [{name: E. Example, role: dentist, interests: none}, {name: N. Urse, role: dental nurse, interests: none}]
approved: [{name: L. Ead, role: clinical lead, on: 2026-08-20}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  restoration:
    {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite, ionomer: Glass ionomer}}
  rosin: {label: Rosin allergy, kind: yes-no}
decisions:
  liner: {label: Liner, layer: liner}
  sealer: {label: Cavity sealer, layer: sealer}
"""
MATERIALS = """\
agents:
  calcium-hydroxide: {label: Hard-setting calcium hydroxide, class: liner}
  varnish: {label: Cavity varnish, class: sealer}
  adhesive: {label: Resin adhesive, class: sealer}
"""
RULE = """\
---
title: {title}
when: {when}
advise: {advise}
overrides: {overrides}
evidence: {{basis: good-practice, note: Invented.}}
---
Why.
"""


class Rule(NamedTuple):
    title: str
    when: str
    advise: str
    overrides: str = "[]"


RULES = {
    "line": Rule("Line the deepest spot", "{rdt: {at_most: 0.5 mm}}", "{liner: {agent: calcium-hydroxide}}"),
    "no-line": Rule("Place no liner", "{rdt: {above: 0.5 mm}}", "{liner: none}"),
    "seal": Rule("Varnish under amalgam", "{restoration: amalgam}", "{sealer: {agent: varnish}}"),
    "no-seal": Rule("Seal nothing else", "{restoration: {not: amalgam}}", "{sealer: none}"),
    "rosin": Rule("No rosin", "{restoration: amalgam, rosin: yes}", "{sealer: none}", "[seal]"),
}
CHANGED = {
    **RULES,
    "line": RULES["line"]._replace(when="[{rdt: {at_most: 0.5 mm}}, {rdt: {at_most: 1 mm}, restoration: amalgam}]"),
    "no-line": RULES["no-line"]._replace(
        when="[{rdt: {above: 1 mm}}, {rdt: {above: 0.5 mm}, restoration: {not: amalgam}}]"
    ),
    "rosin": RULES["rosin"]._replace(title="Adhesive where rosin harms", advise="{sealer: {agent: adhesive}}"),
}


def put(folder: Path, rules: dict[str, Rule], edition: str = "2026.1", **texts: str) -> Path:
    """A protocol folder. `texts` replace words of `protocol.yaml`."""
    (folder / "rules").mkdir(parents=True)
    protocol = PROTOCOL.replace("edition: 2026.1", f"edition: {edition}")
    for old, new in texts.items():
        protocol = protocol.replace(old, new)
    (folder / "protocol.yaml").write_text(protocol, encoding="utf-8")
    (folder / "materials.yaml").write_text(MATERIALS, encoding="utf-8")
    for name, rule in rules.items():
        (folder / "rules" / f"{name}.md").write_text(RULE.format(**rule._asdict()), encoding="utf-8")
    return folder


def between(old: Path, new: Path) -> Comparison:
    return compare(read_version(str(old), DAY).protocol, read_version(str(new), DAY).protocol, DAY)


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Two editions: a threshold moved under amalgam, and another sealer outside the usual case."""
    place = tmp_path_factory.mktemp("editions")
    return put(place / "old", RULES), put(place / "new", CHANGED, "2026.2")


@pytest.fixture(scope="module")
def pair(folders: tuple[Path, Path]) -> Comparison:
    return between(*folders)


@pytest.fixture(scope="module")
def demonstrated(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """The demonstration with a threshold moved, which leaves a gap and takes more bands than go across a page."""
    new = Path(shutil.copytree(demonstration, tmp_path_factory.mktemp("changed") / "tern-street"))
    for name, old, text in (
        ("protocol.yaml", "edition: 2026.2", "edition: 2026.3"),
        ("rules/line-a-deep-cavity.md", "at_most: 0.5 mm}", "at_most: 1 mm}"),
        ("rules/no-liner-in-a-middle-cavity.md", "above: 0.5 mm", "above: 1 mm"),
        ("rules/base-under-metal.md", "rdt: {at_most: 2 mm}", "rdt: {at_most: 1.5 mm}"),
    ):
        whole = (new / name).read_text(encoding="utf-8")
        assert old in whole
        (new / name).write_text(whole.replace(old, text), encoding="utf-8")
    return between(demonstration, new)


@pytest.fixture(scope="module")
def moved(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """The demonstration with one threshold moved, wherever it stands, and a new name for the edition."""
    new = Path(shutil.copytree(demonstration, tmp_path_factory.mktemp("moved") / "tern-street"))
    for path in (new / "protocol.yaml", *(new / "rules").glob("*.md")):
        text = path.read_text(encoding="utf-8").replace("edition: 2026.2\n", "edition: 2026.3\n")
        text = text.replace("rdt: {at_most: 0.5 mm}", "rdt: {at_most: 0.6 mm}")
        path.write_text(text.replace("rdt: {above: 0.5 mm", "rdt: {above: 0.6 mm"), encoding="utf-8")
    return between(demonstration, new)


@pytest.fixture(scope="module")
def small_sheet(pair: Comparison) -> bytes:
    return changes_sheet(pair, "old", "new")


@pytest.fixture(scope="module")
def large_sheet(demonstrated: Comparison) -> bytes:
    return changes_sheet(demonstrated, "main", "my-change", epoch=1)


# --- the chart --------------------------------------------------------------------------------------------------------


def cells_of(comparison: Comparison) -> list[tuple[Cell, bool]]:
    """Every cell of the whole chart, and whether any decision comes to something else in any of its cases."""
    chart, layout = changed_chart(comparison, whole=True), comparison.layout
    if chart is None:
        return []
    assert layout is not None
    axis = comparison.space.axes[layout.band_axis]
    both = [Outcomes(meaning) for meaning in (comparison.old, comparison.new)]
    decisions = {*comparison.old.protocol.decisions, *comparison.new.protocol.decisions}
    found = []
    for words, row in zip(chart.bands, chart.cells, strict=True):
        band = next(
            mask
            for low in range(axis.count)
            for high in range(low, axis.count)
            if ChartWords(comparison.new, layout=layout).band_words(mask := (2 << high) - (1 << low)) == words
        )
        for cell, column in zip(row, layout.columns, strict=True):
            differs = False
            for place in bits(band):
                box = cell_box(layout, 1 << place, 1 << column)
                said = [
                    {(name, o.said) for name in decisions for o, _ in one.within(name, box)}
                    if all(name in one.by_decision for name in decisions)
                    else None
                    for one in both
                ]
                differs = differs or said[0] != said[1]
            found.append((cell, differs))
    return found


@pytest.mark.parametrize("which", ["pair", "demonstrated", "moved"])
def test_a_cell_is_marked_if_and_only_if_the_usual_case_is_treated_differently(
    which: str, request: pytest.FixtureRequest
) -> None:
    cells = cells_of(request.getfixturevalue(which))
    assert [cell.id for cell, differs in cells if cell.changed is not differs] == []
    assert {cell.changed for cell, _ in cells} == {True, False}
    assert all(bool(cell.was) is cell.changed for cell, _ in cells)


def test_the_sheet_shows_the_cells_that_changed_and_those_beside_them(moved: Comparison) -> None:
    chart = changed_chart(moved)
    assert chart is not None
    assert chart.bands == ("up to 0.5 mm", "over 0.5 up to 0.6 mm", "over 0.6 up to 2 mm")
    assert [any(cell.changed for cell in row) for row in chart.cells] == [False, True, False]
    assert chart.changed_since == "2026.2"


def test_a_layer_that_only_comes_later_is_not_said_to_have_been_another(moved: Comparison) -> None:
    chart = changed_chart(moved)
    assert chart is not None
    amalgam = chart.cells[1][chart.columns.index("Amalgam")]
    assert [step.number for step in amalgam.steps] == [1, 2, 3]
    assert set(amalgam.was) < set(amalgam.steps)


def test_all_of_random_protocols_is_worded(tmp_path: Path) -> None:
    marks = Counter[bool]()
    for seed in range(0, 24, 4):
        folders = [write_folder(random_protocol(seed + n), tmp_path / str(seed + n)) for n in range(2)]
        comparison = between(*folders)
        chart = changed_chart(comparison)
        marks += Counter(cell.changed for row in (chart.cells if chart else ()) for cell in row)
        assert Tree(sheet_html(sheet_view(comparison, "a", "b", None))).odd == []
        card_changes(comparison, ChartWords(comparison.new))
        assert between(folders[0], folders[0]).is_alike
    assert set(marks) == {True, False}


def test_changes_outside_the_chart_are_exceptions(pair: Comparison, moved: Comparison) -> None:
    assert [row.decision for row in changes_page(pair).rows if row.is_exception] == ["Cavity sealer"]
    rows = changes_page(moved).rows
    assert [row.is_exception for row in rows] == [False, False, True]
    assert rows[2].where[0].further[0].text == "Reversible pulpitis"


@pytest.mark.parametrize("which", ["pair", "demonstrated"])
def test_the_picture_is_sound_and_its_text_lists_every_change(which: str, request: pytest.FixtureRequest) -> None:
    comparison = request.getfixturevalue(which)
    drawing = changes_picture(comparison)
    assert drawing is not None
    root = ET.fromstring(drawing)
    space = "{http://www.w3.org/2000/svg}"
    told = root.findtext(f"{space}desc") or ""
    rows = changes_page(comparison).rows
    assert rows
    for row in rows:
        assert f"{row.number}, {row.decision}: {row.before} → {row.after}." in told
        assert all(case in told for case in row.cases)
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(set(ids)) == len(ids)
    assert [element.tag for element in root.iter() if element.tag.endswith("}script")] == []
    words = "".join(root.itertext())
    chart = changed_chart(comparison, whole=True)
    assert chart is not None
    assert words.count("Changed") == sum(cell.changed for row in grid(chart).rows for cell in row.cells)
    assert drawing == changes_picture(comparison)


def test_a_protocol_without_a_chart_has_no_picture_but_a_sheet(tmp_path: Path) -> None:
    new = Path(shutil.copytree(SMALLEST, tmp_path / "new"))
    rule = next((new / "rules").glob("*.md"))
    rule.write_text(
        rule.read_text("utf-8").replace("{liner: none}", "{liner: {agent: calcium-hydroxide}}"), encoding="utf-8"
    )
    comparison = between(SMALLEST, new)
    assert changes_picture(comparison) is None
    printed = squeeze("".join(page_texts(changes_sheet(comparison, "", ""))))
    assert squeeze("No liner") in printed
    assert squeeze("Calcium hydroxide") in printed
    assert squeeze("The chart now") not in printed


def test_a_band_that_only_one_version_covers_is_drawn_without_a_hole(tmp_path: Path) -> None:
    old = put(tmp_path / "old", RULES)
    new = put(tmp_path / "new", RULES, "2026.2")
    with (new / "protocol.yaml").open("a", encoding="utf-8") as stream:
        stream.write("excluded: [{when: {rdt: [{below: 0.2 mm}, {above: 3 mm}]}, because: Not here.}]\n")
    chart = changed_chart(between(old, new), whole=True)
    assert chart is not None
    assert chart.bands == (
        "under 0.2 mm", "0.2 to 0.5 mm", "over 0.5 up to 3 mm", "over 3 mm",
    )  # fmt: skip
    assert [row[0].changed for row in chart.cells] == [True, False, False, True]


# --- the sheet --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", ["small_sheet", "large_sheet"])
@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_the_sheet_conforms(which: str, profile: str, request: pytest.FixtureRequest) -> None:
    assert problems_of(request.getfixturevalue(which), profile) == []


@pytest.mark.parametrize(("which", "of"), [("small_sheet", "pair"), ("large_sheet", "demonstrated")])
def test_every_change_is_on_the_sheet_once(which: str, of: str, request: pytest.FixtureRequest) -> None:
    comparison = request.getfixturevalue(of)
    printed = squeeze("".join(page_texts(request.getfixturevalue(which))))
    page = sheet_view(comparison, "", "", None).page
    assert len(page.rows) == len(comparison.differences)
    for row in page.rows:
        for text in (row.decision, row.before, row.after, *row.rules_before, *row.rules_after, *row.effects, row.share):
            assert squeeze(text) in printed, text
        for case in row.where:
            facts = (*case.main, *case.further)
            assert squeeze("; ".join(f"{fact.label}: {fact.text}" for fact in facts)) in printed, facts
    for group in (*page.faults, *page.notes):
        assert all(squeeze(line) in printed for line in group.lines)
    assert printed.count("Part:") == len(page.rows)
    for text in ("Discussed on", "Signature", comparison.new_protocol.authors[0].name, *page.summary, page.edition):
        assert squeeze(text) in printed


def test_one_threshold_moved_makes_two_pages_in_which_nothing_is_said_twice(moved: Comparison) -> None:
    pages = page_texts(changes_sheet(moved, "main", "threshold"))
    assert len(pages) == 2
    first, second = pages
    order = ["Thechanges", "Exceptionsthatchange", "Whatitmeansforthecards"]
    assert sorted(order, key=first.index) == order
    assert sorted(["Thechartnow", "Themeeting"], key=second.index) == ["Thechartnow", "Themeeting"]
    for row in changes_page(moved).rows:
        assert (first + second).count(squeeze(f"({row.rules_after[0].rsplit('(', 1)[1]}")) == 1
    assert squeeze("Old cards come down in: Surgery 1 (2026.2);") in first
    assert squeeze("when changed") not in first.split("Acceptedwarnings")[0]
    assert second.count("was:–") >= 4


def test_what_must_be_mended_stands_first(large_sheet: bytes, small_sheet: bytes, demonstrated: Comparison) -> None:
    first = page_texts(large_sheet)[0]
    unsettled = changes_page(demonstrated).unsettled
    assert unsettled
    assert squeeze("Not to be used before this is mended") in first
    assert first.index(squeeze("New gaps")) < first.index(squeeze("Cases are treated differently"))
    assert squeeze("Not to be used before") not in page_texts(small_sheet)[0]


def test_the_sheet_needs_no_colour(small_sheet: bytes, pair: Comparison) -> None:
    assert {name.split("-")[0] for name in font_names(small_sheet)} <= {"Source", "SourceSansPro"}
    chart = changed_chart(pair)
    assert chart is not None
    assert chart.columns == ("Amalgam",)
    assert "".join(page_texts(small_sheet)).count("Changed") == 1
    assert weakest_contrast(small_sheet, 0)[0] >= 7


def test_the_sheet_is_the_same_each_time_and_bears_no_clock(
    pair: Comparison, small_sheet: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    assert changes_sheet(pair, "old", "new") == small_sheet
    with pikepdf.open(io.BytesIO(small_sheet)) as document:
        assert str(document.docinfo["/CreationDate"]).startswith("D:20260901000000")
    undated = replace(pair.new_protocol, in_force_from=None)
    with pikepdf.open(io.BytesIO(changes_sheet(replace(pair, new_protocol=undated), "", ""))) as document:
        assert str(document.docinfo["/CreationDate"]).startswith("D:19700101000000")


def test_past_cases_are_on_the_sheet(pair: Comparison) -> None:
    rows = [
        ["rdt", "restoration", "rosin"],
        ["0.75 mm", "amalgam", "no"],
        ["3 mm", "composite", "no"],
        ["x", "y", "no"],
    ]
    tally = PastCases()
    assert len(list(past_cases(pair, rows, tally))) == 3
    view = sheet_view(pair, "old", "new", tally)
    printed = Tree(sheet_html(view))
    shown = squeeze("".join(text for tag, text in printed.texts if tag != "style"))
    assert view.page.past
    for text in view.page.past:
        assert squeeze(text) in shown
    assert "1of2cases" in shown
    assert squeeze("not of patients") not in shown


@pytest.mark.parametrize("attack", ATTACKS)
def test_hostile_texts_bring_nothing_into_sheet_protocol_or_page(attack: str, pair: Comparison) -> None:
    sheet, changes = sheet_view(pair, "old", "new", None), changes_page(pair)

    def with_texts(text: str) -> dict[str, str]:
        view = replace(sample.protocol_view(), changes=hostile(changes, text))
        bad = replace(hostile(sheet, text), particulars=tuple((a, b + text, c + text) for a, b, c in sheet.particulars))
        return {
            "sheet": sheet_html(bad),
            "protocol": protocol_html(view),
            "page": page_html(view, "{}"),
        }

    # As wide, so that it is laid out alike: what is drawn turns on the width of words.
    plain = with_texts(attack.translate(str.maketrans("<>\"'{}", "++“’()")))
    attacked = with_texts(attack)
    for name, text in attacked.items():
        tree = Tree(text)
        assert tree.odd == [], name
        before = Counter(tag for tag, _, _ in Tree(plain[name]).elements)
        after = Counter(tag for tag, _, _ in tree.elements)
        # The drawings wrap their words, so that only their lines may differ.
        assert {t: n for t, n in before.items() if t not in ("text", "path", "span")} == {
            t: n for t, n in after.items() if t not in ("text", "path", "span")
        }, name
        if name != "sheet":
            assert all(set(attributes) <= ALLOWED[tag] for tag, attributes, _ in tree.elements)
        assert not [a for _, attributes, _ in tree.elements for a in attributes if a.startswith("on")]


def test_a_letter_that_the_font_lacks_stops_the_sheet(folders: tuple[Path, Path], tmp_path: Path) -> None:
    new = put(tmp_path / "new", {**CHANGED, "rosin": CHANGED["rosin"]._replace(title="No rosin ✗")}, "2026.2")
    with pytest.raises(MissingGlyph, match="BALLOT X"):
        changes_sheet(between(folders[0], new), "old", "new")


def test_nothing_differs_and_the_sheet_says_so(folders: tuple[Path, Path]) -> None:
    comparison = between(folders[0], folders[0])
    assert comparison.is_alike
    shown = "".join(text for _, text in Tree(sheet_html(sheet_view(comparison, "a", "b", None))).texts)
    assert "No case is treated differently" in shown


# --- the card's line --------------------------------------------------------------------------------------------------


def on_card(comparison: Comparison, subject: str = "") -> tuple[str, ...]:
    return card_changes(comparison, ChartWords(comparison.new), subject)


def test_a_card_says_where_to_look_anew_and_where_all_of_it_stands(pair: Comparison) -> None:
    assert on_card(pair) == (
        "Since edition 2026.1 there is other advice on: Liner (Amalgam, more than 0.5 mm, at most 1 mm); "
        "Cavity sealer (Amalgam, Rosin allergy: yes).",
        "In full: the protocol, “What has changed since edition 2026.1”.",
    )
    assert on_card(pair, "Amalgam")[0].endswith(
        "Liner (more than 0.5 mm, at most 1 mm); Cavity sealer (Rosin allergy: yes)."
    )
    assert on_card(pair, "Composite") == ()


def test_a_card_that_cannot_name_all_says_how_many_more_there_are(demonstrated: Comparison) -> None:
    said = on_card(demonstrated)
    total = len(demonstrated.differences)
    found = re.search(r"and (\d+) more\.$", said[0])
    assert found is not None
    assert said[0].count("; ") + int(found[1]) == total
    assert len(said[0]) < 280


def test_a_card_says_nothing_of_wording_and_all_of_readings(tmp_path: Path) -> None:
    reading = "at_most: 6 mm, reading: {method: film, scale: 0.7, uncertainty: 0.4 mm, guard_band: 1, cautious: below}}"
    texts = {"at_most: 6 mm}": reading}
    old = put(tmp_path / "old", RULES, **texts)
    words = put(tmp_path / "words", {**RULES, "seal": RULES["seal"]._replace(title="Other words")}, "2026.2", **texts)
    scale = put(tmp_path / "scale", RULES, "2026.2", **{"at_most: 6 mm}": reading.replace("0.7", "0.8")})
    assert not between(old, words).is_alike
    assert on_card(between(old, words)) == ()
    assert on_card(between(old, scale))[0] == "Since edition 2026.1, readings are corrected differently."


def test_a_card_without_room_says_in_a_sentence_that_something_has_changed() -> None:
    long = tuple(f"Sentence {number} of a list that is far too long for the back of a card." for number in range(60))
    brief = "Advice has changed since edition 2026.1: see the protocol."
    printed = page_texts(card_pdf(sample.card_view(changes=long, changes_brief=brief), 1))[1]
    assert squeeze(brief) in printed
    assert squeeze(long[0]) not in printed


HELD = {
    "decisions:\n": "decisions:\n  plan: {label: Plan, answers: {restore: Restore it, refer: Stop and ask}}\n",
    "layer: liner}": "layer: liner, needed_when: {plan: restore}}",
    "layer: sealer}": "layer: sealer, needed_when: {plan: restore}}",
    "clinical advice.]": "clinical advice., Ask first.]\nstop_questions: [Is it exposed?]",
}
HELD_RULES = {
    **RULES,
    "plan": Rule("Restore", "{rosin: no}", "{plan: restore}"),
    "ask": Rule("Stop where rosin harms", "{rosin: yes}", "{plan: refer}"),
}


@pytest.mark.parametrize(
    ("words", "line", "is_lost"),
    [
        ({"\nstop_questions: [Is it exposed?]": ""}, "stop questions: no longer Is it exposed?", True),
        ({", Ask first.]": "]"}, "cautions: no longer Ask first.", True),
        ({"Stop and ask": "Go on and tell"}, "decision plan: refer: Stop and ask → Go on and tell", True),
        ({"Restore it": "Restore the tooth"}, "decision plan: restore: Restore it → Restore the tooth", False),
        ({"Cavity sealer": "Sealer"}, "decision sealer: label: Cavity sealer → Sealer", False),
    ],
)
def test_what_a_person_must_look_at_stands_open_in_the_frame_and_on_the_card(
    words: dict[str, str], line: str, is_lost: bool, tmp_path: Path
) -> None:
    texts = dict(HELD)
    old = put(tmp_path / "old", HELD_RULES, **HELD)
    for before, after in words.items():
        texts = {key: text.replace(before, after) for key, text in texts.items()} | {before: after}
    new = put(tmp_path / "new", HELD_RULES, "2026.2", **texts)
    comparison = between(old, new)
    assert comparison.no_case_changed
    heading = "Lost safety: look at this first" if is_lost else "What is asked or shown: a person must look"
    page = changes_page(comparison)
    assert [(group.heading, group.lines) for group in page.first] == [(heading, (line,))]
    assert not any(line in group.lines for group in page.notes)
    assert squeeze(line) in page_texts(changes_sheet(comparison, "old", "new"))[0]
    comment = changes_markdown(changes_view(comparison, "old", "new"))
    assert f"> **{heading}**\n>\n> - " in comment
    assert "look" not in comment.partition("<details>")[2]
    assert on_card(comparison)[0] == f"Since edition 2026.1 other things are asked or shown: {line}"


def test_how_a_value_is_read_stands_open_too(tmp_path: Path) -> None:
    reading = "at_most: 6 mm, reading: {method: film, scale: 0.7, uncertainty: 0.4 mm, guard_band: 1, cautious: below}}"
    old = put(tmp_path / "old", RULES, **{"at_most: 6 mm}": reading})
    comparison = between(old, put(tmp_path / "new", RULES, "2026.2"))
    [group] = changes_page(comparison).first
    assert group.heading == "How values are read off"
    assert "factor rdt: scale: no longer 0.7" in group.lines
    comment = changes_markdown(changes_view(comparison, "old", "new"))
    assert comment.index("> - factor rdt: scale: no longer") < comment.index("<details>")


APPROVED = "Approval and first day are those of the earlier version, edition 2026.1, though it has changed since"


@pytest.mark.parametrize(
    ("edition", "rules", "texts", "heading"),
    [
        ("2026.2", CHANGED, {}, APPROVED),
        ("2026.1", CHANGED, {}, APPROVED),
        ("2026.2", RULES, {"[Not clinical advice.]": "[Ask first.]"}, APPROVED),
        (
            "2026.2",
            CHANGED,
            {"in_force_from: 2026-09-01": "in_force_from: 2026-10-01"},
            "Approved only as the earlier version, edition 2026.1, though it has changed since",
        ),
        ("2026.2", CHANGED, {"on: 2026-08-20": "on: 2026-08-30"}, ""),
        ("2026.2", CHANGED, {"status: in-force": "status: draft"}, ""),
        ("2026.2", RULES, {"title: Liners": "title: All liners"}, ""),
    ],
)
def test_an_approval_that_is_older_than_the_change_is_told(
    edition: str,
    rules: dict[str, Rule],
    texts: dict[str, str],
    heading: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    in_force = {"status: draft": "status: in-force"}
    old = put(tmp_path / "old", RULES, **in_force)
    new = put(tmp_path / "new", rules, edition, **in_force, **texts)
    lines = {group.heading: group.lines for group in changes_page(between(old, new)).first}
    approvals = [words for words in lines if "earlier version" in words]
    assert approvals == ([heading] if heading else [])
    if heading:
        assert lines[heading][0] == "L. Ead, clinical lead, 20 August 2026"
        assert lines[heading][1:] == (("In force from: 1 September 2026",) if heading == APPROVED else ())
    options = ("--since", str(old), "--only", "bundle", "--on", DAY.isoformat(), "--out", str(tmp_path / "out"))
    assert main(["build", str(new), *options]) == 0
    err = capsys.readouterr().err
    assert (f"{heading}: L. Ead" in err) if heading else ("earlier version" not in err)


# --- build --since ----------------------------------------------------------------------------------------------------


class Done(NamedTuple):
    code: int
    out: str
    err: str


Build = Callable[..., Done]


@pytest.fixture
def build(folders: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> Build:
    def call(out: Path, *options: str, folder: Path = folders[1]) -> Done:
        code = main(["build", str(folder), "--out", str(out), "--on", DAY.isoformat(), *options])
        return Done(code, *capsys.readouterr())

    return call


def contents(place: Path) -> dict[str, bytes]:
    return {path.relative_to(place).as_posix(): path.read_bytes() for path in place.rglob("*") if path.is_file()}


def outline(pdf: bytes) -> list[str]:
    with pikepdf.open(io.BytesIO(pdf)) as document, document.open_outline() as found:
        return [item.title for item in found.root]


def test_changes_are_said_in_protocol_card_and_page_and_not_in_the_bundle(
    build: Build, folders: tuple[Path, Path], tmp_path: Path, pair: Comparison
) -> None:
    plain, since, again = tmp_path / "plain", tmp_path / "since", tmp_path / "again"
    assert build(plain).code == 0
    assert build(since, "--since", str(folders[0])).code == 0
    before, after = contents(plain), contents(since)
    assert before["bundle.json"] == after["bundle.json"]
    heading = "What has changed since edition 2026.1"

    pages = page_texts(after["protocol.pdf"])
    assert heading in outline(after["protocol.pdf"])
    assert heading not in outline(before["protocol.pdf"])
    assert squeeze(heading) in pages[1]
    shown = "".join(pages)
    for row in changes_page(pair).rows:
        assert all(squeeze(text) in shown for text in (row.before, row.after, *row.rules_after, row.example))
    assert {problem for profile in ("3a", "ua1") for problem in problems_of(after["protocol.pdf"], profile)} == set()
    assert any(text.startswith("Cross-section") for text in figure_texts(after["protocol.pdf"]))

    page = Tree(after["site/index.html"].decode())
    assert {"href": "#changes"} in page.all("a")
    assert [a["id"] for a in page.all("h2") if a.get("id") == "changes"] == ["changes"]
    assert '<a href="#changes">' not in before["site/index.html"].decode()
    words = squeeze("".join(text for tag, text in page.texts if tag not in ("style", "script")))
    for row in changes_page(pair).rows:
        assert squeeze(row.after) in words

    back = page_texts(after["card.pdf"])[1]
    assert squeeze("".join(on_card(pair))) in back
    assert squeeze("New in this edition") not in page_texts(before["card.pdf"])[1]

    assert build(again, "--since", str(folders[0])).code == 0
    assert contents(again) == after
    assert not [name for name, content in after.items() if str(folders[0]).encode() in content]


def test_the_version_is_part_of_what_a_build_is_made_from(
    build: Build, folders: tuple[Path, Path], tmp_path: Path
) -> None:
    out = tmp_path / "out"
    options = ("--only", "protocol,site,bundle")
    build(out, *options)
    made = build(out, *options, "--since", str(folders[0])).err
    assert "made protocol.pdf" in made
    assert "made site/index.html" in made
    assert "unchanged bundle.json" in made
    assert "made" not in build(out, *options, "--since", str(folders[0])).err
    bundle = tmp_path / "old.json"
    build(tmp_path / "o", "--only", "bundle", folder=folders[0])
    bundle.write_bytes((tmp_path / "o" / "bundle.json").read_bytes())
    assert "unchanged protocol.pdf" in build(out, *options, "--since", str(bundle)).err


def test_a_version_that_is_the_same_adds_nothing_and_that_is_said(
    build: Build, folders: tuple[Path, Path], tmp_path: Path
) -> None:
    build(tmp_path / "plain", "--only", "bundle,site")
    done = build(tmp_path / "since", "--only", "bundle,site", "--since", str(folders[1]))
    assert f"nothing differs from {folders[1]}, so nothing is added about changes" in done.err
    assert contents(tmp_path / "plain") == contents(tmp_path / "since")


def test_other_words_are_listed_and_said_to_change_no_case(build: Build, tmp_path: Path) -> None:
    old = put(tmp_path / "old", {**CHANGED, "seal": CHANGED["seal"]._replace(title="Other words")}, "2026.2")
    done = build(tmp_path / "out", "--only", "site", "--since", str(old))
    assert f"no case is treated differently from {old}" in done.err
    assert "both are called edition 2026.2" in done.err
    page = (tmp_path / "out" / "site" / "index.html").read_text("utf-8")
    assert "Other words → Varnish under amalgam" in re.sub("<[^>]*>", "", page)


@pytest.mark.parametrize(
    ("what", "code", "says"),
    [
        ("missing", 2, "missing"),
        ("empty", 2, "protocol.yaml"),
        ("broken", 1, "cannot be read"),
        ("not a bundle", 2, "not a rule bundle"),
    ],
)
def test_a_version_that_cannot_be_read_stops_the_build_before_anything_is_written(
    what: str, code: int, says: str, build: Build, tmp_path: Path, folders: tuple[Path, Path]
) -> None:
    old = tmp_path / what
    if what == "empty":
        old.mkdir()
    elif what == "broken":
        shutil.copytree(folders[0], old)
        (old / "rules" / "line.md").write_text("---\ntitle: x\nwhen: {rdt: {below: 0.5}}\n---\n", encoding="utf-8")
    elif what == "not a bundle":
        old.write_text("{}", encoding="utf-8")
    done = build(tmp_path / "out", "--only", "site", "--since", str(old))
    assert done.code == code
    assert says in done.err
    assert "Traceback" not in done.err
    assert not (tmp_path / "out").exists()


def test_a_revision_of_git_is_a_version(build: Build, folders: tuple[Path, Path], tmp_path: Path) -> None:
    work = Path(shutil.copytree(folders[0], tmp_path / "work"))

    def git(*arguments: str) -> None:
        who = ("-c", "user.name=A", "-c", "user.email=a@example.org", "-c", "commit.gpgsign=false")
        subprocess.run(["git", *who, *arguments], cwd=work, check=True, capture_output=True)

    git("init", "-q")
    git("add", ".")
    git("commit", "-qm", "Edition 2026.1")
    git("tag", "edition-2026.1")
    shutil.rmtree(work / "rules")
    shutil.copytree(folders[1] / "rules", work / "rules")
    shutil.copy(folders[1] / "protocol.yaml", work / "protocol.yaml")
    only = ("--only", "site")
    done = build(tmp_path / "a", *only, "--since", "edition-2026.1", "--repo", str(work), folder=work)
    assert done.code == 0, done.err
    build(tmp_path / "b", *only, "--since", str(folders[0]))
    assert contents(tmp_path / "a") == contents(tmp_path / "b")
    assert build(tmp_path / "c", *only, "--since", "edition-2025.1", "--repo", str(work), folder=work).code == 2
    assert build(tmp_path / "c", *only, "--repo", str(work)).code == 2
    assert not (tmp_path / "c").exists()


def test_compare_writes_sheet_and_picture(
    folders: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheets, "changes_sheet", lambda *given: json.dumps([str(item) for item in given[1:3]]).encode())
    places: dict[str, Any] = {"--sheet": tmp_path / "s.pdf", "--chart": tmp_path / "c.svg"}
    options = [text for name, place in places.items() for text in (name, str(place))]
    assert main(["compare", *map(str, folders), "--on", DAY.isoformat(), *options]) == 0
    assert capsys.readouterr().out
    assert places["--sheet"].read_bytes() == json.dumps([str(folder) for folder in folders]).encode()
    assert places["--chart"].read_text("utf-8").startswith("<svg")
