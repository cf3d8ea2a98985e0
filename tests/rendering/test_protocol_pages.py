"""The pages of the printed protocol as they are laid out: how many, in which order, and nothing left alone on one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.show.figures.protocol_figures import protocol_figures
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper import paper_html, typeset
from liningbook.show.paper.pdf import protocol_pdf
from liningbook.show.paper.typeset import typesetter
from liningbook.show.viewer import Viewer
from liningbook.show.views.pieces import Stopper, StopsRow, StopsTable
from liningbook.show.views.view import ProtocolView
from tests.bench.protocols import DAY
from tests.rendering import sample_view as sample
from tests.rendering.lengths import boxes, faults
from tests.rendering.measure import squeeze

pytestmark = pytest.mark.usefixtures("pango")

HEADINGS = {"h1", "h2", "h3", "h4", "h5", "h6"}


class Pages:
    """A protocol laid out: its view and the typesetter's document."""

    def __init__(self, folder: Path) -> None:
        viewer = Viewer(analyse(folder, DAY), sample.DIGEST, to_html)
        self.view: ProtocolView = viewer.protocol_view()
        documents: list[Any] = []
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(typeset.Typesetter, "write", lambda _, document, **__: documents.append(document) or b"")
            protocol_pdf(self.view, b"{}", 1, protocol_figures(viewer.meaning, viewer.charts))
        self.pages = documents[0].pages

    def lines(self) -> Iterator[tuple[int, Any, Any]]:
        """Each line of text of the pages' own flow, from the top: page, the element of its block, the line."""
        for number, page in enumerate(self.pages, 1):
            found = []
            for block, line in _lines(page._page_box, None):
                found.append((number, block.element, line))
            yield from sorted(found, key=lambda one: one[2].position_y)

    def text(self) -> str:
        """All that is printed, heads and feet too, without blanks."""
        texts = (box.text for page in self.pages for box in page._page_box.descendants() if hasattr(box, "text"))
        return squeeze("".join(texts))


def _lines(box: Any, block: Any) -> Iterator[tuple[Any, Any]]:
    kind = type(box).__name__
    if kind == "MarginBox" or box.style["position"] in ("absolute", "fixed"):
        return
    if kind == "LineBox":
        yield block, box
    elif hasattr(box, "children"):
        for child in box.children:
            yield from _lines(child, box)


@pytest.fixture(scope="module")
def demonstration_pages(demonstration: Path) -> Pages:
    return Pages(demonstration)


TWO_RULES = {
    "protocol.yaml": """
title: Two rules
practice: Example Practice
edition: 2026.1
status: in-force
in_force_from: 2026-01-01
review_by: 2035-01-01
authors: [{name: A. Marsh, role: dentist, interests: none declared}]
approved: [{name: B. Reed, role: clinical lead, on: 2025-12-20}]
contact: A. Marsh, extension 12
scope: Invented example.
cautions: [Invented for a test. Not clinical advice.]
stop_questions: [{ask: Is the pulp exposed?, screens: {exposed: yes}}]
evidence_scheme: grade
factors:
  rdt: {label: Remaining dentine thickness, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
  exposed: {label: Pulp exposed, kind: yes-no}
decisions:
  liner: {label: Liner, layer: liner}
excluded:
  - {when: {exposed: yes}, because: An open pulp is no case for a liner., instead: Assess the pulp first.}
""",
    "materials.yaml": "agents:\n  calcium-hydroxide: {label: Hard-setting calcium hydroxide, class: liner}\n",
    "references.json": """[{"id": "marlow2019", "type": "article-journal", "title": "Liners: an invented cohort",
  "author": [{"family": "Marlow", "given": "G"}], "issued": {"date-parts": [[2019]]},
  "container-title": "Invented Journal", "DOI": "10.5555/marlow2019"}]""",
    "rules/line.md": """---
title: Line a deep cavity
when: {rdt: {at_most: 0.5 mm}}
advise: {liner: {agent: calcium-hydroxide}}
evidence: {certainty: low, strength: conditional, design: observational, cites: [marlow2019]}
review_by: 2028-06-01
---
A thin layer of dentine lets through what is placed on it.
""",
    "rules/none.md": """---
title: No liner over thick dentine
when: {rdt: {above: 0.5 mm}}
advise: {liner: none}
evidence: {basis: good-practice, note: Nothing is gained by a layer that nothing asks for.}
---
Dentine of this thickness protects the pulp by itself.
""",
}


@pytest.fixture(scope="module")
def two_rules(tmp_path_factory: pytest.TempPathFactory) -> Pages:
    folder = tmp_path_factory.mktemp("two-rules")
    (folder / "rules").mkdir()
    for name, text in TWO_RULES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return Pages(folder)


@pytest.fixture(params=["demonstration_pages", "two_rules"])
def laid_out(request: pytest.FixtureRequest) -> Pages:
    """Each of the two."""
    found: Pages = request.getfixturevalue(request.param)
    return found


def test_the_demonstration_takes_22_pages_at_most(demonstration_pages: Pages) -> None:
    assert sum(len(group.rules) for group in demonstration_pages.view.rule_groups) == 30
    assert demonstration_pages.view.making is not None
    assert len(demonstration_pages.view.tables) == 4
    assert len(demonstration_pages.pages) <= 22  # two of them say how it was made, three what the studies show


def test_two_rules_take_two_pages(two_rules: Pages) -> None:
    assert two_rules.view.chart is not None
    assert two_rules.view.grounds
    assert len(two_rules.pages) <= 2


def test_the_parts_stand_in_the_order_of_reading(laid_out: Pages) -> None:
    places = {name: (n, at[1]) for n, page in enumerate(laid_out.pages, 1) for name, at in page.anchors.items()}
    few = len(laid_out.pages) < 3  # the picture then shares a column with what follows the rules
    order = [
        "cautions",
        "ask",
        "exceptions",
        "chart-section",
        *(["rules", "pictures"] if few else ["pictures", "rules"]),
    ]
    order += ["pairings", "exclusions", "protection", "accepted", "factors", "references", "readings", "judgements"]
    order += ["about", "sign-off"]
    found = [name for name in order if name in places]
    assert sorted(found, key=lambda name: places[name][: 1 if few else 2]) == found
    assert {"cautions", "ask", "chart-section", "rules", "about", "sign-off"} <= set(found)
    assert places["cautions"][0] == 1
    assert places["chart-section"][0] <= 3
    listed = [element for _, element, _ in laid_out.lines() if element.tag == "li"]
    cautions = [e for e in listed if squeeze("".join(e.itertext())) == squeeze(laid_out.view.identity.cautions[0])]
    standing = [e for e in listed if squeeze("".join(e.itertext())) == squeeze(laid_out.view.identity.cautions[-1])]
    assert listed.index(cautions[0]) < listed.index(standing[0])


def test_a_rule_has_one_line_of_what_it_rests_on(laid_out: Pages) -> None:
    count = Counter(id(element) for _, element, _ in laid_out.lines() if element.get("class") == "rests-on")
    assert len(count) == sum(len(group.rules) for group in laid_out.view.rule_groups)
    assert set(count.values()) == {1}


def test_no_heading_or_label_ends_a_page_and_no_line_is_alone_at_its_top_or_foot(laid_out: Pages) -> None:
    lines = list(laid_out.lines())
    by_block = Counter(id(element) for _, element, _ in lines)
    split = Counter((id(element), page) for page, element, _ in lines)
    for number in range(1, len(laid_out.pages) + 1):
        own = [(element, line) for page, element, line in lines if page == number]
        first, last = own[0][0], own[-1][0]
        assert last.tag not in HEADINGS, number
        assert last.get("class") not in ("lead", "or", "way-head"), number
        for element in (one for one in (first, last) if one.tag != "th"):  # the head of a table is said again
            if by_block[id(element)] > split[id(element), number]:
                assert split[id(element), number] >= 2, (number, element.tag)


def test_a_rule_is_on_one_page(laid_out: Pages) -> None:
    pages: dict[str, set[int]] = {}
    for number, page in enumerate(laid_out.pages, 1):
        for box in page._page_box.descendants():
            if getattr(box, "element", None) is not None and box.element.tag == "article":
                pages.setdefault(box.element.get("id"), set()).add(number)
    assert pages
    assert {name: found for name, found in pages.items() if len(found) > 1} == {}


def test_the_digest_stands_once_and_the_mark_on_every_page(laid_out: Pages) -> None:
    assert laid_out.text().count(sample.DIGEST) == 1
    for page in laid_out.pages:
        feet = [box for box in page._page_box.children if type(box).__name__ == "MarginBox"]
        said = squeeze("".join(box.text for foot in feet for box in foot.descendants() if hasattr(box, "text")))
        assert f"mark{sample.DIGEST[:8]}" in said


def test_what_stops_what_is_told_for_every_cell_of_the_chart_once(demonstration_pages: Pages) -> None:
    view = demonstration_pages.view
    assert view.stops is not None
    told = Counter(name for row in view.stops.rows for name in view.chart.columns if name in row.choices)  # type: ignore[union-attr]
    assert set(told) == set(view.chart.columns)  # type: ignore[union-attr]
    thick = next(row for row in view.stops.rows if row.choices == "Amalgam" and row.band.endswith("2 mm")
                 and not row.band.endswith("up to 2 mm"))  # fmt: skip
    cells = dict(zip(view.stops.irritants, thick.cells, strict=True))
    assert cells["Heat"] == Stopper("dentine", "dentine")
    assert cells["Corrosion"] == Stopper("layer", "Cavity sealer")
    assert cells["Bacteria at the margin"] == Stopper("open", "nothing stops it")
    assert cells["Cement acid"].state == "absent"


def test_an_accepted_warning_says_its_cases_by_whom_and_until_when(demonstration_pages: Pages) -> None:
    entry = demonstration_pages.view.accepted[0]
    assert (entry.label, entry.by, entry.until) == (
        "unprotected: Bacteria at the margin",
        "B. Reed",
        "1 September 2028",
    )
    assert len(entry.cases) == 3
    shown = demonstration_pages.text()
    for text in (*entry.cases, entry.reason):
        assert squeeze(text) in shown


@pytest.mark.parametrize("brief", [False, True])
def test_tables_of_many_columns_break_no_word_and_no_date_and_stay_on_the_page(
    brief: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the rest stands in two columns or in one: 13 irritants, and a warning accepted until a long date."""
    irritants = tuple(f"Irritant {number} of the demonstration" for number in range(13))
    cells = tuple(Stopper("layer", "Resin-modified glass-ionomer") for _ in irritants)
    stops = StopsTable(irritants, (StopsRow("Amalgam and Composite", "over 0.5 up to 2 mm", cells),) * 3)
    accepted = replace(sample.ACCEPTED, label="contraindication-conflict: Methacrylate", until="30 September 2028")
    view = sample.protocol_view(
        stops=stops, accepted=(accepted,), chart=None, exceptions=(), rule_groups=(), references=(), grounds=()
    )
    monkeypatch.setattr(paper_html, "_FEW", 8 if brief else -1)
    text = paper_html.protocol_html(view)
    with typesetter(1) as setter:
        document = setter.lay_out(text)
    assert list(faults(document, text)) == []
    shown = [item.text for page in document.pages for item, _, _ in boxes(page._page_box) if hasattr(item, "text")]
    assert "30\xa0September\xa02028" in shown
    assert sum(words == "demonstration" or words.endswith(" demonstration") for words in shown) >= len(irritants)
    assert text.count('<table class="listing stoppers">') > 1


def test_where_exceptions_are_longer_than_a_page_the_page_of_the_chart_is_told_with_them() -> None:
    exceptions = sample.exceptions()
    view = sample.protocol_view(exceptions=exceptions * 12, accepted=(), stops=None, readings=(), pairings=())
    with typesetter(1) as setter:
        document = setter.lay_out(paper_html.protocol_html(view))
    at = {name: number for number, page in enumerate(document.pages, 1) for name in page.anchors}
    assert at["chart-section"] > at["exceptions"] + 1
    page = document.pages[at["exceptions"] - 1]
    shown = "".join(item.text for item in page._page_box.descendants() if hasattr(item, "text"))
    assert squeeze(f"The decision chart: page {at['chart-section']}.") in squeeze(shown)
