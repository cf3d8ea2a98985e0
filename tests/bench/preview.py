"""How long the preview takes from a save to the screen, on the demonstration: `python -m tests.bench.preview`.

The command runs as a process of its own, the page is open in Chromium. The clock runs from before the file is written
until a frame is drawn with the new title. Prints the median of five saves, and the largest.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import sleep, time

from tests.bench.measure import time_words

REPOSITORY = Path(__file__).resolve().parent.parent.parent
SAVES = 5

WATCH = """() => {
  window.drawn = {};
  const look = () => {
    const heading = document.querySelector("iframe:not(.coming)")?.contentDocument?.querySelector("h1");
    if (heading) window.drawn[heading.textContent] ??= performance.timeOrigin + performance.now();
    requestAnimationFrame(look);
  };
  look();
}"""
"""Notes for every title the first frame drawn with it (milliseconds since 1970): Playwright looks too seldom."""


def measured(folder: Path, address: str) -> list[float]:
    """Seconds from the save of `protocol.yaml` to the screen, for each of the saves."""
    from playwright.sync_api import sync_playwright

    source = folder / "protocol.yaml"
    times = []
    with sync_playwright() as driver:
        program = os.environ.get("BROWSER_PATH") or shutil.which("chromium")
        browser = driver.chromium.launch(executable_path=program, chromium_sandbox=os.geteuid() != 0)
        page = browser.new_page()
        page.goto(address)
        page.frame_locator("iframe:not(.coming)").locator("h1").wait_for()
        page.evaluate(WATCH)
        for number in range(SAVES):
            sleep(1)
            text = re.sub("^title: .*", f"title: Save {number}", source.read_text("utf-8"), flags=re.MULTILINE)
            start = time()
            source.write_text(text, "utf-8")
            page.wait_for_function("title => window.drawn[title]", arg=f"Save {number}")
            times.append(page.evaluate("title => window.drawn[title]", f"Save {number}") / 1000 - start)
        browser.close()
    return times


def main() -> None:
    """Measures and prints."""
    with tempfile.TemporaryDirectory(prefix="liningbook-") as place:
        folder = Path(shutil.copytree(REPOSITORY / "guidelines" / "tern-street", Path(place) / "protocol"))
        command = [sys.executable, "-m", "liningbook", "preview", str(folder), "--no-browser", "--on", "2026-10-01"]
        environment = {**os.environ, "PYTHONPATH": str(REPOSITORY / "builder")}
        preview = subprocess.Popen(command, stdout=subprocess.PIPE, env=environment, text=True)
        try:
            assert preview.stdout is not None
            times = measured(folder, preview.stdout.readline().strip())
        finally:
            preview.send_signal(signal.SIGINT)
            preview.wait(20)
    sys.stdout.write(
        f"From a save to the screen: {time_words(median(times))}, the median of {len(times)} "
        f"(at most {time_words(max(times))})\n"
    )


if __name__ == "__main__":
    main()
