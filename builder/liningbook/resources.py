"""Where the files lie that come with the program: JSON Schemas, catalogues, and what the outputs are rendered from.

In a checkout the schemas are `schema/` and what is rendered from is `site/`, at the root of the repository; in an
installed package they lie inside it, as `_schema` and `_site`. No other module knows of these places.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

ENGLISH = "en-GB"
"""The language in which words are written, and which is spoken where none is asked for."""

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parent.parent


def _directory(name: str) -> Path:
    inside = _PACKAGE / f"_{name}"
    return inside if inside.is_dir() else _CHECKOUT / name


def schema_dir() -> Path:
    """The folder of the JSON Schemas."""
    return _directory("schema")


def site_dir() -> Path:
    """The folder of templates, styles and scripts."""
    return _directory("site")


def catalogue_dir() -> Path:
    """The folder of the catalogues: one file a language, named by its tag."""
    return _PACKAGE / "say" / "catalogues"


def languages() -> tuple[str, ...]:
    """The tags (BCP 47) of all languages: English, then those of the catalogues."""
    return (ENGLISH, *sorted(path.stem for path in catalogue_dir().glob("*.po")))


@cache
def schema(name: str) -> dict[str, Any]:
    """The JSON Schema of a kind of file (`protocol`, `rule`, `materials`, `card`, `bundle` …), not to be changed.

    Raises OSError if the program was installed without its schemas.
    """
    text = (schema_dir() / f"{name}.schema.json").read_text(encoding="utf-8")
    parsed: dict[str, Any] = json.loads(text)
    return parsed
