"""An order beside a layer is said only where that layer may be placed."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.cli import main
from liningbook.show.viewer import Viewer
from liningbook.show.views.answer_table import decision_words

DAY = "2026-11-25"

FILES = {
    "protocol.yaml": """\
title: Example
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
  open: {label: Open margin, kind: yes-no}
decisions:
  base: {label: Base, layer: base}
  sealer: {label: Cavity sealer, layer: sealer}
""",
    "materials.yaml": """\
agents:
  cement: {label: Cement, class: base}
  varnish: {label: Varnish, class: sealer}
""",
    "rules/base.md": """\
---
title: A base in a deep cavity
when: {rdt: {at_most: 2 mm}}
advise: {base: {agent: cement}}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/no-base.md": """\
---
title: No base
when: {rdt: {above: 2 mm}}
advise: {base: none}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/varnish.md": """\
---
title: Varnish first
when: {restoration: amalgam}
advise: {sealer: {agent: varnish, before: base}}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/no-varnish.md": """\
---
title: No varnish
when: {restoration: composite, open: no}
advise: {sealer: none}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/varnish-an-open-margin.md": """\
---
title: Varnish an open margin
when: {restoration: composite, open: yes, rdt: {above: 1 mm}}
advise: {sealer: {agent: varnish, coats: 2, before: base}}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/varnish-a-deep-open-margin.md": """\
---
title: Varnish an open margin in a deep cavity
when: {restoration: composite, open: yes, rdt: {at_most: 1 mm}}
advise: {sealer: {agent: varnish, coats: 3, before: base}}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/varnish-a-shallow-cavity.md": """\
---
title: Varnish an open margin in a shallow cavity
when: {restoration: composite, open: yes, rdt: {above: 3 mm}}
advise: {sealer: {agent: varnish, coats: 4, before: base}}
overrides: [varnish-an-open-margin]
evidence: {basis: good-practice, note: Invented.}
---
""",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("order")
    (made / "rules").mkdir()
    for name, text in FILES.items():
        (made / name).write_text(text, "utf-8")
    return made


@pytest.fixture(scope="module")
def analysis(folder: Path) -> Analysis:
    return analyse(folder, date.fromisoformat(DAY))


@pytest.mark.parametrize(("rdt", "is_said"), [("2 mm", True), ("2.1 mm", False)])
def test_a_case_says_before_which_layer_only_where_it_is_placed(
    rdt: str, is_said: bool, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["case", str(folder), f"rdt={rdt}", "restoration=amalgam", "open=no", "--on", DAY]
    assert main(call) == 0
    printed = capsys.readouterr().out
    assert "Cavity sealer: Varnish" in printed
    assert ("before the base" in printed) == is_said
    assert main([*call, "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["advice"]["sealer"]["answer"]["before"] == "base", "as the rule says it"


def test_cells_and_exceptions_say_it_only_where_it_is_placed(analysis: Analysis) -> None:
    viewer = Viewer(analysis, "0" * 64, lambda text: text)
    chart = viewer.charts.chart()
    assert chart is not None
    cells = {cell.id: " ".join(step.text for step in cell.steps) for row in chart.cells for cell in row}
    said = {name: "before the base" in text for name, text in cells.items() if "arnish" in text and "No" not in text}
    assert {name: name.endswith("up to 2 mm") for name in said} == said
    assert set(said.values()) == {True, False}
    lines = [line for row in viewer.charts.exceptions() for line in row.lines]
    assert sorted(f"{line.head}, {line.rest}" for line in lines) == [
        "Varnish, 2 coats, before the base",
        "Varnish, 3 coats, before the base",
        "Varnish, 4 coats",
    ], "where a base may be placed it is said, where none is it is not"


def test_the_page_is_given_the_order_apart_from_the_words(analysis: Analysis) -> None:
    assert analysis.meaning is not None
    told = decision_words(analysis.meaning)["sealer"]["answers"].values()
    placed = [one for one in told if one["kind"] == "layer"]
    assert [one["order"] for one in placed] == [[["base", "Order", "before the base"]]] * 4
    assert not any("before" in f"{one['words']} {one['facts']}" for one in placed)
