"""The growth curve as an SVG picture, from the figures of a bench.

    python -m tests.bench.draw out/bench.json site/docs/growth.svg

Both axes are logarithmic. A way that was stopped ends with its last point.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from html import escape
from math import log10
from pathlib import Path
from typing import Any

WIDTH, HEIGHT = 850, 480
LEFT, RIGHT, TOP, BOTTOM = 74, 312, 22, 54

LINES: list[tuple[str, str, str, str]] = [
    # what it is called in the figures and in the picture, colour, dashes
    ("whole check", "Liningbook, whole check", "#0b5fa5", ""),
    ("pairs", "Liningbook, which rules meet", "#0b5fa5", "6 4"),
    ("pairs by numpy", "numpy, the same pairs", "#b3561d", ""),
    ("pairs in a plain loop", "plain loop, the same pairs", "#6b6b6b", ""),
    ("published sweep", "published sweep, the same pairs", "#7a3f98", ""),
    ("Z3, pair by pair", "Z3, the same pairs", "#2f7d32", ""),
]

TIMES = (
    (0.00001, "0.01 ms"),
    (0.0001, "0.1 ms"),
    (0.001, "1 ms"),
    (0.01, "10 ms"),
    (0.1, "0.1 s"),
    (1.0, "1 s"),
    (10.0, "10 s"),
)


def picture(figures: dict[str, Any]) -> str:
    """The SVG text."""
    growth: dict[str, Any] = figures["growth"]
    sizes = sorted(int(size) for size in growth)
    across = _scale(sizes[0], sizes[-1], LEFT, WIDTH - RIGHT)
    down = _scale(TIMES[0][0], TIMES[-1][0] * 1.5, HEIGHT - BOTTOM, TOP)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        'aria-labelledby="title description" font-family="sans-serif" font-size="13">',
        '<title id="title">Time of a check from 10 to 5,000 rules</title>',
        f'<desc id="description">{escape(_description(growth, sizes))}</desc>',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
    ]
    parts += _grid(sizes, across, down)
    labels: list[tuple[float, str, str]] = []
    for name, words, colour, dashes in LINES:
        points = [(size, growth[str(size)][name]["seconds"]) for size in sizes]
        places = [(across(size), down(seconds)) for size, seconds in points if seconds is not None]
        if places:
            line = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
            dash = f' stroke-dasharray="{dashes}"' if dashes else ""
            parts.append(f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="2"{dash}/>')
            parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="{colour}"/>' for x, y in places]
            labels.append((places[-1][1], colour, words + ("" if len(places) == len(points) else " (stopped)")))
    parts += _labels(labels)
    return "\n".join([*parts, "</svg>", ""])


def _scale(low: float, high: float, start: float, end: float) -> Any:
    def place(value: float) -> float:
        return start + (end - start) * (log10(value) - log10(low)) / (log10(high) - log10(low))

    return place


def _grid(sizes: Sequence[int], across: Any, down: Any) -> list[str]:
    parts = []
    for seconds, words in TIMES:
        y = down(seconds)
        parts.append(f'<line x1="{LEFT}" y1="{y:.1f}" x2="{WIDTH - RIGHT}" y2="{y:.1f}" stroke="#d8d8d8"/>')
        parts.append(f'<text x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end" fill="#333333">{words}</text>')
    for size in sizes:
        x = across(size)
        parts.append(f'<line x1="{x:.1f}" y1="{TOP}" x2="{x:.1f}" y2="{HEIGHT - BOTTOM}" stroke="#eeeeee"/>')
        parts.append(
            f'<text x="{x:.1f}" y="{HEIGHT - BOTTOM + 18}" text-anchor="middle" fill="#333333">{size:,}</text>'
        )
    middle = (LEFT + WIDTH - RIGHT) / 2
    parts.append(
        f'<text x="{middle:.1f}" y="{HEIGHT - 12}" text-anchor="middle" fill="#333333">rules, 8 factors</text>'
    )
    return parts


def _labels(labels: Sequence[tuple[float, str, str]]) -> list[str]:
    """The names beside the ends of the lines, moved apart where they would touch."""
    parts = []
    lowest = 0.0
    for y, colour, words in sorted(labels):
        lowest = max(y, lowest + 16)
        parts.append(f'<text x="{WIDTH - RIGHT + 8}" y="{lowest + 4:.1f}" fill="{colour}">{escape(words)}</text>')
    return parts


def _description(growth: dict[str, Any], sizes: Sequence[int]) -> str:
    told = []
    for name, words, _, _ in LINES:
        done = [size for size in sizes if growth[str(size)][name]["seconds"] is not None]
        if done:
            told.append(f"{words}: {growth[str(done[-1])][name]['seconds']:.3g} s for {done[-1]:,} rules")
    return "; ".join(told) + "."


def main(arguments: Sequence[str]) -> None:
    """Draws the picture."""
    source, target = map(Path, arguments)
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(picture(json.loads(source.read_text(encoding="utf-8"))), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
