"""Status and dates of an edition, and what every output then says of it."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

import csv
import json
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.registry import OF_KIND
from liningbook.cli import main
from liningbook.model.edition import edition_state

SMALLEST = Path(__file__).parents[2] / "protocols" / "pass" / "smallest"

Written = Callable[[str], Path]


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """The smallest protocol with other lines for `status` and `review_by`."""

    def write(lines: str) -> Path:
        folder = Path(shutil.copytree(SMALLEST, tmp_path / "protocol"))
        path = folder / "protocol.yaml"
        kept = [line for line in path.read_text("utf-8").splitlines() if not line.startswith(("status", "review_by"))]
        path.write_text("\n".join([*kept, lines.replace("; ", "\n"), ""]), "utf-8")
        return folder

    return write


def found(folder: Path, day: str) -> list[tuple[str, str]]:
    meaning = understand(folder, date.fromisoformat(day)).meaning
    assert meaning is not None
    findings = OF_KIND["status"].look(Inquiry(meaning))
    return [(finding.severity.value, finding.fact.about().further["what"]) for finding in findings]


APPROVED = "approved: [{name: B. Reed, role: clinical lead, on: 2026-08-20}]"
IN_FORCE = f"status: in-force; in_force_from: 2026-09-01; {APPROVED}; review_by: 2028-09-01"
LATE = IN_FORCE.replace("08-20", "09-02")


@pytest.mark.parametrize(
    ("lines", "day", "expected"),
    [
        (IN_FORCE, "2026-09-01", []),
        ("status: draft; review_by: 2028-09-01", "2026-09-01", []),
        ("status: in-force; review_by: 2028-09-01", "2026-09-01", ["error not-approved", "error no-first-day"]),
        (f"status: in-force; {APPROVED}; review_by: 2028-09-01", "2026-09-01", ["error no-first-day"]),
        ("status: in-force; in_force_from: 2026-09-01; review_by: 2028-09-01", "2026-09-01", ["error not-approved"]),
        # The same days put to the test on either side of the first one.
        (IN_FORCE, "2026-08-31", ["warning not-yet"]),
        (IN_FORCE, "2026-08-19", ["warning not-yet", "warning approved-later"]),
        (IN_FORCE.replace("08-20", "09-01"), "2026-09-01", []),
        (LATE, "2026-09-01", ["error approved-later", "error approved-after-start"]),
        (LATE, "2026-09-02", ["error approved-after-start"]),
        (LATE.replace("in-force;", "draft;"), "2026-09-02", ["warning approved-after-start"]),
        (LATE.replace("in-force;", "withdrawn;"), "2026-09-02", ["warning approved-after-start"]),
        (IN_FORCE.replace("2028-09-01", "2026-09-01"), "2026-09-01", []),
        (IN_FORCE.replace("2028-09-01", "2026-08-31"), "2026-09-01", ["error starts-after-review"]),
        (f"status: draft; {APPROVED}; review_by: 2026-08-19", "2026-09-01", ["warning approved-after-review"]),
        (f"status: draft; {APPROVED}; review_by: 2026-08-20", "2026-09-01", []),
    ],
)  # fmt: skip
def test_status_and_dates_go_together_or_are_told(lines: str, day: str, expected: list[str], written: Written) -> None:
    assert [" ".join(one) for one in found(written(lines), day)] == expected


@pytest.mark.parametrize(
    ("lines", "day", "expected"),
    [
        (IN_FORCE, "2026-08-31", "not-yet-in-force"),
        (IN_FORCE, "2026-09-01", "in-force"),
        (IN_FORCE, "2028-09-01", "in-force"),
        (IN_FORCE, "2028-09-02", "expired"),
        (IN_FORCE.replace("in-force;", "draft;"), "2028-09-02", "draft"),
        (IN_FORCE.replace("in-force;", "withdrawn;"), "2026-08-31", "withdrawn"),
        ("status: in-force; review_by: 2028-09-01", "2026-01-01", "draft"),
        (f"status: in-force; {APPROVED}; review_by: 2028-09-01", "2026-09-01", "draft"),
        ("status: in-force; in_force_from: 2026-09-01; review_by: 2028-09-01", "2026-09-01", "draft"),
    ],
)
def test_a_case_says_where_its_edition_stands(
    lines: str, day: str, expected: str, written: Written, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = written(lines)
    call = ["case", str(folder), "rdt=1mm", "--on", day]
    assert main([*call, "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["edition_state"] == expected
    assert main(call) == 0
    title, above, *_ = capsys.readouterr().out.splitlines()
    assert title.startswith("Example, edition ")
    if expected == "in-force":
        assert above == ""
    else:
        assert "do not use for patients" in above
    (tmp_path / "cases.csv").write_text("rdt\n1 mm\n", "utf-8")
    call = ["case", str(folder), "--cases", str(tmp_path / "cases.csv"), "--out", str(tmp_path / "out.csv")]
    assert main([*call, "--on", day]) == 0
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as rows:
        assert [row["edition_state"] for row in csv.DictReader(rows)] == [expected]
    assert ("do not use for patients" in capsys.readouterr().out) == (expected != "in-force")


@pytest.mark.parametrize("on", ["2026-08-31", "2026-09-01"])
def test_a_table_says_where_its_edition_stands(on: str, written: Written, capsys: pytest.CaptureFixture[str]) -> None:
    folder, notice = written(IN_FORCE), "Not yet in force: do not use for patients."
    said = {}
    for form in ("text", "html", "csv"):
        assert main(["table", str(folder), "--decision", "liner", "--format", form, "--on", on]) == 0
        said[form] = capsys.readouterr().out
    is_early = on == "2026-08-31"
    assert [notice in said["text"], notice in said["html"]] == [is_early, is_early]
    rows = list(csv.DictReader(said["csv"].splitlines()))
    assert {row["edition_state"] for row in rows} == {"not-yet-in-force" if is_early else "in-force"}


def test_the_state_is_said_of_a_case_that_is_not_covered_too(
    demonstration: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from tests.usual import USUAL_CASE

    values = [f"{name}={value}" for name, value in {**USUAL_CASE, "rdt": "0 mm"}.items()]
    main(["case", str(demonstration), *values, "--format", "json", "--on", "2026-08-31"])
    reply = json.loads(capsys.readouterr().out)
    assert (reply["in_scope"], reply["edition_state"]) == (False, "not-yet-in-force")


def test_the_demonstration_is_in_force_from_its_first_day_until_its_review(demonstration: Path) -> None:
    states = []
    for day in ("2026-08-31", "2026-09-01", "2028-09-01", "2028-09-02"):
        protocol = understand(demonstration, date.fromisoformat(day)).protocol
        assert protocol is not None
        states.append(edition_state(protocol, date.fromisoformat(day)))
    assert states == ["not-yet-in-force", "in-force", "in-force", "expired"]
    assert found(demonstration, "2026-09-01") == []


def outputs_of(folder: Path, day: str) -> dict[str, str]:
    """Protocol, card and page as they are set, with what a change sheet says of the edition after another."""
    from liningbook.analysis import analyse
    from liningbook.compare.comparison import compare
    from liningbook.exchange.bundle import bundle_of
    from liningbook.show.markup.markdown import to_html
    from liningbook.show.paper.changes_sheet import sheet_view
    from liningbook.show.paper.paper_html import card_html, protocol_html
    from liningbook.show.viewer import Viewer
    from liningbook.show.web.page import site_files

    analysis = analyse(folder, date.fromisoformat(day))
    assert analysis.protocol is not None
    bundle = bundle_of(analysis)
    viewer = Viewer(analysis, bundle["digest"], to_html)
    site = site_files(viewer, bundle)
    before = replace(analysis.protocol, status="withdrawn", in_force_from=None)
    comparison = compare(before, analysis.protocol, analysis.day)
    return {
        "protocol": protocol_html(viewer.protocol_view()),
        "card": card_html(viewer.card_views()[0]),
        "page": site["index.html"].decode(),
        "manifest": site["manifest.webmanifest"].decode(),
        "sheet": str(sheet_view(comparison, "", "", None).particulars),
    }


def test_every_output_says_from_when_an_edition_is_in_force_until_it_is(demonstration: Path) -> None:
    early, later = (outputs_of(demonstration, day) for day in ("2026-08-31", "2026-09-01"))
    for name, text in early.items():
        words = plain(text)
        assert "ot yet in force" in words, name
        if name != "manifest":
            assert "1 September 2026" in words, name
        for wrong in (">In force<", "· In force ·", "'In force'", ", in force."):
            assert wrong not in re.sub('data-status-[a-z]+="[^"]*"', "", text.replace("\u00a0", " ")), (name, wrong)
    for name, text in later.items():
        assert "ot yet in force" not in plain(re.sub("<script.*?</script>", "", text, flags=re.DOTALL)), name
        assert re.search(r"\b[Ii]n force\b", plain(text)), name
    assert all(">In force<" in later[name] for name in ("protocol", "page"))


def test_accepted_warnings_are_printed_with_who_accepted_them_and_until_when(demonstration: Path) -> None:
    made = outputs_of(demonstration, "2026-09-01")
    assert plain(made["page"]).count("Accepted by B. Reed until 1 September 2028.") == 4
    cells = re.findall("<td>(.*?)</td>", made["protocol"].replace("\u00a0", " "), re.DOTALL)
    ends = [plain(until) for by, until in pairwise(cells) if by == "B. Reed"]
    assert ends == ["1 September 2028"] * 4


def plain(html: str) -> str:
    return re.sub("<[^>]*>", "", html).replace("\u00a0", " ")


def test_what_holds_from_a_later_day_or_a_day_to_come_says_so(demonstration: Path, tmp_path: Path) -> None:
    """On the front, the back and in both feet of the card, and among the particulars of the protocol and the page."""
    folder = Path(shutil.copytree(demonstration, tmp_path / "later"))
    law = folder / "rules" / "no-amalgam-where-law-restricts-it.md"
    law.write_text(law.read_text("utf-8").replace("from: 2026-01-01", "from: 2027-01-01"), "utf-8")
    for made, first in (
        (outputs_of(folder, "2027-01-02"), "1 January 2027"),
        (outputs_of(demonstration, "2026-08-31"), "1 September 2026"),
    ):
        card = plain(made["card"])
        assert card.count(f"Use from {first} until 1 September 2028") == 4
        assert "Use until" not in card
        assert "the same on every print of this edition with these rules" in card
        assert f"Use from {first} to 1 September 2028" in plain(made["protocol"])
        assert f"Use from{first}" in plain(made["page"])
    today = outputs_of(demonstration, "2026-09-01")
    assert "Use from" not in plain(today["card"])
    assert "Use from 1 September 2026 to 1 September 2028" in plain(today["protocol"])
    assert "the same on every print of this edition<" in today["card"]


def test_what_must_not_be_used_is_not_said_to_be_in_force(demonstration: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(demonstration, tmp_path / "not-approved"))
    source = folder / "protocol.yaml"
    approval = "approved:\n  - {name: B. Reed, role: clinical lead, on: 2026-08-20}\n"
    assert approval in source.read_text("utf-8")
    source.write_text(source.read_text("utf-8").replace(approval, ""), "utf-8")
    for made, status in (
        (outputs_of(demonstration, "2028-09-02"), "Expired, not to be used"),
        (outputs_of(folder, "2026-09-01"), "Draft, not in force"),
    ):
        for name in ("card", "protocol", "page"):
            text = plain(re.sub("<script.*?</script>", "", made[name], flags=re.DOTALL))
            assert status in text, name
            assert "In force" not in text, name
