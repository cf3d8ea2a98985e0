"""Draws the pictures of README: `python -m tests.rendering.pictures OUT PICTURES`.

`OUT` holds a build of the demonstration; `PICTURES` gets the card's two sides and the page with the decision chart.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2


def draw(out: Path, pictures: Path) -> None:
    """Draws every picture, 90 dots an inch."""
    pictures.mkdir(parents=True, exist_ok=True)
    with pypdfium2.PdfDocument(out / "card.pdf") as card:
        _save(card[0], pictures / "card-front.png")
        _save(card[1], pictures / "card-back.png")
    with pypdfium2.PdfDocument(out / "protocol.pdf") as protocol:
        pages = [page for page in protocol if page.get_textpage().get_text_range().count("Restoration")]
        chart = next(page for page in pages if "The chart holds only for" in page.get_textpage().get_text_range())
        _save(chart, pictures / "chart.png")


def _save(page: pypdfium2.PdfPage, place: Path) -> None:
    image = page.render(scale=90 / 72).to_pil().convert("P", palette=1, colors=64)
    image.save(place, optimize=True)


if __name__ == "__main__":
    draw(Path(sys.argv[1]), Path(sys.argv[2]))
