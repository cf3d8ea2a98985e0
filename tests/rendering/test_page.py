"""The files of the site: which there are, how large they are, and that one edition is told from another."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.show.figures.tones import icon_svg
from liningbook.show.markup.markdown import to_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.page import page_files, site_files
from liningbook.show.web.page_html import cover_words, first_day
from tests.bench.page import larger
from tests.oracle.folder import write_folder
from tests.rendering import sample_view as sample
from tests.rendering.measure import contrast

DAY = date(2026, 10, 1)
BUNDLE = json.dumps({"digest": sample.DIGEST})
NAMES = {"index.html", "sw.js", "manifest.webmanifest", "icon.svg"}


def test_the_site_has_four_files_and_without_offline_one() -> None:
    view = sample.protocol_view()
    assert set(page_files(view, BUNDLE)) == NAMES
    assert set(page_files(view, BUNDLE, offline=False)) == {"index.html"}
    assert page_files(view, BUNDLE) == page_files(view, BUNDLE)


def test_the_copy_kept_is_named_after_the_bundle_and_the_page() -> None:
    def name(files: dict[str, bytes]) -> str:
        found = re.search(r"[0-9a-f]{64}-[0-9a-f]{16}", files["sw.js"].decode())
        assert found
        return found[0]

    view = sample.protocol_view()
    first = name(page_files(view, BUNDLE))
    assert first.startswith(sample.DIGEST)
    drawn_anew = replace(view, needs=("A sentence more.",))
    assert name(page_files(drawn_anew, BUNDLE)) != first


def test_the_manifest_names_the_protocol_and_the_icon() -> None:
    files = page_files(sample.protocol_view(), BUNDLE)
    manifest = json.loads(files["manifest.webmanifest"])
    assert manifest["name"] == "Pulp protection under direct restorations, Tern Street Dental Practice"
    assert "2026.2" in manifest["description"]
    assert [icon["src"] for icon in manifest["icons"]] == ["icon.svg"]
    assert ElementTree.fromstring(files["icon.svg"]).get("viewBox") == "0 0 512 512"
    assert files["icon.svg"].decode() == icon_svg()


@pytest.mark.slow
def test_the_site_of_120_rules_with_all_their_texts_is_smaller_than_720_kb(demonstration: Path, tmp_path: Path) -> None:
    folder = write_folder(larger(demonstration), tmp_path)
    (folder / "references.json").write_bytes((demonstration / "references.json").read_bytes())
    shutil.copytree(demonstration / "evidence", folder / "evidence", dirs_exist_ok=True)
    for place in (folder / "rules").glob("*.md"):
        source = demonstration / "rules" / f"{place.stem.rpartition('-')[0]}.md"
        why = source.read_text("utf-8").split("---\n", 2)[2]
        head = place.read_text("utf-8").split("---\n", 2)[1]
        place.write_text(f"---\n{head}---\n{why}", "utf-8")
    analysis = analyse(folder, DAY)
    assert analysis.meaning is not None
    assert len(analysis.meaning.rules) == 120
    bundle = bundle_of(analysis)
    files = site_files(Viewer(analysis, bundle["digest"], to_html), bundle)
    # 95,000 of them are the four study tables, 20,000 the sentences that say how each grade came about.
    assert sum(len(content) for content in files.values()) < 720_000


@pytest.mark.parametrize(
    ("bundle", "day"),
    [
        ({}, None),
        ({"protocol": {"in_force_from": "2026-09-01"}, "holds": {"from": "2026-01-01", "until": None}}, "2026-09-01"),
        ({"protocol": {}, "holds": {"from": "2026-10-01", "until": "2026-12-31"}}, "2026-10-01"),
        ({"protocol": {}, "holds": {"from": None, "until": None}}, None),
    ],
)
def test_an_edition_may_be_used_from_the_day_on_which_it_is_in_force_and_holds(
    bundle: dict[str, object], day: str | None
) -> None:
    found = first_day(json.dumps(bundle))
    assert (found.isoformat() if found else None) == day


def test_only_an_edition_that_must_never_be_used_is_covered_always() -> None:
    assert cover_words(sample.identity()).always == ""
    for changes, words in (
        ({"status": "withdrawn"}, "Withdrawn: do not use for patients."),
        ({"status": "draft"}, "Draft: do not use for patients."),
        ({"is_draft_build": True, "open_findings": ("one",)}, "1 finding is open"),
        ({"status": "withdrawn", "is_draft_build": True}, "Withdrawn: do not use for patients."),
    ):
        assert words in cover_words(sample.identity(**changes)).always
    assert "Ask A. Marsh, extension 12" in cover_words(sample.DRAFT).always
    assert "Ask the authors of the protocol" in cover_words(sample.identity(contact="")).past


def test_the_stripes_of_a_covered_part_leave_its_texts_readable() -> None:
    css = page_files(sample.protocol_view(), BUNDLE)["index.html"].decode()
    colours = re.findall(r"--(ink|deep|across|mark): ?(#[0-9a-f]{6})", css)
    light, dark = {}, {}
    for name, value in colours:
        (dark if name in light else light)[name] = value
    assert set(light) == {"ink", "deep", "across", "mark"}
    assert set(dark) == {"ink", "deep", "across"}
    for found in (light, dark):
        assert contrast(_rgb(found["ink"]), _rgb(found["across"])) >= 7
        assert contrast(_rgb(found["deep"]), _rgb(found["across"])) >= 7
    assert contrast(_rgb("#16202a"), _rgb(light["mark"])) >= 7


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))
