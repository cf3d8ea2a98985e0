"""The site as a folder: the page, and what keeps it on a device that has no network."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from liningbook.say.answers import inside
from liningbook.say.catalogue import language
from liningbook.say.texts import t
from liningbook.show.assets.scripts import joined, service_worker
from liningbook.show.figures.script import with_widths
from liningbook.show.figures.tones import icon_svg
from liningbook.show.viewer import Viewer
from liningbook.show.views.view import Identity, ProtocolView
from liningbook.show.web.faults_view import Faults
from liningbook.show.web.page_html import page_html
from liningbook.show.web.page_words import page_words


def page_files(
    view: ProtocolView,
    bundle_json: str,
    words_json: str = "",
    *,
    offline: bool = True,
    faults: Faults | None = None,
) -> dict[str, bytes]:
    """Every file of the site's folder by its name: `index.html`, and with `offline` what keeps it for later.

    `words_json` is what Python words for the look-up. `faults` are what the preview shows beside the rules. Raises
    MissingGlyph where the font cannot draw a text.
    """
    page = page_html(view, bundle_json, [joined()], words_json=words_json, offline=offline, faults=faults).encode()
    files = {"index.html": page}
    if offline:
        # The same bundle may be drawn anew by a later program; the copies of both must not be mixed up.
        edition = f"{view.identity.digest}-{hashlib.sha256(page).hexdigest()[:16]}"
        files["sw.js"] = service_worker(edition).encode()
        files["manifest.webmanifest"] = manifest(view.identity).encode()
        files["icon.svg"] = icon_svg().encode()
    return files


def manifest(identity: Identity) -> str:
    """The manifest by which a device installs the page (W3C Web Application Manifest)."""
    content = {
        "name": f"{identity.title}, {identity.practice}",
        "short_name": identity.title,
        "description": t.edition_kept(
            edition=identity.edition, status=inside(identity.status_words), day=identity.review_by
        ),
        "lang": language(),
        "start_url": "index.html",
        "scope": "./",
        "display": "standalone",
        "background_color": "#ffffff",
        "theme_color": "#0b4650",
        "icons": [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
    }
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def _for_answers(bundle: dict[str, Any]) -> dict[str, Any]:
    """The bundle without what the page says in its own text and never answers from.

    That is why each rule is as it is, the studies, and of the evidence all but what is said beside an answer.
    """
    rules = [
        {key: said for key, said in rule.items() if key != "why"}
        | {"evidence": {key: said for key, said in rule["evidence"].items() if key in ("basis", "certainty")}}
        for rule in bundle["rules"]
    ]
    return {key: said for key, said in bundle.items() if key != "references"} | {"rules": rules}


def site_files(
    viewer: Viewer, bundle: dict[str, Any], *, offline: bool = True, faults: Faults | None = None
) -> dict[str, bytes]:
    """Every file of the site's folder for an analysis and its bundle. Raises as `page_files`."""
    bundle_json, words_json = with_widths(_for_answers(bundle), page_words(viewer))
    return page_files(viewer.protocol_view(), bundle_json, words_json, offline=offline, faults=faults)
