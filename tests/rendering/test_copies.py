"""Where the cards hang: numbered copies, the withdrawal notice of one page, and the register."""

from __future__ import annotations

import re
import shutil
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.outputs.make import outputs
from liningbook.show.assets.fonts import MissingGlyph
from liningbook.show.paper.copies import (
    TooManyRooms,
    copies_view,
    notice_pdf,
    numbered_cards,
    register_pdf,
)
from liningbook.show.paper.overflow import DoesNotFit
from liningbook.show.viewer import Viewer
from liningbook.show.views.copies_view import CopiesView, CopyRow
from tests.rendering import sample_view as sample
from tests.rendering.measure import font_names, page_texts, problems_of, squeeze, weakest_contrast

DAY = date(2026, 11, 25)
TERN_STREET = Path(__file__).resolve().parents[2] / "guidelines" / "tern-street"
EPOCH = 1_756_684_800
ROWS = (
    CopyRow(1, "Surgery 1", "2026.2", "1 September 2026", owes=False, is_due=False),
    CopyRow(2, "Surgery 2", "2026.1", "2 March 2026", owes=True, is_due=True),
    CopyRow(3, "Hygienist's room <b>", "2025.4", "", owes=True, is_due=True),
    CopyRow(4, "Staff room", "", "", owes=False, is_due=True),
)


def copies(rows: Sequence[CopyRow] = ROWS, **changes: object) -> CopiesView:
    replaced = tuple(dict.fromkeys(row.edition for row in rows if row.owes))
    return CopiesView(sample.identity(**changes), tuple(rows), replaced)


def many(count: int, room: str = "Surgery") -> CopiesView:
    return copies(
        [CopyRow(n, f"{room} {n}", "2026.1", "2 March 2026", owes=True, is_due=True) for n in range(1, count + 1)]
    )


def viewer_of(folder: Path, day: date = DAY) -> Viewer:
    analysis = analyse(folder, day)
    assert analysis.meaning is not None, analysis.findings
    return Viewer(analysis, bundle_of(analysis)["digest"], lambda text: text)


@pytest.fixture(scope="module")
def demonstration() -> Viewer:
    return viewer_of(TERN_STREET)


@pytest.fixture(scope="module")
def notice(pango: None) -> bytes:  # noqa: ARG001
    return notice_pdf(copies(), EPOCH)


@pytest.fixture(scope="module")
def register(pango: None) -> bytes:  # noqa: ARG001
    return register_pdf(copies(), EPOCH)


def sizes(pdf: bytes) -> list[tuple[int, int]]:
    """Width and height of each page in millimetres."""
    return [
        (round(width * 25.4 / 72), round(height * 25.4 / 72))
        for width, height in (page.get_size() for page in pypdfium2.PdfDocument(pdf))
    ]


def says(pdf: bytes, words: str) -> bool:
    """Whether the words stand in the text, white space apart."""
    return squeeze(words) in "".join(page_texts(pdf))


# --- which rooms owe what ---------------------------------------------------------------------------------------------


def edition(place: Path, **changes: str) -> Path:
    """The demonstration with other words in `protocol.yaml`, and other rooms in `copies.yaml`."""
    folder = Path(shutil.copytree(TERN_STREET, place / "protocol"))
    rooms = changes.pop("rooms", "")
    if rooms:
        (folder / "copies.yaml").write_text(rooms, encoding="utf-8")
    text = (folder / "protocol.yaml").read_text(encoding="utf-8")
    for key, value in changes.items():
        text = re.sub(rf"(?m)^{key}: .*$", f"{key}: {value}", text)
    (folder / "protocol.yaml").write_text(text, encoding="utf-8")
    return folder


def due(viewer: Viewer) -> list[str]:
    return [row.room for row in copies_view(viewer).rows if row.is_due]


def test_a_room_with_another_edition_owes_it(demonstration: Viewer) -> None:
    view = copies_view(demonstration)
    assert [(row.number, row.room) for row in view.rows if row.owes] == [(3, "Surgery 3")]
    assert view.replaced == ("2026.1",)
    assert [row.since for row in view.rows][2:] == ["2 March 2026", "2 September 2026", "1 September 2026", ""]


def test_a_copy_is_due_where_this_edition_does_not_hang(demonstration: Viewer) -> None:
    assert due(demonstration) == ["Surgery 3", "Staff room"]


@pytest.mark.parametrize(
    ("changes", "day", "names"),
    [
        ({"status": "withdrawn"}, DAY, ["card.pdf", "withdrawal-notice.pdf", "copies-register.pdf"]),
        ({"status": "draft"}, DAY, ["card.pdf"]),
        ({}, date(2029, 1, 1), ["card.pdf"]),
    ],
)
def test_none_is_due_of_an_edition_that_must_not_be_used(
    changes: dict[str, str], day: date, names: list[str], tmp_path: Path
) -> None:
    viewer = viewer_of(edition(tmp_path, **changes), day)
    assert due(viewer) == []
    assert [made.name for made in outputs(viewer.analysis, ["card"])] == names


def test_every_room_is_due_of_an_edition_to_come(tmp_path: Path) -> None:
    viewer = viewer_of(edition(tmp_path, edition="2027.1", in_force_from="2027-03-01"))
    assert len(due(viewer)) == 6
    assert [row.room for row in copies_view(viewer).rows if not row.owes] == ["Staff room"]


def test_every_room_owes_its_card_once_the_edition_is_withdrawn(tmp_path: Path) -> None:
    view = copies_view(viewer_of(edition(tmp_path, status="withdrawn")))
    assert [row.room for row in view.rows if not row.owes] == ["Staff room"]
    assert view.replaced == ("2026.2", "2026.1")


def test_a_copy_that_is_due_has_its_number_and_its_room(demonstration: Viewer) -> None:
    cards = numbered_cards(demonstration, demonstration.card_views("A4"))
    assert [card.copy for card in cards] == ["Copy 3 of 6, Surgery 3", "Copy 6 of 6, Staff room"]
    assert {replace(card, copy="") for card in cards} == set(demonstration.card_views("A4"))


def test_a_copy_on_small_paper_is_a_card_a_restoration(demonstration: Viewer) -> None:
    cards = numbered_cards(demonstration, demonstration.card_views("A6"))
    assert [card.copy for card in cards] == ["Copy 3 of 6, Surgery 3"] * 7 + ["Copy 6 of 6, Staff room"] * 7


def test_where_every_room_has_its_card_there_is_the_register_alone(tmp_path: Path) -> None:
    folder = edition(tmp_path, rooms="copies: [{room: Surgery 1, edition: 2026.2}]\n")
    assert [made.name for made in outputs(analyse(folder, DAY), ["card"])] == ["card.pdf", "copies-register.pdf"]


def test_the_files_of_a_build(tmp_path: Path) -> None:
    names = [made.name for made in outputs(analyse(TERN_STREET, DAY), ["card"])]
    assert names == ["card.pdf", "card-copies.pdf", "withdrawal-notice.pdf", "copies-register.pdf"]
    folder = tmp_path / "protocol"
    shutil.copytree(TERN_STREET, folder)
    (folder / "copies.yaml").unlink()
    (folder / "card.yaml").write_text("size: [A5, A4]\n", encoding="utf-8")
    assert [made.name for made in outputs(analyse(folder, DAY), ["card"])] == ["card.pdf", "card-a4.pdf"]


# --- the notice -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_notice_and_register_conform(notice: bytes, register: bytes, profile: str) -> None:
    assert problems_of(notice, profile) == []
    assert problems_of(register, profile) == []


def test_the_notice_is_one_page_and_says_what_where_and_what_instead(notice: bytes) -> None:
    assert sizes(notice) == [(210, 297)]
    digest = sample.identity().digest
    for words in (
        "Take these cards down",
        "Must come down Edition 2026.1, Edition 2025.4. A card of these editions must not be used from now on.",
        "2 Surgery 2 2026.1 since 2 March 2026",
        "3 Hygienist's room <b> 2025.4",
        f"Hang instead Edition 2026.2, edition mark {digest[:8]}. In force from 1 September 2026, for use until",
        "A new card goes up here too, where none hangs yet: Staff room.",
        "Taken down by (name) Date",
        f"Whom to give the old cards to {sample.identity().contact}",
    ):
        assert says(notice, words), words


def test_the_notice_names_no_room_in_which_nothing_is_to_be_done(notice: bytes) -> None:
    assert not says(notice, "Surgery 1")


def test_a_notice_of_a_withdrawn_edition_puts_nothing_in_its_place(pango: None) -> None:  # noqa: ARG001
    rows = [replace(ROWS[0], owes=True)]
    view = copies(rows, status="withdrawn", status_words="Withdrawn, not to be used", in_force_from="")
    pdf = notice_pdf(view, EPOCH)
    assert says(pdf, "WITHDRAWN: do not use")
    assert says(pdf, "Hang instead Nothing.")
    for sheet in (pdf, register_pdf(view, EPOCH)):
        assert not says(sheet, "In force")


def test_an_edition_to_come_leaves_the_old_cards_until_its_day(tmp_path: Path, pango: None) -> None:  # noqa: ARG001
    view = copies_view(viewer_of(edition(tmp_path, edition="2027.1", in_force_from="2027-03-01")))
    pdf, register = notice_pdf(view, EPOCH), register_pdf(view, EPOCH)
    assert says(pdf, "On 1 March 2027 take these cards down")
    assert says(
        pdf, "Edition 2026.2, Edition 2026.1. Their cards hang until 1 March 2027; from that day none must be used."
    )
    assert not says(pdf, "from now on")
    assert says(register, "take down on 1 March 2027")
    for sheet in (pdf, register):
        assert says(
            sheet,
            f"edition mark {view.identity.digest[:8]}. Not yet in force. Use from 1 March 2027 to 1 September 2028.",
        )
        assert not says(sheet, "In force")


def test_an_edition_is_said_to_be_in_force_only_while_it_is(tmp_path: Path) -> None:
    early = viewer_of(edition(tmp_path / "early", in_force_from="2027-03-01")).identity()
    assert (early.status_words, early.use_from, early.in_force_from) == ("Not yet in force", "1 March 2027", "")
    for number, (changes, day) in enumerate([({"status": "withdrawn"}, DAY), ({}, date(2029, 1, 1))]):
        who = viewer_of(edition(tmp_path / str(number), **changes), day).identity()
        assert (who.in_force_from, "force" in who.status_words) == ("", False)


def test_a_draft_says_on_both_sheets_that_it_is_one(pango: None) -> None:  # noqa: ARG001
    view = CopiesView(sample.DRAFT, ROWS, ("2026.1", "2025.4"))
    assert all(says(make(view, EPOCH), "DRAFT: do not use") for make in (notice_pdf, register_pdf))


def test_more_rooms_make_the_type_smaller_and_too_many_are_an_error(pango: None) -> None:  # noqa: ARG001
    assert sizes(notice_pdf(many(24), EPOCH)) == [(210, 297)]
    with pytest.raises(TooManyRooms, match="with 70 rooms it takes 2: shorten") as caught:
        notice_pdf(many(70), EPOCH)
    assert isinstance(caught.value, DoesNotFit)


def test_a_word_wider_than_its_column_is_broken_and_not_cut(pango: None) -> None:  # noqa: ARG001
    word = "Extraordinarilylongnamedtreatmentroom"
    pdf = notice_pdf(copies([replace(ROWS[1], room=word)]), EPOCH)
    assert word in "".join(page_texts(pdf))


def test_a_room_that_cannot_be_drawn_is_named(pango: None) -> None:  # noqa: ARG001
    with pytest.raises(MissingGlyph, match="the room"):
        notice_pdf(copies([replace(ROWS[1], room="Surgery 漢")]), EPOCH)


# --- the register -----------------------------------------------------------------------------------------------------


def test_the_register_has_a_line_for_every_room_that_is_due_and_says_why_the_others_are_not(register: bytes) -> None:
    assert sizes(register) == [(297, 210)]
    for words in (
        "4 copies: 3 to hang, 2 to take down.",
        "2 Surgery 2 2026.1 since 2 March 2026 take down",
        "4 Staff room no card",
        "Not due • 1 Surgery 1: holds edition 2026.2 already, since 1 September 2026",
    ):
        assert says(register, words), words
    assert "".join(page_texts(register)).count(squeeze("Surgery 1")) == 1


def test_a_long_register_goes_on_with_its_headings(pango: None) -> None:  # noqa: ARG001
    pages = page_texts(register_pdf(many(60), EPOCH))
    assert len(pages) > 2
    assert all("Newcardhungon,by" in page for page in pages)


@pytest.mark.parametrize("which", ["notice", "register"])
def test_our_font_only_contrast_and_the_same_bytes(which: str, request: pytest.FixtureRequest) -> None:
    pdf: bytes = request.getfixturevalue(which)
    assert all("SourceSansPro" in name.replace("-", "") for name in font_names(pdf))
    assert weakest_contrast(pdf, 0)[0] >= 7
    assert {"notice": notice_pdf, "register": register_pdf}[which](copies(), EPOCH) == pdf
