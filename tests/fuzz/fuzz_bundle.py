"""The bundle of a small protocol into which texts, numbers and a reference of any sort have been written.

Whatever the protocol holds: its bundle has a canonical form, reads back as itself with the digest it bears, and is
valid against `schema/bundle.schema.json`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from liningbook.digest import canonical, digest_of
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.resources import schema
from tests.fuzz.sources import analysed

MAX_LEN = 1500
BETWEEN = b"\x1e"
"""The control character for `record separator` stands between the texts; no source may hold it."""

DEFAULTS = (
    "0.5", "0.1", "1", "1.00", "1 mm", "2026-01-01", "2027-06-01", "2030-01-01", '"volume": 3', "Why, in **words**.",
    "Title", "Practice", "2026.1", "Scope", "Caution", "https://example.org", "Label", "Because", "Note", "Interests",
)  # fmt: skip
"""The first ten are no texts of the protocol: numbers, days, a thickness, fields of a reference, a rule's reasons."""


def one_input(data: bytes) -> None:
    given = data.decode("utf-8", "replace").split(BETWEEN.decode())[: len(DEFAULTS)]
    slots = [*given, *DEFAULTS[len(given) :]]
    analysis = analysed({name: text.encode("utf-8", "replace") for name, text in files_with(slots).items()})
    if analysis.protocol is None:
        return
    bundle = bundle_of(analysis)
    canonical(bundle)
    again = json.loads(bundle_bytes(bundle), parse_float=no_float)
    assert again == bundle, "the bundle reads back as something else"
    assert digest_of(again) == bundle["digest"]
    error = next(validator().iter_errors(again), None)
    assert error is None, f"not valid: {error.message[:200]} at {error.instance_path}"


def no_float(text: str) -> Any:
    raise AssertionError(f"a number that is no whole number: {text}")


@cache
def validator() -> Any:
    import jsonschema_rs

    return jsonschema_rs.Draft202012Validator(schema("bundle"))


def files_with(slots: Sequence[str]) -> dict[str, str]:
    bound, step, coats, uncertainty, thick, start, end, review, fields, body, *texts = slots
    title, practice, edition, scope, caution, address, label, because, note, interests = map(quoted, texts)
    protocol = f"""\
title: {title}
practice: {practice}
edition: {edition}
status: draft
review_by: {review}
authors: [{{name: {note}, role: {label}, interests: {interests}}}]
scope: {scope}
cautions: [{caution}]
contact: {note}
stop_questions: [{caution}]
site_address: {address}
evidence_scheme: grade
factors:
  rdt:
    label: {label}
    kind: quantity
    unit: mm
    at_least: 0 mm
    at_most: 6 mm
    step: {step} mm
    reading: {{method: {label}, scale: {uncertainty}, offset: 0 mm, uncertainty: {uncertainty} mm}}
  restoration: {{label: {label}, kind: choice, values: {{amalgam: {label}, composite: {title}}}}}
  allergy: {{label: {label}, kind: yes-no}}
decisions:
  management: {{label: {label}, answers: {{restore: {label}, assess: {note}}}}}
  liner: {{label: {label}, layer: liner, needed_when: {{management: restore}}}}
excluded:
  - {{when: {{allergy: yes, rdt: {{below: {bound} mm}}}}, because: {because}, instead: {note}}}
"""
    if uncertainty == DEFAULTS[3]:
        protocol = "\n".join(line for line in protocol.split("\n") if "reading:" not in line)
    materials = f"""\
places: {{spot: {label}, floor: {title}}}
irritants: {{acid: {{label: {label}, acts_on: floor}}}}
agents:
  lime: {{label: {label}, class: liner, blocks: [{{irritant: acid, thickness: {{at_least: {thick}}}}}], place: spot}}
  varnish: {{label: {note}, class: sealer}}
together:
  - {{with: {{liner: lime}}, forbid: {{liner: lime}}, when: {{rdt: {{at_least: 6 mm}}}}, because: {because}}}
"""
    line = f"""\
---
title: {title}
when: {{rdt: {{at_most: {bound} mm}}}}
advise: {{liner: {{agent: lime, coats: {coats}, thickness: {{at_least: {thick}}}}}}}
evidence: {{certainty: low, strength: conditional, design: observational, cites: [quill2017]}}
valid: {{from: {start}, until: {end}}}
---
{body}
"""
    rest = f"""\
---
title: {label}
advise: {{management: restore}}
evidence: {{basis: good-practice, note: {note}}}
review_by: {review}
---
{body}
"""
    return {
        "protocol.yaml": protocol,
        "materials.yaml": materials,
        "references.json": f'[{{"id": "quill2017", "type": "article-journal", {fields}}}]\n',
        "rules/line.md": line,
        "rules/rest.md": rest,
    }


def quoted(text: str) -> str:
    """A text in double quotes of YAML, which those of JSON are."""
    return json.dumps(text, ensure_ascii=False)


def seeds() -> Iterator[bytes]:
    yield BETWEEN.join(text.encode() for text in DEFAULTS)
    for place, text in (
        (8, '"issued": {"date-parts": [[2019, "3", 2]]}, "author": [{"literal": "A"}], "DOI": "10.5555/1"'),
        (8, '"custom": {"a": [true, 1.50, -0, 1e400, 123456789012345, 12345678901234567890, "\\ud83d\\ude00"]}'),
        (8, '"PMID": 12345, "ISBN": "978-3-16-148410-0", "note": "\\u2264 0.5 mm"'),
        (3, "0.25"), (4, "500 um"), (4, "0.5"), (10, "\U0001f600 \\ \" ' # : {} [] ≤ µ"), (10, " x "),
        (9, "---\n- a\n"),
    ):  # fmt: skip
        slots = list(DEFAULTS)
        slots[place] = text
        yield BETWEEN.join(slot.encode() for slot in slots)
