"""SARIF logs against the schema of the standard.

Source: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0; `data/README.md` says where the
schema is from. What no schema can hold is checked beside it: regions (3.30), URI references (3.4), suppressions (3.35)
and rule indices (3.52), section numbers from memory.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import jsonschema
import pytest

from liningbook.cli import main

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = json.loads((Path(__file__).parent / "data" / "sarif-2.1.0-rtm.5.json").read_text("utf-8"))
VALIDATOR = jsonschema.validators.validator_for(SCHEMA)(SCHEMA)
FAULTY = sorted(path.parent for path in (ROOT / "guidelines" / "faulty").rglob("protocol.yaml"))


def log_of(folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    monkeypatch.chdir(ROOT)
    code = main(["check", str(folder.relative_to(ROOT)), "--format", "sarif", "--on", "2026-11-25"])
    log: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert code == int(any(r["level"] == "error" for r in log["runs"][0]["results"]))
    return log


@pytest.mark.parametrize("folder", [ROOT / "guidelines" / "tern-street", *FAULTY], ids=lambda path: path.name)
def test_a_log_is_valid_and_its_places_are_there(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(folder, capsys, monkeypatch)
    VALIDATOR.validate(log)
    run = log["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    assert run["columnKind"] == "unicodeCodePoints"
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        for location in [*result["locations"], *result.get("relatedLocations", [])]:
            place = location["physicalLocation"]
            file = ROOT / unquote(place["artifactLocation"]["uri"])
            region = place["region"]
            if not file.exists():  # a finding that says that a file is missing
                assert result["ruleId"] == "unreadable"
                continue
            lines = file.read_text("utf-8", "replace").split("\n")
            assert 1 <= region["startLine"] <= region["endLine"] <= len(lines)
            assert region["startColumn"] <= len(lines[region["startLine"] - 1]) + 1
            assert (region["startLine"], region["startColumn"]) < (region["endLine"], region["endColumn"])


def put(folder: Path, **files: str) -> Path:
    """The smallest protocol that passes, with some of its files written anew."""
    shutil.copytree(ROOT / "tests" / "protocols" / "pass" / "smallest", folder)
    for name, text in files.items():
        path = folder / name.replace("__", "/").replace("_", ".")
        path.write_text(text, "utf-8")
    return folder


def results_of(folder: str, capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    main(["check", folder, "--format", "sarif", "--on", "2026-11-25"])
    log = json.loads(capsys.readouterr().out)
    VALIDATOR.validate(log)
    results: list[dict[str, Any]] = log["runs"][0]["results"]
    return results


def text_at(root: Path, place: dict[str, Any]) -> str:
    """What stands in a region; columns count code points from 1, the end is just after it."""
    region = place["region"]
    lines = (root / unquote(place["artifactLocation"]["uri"])).read_text("utf-8").split("\n")
    assert region["startLine"] == region["endLine"]
    return lines[region["startLine"] - 1][region["startColumn"] - 1 : region["endColumn"] - 1]


@pytest.mark.parametrize("place", ["plain", "a folder/with spaces", "100% #1 [x]?", "Zähne/µ 🦷", "c:d"])
def test_a_place_is_that_of_the_wrong_text_wherever_the_folder_lies(
    place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = put(tmp_path / place)
    name = next((folder / "rules").glob("*.md"))
    text = name.read_text("utf-8")
    name.write_text(text.replace("---\n", "---\nwrong-field: 🦷 nø\n", 1), "utf-8")
    monkeypatch.chdir(tmp_path)
    results = results_of(place, capsys)
    found = {text_at(tmp_path, r["locations"][0]["physicalLocation"]) for r in results}
    assert "wrong-field" in found
    for result in results:
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert re.fullmatch(r"(?:[A-Za-z0-9._~/-]|%[0-9A-F]{2})+", uri)
        assert unquote(uri).startswith(place)


def test_a_name_that_is_no_text_and_bytes_that_are_none_still_give_a_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = put(tmp_path / "odd")
    Path(os.fsdecode(bytes(folder / "rules") + b"/\xff.md")).write_text("---\ntitle: x\n---\n", "utf-8")
    (folder / "materials.yaml").write_bytes(b"agents: \xff\xfe\x00")
    monkeypatch.chdir(tmp_path)
    results = results_of("odd", capsys)
    uris = {r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for r in results}
    assert "odd/materials.yaml" in uris
    assert any(uri.startswith("odd/rules/") for uri in uris)


def test_a_finding_is_the_same_one_when_lines_are_added_above_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    prints = []
    for name in ("one", "two"):
        folder = shutil.copytree(ROOT / "guidelines" / "faulty" / "gap", tmp_path / name / "same")
        if name == "two":
            path = folder / "protocol.yaml"
            path.write_text("# A line.\n# Another.\n" + path.read_text("utf-8"), "utf-8")
        monkeypatch.chdir(tmp_path / name)
        results = results_of("same", capsys)
        prints.append([r["partialFingerprints"] for r in results])
        assert len({json.dumps(one) for one in prints[-1]}) == len(results)
    assert prints[0] == prints[1]


def test_an_accepted_warning_is_suppressed_with_its_reason(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    results = log_of(ROOT / "guidelines" / "tern-street", capsys, monkeypatch)["runs"][0]["results"]
    suppressed = [result for result in results if "suppressions" in result]
    assert len(suppressed) == 4
    assert all("B. Reed" in result["suppressions"][0]["justification"] for result in suppressed)


LINK = re.compile(r"\[(?:[^\\\[\]]|\\[\\\[\]])*\]\([^)]*\)")
"""An embedded link in a plain text message, by the grammar of 3.11.6; its text may hold escaped brackets."""


def messages(value: Any) -> Iterator[str]:
    """Every message string of a log (3.11.8, 3.12.3)."""
    if isinstance(value, dict):
        for item in value.values():
            if isinstance(item, dict) and isinstance(item.get("text"), str):
                yield item["text"]
            yield from messages(item)
    if isinstance(value, list):
        for item in value:
            yield from messages(item)


@pytest.mark.parametrize(
    "label",
    ["[click](https://evil.example)", r"[a\](1)", r"\[a](sarif:/x)", "[a]](1)", "[[a](1)](2)", "{0} of {1}", "a {"],
)
def test_what_an_author_writes_is_neither_a_link_nor_a_placeholder(
    label: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(ROOT / "guidelines" / "faulty" / "gap", tmp_path / "gap")
    path = tmp_path / "gap" / "protocol.yaml"
    path.write_text(re.sub("label: [^,}\n]*", lambda _: f"label: '{label}'", path.read_text("utf-8"), count=2), "utf-8")
    monkeypatch.chdir(tmp_path)
    main(["check", "gap", "--format", "sarif", "--on", "2026-11-25"])
    texts = list(messages(json.loads(capsys.readouterr().out)["runs"]))
    assert not any(LINK.search(text) for text in texts)
    assert not any("{" in text.replace("{{", "").replace("}}", "") for text in texts)
    main(["check", "gap", "--format", "json", "--on", "2026-11-25"])
    wanted = {finding["message"] for finding in json.loads(capsys.readouterr().out)["findings"]}
    assert any(label in words for words in wanted)
    read = {
        re.sub(r"\\([\\\[\]])", r"\1", text).replace("{{", "{").replace("}}", "}") for text in texts if "](" in text
    }
    read |= {text.replace("{{", "{").replace("}}", "}") for text in texts if "](" not in text}
    assert wanted <= {text.partition("\n")[0] for text in read}


def test_the_schema_refuses_a_log_that_is_wrong(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(FAULTY[0], capsys, monkeypatch)
    log["runs"][0]["results"][0]["level"] = "fatal"
    assert not VALIDATOR.is_valid(log)
