"""A protocol in plain data to a folder of source files, and a folder back to plain data.

Plain data is `{"protocol": …, "materials": …, "rules": {id: front matter}, "day": "2026-11-25"}` with texts as the only
scalars; and `"evidence": {name: …}` where there are study tables.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import yaml

from tests.oracle.brute import Brute

PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]*(?<! )\Z")


def write_folder(plain: Mapping[str, Any], path: Path) -> Path:
    """Writes the sources of a protocol; gives the folder."""
    (path / "rules").mkdir(parents=True, exist_ok=True)
    (path / "protocol.yaml").write_text(yaml_text(plain["protocol"]), "utf-8")
    (path / "materials.yaml").write_text(yaml_text(plain["materials"]), "utf-8")
    for name, rule in plain["rules"].items():
        (path / "rules" / f"{name}.md").write_text(f"---\n{yaml_text(rule)}---\nMade by a program.\n", "utf-8")
    for name, table in plain.get("evidence", {}).items():
        (path / "evidence").mkdir(exist_ok=True)
        (path / "evidence" / f"{name}.yaml").write_text(yaml_text(table), "utf-8")
    return path


def read_plain(path: Path, day: date) -> dict[str, Any]:
    """The plain data of a folder, every scalar as the text it is."""
    plain: dict[str, Any] = {"day": day.isoformat(), "rules": {}}
    for name in ("protocol", "materials"):
        plain[name] = yaml.load((path / f"{name}.yaml").read_text("utf-8"), yaml.BaseLoader)  # texts only
    for file in sorted((path / "rules").glob("*.md")):
        if file.name != "README.md" and not file.name.startswith(("_", ".")):
            plain["rules"][file.stem] = yaml.load(file.read_text("utf-8").split("---\n")[1], yaml.BaseLoader)
    tables = sorted((path / "evidence").glob("*.yaml"))
    if tables:
        plain["evidence"] = {file.stem: yaml.load(file.read_text("utf-8"), yaml.BaseLoader) for file in tables}
    return plain


def brute(plain: Mapping[str, Any]) -> Brute:
    return Brute(plain["protocol"], plain["materials"], plain["rules"], date.fromisoformat(plain["day"]))


def yaml_text(value: Mapping[str, Any]) -> str:
    return "".join(f"{line}\n" for line in _block(value))


def _block(value: Mapping[str, Any]) -> Iterator[str]:
    for key, inner in value.items():
        if isinstance(inner, Mapping) and len(_flow(inner)) > 60:
            yield f"{key}:"
            yield from (f"  {line}" for line in _block(inner))
        elif isinstance(inner, list) and len(_flow(inner)) > 60:
            yield f"{key}:"
            yield from (f"  - {_flow(item)}" for item in inner)
        else:
            yield f"{key}: {_flow(inner)}"


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return value if PLAIN.match(value) else json.dumps(value, ensure_ascii=False)
