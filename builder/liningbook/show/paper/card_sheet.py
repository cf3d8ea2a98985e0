"""The paper of a card: its sizes, and how it is set on them.

Paper sizes: ISO 216. The least type sizes follow from how far the eye is: a card on the wall is read over a tray from
60 to 70 cm, one that stands at the chair from about 50 cm, one in the hand from about 35 cm. 11 points at 65 cm, 10 at
50 cm and 9 at 35 cm give capitals of 13, 16 and 20 minutes of arc, well above the 5 that good eyes need.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import IntEnum

SAFE = 8
"""Millimetres at each edge that hold nothing but colour that may be cut: a laminating pouch is sealed over 3 mm and a
guillotine strays by 2, an office printer leaves 5 blank."""
BLEED = 3.5
"""Millimetres by which colour that meets the edge goes on beyond it; the marks for cutting begin at 5."""
UNCUT = 3.2
"""Millimetres into the margin at which the upper edge of a small card is drawn that bears no marks for cutting."""


class Brief(IntEnum):
    """What the back leaves to the printed protocol, and says that it does: each the one before it as well."""

    NOTHING = 0
    PROTECTION = 1
    """What stops which irritant."""
    STANDING = 2
    """The standing cautions, but for their gist: the practice's own go before them."""
    PAIRINGS = 3
    """What goes together: the layers of the chart have been checked for it."""
    CAUTIONS = 4
    """The practice's own cautions."""
    REASONS = 5
    """Why a case is not covered and where to turn. Which cases those are always stands on the card."""
    PAIN = 6
    """What to say when a patient rings with pain, on a card in the hand: it is for whoever answers the telephone."""


@dataclass(frozen=True)
class Sheet:
    """A size of paper, upright, in millimetres, and the type that stands on it, in points.

    `front`, `back` and `scope` are the sizes that are tried for the two sides and for the scope, which takes one line,
    or up to `scope_lines` where one is not enough.
    `band` heads a column of the chart, or a row if the bands stand there, `least_band` where there is no room for it.
    `details` is the least that stands beneath an agent, `label` the name of a layer; `drawing` and `strip` are the
    millimetres of the depth axis and of its pulp. `halves` is in how many columns the lists of the back stand.
    `cell_edges` and `name_edges` are the millimetres that a table's cell and name of a row lose to their edges.
    `note` is what stands small beneath a band.
    `module` is the side of a module of the QR code in millimetres, `correction` its level (ISO/IEC 18004).
    `cut` says that its layers are drawn as its upper edge; with marks for cutting beyond the cut, else in the margin.
    `briefs` are the ways to shorten the back that are tried.
    """

    name: str
    width: int
    height: int
    front: tuple[float, ...]
    back: tuple[float, ...]
    good: float
    scope: tuple[float, ...]
    band: float
    least_band: float
    column: float
    note: float
    module: float
    briefs: tuple[Brief, ...]
    details: float = 11
    label: float = 11
    drawing: float = 15
    strip: float = 4.2
    scope_lines: int = 1
    halves: int = 2
    cell_edges: float = 7.0
    name_edges: float = 3.4
    correction: str = "m"
    cut: bool = True


SHEETS: Mapping[str, Sheet] = {
    "A4": Sheet(
        "A4",
        210,
        297,
        front=(11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0),
        back=(9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0),
        good=13.0,
        scope=(10.0, 10.5, 11.0, 11.5, 12.0),
        band=18,
        least_band=14,
        column=14,
        note=11,
        module=0.5,
        cut=False,
        briefs=(Brief.NOTHING, Brief.PROTECTION, Brief.STANDING, Brief.PAIRINGS),
    ),
    "A5": Sheet(
        "A5",
        148,
        210,
        front=(10.0, 10.5, 11.0, 11.5, 12.0, 12.5, 13.0),
        back=(9.0, 9.5, 10.0, 10.5, 11.0),
        good=12.0,
        scope=(8.5, 9.0, 9.5, 10.0, 10.5),
        band=16,
        least_band=12,
        column=12,
        note=10,
        module=0.45,
        details=9,
        label=9,
        drawing=14,
        strip=3.6,
        briefs=(Brief.PROTECTION, Brief.STANDING, Brief.PAIRINGS, Brief.CAUTIONS, Brief.REASONS),
    ),
    "A6": Sheet(
        "A6",
        105,
        148,
        front=(9.0, 9.5, 10.0, 10.5, 11.0),
        back=(9.0, 9.5, 10.0),
        good=9.5,
        scope=(8.0, 8.5, 9.0),
        scope_lines=2,
        band=12,
        least_band=10,
        column=10,
        note=9,
        halves=1,
        details=9,
        label=9,
        drawing=12,
        strip=3.4,
        cell_edges=5.0,
        name_edges=2.4,
        module=0.4,
        correction="l",
        briefs=tuple(Brief)[1:],
    ),
}


@dataclass(frozen=True)
class CardStyle:
    """How the card is set: type sizes in points; stretch, space added around rows and blocks, in millimetres.

    `bands_down` puts the bands in the rows. `split` is how many entries of the back's lists stand in the left column;
    `brief` is how much of the back is left to the printed protocol, see `Brief`. `small_bands` sets the bands in the
    least size, `drawn` draws the depth axis over them, `run_in` sets the details of a layer on the line
    of its agent. `code_front` puts the QR code into the foot of the front.
    `measuring` names a side (`front`, `back`) to set alone on a page so long that nothing is broken, with all lists in
    the left column.
    """

    landscape: bool = False
    bands_down: bool = False
    front: float = 14
    back: float = 12
    scope: float = 11
    stretch: float = 0
    back_stretch: float = 0
    crop_marks: bool = False
    split: int = 0
    brief: Brief = Brief.NOTHING
    code_front: bool = False
    small_bands: bool = False
    drawn: bool = True
    run_in: bool = False
    measuring: str = ""


def ways() -> tuple[CardStyle, ...]:
    """The ways to set the front that are tried, the one that reads best first."""
    upright = CardStyle()
    flat = replace(upright, landscape=True)
    return upright, replace(upright, bands_down=True), flat, replace(flat, bands_down=True)


def band_size(sheet: Sheet, style: CardStyle) -> float:
    """The size of the type of the bands, in points."""
    return sheet.least_band if style.small_bands else sheet.band


def paper(sheet: Sheet, style: CardStyle) -> tuple[int, int]:
    """Width and height as the sheet is held."""
    return (sheet.height, sheet.width) if style.landscape else (sheet.width, sheet.height)


def page_css(sheet: Sheet, style: CardStyle) -> str:
    """Style rules with the size of the paper and of the type."""
    width, height = paper(sheet, style)
    marks = "bleed: 10mm; marks: crop cross;" if style.crop_marks else ""
    page = f"@page {{ size: {width}mm {3000 if style.measuring else height}mm; margin: {SAFE}mm; {marks} }}"
    sizes = {
        "--front": f"{style.front:g}pt",
        "--back": f"{style.back:g}pt",
        "--scope": f"{style.scope:g}pt",
        "--stretch": f"{style.stretch:.3f}mm",
        "--back-stretch": f"{style.back_stretch:.3f}mm",
        "--side": f"{height - 2 * SAFE - 0.1:g}mm",
        "--edge": f"{-(SAFE + BLEED if style.crop_marks else UNCUT):g}mm",
        "--edge-left": f"{-(SAFE + BLEED) if style.crop_marks else 0:g}mm",
        "--edge-width": f"{width + 2 * BLEED if style.crop_marks else width - 2 * SAFE:g}mm",
        "--edge-height": f"{BLEED + 2.6 if style.crop_marks else 1.1:g}mm",
    }
    return page + " :root { " + " ".join(f"{name}: {value};" for name, value in sizes.items()) + " }"
