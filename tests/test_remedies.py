"""A mistake that first users make is one finding, and writing what its help names takes it away.

Each row is a text of a sound protocol, what an author writes in its place, and every remedy that the help offers for it
(where the author's words leave something open there are several). Each remedy is then written into the file.
"""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from liningbook.analysis import Analysis, analyse
from liningbook.finding import Finding
from liningbook.model.values import NOTHING_PLACED
from liningbook.resources import languages
from liningbook.say.answers import STATES
from liningbook.say.catalogue import gettext, speaking
from liningbook.say.faults import reason_words
from liningbook.say.findings import told
from liningbook.say.look_up.words import SAYINGS
from liningbook.sources import yaml_nodes
from liningbook.sources.documents import NoProtocol
from liningbook.sources.look_alike import folded
from liningbook.sources.yaml_nodes import read_yaml
from tests.saying import advice_of, message_of, notes_of

DAY = date(2026, 11, 25)
LINE, NO_LINER, PROTOCOL = "rules/line.md", "rules/no-liner.md", "protocol.yaml"
SOUND: Mapping[str, str] = {
    PROTOCOL: """\
title: Example
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2027-12-31
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
stop_questions: ['Is the pulp exposed?']
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
decisions:
  management: {label: Management, answers: {restore: Restore, change: Change}}
  liner: {label: Liner, layer: liner, needed_when: {management: restore}}
  base: {label: Base, layer: base, needed_when: {management: restore}}
""",
    "materials.yaml": """\
agents:
  lime: {label: Calcium hydroxide, class: liner, blocks: [{irritant: acid, thickness: {at_least: 0.5 mm}}]}
  zoe: {label: Zinc oxide eugenol, class: base}
  rmgi: {label: Resin-modified glass ionomer, class: [liner, base]}
irritants: {acid: {label: Acid}}
""",
    LINE: """\
---
title: Line a deep cavity
when:
  rdt: {at_most: 0.5 mm}
advise: {liner: {agent: lime, thickness: {at_most: 0.5 mm}}}
avoid: {base: [zoe]}
overrides: [no-liner]
evidence: {basis: good-practice, note: Invented.}
---
Why.
""",
    NO_LINER: """\
---
title: No liner
when: {rdt: {above: 0.4 mm}}
advise: {liner: none}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "rules/restore.md": """\
---
title: Restore
advise: {management: restore, base: {agent: rmgi}}
evidence: {basis: good-practice, note: Invented.}
---
""",
    "vignettes.yaml": """\
- name: Deep
  case: {rdt: 0.3 mm, restoration: amalgam}
  expect: {liner: lime, base: rmgi}
""",
}


def looked_at(files: Mapping[str, str], folder: Path) -> Analysis:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return analyse(folder, DAY)


def changed(file: str, old: str, new: str, files: Mapping[str, str] = SOUND) -> dict[str, str]:
    assert files[file].count(old) == 1, (old, files[file])
    return {**files, file: files[file].replace(old, new)}


def only(analysis: Analysis) -> Finding:
    """The one finding; the analysis of a protocol that cannot be read has no others."""
    assert [message_of(found) for found in analysis.findings] == [message_of(analysis.findings[0])]
    return analysis.findings[0]


def offered(finding: Finding) -> str:
    return "\n".join(advice_of(finding))


def is_gone(finding: Finding, analysis: Analysis) -> bool:
    """Whether a protocol can be read, and nothing is said of it as it was before."""
    return analysis.protocol is not None and message_of(finding) not in map(message_of, analysis.findings)


def test_the_protocol_of_the_table_is_sound(tmp_path: Path) -> None:
    assert looked_at(SOUND, tmp_path).findings == ()


# --- ranges -----------------------------------------------------------------------------------------------------------

RANGES: list[tuple[str, list[str]]] = [
    ("> 0.5 mm", ["{above: 0.5 mm}"]),
    (">0.5 mm", ["{above: 0.5 mm}"]),
    (">= 0,5 mm", ["{at_least: 0.5 mm}"]),
    ("≥ 0.5 mm", ["{at_least: 0.5 mm}"]),
    ("< 0.5 mm", ["{below: 0.5 mm}"]),
    ("<= 0.5 mm", ["{at_most: 0.5 mm}"]),
    ("≤ 0.5 mm", ["{at_most: 0.5 mm}"]),
    ("≤ 0,5 mm", ["{at_most: 0.5 mm}"]),
    ("< 500 µm", ["{below: 500 um}"]),
    ("under 0.5 mm", ["{below: 0.5 mm}"]),
    ("unter 0,5 mm", ["{below: 0.5 mm}"]),
    ("moins de 0,5 mm", ["{below: 0.5 mm}"]),
    ("less than 0.5 mm", ["{below: 0.5 mm}"]),
    ("over 0.5 mm", ["{above: 0.5 mm}"]),
    ("at least 0.5 mm", ["{at_least: 0.5 mm}"]),
    ("max. 0.5 mm", ["{at_most: 0.5 mm}"]),
    ("0.5 mm or less", ["{at_most: 0.5 mm}"]),
    ("up to 0.5 mm", ["{at_most: 0.5 mm}", "{below: 0.5 mm}"]),
    ("bis 0,5 mm", ["{at_most: 0.5 mm}", "{below: 0.5 mm}"]),
    ("from 0.5 mm", ["{at_least: 0.5 mm}", "{above: 0.5 mm}"]),
    ("> 0.5 mm, <= 2 mm", ["{above: 0.5 mm, at_most: 2 mm}"]),
    ("> 0,5 mm, <= 2,5 mm", ["{above: 0.5 mm, at_most: 2.5 mm}"]),
    ("0.5 mm < rdt <= 2 mm", ["{above: 0.5 mm, at_most: 2 mm}"]),
    ("over 0.5 to 2 mm", ["{above: 0.5 mm, at_most: 2 mm}", "{above: 0.5 mm, below: 2 mm}"]),
    ("0.5-2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
    ("0,5-2,5 mm", ["{at_least: 0.5 mm, at_most: 2.5 mm}"]),
    ("0.5 – 2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
    ("0.5 mm to 2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
    ("500-2000 um", ["{at_least: 500 um, at_most: 2000 um}"]),
    ("0,5 bis 2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
    ("de 0,5 à 2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
    ("between 0.5 and 2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
]

PLACES = {
    "condition on a line of its own": (LINE, "rdt: {at_most: 0.5 mm}", "rdt: "),
    "condition in brackets": (NO_LINER, "rdt: {above: 0.4 mm}", "rdt: "),
    "thickness of a layer": (LINE, "thickness: {at_most: 0.5 mm}", "thickness: "),
    "thickness that blocks": ("materials.yaml", "thickness: {at_least: 0.5 mm}", "thickness: "),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("wrong", "remedies"), RANGES)
def test_a_range_in_other_words_or_signs_is_told_how_it_is_written(
    place: str, wrong: str, remedies: list[str], tmp_path: Path
) -> None:
    file, sound, field = PLACES[place]
    finding = only(looked_at(changed(file, sound, field + wrong), tmp_path))
    assert re.findall(r"`(\{.*?\})`", offered(finding)) == remedies
    for remedy in remedies:
        assert is_gone(finding, looked_at(changed(file, sound, field + remedy), tmp_path))


@pytest.mark.parametrize("wrong", ["0.5-2 mm", "0.5 to 2 mm", "between 0.5 and 2 mm", "up to 2 mm", "from 2 mm"])
def test_whether_an_end_counts_itself_is_left_to_the_author(wrong: str, tmp_path: Path) -> None:
    text = offered(only(looked_at(changed(LINE, "rdt: {at_most: 0.5 mm}", f"rdt: {wrong}"), tmp_path)))
    ways = {("`at_least`", "`above`"), ("`at_most`", "`below`")}
    bare = {("{at_most: 2 mm}", "{below: 2 mm}"), ("{at_least: 2 mm}", "{above: 2 mm}")}
    assert all(a in text and b in text for a, b in ways) or any(a in text and b in text for a, b in bare)


@pytest.mark.parametrize(
    ("wrong", "remedies"),
    [
        ("[under 0,5 mm, over 2,5 mm]", [["{below: 0.5 mm}"], ["{above: 2.5 mm}"]]),
        ("[{at_most: 0.5 mm}, 2-3,5 mm]", [["{at_least: 2 mm, at_most: 3.5 mm}"]]),
        ("[> 2 mm, < 0.5 mm]", [["{above: 2 mm}"]]),
        ("\n    - > 2 mm\n    - < 0.5 mm", [["{above: 2 mm}"]]),
        ("[{below: 0.5 mm}, >= 2,5 mm]", [["{at_least: 2.5 mm}"]]),
        ("2-0.5 mm", [["{at_most: 0.5 mm}", "{exactly: 0.5 mm}"]]),  # as of any text that is no range
        ("> 2 mm, < 0.5 mm", [[]]),
    ],
)
def test_no_other_number_and_no_empty_range_is_offered(wrong: str, remedies: list[list[str]], tmp_path: Path) -> None:
    analysis = looked_at(changed(LINE, "rdt: {at_most: 0.5 mm}", f"rdt: {wrong}"), tmp_path)
    assert [re.findall(r"`(\{.*?\})`", offered(finding)) for finding in analysis.findings] == remedies


def test_numbers_of_a_list_stay_apart() -> None:
    for text in ("[5,156]", "[0.5,1]", "['0','5 mm']", "[0, 5 mm]", "[a,5]"):
        node, found = read_yaml(f"a: {text}", "a.yaml")
        assert (node is not None and len(node.at(["a"]).items or ()), found) == (2, [])


def test_a_range_without_a_unit_is_told_to_check_the_unit(tmp_path: Path) -> None:
    finding = only(looked_at(changed(LINE, "rdt: {at_most: 0.5 mm}", "rdt: > 0,5"), tmp_path))
    assert advice_of(finding) == ("write `{above: 0.5 mm}`", "check that mm is meant: there is no unit")


@pytest.mark.parametrize(
    ("wrong", "remedies"),
    [
        ("at_most: ≤ 0.5 mm", ["{at_most: 0.5 mm}"]),
        ("at_most: < 0.5 mm", ["{below: 0.5 mm}"]),
        ("above: 0 mm, at_most: up to 0.5 mm", ["{at_most: 0.5 mm}", "{below: 0.5 mm}"]),
        ("above: 0 mm, at_most: < 0,5 mm", ["{above: 0 mm, below: 0.5 mm}"]),
        ("at_most: 0.5-2 mm", ["{at_least: 0.5 mm, at_most: 2 mm}"]),
    ],
)
def test_a_sign_or_a_range_in_one_end_of_a_range_is_told_the_whole(
    wrong: str, remedies: list[str], tmp_path: Path
) -> None:
    finding = only(looked_at(changed(LINE, "rdt: {at_most: 0.5 mm}", f"rdt: {{{wrong}}}"), tmp_path))
    assert (finding.kind, re.findall(r"`(\{.*?\})`", offered(finding))) == ("unit", remedies)
    for remedy in remedies:
        assert is_gone(finding, looked_at(changed(LINE, "{at_most: 0.5 mm}\n", remedy + "\n"), tmp_path))


# --- texts ------------------------------------------------------------------------------------------------------------

TITLE, NOTE = "title: Line a deep cavity", "note: Invented."


@pytest.mark.parametrize("loader", [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)])
@pytest.mark.parametrize(
    ("file", "sound", "wrong", "remedies"),
    [
        # curly quotes
        (LINE, TITLE, "title: “Line”", ['"Line"']),
        (LINE, TITLE, "title: “Line: now”", ['"Line: now"']),
        (LINE, TITLE, "title: „Line“", ['"Line"']),
        (LINE, TITLE, "title: « Line »", ['"Line"']),
        (LINE, TITLE, "title: ‘Don’t line’", ['"Don’t line"']),
        (LINE, NOTE, "note: “Invented”", ['"Invented"']),
        (LINE, NOTE, "note: “Invented, as all: here”", ['"Invented, as all: here"']),
        (LINE, NOTE, "note: „Erfunden, wie alles“", ['"Erfunden, wie alles"']),
        (LINE, NOTE, 'note: “Say "no"”', ["'Say \"no\"'"]),
        (PROTOCOL, "cautions: [Not clinical advice.]", "cautions: [“Not, ever, clinical advice.”]", ['"Not, ever, clinical advice."']),
        (PROTOCOL, "at_most: 6 mm", "at_most: “6 mm”", ['"6 mm"']),
        # a comma that cuts a text
        (LINE, NOTE, "note: Invented, as all else", ['"Invented, as all else"']),
        (LINE, NOTE, "note: Invented, as all, we say", ['"Invented, as all, we say"']),
        (PROTOCOL, "label: Dentine left", "label: Dentine left, in mm", ['"Dentine left, in mm"']),
        (PROTOCOL, "interests: none declared", "interests: none, declared", ['"none, declared"']),
        (LINE, NOTE, 'note: It is "so", as we say', ["'It is \"so\", as we say'"]),
        # an apostrophe, or quotes in quotes
        (LINE, TITLE, "title: 'Don't line'", ['"Don\'t line"']),
        (LINE, NOTE, "note: 'Don't line'", ['"Don\'t line"']),
        (LINE, NOTE, "note: 'Don't, or: don't line'", ['"Don\'t, or: don\'t line"']),
        (LINE, TITLE, "title: 'Dentists' choice'", ['"Dentists\' choice"']),
        (LINE, TITLE, 'title: "Say "no" to it"', ["'Say \"no\" to it'"]),
        # no blank after a colon
        (LINE, TITLE, "title:Line a deep cavity", ["title: Line a deep cavity"]),
        (LINE, "basis: good-practice", "basis:good-practice", ["basis: good-practice"]),
        (LINE, NOTE, "note:Invented.", ["note: Invented."]),
        (LINE, "rdt: {at_most: 0.5 mm}", "rdt:{at_most: 0.5 mm}", ["rdt: {at_most: 0.5 mm}"]),
        (LINE, "overrides: [no-liner]", "overrides:[no-liner]", ["overrides: [no-liner]"]),
        (PROTOCOL, "title: Example", "title:Example", ["title: Example"]),
        (PROTOCOL, "status: draft", "status:draft", ["status: draft"]),
        ("materials.yaml", "label: Calcium hydroxide", "label:Calcium hydroxide", ["label: Calcium hydroxide"]),
        ("vignettes.yaml", "- name: Deep", "- name:Deep", ["name: Deep"]),
    ],
)  # fmt: skip
def test_a_text_that_yaml_reads_otherwise_is_told_how_it_is_written(
    file: str, sound: str, wrong: str, remedies: list[str], loader: Any, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(yaml_nodes, "_Loader", loader)
    broken = changed(file, sound, wrong)
    finding = only(looked_at(broken, tmp_path))
    assert finding.kind == "unreadable"
    assert re.findall("`(.*?)`", offered(finding))[: len(remedies)] == remedies
    row = broken[file].split("\n")[finding.span.line - 1]
    assert wrong in row
    field = wrong.split(":")[0] if wrong not in ("- name:Deep",) else "- name"
    for remedy in remedies:
        right = remedy if re.match(r"[a-z]+: ", remedy) else f"{field}: {remedy}"
        right = right.replace("cautions: ", "cautions: [") + "]" if field == "cautions" else right
        right = f"- {right}" if field == "- name" else right
        assert is_gone(finding, looked_at(changed(file, sound, right), tmp_path))


@pytest.mark.parametrize("wrong", ["title:Line", "title:Line: now", 'title:"Line"'])
def test_a_missing_blank_is_pointed_at(wrong: str, tmp_path: Path) -> None:
    finding = only(looked_at(changed(LINE, TITLE, wrong), tmp_path))
    assert (finding.span.line, finding.span.column, finding.span.end_column) == (2, 6, 7)


def test_a_field_that_would_vanish_into_the_text_above_it_is_told(tmp_path: Path) -> None:
    text = "evidence:\n  basis: good-practice\n  note: Invented.\n    cites:[quill2017]"
    finding = only(looked_at(changed(LINE, "evidence: {basis: good-practice, note: Invented.}", text), tmp_path))
    assert (finding.span.line, advice_of(finding)) == (
        11,
        ("write `cites: [quill2017]`, or put the whole text in quotes",),
    )


@pytest.mark.parametrize(
    "note",
    ["Said “deep” and “shallow”", "“Deep” is not “shallow”", "see https://a.example/b", "'“Deep”'", "at 12:30", "1:2", "doi:10.5555/x"],
)  # fmt: skip
def test_a_text_in_which_nothing_is_amiss_is_left_alone(note: str, tmp_path: Path) -> None:
    assert looked_at(changed(LINE, NOTE, f"note: {note}"), tmp_path).findings == ()


@pytest.mark.parametrize(
    ("file", "sound", "wrong", "remedy", "right"),
    [
        (
            PROTOCOL,
            "[Not clinical advice.]",
            "\n  - Under age 18: ask Dr Olsen",
            "'Under age 18: ask Dr Olsen'",
            "['Under age 18: ask Dr Olsen']",
        ),
        (PROTOCOL, "[Not clinical advice.]", '[Say "no": ask]', "'Say \"no\": ask'", "['Say \"no\": ask']"),
        (
            "materials.yaml",
            "irritants: {acid: {label: Acid}}",
            "irritants: {acid: {label: Acid}}\nplaces: {spot: {label: Deepest spot}}",
            "spot: Deepest spot",
            "irritants: {acid: {label: Acid}}\nplaces: {spot: Deepest spot}",
        ),
        (
            PROTOCOL,
            "amalgam: Amalgam",
            "amalgam: {label: 'Amalgam: all'}",
            "amalgam: 'Amalgam: all'",
            "amalgam: 'Amalgam: all'",
        ),
    ],
)
def test_a_group_of_fields_that_is_one_text_is_told_how_that_is_written(
    file: str, sound: str, wrong: str, remedy: str, right: str, tmp_path: Path
) -> None:
    finding = only(looked_at(changed(file, sound, wrong), tmp_path))
    assert re.findall("`(.*?)`", offered(finding)) == [remedy]
    assert is_gone(finding, looked_at(changed(file, sound, right), tmp_path))


@pytest.mark.parametrize("wrong", ["[{Under age 18: ask}]", "[{a: b, c: d}]"])
def test_a_group_in_brackets_is_no_text(wrong: str, tmp_path: Path) -> None:
    finding = only(looked_at(changed(PROTOCOL, "[Not clinical advice.]", wrong), tmp_path))
    assert "quotes" not in offered(finding)


def test_a_field_that_is_far_from_any_is_told_them_all(tmp_path: Path) -> None:
    finding = only(looked_at({**SOUND, "copies.yaml": "copies: [{room: One, size: A4}]\n"}, tmp_path))
    assert advice_of(finding) == ("the fields of a copy are room, edition, since",)


@pytest.mark.parametrize(
    ("label", "language"),
    [
        ("No liner", "en-GB"), ("no  LINER.", "en-GB"), ("Place nothing", "en-GB"), ("None", "en-GB"),
        ("Not needed in this case", "en-GB"), ("Ohne Liner", "de"), ("Sans liner", "fr"), ("Sin liner", "es"),
    ],
)  # fmt: skip
def test_an_agent_that_is_called_nothing_is_told_to_be_none(label: str, language: str, tmp_path: Path) -> None:
    spoken = changed(PROTOCOL, "title: Example", f"title: Example\nlanguage: {language}")
    finding = only(looked_at(changed("materials.yaml", "Calcium hydroxide", label, spoken), tmp_path))
    assert (finding.kind, finding.span.file, finding.span.line) == ("schema", "materials.yaml", 2)
    assert advice_of(finding) == ("write `none` as the answer instead",)
    other = changed("materials.yaml", "Calcium hydroxide", f"{label} but lime", spoken)
    assert is_gone(finding, looked_at(other, tmp_path))


@pytest.mark.parametrize("tag", languages())
def test_whatever_is_said_of_nothing_placed_is_no_label(tag: str) -> None:
    with speaking(tag):
        nothing = ("No {layer}", STATES["not-needed"], str(SAYINGS["place-nothing"]))
        said = [gettext(text) for text in nothing]
    refused = set(map(folded, NOTHING_PLACED[tag]))
    assert {folded(text.rstrip(".")) for text in said} <= refused


def test_a_warning_accepted_until_a_past_day_says_so(tmp_path: Path) -> None:
    entry = "accepted: [{kind: no-stop-questions, because: Invented., by: B. Reed, until: 2026-10-01}]"
    files = changed(PROTOCOL, "stop_questions: ['Is the pulp exposed?']", entry)
    assert notes_of(only(looked_at(files, tmp_path)))[-1] == "accepted until 1 October 2026 by B. Reed"
    nobody = changed(PROTOCOL, ", by: B. Reed", "", files)
    assert notes_of(only(looked_at(nobody, tmp_path)))[-1] == "accepted until 1 October 2026"
    for other in ("2026-11-25", "2027-10-01"):
        still = only(looked_at(changed(PROTOCOL, "2026-10-01", other, files), tmp_path))
        assert (bool(still.accepted), still.lapsed) == (True, ())
    about_another = changed(PROTOCOL, "kind: no-stop-questions", "kind: unused-reference", files)
    assert only(looked_at(about_another, tmp_path)).lapsed == ()


@pytest.mark.parametrize(
    ("valid", "right", "advice"),
    [
        (
            "from: 2027-01-01",
            date(2027, 1, 1),
            "or take the vignette out until 1 January 2027; from that day on it is right",
        ),
        (
            "until: 2026-10-31",
            date(2026, 10, 31),
            "or, from 1 November 2026 on, take the vignette out or correct what it expects; until then it is right",
        ),
    ],
)
def test_a_vignette_that_is_right_on_other_days_is_kept_for_those(
    valid: str, right: date, advice: str, tmp_path: Path
) -> None:
    files = changed(LINE, "overrides: [no-liner]", f"overrides: [no-liner]\nvalid: {{{valid}}}")
    found = [one for one in looked_at(files, tmp_path).findings if one.kind == "vignette"]
    assert [advice_of(one)[-1] for one in found] == [advice]
    assert all(one.kind != "vignette" for one in analyse(tmp_path, right).findings)


def test_a_vignette_that_is_right_on_no_day_is_corrected(tmp_path: Path) -> None:
    files = changed(LINE, "overrides: [no-liner]", "overrides: [no-liner]\nvalid: {from: 2027-01-01}")
    files = changed("vignettes.yaml", "liner: lime", "liner: rmgi", files)
    found = [one for one in looked_at(files, tmp_path).findings if one.kind == "vignette"]
    assert [advice_of(one)[-1] for one in found] == ["or correct what the vignette expects"]


def test_where_a_protocol_lies_one_folder_down_is_told(tmp_path: Path) -> None:
    looked_at(SOUND, tmp_path / "here" / "ours")
    with pytest.raises(NoProtocol) as refused:
        analyse(tmp_path / "here", DAY)
    assert reason_words(refused.value).endswith(f"holds no protocol.yaml; there is one in {tmp_path / 'here' / 'ours'}")
    with pytest.raises(NoProtocol) as refused:
        analyse(tmp_path, DAY)
    assert reason_words(refused.value).endswith("holds no protocol.yaml"), "two folders down is too far"


# --- names, lists, evidence -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sound", "wrong", "remedies"),
    [
        ("overrides: [no-liner]", "overrides: no-liner", ["[no-liner]"]),
        ("overrides: [no-liner]", "overrides: no-liner, restore", ["[no-liner, restore]"]),
        ("avoid: {base: [zoe]}", "avoid: [zoe]", ["{base: [zoe]}"]),
        ("avoid: {base: [zoe]}", "avoid: zoe", ["{base: [zoe]}"]),
        ("avoid: {base: [zoe]}", "never: [zoe]", ["{base: [zoe]}"]),
        ("avoid: {base: [zoe]}", "avoid: [Zoe, lime]", ["{liner: [lime], base: [zoe]}"]),
        ("avoid: {base: [zoe]}", "never: [change]", ["{management: [change]}"]),
        ("avoid: {base: [zoe]}", "avoid: [rmgi]", ["{liner: [rmgi], base: [rmgi]}"]),
        ("{basis: good-practice, note: Invented.}", "expert opinion", ["{basis: good-practice, note: …}"]),
        ("{basis: good-practice, note: Invented.}", "[quill2017]", ["{basis: good-practice, note: …}"]),
        ("{basis: good-practice, note: Invented.}", "low", ["{basis: good-practice, note: …}"]),
        ("basis: good-practice", "basis: expert opinion", ["good-practice"]),
    ],
)
def test_a_value_of_the_wrong_form_is_told_the_right_one(
    sound: str, wrong: str, remedies: list[str], tmp_path: Path
) -> None:
    finding = only(looked_at(changed(LINE, sound, wrong), tmp_path))
    assert finding.kind == "schema"
    assert re.findall("`(.*?)`", offered(finding))[: len(remedies)] == remedies
    field = wrong.partition(": ")[0] + ": " if ": " in wrong else ""
    for remedy in remedies:
        assert is_gone(finding, looked_at(changed(LINE, sound, field + remedy), tmp_path))


def test_no_grade_of_research_is_offered_ready_made(tmp_path: Path) -> None:
    for wrong in ("evidence: expert opinion", "evidence: [quill2017]", "review_by: 2027-01-01"):
        finding = only(looked_at(changed(LINE, "evidence: {basis: good-practice, note: Invented.}", wrong), tmp_path))
        said = f"{message_of(finding)} {offered(finding)}"
        assert not re.search("certainty|strength|research,", said)


def test_an_answer_without_its_decision_is_told_the_earlier_one(tmp_path: Path) -> None:
    finding = only(
        looked_at(
            changed(PROTOCOL, "liner, needed_when: {management: restore}", "liner, needed_when: restore"), tmp_path
        )
    )
    assert (finding.kind, advice_of(finding)) == ("schema", ("write `{management: [restore]}`",))
    right = changed(
        PROTOCOL, "liner, needed_when: {management: restore}", "liner, needed_when: {management: [restore]}"
    )
    assert is_gone(finding, looked_at(right, tmp_path))


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        (PROTOCOL, "needed_when: {management: restore}}\n  base", "needed_when: xyz}\n  base"),
        (LINE, "avoid: {base: [zoe]}", "avoid: [xyz]"),
        (LINE, "avoid: {base: [zoe]}", "never: []"),
        ("materials.yaml", "irritants:", "together: [{with: xyz, forbid: {base: [zoe]}}]\nirritants:"),
    ],
)
def test_names_without_a_decision_that_nobody_knows_are_refused_all_the_same(
    file: str, old: str, new: str, tmp_path: Path
) -> None:
    analysis = looked_at(changed(file, old, new), tmp_path)
    assert (only(analysis).kind, analysis.protocol) == ("schema", None)


def test_an_agent_of_several_layers_is_left_to_the_author(tmp_path: Path) -> None:
    finding = only(looked_at(changed(LINE, "avoid: {base: [zoe]}", "avoid: [rmgi, zoe]"), tmp_path))
    assert advice_of(finding) == (
        "write `{liner: [rmgi], base: [rmgi, zoe]}`",
        "leave out liner or base if it is not meant",
    )


def test_agents_without_their_layer_in_a_pairing_are_told_it_too(tmp_path: Path) -> None:
    wrong = SOUND["materials.yaml"] + "together: [{with: [lime], forbid: {base: [zoe]}, because: Invented.}]\n"
    finding = only(looked_at({**SOUND, "materials.yaml": wrong}, tmp_path))
    assert advice_of(finding) == ("write `{liner: [lime]}`",)
    right = wrong.replace("with: [lime]", "with: {liner: [lime]}")
    assert is_gone(finding, looked_at({**SOUND, "materials.yaml": right}, tmp_path))


def test_an_agent_that_no_layer_has_is_shown_an_example(tmp_path: Path) -> None:
    finding = only(looked_at(changed(LINE, "avoid: {base: [zoe]}", "avoid: [xyz]"), tmp_path))
    assert advice_of(finding) == ("write for example `{base: [zinc-phosphate]}`",)


# --- days -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wrong", "remedies"),
    [
        ("01.12.2027", ["2027-12-01", "2027-01-12"]),
        ("1. 12. 2027", ["2027-12-01", "2027-01-12"]),
        ("01/12/2027", ["2027-12-01", "2027-01-12"]),
        ("12/01/2027", ["2027-01-12", "2027-12-01"]),
        ("31.12.2027", ["2027-12-31"]),
        ("12/31/2027", ["2027-12-31"]),
        ("05.05.2027", ["2027-05-05"]),
        ("31.12.27", ["2027-12-31"]),
        ("2027/12/31", ["2027-12-31"]),
        ("2027-31-12", ["2027-12-31"]),
        ("2027-12-1", ["2027-12-01"]),
        ("31 December 2027", ["2027-12-31"]),
        ("December 31, 2027", ["2027-12-31"]),
        ("31. Dezember 2027", ["2027-12-31"]),
        ("1er décembre 2027", ["2027-12-01"]),
        ("31 de diciembre de 2027", ["2027-12-31"]),
        ("1. März 2027", ["2027-03-01"]),
        ("7 juillet 2027", ["2027-07-07"]),
    ],
)
def test_a_day_written_otherwise_is_told_how_it_is_written(wrong: str, remedies: list[str], tmp_path: Path) -> None:
    finding = only(looked_at(changed(PROTOCOL, "2027-12-31", wrong), tmp_path))
    assert re.findall("`(.*?)`", offered(finding)) == remedies
    for remedy in remedies:
        assert is_gone(finding, looked_at(changed(PROTOCOL, "2027-12-31", remedy), tmp_path))


@pytest.mark.parametrize("wrong", ["32.13.2027", "soon", "30.02.2027", "2027", "1 Smarch 2027"])
def test_what_is_no_day_is_not_guessed(wrong: str, tmp_path: Path) -> None:
    assert advice_of(only(looked_at(changed(PROTOCOL, "2027-12-31", wrong), tmp_path))) == ()


# --- units, names of files, agents of vignettes, references -----------------------------------------------------------


@pytest.mark.parametrize("micro", ["u", "\u00b5", "\u03bc"])
def test_micro_is_read_wherever_a_unit_is(micro: str, tmp_path: Path) -> None:
    files = changed(LINE, "rdt: {at_most: 0.5 mm}", f"rdt: {{at_most: 500 {micro}m}}")
    files = changed(LINE, "thickness: {at_most: 0.5 mm}", f"thickness: {{at_most: 500 {micro}m}}", files)
    files = changed(PROTOCOL, "unit: mm", f"unit: {micro}m", files)
    files = changed("vignettes.yaml", "0.3 mm", f"300 {micro}m", files)
    analysis = looked_at(files, tmp_path)
    assert analysis.findings == ()
    assert analysis.protocol is not None
    assert analysis.protocol.vignettes[0].case["rdt"] == "300 um"


@pytest.mark.parametrize(
    ("name", "right", "named"),
    [
        ("Restore", "restore", "restore"),
        ("füllung", "fuellung", "fuellung"),
        ("Große Füllung", "grosse-fuellung", "grosse-fuellung"),
        ("cavité", "cavite", "cavité"),
    ],
)
def test_a_rule_file_of_another_name_is_one_finding_with_the_name_to_give_it(
    name: str, right: str, named: str, tmp_path: Path
) -> None:
    files = changed(LINE, "overrides: [no-liner]", f"overrides: [{named}]")
    rule = files.pop("rules/restore.md")
    finding = only(looked_at({**files, f"rules/{name}.md": rule}, tmp_path))
    assert f"`{right}.md`" in offered(finding)
    (tmp_path / f"rules/{name}.md").unlink()
    after = looked_at({**files, f"rules/{right}.md": rule}, tmp_path)
    assert message_of(finding) not in map(message_of, after.findings)


@pytest.mark.parametrize(
    ("file", "name", "wrong"),
    [
        (PROTOCOL, "  rdt: {", "  Rdt: {"),
        (PROTOCOL, "  restoration: {", "  Restoration: {"),
        (PROTOCOL, "  liner: {", "  Liner: {"),
        ("materials.yaml", "  zoe: {", "  ZOE: {"),
    ],
)
def test_a_name_in_capitals_is_told_where_it_is_given_and_not_where_it_is_used(
    file: str, name: str, wrong: str, tmp_path: Path
) -> None:
    finding = only(looked_at(changed(file, name, wrong), tmp_path))
    assert advice_of(finding) == (f"write for example `{name.strip(' :{')}`",)


@pytest.mark.parametrize("wrong", ["mta", "zoe", "limee"])
def test_an_agent_that_a_vignette_cannot_expect_is_told_those_of_the_layer(wrong: str, tmp_path: Path) -> None:
    agents = "".join(f"  liner-{number}: {{label: Liner {number}, class: liner}}\n" for number in range(20))
    files = {**SOUND, "materials.yaml": SOUND["materials.yaml"].replace("agents:\n", f"agents:\n{agents}")}
    finding = only(looked_at(changed("vignettes.yaml", "liner: lime", f"liner: {wrong}", files), tmp_path))
    assert (finding.kind, finding.span.line) == ("unknown-name", 3)
    assert all(name in offered(finding) for name in ("lime", "rmgi", "liner-0", "liner-19"))
    assert is_gone(finding, looked_at(changed("vignettes.yaml", "liner: lime", "liner: rmgi", files), tmp_path))


@pytest.mark.parametrize("wrong", ["< 0.3 mm", "0.2-0.3 mm", "up to 0,3 mm", "under 0.3 mm"])
def test_a_range_in_a_vignette_is_told_that_a_case_is_one_value(wrong: str, tmp_path: Path) -> None:
    finding = only(looked_at(changed("vignettes.yaml", "0.3 mm", wrong), tmp_path))
    assert (finding.kind, message_of(finding)) == ("unit", f"'{wrong}' is a range, and a case is one value")


@pytest.mark.parametrize(
    ("file", "before", "after"),
    [
        ("references.bib", "% none yet\n", ""),
        ("references.json", "[]", "[]"),
        ("references.bib", None, ""),
        ("references.json", '[{"id": "ash2020", "type": "book", "title": "Ash"},\n]', None),
    ],
)
def test_a_reference_that_is_missing_is_shown_as_three_lines_to_paste(
    file: str, before: str | None, after: str | None, tmp_path: Path
) -> None:
    cited = changed(LINE, NOTE, f"{NOTE[:-1]}, cites: [quill2017]")
    if after is None:
        cited = changed(LINE, NOTE, f"{NOTE[:-1]}, cites: [quill2017, ash2020]")
        after, before = before, (before or "").replace(",\n", "")
    files = cited if before is None else {**cited, file: before}
    found = [f for f in looked_at(files, tmp_path).findings if f.kind == "unknown-reference"]
    first, *entry = told(found[0]).help[-1].split("\n")
    assert file in first
    assert len(entry) == 3
    assert "quill2017" in entry[0]
    assert {"TITLE", "FAMILY", "GIVEN", "YEAR"} <= set(re.findall("[A-Z]+", "".join(entry)))
    text = "\n".join(entry)
    pasted = after.replace("\n]", f"\n{text}]") if "\n]" in after else after.replace("[]", f"[{text}]") or text
    assert looked_at({**cited, file: pasted}, tmp_path).findings == ()
