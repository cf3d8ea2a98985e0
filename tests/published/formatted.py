"""Lines of references as citeproc-py prints them with the style file `data/nlm-citation-sequence.csl`."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

STYLE = Path(__file__).parent / "data" / "nlm-citation-sequence.csl"
CSL = "{http://purl.org/net/xbiblio/csl}"


@cache
def style_text() -> bytes:
    """The style with the delimiters of dates, which citeproc-py leaves out, put before the parts that they part."""
    ElementTree.register_namespace("", CSL.strip("{}"))
    tree = ElementTree.parse(STYLE)
    for date in tree.iter(f"{CSL}date"):
        delimiter = date.attrib.pop("delimiter", "")
        for part in date.findall(f"{CSL}date-part")[1:]:
            part.set("prefix", delimiter + part.get("prefix", ""))
    return ElementTree.tostring(tree.getroot(), encoding="utf-8", xml_declaration=True)


def printed(data: Mapping[str, Any], html: bool = False) -> str:
    """The line of one entry, in plain text unless as HTML, without the number in front."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of fields of CSL-JSON that it does not know
        from citeproc import Citation, CitationItem, CitationStylesBibliography, CitationStylesStyle, formatter
        from citeproc.source.json import CiteProcJSON

        as_text = formatter.html if html else formatter.plain
        style = CitationStylesStyle(BytesIO(style_text()), validate=False)
        bibliography = CitationStylesBibliography(style, CiteProcJSON([{"id": "a", **data}]), as_text)
        bibliography.register(Citation([CitationItem("a")]))
        (line,) = bibliography.bibliography()
    return str(line).removeprefix("1.")
