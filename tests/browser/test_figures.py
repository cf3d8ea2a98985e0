"""The figures that the browser draws are those that are printed, character by character, and look right there."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.cases.question import BadQuestion, Reply, answer, put
from liningbook.exchange.bundle import bundle_of
from liningbook.meaning.table import table_of
from liningbook.resources import site_dir
from liningbook.show.assets.fonts import web_font_css
from liningbook.show.assets.scripts import DRAWING, ENGINE, joined
from liningbook.show.figures.script import Drawer, with_widths
from liningbook.show.markup.markdown import to_html
from liningbook.show.terminal.reply import reply_json
from liningbook.show.viewer import Viewer
from liningbook.show.web.page_words import page_words
from tests.browser.cases import cases, protocol
from tests.oracle.folder import write_folder
from tests.oracle.generate import Source

DAY = date(2026, 10, 1)
SEEDS = range(7100, 7160)
CASES = 60
AMOUNTS = [
    {"above": "0 mm", "below": "500 um"}, {"at_most": "5 um"}, {"at_least": "2 um", "at_most": "5 um"},
    {"above": "0.2 mm", "below": "1 mm"}, {"exactly": "1 mm"}, {"at_least": "0 mm"}, {"above": "0.5 mm"},
    {"at_least": "0.3 mm", "below": "1.25 mm"}, {"at_least": "1 [in_i]"}, {"exactly": "0.333 mm"},
]  # fmt: skip
LABELS = ['Zinc <oxide> & "more"', "İX'ler", "ßeta cement of a very, very long name indeed", "pH", "Ägide", "W" * 60]
LOAD = """async (text) => {
  const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  globalThis.figures = await import(address);
}"""

DRAW = """([bundle, words, replies]) => {
  const { readBundle, sayStart, wordsFrame, crossSection, readingChart } = globalThis.figures;
  const compiled = readBundle(JSON.parse(bundle));
  sayStart(JSON.parse(words));
  const frame = wordsFrame(compiled.bundle, JSON.parse(words));
  return JSON.parse(replies).map((reply) =>
    [crossSection(frame, reply, "t"), readingChart(compiled, frame, reply, "t")]);
}"""

OVERLAPS = """() => {
  const found = [];
  for (const figure of document.querySelectorAll("svg.figure")) {
    const whole = figure.getBoundingClientRect();
    const texts = [...figure.querySelectorAll("text")];
    const boxes = texts.map((text) => text.getBoundingClientRect());
    boxes.forEach((one, n) => {
      if (one.left < whole.left || one.right > whole.right || one.bottom > whole.bottom)
        found.push(`${texts[n].textContent} leaves the figure`);
      if (parseFloat(getComputedStyle(texts[n]).fontSize) * whole.width / figure.viewBox.baseVal.width < 12)
        found.push(`${texts[n].textContent} is smaller than 12 px`);
      // The box of a line is higher than its letters: a fifth of it may lie over the next line's.
      boxes.slice(n + 1).forEach((other, m) => {
        const wide = Math.min(one.right, other.right) - Math.max(one.left, other.left);
        const high = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
        if (wide > 0.5 && high > one.height / 5)
          found.push(`${texts[n].textContent} and ${texts[n + 1 + m].textContent} overlap`);
      });
    });
  }
  return found;
}"""


@pytest.fixture(scope="module")
def drawer(browser: Any) -> Iterator[Any]:
    """A page that holds the modules of the figures."""
    context = browser.new_context(viewport={"width": 320, "height": 600})
    page = context.new_page()
    text = joined(("say", *ENGINE, *DRAWING))
    page.evaluate(LOAD, text + "\nexport { readBundle, sayStart, wordsFrame, crossSection, readingChart };\n")
    yield page
    context.close()


@pytest.fixture(scope="module")
def made(demonstration: Path) -> Analysis:
    return analyse(demonstration, DAY)


def drawn_by_both(page: Any, analysis: Analysis, bundle: Mapping[str, Any], replies: Sequence[Reply]
                  ) -> Iterator[tuple[Reply, str, str, str]]:  # fmt: skip
    """For every reply and figure: its name, what is printed, and what the browser draws from what the page holds."""
    assert analysis.protocol is not None
    assert analysis.meaning is not None
    said = [reply_json(analysis.protocol, reply) for reply in replies]
    drawer = Drawer(analysis.meaning)
    words = page_words(Viewer(analysis, "0" * 64, to_html))
    found = page.evaluate(DRAW, [*with_widths(bundle, words), json.dumps(said)])
    for reply, (section, reading) in zip(replies, found, strict=True):
        yield reply, "section", drawer.section(reply, "t"), section
        yield reply, "reading", drawer.reading(reply, "t"), reading


def varied(seed: int) -> dict[str, Any]:
    """The protocol of a seed with thicknesses of every sort and with labels that are hard to set."""
    source, plain = Source(seed), protocol(seed)
    materials = plain["materials"]
    for rule in plain["rules"].values():
        for decision, given in rule.get("advise", {}).items():
            if "agent" in given and source.is_so(60):
                rule["advise"][decision] = {**given, "thickness": source.one(AMOUNTS)}
    for number, agent in enumerate(materials["agents"].values()):
        agent["label"] = f"{source.one(LABELS)} {number}"
    for number, place in enumerate(materials.get("places", {})):
        materials["places"][place] = f"{source.one(LABELS)} {number}"
    return plain


def every_advice(analysis: Analysis) -> list[Reply]:
    """One case of every row of every decision table, as a value and, where it can be, as a reading."""
    meaning = analysis.meaning
    assert meaning is not None
    found = []
    for decision in meaning.protocol.decisions:
        for row in table_of(meaning, decision):
            given = meaning.space.witness(row.box)
            read = {f"{name}.reading" if name == "rdt" else name: text for name, text in given.items()}
            found += [answer(meaning, put(meaning, one)) for one in (given, read)]
    return found


def test_both_draw_every_advice_of_the_demonstration_alike(drawer: Any, made: Analysis) -> None:
    tally: Counter[tuple[str, bool]] = Counter()
    for reply, name, ours, theirs in drawn_by_both(drawer, made, bundle_of(made), every_advice(made)):
        assert theirs == ours, (name, reply.question.values)
        tally[name, bool(ours)] += 1
    assert {("section", True), ("section", False), ("reading", True), ("reading", False)} == set(tally)
    assert tally["section", True] > 40


def test_both_draw_random_cases_of_random_protocols_alike(drawer: Any, tmp_path: Path) -> None:
    tally: Counter[str] = Counter()
    for seed in SEEDS:
        plain = varied(seed)
        analysis = analyse(write_folder(plain, tmp_path / str(seed)), date.fromisoformat(plain["day"]))
        assert analysis.meaning is not None
        replies = []
        for given in cases(Source(seed), analysis.meaning.space.axes, CASES):
            try:
                replies.append(answer(analysis.meaning, put(analysis.meaning, given)))
            except BadQuestion:
                continue
        for reply, name, ours, theirs in drawn_by_both(drawer, analysis, bundle_of(analysis), replies):
            assert theirs == ours, (seed, name, reply.question)
            tally[name] += bool(ours)
            said = " ".join(re.findall(r">([^<]+)</text>", ours))
            tally["film"] += "µm; not to scale" in said
            tally["drawn at"] += "drawn at" in said
            tally["no thickness"] += "thickness not stated" in ours
            tally["just"] += "just above" in ours or "just below" in ours
            tally["beyond"] += "beyond the end" in ours
            tally["not a length"] += "its thickness is not asked for" in ours
            tally["nothing"] += "No layer is placed." in ours
    expected = ("section", "reading", "film", "drawn at", "no thickness", "just", "beyond", "not a length", "nothing")
    assert [name for name in expected if tally[name] < 5] == [], tally


def test_a_changed_character_would_be_noticed(drawer: Any, made: Analysis) -> None:
    bundle = bundle_of(made)
    label = next(one["label"] for one in bundle["factors"] if one["id"] == bundle["chart"]["bands"])
    other = json.loads(json.dumps(bundle).replace(label, f"{label}s"))
    pairs = [(ours, theirs) for _, name, ours, theirs in drawn_by_both(drawer, made, other, every_advice(made)) if ours]
    assert any(ours != theirs for ours, theirs in pairs)


@pytest.mark.parametrize("width", [320, 1280])
def test_words_of_every_figure_keep_apart_on_the_screen(browser: Any, made: Analysis, width: int) -> None:
    meaning = made.meaning
    assert meaning is not None
    drawer = Drawer(meaning)
    figures = [drawer.section(reply, f"s{n}") for n, reply in enumerate(every_advice(made))]
    figures += [drawer.reading(reply, f"r{n}") for n, reply in enumerate(every_advice(made))]
    css = web_font_css() + (site_dir() / "styles" / "figures.css").read_text("utf-8") + "body { margin: 0 20px }"
    context = browser.new_context(viewport={"width": width, "height": 600})
    page = context.new_page()
    page.set_content(f"<!doctype html><style>{css}</style>{''.join(dict.fromkeys(figures))}")
    page.evaluate("document.fonts.ready")
    assert page.evaluate("document.fonts.check('700 14px \"Source Sans Pro\"')")
    assert page.evaluate(OVERLAPS) == []
    context.close()
