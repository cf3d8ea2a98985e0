"""The browser's scripts: plain parts of one module, joined in one order, and the service worker of an edition.

A page opened as a file may not load modules (HTML, "fetch a module worker script graph": the origin of a file is
opaque), so the page carries one inline module. A part imports and exports nothing: it uses the names of the others,
and each of its own begins with the name of its part.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from liningbook.resources import site_dir

ENGINE = ("exact", "quantity", "factor", "bundle", "evaluate", "pulp", "doubt", "partial", "next")
"""What answers a case from a bundle."""
DRAWING = ("words", "drawing", "section", "crown", "tooth", "reading")
"""What draws the figures of a reply."""
PAGE = ("nodes", "grounds", "either", "advice", "asking", "entry", "arrange", "record", "pending", "lookup", "search",
        "offline")  # fmt: skip
"""What works on the elements of the page."""
PARTS = ("shell", "say", *ENGINE, *DRAWING, *PAGE)
"""All parts in their order: what covers an edition that must not be used comes first, before anything that might fail.

A constant must be made before it is used at the top of another part; functions may stand anywhere.
"""


def joined(parts: Iterable[str] = PARTS) -> str:
    """The parts as one module, without comments and blanks that mean nothing."""
    import rjsmin

    text: str = rjsmin.jsmin("".join(map(part, parts)))
    return text + "\n"


@cache
def part(name: str) -> str:
    """The text of a part as it is written."""
    return (site_dir() / "scripts" / f"{name}.js").read_text("utf-8")


def service_worker(edition: str) -> str:
    """The script that keeps the site for use without a network, under a name that no other edition has."""
    import rjsmin

    if not re.fullmatch(r"[0-9a-f-]+", edition):
        raise ValueError(f"not the name of an edition: {edition}")
    template = part("sw")
    assert template.count("@edition@") == 1
    text: str = rjsmin.jsmin(template.replace("@edition@", edition))
    return text + "\n"
