"""`card.yaml` and `copies.yaml`: what is read, and each mistake said once where it stands."""

# A case stands on one line, so that the table can be read down.
# ruff: noqa: E501

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.finding import Finding
from liningbook.model.protocol import Card, Protocol
from liningbook.notation.interval import Lower, Range, Upper
from tests.saying import advice_of, message_of, related_of

DAY = date(2026, 11, 25)
FACTORS = """\
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm, step: 0.1 mm, reading: {method: film, scale: 0.7, uncertainty: 0.4 mm, cautious: below}}
  age: {label: Age, kind: quantity, unit: a, at_least: 0 a, at_most: 120 a}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite, cast: Cast metal}}
  pulp: {label: Pulp, kind: choice, values: {normal: Normal, sore: Sore}}
  allergy: {label: Allergy, kind: yes-no}
"""
PROTOCOL = """\
title: A protocol
practice: Example Practice
edition: 2026.10
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
%sdecisions:
  management: {label: Management, answers: {restore: Restore, assess: Assess first}}
  liner: {label: Liner, layer: liner, needed_when: {management: [restore]}}
"""
SOUND = {
    "protocol.yaml": PROTOCOL % FACTORS,
    "materials.yaml": "agents: {lime: {label: Lime, class: liner}}\n",
    "rules/all.md": "---\ntitle: All\nadvise: {management: restore, liner: none}\nevidence: {basis: good-practice, note: Invented.}\n---\n",
}


def build(folder: Path, **files: str) -> tuple[Protocol | None, list[Finding]]:
    """The protocol of the sound sources with others written over them, and the findings that are errors."""
    named = {"card": "card.yaml", "copies": "copies.yaml", "protocol": "protocol.yaml"}
    for name, text in {**SOUND, **{named[key]: text for key, text in files.items()}}.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    found = analyse(folder, DAY)
    return found.protocol, [finding for finding in found.findings if finding.severity == "error"]


def card(folder: Path, text: str) -> Card:
    protocol, findings = build(folder, card=text)
    assert findings == []
    assert protocol is not None
    return protocol.card


# --- what is read -----------------------------------------------------------------------------------------------------


def test_without_the_files_the_card_shows_everything_and_hangs_nowhere(tmp_path: Path) -> None:
    protocol, findings = build(tmp_path)
    assert findings == []
    assert protocol is not None
    assert protocol.card == Card()
    assert protocol.copies == ()


def test_an_empty_mapping_changes_nothing(tmp_path: Path) -> None:
    assert card(tmp_path, "{}\n") == Card()


def test_every_field_is_read(tmp_path: Path) -> None:
    found = card(
        tmp_path,
        "size: [A6, A4]\nscale: reading\nusual: {pulp: sore, allergy: yes, age: {at_least: 18 a}}\n"
        "restorations: [composite, amalgam]\nbands: [{above: 0.5 mm, at_most: 2 mm}, {exactly: 3 mm}]\n"
        "decisions: [liner]\nbands_by: rdt\nrings_with_pain: [Note the time., Book.]\n",
    )
    assert (found.sizes, found.scale, found.decisions) == (("A6", "A4"), "reading", ("liner",))
    assert (found.columns_by, found.columns, found.bands_by) == ("restoration", ("composite", "amalgam"), "rdt")
    assert found.bands is not None
    assert found.bands.ranges == (
        Range(Lower(Fraction(1, 2), False), Upper(Fraction(2), True)),
        Range(Lower(Fraction(3), True), Upper(Fraction(3), True)),
    )
    assert list(found.usual.conditions) == ["pulp", "allergy", "age"]
    assert found.usual.conditions["allergy"].values == ("yes",)
    assert found.pain == ("Note the time.", "Book.")


def test_values_tell_which_choice_makes_the_columns(tmp_path: Path) -> None:
    assert card(tmp_path, "restorations: [sore]\n").columns_by == "pulp"


def test_a_single_size_needs_no_list(tmp_path: Path) -> None:
    assert card(tmp_path, "size: A5\n").sizes == ("A5",)


def test_copies_keep_their_order_and_an_edition_may_look_like_a_number(tmp_path: Path) -> None:
    text = "copies:\n  - {room: Surgery 2, edition: 2026.10, since: 2026-03-02}\n  - {room: 7}\n"
    protocol, findings = build(tmp_path, copies=text)
    assert findings == []
    assert protocol is not None
    assert [(c.room, c.edition, c.since) for c in protocol.copies] == [
        ("Surgery 2", "2026.10", date(2026, 3, 2)),
        ("7", "", None),
    ]


def test_neither_file_touches_the_bundle(tmp_path: Path) -> None:
    build(tmp_path / "without")
    build(tmp_path / "with", card="bands_by: rdt\nbands: {at_most: 1.3 mm}\n", copies="copies: [{room: A}]\n")
    without, with_ = (bundle_of(analyse(tmp_path / name, DAY)) for name in ("without", "with"))
    assert without == with_


# --- what is wrong ----------------------------------------------------------------------------------------------------

TWO_CHOICES = PROTOCOL % FACTORS.replace("{normal: Normal", "{amalgam: Old amalgam, normal: Normal")
ONE_QUANTITY = PROTOCOL % "".join(line for line in FACTORS.splitlines(True) if "age:" not in line)
NO_QUANTITY = PROTOCOL % "".join(FACTORS.splitlines(True)[2:])
NO_CAUTION = PROTOCOL % FACTORS.replace(", cautious: below", "")
"""Protocols with other factors."""


@pytest.mark.parametrize(
    ("text", "place", "kind", "message", "advice"),
    [
        ("size: A3\n", (1, 7), "schema", "`size` must be A4, A5 or A6, or a list of them, such as `A4`, not 'A3'", ""),
        ("size: [A4, A4]\n", (1, 12), "schema", "the size 'A4' is listed twice", "keep one of the two"),
        ("size: []\n", (1, 7), "schema", "`size` must be A4, A5 or A6, or a list of them, such as `A4`, not an empty list", ""),
        ("sice: A4\n", (1, 1), "schema", "'sice' is not a field of card.yaml", "did you mean `size`?"),
        ("scale: film\n", (1, 8), "schema", "`scale` must be value or reading, not 'film'", ""),
        ("scale: reading\nbands_by: age\n", (1, 8), "schema", "the protocol does not say how Age is read off", "write `value`, or add `reading` to the factor age in protocol.yaml"),
        ("scale: reading\n", (1, 1), "schema", "the protocol has several quantities, so it is open which of them makes the bands", "add `bands_by`: name rdt or age"),
        ("bands: {at_most: 2 mm}\n", (1, 1), "schema", "the protocol has several quantities, so it is open which of them makes the bands", "add `bands_by`: name rdt or age"),
        ("bands_by: restoration\n", (1, 11), "schema", "Restoration is no quantity, so it cannot make the bands of the card", "name rdt or age"),
        ("bands_by: rtd\n", (1, 11), "unknown-name", "there is no factor called 'rtd'", "did you mean `rdt`?"),
        ("columns_by: rdt\n", (1, 13), "schema", "Dentine left is no choice, so it cannot make the columns of the card", "name restoration or pulp"),
        ("bands_by: rdt\nbands: {at_most: 7 mm}\n", (2, 18), "out-of-limits", "7 mm is outside the limits of Dentine left (0 mm to 6 mm)", "write a value within them, or change them (factor rdt in protocol.yaml)"),
        ("bands_by: rdt\nbands: {at_most: 0.75 mm}\n", (2, 18), "out-of-limits", "0.75 mm is not a whole multiple of the step of Dentine left (0.1 mm)", "write a multiple of it, or change the step (factor rdt in protocol.yaml)"),
        ("bands_by: rdt\nbands: {at_most: 0.5}\n", (2, 18), "unit", "the number has no unit", "write `0.5 mm`, if mm is meant"),
        ("bands_by: rdt\nbands: {above: 2 mm, below: 1 mm}\n", (2, 8), "empty-range", "no value of Dentine left lies in this range", "check which bound is the smaller, and which of them are to be included"),
        ("bands_by: rdt\nbands: thin\n", (2, 8), "schema", "Dentine left is a quantity, so it needs a range here", "write for example `{at_most: 0.5 mm}` or `{exactly: 0.5 mm}`"),
        ("restorations: [amalgam, compsite]\n", (1, 25), "unknown-name", "there is no value of Restoration called 'compsite'", "did you mean `composite`?"),
        ("restorations: [amalgm]\n", (1, 16), "unknown-name", "there is no value of a choice called 'amalgm'", "did you mean `amalgam`?"),
        ("restorations: [amalgam, composite, amalgam]\n", (1, 36), "schema", "the value 'amalgam' is listed twice", "keep one of the two"),
        ("columns_by: pulp\nrestorations: [amalgam]\n", (2, 16), "unknown-name", "there is no value of Pulp called 'amalgam'", "known here: normal, sore"),
        ("restorations: []\n", (1, 15), "schema", "`restorations` must be a list of values, such as `[amalgam, composite]`, not an empty list", ""),
        ("decisions: [liner, basis]\n", (1, 20), "unknown-name", "there is no decision called 'basis'", "known here: management, liner"),
        ("decisions: [liner, liner]\n", (1, 20), "schema", "the decision 'liner' is listed twice", "keep one of the two"),
        ("usual: {plup: normal}\n", (1, 9), "unknown-name", "there is no factor called 'plup'", "did you mean `pulp`?"),
        ("usual: {pulp: nromal}\n", (1, 15), "unknown-name", "there is no value of Pulp called 'nromal'", "did you mean `normal`?"),
        ("usual: {pulp: [normal, sore]}\n", (1, 15), "schema", "one value of Pulp is the usual one", "write for example `normal`"),
        ("usual: {age: 30 a}\n", (1, 14), "schema", "Age is a quantity, so it needs a range here", "write for example `{at_most: 30 a}` or `{exactly: 30 a}`"),
        ("restorations: [amalgam]\nusual: {restoration: amalgam}\n", (2, 9), "schema", "Restoration makes the columns of the card, so all its values are shown and none is the usual one", "leave it out here"),
        ("usual: {restoration: amalgam, pulp: sore}\n", (1, 9), "schema", "every choice has a usual value here, so none is left to make the columns of the card", "leave out restoration or pulp"),
        ("usual: {}\n", (1, 8), "schema", "`usual` must be factors with their usual values, such as `{pulp: normal, allergy: no}`, not an empty group", ""),
        ("rings_with_pain: Book.\n", (1, 18), "schema", "`rings_with_pain` must be a list of texts, such as `[Note the time., Offer an appointment today.]`, not a text", "write `[Book.]`"),
        ("rings_with_pain: ['']\n", (1, 19), "schema", "item 1 of `rings_with_pain` must be a text, not an empty text", ""),
        ("rings_with_pain: [\"bell \\a\"]\n", (1, 19), "unreadable", "the text holds a hidden character (U+0007)", "delete what stands for it"),
        ("rings_with_pain: [bell \x07]\n", (1, 24), "unreadable", "a hidden character stands here (U+0007)", "delete it, or type the passage again"),
        ("- A4\n", (1, 1), "schema", "card.yaml must be the fields of a card, not a list", ""),
    ],
)  # fmt: skip
def test_a_mistake_in_the_card_is_told_where_it_stands(
    text: str, place: tuple[int, int], kind: str, message: str, advice: str, tmp_path: Path
) -> None:
    protocol, findings = build(tmp_path, card=text)
    assert protocol is None
    [found] = findings
    assert (found.span.file, found.kind) == ("card.yaml", kind), found
    assert (found.span.line, found.span.column) == place, found
    assert message_of(found) == message
    assert not advice or advice_of(found)[0] == advice


@pytest.mark.parametrize(
    ("protocol", "text", "message"),
    [
        (
            TWO_CHOICES,
            "restorations: [amalgam]\n",
            "more than one choice has these values, so they do not tell which makes the columns",
        ),
        (NO_QUANTITY, "bands: {at_most: 2 mm}\n", "the protocol has no quantity, so its card has no bands"),
        (
            NO_CAUTION,
            "bands_by: rdt\nscale: reading\n",
            "the protocol does not say on which side a doubtful reading of Dentine left is taken, so no threshold can be rounded",
        ),
        (
            ONE_QUANTITY,
            "usual: {rdt: {at_most: 2 mm}}\n",
            "every quantity has a usual value here, so none is left to make the bands of the card",
        ),
    ],
)
def test_what_a_card_asks_of_a_protocol_must_be_there(protocol: str, text: str, message: str, tmp_path: Path) -> None:
    _, findings = build(tmp_path, protocol=protocol, card=text)
    assert [(found.span.file, message_of(found)) for found in findings] == [("card.yaml", message)]
    assert advice_of(findings[0])


def test_with_one_quantity_nothing_need_name_it(tmp_path: Path) -> None:
    protocol, findings = build(tmp_path, protocol=ONE_QUANTITY, card="bands: {at_most: 2 mm}\nscale: reading\n")
    assert findings == []
    assert protocol is not None
    assert protocol.card.bands_by == "rdt"


@pytest.mark.parametrize(
    ("text", "place", "kind", "message", "advice"),
    [
        ("copies: []\n", (1, 9), "schema", "`copies` must be a list of rooms with the edition that hangs there, not an empty list", ""),
        ("{}\n", (1, 1), "schema", "`copies` is missing", ""),
        ("copies: [{edition: 2026.1}]\n", (1, 11), "schema", "`room` is missing in item 1 of `copies`", "write for example `room: Surgery 1`"),
        ("copies: [{room: A, editon: 2}]\n", (1, 20), "schema", "'editon' is not a field of a copy", "did you mean `edition`?"),
        ("copies:\n  - {room: Surgery 1}\n  - {room: surgery 1}\n", (3, 12), "schema", "the room 'surgery 1' is listed twice", "keep one of the two"),
        ("copies: [{room: A, edition: 2, since: 2026-02-30}]\n", (1, 39), "schema", "'2026-02-30' is not a day of the calendar", ""),
        ("copies: [{room: A, edition: 2, since: 1.3.26}]\n", (1, 39), "schema", "`since` must be a date written year-month-day, such as `2026-03-02`, not '1.3.26'", "write `2026-03-01` if the day stands first, `2026-01-03` if the month does"),
        ("copies: [{room: A, since: 2026-03-02}]\n", (1, 20), "schema", "this does not say which edition hangs in A", "add `edition`, or leave out `since`"),
    ],
)  # fmt: skip
def test_a_mistake_in_the_copies_is_told_where_it_stands(
    text: str, place: tuple[int, int], kind: str, message: str, advice: str, tmp_path: Path
) -> None:
    protocol, findings = build(tmp_path, copies=text)
    assert protocol is None
    [found] = findings
    assert (found.span.file, found.kind) == ("copies.yaml", kind)
    assert (found.span.line, found.span.column) == place, found
    assert message_of(found) == message
    assert not advice or advice_of(found)[0] == advice


def test_the_other_place_of_a_room_named_twice_is_shown(tmp_path: Path) -> None:
    _, [found] = build(tmp_path, copies="copies:\n  - {room: A}\n  - {room: A}\n")
    assert [(span.line, span.column) for span, _ in related_of(found)] == [(2, 12)]


@pytest.mark.parametrize(
    ("name", "instead"), [("card.yml", "card.yaml"), ("Cards.yaml", "card.yaml"), ("copy.yaml", "copies.yaml")]
)
def test_a_misnamed_file_is_told(name: str, instead: str, tmp_path: Path) -> None:
    build(tmp_path)
    (tmp_path / name).write_text("size: A4\n")
    found = [finding for finding in analyse(tmp_path, DAY).findings if finding.kind == "not-read"]
    assert [(finding.span.file, advice_of(finding)[0]) for finding in found] == [(name, f"rename it to `{instead}`")]
