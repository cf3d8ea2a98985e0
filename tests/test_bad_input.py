"""Broken input of every sort gets a finding with its place, or one line that says what is wrong.

Whatever the input: never a traceback, never more than two seconds, the exit code of the contract (0, 1 or 2), JSON on
standard output for `check --format json` whenever that is 0 or 1, and after a build that fails the previous output,
byte for byte, with nothing beside it.
"""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

import json
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO, Any, NamedTuple

import pytest

from liningbook.cli import main
from tests.limits import HANGS, processor

DAY = "2026-11-25"
SECONDS = 2.0
"""Of the processor, so that a busy machine fails no test."""

# --- a protocol in which nothing is wrong -----------------------------------------------------------------------------

PROTOCOL = """\
title: Sound protocol
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm, step: 0.1 mm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
  allergy: {label: Allergy, kind: yes-no}
decisions:
  management: {label: Management, answers: {restore: Restore, assess: Assess first}}
  liner: {label: Liner, layer: liner, needed_when: {management: restore}}
stop_questions: [Is the pulp exposed?]
"""
MATERIALS = """\
places: {spot: Deepest spot, floor: Floor}
irritants: {acid: {label: Acid, acts_on: floor}}
agents:
  calcium-hydroxide: {label: Calcium hydroxide, class: liner, blocks: [acid], place: spot}
  varnish: {label: Varnish, class: sealer}
"""
RESTORE = """\
---
title: Restore every tooth
advise: {management: restore}
evidence: {basis: good-practice, note: Invented.}
---
Why.
"""
LINE = """\
---
title: Line a deep cavity
when: {rdt: {at_most: 0.5 mm}}
advise: {liner: {agent: calcium-hydroxide}}
evidence: {certainty: low, strength: conditional, design: observational, cites: [quill2017]}
---
Why, in **words**.
"""
NO_LINER = """\
---
title: No liner elsewhere
when: {rdt: {above: 0.5 mm}}
advise: {liner: none}
evidence: {basis: good-practice, note: Invented.}
---
"""
REFERENCES = '[{"id": "quill2017", "type": "article-journal", "title": "An invented study"}]\n'
VIGNETTES = """\
- name: A deep cavity
  case: {rdt: 0.4 mm, restoration: amalgam, allergy: no}
  expect: {liner: calcium-hydroxide}
"""
SOUND: Mapping[str, str] = {
    "protocol.yaml": PROTOCOL,
    "materials.yaml": MATERIALS,
    "references.json": REFERENCES,
    "vignettes.yaml": VIGNETTES,
    "rules/restore.md": RESTORE,
    "rules/line.md": LINE,
    "rules/no-liner.md": NO_LINER,
}

Files = Mapping[str, str | bytes | None]
"""What is written over the sound protocol; nothing for a file that is left out."""


def changed(file: str, old: str, new: str) -> dict[str, str]:
    assert SOUND[file].count(old) == 1, old
    return {file: SOUND[file].replace(old, new)}


def protocol(old: str, new: str) -> dict[str, str]:
    return changed("protocol.yaml", old, new)


def materials(old: str, new: str) -> dict[str, str]:
    return changed("materials.yaml", old, new)


def line(old: str, new: str) -> dict[str, str]:
    return changed("rules/line.md", old, new)


def depth(text: str) -> dict[str, str]:
    """The condition of the rule `line`, on its line 3."""
    return line("{rdt: {at_most: 0.5 mm}}", text)


def answer(text: str) -> dict[str, str]:
    """The advice of the rule `line`, on its line 4."""
    return line("{agent: calcium-hydroxide}", text)


def written(folder: Path, files: Files | None = None) -> Path:
    for name, content in {**SOUND, **(files or {})}.items():
        if content is not None:
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


# --- running it -------------------------------------------------------------------------------------------------------


class Run(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str


def run(
    *arguments: str | Path,
    command: Sequence[str] = ("-m", "liningbook"),
    out: int | IO[bytes] = subprocess.PIPE,
    before: Callable[[], object] | None = None,
    seconds: float = SECONDS,
    **environment: str,
) -> Run:
    """Runs the command as a process of its own; no traceback, no more time than allowed."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(
        [sys.executable, *command, *map(str, arguments)],
        stdin=subprocess.DEVNULL,
        stdout=out,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent / "builder"), **environment},
        preexec_fn=before,
        timeout=HANGS,
        check=False,
    )
    now = resource.getrusage(resource.RUSAGE_CHILDREN)
    result = Run(done.returncode, (done.stdout or b"").decode(), done.stderr.decode())
    for text in result[1:]:
        assert "Traceback" not in text
        assert "Exception ignored" not in text
    assert result.code in (0, 1, 2), result
    assert now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime < processor(seconds)
    return result


@pytest.fixture
def inside(capsys: pytest.CaptureFixture[str]) -> Callable[..., Run]:
    """The same without a process, where nothing can hang: for the many small mistakes."""

    def call(*arguments: str | Path) -> Run:
        start = time.process_time()
        try:
            code = main([str(argument) for argument in arguments])
        except SystemExit as stop:
            code = int(stop.code or 0)
        assert time.process_time() - start < processor(SECONDS)
        return Run(code, *capsys.readouterr())

    return call


Found = tuple[str, str, int]
"""Kind, file and line of a finding."""

JARGON = re.compile(r"\b(None|null|nodes?|instances?|dict|str|Fraction|mapping|scalar|Errno|schema)\b")


def findings(result: Run) -> list[Found]:
    """The findings that `check --format json` printed, each in words for people."""
    printed = json.loads(result.out)
    assert {"protocol", "edition", "counts", "findings"} <= printed.keys()
    for finding in printed["findings"]:
        assert finding["message"]
        assert finding["message"].isprintable()
        said = re.sub("'[^']*'|`[^`]*`", "", finding["message"])  # without the author's own words
        assert not JARGON.search(said), said
    return [(finding["kind"], finding["file"], finding["line"]) for finding in printed["findings"]]


def one_line(result: Run) -> str:
    """The one line that says why nothing was done."""
    assert result.out == ""
    assert result.err.startswith("liningbook: ")
    assert result.err.count("\n") == 1
    return result.err


def test_the_sound_protocol_is_sound(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path)
    assert inside("check", folder, "--strict", "--on", DAY) == (
        0,
        "Sound protocol, edition 2026.1: nothing found\n",
        "",
    )


# --- sources ----------------------------------------------------------------------------------------------------------

RULE = "rules/line.md"
BOMB = "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\n"
SOURCES: dict[str, tuple[Files, list[Found]]] = {
    # bytes and characters
    "UTF-16": ({"protocol.yaml": PROTOCOL.encode("utf-16")}, [("unreadable", "protocol.yaml", 1)]),
    "UTF-16 without a mark": ({"protocol.yaml": PROTOCOL.encode("utf-16-le")}, [("unreadable", "protocol.yaml", 1)]),
    "Windows-1252": (
        {"protocol.yaml": PROTOCOL.replace("Example Practice", "Pr\xe4xis").encode("cp1252")},
        [("unreadable", "protocol.yaml", 2)],
    ),
    "half a character": ({RULE: LINE.encode() + b"\xe2\x89"}, [("unreadable", RULE, 8)]),
    "only bytes": ({RULE: bytes(range(128, 256))}, [("unreadable", RULE, 1)]),
    "NUL": (line("Why,", "Wh\0,"), [("unreadable", RULE, 7)]),
    "escape sequence": (line("Why,", "\x1b[2JWhy,"), [("unreadable", RULE, 7)]),
    "right-to-left override": (protocol("Example Practice", "Example \u202ePractice"), [("unreadable", "protocol.yaml", 2)]),
    "zero width space": (depth("{restoration: amal\u200bgam}"), [("unreadable", RULE, 3)]),
    "invisible tag": (depth("{restoration: amalgam\U000e0041}"), [("unreadable", RULE, 3)]),
    "blank that is a letter": (depth("{restoration: amalgam\u3164}"), [("unreadable", RULE, 3)]),
    "hidden character by its code": (protocol("Sound protocol", '"Sound\\u202e protocol"'), [("unreadable", "protocol.yaml", 1)]),
    "hidden character in a key": (depth('{"rdt\\u200b": {at_most: 0.5 mm}}'), [("unreadable", RULE, 3)]),
    "two byte order marks": ({RULE: "\ufeff\ufeff" + LINE}, [("unreadable", RULE, 1)]),
    # YAML
    "tab": ({"materials.yaml": "agents:\n\tlime: {class: liner}\n"}, [("unreadable", "materials.yaml", 2)]),
    "key given twice": (line("advise:", "when: {allergy: yes}\nadvise:"), [("unreadable", RULE, 4)]),
    "key given twice inside": (depth("{rdt: {at_most: 0.5 mm, at_most: 1 mm}}"), [("unreadable", RULE, 3)]),
    "anchor": (protocol("Sound protocol", "&t Sound protocol"), [("unreadable", "protocol.yaml", 1)]),
    "alias": (protocol("Sound protocol", "*t"), [("unreadable", "protocol.yaml", 1)]),
    "alias bomb": ({"protocol.yaml": BOMB + PROTOCOL}, [("unreadable", "protocol.yaml", 1)]),
    "merge key": (protocol("factors:", "<<: {a: b}\nfactors:"), [("unreadable", "protocol.yaml", 10)]),
    "tag": (protocol("Sound protocol", "!!str Sound protocol"), [("unreadable", "protocol.yaml", 1)]),
    "tag that would run code": (
        protocol("Sound protocol", "!!python/object/apply:os.system [exit]"), [("unreadable", "protocol.yaml", 1)],
    ),
    "null": (protocol("Sound protocol", "null"), [("unreadable", "protocol.yaml", 1)]),
    "tilde": (protocol("Sound protocol", "~"), [("unreadable", "protocol.yaml", 1)]),
    "empty value": (protocol("title: Sound protocol", "title:"), [("unreadable", "protocol.yaml", 1)]),
    "empty text": (protocol("Sound protocol", "''"), [("schema", "protocol.yaml", 1)]),
    "list as a key": (protocol("factors:", "[a, b]: c\nfactors:"), [("unreadable", "protocol.yaml", 10)]),
    "two documents": ({"protocol.yaml": PROTOCOL + "---\nmore: of it\n"}, [("unreadable", "protocol.yaml", 18)]),
    "bracket left open": (protocol("[Not clinical advice.]", "[Not clinical advice."), [("unreadable", "protocol.yaml", 9)]),
    "quote left open": ({"materials.yaml": MATERIALS + 'more: "of it\n'}, [("unreadable", "materials.yaml", 6)]),
    "colon in a text": (protocol("Sound protocol", "Pulp protection: a protocol"), [("unreadable", "protocol.yaml", 1)]),
    "no colon": (protocol("title: Sound protocol", "title Sound protocol"), [("unreadable", "protocol.yaml", 1)]),
    "bad indentation": (protocol("practice:", " practice:"), [("unreadable", "protocol.yaml", 2)]),
    "at sign": (protocol("Sound protocol", "@home"), [("unreadable", "protocol.yaml", 1)]),
    "backslash in double quotes": (protocol("Sound protocol", '"C:\\Protocols"'), [("unreadable", "protocol.yaml", 1)]),
    "deep mappings": ({"protocol.yaml": "a: " + "{a: " * 200 + "b" + "}" * 200}, [("unreadable", "protocol.yaml", 1)]),
    "deep lists by dashes": ({"protocol.yaml": "- " * 5000 + "a\n"}, [("unreadable", "protocol.yaml", 1)]),
    "half a file": (
        {"materials.yaml": MATERIALS[: MATERIALS.index("blocks: [") + 9]}, [("unreadable", "materials.yaml", 4)],
    ),
    # the shape of files
    "protocol.yaml is a list": ({"protocol.yaml": "- title: a\n"}, [("schema", "protocol.yaml", 1)]),
    "protocol.yaml is a text": ({"protocol.yaml": "a protocol\n"}, [("schema", "protocol.yaml", 1)]),
    "protocol.yaml is empty": ({"protocol.yaml": ""}, [("unreadable", "protocol.yaml", 1)]),
    "protocol.yaml is a comment": ({"protocol.yaml": "# later\n"}, [("unreadable", "protocol.yaml", 1)]),
    "materials.yaml is missing": ({"materials.yaml": None}, [("unreadable", "materials.yaml", 1)]),
    "vignettes.yaml is a mapping": ({"vignettes.yaml": "name: a\n"}, [("schema", "vignettes.yaml", 1)]),
    "unknown field": (protocol("scope:", "scoop: a\nscope:"), [("schema", "protocol.yaml", 7)]),
    "misspelt field": (line("advise:", "advice:"), [("schema", RULE, 4)]),
    "missing field": (protocol("scope: Invented example.\n", ""), [("schema", "protocol.yaml", 1)]),
    "a list where a text should be": (protocol("Sound protocol", "[a, b]"), [("schema", "protocol.yaml", 1)]),
    "a word that is none of the words": (protocol("draft", "final"), [("schema", "protocol.yaml", 4)]),
    "layer and answers": (protocol("layer: liner,", "layer: liner, answers: {a: b},"), [("schema", "protocol.yaml", 16)]),
    "a name with capitals": (protocol("allergy: {", "Allergy: {"), [("schema", "protocol.yaml", 13)]),
    "an agent called none": (materials("varnish:", "none:"), [("schema", "materials.yaml", 5)]),
    "an answer called gap": (protocol("assess: Assess first", "gap: Assess first"), [("schema", "protocol.yaml", 15)]),
    "a rule that says nothing": (line("advise: {liner: {agent: calcium-hydroxide}}\n", ""), [("schema", RULE, 1)]),
    "coats in digits of another script": (answer("{agent: calcium-hydroxide, coats: ²}"), [("schema", RULE, 4)]),
    "5,000 digits of coats": (answer(f"{{agent: calcium-hydroxide, coats: {'9' * 5000}}}"), [("schema", RULE, 4)]),
    "superscript judgement": (line("cites:", "lowered: {indirectness: ²}, cites:"), [("schema", RULE, 5)]),
    "no such day": (protocol("2030-01-01", "2026-02-30"), [("schema", "protocol.yaml", 5)]),
    "a day in words": (protocol("2030-01-01", "1 January 2030"), [("schema", "protocol.yaml", 5)]),
    "the year 0": (protocol("2030-01-01", "0000-01-01"), [("schema", "protocol.yaml", 5)]),
    "valid the wrong way round": (line("evidence:", "valid: {from: 2026-02-01, until: 2026-01-01}\nevidence:"), [("empty-range", RULE, 5)]),
    "evidence of the other scheme": (line("design: observational", "level: 2"), [("schema", RULE, 5)]),
    "accepted error": (
        {"protocol.yaml": PROTOCOL + "accepted: [{kind: conflict, because: It is.}]\n"}, [("schema", "protocol.yaml", 18)],
    ),
    # front matter and rule files
    "no front matter": ({RULE: "# Line a deep cavity\n"}, [("unreadable", RULE, 1)]),
    "blank line before it": ({RULE: "\n" + LINE}, [("unreadable", RULE, 1)]),
    "front matter never ends": ({RULE: LINE.replace("---\nWhy", "Why")}, [("unreadable", RULE, 1)]),
    "front matter is empty": ({RULE: "---\n---\nWhy.\n"}, [("unreadable", RULE, 2)]),
    "rule file is empty": ({RULE: ""}, [("unreadable", RULE, 1)]),
    "raw HTML": (line("Why, in", "Why,<br>in"), [("schema", RULE, 7)]),
    "script": (line("Why, in", "Why.\n\n<script>alert(1)</script>\n\n"), [("schema", RULE, 9)]),
    "reasons without end": (line("Why, in", "Why, in " + "![" * 100_000), [("schema", RULE, 7)]),
    "a stray file": ({"rules/notes.txt": "Ask B. Reed."}, [("not-read", "rules/notes.txt", 1)]),
    "a copy of an editor": ({"rules/line.md~": LINE}, [("not-read", "rules/line.md~", 1)]),
    "a rule named with capitals": ({"rules/Line-Too.md": LINE}, [("schema", "rules/Line-Too.md", 1)]),
    "a rule named with a blank": ({"rules/line too.md": LINE}, [("schema", "rules/line too.md", 1)]),
    "a rule named with an escape sequence": ({"rules/\x1b[31mred.md": LINE}, [("schema", "rules/<U+001B>[31mred.md", 1)]),
    "a rule named with a line break": ({"rules/a\nb.md": LINE}, [("schema", "rules/a<U+000A>b.md", 1)]),
    "no ending": ({"rules/more": LINE}, [("not-read", "rules/more", 1)]),
    # numbers
    "bare number": (depth("{rdt: {at_most: 0.5}}"), [("unit", RULE, 3)]),
    "decimal comma": (depth("{rdt: {at_most: '0,5 mm'}}"), [("unit", RULE, 3)]),
    "decimal comma in brackets": (depth("{rdt: {at_most: 0,5 mm}}"), [("unit", RULE, 3)]),
    "comma for thousands": (depth("{rdt: {at_most: '1,000 um'}}"), [("unit", RULE, 3)]),
    "blank for thousands": (depth("{rdt: {at_most: 1 000 um}}"), [("unit", RULE, 3)]),
    "exponent": (depth("{rdt: {at_most: 5e-1 mm}}"), [("unit", RULE, 3)]),
    "fraction": (depth("{rdt: {at_most: 1/2 mm}}"), [("unit", RULE, 3)]),
    "two points": (depth("{rdt: {at_most: 0.5.1 mm}}"), [("unit", RULE, 3)]),
    "a range as a number": (depth("{rdt: {at_most: 0.5-1 mm}}"), [("unit", RULE, 3)]),
    "a sign for less": (depth("{rdt: < 0.5 mm}"), [("schema", RULE, 3)]),
    "capital unit": (depth("{rdt: {at_most: 0.5 MM}}"), [("unit", RULE, 3)]),
    "unknown unit": (depth("{rdt: {at_most: 0.5 furlong}}"), [("unit", RULE, 3)]),
    "unit of another kind": (depth("{rdt: {at_most: 5 a}}"), [("unit", RULE, 3)]),
    "unknown unit of a factor": (protocol("unit: mm", "unit: millimetre"), [("unit", "protocol.yaml", 11)]),
    "10,000 digits": (depth("{rdt: {at_most: 0." + "1" * 10_000 + " mm}}"), [("unit", RULE, 3)]),
    "10,000 digits before the point": (protocol("at_most: 6 mm", f"at_most: {'9' * 10_000} mm"), [("unit", "protocol.yaml", 11)]),
    "digits that outgrow the unit": (depth("{rdt: {at_most: 0." + "1" * 38 + " nm}}"), [("unit", RULE, 3)]),
    "a number beyond all measure": (protocol("at_most: 6 mm", f"at_most: 1{'0' * 32} mm"), [("unit", "protocol.yaml", 11)]),
    "a thickness beyond all measure": (answer(f"{{agent: calcium-hydroxide, thickness: {{exactly: 1{'0' * 30} mm}}}}"), [("unit", RULE, 4)]),
    "negative": (depth("{rdt: {at_most: -0.5 mm}}"), [("out-of-limits", RULE, 3)]),
    "beyond the limits": (depth("{rdt: {at_most: 7 mm}}"), [("out-of-limits", RULE, 3)]),
    "negative thickness": (answer("{agent: calcium-hydroxide, thickness: {exactly: -1 mm}}"), [("out-of-limits", RULE, 4)]),
    "no thickness": (answer("{agent: calcium-hydroxide, thickness: {below: 0 mm}}"), [("empty-range", RULE, 4)]),
    "off the step": (depth("{rdt: {at_most: 0.55 mm}}"), [("out-of-limits", RULE, 3)]),
    "limits reversed": (protocol("at_least: 0 mm", "at_least: 7 mm"), [("empty-range", "protocol.yaml", 11)]),
    "a step that does not divide": (protocol("step: 0.1 mm", "step: 0.7 mm"), [
        ("out-of-limits", "protocol.yaml", 11), ("out-of-limits", RULE, 3), ("out-of-limits", "rules/no-liner.md", 3),
        ("out-of-limits", "vignettes.yaml", 2),
    ]),
    "a step of nothing": (protocol("step: 0.1 mm", "step: 0 mm"), [("out-of-limits", "protocol.yaml", 11)]),
    "a negative step": (protocol("step: 0.1 mm", "step: -0.1 mm"), [("out-of-limits", "protocol.yaml", 11)]),
    "empty range": (depth("{rdt: {above: 0.5 mm, below: 0.5 mm}}"), [("empty-range", RULE, 3)]),
    "a range between two steps": (depth("{rdt: {above: 0.1 mm, below: 0.2 mm}}"), [("empty-range", RULE, 3)]),
    "a range with no bound": (depth("{rdt: {}}"), [("empty-range", RULE, 3)]),
    "two starts": (depth("{rdt: {above: 0.1 mm, at_least: 0.2 mm}}"), [("schema", RULE, 3)]),
    "exactly with another": (depth("{rdt: {exactly: 0.1 mm, at_most: 0.2 mm}}"), [("schema", RULE, 3)]),
    "no value left": (depth("{restoration: {not: [amalgam, composite]}}"), [("empty-range", RULE, 3)]),
    "a range of a choice": (depth("{restoration: {at_most: 0.5 mm}}"), [("schema", RULE, 3)]),
    "a word for a range": (depth("{rdt: deep}"), [("schema", RULE, 3)]),
    # names
    "misspelt factor": (depth("{rtd: {at_most: 0.5 mm}}"), [("unknown-name", RULE, 3)]),
    "misspelt value": (depth("{restoration: amalgan}"), [("unknown-name", RULE, 3)]),
    "a value that looks the same": (depth("{restoration: \u0430malgam}"), [("unknown-name", RULE, 3)]),
    "true for yes": (depth("{allergy: true}"), [("unknown-name", RULE, 3)]),
    "misspelt agent": (answer("{agent: calcium-hydroxid}"), [("unknown-name", RULE, 4)]),
    "an agent of another class": (answer("{agent: varnish}"), [("unknown-name", RULE, 4)]),
    "an agent as a bare word": (answer("calcium-hydroxide"), [("schema", RULE, 4)]),
    "misspelt place": (answer("{agent: calcium-hydroxide, place: flor}"), [("unknown-name", RULE, 4)]),
    "misspelt neighbour": (answer("{agent: calcium-hydroxide, before: base}"), [("unknown-name", RULE, 4)]),
    "misspelt decision": (line("liner:", "linen:"), [("unknown-name", RULE, 4)]),
    "misspelt answer": (changed("rules/restore.md", "management: restore", "management: restor"), [("unknown-name", "rules/restore.md", 3)]),
    "misspelt irritant": (materials("blocks: [acid]", "blocks: [acids]"), [("unknown-name", "materials.yaml", 4)]),
    "misspelt place of an irritant": (materials("acts_on: floor", "acts_on: flor"), [("unknown-name", "materials.yaml", 2)]),
    "misspelt rule": (line("evidence:", "overrides: [no-linen]\nevidence:"), [("unknown-name", RULE, 5)]),
    "misspelt rule of an accepted warning": (
        {"protocol.yaml": PROTOCOL + "accepted: [{kind: idle-override, rules: [lime], because: It is.}]\n"},
        [("unknown-name", "protocol.yaml", 18)],
    ),
    "needed after a later decision": (
        protocol("answers: {restore: Restore, assess: Assess first}", "answers: {restore: Restore}, needed_when: {liner: none}"),
        [("unknown-name", "protocol.yaml", 15)],
    ),
    "needed after itself": (protocol("needed_when: {management: restore}", "needed_when: {liner: none}"), [("unknown-name", "protocol.yaml", 16)]),
    "needed after nothing known": (protocol("needed_when: {management", "needed_when: {managment"), [("unknown-name", "protocol.yaml", 16)]),
    "needed after no such answer": (protocol("needed_when: {management: restore}", "needed_when: {management: filled}"), [("unknown-name", "protocol.yaml", 16)]),
    "excluded by an unknown factor": (
        {"protocol.yaml": PROTOCOL + "excluded: [{when: {exposure: yes}, because: Elsewhere.}]\n"},
        [("unknown-name", "protocol.yaml", 18)],
    ),
    "an override of itself": (line("evidence:", "overrides: [line]\nevidence:"), [("override-circle", RULE, 5)]),
    "two values that look alike": (protocol("composite: Composite", "composite: ' amalgam '"), [("schema", "protocol.yaml", 12)]),
    "two values with a letter that looks alike": (protocol("composite: Composite", "composite: \u0410malgam"), [("schema", "protocol.yaml", 12)]),
    "two factors of one label": (protocol("label: Allergy", "label: Restoration"), [("schema", "protocol.yaml", 13)]),
    "two decisions of one label": (protocol("label: Liner", "label: MANAGEMENT"), [("schema", "protocol.yaml", 16)]),
    "two answers of one label": (protocol("assess: Assess first", "assess: Restore"), [("schema", "protocol.yaml", 15)]),
    "two agents of one label": (materials("label: Varnish", "label: Calcium  hydroxide"), [("schema", "materials.yaml", 5)]),
    "an agent with another's name as its label": (materials("label: Calcium hydroxide", "label: varnish"), [("schema", "materials.yaml", 5)]),
    "two places of one label": (materials("floor: Floor", "floor: deepest spot"), [("schema", "materials.yaml", 1)]),
    "two irritants of one label": (materials("{label: Acid, acts_on: floor}", "{label: Acid}, base: {label: acid}"), [("schema", "materials.yaml", 2)]),
    "no caution": (protocol("[Not clinical advice.]", "[]"), [("schema", "protocol.yaml", 8)]),
    # vignettes and references
    "a vignette with an unknown decision": (changed("vignettes.yaml", "{liner: c", "{linen: c"), [("unknown-name", "vignettes.yaml", 3)]),
    "a vignette with an unknown answer": (changed("vignettes.yaml", "{liner: calcium-hydroxide", "{liner: calcium"), [("unknown-name", "vignettes.yaml", 3)]),
    "a vignette without a factor": (changed("vignettes.yaml", ", allergy: no", ""), [("schema", "vignettes.yaml", 2)]),
    "a vignette off the step": (changed("vignettes.yaml", "0.4 mm", "0.45 mm"), [("out-of-limits", "vignettes.yaml", 2)]),
    "a vignette without a unit": (changed("vignettes.yaml", "0.4 mm", "0.4"), [("unit", "vignettes.yaml", 2)]),
    "a vignette that is wrong": (changed("vignettes.yaml", "0.4 mm", "0.6 mm"), [("vignette", "vignettes.yaml", 1)]),
    # the card and its copies
    "card.yaml is empty": ({"card.yaml": ""}, [("unreadable", "card.yaml", 1)]),
    "card.yaml is a list": ({"card.yaml": "- A4\n"}, [("schema", "card.yaml", 1)]),
    "a size that no card has": ({"card.yaml": "size: A3\n"}, [("schema", "card.yaml", 1)]),
    "bands by a choice": ({"card.yaml": "bands_by: restoration\n"}, [("schema", "card.yaml", 1)]),
    "bands beyond a limit": ({"card.yaml": "size: A4\nbands: {at_most: 7 mm}\n"}, [("out-of-limits", "card.yaml", 2)]),
    "bands off the step": ({"card.yaml": "bands: [{below: 0.25 mm}, {exactly: 1 mm}]\n"}, [("out-of-limits", "card.yaml", 1)]),
    "bands without a unit": ({"card.yaml": "bands: {at_most: 2}\n"}, [("unit", "card.yaml", 1)]),
    "a card of an unknown restoration": ({"card.yaml": "restorations:\n  - amalgam\n  - compost\n"}, [("unknown-name", "card.yaml", 3)]),
    "a card of an unknown decision": ({"card.yaml": "decisions: [line]\n"}, [("unknown-name", "card.yaml", 1)]),
    "a card of readings that nobody takes": ({"card.yaml": "scale: reading\n"}, [("schema", "card.yaml", 1)]),
    "a usual value of what makes the columns": ({"card.yaml": "usual: {restoration: amalgam}\n"}, [("schema", "card.yaml", 1)]),
    "several mistakes in a card": ({"card.yaml": "size: A3\ndecisions: [line]\nusual: {alergy: no}\nscale: film\n"}, [("schema", "card.yaml", 1), ("unknown-name", "card.yaml", 2), ("unknown-name", "card.yaml", 3), ("schema", "card.yaml", 4)]),
    "card.yaml beside a protocol that cannot be read": ({**protocol("kind: yes-no", "kind: maybe"), "card.yaml": "usual: {allergy: no}\n"}, [("schema", "protocol.yaml", 13)]),
    "a card in Latin-1": ({"card.yaml": b"rings_with_pain: [caf\xe9]\n"}, [("unreadable", "card.yaml", 1)]),
    "copies.yaml is a list": ({"copies.yaml": "- room: A\n"}, [("schema", "copies.yaml", 1)]),
    "a copy without a room": ({"copies.yaml": "copies:\n  - {edition: 1}\n"}, [("schema", "copies.yaml", 2)]),
    "a room named twice": ({"copies.yaml": "copies:\n  - {room: A}\n  - {room: a}\n"}, [("schema", "copies.yaml", 3)]),
    "a copy since a day that is none": ({"copies.yaml": "copies: [{room: A, edition: 1, since: 2026-02-30}]\n"}, [("schema", "copies.yaml", 1)]),
    "a copy since when of what": ({"copies.yaml": "copies: [{room: A, since: 2026-03-02}]\n"}, [("schema", "copies.yaml", 1)]),
    "references are no JSON": ({"references.json": "[{'id': 1}]\n"}, [("unreadable", "references.json", 1)]),
    "references without an end": ({"references.json": REFERENCES[:-2]}, [("unreadable", "references.json", 1)]),
    "a reference given twice": ({"references.json": REFERENCES.replace("[", "[" + REFERENCES[1:-2] + ", ")}, [("unreadable", "references.json", 1)]),
    "a reference in two files": (
        {"references.bib": "@article{quill2017, title = {An invented study}}\n"}, [("unreadable", "references.json", 1)],
    ),
    "references of NaN": ({"references.json": '[{"id": "quill2017", "volume": NaN}]\n'}, [("unreadable", "references.json", 1)]),
    "an unknown reference": (line("quill2017", "quill2071"), [("unknown-reference", RULE, 5), ("unused-reference", "references.json", 1)]),
}  # fmt: skip


@pytest.mark.parametrize("name", SOURCES)
def test_a_broken_source_is_a_finding_with_its_place(name: str, tmp_path: Path, inside: Callable[..., Run]) -> None:
    files, expected = SOURCES[name]
    folder = written(tmp_path, files)
    result = inside("check", folder, "--format", "json", "--on", DAY)
    assert sorted(findings(result)) == sorted(expected)
    assert (result.code, result.err) == (1, "")
    text = inside("check", folder, "--on", DAY)
    assert (text.code, text.err) == (1, "")
    said = " ".join(text.out.split())
    for kind, file, number in expected:
        assert f"({kind})" in said
        assert f"{file}, line {number} " in said or (number == 1 and f" {file} " in said)


PASSING: dict[str, Files] = {
    "a byte order mark and CRLF": {
        name: b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode() for name, text in SOUND.items()
    },
    "CR alone": {name: text.replace("\n", "\r").encode() for name, text in SOUND.items()},
    "no line break at the end": {name: text.rstrip("\n") for name, text in SOUND.items() if name.endswith("yaml")},
    "a point without digits before it": depth("{rdt: {at_most: .5 mm}}"),
    "a point without digits after it": {
        **depth("{rdt: {at_most: 1. mm}}"),
        **changed("rules/no-liner.md", "0.5 mm", "1 mm"),
    },
    "a no-break space before the unit": depth("{rdt: {at_most: 0.5\u00a0mm}}"),
    "files and folders that are no rules": {
        "rules/README.md": "Notes.",
        "rules/_later.md": "Later.",
        "rules/.DS_Store": b"\0\1\2",
        "rules/_old/line.md": "Older.",
        "_minutes.txt": "Not read.",
        "README.txt": "Notes.",
        "LICENSE": "Invented.",
    },
    "the last day there is": line("evidence:", "valid: {from: 0001-01-01, until: 9999-12-31}\nevidence:"),
}


@pytest.mark.parametrize("name", PASSING)
def test_unusual_sources_that_are_sound_pass(name: str, tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path / "protocol", PASSING[name])
    result = inside("check", folder, "--strict", "--on", DAY)
    assert (result.code, result.err) == (0, ""), result.out
    assert inside("build", folder, "--out", tmp_path / "out", *ONLY).code == 0


@pytest.mark.parametrize("day", ["0001-01-01", "1969-12-31", "9999-12-31"])
def test_any_day_may_be_looked_at(day: str, tmp_path: Path, inside: Callable[..., Run]) -> None:
    result = inside("check", written(tmp_path), "--format", "json", "--on", day)
    assert result.code == 0
    assert set(findings(result)) <= {("review-overdue", "protocol.yaml", 5)}


@pytest.mark.parametrize(
    ("wrong", "meant"),
    [
        (depth("{rtd: {at_most: 0.5 mm}}"), "did you mean `rdt`?"),
        (depth("{restoration: amalgan}"), "did you mean `amalgam`?"),
        (depth("{restoration: \u0430malgam}"), "U+0430"),
        (answer("{agent: calcium-hydroxid}"), "did you mean `calcium-hydroxide`?"),
        (line("evidence:", "overrides: [no-linen]\nevidence:"), "did you mean `no-liner`?"),
        (line("advise:", "advice:"), "did you mean `advise`?"),
        (depth("{rdt: {at_most: '0,5 mm'}}"), "write `0.5 mm`"),
        (depth("{rdt: {at_most: 0,5 mm}}"), "write `0.5 mm`"),
        (depth("{rdt: {at_most: '1,000 um'}}"), "write `1000 um` or `1.000 um`, whichever is meant"),
        (depth("{rdt: {at_most: 500 microns}}"), "write `500 um`"),
        (depth("{rdt: < 0.5 mm}"), "write `{below: 0.5 mm}`"),
        (depth("{rdt: {at_most: 500}}"), "write `500 mm`, if mm is meant"),
    ],
)
def test_advice_says_what_to_write(wrong: Files, meant: str, tmp_path: Path, inside: Callable[..., Run]) -> None:
    said = " ".join(inside("check", written(tmp_path, wrong), "--on", DAY).out.split())
    assert meant.lower() in said.lower()


def test_a_factor_that_cannot_be_read_is_reported_once_and_not_wherever_it_is_used(
    tmp_path: Path, inside: Callable[..., Run]
) -> None:
    folder = written(tmp_path, protocol("unit: mm", "unit: microns"))
    assert findings(inside("check", folder, "--format", "json")) == [("unit", "protocol.yaml", 11)]


def rules(count: int, text: Callable[[int], str]) -> Files:
    """Rules `r0`, `r1`, ... in place of those on the liner."""
    return {"rules/line.md": None, "rules/no-liner.md": None, **{f"rules/r{n}.md": text(n) for n in range(count)}}


def overriding(*names: str) -> str:
    return NO_LINER.replace("evidence:", f"overrides: [{', '.join(names)}]\nevidence:")


@pytest.mark.parametrize("size", [2, 3, 8])
def test_a_circle_of_overrides_is_reported_once(size: int, tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path, rules(size, lambda number: overriding(f"r{(number + 1) % size}")))
    assert [kind for kind, _, _ in findings(inside("check", folder, "--format", "json"))] == ["override-circle"]


def test_where_everything_is_excluded_no_rule_is_heard(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path, {"protocol.yaml": PROTOCOL + "excluded: [{because: Nothing is covered.}]\n"})
    result = inside("check", folder, "--format", "json", "--on", DAY)
    found = findings(result)
    assert [kind for kind, _, _ in found if kind != "unreachable"] == ["vignette"]
    assert len(found) == 4
    assert inside("build", folder, "--out", tmp_path / "out", "--only", "bundle", "--draft", "--on", DAY).code == 0


# --- too much of it ---------------------------------------------------------------------------------------------------


def narrow(number: int) -> str:
    """A rule for one of 5,000 stretches of 1 um."""
    return NO_LINER.replace("above: 0.5 mm", f"above: {number} um, at_most: {number + 1} um")


def names(count: int) -> str:
    return ", ".join(f"name-{number}" for number in range(count))


FINE = protocol(", step: 0.1 mm", "")
LARGE: dict[str, tuple[Callable[[], Files], str | None]] = {
    "100,000 open brackets": (lambda: {"protocol.yaml": "[" * 100_000}, "unreadable"),
    "100,000 open braces": (lambda: {"protocol.yaml": "{a: " * 100_000}, "unreadable"),
    "100,000 brackets in references": (lambda: {"references.json": "[" * 100_000}, "unreadable"),
    "20 MB": (lambda: {"protocol.yaml": PROTOCOL + "# filler filler filler\n" * 900_000}, "unreadable"),
    "a line of 1.9 MB": (lambda: protocol("Invented example.", "word " * 380_000), None),
    "300,000 values": (lambda: protocol("Invented example.", "[" + "a, " * 300_000 + "a]"), "unreadable"),
    "40,000 unknown fields": (lambda: {"protocol.yaml": PROTOCOL + "".join(f"f{n}: a\n" for n in range(40_000))}, "schema"),
    "5,000 rules": (lambda: {**FINE, **rules(5000, narrow)}, "unused-reference"),
    "5,000 rules in a circle": (lambda: rules(5000, lambda n: overriding(f"r{(n + 1) % 5000}")), "override-circle"),
    "200 rules that all override one another": (
        lambda: rules(200, lambda n: overriding(*(f"r{m}" for m in range(200) if m != n))), "override-circle",
    ),
    "2,000 rules that override misspelt ones": (lambda: rules(2000, lambda n: overriding(f"rule-{n}")), "unknown-name"),
    "5,000 misspelt overrides": (lambda: {RULE: LINE.replace("evidence:", f"overrides: [{names(5000)}]\nevidence:")}, "unknown-name"),
    "20,000 sets of conditions": (lambda: depth("[" + "{allergy: yes}, " * 20_000 + "]"), "schema"),
    "20,000 ranges": (lambda: depth("{rdt: [" + "{exactly: 0.1 mm}, " * 20_000 + "]}"), "schema"),
    "10,000 values of a choice": (lambda: protocol("composite: C", "".join(f"v{n}: V{n}, " for n in range(10_000)) + "composite: C"), None),
    "1,000 factors": (lambda: protocol("decisions:", "".join(f"  f{n}: {{kind: yes-no}}\n" for n in range(1000)) + "decisions:"), "schema"),
}  # fmt: skip


@pytest.mark.parametrize("name", LARGE)
def test_too_much_of_anything_neither_hangs_nor_breaks(name: str, tmp_path: Path) -> None:
    files, kind = LARGE[name]
    # So many rules are no mistake: they may take longer than one.
    seconds = 2 * SECONDS if name.startswith("5,000 rules") else SECONDS
    result = run("check", written(tmp_path, files()), "--format", "json", "--on", DAY, seconds=seconds)
    assert result.err == ""
    assert ({kind} if kind else set()) == {found[0] for found in findings(result)} - {"gap", "vignette"}


# --- places -----------------------------------------------------------------------------------------------------------


def emptied(folder: Path, name: str) -> Path:
    """The place of a source that was taken away."""
    path = folder / name
    for inner in sorted(path.iterdir()) if path.is_dir() else ():
        inner.unlink()
    path.rmdir() if path.is_dir() else path.unlink()
    return path


PLACES: dict[str, tuple[Callable[[Path], object], Found]] = {
    "protocol.yaml is a folder": (lambda d: emptied(d, "protocol.yaml").mkdir(), ("unreadable", "protocol.yaml", 1)),
    "protocol.yaml leads nowhere": (
        lambda d: emptied(d, "protocol.yaml").symlink_to("nowhere"), ("unreadable", "protocol.yaml", 1),
    ),
    "protocol.yaml leads to itself": (
        lambda d: emptied(d, "protocol.yaml").symlink_to("protocol.yaml"), ("unreadable", "protocol.yaml", 1),
    ),
    "protocol.yaml is a device": (
        lambda d: emptied(d, "protocol.yaml").symlink_to("/dev/zero"), ("unreadable", "protocol.yaml", 1),
    ),
    "protocol.yaml is a pipe": (lambda d: os.mkfifo(emptied(d, "protocol.yaml")), ("unreadable", "protocol.yaml", 1)),
    "a rule is a folder": (lambda d: (d / "rules" / "more.md").mkdir(), ("not-read", "rules/more.md", 1)),
    "a rule is a link out": (lambda d: (d / "rules" / "more.md").symlink_to("/etc/hostname"), ("unreadable", "rules/more.md", 1)),
    "a rule is a link out by dots": (
        lambda d: ((d.parent / "secret.md").write_text(LINE), (d / "rules" / "more.md").symlink_to("../../secret.md")),
        ("unreadable", "rules/more.md", 1),
    ),
    "a rule leads nowhere": (lambda d: (d / "rules" / "more.md").symlink_to("nowhere"), ("unreadable", "rules/more.md", 1)),
    "a rule leads to itself": (lambda d: (d / "rules" / "more.md").symlink_to("more.md"), ("unreadable", "rules/more.md", 1)),
    "a rule is a pipe": (lambda d: os.mkfifo(d / "rules" / "more.md"), ("unreadable", "rules/more.md", 1)),
    "the references are a pipe": (lambda d: os.mkfifo(emptied(d, "references.json")), ("unreadable", "references.json", 1)),
    "no rules": (lambda d: emptied(d, "rules"), ("schema", "protocol.yaml", 1)),
    "rules is empty": (lambda d: emptied(d, "rules").mkdir(), ("schema", "protocol.yaml", 1)),
    "rules is a file": (lambda d: emptied(d, "rules").write_text(LINE), ("unreadable", "rules", 1)),
    "rules leads nowhere": (lambda d: emptied(d, "rules").symlink_to("nowhere"), ("unreadable", "rules", 1)),
    "rules leads out": (
        lambda d: ((d / "rules").rename(d.parent / "elsewhere"), (d / "rules").symlink_to("../elsewhere")),
        ("unreadable", "rules", 1),
    ),
    "evidence is a file": (lambda d: (d / "evidence").write_text("question: a\n"), ("unreadable", "evidence", 1)),
    "evidence leads out": (lambda d: ((d.parent / "elsewhere").mkdir(), (d / "evidence").symlink_to("../elsewhere")), ("unreadable", "evidence", 1)),
    "a table is a link out": (lambda d: ((d / "evidence").mkdir(), (d / "evidence" / "a.yaml").symlink_to("/etc/hostname")), ("unreadable", "evidence/a.yaml", 1)),
    "a table is a pipe": (lambda d: ((d / "evidence").mkdir(), os.mkfifo(d / "evidence" / "a.yaml")), ("unreadable", "evidence/a.yaml", 1)),
    "a table is a folder": (lambda d: (d / "evidence" / "a.yaml").mkdir(parents=True), ("not-read", "evidence/a.yaml", 1)),
}  # fmt: skip


@pytest.mark.parametrize("name", PLACES)
def test_a_source_that_is_no_file_in_the_folder_is_a_finding(name: str, tmp_path: Path) -> None:
    spoil, expected = PLACES[name]
    folder = written(tmp_path / "protocol")
    spoil(folder)
    result = run("check", folder, "--format", "json", "--on", DAY)
    assert findings(result) == [expected]
    assert (result.code, result.err) == (1, "")


def test_a_link_that_stays_inside_is_followed(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path)
    (folder / "rules").rename(folder / "kept")
    (folder / "rules").symlink_to("kept")
    assert inside("check", folder, "--strict", "--on", DAY).code == 0


# --- an ordinary user -------------------------------------------------------------------------------------------------

AS_USER = """\
import contextlib, io, os, sys
from liningbook.cli import main
sound, *arguments = sys.argv[1:]
with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
    main(["build", sound, "--out", sound + "/out", "--only", "bundle,site"])  # so that all modules are there
if os.getuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
sys.exit(main(arguments))
"""
"""Runs a command without the rights of root, under which everything can be read."""


@pytest.fixture
def shared() -> Iterator[Path]:
    """A folder that every user may look into (those of pytest are private)."""
    with tempfile.TemporaryDirectory(prefix="liningbook-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        written(folder / "sound")
        yield folder
        for path in [folder, *folder.rglob("*")]:
            if path.is_dir() and not path.is_symlink():
                path.chmod(0o755)


def as_user(shared: Path, *arguments: str | Path) -> Run:
    return run(shared / "sound", *arguments, command=("-c", AS_USER))


@pytest.mark.parametrize(
    ("closed", "expected"),
    [
        ("rules/line.md", ("unreadable", "rules/line.md", 1)),
        ("protocol.yaml", ("unreadable", "protocol.yaml", 1)),
        ("rules", ("unreadable", "rules", 1)),
        (".", ("unreadable", "protocol.yaml", 1)),
    ],
)
def test_what_may_not_be_read_is_a_finding(closed: str, expected: Found, shared: Path) -> None:
    folder = written(shared / "protocol")
    (folder / closed).chmod(0)
    result = as_user(shared, "check", folder, "--format", "json", "--on", DAY)
    (folder / closed).chmod(0o755)
    assert findings(result) == [expected]
    assert result.code == 1


def test_a_folder_that_may_be_read_but_not_listed_gives_json(shared: Path) -> None:
    folder = written(shared / "protocol")
    folder.chmod(0o711)
    result = as_user(shared, "check", folder, "--format", "json", "--on", DAY)
    folder.chmod(0o755)
    assert findings(result) == [("unreadable", "protocol.yaml", 1)]
    assert result.code == 1


def test_a_folder_within_that_may_not_be_listed_is_a_warning(shared: Path) -> None:
    folder = written(shared / "protocol", {"kept/minutes.docx": ""})
    (folder / "kept").chmod(0o711)
    result = as_user(shared, "check", folder, "--format", "json", "--on", DAY)
    (folder / "kept").chmod(0o755)
    assert findings(result) == [("not-read", "kept", 1)]
    assert result.code == 0


# --- calls ------------------------------------------------------------------------------------------------------------

CASE = ("restoration=amalgam", "allergy=no")
CALLS: dict[str, tuple[Sequence[str], str]] = {
    "no command": ([], "COMMAND is missing"),
    "unknown command": (["chek", "."], "there is no command 'chek'"),
    "no folder": (["check"], "PROTOCOL is missing"),
    "an empty name": (["check", ""], "the name is empty"),
    "no such folder": (["check", "nowhere"], "there is no folder nowhere"),
    "a name too long": (["check", "x" * 5000], "there is no folder xxx"),
    "a folder without a protocol": (["check", "rules"], "holds no protocol.yaml"),
    "a file": (["check", "protocol.yaml"], "is a file; name the folder"),
    "two folders": (["check", ".", "rules"], "'rules' is not understood here"),
    "unknown option": (["check", ".", "--strickt"], "'--strickt' is not understood here"),
    "shortened option": (["check", ".", "--stric"], "'--stric' is not understood here"),
    "unknown format": (["check", ".", "--format", "xml"], "--format cannot be 'xml'"),
    "a day without a value": (["check", ".", "--on"], "--on needs a value"),
    "no such day": (["check", ".", "--on", "2026-02-30"], "'2026-02-30' is not a day"),
    "a day in words": (["check", ".", "--on", "tomorrow"], "'tomorrow' is not a day"),
    "a day without hyphens": (["check", ".", "--on", "20261125"], "'20261125' is not a day"),
    "a case without values": (["case", ".", "--complete"], "needs a value for rdt"),
    "a factor missing": (["case", ".", "rdt=1mm", "allergy=no", "--complete"], "needs a value for restoration"),
    "a factor misspelt": (["case", ".", "rtd=1mm", *CASE], "did you mean `rdt`?"),
    "a factor given twice": (["case", ".", "rdt=1mm", "rdt=1mm", *CASE], "rdt is given twice"),
    "no equals sign": (["case", ".", "rdt", *CASE], "'rdt' is not a factor and its value"),
    "no value": (["case", ".", "rdt=", *CASE], "'' is not one number with its unit"),
    "a value without a unit": (["case", ".", "rdt=1", *CASE], "the number has no unit"),
    "a decimal comma": (["case", ".", "rdt=1,5mm", *CASE], "write `1.5 mm`"),
    "off the step": (["case", ".", "rdt=0.15mm", *CASE], "0.15 mm is not a whole multiple of the step"),
    "out of the limits": (["case", ".", "rdt=7mm", *CASE], "7 mm is outside the limits"),
    "10,000 digits": (["case", ".", f"rdt={'1' * 10_000}mm", *CASE], "more than 40 digits"),
    "a value misspelt": (["case", ".", "rdt=1mm", "restoration=amalgan", "allergy=no"], "did you mean `amalgam`?"),
    "true for yes": (["case", ".", "rdt=1mm", "restoration=amalgam", "allergy=true"], "'true' is not a value of Allergy"),
    "no output folder": (["build", "."], "--out is missing"),
    "an output folder without a name": (["build", ".", "--out", ""], "the name is empty"),
    "unknown output": (["build", ".", "--out", "out", "--only", "bundel"], "'bundel' is not an output"),
    "no output": (["build", ".", "--out", "out", "--only", ""], "'' is not an output"),
}  # fmt: skip


@pytest.mark.parametrize("name", CALLS)
def test_a_wrong_call_is_told_in_one_line_and_exits_2(
    name: str, tmp_path: Path, inside: Callable[..., Run], monkeypatch: pytest.MonkeyPatch
) -> None:
    arguments, words = CALLS[name]
    monkeypatch.chdir(written(tmp_path))
    result = inside(*arguments)
    assert words in one_line(result)
    assert result.code == 2
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["no command", "unknown command", "no such folder", "a factor misspelt"])
def test_a_wrong_call_is_the_same_from_a_shell(name: str, tmp_path: Path) -> None:
    arguments, words = CALLS[name]
    written(tmp_path)
    result = run(*(str(tmp_path) if argument == "." else argument for argument in arguments))
    assert words in one_line(result)
    assert result.code == 2


@pytest.mark.parametrize(
    "text", ["soon", "1.5", "9" * 40, "9" * 5000, "-99999999999999", "١٧٩٠", " 1", "1_0", "\uff11"]
)
def test_a_wrong_time_is_told_in_one_line(text: str, tmp_path: Path) -> None:
    result = run("check", written(tmp_path), SOURCE_DATE_EPOCH=text)
    assert "SOURCE_DATE_EPOCH" in one_line(result)
    assert result.code == 2


def test_an_output_named_like_a_source_but_for_capitals_is_refused(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path / "home")
    cases = tmp_path / "cases.csv"
    cases.write_text("rdt,restoration,allergy\n1 mm,amalgam,no\n")
    for place in (folder / "Materials.YAML", tmp_path / "CASES.csv", tmp_path / "HOME" / "references.JSON"):
        result = inside("case", folder, "--cases", cases, "--out", place, "--on", DAY)
        assert "is a source, or is written twice" in one_line(result)
        assert result.code == 1
    result = inside("build", folder, "--out", folder / "Rules", "--only", "bundle", "--on", DAY)
    assert "is for rules" in one_line(result)
    assert not (folder / "Rules").exists()


def test_options_may_stand_between_the_values_of_a_case(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path)
    result = inside("case", folder, "rdt=1mm", "--format", "json", "--on", DAY, *CASE)
    assert (result.code, json.loads(result.out)["case"]["allergy"]) == (0, "no")


def test_a_case_of_a_broken_protocol_is_not_answered(tmp_path: Path, inside: Callable[..., Run]) -> None:
    result = inside("case", written(tmp_path, depth("{rdt: deep}")), "rdt=1mm", *CASE)
    assert (result.code, result.out) == (1, "")
    assert "rules/line.md, line 3\n" in result.err


def test_a_misnamed_protocol_is_pointed_out(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path)
    (folder / "protocol.yaml").rename(folder / "Protocol.yml")
    assert "rename Protocol.yml" in one_line(inside("check", folder))


# --- the screen -------------------------------------------------------------------------------------------------------

MICRO = changed("rules/line.md", "Line a deep cavity", "Line ≤ 500 µm of dentine twice")


@pytest.mark.parametrize("language", ["C", "POSIX", "de_DE.ISO-8859-1", "none-such"])
def test_signs_are_printed_whatever_the_language_of_the_machine(language: str, tmp_path: Path) -> None:
    folder = written(tmp_path, MICRO)
    result = run("case", folder, "rdt=0.5mm", *CASE, "--on", DAY, LANG=language, LC_ALL=language, PYTHONUTF8="0")
    assert re.search("≤ 500 µm|<= 500 um", result.out)  # as it is, or spelt in the signs that the machine has
    assert result.code == 0


@pytest.mark.parametrize(("files", "code"), [({}, 0), (depth("{rdt: deep}"), 1)])
def test_a_reader_that_goes_away_changes_no_exit_code(files: Files, code: int, tmp_path: Path) -> None:
    folder = written(tmp_path, files)
    reading, writing = os.pipe()
    os.close(reading)
    with open(writing, "wb") as stream:
        result = run("check", folder, "--on", DAY, out=stream)
    assert (result.code, result.err) == (code, "")


@pytest.mark.parametrize(("files", "code"), [({}, 0), (depth("{rdt: deep}"), 1)])
def test_a_closed_screen_changes_no_exit_code(files: Files, code: int, tmp_path: Path) -> None:
    result = run("check", written(tmp_path, files), "--on", DAY, before=lambda: os.close(1))
    assert (result.code, result.err) == (code, "")


def test_closed_streams_change_no_exit_code(tmp_path: Path) -> None:
    def close() -> None:
        for stream in (0, 1, 2):
            os.close(stream)

    assert run("check", written(tmp_path, depth("{rdt: deep}")), before=close).code == 1
    assert run("check", tmp_path / "nowhere", before=close).code == 2


def test_findings_that_do_not_fit_on_the_disk_are_an_error(tmp_path: Path) -> None:
    with open("/dev/full", "wb") as full:
        result = run("check", written(tmp_path), out=full)
    assert "No space left on device" in one_line(result)
    assert result.code == 1


# --- builds -----------------------------------------------------------------------------------------------------------

ONLY = ("--only", "bundle,site", "--on", DAY)
WRITTEN = {".liningbook-build.json", ".liningbook-build.lock", "bundle.json"} | {
    f"site/{name}" for name in ("icon.svg", "index.html", "manifest.webmanifest", "sw.js")
}


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, with its content."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture
def built(tmp_path: Path, inside: Callable[..., Run]) -> tuple[Path, Path, dict[str, bytes]]:
    """A protocol, the folder of its output, and what lies in it; the protocol has changed since."""
    folder, out = written(tmp_path / "protocol"), tmp_path / "out"
    assert inside("build", folder, "--out", out, *ONLY).code == 0
    before = contents(out)
    assert before.keys() == WRITTEN
    written(folder, protocol("Sound protocol", "Sounder protocol"))
    return folder, out, before


Built = tuple[Path, Path, dict[str, bytes]]


def test_a_build_of_a_changed_protocol_changes_the_output(built: Built, inside: Callable[..., Run]) -> None:
    folder, out, before = built
    assert inside("build", folder, "--out", out, *ONLY).code == 0
    after = contents(out)
    assert after.keys() == before.keys()
    same = ("site/icon.svg", ".liningbook-build.lock")
    assert all(after[name] != before[name] for name in before if name not in same)


@pytest.mark.parametrize(
    "files",
    [
        pytest.param(depth("{rdt: deep}"), id="the source is broken"),
        pytest.param(depth("{rdt: {at_most: 0.6 mm}}"), id="two rules disagree"),
        pytest.param({"protocol.yaml": b"\xff"}, id="the protocol is not text"),
    ],
)
def test_a_protocol_with_errors_is_not_built(files: Files, built: Built, inside: Callable[..., Run]) -> None:
    folder, out, before = built
    result = inside("build", written(folder, files), "--out", out, *ONLY)
    assert (result.code, result.out) == (1, "")
    assert "nothing was written" in result.err
    assert contents(out) == before


def test_a_full_disk_leaves_the_previous_output_whole(built: Built) -> None:
    folder, out, before = built
    small = len(before["bundle.json"]) // 2
    result = run(
        "build", folder, "--out", out, *ONLY, before=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (small, small))
    )
    assert (result.code, result.out) == (1, "")
    assert "the previous output is as it was" in result.err
    assert contents(out) == before


def test_a_disk_that_fills_up_with_the_last_file_leaves_the_previous_output_whole(built: Built) -> None:
    folder, out, before = built
    enough = len(before["bundle.json"]) * 2
    assert enough < len(before["site/index.html"])
    result = run(
        "build", folder, "--out", out, *ONLY, before=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (enough, enough))
    )
    assert (result.code, result.out) == (1, "")
    assert contents(out) == before


def test_a_file_that_cannot_be_moved_in_brings_back_those_before_it(
    built: Built, inside: Callable[..., Run], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out, before = built
    replace = Path.replace

    def locked(self: Path, target: Path) -> Path:
        if target.name == "index.html" and self.name.startswith("new"):
            raise PermissionError(13, "Permission denied", str(target))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", locked)
    result = inside("build", folder, "--out", out, *ONLY)
    assert (result.code, result.out) == (1, "")
    assert "index.html: Permission denied; the previous output is as it was" in result.err
    assert contents(out) == before


def test_a_folder_where_an_output_belongs_leaves_the_rest_whole(built: Built, inside: Callable[..., Run]) -> None:
    folder, out, before = built
    (out / "site" / "index.html").unlink()
    (out / "site" / "index.html").mkdir()
    result = inside("build", folder, "--out", out, *ONLY)
    assert (result.code, result.out) == (1, "")
    assert "index.html is a folder, where a file is to be written" in result.err
    assert contents(out) == {name: content for name, content in before.items() if name != "site/index.html"}


def test_a_file_where_a_folder_belongs_leaves_the_rest_whole(built: Built, inside: Callable[..., Run]) -> None:
    folder, out, before = built
    shutil.rmtree(out / "site")
    (out / "site").write_text("mine")
    assert inside("build", folder, "--out", out, *ONLY).code == 1
    kept = {name: content for name, content in before.items() if not name.startswith("site/")}
    assert contents(out) == {**kept, "site": b"mine"}


@pytest.mark.parametrize("kind", ["a file", "a file above it", "a link that leads nowhere", "a link to itself"])
def test_an_output_folder_that_is_none_is_told(kind: str, tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder, out = written(tmp_path / "protocol"), tmp_path / "out"
    if kind.startswith("a file"):
        out.write_text("mine")
        result = inside("build", folder, "--out", out if kind == "a file" else out / "deeper", *ONLY)
        assert out.read_text() == "mine"
    else:
        out.symlink_to("nowhere" if "nowhere" in kind else "out")
        result = inside("build", folder, "--out", out, *ONLY)
    assert f"{out} is not a folder" in one_line(result)
    assert result.code == 1


@pytest.mark.parametrize("kept", ["rules", "evidence", "appraisals"])
def test_nothing_is_built_among_the_rules_or_tables(kept: str, tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path)
    result = inside("build", folder, "--out", folder / kept, *ONLY)
    assert (result.code, f"is for {kept}" in one_line(result)) == (1, True)
    assert inside("check", folder, "--strict", "--on", DAY).code == 0


@pytest.mark.parametrize("place", ["the folder", "the folder above", "a folder in it"])
def test_an_output_folder_that_may_not_be_written_to_stays_as_it_is(place: str, shared: Path) -> None:
    folder, out = written(shared / "protocol"), shared / "out"
    assert run("build", folder, "--out", out, *ONLY).code == 0
    before = contents(out)
    written(folder, protocol("Sound protocol", "Sounder protocol"))
    out.chmod(0o777 if place == "a folder in it" else 0o555)
    (out / "site").chmod(0o555)
    target = out / "new" if place == "the folder above" else out
    result = as_user(shared, "build", folder, "--out", target, *ONLY)
    assert (result.code, result.out) == (1, "")
    assert ("Permission denied" if place == "a folder in it" else "cannot be written to") in result.err
    assert contents(out) == before


def test_a_text_that_is_dressed_up_as_a_page_stays_text(tmp_path: Path, inside: Callable[..., Run]) -> None:
    nasty = "</script><script>alert(1)</script><!--"
    folder = written(tmp_path, {**protocol("Sound protocol", f"'{nasty}'"), **line("Line a deep cavity", f"'{nasty}'")})
    assert inside("build", folder, "--out", tmp_path / "out", *ONLY).code == 0
    page = (tmp_path / "out" / "site" / "index.html").read_text(encoding="utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


def test_json_findings_hold_every_text_as_it_is(tmp_path: Path, inside: Callable[..., Run]) -> None:
    folder = written(tmp_path, {**protocol("Sound protocol", "'\"quoted\" \\ ≤ µ'"), **depth("{rdt: deep}")})
    printed: dict[str, Any] = json.loads(inside("check", folder, "--format", "json").out)
    assert printed["protocol"] == '"quoted" \\ ≤ µ'
