"""The back of the card: its table of exceptions, and its lists as one run of entries shared out to two columns."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from liningbook.say.cases import labelled
from liningbook.say.outputs import charts as words
from liningbook.say.safety import standing_cautions, standing_in_brief
from liningbook.say.texts import t
from liningbook.show.figures.card_figures import is_address
from liningbook.show.markup.grid import Grid, GridRow
from liningbook.show.paper.card_sheet import SHEETS, Brief
from liningbook.show.views.view import CardView, Cell, Labelled, Step

_MIDDLE = 4.0
"""Millimetres of height that are given up to keep a section in one column."""


@dataclass(frozen=True)
class BackEntry:
    """One entry of a list: `label`, in bold, and `text`. `heading` stands over the first entry of a section only.

    `id` names the entry in the template, `sign` a picture of `tones.sign`, if any. `kind` is `text`, or what stands
    in a box: `ask`, `pain` (lines to write on where there is no text), `code` (a QR code beside the text).
    """

    id: str
    section: str
    heading: str
    label: str
    text: str
    sign: str = ""
    kind: str = "text"
    runs_on: bool = False


def entries(view: CardView, brief: Brief = Brief.NOTHING, with_code: bool = True) -> tuple[BackEntry, ...]:
    """All entries in reading order. What is left to the protocol is named among what the card leaves out.

    `with_code` puts the QR code last, if the card has one.
    """
    who = view.identity
    left_out = tuple(Labelled("", text) for text in view.left_out)
    changes = tuple(Labelled("", text) for text in view.changes)
    in_hand = SHEETS[view.size].halves == 1
    contact = (Labelled("", who.contact),) if who.contact and not (in_hand and who.stop_questions) else ()
    readings = []
    for table in view.readings:
        rows = [row.words or t.passed_at(value=row.value, reading=row.reading) for row in table.rows]
        if rows:
            readings.append(Labelled(", ".join(filter(None, (table.factor, table.method))), "; ".join(rows)))
    protection = () if brief >= Brief.PROTECTION else view.protection
    pairings = () if brief >= Brief.PAIRINGS else view.pairings
    own = [text for text in who.cautions if text not in standing_cautions()]
    standing = [text for text in who.cautions if text not in own]
    said = [
        *(own if brief < Brief.CAUTIONS else ()),
        *([standing_in_brief()] if standing and brief >= Brief.STANDING else standing),
    ]
    cautions = tuple(Labelled("", text) for text in said)
    exclusions = view.exclusions
    shortened = bool(exclusions) and brief >= Brief.REASONS
    if shortened:
        exclusions = tuple(Labelled(fact.label, "") for fact in exclusions)
    pain = () if brief >= Brief.PAIN else (Labelled("", view.pain),)
    elsewhere = words.left_to_protocol(
        protection=bool(view.protection and not protection),
        pairings=bool(view.pairings and not pairings),
        cautions=len(own) if brief >= Brief.CAUTIONS else 0,
        reasons=shortened,
        pain=bool(view.pain and not pain),
    )
    if elsewhere:
        left_out += (Labelled("", elsewhere),)
    code = (Labelled("", code_words(view)),) if view.code and with_code else ()
    found: list[BackEntry] = []
    for kind, facts in (
        ("never", _together(view.never, view.size)),
        ("avoid", _together(view.avoid, view.size)),
        ("pairing", pairings),
        ("reading", readings),
        ("exclusion", exclusions),
        ("left-out", left_out),
        ("protection", protection),
        ("caution", cautions),
        ("change", changes),
        ("ask", contact),
        ("pain", pain),
        ("code", code),
    ):
        section = words.section(kind)
        sign = kind if kind in ("never", "avoid") else ""
        for index, fact in enumerate(facts):
            first = not found or found[-1].section != section
            label = words.sign_words(sign, fact.label) if sign else fact.label
            box = kind if kind in ("ask", "pain", "code") else "text"
            runs_on = kind in ("caution", "left-out")
            name = f"b-{kind}-{index}"
            found.append(BackEntry(name, section, section if first else "", label, fact.text, sign, box, runs_on))
    return tuple(found)


def beside_code(column: Sequence[BackEntry]) -> str:
    """Where on a card in the hand begins what stands beside the QR code at the end, if there is one.

    Normally what to say to pain; where that is left to the protocol, the cautions and what follows them.
    """
    if not column or column[-1].kind != "code":
        return ""
    starts = [entry.id for entry in column if entry.heading and entry.id.startswith(("b-pain", "b-caution"))]
    return starts[-1] if starts else ""


def _together(facts: Sequence[Labelled], size: str) -> tuple[Labelled, ...]:
    """The facts; on a small card those of the same text as one."""
    if size == "A4":
        return tuple(facts)
    labels: dict[str, list[str]] = {}
    for fact in facts:
        labels.setdefault(fact.text, []).append(fact.label)
    return tuple(Labelled("; ".join(names), text) for text, names in labels.items())


def code_words(view: CardView) -> str:
    """What stands beside the QR code."""
    return words.code_words(is_address(view.code), view.size == "A6", edition_mark(view))


def edition_mark(view: CardView) -> str:
    """The first 8 characters of the digest."""
    return view.identity.digest[:8]


def exceptions_grid(view: CardView) -> Grid:
    """The exceptions as a grid, for the widths of their columns: what the patient has, and what then."""
    rows = []
    for group in view.exceptions:
        names = tuple(f" {t.and_} ".join(one) for one in group.triggers)
        steps = tuple(
            Step(
                0, labelled(", ".join(line.where), f"{line.label} {line.head}") if line.where else line.head, line.rest
            )
            for line in group.lines
        )
        rows.append(GridRow(names, (Cell("", steps, group.lines[0].tone),)))
    return Grid(t.patient_has, "", ((t.then_instead,),), tuple(rows))


def shared_out(run: Sequence[BackEntry], split: int) -> tuple[tuple[BackEntry, ...], tuple[BackEntry, ...]]:
    """The entries of the left and of the right column; a section that goes on says so."""
    left, right = tuple(run[:split]), tuple(run[split:])
    if left and right and not right[0].heading:
        right = (_headed_again(right[0]), *right[1:])
    return left, right


def continued(run: Sequence[BackEntry]) -> tuple[BackEntry, ...]:
    """What can stand over the right column, for measuring it: for each section that can go on there, an empty entry."""
    inside = {entry.section: entry for entry in run if not entry.heading}
    return tuple(
        replace(_headed_again(entry), id=f"{entry.id}-again", label="", text="", sign="") for entry in inside.values()
    )


def _headed_again(entry: BackEntry) -> BackEntry:
    return replace(entry, heading=t.continued(section=entry.section))


def groups(column: Sequence[BackEntry]) -> Iterator[tuple[str, tuple[BackEntry, ...]]]:
    """The entries of a column by heading."""
    start = 0
    for end in range(1, len(column) + 1):
        if end == len(column) or column[end].heading:
            yield column[start].heading, tuple(column[start:end])
            start = end


def best_split(run: Sequence[BackEntry], tops: Sequence[float], again: Mapping[str, float]) -> tuple[int, float]:
    """Where to share out the run, and the height of the taller column.

    `tops` holds where each entry begins (its heading, if it has one) when all stand in one column, and, last, where
    the last one ends; `again` is how tall the heading of each section is that goes on (`continued`). All in one unit.
    """
    if not run:
        return 0, 0.0
    choices = []
    for split in range(1, len(run) + 1):
        left = tops[split] - tops[0]
        right = tops[-1] - tops[split]
        inside = split < len(run) and not run[split].heading
        taller = max(left, right + (again[run[split].section] if inside else 0))
        choices.append((taller + (_MIDDLE if inside else 0), split, taller))
    _, split, taller = min(choices)
    return split, taller
