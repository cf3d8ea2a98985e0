"""How long the page takes to answer: from a click on an answer to the advice laid out, in a real Chromium.

    python -m tests.bench.page

The protocol is the demonstration with a further factor of four values, and each of its 30 rules once for each of them:
120 rules. The page lies on the disk. All questions are answered once; then single answers are changed by clicks, each
of which asks a new case. A click's time is that of the handlers (which evaluate the bundle and draw the advice); the
layout that follows is measured beside it. Prints one line.
"""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path
from statistics import median
from typing import Any

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.show.markup.markdown import to_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.page import site_files
from tests.oracle.folder import read_plain, write_folder
from tests.saying import messages_of

DEMONSTRATION = Path(__file__).resolve().parents[2] / "guidelines" / "tern-street"
DAY = date(2026, 10, 1)
TEETH = ("incisor", "canine", "premolar", "molar")
CLICKS = 400

MEASURE = """(clicks) => {
  const sets = [...document.querySelectorAll(".ask")].map((one) => [...one.querySelectorAll("input[type=radio]")]);
  for (const [first] of sets.filter((one) => one.length)) first.click();
  const field = document.querySelector(".ask-number input[type=text]");
  field.value = "0.4";
  field.dispatchEvent(new Event("change"));
  const buttons = sets.flat().filter((one) => !one.name.endsWith("-way"));
  const times = [];
  let place = 1;
  while (times.length < clicks) {
    place = (place * 48271) % 2147483647;
    const button = buttons[place % buttons.length];
    if (button.checked) continue;
    const start = realNow();
    button.click();
    const answered = realNow();
    document.getElementById("look-advice").getBoundingClientRect();
    times.push([answered - start, realNow() - answered]);
    if (!document.querySelector(".say-line")?.offsetHeight) throw new Error("no advice was shown");
  }
  return times;
}"""


def larger(source: Path) -> dict[str, Any]:
    """A protocol in plain data with four rules for each of its own, one for each sort of tooth."""
    plain = read_plain(source, DAY)
    plain["protocol"]["factors"]["tooth"] = {
        "label": "Tooth",
        "kind": "choice",
        "values": dict(zip(TEETH, TEETH, strict=True)),
    }
    rules = {}
    for name, rule in plain["rules"].items():
        whens = rule.get("when", {})
        for tooth in TEETH:
            narrowed = [{**when, "tooth": tooth} for when in (whens if isinstance(whens, list) else [whens])]
            others = [f"{other}-{tooth}" for other in rule.get("overrides", ())]
            rules[f"{name}-{tooth}"] = {**rule, "when": narrowed, **({"overrides": others} if others else {})}
    return {**plain, "rules": rules}


def main() -> None:
    """Prints the size of the page, and the median and the longest time of a click."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = write_folder(larger(DEMONSTRATION), Path(name) / "sources")
        (folder / "references.json").write_bytes((DEMONSTRATION / "references.json").read_bytes())
        analysis = analyse(folder, DAY)
        assert analysis.meaning is not None, messages_of(analysis.findings)
        bundle = bundle_of(analysis)
        text = site_files(Viewer(analysis, bundle["digest"], to_html), bundle, offline=False)["index.html"]
        place = Path(name) / "index.html"
        place.write_bytes(text)
        browser = driver.chromium.launch(executable_path="/usr/bin/chromium", chromium_sandbox=False)
        page = browser.new_page()
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.add_init_script("globalThis.realNow = performance.now.bind(performance)")
        page.clock.set_fixed_time(DAY.isoformat())
        page.goto(place.as_uri())
        if page.locator("#look-reveal").is_visible():
            page.locator("#look-reveal").click()
        times = page.evaluate(MEASURE, CLICKS)
        browser.close()
    if errors:
        raise SystemExit("\n".join(errors))
    answered, laid = sorted(time for time, _ in times), [time for _, time in times]
    nearly_all = answered[int(len(times) * 0.95)]
    print(  # noqa: T201
        f"{len(analysis.meaning.rules)} rules, page of {len(text) / 1000:.0f} kB: a case is answered and written out "
        f"in {median(answered):.2f} ms (median of {len(times)} clicks; 95 % within {nearly_all:.2f} ms, longest "
        f"{answered[-1]:.2f} ms); its layout takes {median(laid):.2f} ms more"
    )


if __name__ == "__main__":
    main()
