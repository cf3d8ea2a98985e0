"""The drawings of the page's script, asked for piece by piece: from plain data, and what they are made of."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any

from liningbook.cases.question import Reply
from liningbook.meaning.meaning import Meaning
from liningbook.say.look_up.words import script_words
from liningbook.show.assets.font_widths import widths_of
from liningbook.show.figures.script import Drawer, engine
from liningbook.show.terminal.reply import reply_json

ASK = """
function exactOrNone(text) {
  return text === null ? null : Exact.parse(text);
}
function sectionFrom(text) {
  const { ground, layers, ...rest } = JSON.parse(text);
  const exact = (one) => ({ ...one, thickness: exactOrNone(one.thickness) });
  return { ground: exact(ground), layers: layers.map(exact), ...rest };
}
function askTooth(text) {
  const tooth = new ToothDrawing(sectionFrom(text), "t");
  const { numerator, denominator } = tooth.scale;
  const heights = tooth.section.layers.map((layer) => tooth.height(layer));
  const { surfaces, ground, more } = tooth;
  const scale = `${numerator}/${denominator}`;
  return JSON.stringify({ scale, heights, surfaces, ground, more, figure: tooth.figure() });
}
function askReading(text) {
  const reads = JSON.parse(text).map(({ thresholds, limits, words, label, ...numbers }) => {
    const exact = Object.fromEntries(Object.entries(numbers).map(([name, number]) => [name, Exact.parse(number)]));
    const cuts = thresholds.map(([value, said]) => [Exact.parse(value), said]);
    return { ...exact, thresholds: cuts, limits: limits.map(Exact.parse), words, label };
  });
  return readingDrawn(reads, "t");
}
function askWrapped(text, bold, width) {
  return JSON.stringify(drawingWrap(text, bold, width));
}
function askHatched(number, name, data, box) {
  return drawingHatched(number, name, data, JSON.parse(box));
}
function askGround(reply) {
  const section = sectionOf(drawer.frame, JSON.parse(reply));
  return JSON.stringify(section && section.ground, (name, value) => (typeof value === "bigint" ? `${value}` : value));
}
"""

FILM, JUST, CAVITY, SPOT, HORN, MOST_LABEL, HATCHES = 45, 12, 420, 220, 1220, 1300, 8


@dataclass(frozen=True)
class Layer:
    """A layer as `sectionLayer` gives it."""

    number: int
    agent: str
    words: str
    place: int
    thickness: Fraction | None
    amount: str
    at: str
    hatch: int


def section(*layers: Layer, thickness: Fraction | None = Fraction(1), places: int = 3) -> dict[str, Any]:
    """What `sectionOf` gives."""
    ground = {"label": "Dentine left", "words": "1 mm", "thickness": thickness, "isJustShort": False}
    return {
        "ground": ground,
        "layers": [asdict(layer) for layer in layers],
        "places": places,
        "top": ("Amalgam", "Restoration"),
    }


def layer(number: int = 1, **changes: Any) -> Layer:
    """A layer of 1 mm on the floor."""
    return replace(Layer(number, f"Agent {number}", "Layer", 1, Fraction(1), "1 mm", "", number - 1), **changes)


@dataclass(frozen=True)
class Tooth:
    """What a cross-section is drawn of, in tenths of a unit."""

    scale: Fraction
    heights: list[int]
    surfaces: list[list[tuple[int, int]]]
    ground: int
    more: int
    figure: str

    def over(self, x: int) -> list[int]:
        """How high each surface lies at a distance from the middle, the floor's first."""
        return [next(h for u, h in surface if u == x) for surface in self.surfaces]


def tooth(shown: Mapping[str, Any]) -> Tooth:
    """The cross-section of what `sectionOf` would give."""
    text = json.dumps(shown, default=str)
    found = json.loads(_script().eval("askTooth")(text))
    surfaces = [[(u, h) for u, h in surface] for surface in found["surfaces"]]
    return Tooth(Fraction(found["scale"]), found["heights"], surfaces, found["ground"], found["more"], found["figure"])


def reading_chart(reads: Sequence[Mapping[str, Any]]) -> str:
    """The reading chart of what `readingReads` would give."""
    return str(_script().eval("askReading")(json.dumps(reads, default=str)))


def wrapped(text: str, bold: bool, width: int) -> list[str]:
    """The lines of a text in a column of a width in tenths."""
    found: list[str] = json.loads(_script().eval("askWrapped")(text, bold, width))
    return found


def hatched(number: int, name: str, left: int, side: int) -> str:
    """A square filled with a hatch."""
    data = f"M{left} 0h{side}v{side}h-{side}z"
    box = json.dumps([left * 10, 0, (left + side) * 10, side * 10])
    return str(_script().eval("askHatched")(number, name, data, box))


def evaluated(code: str) -> Any:
    """What a piece of script comes to."""
    return _script().eval(code)


def ground_of(meaning: Meaning, reply: Reply) -> dict[str, Any] | None:
    """The tissue that is left in the section of a reply; nothing where there is no section."""
    drawer = Drawer(meaning)
    drawer._engine.eval(ASK)
    found = json.loads(drawer._engine.eval("askGround")(json.dumps(reply_json(meaning.protocol, reply))))
    if found and found["thickness"]:
        found["thickness"] = f"{found['thickness']['numerator']}/{found['thickness']['denominator']}"
    return found or None


@cache
def _script() -> Any:
    made = engine()
    made.eval(ASK)
    every = "".join(map(chr, range(32, 0x2200)))
    made.eval("sayStart")(made.eval("JSON.parse")(json.dumps({**script_words(), "widths": widths_of(every)})))
    return made
