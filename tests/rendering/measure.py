"""What the tests read from a finished PDF: glyphs with size, place and colour, plain text, pixels, structure."""

from __future__ import annotations

import ctypes
import io
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import page as page_validation
import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium
import zxingcpp

MM = 72 / 25.4


@dataclass(frozen=True)
class Glyph:
    """A drawn character: page from 0, size in points, box in points from the bottom left, declared colour."""

    page: int
    char: str
    size: float
    box: tuple[float, float, float, float]
    colour: tuple[int, int, int]


def glyphs(pdf: bytes) -> Iterator[Glyph]:
    document = pypdfium2.PdfDocument(pdf)
    for number in range(len(document)):
        text = document[number].get_textpage()
        matrix = pdfium.FS_MATRIX()
        rgba = [ctypes.c_uint() for _ in range(4)]
        box = [ctypes.c_double() for _ in range(4)]
        for index in range(text.count_chars()):
            point = pdfium.FPDFText_GetUnicode(text.raw, index)
            if point <= 32 or point == 0xA0:
                continue
            pdfium.FPDFText_GetMatrix(text.raw, index, matrix)
            scale = (matrix.c**2 + matrix.d**2) ** 0.5
            pdfium.FPDFText_GetFillColor(text.raw, index, *rgba)
            pdfium.FPDFText_GetCharBox(text.raw, index, *box)
            left, right, bottom, top = (value.value for value in box)
            yield Glyph(
                number,
                chr(point),
                pdfium.FPDFText_GetFontSize(text.raw, index) * scale,
                (left, bottom, right, top),
                (rgba[0].value, rgba[1].value, rgba[2].value),
            )


def page_texts(pdf: bytes) -> list[str]:
    """The text of each page without its white space; a hyphen at the end of a line is kept."""
    document = pypdfium2.PdfDocument(pdf)
    texts = [document[number].get_textpage().get_text_range() for number in range(len(document))]
    return [squeeze(text.replace("\x02", "-").replace("\ufffe", "-")) for text in texts]


def page_lines(pdf: bytes, number: int) -> list[str]:
    """The lines of a page as they stand."""
    return str(pypdfium2.PdfDocument(pdf)[number].get_textpage().get_text_range()).splitlines()


def squeeze(text: str) -> str:
    return re.sub(r"\s+", "", text)


def raster(pdf: bytes, number: int, scale: float = 2, grey: bool = False) -> Any:
    """Pixels of a page: rows x columns, and x 3 if not grey."""
    pixels = pypdfium2.PdfDocument(pdf)[number].render(scale=scale, grayscale=grey).to_numpy()
    return pixels.reshape(pixels.shape[:2]) if grey else pixels


def luminance(colour: Any) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (float(v) / 255 for v in colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: Any, other: Any) -> float:
    """Contrast ratio of two colours (WCAG 2.2)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def weakest_contrast(
    pdf: bytes, number: int, scale: float = 2.5, see: Callable[[Any], Any] = np.asarray
) -> tuple[float, str]:
    """The lowest contrast on a page between a glyph's declared colour and the commonest pixel around it.

    `see` makes of colours those that somebody sees; the pixel is looked for before.
    """
    pairs = _on_grounds(pdf, number, scale)
    return min((contrast(see(colour), see(ground)), place) for (colour, ground), place in pairs.items())


@lru_cache(maxsize=16)
def _on_grounds(pdf: bytes, number: int, scale: float) -> dict[tuple[Any, Any], str]:
    """Every pair of a glyph's declared colour and the commonest pixel around it, with one glyph of which it holds."""
    document = pypdfium2.PdfDocument(pdf)
    height, origin = document[number].get_height(), document[number].get_mediabox()[:2]
    pixels = document[number].render(scale=scale, rev_byteorder=True).to_numpy()[:, :, :3]
    found: dict[tuple[Any, Any], str] = {}
    for glyph in glyphs(pdf):
        if glyph.page != number or glyph.size > 100:
            continue
        left, bottom, right, top = (place - origin[n % 2] for n, place in enumerate(glyph.box))
        x0, x1 = int((left - 1) * scale), int((right + 1) * scale) + 1
        y0, y1 = int((height - top - 1) * scale), int((height - bottom + 1) * scale) + 1
        around = pixels[max(y0, 0) : y1, max(x0, 0) : x1].reshape(-1, 3)
        ground = Counter(map(tuple, around.tolist())).most_common(1)[0][0]
        if sum(abs(int(a) - int(b)) for a, b in zip(ground, glyph.colour, strict=True)) < 24 and len(around):
            # A small, heavy glyph can cover most of its box: the ground is the commonest other colour.
            others = Counter(
                tuple(p) for p in around.tolist() if sum(abs(a - b) for a, b in zip(p, glyph.colour, strict=True)) > 120
            )
            ground = others.most_common(1)[0][0] if others else ground
        found.setdefault((glyph.colour, ground), f"{glyph.char} at {glyph.box}")
    return found


def problems_of(pdf: bytes, profile: str) -> list[str]:
    """What a validator finds wrong (`3a`: PDF/A-3a, `ua1`: PDF/UA-1)."""
    result = page_validation.validate_pdf_bytes(pdf, profile=profile)
    return [] if result.is_compliant else [failure.message for failure in result.failures] or ["not compliant"]


def font_names(pdf: bytes) -> set[str]:
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return {
            str(item.BaseFont).lstrip("/").split("+")[-1]
            for item in document.objects
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/Font"
        }


def figure_texts(pdf: bytes) -> list[str]:
    """The text alternative of every figure in the structure tree; empty where there is none."""
    found = []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        stack = [document.Root.StructTreeRoot]
        while stack:
            element = stack.pop()
            if not isinstance(element, pikepdf.Dictionary):
                continue
            if str(element.get("/S", "")) == "/Figure":
                found.append(str(element.get("/Alt", "")))
            kids = element.get("/K")
            stack.extend(kids if isinstance(kids, pikepdf.Array) else [kids])
    return found


def roughness(pixels: Any) -> tuple[float, float]:
    """How much a grey picture varies from row to row and from column to column: what tells hatches apart."""
    grey = np.asarray(pixels, dtype=float)
    return float(grey.mean(axis=1).std()), float(grey.mean(axis=0).std())


def codes(pdf: bytes, number: int, dots: int = 150) -> list[str]:
    """The texts of the QR codes on a page drawn with so many dots an inch."""
    pixels = raster(pdf, number, scale=dots / 72, grey=True)
    return [code.text for code in zxingcpp.read_barcodes(np.ascontiguousarray(pixels))]


def level_lines(pdf: bytes, number: int) -> list[float]:
    """The lengths in millimetres of the level lines that a page's own instructions draw."""
    found = []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        matrices = [np.identity(3)]
        at = (0.0, 0.0)
        for operands, operator in pikepdf.parse_content_stream(document.pages[number]):
            name = str(operator)
            if name == "q":
                matrices.append(matrices[-1])
            elif name == "Q":
                matrices.pop()
            elif name == "cm":
                a, b, c, d, e, f = (float(x) for x in operands)
                matrices[-1] = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrices[-1]
            elif name in ("m", "l"):
                to = (float(operands[0]), float(operands[1]))
                if name == "l" and to[1] == at[1] and to[0] != at[0]:
                    ends = [np.array([*point, 1.0]) @ matrices[-1] for point in (at, to)]
                    found.append(float(np.hypot(*(ends[1] - ends[0])[:2])) / MM)
                at = to
    return found
