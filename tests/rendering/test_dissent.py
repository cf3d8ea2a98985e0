"""Who does not agree with a rule stands with it, in print and on the page; and its references by their numbers."""

from __future__ import annotations

import re
import shutil
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.compare.comparison import compare
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.exchange.versions import read_version
from liningbook.say.changes.notes import note_words
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper.paper_html import protocol_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.page_html import page_html
from liningbook.show.web.page_words import page_words
from tests.saying import messages_of

DAY = date(2026, 11, 25)
RULE = "rules/no-liner-in-a-shallow-cavity.md"
DISSENT = "dissent: [{name: D. Vane, reason: A <b>liner</b> does no harm}, {name: E. Moss, reason: So do I.}]\n"


@pytest.fixture(scope="module")
def disputed(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = Path(shutil.copytree(demonstration, tmp_path_factory.mktemp("disputed") / "protocol"))
    text = (folder / RULE).read_text("utf-8")
    (folder / RULE).write_text(text.replace("evidence:\n", DISSENT + "evidence:\n", 1), "utf-8")
    return folder


def test_it_is_told_with_the_rule_in_print_and_on_the_page(disputed: Path) -> None:
    analysis = analyse(disputed, DAY)
    viewer = Viewer(analysis, "0" * 64, to_html)
    view = viewer.protocol_view()
    for written in (protocol_html(view), page_html(view, "{}")):
        html = re.sub(r'<span class="tied">(.*?)</span>', r"\1", written)
        assert html.count("D. Vane disagrees: A &lt;b&gt;liner&lt;/b&gt; does no harm.") == 1
        assert html.count("E. Moss disagrees: So do I.") == 1
    assert protocol_html(view).count("2 disagree</span>") == 1
    words = page_words(viewer)
    grades = {row[0]: words["grades"][row[1]] for row in words["rules"]}
    assert [rule for rule, grade in grades.items() if grade.endswith(", 2 disagree")] == [Path(RULE).stem]
    assert [rule for rule, grade in grades.items() if grade.endswith(", 1 disagrees")] == ["line-a-deep-cavity"]


def test_a_bundle_holds_it_and_gives_it_back(disputed: Path, tmp_path: Path) -> None:
    bundle = bundle_of(analyse(disputed, DAY))
    said = {rule["id"]: rule["dissent"] for rule in bundle["rules"] if "dissent" in rule}
    assert said[Path(RULE).stem][1] == {"name": "E. Moss", "reason": "So do I."}
    (tmp_path / "bundle.json").write_bytes(bundle_bytes(bundle))
    again = read_version(str(tmp_path / "bundle.json"), DAY).protocol
    assert [one.name for one in again.rules[Path(RULE).stem].dissent] == ["D. Vane", "E. Moss"]


def test_two_versions_are_told_apart_by_it(demonstration: Path, disputed: Path) -> None:
    old, new = (analyse(folder, DAY).protocol for folder in (demonstration, disputed))
    assert old is not None
    assert new is not None
    (note,) = compare(old, new, DAY).notes
    assert (note.what, note.name, note.field) == ("evidence", Path(RULE).stem, "dissent")
    assert "E. Moss: So do I." in note_words(note)


def test_a_dissent_without_a_reason_is_refused(disputed: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(disputed, tmp_path / "protocol"))
    text = (folder / RULE).read_text("utf-8")
    (folder / RULE).write_text(text.replace(", reason: So do I.", ""), "utf-8")
    findings = analyse(folder, DAY).findings
    assert [(finding.kind, finding.span.file) for finding in findings] == [("schema", RULE)]
    assert "reason" in messages_of(findings)[0]


def test_numbers_of_references_in_a_row_are_told_by_the_first_and_the_last(demonstration: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(demonstration, tmp_path / "protocol"))
    viewer = Viewer(analyse(folder, DAY), "0" * 64, to_html)
    names = list(viewer.rules.reference_numbers)
    text = (folder / RULE).read_text("utf-8")
    cited = ", ".join(names[place] for place in (4, 0, 1, 2, 6))
    (folder / RULE).write_text(re.sub(r"cites: \[.*?\]", f"cites: [{cited}]", text), "utf-8")
    view = Viewer(analyse(folder, DAY), "0" * 64, to_html).protocol_view()
    (rule,) = [rule for group in view.rule_groups for rule in group.rules if rule.id == Path(RULE).stem]
    numbers = sorted(view_number for run in rule.cites for view_number in run)
    assert rule.cited == 5
    assert len(numbers) < 5
    link = '<a href="#reference-{0}">{0}</a>'
    first, last = next(run for run in rule.cites if len(run) == 2)
    for html in (protocol_html(view), page_html(view, "{}")):
        assert f"{link.format(first)}–{link.format(last)}" in html
