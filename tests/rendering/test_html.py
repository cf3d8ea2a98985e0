"""The HTML of page, protocol and card: what is in it, and that nothing else gets in."""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import json
import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest

from liningbook.show.assets.fonts import MissingGlyph
from liningbook.show.markup.columns import Sizes, _Table, widths
from liningbook.show.markup.grid import Grid, grid
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper.card_sheet import CardStyle
from liningbook.show.paper.paper_html import card_html, protocol_html
from liningbook.show.views.pieces import StopsTable
from liningbook.show.views.view import Cell, Chart, Labelled, ProtocolView, Step
from liningbook.show.views.view_texts import view_texts
from liningbook.show.web.page_html import json_for_script, page_html
from tests.rendering import sample_view as sample
from tests.rendering.measure import contrast

BUNDLE = json.dumps(
    {"digest": sample.DIGEST, "text": "</script><script>alert(1)</script><!-- \u2028 ≤"}, ensure_ascii=False
)

VOID = {"meta", "link", "br", "col", "hr", "path", "circle", "img", "input"}
ALLOWED: dict[str, set[str]] = {
    tag: {"id", "class", "role", "aria-label", "aria-labelledby", "aria-hidden", "hidden"}
    for tag in re.findall(
        r"\w+",
        """body header main nav section article footer div p b strong em span code pre br hr blockquote
        ul ol li dl dt dd table caption colgroup col thead tbody tr h1 h2 h3 h4 h5 h6
        details summary form""",
    )
}
for _tag, _names in {
    "body": "data-practice data-foot data-digest data-edition data-use-until data-use-from data-cover data-past "
    "data-past-strip data-early data-early-strip",
    "p": "data-cover-text data-card-same data-card-covered data-card-other data-card-unread data-kept data-failed "
    "data-status-on data-status-past data-status-early",
    "span": "data-status-on data-status-past data-status-early",
    "dd": "data-status-on data-status-past data-status-early",
    "section": "data-search",
    "article": "data-part",
    "li": "data-part",
}.items():
    ALLOWED[_tag] |= set(_names.split())
ALLOWED |= {
    "html": {"lang", "class"},
    "head": set(),
    "title": set(),
    "style": set(),
    "meta": {"charset", "name", "content", "http-equiv"},
    "link": {"rel", "href"},
    "a": {"href", "class", "rel"},
    "label": {"for"},
    "input": {"id", "type", "autocomplete", "spellcheck", "maxlength"},
    "th": {"scope", "colspan", "class", "role", "id"},
    "td": {"class", "role", "colspan"},
    "script": {"type", "id"},
    "svg": {"class", "role", "viewbox", "width", "height"},
    "defs": set(),
    "pattern": {"id", "width", "height", "patternunits"},
    "path": {"d", "fill", "stroke", "stroke-width"},
    "circle": {"cx", "cy", "r", "fill", "stroke", "stroke-width"},
    "g": {"transform"},
    "text": {"x", "y", "text-anchor", "font-size", "font-weight", "fill", "fill-opacity", "stroke", "stroke-opacity"}
    | {"stroke-width"},
}


class Tree(HTMLParser):
    """Elements in order with their attributes, the open ones above each, and text by element."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str], tuple[str, ...]]] = []
        self.texts: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.odd: list[str] = []
        self.feed(html)
        self.close()
        self.odd += self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(set(names)) != len(names):
            self.odd.append(f"attribute twice in {tag}")
        self.elements.append((tag, {name: value or "" for name, value in attrs}, tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if not self.open or self.open[-1] != tag:
            self.odd.append(f"</{tag}> inside {self.open[-1:]}")
        else:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        self.texts.append((self.open[-1] if self.open else "", data))

    def handle_comment(self, data: str) -> None:
        self.odd.append(f"comment {data}")

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes, _ in self.elements if name == tag]

    def text_of(self, tag: str) -> str:
        return "".join(text for name, text in self.texts if name == tag)


def outputs(view: ProtocolView, **changes: Any) -> dict[str, str]:
    card = sample.card_view(identity=view.identity, **changes)
    return {"page": page_html(view, BUNDLE), "protocol": protocol_html(view), "card": card_html(card)}


@pytest.fixture(scope="module")
def page() -> Tree:
    return Tree(page_html(sample.protocol_view(), BUNDLE))


def hostile(value: Any, text: str, path: str = "") -> Any:
    """The view with every text turned hostile, but for those that choose a layout and those that are HTML."""
    if isinstance(value, str):
        if path in ("status", "size", "tone", "anchor", "digest", "state"):
            return value
        return to_html(value + "\n\n" + text) if path == "why_html" else value + text
    if isinstance(value, tuple):
        return tuple(hostile(item, text, path) for item in value)
    if dataclasses.is_dataclass(value):
        changes = {f.name: hostile(getattr(value, f.name), text, f.name) for f in dataclasses.fields(value)}
        return replace(value, **changes)  # type: ignore[type-var]
    return value


ATTACKS = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    '" onmouseover="alert(1)" x="',
    "' onfocus='alert(1)' y='",
    "</style><style>*{display:none}</style>",
    "</title></head><body>",
    "--> <!-- x",
    "{{ 7 * 7 }} {% raw %}",
    "</svg><svg onload=alert(1)>",
    "]]> &lt;b&gt; &amp;",
    "<a rel=attachment href=file:///etc/passwd>x</a>",
    "<link rel=attachment href=file:///etc/passwd>",
    "\\22 ; } * { color: red",
]


@pytest.mark.parametrize("attack", ATTACKS)
@pytest.mark.usefixtures("pango")
def test_hostile_texts_bring_in_nothing(attack: str) -> None:
    def with_texts(text: str) -> dict[str, str]:
        # One irritant: words too wide would part the table of two, and how many tables there are is counted.
        rows = tuple(replace(row, cells=row.cells[:1]) for row in sample.STOPS.rows)
        stops = StopsTable(sample.STOPS.irritants[:1], rows)
        view = hostile(sample.protocol_view(identity=sample.DRAFT, stops=stops), text)
        card = hostile(sample.card_view(identity=sample.DRAFT), text)
        return {"page": page_html(view, BUNDLE), "protocol": protocol_html(view), "card": card_html(card)}

    plain, attacked = with_texts("plain"), with_texts(attack)
    for name, html in attacked.items():
        tree = Tree(html)
        assert tree.odd == [], name
        for tag, attributes, _ in tree.elements:
            assert tag in ALLOWED, (name, tag)
            assert set(attributes) <= ALLOWED[tag], (name, tag, attributes)
        before = Counter(tag for tag, _, _ in Tree(plain[name]).elements)
        after = Counter(tag for tag, _, _ in tree.elements)
        # Emphasis and links may differ with the texts; what acts or loads may not.
        for tag in ("script", "style", "link", "meta", "svg", "title", "html", "head", "body", "table", "h1", "h2"):
            assert after[tag] == before[tag], (name, tag)
        if attack.strip().startswith("<script"):
            assert "<script>alert" not in html


@pytest.mark.parametrize("name", ["page", "protocol", "card"])
@pytest.mark.usefixtures("pango")
def test_elements_nest_and_ids_are_single(name: str) -> None:
    tree = Tree(outputs(sample.protocol_view(identity=sample.DRAFT))[name])
    assert tree.odd == []
    ids = Counter(attributes["id"] for _, attributes, _ in tree.elements if "id" in attributes)
    assert [one for one, count in ids.items() if count > 1] == []
    links = {a["href"][1:] for a in tree.all("a") if a.get("href", "").startswith("#")}
    assert links <= set(ids)
    assert not [attributes for _, attributes, _ in tree.elements if "style" in attributes]


_NOT_ON_THE_PAGE = (
    "anchor|tone|, status$|, id$|probability|use until day|^stops|^grounds|^certainties|"
    "^accepted, (cases|until|by|reason)|, (evidence line|review month|judged)$"
)


def test_every_text_of_the_view_is_on_the_page(page: Tree) -> None:
    shown = re.sub(r"\s+", "", "".join(text for tag, text in page.texts if tag not in ("style", "script"))).lower()
    for where, text in view_texts(sample.protocol_view()):
        if not re.search(_NOT_ON_THE_PAGE, where):
            assert re.sub(r"\s+", "", text).lower() in shown, where


def test_probabilities_stand_in_the_protocol_only(page: Tree) -> None:
    assert not [text for _, text in page.texts if "in 100" in text]
    assert any("1.3 mm" in text for _, text in page.texts)


@pytest.mark.usefixtures("pango")
def test_a_reading_without_a_method_is_said_without_one() -> None:
    tables = tuple(replace(table, method="") for table in sample.READINGS)
    view = sample.protocol_view(readings=tables)
    name = tables[0].factor
    card = card_html(sample.card_view(readings=tables))
    assert f"<b>{name}</b>: " in card
    for html in (page_html(view, BUNDLE), protocol_html(view)):
        assert f"{name}: the reading at which each threshold is passed" in html
        assert "read by :" not in html
        assert f"{name} by :" not in html


def test_the_page_fetches_nothing(page: Tree) -> None:
    for tag, attributes, _ in page.elements:
        for name, value in attributes.items():
            if name in ("src", "srcset", "action", "data", "poster", "xlink:href"):
                pytest.fail(f"{tag} {name}")
            if name == "href" and tag != "a":
                assert value.startswith("data:")
    css = page.text_of("style")
    assert re.findall(r'url\("(?!data:)', css) == []
    assert "@import" not in css


def test_the_policy_names_exactly_what_is_in_the_page(page: Tree) -> None:
    policy = next(m["content"] for m in page.all("meta") if m.get("http-equiv") == "Content-Security-Policy")
    digest = base64.b64encode(hashlib.sha256(page.text_of("style").encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "script-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def test_an_inline_module_is_allowed_by_its_digest() -> None:
    module = "const three = 1 < 2 && 3;"
    tree = Tree(page_html(sample.protocol_view(), BUNDLE, [module]))
    policy = next(m["content"] for m in tree.all("meta") if "http-equiv" in m)
    digest = base64.b64encode(hashlib.sha256(module.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in policy
    assert module in tree.text_of("script")
    with pytest.raises(ValueError, match="script"):
        page_html(sample.protocol_view(), BUNDLE, ["'</SCRIPT>'"])


def test_the_bundle_reads_back_as_it_was() -> None:
    html = page_html(sample.protocol_view(), BUNDLE)
    found = re.findall(r'<script type="application/json" id="bundle">(.*?)</script>', html, re.DOTALL)
    assert len(found) == 1
    assert json.loads(found[0]) == json.loads(BUNDLE)


def test_json_cannot_end_its_element() -> None:
    text = json.dumps(["</script>", "<!--", "\u2028\u2029", "<\\/"], ensure_ascii=False)
    safe = json_for_script(text)
    assert "<" not in safe
    assert json.loads(safe) == json.loads(text)


def test_headings_skip_no_level(page: Tree) -> None:
    levels = [int(tag[1]) for tag, _, _ in page.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_the_page_has_landmarks_and_a_way_past_the_contents(page: Tree) -> None:
    tags = Counter(tag for tag, _, _ in page.elements)
    assert tags["main"] == tags["header"] == tags["nav"] == tags["footer"] == 1
    assert page.all("html") == [{"lang": "en-GB"}]
    first_link = page.all("a")[0]
    assert first_link["href"] == "#main"
    assert {"id": "main"} in page.all("main")


def test_every_heading_of_a_table_says_what_it_heads(page: Tree) -> None:
    assert all(th.get("scope") in ("row", "col", "colgroup") for th in page.all("th"))
    assert len(page.all("caption")) == len(page.all("table"))


def test_pictures_have_a_text(page: Tree) -> None:
    places = [index for index, (tag, _, _) in enumerate(page.elements) if tag == "svg"]
    assert places
    assert all(page.elements[index + 1][0] == "title" for index in places)


def test_an_address_that_is_none_of_the_web_is_text() -> None:
    html = page_html(sample.protocol_view(), BUNDLE)
    assert 'href="https://doi.org/10.5555/lining.2019.1"' in html
    assert "javascript:alert(1)" in html
    assert 'href="javascript' not in html


def test_links_in_a_text_lead_to_rules_or_are_words() -> None:
    group = sample.rule_groups()[0]
    why = to_html("[a](#restore-a-vital-tooth) [b](#nowhere) [c](other.html) [d](https://e.example)")
    rules = (replace(group.rules[0], why_html=why), *group.rules[1:])
    view = sample.protocol_view(rule_groups=(replace(group, rules=rules), *sample.rule_groups()[1:]))
    page = page_html(view, BUNDLE)
    assert '<a href="#rule-restore-a-vital-tooth">a</a> b <a href="other.html">c</a>' in page
    assert '<a href="https://e.example">d</a>' in page


@pytest.mark.usefixtures("pango")
def test_a_relative_link_is_words_on_paper() -> None:
    group = sample.rule_groups()[0]
    rules = (replace(group.rules[0], why_html=to_html("[c](other.html)")), *group.rules[1:])
    view = sample.protocol_view(rule_groups=(replace(group, rules=rules),))
    assert "other.html" not in protocol_html(view)


GROUPED = " ".join(sample.DIGEST[start : start + 8] for start in range(0, 64, 8))


@pytest.mark.usefixtures("pango")
@pytest.mark.parametrize("name", ["page", "protocol", "card"])
def test_every_output_bears_its_identity(name: str) -> None:
    html = outputs(sample.protocol_view())[name]
    who = sample.identity()
    for text in (who.title, who.practice, who.edition, who.status_words, who.review_by, who.use_until):
        assert text in html
    shown = {"card": who.digest, "page": f"{who.digest[:32]} {who.digest[32:]}", "protocol": GROUPED}
    assert shown[name] in html


@pytest.mark.usefixtures("pango")
@pytest.mark.parametrize("name", ["page", "protocol", "card"])
def test_a_draft_says_so_and_a_finished_edition_does_not(name: str) -> None:
    assert "DRAFT: do not use. 2 findings are open" in outputs(sample.protocol_view(identity=sample.DRAFT))[name]
    plain = outputs(sample.protocol_view())[name]
    assert "DRAFT" not in plain
    assert "WITHDRAWN" not in plain
    withdrawn = sample.identity(status="withdrawn", status_words="Withdrawn")
    assert "WITHDRAWN: do not use" in outputs(sample.protocol_view(identity=withdrawn))[name]


@pytest.mark.parametrize("field", ["title", "practice", "scope", "contact", "edition"])
def test_a_missing_glyph_fails_the_page_and_says_where(field: str) -> None:
    view = sample.protocol_view(identity=sample.identity(**{field: "depth \u2717"}))
    with pytest.raises(MissingGlyph, match=rf"U\+2717 BALLOT X in the protocol, {field}"):
        page_html(view, BUNDLE)


def test_a_missing_glyph_names_cell_and_rule() -> None:
    chart = sample.chart()
    cell = replace(chart.cells[0][0], steps=(Step(1, "varnish ☃"),))
    cells = ((cell, *chart.cells[0][1:]), *chart.cells[1:])
    group = sample.rule_groups()[0]
    rules = (replace(group.rules[0], why_html=to_html("one &#x2717; two")), *group.rules[1:])
    view = sample.protocol_view(chart=replace(chart, cells=cells), rule_groups=(replace(group, rules=rules),))
    with pytest.raises(MissingGlyph) as caught:
        page_html(view, BUNDLE)
    places = [where for _, _, where in caught.value.places]
    assert places[0].startswith("the cell Amalgam, 0.5 mm or less")
    assert places[1] == "rule assess-the-pulp-before-covering-an-exposure, why"


def test_a_protocol_without_a_chart_is_still_a_page() -> None:
    bare = sample.protocol_view(
        chart=None,
        exceptions=(),
        factors=(),
        rule_groups=(),
        pairings=(),
        exclusions=(),
        accepted=(),
        references=(),
        protection=(),
        readings=(),
    )
    tree = Tree(page_html(bare, BUNDLE))
    assert tree.odd == []
    links = {a["href"][1:] for a in tree.all("a") if a["href"].startswith("#")}
    assert links == {"main", "cautions", "about"}


def test_numbers_stay_with_their_units_without_a_change_of_text() -> None:
    html = page_html(sample.protocol_view(), BUNDLE)
    assert '<span class="tied">0.75 to 1 mm</span>' in html
    assert "\u00a0" not in re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)


def test_screen_colours_are_far_enough_apart() -> None:
    css = "".join(text for tag, text in Tree(page_html(sample.protocol_view(), BUNDLE)).texts if tag == "style")
    light = dict(re.findall(r"--([\w-]+): ?(#[0-9a-f]{6})\b", css[: css.index("prefers-color-scheme")]))
    dark = light | dict(re.findall(r"--([\w-]+): ?(#[0-9a-f]{6})\b", css[css.index("prefers-color-scheme") :]))
    for colours in (light, dark):
        rgb = {name: tuple(int(value[i : i + 2], 16) for i in (1, 3, 5)) for name, value in colours.items()}
        for ink in ("ink", "deep", "faint"):
            for ground in ("paper", "wash"):
                assert contrast(rgb[ink], rgb[ground]) >= 7, (ink, ground)
        for ground in ("cell-decide", "cell-refer", "cell-out"):
            assert contrast(rgb["ink"], rgb[ground]) >= 7


# --- the grid ---------------------------------------------------------------------------------------------------------


def _chart(*columns: tuple[str, str]) -> Chart:
    """A chart of one band; each column is a name and its advice."""
    cells = tuple(Cell(f"{name}, band", (Step(0, text),), "place") for name, text in columns)
    return Chart("Depth", "Filling", ("band",), tuple(name for name, _ in columns), (cells,), (Labelled("a", "b"),))


def _names(drawn: Grid) -> list[tuple[str, ...]]:
    return [row.names for row in drawn.rows]


def test_all_with_the_same_advice_share_a_row() -> None:
    chart = _chart(("A", "x"), ("B", "x"), ("C", "y"), ("D", "x"))
    assert _names(grid(chart)) == [("A", "B", "D"), ("C",)]


def test_the_same_words_in_another_tone_are_not_the_same() -> None:
    chart = _chart(("A", "x"), ("B", "x"))
    cells = (chart.cells[0][0], replace(chart.cells[0][1], tone="refer"))
    assert _names(grid(replace(chart, cells=(cells,)))) == [("A",), ("B",)]


def test_bands_down_turns_the_chart_over() -> None:
    drawn = grid(sample.chart(), bands_down=True)
    assert [row.names for row in drawn.rows] == [(band,) for band in sample.BANDS]
    assert drawn.row_heading == "Remaining dentine thickness"
    upright = grid(sample.chart())
    assert {cell.id for row in drawn.rows for cell in row.cells} == {c.id for row in upright.rows for c in row.cells}


@pytest.mark.parametrize("total", [182, 194, 281])
@pytest.mark.parametrize("points", [9, 11, 14])
def test_widths_fill_the_line_and_make_the_chart_lower(total: int, points: float) -> None:
    sizes = Sizes(points, points, 18)
    drawn = grid(sample.chart())
    found = widths(drawn, total, sizes)
    table = _Table(drawn, sizes)
    assert sum(found) == total
    assert table.height(found) < table.height((total - total // 4 * 3, *[total // 4] * 3))


def test_no_widths_are_better_than_those_found() -> None:
    """Against every division into whole steps of 4 mm, by the same wrapping."""
    sizes = Sizes(12, 12, 18)
    drawn = grid(sample.chart())
    table = _Table(drawn, sizes)
    found = table.height(widths(drawn, 194, sizes))
    best = min(
        table.height((a, b, c, 194 - a - b - c))
        for a in range(22, 60, 4)
        for b in range(30, 110, 4)
        for c in range(30, 70, 4)
        if 194 - a - b - c >= 24
    )
    assert found <= best * 1.04


def test_widths_of_more_columns_than_there_is_room_for_are_still_widths() -> None:
    drawn = grid(_chart(*((f"Filling {n}", f"text {n}") for n in range(25))), bands_down=True)
    found = widths(drawn, 194, Sizes(11, 18, 14))
    assert sum(found) == 194
    assert min(found) > 0


@pytest.mark.usefixtures("pango")
def test_the_card_of_either_way_round_holds_the_same_texts() -> None:
    def words(style: CardStyle) -> Counter[str]:
        html = card_html(sample.card_view(), style)
        return Counter(re.findall(r"\w+", " ".join(t for tag, t in Tree(html).texts if tag in ("li", "b", "span"))))

    one, other = words(CardStyle()), words(CardStyle(bands_down=True))
    assert one["Hard"] == other["Hard"] > 0
