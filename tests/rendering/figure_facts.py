"""What the tests read from a figure: its words with the boxes that they take, and what every figure must keep to."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import Any

from liningbook.show.assets.fonts import missing_glyphs, print_faces

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Said:
    """A line of text with its box (left, top, right, bottom) in units of the picture."""

    text: str
    box: tuple[float, float, float, float]
    size: float


@cache
def font(bold: bool) -> tuple[dict[int, float], float, float]:
    """Advances by code point, and the highest and lowest a letter reaches, in ems."""
    from fontTools.ttLib import TTFont

    path = next(path for face, path in print_faces() if (face.weight == 700) == bold)
    with TTFont(path) as opened:
        metrics: Any = opened["hmtx"].metrics
        em = opened["head"].unitsPerEm
        glyf = opened["glyf"]
        cmap = opened.getBestCmap()
        top = max(glyf[cmap[ord(char)]].yMax for char in "ÅÉbdfhkl") / em
        foot = min(glyf[cmap[ord(char)]].yMin for char in "gjpqy,;") / em
        return {point: metrics[name][0] / em for point, name in cmap.items()}, top, foot


def advance(text: str, bold: bool) -> float:
    """How wide a text is in ems, without kerning."""
    return sum(font(bold)[0][ord(char)] for char in text)


def words(svg: str) -> list[Said]:
    """Every line of text with the box that it takes in the real font."""
    found = []
    root = ElementTree.fromstring(svg)
    for node in root.iter(f"{SVG}text"):
        text = node.text or ""
        bold = node.get("font-weight") == "700"
        size = float(node.get("font-size") or root.attrib["font-size"])
        x, y = float(node.attrib["x"]), float(node.attrib["y"])
        wide = advance(text, bold) * size
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[node.get("text-anchor", "start")]
        _, top, foot = font(bold)
        found.append(Said(text, (left, y - top * size, left + wide, y - foot * size), size))
    return found


def faults(svg: str, uid: str, least: float = 12 / 280 * 320) -> Iterator[str]:
    """What is wrong with a figure that every figure must keep to."""
    root = ElementTree.fromstring(svg)
    if [child.tag for child in root][:2] != [f"{SVG}title", f"{SVG}desc"]:
        yield "does not begin with title and desc"
    if root.get("role") != "img":
        yield "has not the role img"
    ids = [node.attrib["id"] for node in root.iter() if "id" in node.attrib]
    if len(ids) != len(set(ids)):
        yield "an identifier is used twice"
    yield from (f"the identifier {name} does not end in {uid}" for name in ids if not name.endswith(f"-{uid}"))
    used = set(re.findall(r"url\(#([^)]+)\)", svg)) | set(root.get("aria-labelledby", "").split())
    yield from (f"{name} is nowhere" for name in used - set(ids))
    if root.get("aria-labelledby", "").split() != [root[0].get("id"), root[1].get("id")]:
        yield "is not labelled by its title and desc"
    within = [node for pattern in root.iter(f"{SVG}pattern") for node in pattern]
    for node in root.iter():
        if "style" in node.attrib or node.tag in (f"{SVG}style", f"{SVG}script", f"{SVG}foreignObject"):
            yield f"{node.tag} is not allowed by the page's policy"
        fixed = [node.get(key, "") for key in ("fill", "stroke") if node.get(key, "").startswith("#")]
        if fixed and "class" not in node.attrib and node not in within:
            yield f"{fixed} of {node.tag} cannot be changed by a style sheet"
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    said = words(svg)
    for item in said:
        left, top, right, foot = item.box
        if left < 0 or top < 0 or right > wide or foot > high:
            yield f"'{item.text}' leaves the picture: {item.box}"
        if item.size < least:
            yield f"'{item.text}' is too small on a phone"
    for one, other in combinations(said, 2):
        if overlap(one.box, other.box):
            yield f"'{one.text}' and '{other.text}' overlap"
    lacking = missing_glyphs("".join(root.itertext()))
    if lacking:
        yield f"the font lacks {lacking}"


def overlap(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def text_of(svg: str) -> str:
    """All lines of text, one blank between them."""
    return " ".join(item.text for item in words(svg))


def described(svg: str) -> str:
    """The text alternative."""
    return ElementTree.fromstring(svg)[1].text or ""
