"""The digest of what is approved: what is written otherwise is the same, what says something else is not."""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

import codecs
import hashlib
import json
import shutil
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import understand_sources
from liningbook.model import build
from liningbook.model.approval import sealing
from liningbook.model.approval.sealing import FORM, covered, seal_of
from liningbook.model.build import read_files, read_folder
from liningbook.sources.files import GivenFiles

DAY = date(2026, 11, 25)

PROTOCOL = """\
title: A protocol
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice., Ask first.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
decisions:
  management: {label: Management, answers: {restore: Restore, assess: Assess first}}
  liner: {label: Liner, layer: liner}
"""
MATERIALS = """\
places: {spot: Deepest spot, floor: Floor}
agents:
  lime: {label: Lime, class: liner, place: spot}
  glass: {label: Glass, class: liner, place: floor}
"""
RULE = """\
---
title: A rule
advise: {management: restore, liner: {agent: lime, thickness: {below: 0.50 mm}}}
evidence: {basis: research, certainty: low, strength: conditional, design: observational, cites: [marlow2019]}
---
Why.

    As it was said.
"""
BIB = """\
@article{marlow2019,
  title = {Lime under amalgam},
  author = {Marlow, Ada and Ash, Ben},
  journal = {Invented Journal},
  year = {2019},
}
"""
FILES = {"protocol.yaml": PROTOCOL, "materials.yaml": MATERIALS, "rules/one.md": RULE, "references.bib": BIB}


def sealed(files: Mapping[str, str | bytes]) -> str:
    contents = {path: text if isinstance(text, bytes) else text.encode() for path, text in files.items()}
    folder, findings = read_files(GivenFiles(contents))
    analysis = understand_sources(folder, findings, DAY)
    assert analysis.protocol is not None, analysis.findings
    return seal_of(folder, analysis.protocol.references)


AS_IT_IS = sealed(FILES)


def edited(path: str, old: str, new: str) -> dict[str, str]:
    assert FILES[path].count(old) == 1
    return {**FILES, path: FILES[path].replace(old, new)}


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [
        ("protocol.yaml", "edition: 2026.1", "edition: '2026.1'  # the first"),
        (
            "protocol.yaml",
            "title: A protocol\npractice: Example Practice\n",
            '\npractice:   Example Practice\ntitle: "A protocol"\n',
        ),
        (
            "protocol.yaml",
            "cautions: [Not clinical advice., Ask first.]",
            "cautions:\n  - Not clinical advice.\n  - >\n    Ask\n    first.",
        ),
        ("protocol.yaml", "{label: Dentine left, kind: quantity,", "{kind: quantity, label: Dentine left,"),
        ("protocol.yaml", "status: draft\n", "status: in-force\nin_force_from: 2026-12-01\n"),
        (
            "protocol.yaml",
            "status: draft\n",
            "status: draft\napproved: [{name: B. Reed, role: clinical lead, on: 2026-08-20}]\n",
        ),
        (
            "materials.yaml",
            "  lime: {label: Lime, class: liner, place: spot}\n  glass: {label: Glass, class: liner, place: floor}\n",
            "  glass: {label: Glass, class: liner, place: floor}\n  lime: {label: Lime, class: liner, place: spot}\n",
        ),
        ("rules/one.md", "title: A rule\n", "# as agreed\ntitle: A rule\n"),
        ("rules/one.md", "---\nWhy.", "---\n\n  \nWhy."),
        ("rules/one.md", "As it was said.\n", "As it was said.  \n\n"),
        ("references.bib", "year = {2019}", 'year = "2019"'),
        (
            "references.bib",
            "@article{marlow2019,\n  title = {Lime under amalgam},",
            "% ours\n@Article{marlow2019, title={Lime under amalgam},",
        ),
    ],
)
def test_what_is_only_written_otherwise_is_the_same(path: str, old: str, new: str) -> None:
    assert sealed(edited(path, old, new)) == AS_IT_IS


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [
        ("protocol.yaml", "edition: 2026.1", "edition: 2026.10"),
        ("protocol.yaml", "review_by: 2030-01-01", "review_by: 2031-01-01"),
        ("protocol.yaml", "[Not clinical advice., Ask first.]", "[Ask first., Not clinical advice.]"),
        ("protocol.yaml", "{amalgam: Amalgam, composite: Composite}", "{composite: Composite, amalgam: Amalgam}"),
        ("protocol.yaml", "{restore: Restore, assess: Assess first}", "{assess: Assess first, restore: Restore}"),
        (
            "protocol.yaml",
            "  management: {label: Management, answers: {restore: Restore, assess: Assess first}}\n  liner: {label: Liner, layer: liner}\n",
            "  liner: {label: Liner, layer: liner}\n  management: {label: Management, answers: {restore: Restore, assess: Assess first}}\n",
        ),
        ("protocol.yaml", "label: Dentine left", "label: Dentine  left"),
        ("materials.yaml", "{spot: Deepest spot, floor: Floor}", "{floor: Floor, spot: Deepest spot}"),
        ("materials.yaml", "label: Glass", "label: Glass ionomer"),
        ("rules/one.md", "0.50 mm", "0.5 mm"),
        ("rules/one.md", "    As it was said.", "As it was said."),
        ("rules/one.md", "Why.", "Why not."),
        ("rules/one.md", "certainty: low", "certainty: very-low"),
        ("references.bib", "Ash, Ben", "Ash, Bea"),
        ("references.bib", "2019}", "2018}"),
    ],
)
def test_what_says_something_else_has_another_digest(path: str, old: str, new: str) -> None:
    assert sealed(edited(path, old, new)) != AS_IT_IS


def test_line_ends_and_a_byte_order_mark_do_not_count() -> None:
    windows = {path: codecs.BOM_UTF8 + text.replace("\n", "\r\n").encode() for path, text in FILES.items()}
    assert sealed(windows) == AS_IT_IS


def test_the_same_references_in_the_other_form_are_the_same() -> None:
    entry: dict[str, Any] = {"id": "marlow2019", "type": "article-journal", "title": "Lime under amalgam"}
    entry |= {"author": [{"family": "Marlow", "given": "Ada"}, {"family": "Ash", "given": "Ben"}]}
    entry |= {"container-title": "Invented Journal", "issued": {"date-parts": [[2019]]}}
    files = {path: text for path, text in FILES.items() if path != "references.bib"}
    assert sealed({**files, "references.json": json.dumps([entry])}) == AS_IT_IS


def test_where_cards_hang_is_not_approved_but_the_card_and_the_vignettes_are() -> None:
    assert sealed({**FILES, "copies.yaml": "copies: [{room: Surgery 1}]\n"}) == AS_IT_IS
    assert sealed({**FILES, "card.yaml": "size: [A5]\n"}) != AS_IT_IS
    case = "- {name: One, case: {rdt: 1 mm, restoration: amalgam}, expect: {management: restore}}\n"
    assert sealed({**FILES, "vignettes.yaml": case}) != AS_IT_IS


def test_another_rule_another_name_and_a_rule_less_have_another_digest() -> None:
    more = {**FILES, "rules/two.md": RULE}
    assert (
        len(
            {
                AS_IT_IS,
                sealed(more),
                sealed({**{p: t for p, t in FILES.items() if p != "rules/one.md"}, "rules/two.md": RULE}),
            }
        )
        == 3
    )


def test_an_odd_number_in_a_reference_has_a_digest() -> None:
    files = {path: text for path, text in FILES.items() if path != "references.bib"}
    entry = '[{"id": "marlow2019", "type": "book", "title": "T", "volume": %s, "issued": {"date-parts": [[2019]]}}]'
    assert sealed({**files, "references.json": entry % "12345678901234567890"}) != AS_IT_IS
    assert sealed({**files, "references.json": entry % "12"}) == sealed({**files, "references.json": entry % '"12"'})


def test_the_form_is_that_of_the_first_version() -> None:
    """Worked out here from the standard, for a protocol small enough to write it down: no version may change it."""
    folder, _ = read_files(GivenFiles({path: text.encode() for path, text in FILES.items()}))
    protocol = understand_sources(folder, [], DAY).protocol
    assert protocol is not None
    by_hand = {
        "form": "liningbook-approval-1",
        "files": {
            "materials": {"materials": {"fields": {
                "places": [["spot", "Deepest spot"], ["floor", "Floor"]],
                "agents": {
                    "lime": {"label": "Lime", "class": "liner", "place": "spot"},
                    "glass": {"label": "Glass", "class": "liner", "place": "floor"},
                },
            }}},
            "protocol": {"protocol": {"fields": {
                "title": "A protocol", "practice": "Example Practice", "edition": "2026.1", "review_by": "2030-01-01",
                "authors": [{"name": "E. Example", "role": "dentist", "interests": "none declared"}],
                "scope": "Invented example.", "cautions": ["Not clinical advice.", "Ask first."],
                "evidence_scheme": "grade",
                "factors": [
                    ["rdt", {"label": "Dentine left", "kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm"}],
                    ["restoration", {"label": "Restoration", "kind": "choice", "values": [["amalgam", "Amalgam"], ["composite", "Composite"]]}],
                ],
                "decisions": [
                    ["management", {"label": "Management", "answers": [["restore", "Restore"], ["assess", "Assess first"]]}],
                    ["liner", {"label": "Liner", "layer": "liner"}],
                ],
            }}},
            "rules": {"one": {
                "fields": {
                    "title": "A rule",
                    "advise": {"management": "restore", "liner": {"agent": "lime", "thickness": {"below": "0.50 mm"}}},
                    "evidence": {"basis": "research", "certainty": "low", "strength": "conditional", "design": "observational", "cites": ["marlow2019"]},
                },
                "text": "Why.\n\n    As it was said.",
            }},
            "references": {"marlow2019": {
                "id": "marlow2019", "type": "article-journal", "title": "Lime under amalgam", "container-title": "Invented Journal",
                "author": [{"family": "Marlow", "given": "Ada"}, {"family": "Ash", "given": "Ben"}],
                "issued": {"date-parts": [["2019"]]},
            }},
        },
    }  # fmt: skip
    assert by_hand["form"] == FORM
    assert covered(folder, protocol.references) == by_hand
    # Without floats, and with keys of ASCII, RFC 8785 is JSON with sorted keys and no blanks.
    plain = json.dumps(by_hand, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    assert seal_of(folder, protocol.references) == hashlib.sha256(plain).hexdigest()


def test_it_is_worked_out_only_where_an_approval_bears_a_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> str:
        raise AssertionError("worked out")

    def understood(lines: str) -> str:
        files = {**FILES, "protocol.yaml": PROTOCOL + lines}
        analysis = understand_sources(*read_files(GivenFiles({p: t.encode() for p, t in files.items()})), DAY)
        assert analysis.protocol is not None
        return analysis.protocol.sealed

    bare = "approved: [{name: B. Reed, on: 2026-08-20}]\n"
    assert understood(bare.replace("20}", f"20, digest: {'0' * 64}}}")) == AS_IT_IS
    monkeypatch.setattr(build, "seal_of", never)
    assert understood(bare) == ""


def test_every_source_file_is_covered_or_named_as_not_covered(repository: Path) -> None:
    folder, _ = read_folder(repository / "guidelines" / "tern-street")
    protocol = understand_sources(folder, [], DAY).protocol
    assert protocol is not None
    read = {name for name, documents in folder.documents.items() if documents} | {
        n for n, files in folder.plain.items() if files
    }
    assert set(covered(folder, protocol.references)["files"]) == read - set(sealing.NOT_COVERED)


def test_a_figure_of_a_study_table_is_covered_and_an_appraisal_is_not(repository: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(repository / "guidelines" / "tern-street", tmp_path / "practice"))

    def now() -> str:
        read, findings = read_folder(folder)
        protocol = understand_sources(read, findings, DAY).protocol
        assert protocol is not None
        return seal_of(read, protocol.references)

    before = now()
    appraisal = next(iter(sorted((folder / "appraisals").iterdir())))
    appraisal.unlink()
    assert now() == before
    table = next(iter(sorted((folder / "evidence").iterdir())))
    text = table.read_text("utf-8")
    table.write_text(f"# looked at again\n{text}", "utf-8")
    assert now() == before
    assert text.count("importance: ") >= 1
    at = text.index("importance: ") + len("importance: ")
    table.write_text(f"{text[:at]}{'8' if text[at] != '8' else '9'}{text[at + 1 :]}", "utf-8")
    assert now() != before
