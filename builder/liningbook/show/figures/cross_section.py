"""The cross-section of the prepared tooth for a case, as SVG 1.1: dentine left, layers in placing order, restoration.

A box cavity in dentine over the pulp. Everything is drawn to one scale, chosen so that dentine and layers fill the
picture, but for what could not be seen at it (films) and what has no thickness: these carry a break mark and say that
they are not to scale. A layer covers as much of the cavity as its place says, from the deepest spot to all walls.
The data are in `section_view.py`; `site/scripts/section.mjs` draws the same text in the browser. Places are whole
numbers of tenths of a unit; the picture is 320 units wide, so that its words keep 12 pixels on the narrowest phone.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from liningbook.cases.question import Reply
from liningbook.meaning.meaning import Meaning
from liningbook.notation.quantity import decimal_text
from liningbook.show.figures.drawing import (
    INK,
    PAPER,
    SAND,
    WASH,
    curve,
    frame,
    half_up,
    haloed,
    hatch,
    line_of_text,
    number_square,
    rounded,
    stroke,
    tenths,
    wrap,
)
from liningbook.show.views.section_view import Layer, Section, section_of

TITLE = "Cross-section of the prepared tooth"
WIDTH = 3200
CENTRE, TOOTH, HALF = 730, 715, 440
"""The middle of the tooth, half its width, and half the width of the cavity."""
TOP = 190
SPOT, SLOPE, DIP = 140, 150, 90
"""The deepest spot: half its width, the width of the slope around it, and how far it lies below the floor."""
LEAST = 270
"""How far from the middle a layer on the deepest spot reaches."""
MOST_SCALE, ROOM = 1100, 2000
"""The largest scale in tenths a millimetre, and the height that dentine and layers may take."""
FILM, PLAIN = 70, 110
"""The height of a layer that would be thinner than its own hatch, and of one without a thickness."""
UNKNOWN, JUST = 340, 12
"""The height of dentine whose thickness is not known, and the least of what is just more than nothing."""
REST, PULP = 560, 480
WALL, WALLS = 80, 240
"""What one layer, and what all layers may take on each wall."""
ROUND = 50
TEXT_X, TEXT_WIDTH, NUMBER_X = 1800, 1390, 1590
LINE, GAP = 170, 90

ASIDE = 90
"""How far from the middle the lines to the words begin."""

Points = list[tuple[int, int]]
"""A surface: distance from the middle and height above the deepest spot, from the middle to the wall."""


@dataclass(frozen=True)
class Label:
    """Words beside the tooth, and the height (from the top) of what they name."""

    at: int
    head: str
    body: str
    number: int = 0
    broken: bool = False
    x: int = CENTRE + ASIDE


def cross_section(meaning: Meaning, reply: Reply, uid: str) -> str:
    """The figure for a reply; nothing (`""`) where the advice is not one full set of layers."""
    section = section_of(meaning, reply)
    return draw(section, uid) if section is not None else ""


def draw(section: Section, uid: str) -> str:
    """The figure. `uid` ends every identifier in it."""
    return Drawing(section, uid).figure()


class Drawing:
    """The figure of one section; every height and surface in tenths of a unit."""

    def __init__(self, section: Section, uid: str) -> None:
        self.section, self.uid = section, uid
        sizes = [layer.thickness for layer in section.layers if layer.thickness is not None]
        if section.ground.thickness is not None:
            sizes.append(section.ground.thickness)
        total = sum(sizes, Fraction(0))
        self.scale = min(Fraction(MOST_SCALE), ROOM / total) if total else Fraction(0)
        self.ground = UNKNOWN if section.ground.thickness is None else half_up(section.ground.thickness * self.scale)
        if section.ground.is_just_short:
            self.ground = max(self.ground, JUST)
        self.heights = [self._height(layer) for layer in section.layers]
        on_walls = sum(1 for layer in section.layers if self._on_walls(layer))
        self.most_on_wall = min(WALL, WALLS // on_walls) if on_walls else 0
        floor = [(0, 0), (SPOT, 0), (SPOT + SLOPE, DIP), (HALF, DIP)]
        reaches = [self._reach(layer) for layer in section.layers if not self._on_walls(layer)]
        ends = {place for reach in reaches if reach < HALF for place in (reach - SLOPE, reach)}
        self.surfaces: list[Points] = [[(u, _at(floor, u)) for u in sorted({u for u, _ in floor} | ends)]]
        for layer, height in zip(section.layers, self.heights, strict=True):
            self.surfaces.append(self._covered(self.surfaces[-1], layer, height))
        self.stack = max(height for surface in self.surfaces for _, height in surface)

    def _height(self, layer: Layer) -> int:
        if layer.thickness is None:
            return PLAIN
        return max(FILM, half_up(layer.thickness * self.scale))

    def _is_broken(self, layer: Layer) -> bool:
        return layer.thickness is None or half_up(layer.thickness * self.scale) < FILM

    def _on_walls(self, layer: Layer) -> bool:
        return self.section.places > 0 and layer.place == self.section.places - 1

    def _covered(self, under: Points, layer: Layer, height: int) -> Points:
        """The surface after a layer."""
        end = under[-1][0]
        if self._on_walls(layer):
            end -= min(height, self.most_on_wall)
            cut = [point for point in under if point[0] < end]
            return [(u, h + height) for u, h in [*cut, (end, _at(under, end))]]
        reach = self._reach(layer)
        if reach >= end:
            return [(u, h + height) for u, h in under]
        return [(u, h + _tapered(height, reach, u)) for u, h in under]

    def _reach(self, layer: Layer) -> int:
        """How far from the middle a layer on the floor reaches."""
        steps = self.section.places - 2
        if steps < 1 or layer.place < 0:
            return HALF
        return LEAST + (HALF - LEAST) * layer.place // steps

    # --- the picture ------------------------------------------------------------------------------------------------

    def figure(self) -> str:
        """The whole figure."""
        labels = self._labels(0)
        blocks = [_lines(label) for label in labels]
        tall = sum(len(lines) * LINE + GAP for lines in blocks)
        plain = REST + self.stack + self.ground + PULP
        self.base = TOP + REST + self.stack + max(0, tall - GAP - plain - TOP + 100)
        self.bottom = self.base + self.ground + PULP
        labels = self._labels(self.base)
        parts = [self._patterns(), self._tooth(), self._pulp(), self._fillings()]
        parts += [self._dimension(), self._words(labels), self._key()]
        return frame("section", self.uid, WIDTH, self.bottom + 380, TITLE, description(self.section), "".join(parts))

    def _patterns(self) -> str:
        used = sorted({layer.hatch for layer in self.section.layers})
        tubules = (
            f'<pattern id="dentine-{self.uid}" width="6" height="14" patternUnits="userSpaceOnUse">'
            f'<path class="fig-sand" d="M0 0H6V14H0Z" fill="{SAND}"/>'
            f"{stroke('M1.5 0V9M4.5 7V14M4.5 0V2', '0.5')}</pattern>"
        )
        return f"<defs>{tubules}{''.join(hatch(n, f'layer-{n}-{self.uid}') for n in used)}</defs>"

    def _tooth(self) -> str:
        left, right, inner = CENTRE - TOOTH, CENTRE + TOOTH, HALF
        crown = (
            f"M{tenths(left)} {tenths(self.bottom)}V{tenths(TOP + 110)}"
            f"Q{tenths(left)} {tenths(TOP - 90)} {tenths(left + 110)} {tenths(TOP - 90)}"
            f"Q{tenths(CENTRE - inner - 40)} {tenths(TOP - 90)} {tenths(CENTRE - inner)} {tenths(TOP)}"
            f"H{tenths(CENTRE + inner)}"
            f"Q{tenths(CENTRE + inner + 40)} {tenths(TOP - 90)} {tenths(right - 110)} {tenths(TOP - 90)}"
            f"Q{tenths(right)} {tenths(TOP - 90)} {tenths(right)} {tenths(TOP + 110)}V{tenths(self.bottom)}"
        )
        return f'<path d="{crown}Z" fill="url(#dentine-{self.uid})"/>' + stroke(crown, "1.6")

    def _pulp(self) -> str:
        roof, floor = self.base + self.ground, self.bottom
        wide, flat = 470, 300
        path = (
            f"M{tenths(CENTRE - wide)} {tenths(floor)}"
            f"C{tenths(CENTRE - wide)} {tenths(roof + 120)} {tenths(CENTRE - flat - 130)} {tenths(roof)} "
            f"{tenths(CENTRE - flat)} {tenths(roof)}H{tenths(CENTRE + flat)}"
            f"C{tenths(CENTRE + flat + 130)} {tenths(roof)} {tenths(CENTRE + wide)} {tenths(roof + 120)} "
            f"{tenths(CENTRE + wide)} {tenths(floor)}"
        )
        return f'<path class="fig-wash" d="{path}Z" fill="{WASH}"/>' + stroke(path, "1.6")

    def _place(self, surface: Points) -> Points:
        """A surface as places in the picture, from left to right."""
        right = [(CENTRE + u, self.base - h) for u, h in surface]
        left = [(CENTRE - u, self.base - h) for u, h in reversed(surface[1:])]
        return left + right

    def _outlined(self, surface: Points) -> Points:
        """A surface with the walls above it."""
        end = surface[-1][0]
        return [(CENTRE - end, TOP), *self._place(surface), (CENTRE + end, TOP)]

    def _fillings(self) -> str:
        """The restoration in the whole cavity, then over it every layer down to the floor, the first placed last."""
        lines = [rounded(self._outlined(surface), ROUND) for surface in self.surfaces]
        floor = curve(lines[0])
        parts = [
            f'<path class="fig-paper" d="M{floor}Q{tenths(CENTRE)} {tenths(TOP + 60)} {tenths(CENTRE - HALF)} '
            f'{tenths(TOP)}Z" fill="{PAPER}"/>',
        ]
        for layer, line in reversed(list(zip(self.section.layers, lines[1:], strict=True))):
            area = f"M{floor}L{curve(line, backwards=True)}Z"
            parts.append(f'<path d="{area}" fill="url(#layer-{layer.hatch}-{self.uid})"/>')
            parts.append(stroke(f"M{curve(line)}", "1.2"))
        end = self.surfaces[-1][-1][0]
        left, right = tenths(CENTRE - end), tenths(CENTRE + end)
        biting = f"M{left} {tenths(TOP)}Q{tenths(CENTRE)} {tenths(TOP + 60)} {right} {tenths(TOP)}"
        return "".join([*parts, stroke(biting, "1.6"), stroke(f"M{floor}", "2.2")])

    def _dimension(self) -> str:
        """The dentine that is left, between the deepest spot and the pulp."""
        if self.section.ground.thickness is None or self.ground < 60:
            return ""
        top, end = self.base + 14, self.base + self.ground - 8
        shaft = f"M{tenths(CENTRE)} {tenths(top)}V{tenths(end)}"
        heads = ""
        if self.ground >= 160:
            heads = (
                f"M{tenths(CENTRE - 35)} {tenths(top + 55)}L{tenths(CENTRE)} {tenths(top)}L{tenths(CENTRE + 35)} "
                f"{tenths(top + 55)}M{tenths(CENTRE - 35)} {tenths(end - 55)}L{tenths(CENTRE)} {tenths(end)}"
                f"L{tenths(CENTRE + 35)} {tenths(end - 55)}"
            )
        return haloed(shaft + heads, "5", "1.6")

    # --- the words --------------------------------------------------------------------------------------------------

    def _labels(self, base: int) -> list[Label]:
        """From the top down. Heights are right once the height of the picture is known."""
        section = self.section
        tops = [surface[0][1] for surface in self.surfaces]
        found = []
        upper = TOP + 90
        found.append(Label((upper + base - tops[-1]) // 2, *_top_words(section), broken=True))
        for index in range(len(section.layers) - 1, -1, -1):
            layer = section.layers[index]
            middle = base - (tops[index] + tops[index + 1]) // 2
            broken = self._is_broken(layer)
            found.append(Label(middle, layer.agent, self._body(layer, broken), layer.number, broken))
        ground = section.ground
        known = ground.thickness is not None
        words = ground.words if known else f"{ground.words}; not to scale"
        x = CENTRE if known else CENTRE + ASIDE
        found.append(Label(base + self.ground // 2, ground.label, words, broken=not known, x=x))
        found.append(Label(base + self.ground + PULP // 2, "Pulp", ""))
        return found

    def _body(self, layer: Layer, broken: bool) -> str:
        words = ", ".join(layer.words)
        if not layer.amount:
            return f"{words}; thickness not stated, not to scale"
        if broken:
            return f"{words}; not to scale: {layer.amount}"
        more = f"; drawn at {layer.drawn_at}" if layer.drawn_at else ""
        if self._on_walls(layer) and self._height(layer) > self.most_on_wall:
            more += "; on the walls not to scale"
        return f"{words}, {layer.amount}{more}"

    def _words(self, labels: list[Label]) -> str:
        blocks = [_lines(label) for label in labels]
        tops: list[int] = []
        free = 40
        for label, lines in zip(labels, blocks, strict=True):
            tops.append(max(free, label.at - LINE // 2))
            free = tops[-1] + len(lines) * LINE + GAP
        limit = self.bottom + 60
        for index in range(len(labels) - 1, -1, -1):
            tops[index] = min(tops[index], limit - len(blocks[index]) * LINE)
            limit = tops[index] - GAP
        leaders, words = [], []
        for label, lines, top in zip(labels, blocks, tops, strict=True):
            leaders.append(_leader(label, top + LINE // 2))
            if label.number:
                words.append(number_square(NUMBER_X, top, label.number))
            for row, (text, bold) in enumerate(lines):
                words.append(line_of_text(TEXT_X, top + 130 + row * LINE, text, bold))
        return "".join(leaders + words)

    def _key(self) -> str:
        y = self.bottom + 260
        found = _break(TEXT_X + 20, y) + line_of_text(TEXT_X + 120, y + 45, "not to scale")
        if self.scale:
            size, words = _bar(self.scale)
            x, top = CENTRE - TOOTH + 40, y - size // 2
            data = f"M{tenths(x - 35)} {tenths(top)}h7M{tenths(x)} {tenths(top)}v{tenths(size)}m-3.5 0h7"
            found += stroke(data, "1.6") + line_of_text(x + 90, y + 45, f"{words} (heights only)")
        return found


def description(section: Section) -> str:
    """The figure in words: the text alternative."""
    parts = [f"From the pulp outwards. {section.ground.label}: {section.ground.words}."]
    for layer in section.layers:
        amount = f", {layer.amount}" if layer.amount else ", thickness not stated"
        parts.append(f"{layer.number}: {layer.agent}, {', '.join(layer.words)}{amount}.")
    if not section.layers:
        parts.append("No layer is placed.")
    if section.top[0]:
        parts.append(f"On top: {section.top[0]} ({section.top[1]}).")
    return " ".join(parts)


def _top_words(section: Section) -> tuple[str, str]:
    label, factor = section.top
    said = [factor] if factor else []
    if not section.layers:
        said.append("No layer is placed under it.")
    return label or "What is placed on top", ". ".join(said)


def _lines(label: Label) -> list[tuple[str, bool]]:
    head = [(line, True) for line in wrap(label.head, True, TEXT_WIDTH)]
    return head + [(line, False) for line in wrap(label.body, False, TEXT_WIDTH)]


def _at(points: Points, u: int) -> int:
    """The height of a surface at a distance from the middle, to whole tenths."""
    for (before, low), (after, high) in pairwise(points):
        if before <= u <= after and before < after:
            wide = after - before
            return low + (2 * (high - low) * (u - before) + wide) // (2 * wide)
    return points[-1][1]


def _tapered(height: int, reach: int, u: int) -> int:
    """The height that a layer adds at a distance from the middle: all of it, then a slope, then nothing."""
    if u <= reach - SLOPE:
        return height
    return 0 if u >= reach else (2 * height * (reach - u) + SLOPE) // (2 * SLOPE)


def _leader(label: Label, y: int) -> str:
    """From what is named, level to the edge of the tooth, then to the words."""
    edge, end = CENTRE + TOOTH + 20, NUMBER_X - 30
    data = f"M{tenths(label.x)} {tenths(label.at)}H{tenths(edge)}L{tenths(end)} {tenths(y)}"
    if not label.number:
        data += f"H{tenths(TEXT_X - 40)}"
    line = haloed(data, "3.6", "1")
    if label.broken:
        return line + _break(label.x, label.at)
    x, at = tenths(label.x), tenths(label.at)
    return line + (
        f'<circle class="fig-ink fig-line-paper" cx="{x}" cy="{at}" r="3" fill="{INK}" stroke="{PAPER}" '
        f'stroke-width="1.2"/>'
    )


def _break(x: int, y: int) -> str:
    """The mark of what is not to scale: two strokes across."""
    data = (
        f"M{tenths(x - 40)} {tenths(y + 60)}L{tenths(x + 10)} {tenths(y - 60)}"
        f"M{tenths(x + 20)} {tenths(y + 60)}L{tenths(x + 70)} {tenths(y - 60)}"
    )
    return haloed(data, "4.6", "1.6")


def _bar(scale: Fraction) -> tuple[int, str]:
    """The scale bar: its height in tenths, and what it stands for, the least of 0.01, 0.02, 0.05 ... mm that shows."""
    power = Fraction(1, 100)
    while True:
        for step in (1, 2, 5):
            size = half_up(scale * step * power)
            if size >= 140:
                return size, f"{decimal_text(step * power)} mm"
        power *= 10
