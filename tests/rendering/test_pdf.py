"""The printed protocol, measured, and the typesetter's leash."""

from __future__ import annotations

import hashlib
import io
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from liningbook.show.assets.fonts import MissingGlyph, PrintingUnavailable, print_font_css
from liningbook.show.markup.grid import grid
from liningbook.show.paper import paper_html, typeset
from liningbook.show.paper.pdf import protocol_pdf
from liningbook.show.paper.typeset import RenderError, typesetter
from liningbook.show.views.view_texts import view_texts
from tests.rendering import sample_view as sample
from tests.rendering.measure import (
    figure_texts,
    font_names,
    glyphs,
    page_lines,
    page_texts,
    problems_of,
    raster,
    squeeze,
    weakest_contrast,
)

pytestmark = pytest.mark.usefixtures("pango")


# --- conformance ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", ["3a", "ua1"])
@pytest.mark.parametrize("which", ["protocol", "draft_protocol"])
def test_it_conforms(which: str, profile: str, request: pytest.FixtureRequest) -> None:
    assert problems_of(request.getfixturevalue(which), profile) == []


def test_a_second_witness_of_the_tagging(protocol: bytes) -> None:
    with pikepdf.open(io.BytesIO(protocol)) as document:
        root = document.Root
        assert str(root.Lang) == "en-GB"
        assert bool(root.MarkInfo.Marked)
        assert bool(root.ViewerPreferences.DisplayDocTitle)
        assert str(root.ViewerPreferences.PrintScaling) == "/None"
        assert "/Duplex" not in root.ViewerPreferences
        assert b"Pulp protection" in root.Metadata.read_bytes()
    figures = figure_texts(protocol)
    assert len(figures) == 4, "the signs of what to avoid, of what never to use and of the stop"
    assert all(figures)


def test_the_bundle_is_attached_unchanged(protocol: bytes, bundle: bytes) -> None:
    with pikepdf.open(io.BytesIO(protocol)) as document:
        assert list(document.attachments) == ["bundle.json"]
        assert document.attachments["bundle.json"].get_file().read_bytes() == bundle
        (file,) = document.Root.AF
        assert str(file.AFRelationship) == "/Data"


def test_every_cell_of_the_chart_names_its_own_headings(protocol: bytes) -> None:
    """What a screen reader says beside a cell: the heading of its row and of its own column, and no other."""
    with pikepdf.open(io.BytesIO(protocol)) as document:
        cells = _texts_of_cells(document)
    heads = {(cell["table"], cell["id"]): squeeze("".join(cell["text"])) for cell in cells if cell["kind"] == "/TH"}
    chart = next(cell["table"] for cell in cells if "Remainingdentinethickness" in squeeze("".join(cell["text"])))
    shown = [cell for cell in cells if cell["table"] == chart and cell["kind"] == "/TD"]
    rows = grid(sample.chart()).rows
    expected = [(row.names, band, cell) for row in rows for band, cell in zip(sample.BANDS, row.cells, strict=True)]
    assert len(shown) == len(expected)
    for cell, (names, band, advice) in zip(shown, expected, strict=True):
        said = [heads[chart, name] for name in cell["headers"]]
        assert squeeze(advice.steps[0].text)[:20] in squeeze("".join(cell["text"]))
        assert [text.lower() for text in said] == [squeeze("".join(names)).lower(), squeeze(band).lower()]


def _texts_of_cells(document: pikepdf.Pdf) -> list[dict[str, Any]]:
    """Each cell of each table with its own text, its id, and its attributes."""
    by_page: dict[Any, dict[int, str]] = {}
    for page in document.pages:
        by_page[page.objgen] = _marked_texts(page)
    cells: list[dict[str, Any]] = []

    def text(element: Any, page: Any) -> list[str]:
        page = element.get("/Pg", page)
        kids = element.get("/K", pikepdf.Array())
        parts = []
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, int):
                parts.append(by_page[page.objgen].get(kid, ""))
            elif isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                parts += text(kid, page)
        return parts

    def walk(element: Any, table: int) -> None:
        kind = str(element.get("/S", ""))
        if kind == "/Table":
            table = element.objgen[0]
        if kind in ("/TD", "/TH"):
            attributes = element.get("/A", pikepdf.Dictionary())
            cells.append(
                {
                    "table": table,
                    "kind": kind,
                    "id": str(element.get("/ID", "")),
                    "headers": [str(name) for name in attributes.get("/Headers", [])],
                    "text": text(element, None),
                }
            )
        kids = element.get("/K", pikepdf.Array())
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, pikepdf.Dictionary):
                walk(kid, table)

    walk(document.Root.StructTreeRoot, 0)
    return cells


def _marked_texts(page: Any) -> dict[int, str]:
    """The text of each piece of marked content of a page, read through the fonts' own maps to Unicode."""
    maps = {name: _unicode_map(font) for name, font in page.Resources.get("/Font", {}).items()}
    texts: dict[int, str] = {}
    stack: list[int | None] = []
    font: dict[str, str] = {}
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name == "BDC":
            properties = operands[1]
            stack.append(int(properties.MCID) if isinstance(properties, pikepdf.Dictionary) else None)
        elif name == "BMC":
            stack.append(None)
        elif name == "EMC":
            stack.pop()
        elif name == "Tf":
            font = maps[str(operands[0])]
        elif name in ("TJ", "Tj"):
            marks = [mark for mark in stack if mark is not None]
            pieces = operands[0] if name == "TJ" else [operands[0]]
            for piece in pieces:
                if isinstance(piece, pikepdf.String) and marks:
                    codes = bytes(piece).hex()
                    shown = "".join(font.get(codes[i : i + 4], "") for i in range(0, len(codes), 4))
                    texts[marks[-1]] = texts.get(marks[-1], "") + shown
    return texts


def _unicode_map(font: Any) -> dict[str, str]:
    table = font.ToUnicode.read_bytes().decode("latin-1")
    return {
        code.lower(): bytes.fromhex(point).decode("utf-16-be")
        for code, point in re.findall(r"<([0-9a-fA-F]{4})>\s*<([0-9a-fA-F]+)>", table)
    }


# --- pages ------------------------------------------------------------------------------------------------------------


def test_every_page_bears_the_identity_and_the_edition_mark(protocol: bytes) -> None:
    who = sample.identity()
    texts = page_texts(protocol)
    assert len(texts) > 10
    for number, text in enumerate(texts, 1):
        for part in (who.title, f"Edition {who.edition}", who.status_words, who.review_by, who.practice):
            assert squeeze(part) in text, (number, part)
        assert squeeze(f"mark {who.digest[:8]}") in text
        assert squeeze(f"Page {number} of {len(texts)}") in text


_ELSEWHERE = (
    "anchor|tone|, status$|, id$|why$|use until day|evidence, (label|text)|^protection|^accepted, text|state$|"
    "rule.*review by$"
)
"""What the protocol says in other words, or not at all."""


def test_no_text_is_lost(protocol: bytes) -> None:
    shown = "".join(page_texts(protocol))
    shown = shown.lower()
    for where, text in view_texts(sample.protocol_view()):
        if re.search(_ELSEWHERE, where):
            continue
        assert squeeze(text).lower() in shown, (where, text)


def test_the_annex_gives_each_threshold_as_a_reading_with_its_probability(protocol: bytes) -> None:
    shown = "".join(page_texts(protocol))
    assert squeeze("0.5 mm 1.3 mm about 98 in 100") in shown
    assert squeeze("2 mm 3.5 mm about 98 in 100") in shown


def test_the_contents_lead_to_the_right_pages(protocol: bytes) -> None:
    texts = page_texts(protocol)
    lines = page_lines(protocol, 0)
    assert "Contents" in lines
    for title in ("What goes together", "References", "Sign-off"):
        (line,) = [line for line in lines if title in line]
        found = re.search(r"(\d+)\s*$", line)
        assert found is not None, line
        assert squeeze(title) in texts[int(found[1]) - 1]


def test_there_are_bookmarks_for_sections_and_rules(protocol: bytes) -> None:
    with pikepdf.open(io.BytesIO(protocol)) as document, document.open_outline() as outline:
        titles = []
        stack = list(outline.root)
        while stack:
            item = stack.pop(0)
            titles.append(item.title)
            stack[:0] = item.children
    for title in ("The decision chart", "Exceptions", "The rules", "Liner", "References", "Sign-off"):
        assert title in titles
    assert any("Calcium silicate in reversible pulpitis" in title for title in titles)


def test_the_chart_takes_one_page(protocol: bytes) -> None:
    (page,) = [text for text in page_texts(protocol) if "Thedecisionchart" in text.replace("Thedecisionchart:page", "")]
    for name, _ in sample.ADVICE:
        assert squeeze(name) in page
    for band in sample.BANDS:
        assert squeeze(band)[1:] in page


def test_a_chart_too_large_for_a_page_goes_on_with_its_headings(epoch: int, bundle: bytes) -> None:
    chart = sample.chart()
    count = 40
    columns = tuple(f"Restoration {n}" for n in range(count))
    cells = tuple(
        tuple(
            replace(row[n % 7], id=f"{n}", steps=(replace(row[n % 7].steps[0], rest=f"part {n}"),))
            for n in range(count)
        )
        for row in chart.cells
    )
    view = sample.protocol_view(chart=replace(chart, columns=columns, cells=cells), rule_groups=())
    texts = page_texts(protocol_pdf(view, bundle, epoch))
    pages = [text for text in texts if squeeze("0.5 mm or less") in text and "Restoration" in text]
    assert len(pages) >= 2
    shown = "".join(texts)
    assert all(squeeze(name) in shown for name in columns)


def test_only_our_font_and_no_tiny_type(protocol: bytes) -> None:
    assert font_names(protocol) == {"Source-Sans-Pro", "Source-Sans-Pro-Bold"}
    smallest = min(glyphs(protocol), key=lambda glyph: glyph.size)
    assert smallest.size >= 7.99, smallest


@pytest.mark.parametrize("number", [0, 1, 2, 3, 5, -2])
@pytest.mark.parametrize("which", ["protocol", "draft_protocol"])
def test_every_glyph_stands_out(which: str, number: int, request: pytest.FixtureRequest) -> None:
    pdf = request.getfixturevalue(which)
    ratio, place = weakest_contrast(pdf, number % len(page_texts(pdf)))
    assert ratio >= 7, place


def test_a_draft_says_so_on_every_page_and_lists_what_is_open(draft_protocol: bytes) -> None:
    texts = page_texts(draft_protocol)
    for finding in sample.DRAFT.open_findings:
        assert squeeze(finding) in texts[0]
    large: dict[int, str] = {}
    for glyph in glyphs(draft_protocol):
        if glyph.size > 60:
            large[glyph.page] = large.get(glyph.page, "") + glyph.char
    for number, text in enumerate(texts):
        assert squeeze("DRAFT: do not use. 2 findings are open") in text
        assert large[number] == "DRAFT"
    grey = raster(draft_protocol, 0, scale=1, grey=True)
    assert ((grey > 190) & (grey < 225)).mean() > 0.03


def test_an_edition_in_force_bears_no_mark(protocol: bytes) -> None:
    assert not [text for text in page_texts(protocol) if "DRAFT" in text or "WITHDRAWN" in text]
    assert max(glyph.size for glyph in glyphs(protocol)) < 40


def test_a_withdrawn_edition_says_so_on_every_page(epoch: int, bundle: bytes) -> None:
    who = sample.identity(status="withdrawn", status_words="Withdrawn, not to be used")
    pdf = protocol_pdf(sample.protocol_view(identity=who, rule_groups=sample.rule_groups()[:1]), bundle, epoch)
    assert all(squeeze("WITHDRAWN: do not use") in text for text in page_texts(pdf))


def test_a_bare_protocol_prints(epoch: int, bundle: bytes) -> None:
    bare = sample.protocol_view(
        identity=sample.identity(approvals=(), authors=(), contact="", stop_questions=(), in_force_from=""),
        chart=None,
        exceptions=(),
        factors=(),
        pairings=(),
        exclusions=(),
        accepted=(),
        references=(),
        rule_groups=(),
        protection=(),
        readings=(),
        stops=None,
        certainties=(),
    )
    pdf = protocol_pdf(bare, bundle, epoch)
    assert problems_of(pdf, "ua1") == []
    assert squeeze("Approved by nobody yet") in page_texts(pdf)[0]


# --- the same bytes ---------------------------------------------------------------------------------------------------


def test_the_same_view_gives_the_same_bytes(protocol: bytes, bundle: bytes, epoch: int) -> None:
    assert protocol_pdf(sample.protocol_view(), bundle, epoch) == protocol


def test_another_process_place_and_time_zone_give_the_same_bytes(
    protocol: bytes, bundle: bytes, epoch: int, tmp_path: Path, repository: Path
) -> None:
    program = (
        "import hashlib, sys\n"
        "from liningbook.show.paper.pdf import protocol_pdf\n"
        "from tests.rendering import sample_view\n"
        f"data = protocol_pdf(sample_view.protocol_view(), {bundle!r}, {epoch})\n"
        "print(hashlib.sha256(data).hexdigest())\n"
    )
    environment = dict(
        os.environ,
        PYTHONPATH=os.pathsep.join([str(repository / "builder"), str(repository)]),
        PYTHONHASHSEED="7",
        TZ="Pacific/Auckland",
        LC_ALL="C",
        SOURCE_DATE_EPOCH="1",
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == hashlib.sha256(protocol).hexdigest(), done.stderr


def test_no_path_and_no_clock_is_in_the_file(protocol: bytes, repository: Path) -> None:
    with pikepdf.open(io.BytesIO(protocol)) as document:
        plain = io.BytesIO()
        document.save(plain, stream_decode_level=pikepdf.StreamDecodeLevel.all, compress_streams=False)
    for word in (str(repository), "site-packages", "file://", "/tmp"):
        assert word.encode() not in plain.getvalue()
    assert b"2025-09-01T00:00:00" in plain.getvalue()


# --- the leash --------------------------------------------------------------------------------------------------------

MINIMAL = '<html lang="en"><head><title>t</title><style>{css}</style></head><body>{body}</body></html>'


@pytest.mark.parametrize(
    ("css", "body"),
    [
        ("p { colour: red }", "<p>x</p>"),
        ("p { color: reddish }", "<p>x</p>"),
        ("@nonsense x;", "<p>x</p>"),
        ("", '<p><a href="#nowhere">x</a></p>'),
        ("", '<p id="a">x</p><p id="a">y</p>'),
        ("", '<img alt="x" src="http://127.0.0.1:9/x.png">'),
        ("", '<img alt="x" src="https://host.example/x.png">'),
        ("", '<img alt="x" src="file:///etc/passwd">'),
        ("", '<img alt="x" src="relative.png">'),
        ("@import url(file:///etc/hosts);", "<p>x</p>"),
        ("@font-face { font-family: F; src: url(file:///etc/passwd) }", '<p style="font-family: F">x</p>'),
    ],
)
def test_whatever_the_typesetter_complains_of_is_an_error(css: str, body: str, epoch: int) -> None:
    text = MINIMAL.format(css=print_font_css() + css, body=body)
    with typesetter(epoch) as setter, pytest.raises(RenderError):
        setter.write(setter.lay_out(text))


def test_a_sign_that_no_font_draws_is_an_error_of_the_typesetter_too(epoch: int) -> None:
    text = MINIMAL.format(css=print_font_css() + 'body { font-family: "Source Sans Pro" }', body="<p>☃</p>")
    with typesetter(epoch) as setter, pytest.raises(RenderError):
        setter.write(setter.lay_out(text))


def test_a_missing_glyph_is_named_before_anything_is_drawn(epoch: int, bundle: bytes) -> None:
    view = sample.protocol_view(identity=sample.identity(scope="a ☃"))
    with pytest.raises(MissingGlyph, match=r"U\+2603 SNOWMAN in the protocol, scope"):
        protocol_pdf(view, bundle, epoch)


def test_an_attached_file_of_the_machine_is_refused(epoch: int) -> None:
    body = '<p><a rel="attachment" href="file:///etc/passwd">x</a></p>'
    text = MINIMAL.format(css=print_font_css() + 'body { font-family: "Source Sans Pro" }', body=body)
    with typesetter(epoch) as setter:
        try:
            pdf = setter.write(setter.lay_out(text))
        except RenderError:
            return
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert list(document.attachments) == []


def test_the_environment_is_left_as_it_was(epoch: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FONTCONFIG_FILE", "mine")
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    with typesetter(epoch):
        assert os.environ["FONTCONFIG_FILE"] != "mine"
        assert os.environ["SOURCE_DATE_EPOCH"] == str(epoch)
    assert os.environ["FONTCONFIG_FILE"] == "mine"
    assert "SOURCE_DATE_EPOCH" not in os.environ


# --- what is not installed --------------------------------------------------------------------------------------------


def test_without_weasyprint_the_message_says_what_to_install(
    epoch: int, bundle: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(PrintingUnavailable, match=r"weasyprint.*pip install 'liningbook\[pdf\]'"):
        protocol_pdf(sample.protocol_view(), bundle, epoch)


def test_without_pango_the_message_names_the_library_and_the_line(
    epoch: int, bundle: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Finder:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "weasyprint":
                raise OSError(
                    "cannot load library 'libpangoft2-1.0-0': libpangoft2-1.0-0: cannot open shared object file"
                )

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Finder(), *sys.meta_path])
    with pytest.raises(PrintingUnavailable) as caught:
        protocol_pdf(sample.protocol_view(), bundle, epoch)
    assert str(caught.value) == (
        "a system library for print is missing (libpangoft2-1.0-0). "
        "Install it with: apt-get install libpangoft2-1.0-0 libharfbuzz-subset0"
    )


def test_the_page_needs_none_of_the_libraries_for_print(tmp_path: Path, repository: Path) -> None:
    program = (
        "import sys\n"
        "for name in ('weasyprint', 'pydyf', 'pyphen', 'segno', 'font_source_sans_pro'):\n"
        "    sys.modules[name] = None\n"
        "from liningbook.show.paper import pdf\n"
        "from liningbook.show.web import page_html\n"
        "from tests.rendering import sample_view\n"
        "assert len(page_html.page_html(sample_view.protocol_view(), '{}')) > 100_000\n"
    )
    environment = dict(os.environ, PYTHONPATH=os.pathsep.join([str(repository / "builder"), str(repository)]))
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_importing_the_module_loads_nothing_heavy(repository: Path) -> None:
    program = (
        "import sys\n"
        "import liningbook.show.paper.pdf\n"
        "heavy = {'weasyprint', 'jinja2', 'markdown_it', 'fontTools', 'pydyf', 'markupsafe'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    environment = dict(os.environ, PYTHONPATH=str(repository / "builder"))
    done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_html_and_typeset_share_no_state(epoch: int, bundle: bytes) -> None:
    """A failed print leaves nothing behind that fails the next."""
    with pytest.raises(MissingGlyph):
        protocol_pdf(sample.protocol_view(identity=sample.identity(title="☃")), bundle, epoch)
    with typesetter(epoch) as setter, pytest.raises(RenderError):
        setter.lay_out("<style>p { colour: red }</style>")
    small = sample.protocol_view(rule_groups=(), exceptions=(), chart=None)
    assert protocol_pdf(small, bundle, epoch) == protocol_pdf(small, bundle, epoch)
    assert typeset.RenderError is RenderError
    assert paper_html.protocol_html(small) == paper_html.protocol_html(small)
