"""The files of `liningbook evidence --out`: the page, a plot an outcome, the effects as a table, all of it as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from liningbook.analysis import Analysis
from liningbook.control.weighed import weighed_tables
from liningbook.exchange.bundle import bundle_of
from liningbook.exchange.evidence_json import evidence_json
from liningbook.finding import Severity
from liningbook.model.edition import edition_state
from liningbook.outputs.cannot import worded
from liningbook.say.catalogue import speaking
from liningbook.show.viewer import Viewer
from liningbook.sources.csv_rows import MARK, to_lines

COLUMNS = (
    "table", "outcome", "label", "effect", "importance", "measure", "unit", "studies", "estimate", "low", "high",
    "comparator_risk", "per_1000", "per_1000_low", "per_1000_high", "number_needed", "number_needed_for",
    "number_needed_low", "number_needed_low_for", "number_needed_high", "number_needed_high_for", "through_infinity",
    "certainty", "certainty_by_judgements", "edition", "status", "digest",
)  # fmt: skip


def evidence_outputs(analysis: Analysis) -> dict[str, bytes]:
    """The files by their names, made in the language of the protocol; numbers and keys are the same in every language.

    Raises CannotMake.
    """
    from liningbook.show.markup.markdown import to_html
    from liningbook.show.web.evidence_page import evidence_files

    protocol = analysis.protocol
    assert protocol is not None
    digest = bundle_of(analysis)["digest"]
    with worded(), speaking(protocol.language):
        viewer = Viewer(analysis, digest, to_html)
        files = evidence_files(viewer)
        effects = [one.effect for table in viewer.tables for one in table.outcomes]
        cautions = list(viewer.identity().cautions)
    identity = {"status": _state(analysis), "review_by": protocol.review_by.on.isoformat(), "digest": digest}
    found = {**evidence_json(protocol, weighed_tables(protocol)), **identity}
    found["cautions"] = cautions
    files["evidence.json"] = (json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()
    files["effects.csv"] = (
        MARK + "".join(f"{line}\r\n" for line in to_lines([COLUMNS, *_rows(found, effects)]))
    ).encode()
    return files


def _state(analysis: Analysis) -> str:
    """Where the edition stands, as the page says it: with errors it is a draft."""
    assert analysis.protocol is not None
    state = edition_state(analysis.protocol, analysis.day)
    has_errors = any(finding.severity is Severity.ERROR for finding in analysis.findings)
    return "draft" if has_errors and state != "withdrawn" else state


def _rows(found: dict[str, Any], effects: Iterable[str]) -> Iterator[list[str]]:
    """A row an outcome, from the JSON; `effects` are what it comes to in words, one an outcome."""
    said = iter(effects)
    for table, entry in found["tables"].items():
        for name, one in entry["outcomes"].items():
            pooled, people, certainty = one.get("pooled", {}), one.get("absolute", {}), one["certainty"]
            cells = (
                table, name, one["label"], next(said), one["importance"],
                one["measure"], one.get("unit"), len(one["studies"]),
                pooled.get("estimate"), pooled.get("low"), pooled.get("high"),
                people.get("comparator_risk"), people.get("per_1000"), people.get("low"), people.get("high"),
                people.get("number_needed"), people.get("number_needed_for"),
                *_number(people, "number_needed_low"), *_number(people, "number_needed_high"),
                people.get("through_infinity"),
                certainty.get("stated"), certainty.get("level") if certainty["steps"] else None,
                found["edition"], found["status"], found["digest"],
            )  # fmt: skip
            yield [_cell(cell) for cell in cells]


def _number(people: dict[str, Any], end: str) -> tuple[int | None, str | None]:
    """A number needed, and what it is for."""
    found = people.get(end, {})
    return found.get("number"), found.get("for")


def _cell(value: Any) -> str:
    """A cell as text; a number in plain decimals, never with an exponent."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return format(Decimal(repr(value)), "f") if isinstance(value, float) else str(value)
