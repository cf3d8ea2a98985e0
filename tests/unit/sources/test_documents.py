"""Which files of a folder are read, how they are decoded and split, and what is said where that cannot be done."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

from pathlib import Path

import pytest

from liningbook.finding import Finding, Span
from liningbook.model.build import read_folder
from liningbook.sources.documents import MAX_BODY, Folder, NoProtocol
from liningbook.sources.files import MAX_BYTES
from tests.refused import refusing
from tests.saying import advice_of, message_of

RULE = "---\ntitle: A rule\n---\nWhy.\n"
LEAST: dict[str, str | bytes] = {"protocol.yaml": "title: A\n", "materials.yaml": "agents: {}\n", "rules/a.md": RULE}


def read(folder: Path, files: dict[str, str | bytes]) -> tuple[Folder, list[Finding]]:
    for name, content in {**LEAST, **files}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_folder(folder)


def found(folder: Path, files: dict[str, str | bytes]) -> list[tuple[str, Span, str]]:
    return [(finding.kind, finding.span, message_of(finding)) for finding in read(folder, files)[1]]


def at(file: str, line: int, column: int) -> Span:
    """The place of one character."""
    return Span(file, line, column, line, column + 1)


def test_every_source_of_a_folder_is_read(tmp_path: Path) -> None:
    others: dict[str, str | bytes] = {
        "vignettes.yaml": "[]\n",
        "card.yaml": "{}\n",
        "copies.yaml": "copies: []\n",
        "references.bib": "@misc{a}\n",
        "references.json": "[]\n",
    }
    folder, findings = read(tmp_path, {**others, "rules/b-2.md": RULE})
    assert findings == []
    root = folder.root("protocol")
    assert root is not None
    assert root.plain() == {"title": "A"}
    assert all(folder.root(name) is not None for name in ("materials", "vignettes", "card", "copies"))
    assert folder.plain == {"references": ["references.bib", "references.json"]}
    assert list(folder.rules) == ["a", "b-2"]
    assert folder.texts.keys() == {*LEAST, *others, "rules/b-2.md"}


def test_optional_sources_may_be_missing(tmp_path: Path) -> None:
    folder, findings = read(tmp_path, {})
    assert findings == []
    assert all(folder.root(name) is None for name in ("vignettes", "card", "copies"))
    assert folder.plain == {"references": []}


@pytest.mark.parametrize(
    ("name", "words"),
    [("nowhere", "there is no folder"), ("empty", "holds no protocol.yaml"), ("file", "is a file; name the folder")],
)
def test_a_place_without_a_protocol_is_none(name: str, words: str, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("")
    with refusing(NoProtocol, words):
        read_folder(tmp_path / name)


@pytest.mark.parametrize("name", ["Protocol.yaml", "protocol.yml", "PROTOCOL.YAML", "protocol.yaml.txt"])
def test_a_protocol_with_almost_the_right_name_is_pointed_out(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text("title: A\n")
    with refusing(NoProtocol, f"; rename {name}$"):
        read_folder(tmp_path)


# --- rules ------------------------------------------------------------------------------------------------------------


def test_a_rule_is_split_into_fields_and_reasons(tmp_path: Path) -> None:
    folder, _ = read(tmp_path, {"rules/a.md": "---\ntitle: A rule\nadvise: {base: none}\n---\n\nWhy.\n\n---\nMore.\n"})
    document = folder.rules["a"]
    assert document.root is not None
    assert document.root.plain() == {"title": "A rule", "advise": {"base": "none"}}
    assert document.root.at(["advise"]).span.line == 3
    assert (document.body, document.body_line) == ("\nWhy.\n\n---\nMore.\n", 5)


@pytest.mark.parametrize("text", ["---  \ntitle: A\n--- \n", "---\ntitle: A\n---"])
def test_blanks_after_the_hyphens_and_missing_reasons_are_no_matter(text: str, tmp_path: Path) -> None:
    folder, findings = read(tmp_path, {"rules/a.md": text})
    assert findings == []
    assert folder.rules["a"].body == ""


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "a rule starts with a line of three hyphens"),
        ("title: A\n---\n", "a rule starts with a line of three hyphens"),
        (" ---\ntitle: A\n---\n", "a rule starts with a line of three hyphens"),
        ("---\ntitle: A\nWhy.\n", "the fields of this rule never end"),
        ("---\ntitle: A\n ---\nWhy.\n", "the fields of this rule never end"),
    ],
)
def test_a_rule_without_its_hyphens_is_a_finding(text: str, message: str, tmp_path: Path) -> None:
    assert found(tmp_path, {"rules/a.md": text}) == [("unreadable", at("rules/a.md", 1, 1), message)]


def test_reasons_have_room_but_not_without_end(tmp_path: Path) -> None:
    assert read(tmp_path, {"rules/a.md": RULE.replace("Why.\n", "w" * MAX_BODY)})[1] == []
    ((kind, span, message),) = found(tmp_path, {"rules/a.md": RULE.replace("Why.\n", "w" * (MAX_BODY + 1))})
    assert (kind, span) == ("schema", at("rules/a.md", 4, 1))
    assert message == "the reasons of this rule are longer than 20000 characters"


def test_what_begins_with_a_dot_or_an_underscore_and_the_readme_are_no_rules(tmp_path: Path) -> None:
    folder, findings = read(tmp_path, {"rules/README.md": "", "rules/.x": "", "rules/_b.md": "", "rules/_c/d.txt": ""})
    assert findings == []
    assert list(folder.rules) == ["a"]


@pytest.mark.parametrize(
    ("name", "better"),
    [
        ("B.md", "`b.md`"),
        ("b c.md", "`b-c.md`"),
        ("b--c.md", "`b-c.md`"),
        ("-.md", "`my-rule.md`"),
        ("\u03c0.md", "`my-rule.md`"),
        ("füllung.md", "`fuellung.md`"),
        ("fu\u0308llung.md", "`fuellung.md`"),
        ("Große Füllung.md", "`grosse-fuellung.md`"),
        ("cavité_profonde.md", "`cavite-profonde.md`"),
        ("A.md", "`a-2.md`"),
    ],
)
def test_a_rule_with_an_unfit_name_is_told_a_better_one(name: str, better: str, tmp_path: Path) -> None:
    folder, (finding,) = read(tmp_path, {f"rules/{name}": RULE})
    assert (finding.kind, finding.span.file) == ("schema", f"rules/{name}")
    assert message_of(finding) == f"'{name[:-3]}' cannot be a rule's name"
    assert better in advice_of(finding)[0]
    assert list(folder.rules) == ["a"]


def test_a_rule_with_an_unfit_name_may_be_named_as_it_will_be_called(tmp_path: Path) -> None:
    folder, _ = read(tmp_path, {"rules/Restore.md": RULE, "rules/RESTORE.md": RULE})
    assert folder.rule_names == {"a", "Restore", "RESTORE", "restore", "restore-2"}


def test_the_name_of_a_rule_that_cannot_be_read_is_known_all_the_same(tmp_path: Path) -> None:
    folder, _ = read(tmp_path, {"rules/b.md": b"\xff", "rules/c.md": "no fields"})
    assert folder.rule_names == {"a", "b", "c"}


def test_what_does_not_show_in_a_name_is_not_printed(tmp_path: Path) -> None:
    assert [span.file for _, span, _ in found(tmp_path, {"rules/\x1b[2Jb.md": RULE})] == ["rules/<U+001B>[2Jb.md"]


# --- bytes ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_byte_order_mark_and_line_ends_are_no_matter(line_end: str, mark: bytes, tmp_path: Path) -> None:
    folder, findings = read(tmp_path, {"rules/a.md": mark + RULE.replace("\n", line_end).encode()})
    assert findings == []
    assert folder.texts["rules/a.md"] == RULE
    assert folder.rules["a"].body == "Why.\n"


@pytest.mark.parametrize(
    ("raw", "line", "column"),
    [
        (b"\xff", 1, 1),
        (b"title: \xe4", 1, 8),
        ("≤µ".encode() + b"\xb5", 1, 3),
        (b"title: a\r\nscope: \xb5m", 2, 8),
        (b"\xef\xbb\xbfab\xff", 1, 3),
        ("title: ≤".encode()[:-1], 1, 8),
    ],
)
def test_bytes_that_are_no_text_are_shown_where_they_stand(raw: bytes, line: int, column: int, tmp_path: Path) -> None:
    assert found(tmp_path, {"protocol.yaml": raw}) == [
        ("unreadable", at("protocol.yaml", line, column), "the file is not in UTF-8")
    ]


@pytest.mark.parametrize(
    "sign", ["\0", "\x1b", "\x85", "\xad", "\u200b", "\u2028", "\u202e", "\u2066", "\u3164", "\ufeff", "\U000e0041"]
)
def test_a_character_that_does_not_show_is_a_finding(sign: str, tmp_path: Path) -> None:
    message = f"a hidden character stands here (U+{ord(sign):04X})"
    assert found(tmp_path, {"protocol.yaml": f"title: A\nscope: ab{sign}c\n"}) == [
        ("unreadable", at("protocol.yaml", 2, 10), message)
    ]


@pytest.mark.parametrize(
    "text", ["title: a\tb\n", "title: ≤ µ ± × – “é”\n", "title: '⚠️ \U0001f9b7'\n", "title: 'a\u00a0b'\n"]
)
def test_tabs_in_a_text_and_signs_of_print_are_none(text: str, tmp_path: Path) -> None:
    assert read(tmp_path, {"protocol.yaml": text})[1] == []


def test_a_file_has_room_but_not_without_end(tmp_path: Path) -> None:
    start = "title: A\n#"
    assert read(tmp_path, {"protocol.yaml": start + "a" * (MAX_BYTES - len(start))})[1] == []
    ((kind, _, message),) = found(tmp_path, {"protocol.yaml": start + "a" * (MAX_BYTES - len(start) + 1)})
    assert (kind, message) == ("unreadable", "the file is larger than 2 MB")


def test_one_bad_file_does_not_keep_the_others_from_being_read(tmp_path: Path) -> None:
    folder, findings = read(
        tmp_path, {"protocol.yaml": b"\xff", "materials.yaml": "a: [", "rules/b.md": "", "rules/c.txt": ""}
    )
    assert [finding.span.file for finding in findings] == ["materials.yaml", "protocol.yaml", "rules/b.md"]
    assert [one.file for one in folder.unread] == ["rules/c.txt"]
    assert folder.rules["a"].root is not None


# --- links ------------------------------------------------------------------------------------------------------------


def test_a_link_is_followed_inside_the_folder_only(tmp_path: Path) -> None:
    home, outside = tmp_path / "home", tmp_path / "home-too"
    outside.mkdir()
    (outside / "b.md").write_text(RULE)
    read(home, {"kept/b.md": RULE})
    (home / "rules" / "b.md").symlink_to("../kept/b.md")
    folder, findings = read_folder(home)
    assert (findings, list(folder.rules)) == ([], ["a", "b"])
    (home / "rules" / "c.md").symlink_to(outside / "b.md")
    folder, (finding,) = read_folder(home)
    assert (finding.span.file, message_of(finding)) == ("rules/c.md", "this link leads out of the protocol folder")
    assert "rules/c.md" not in folder.texts


def test_the_folder_itself_may_be_reached_by_a_link(tmp_path: Path) -> None:
    read(tmp_path / "home", {})
    (tmp_path / "link").symlink_to("home")
    folder, findings = read_folder(tmp_path / "link")
    assert (findings, list(folder.rules)) == ([], ["a"])
