"""What reaches the terminal: nothing raw from a file, and no sign that is lost or another where it cannot be shown."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import unicodedata
from contextlib import suppress
from io import BytesIO, TextIOWrapper
from pathlib import Path
from xml.etree import ElementTree

import pytest

from liningbook.cli import main, terminal
from liningbook.cli.terminal import fit_to_print
from liningbook.sources.text import visible

ROOT = Path(__file__).resolve().parents[2]

UNSEEN = [
    *map(chr, (*range(9), 0x0B, 0x0C, *range(0x0D, 0x20), *range(0x7F, 0xA0))),  # C0, ESC, DEL, C1
    *"\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069",  # direction
    *"\u00ad\u034f\u115f\u1160\u17b4\u17b5\u180e\u200b\u200c\u200d\u2060\u2061\u2800\u3164\ufeff\uffa0\ufff9\ufffb",
    *"\u2028\u2029\U0001d173\U0001bca0\U000e0001\U000e0041\U000e007f\U000e0100\ufe00\ufe0f\udcff\ud800",
]
SHOWN = "ä é e\u0301 ≤ ≥ µ μ ½ → … “x” \u2018y\u2019 漢字 ελληνικά ⚠\ufe0f 🦷 \u00a0\n\t Zähne, Ça, ñ, 0.5–2 mm ×3 ±1"


@pytest.mark.parametrize("form", ["text", "json", "markup"])
def test_what_does_not_show_is_written_as_what_it_is(form: terminal.Form) -> None:
    for sign in UNSEEN:
        fitted = fit_to_print(f"a{sign}b", "utf-8", form)
        assert fitted.isascii()
        assert fitted.isprintable()
        assert f"{ord(sign):X}" in fitted.upper() or form == "json"
        if form == "json":
            assert json.loads(f'"{fitted}"') == f"a{sign}b"
    assert fit_to_print("\x1b[2J", "utf-8") == "<U+001B>[2J"
    assert fit_to_print("\u202e", "utf-8", "markup") == "&#x202E;"


@pytest.mark.parametrize("form", ["text", "json", "markup"])
def test_words_of_every_language_stay_as_they_are(form: terminal.Form) -> None:
    assert fit_to_print(SHOWN, "utf-8", form) == SHOWN
    assert visible(SHOWN) == SHOWN


def test_every_format_and_control_character_of_unicode_is_written_out() -> None:
    """But for the new line and the tab, and signs that Unicode calls a format and that are printed."""
    printed = {*"\n\t", *map(chr, (*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD)),
               *map(chr, range(0x13430, 0x13440))}  # fmt: skip
    for code in range(0x110000):
        sign = chr(code)
        if unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp") and sign not in printed:
            assert visible(sign) == f"<U+{code:04X}>"


def test_a_terminal_without_a_sign_gets_a_plain_spelling_or_its_number_and_never_another_sign() -> None:
    assert fit_to_print("≤ 0.5 µm → “é” 漢", "cp1252") == "<= 0.5 µm -> “é” <U+6F22>"
    assert fit_to_print("≤ 0.5 µm → “é” ½", "ascii") == '<= 0.5 um -> "<U+00E9>" <U+00BD>'
    assert fit_to_print("Fu\u0308llung", "cp1252") == "Füllung"
    assert json.loads(fit_to_print(json.dumps("≤é🦷", ensure_ascii=False), "cp1252", "json")) == "≤é🦷"
    assert fit_to_print("<b>≤é</b>", "cp1252", "markup") == "<b>&#x2264;&#xE9;</b>"
    for encoding in ("ascii", "cp1252", "cp437", "cp850", "iso8859-2", "cp932"):
        for sign in SHOWN + "".join(map(chr, range(0xA1, 0x2600))):
            fitted = fit_to_print(sign, encoding)
            fitted.encode(encoding)
            assert "?" not in fitted or sign == "?"
            assert fitted.isascii() or fitted == unicodedata.normalize("NFC", sign)


def test_a_line_that_is_written_over_keeps_what_moves_the_cursor_for_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = TextIOWrapper(BytesIO(), encoding="utf-8")
    monkeypatch.setattr(sys, "stderr", stream)
    terminal.write_over("edition\x1b[2J\r")
    stream.flush()
    assert stream.buffer.getvalue() == b"\r\x1b[Kedition<U+001B>[2J<U+000D>"  # type: ignore[attr-defined]


# --- a terminal of some width -----------------------------------------------------------------------------------------


class Screen(TextIOWrapper):
    """A stream that says that it is a terminal."""

    def __init__(self) -> None:
        super().__init__(BytesIO(), encoding="utf-8")

    def isatty(self) -> bool:
        return True


def on_a_screen(monkeypatch: pytest.MonkeyPatch, width: int, *arguments: str) -> str:
    """What a command prints on a terminal of so many columns."""
    screen = Screen()
    monkeypatch.setattr(sys, "stdout", screen)
    monkeypatch.setattr(shutil, "get_terminal_size", lambda _: os.terminal_size((width, 24)))
    main(arguments)
    return screen.buffer.getvalue().decode()  # type: ignore[attr-defined]


FAULTY = str(ROOT / "guidelines" / "faulty" / "gap")
BOLD, PLAIN = "\x1b[1m", "\x1b[22m"


@pytest.mark.parametrize(("width", "widest"), [(40, 40), (80, 80), (100, 100), (300, 100)])
def test_a_command_is_as_wide_as_the_terminal_and_never_too_wide_to_read(
    monkeypatch: pytest.MonkeyPatch, width: int, widest: int
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    demonstration = str(ROOT / "guidelines" / "tern-street")
    calls = (
        ["check", FAULTY, "--explain"],
        ["case", demonstration, "rdt=1mm", "restoration=amalgam", "--why"],
        ["table", demonstration, "--decision", "liner"],
        ["compare", FAULTY, FAULTY],
        ["fields", "rule"],
    )
    for call in calls:
        lines = on_a_screen(monkeypatch, width, *call).splitlines()
        assert widest - 20 < max(map(len, lines)) <= widest, call


def test_where_there_is_no_terminal_lines_are_as_wide_as_usual(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "30")
    text, _ = called("check", FAULTY, encoding="utf-8")
    assert 70 < max(map(len, text.splitlines())) <= 80


def test_bold_is_only_on_a_terminal_that_shows_it_and_says_nothing_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("WT_SESSION", "1")
    monkeypatch.delenv("NO_COLOR", raising=False)
    bright = on_a_screen(monkeypatch, 80, "check", FAULTY)
    assert f"{BOLD}MUST BE SETTLED{PLAIN}\n" in bright
    assert f"rdt: {BOLD}«{{above: 2 mm}}»{PLAIN}\n" in bright
    plain, _ = called("check", FAULTY, encoding="utf-8")
    assert "\x1b" not in plain
    assert bright.replace(BOLD, "").replace(PLAIN, "") == plain
    for name, value in (("NO_COLOR", "1"), ("TERM", "dumb")):
        with monkeypatch.context() as patch:
            patch.setenv(name, value)
            assert on_a_screen(patch, 80, "check", FAULTY) == plain


@pytest.mark.parametrize("form", ["json", "sarif", "junit"])
def test_what_programs_read_is_the_same_on_every_terminal(monkeypatch: pytest.MonkeyPatch, form: str) -> None:
    call = ("check", FAULTY, "--format", form, "--on", "2026-11-25")
    _, out = called(*call, encoding="utf-8")
    assert on_a_screen(monkeypatch, 30, *call).encode() == out
    assert b"\x1b" not in out


def test_a_terminal_without_quotation_marks_shows_where_the_wrong_words_are() -> None:
    text, _ = called("check", FAULTY, encoding="ascii")
    assert "\n        rdt: >>>{above: 2 mm}<<<\n" in text


# --- whole commands -------------------------------------------------------------------------------------------------


def called(*arguments: str, encoding: str) -> tuple[str, bytes]:
    """What a command prints in an encoding, all of it as text and standard output as bytes."""
    streams = [TextIOWrapper(BytesIO(), encoding=encoding) for _ in range(2)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdout", streams[0])
        patch.setattr(sys, "stderr", streams[1])
        main(arguments)
    out, err = (stream.buffer.getvalue() for stream in streams)  # type: ignore[attr-defined]
    return (out + err).decode(encoding), out


@pytest.fixture(scope="module")
def protocols(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("protocols")
    shutil.copytree(ROOT / "guidelines" / "tern-street", root / "tern")
    shutil.copytree(ROOT / "guidelines" / "faulty" / "gap", root / "gap")
    path = root / "gap" / "protocol.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("label: ", "label: ≤漢", 1), "utf-8")
    return root


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "gap"],
        ["check", "gap", "--format", "json"],
        ["check", "gap", "--format", "sarif"],
        ["check", "gap", "--format", "junit"],
        ["compare", "gap", "tern"],
        ["compare", "tern", "gap", "--format", "markdown"],
        ["compare", "tern", "gap", "--format", "json"],
        ["table", "tern", "--decision", "liner"],
        ["table", "tern", "--decision", "liner", "--format", "html"],
        ["table", "tern", "--decision", "liner", "--format", "csv"],
        ["case", "tern", "rdt=≤"],
    ],
    ids=" ".join,
)
def test_a_console_without_utf_8_gets_everything_and_nothing_wrong(
    protocols: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], encoding: str
) -> None:
    monkeypatch.chdir(protocols)
    text, out = called(*arguments, encoding=encoding)
    whole, same = called(*arguments, encoding="utf-8")
    assert text.count("?") == whole.count("?")
    assert not re.search(r"\\x[0-9a-f]{2}", text)  # that is how Python writes it at the last
    if "json" in arguments or "sarif" in arguments:
        assert json.loads(out) == json.loads(same)
    if "junit" in arguments:
        found, wanted = ("".join(ElementTree.fromstring(one).itertext()) for one in (out, same))
        assert found == wanted


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_the_program_itself_keeps_to_the_encoding_of_its_streams(protocols: Path, encoding: str) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "builder"), "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    call = [sys.executable, "-m", "liningbook", "check", "gap"]
    done = subprocess.run(call, cwd=protocols, env=environment, capture_output=True, check=False)
    assert done.stderr == b""
    assert "<=<U+6F22>" in done.stdout.decode(encoding)


@pytest.mark.parametrize("form", ["text", "json", "sarif", "junit"])
def test_a_hostile_protocol_cannot_write_to_the_terminal(
    tmp_path: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    evil = "\x1b[2J\u202e\u200b\x9b\u3164\U000e0041"
    shutil.copytree(ROOT / "tests" / "protocols" / "pass" / "smallest", tmp_path / "p")
    path = tmp_path / "p" / "protocol.yaml"
    path.write_text(path.read_text("utf-8").replace("edition: ", f'edition: "{evil}" #'), "utf-8")
    (tmp_path / "p" / "rules" / f"{evil}.md").write_text(evil, "utf-8")
    (tmp_path / "p" / f"materials{evil}.yaml").write_text(evil, "utf-8")
    main(["check", str(tmp_path / "p"), "--format", form])
    said = "".join(capsys.readouterr())
    assert not set(evil) - {"[", "2", "J"} & set(said)
    assert visible(said) == said


def test_nor_can_the_names_in_a_git_revision(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    evil = "\x1b[2J\u202e\nliningbook: all is well"
    for name in ("a", "b"):
        shutil.copytree(ROOT / "tests" / "protocols" / "pass" / "smallest", tmp_path / (name + evil))
    who = ["-c", "user.name=A", "-c", "user.email=a@example"]
    for words in (["init", "-q"], ["add", "."], [*who, "commit", "-qm", "x"]):
        subprocess.run(["git", "-C", str(tmp_path), *words], check=True, capture_output=True)
    main(["compare", "HEAD", "HEAD", "--repo", str(tmp_path)])
    said = "".join(capsys.readouterr())
    assert "holds 2 protocols" in said
    assert "<U+001B>[2J<U+202E><U+000A>liningbook: all is well" in said
    assert visible(said) == said
    assert len(said.splitlines()) == 1


def test_a_hostile_bundle_or_name_cannot_either(
    tmp_path: Path, demonstration: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from liningbook.digest import digest_of

    main(["build", str(demonstration), "--only", "bundle", "--out", str(tmp_path), "--on", "2026-11-25"])
    bundle = json.loads((tmp_path / "bundle.json").read_text("utf-8"))
    evil = "\x1b]0;x\x07\u202e\u2067"
    for key in ("title", "practice", "edition"):
        bundle["protocol"][key] += evil
    bundle["digest"] = digest_of(bundle)
    named = tmp_path / f"b{evil}.json"
    named.write_text(json.dumps(bundle), "utf-8")
    broken = tmp_path / "broken.json"
    broken.write_text(json.dumps({**bundle, "version": {evil: evil}}), "utf-8")
    outputs = []
    for arguments in (
        ["compare", str(demonstration), str(named)],
        ["compare", str(named), str(demonstration), "--format", "json"],
        ["compare", str(named), str(demonstration), "--format", "markdown"],
        ["compare", str(broken), str(demonstration)],
        ["check", f"{tmp_path}/none{evil}"],
        ["case", str(demonstration), f"rdt{evil}=1mm{evil}"],
        ["table", str(demonstration), "--decision", evil],
        ["build", str(demonstration), "--only", evil, "--out", str(tmp_path)],
        ["check", str(demonstration), evil],
    ):
        with suppress(SystemExit):  # a call that is wrong
            main(arguments)
        outputs.append("".join(capsys.readouterr()))
    for said in outputs:
        assert said
        assert visible(said) == said
