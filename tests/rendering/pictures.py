"""Draws the pictures of README: `python -m tests.rendering.pictures OUT PICTURES`.

`OUT` holds a build of the demonstration; `PICTURES` gets the card's two sides, the pages of the protocol with the
decision chart and with the layers drawn, and the look-up with one case.
"""

from __future__ import annotations

import json
import sys
from io import BytesIO
from pathlib import Path
from urllib.parse import quote, urlencode

import pypdfium2


def draw(out: Path, pictures: Path) -> None:
    """Draws every picture, 90 dots an inch."""
    pictures.mkdir(parents=True, exist_ok=True)
    with pypdfium2.PdfDocument(out / "card.pdf") as card:
        _save(card[0], pictures / "card-front.png")
        _save(card[1], pictures / "card-back.png")
    with pypdfium2.PdfDocument(out / "protocol.pdf") as protocol:
        texts = [(page, page.get_textpage().get_text_range()) for page in protocol]
        chart = next(page for page, text in texts if "order of placing" in text)
        _save(chart, pictures / "chart.png")
        drawn = next(page for page, text in texts if "heights only" in text)
        _save(drawn, pictures / "layers.png")
    draw_page(out / "site" / "index.html", pictures / "page.png")


CASE = {
    "rdt.reading": "1.2 mm", "exposed": "no", "pulp": "normal", "restoration": "amalgam", "metal-contact": "no",
    "amalgam-restricted": "no", "methacrylate-allergy": "no", "eugenol-allergy": "no", "rosin-allergy": "no",
    "amalgam-metal-allergy": "no",
}  # fmt: skip


def draw_page(page: Path, place: Path) -> None:
    """Draws the look-up with a case, as a wide screen shows it."""
    from PIL import Image
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path="/usr/bin/chromium", chromium_sandbox=False)
        tab = browser.new_page(viewport={"width": 1280, "height": 800})
        bundle = json.loads((page.parents[1] / "bundle.json").read_text("utf-8"))
        told = {".edition": bundle["protocol"]["edition"], ".digest": bundle["digest"][:8]}
        tab.goto(f"{page.resolve().as_uri()}#case?{urlencode(CASE | told, quote_via=quote)}")
        tab.locator(".layer-list").first.wait_for()
        tab.evaluate("document.getElementById('look-up').scrollIntoView()")
        data = tab.screenshot()
        browser.close()
    image = Image.open(BytesIO(data)).convert("P", palette=Image.Palette.ADAPTIVE, colors=64)
    image.save(place, optimize=True)


def _save(page: pypdfium2.PdfPage, place: Path) -> None:
    image = page.render(scale=90 / 72).to_pil().convert("P", palette=1, colors=64)
    image.save(place, optimize=True)


if __name__ == "__main__":
    draw(Path(sys.argv[1]), Path(sys.argv[2]))
