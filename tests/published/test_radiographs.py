"""What a radiograph says of remaining dentine, as a scale in a protocol.

Two published ratios of true to radiographic thickness under proximal caries: 0.41 on bitewing film (Khosravi and
Arbabzadeh, J Dent Med 2001;14:16-22; n = 24) and about 0.70 on a storage phosphor plate (82 surfaces of 68 teeth; JDMT,
article 6252), both read as abstracts. Both say that there is less dentine than the radiograph shows. What follows from
them is calculated. These are examples of a reading, no recommendation.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.cases.question import answer, put
from liningbook.cases.readings import reading_for
from liningbook.show.terminal.reply import reply_json
from liningbook.show.views.protection_view import reading_tables
from tests.oracle.folder import write_folder
from tests.oracle.generate import DAY

FILM, PLATE = "0.41", "0.70"


def analysed(folder: Path, scale: str, **how: str) -> Analysis:
    """A protocol with a threshold at 0.5 mm and dentine read off a radiograph."""
    reading = {"method": "bitewing radiograph", "scale": scale, "cautious": "below", **how}
    factor = {"kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm", "reading": reading}
    shared = {"title": "One", "evidence": {"basis": "good-practice", "note": "Invented."}}
    plain: dict[str, Any] = {
        "protocol": {
            "title": "Radiographs", "practice": "Invented", "edition": "1", "status": "draft",
            "review_by": "2099-01-01", "authors": [{"name": "Nobody", "role": "none", "interests": "none"}],
            "scope": "Tests", "cautions": ["Mind this."], "evidence_scheme": "grade", "factors": {"rdt": factor},
            "decisions": {"dentine": {"answers": {"enough": "Enough", "little": "Too little"}}},
        },
        "materials": {"agents": {}},
        "rules": {
            "enough": {**shared, "when": {"rdt": {"at_least": "0.5 mm"}}, "advise": {"dentine": "enough"}},
            "little": {**shared, "when": {"rdt": {"below": "0.5 mm"}}, "advise": {"dentine": "little"}},
        },
    }  # fmt: skip
    return analyse(write_folder(plain, folder), DAY)


def reply(analysis: Analysis, read: str) -> dict[str, Any]:
    assert analysis.protocol is not None
    assert analysis.meaning is not None
    question = put(analysis.meaning, {"rdt.reading": read})
    return reply_json(analysis.protocol, answer(analysis.meaning, question))


@pytest.mark.parametrize(("scale", "true"), [(FILM, "0.41 mm"), (PLATE, "0.7 mm")])
def test_one_millimetre_on_the_radiograph_is_less_in_the_tooth(scale: str, true: str, tmp_path: Path) -> None:
    readings = reply(analysed(tmp_path, scale), "1 mm")["readings"]
    assert readings["rdt"]["corrected"] == true


@pytest.mark.parametrize(("scale", "exact", "rounded"), [(PLATE, "5/7", "0.71"), (FILM, "50/41", "1.22")])
def test_half_a_millimetre_in_the_tooth_is_more_on_the_radiograph(
    scale: str, exact: str, rounded: str, tmp_path: Path
) -> None:
    """A threshold of 0.5 mm is met between readings of 0.71 and 1.22 mm, whichever ratio holds; held exactly."""
    protocol = analysed(tmp_path, scale).protocol
    assert protocol is not None
    found = reading_for(protocol.factors["rdt"], Fraction("0.5"))
    assert found == Fraction(exact)
    assert f"{float(found):.2f}" == rounded


@pytest.mark.parametrize(
    ("scale", "read", "advice"),
    [(PLATE, "0.71", "little"), (PLATE, "0.72", "enough"), (FILM, "1.21", "little"), (FILM, "1.22", "enough")],
)
def test_the_advice_changes_at_that_reading(scale: str, read: str, advice: str, tmp_path: Path) -> None:
    """0.71 x 0.70 is 0.497 mm: rounded to two decimals the reading lies on the side of too little."""
    assert reply(analysed(tmp_path, scale), f"{read} mm")["advice"]["dentine"]["answer"] == advice


@pytest.mark.parametrize(("scale", "printed"), [(PLATE, "0.72 mm"), (FILM, "1.22 mm")])
def test_the_table_of_readings_is_rounded_to_the_cautious_side(scale: str, printed: str, tmp_path: Path) -> None:
    """A printed reading must not count as less than its threshold: 0.714... becomes 0.72, not 0.71."""
    analysis = analysed(tmp_path, scale)
    assert analysis.meaning is not None
    [table] = reading_tables(analysis.meaning)
    assert [(row.value, row.reading) for row in table.rows] == [("0.5 mm", printed)]


def test_bias_first_then_guard_band(tmp_path: Path) -> None:
    """Plate, U = 0.4 mm, w = U: 0.5 mm is met from a reading of (0.5 + 0.4) / 0.7 = 1.2857 mm on."""
    analysis = analysed(tmp_path, PLATE, uncertainty="0.4 mm", guard_band="1")
    assert analysis.protocol is not None
    assert reading_for(analysis.protocol.factors["rdt"], Fraction("0.5")) == Fraction(9, 7)
    assert [reply(analysis, f"{read} mm")["advice"]["dentine"]["answer"] for read in ("1.28", "1.29")] == [
        "little",
        "enough",
    ]
