"""README.md, DEVELOPERS.md and CHANGELOG.md speak of files, targets and commands that exist, in the words of the trade.

A name in `code` that looks like a path must exist: below the repository, the package, the demonstration, a protocol of
the tests, or among the outputs of a build. Angle brackets stand for any name (`rules/<rule-id>.md`).
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

DOCUMENTS = ["README.md", "DEVELOPERS.md", "CHANGELOG.md"]

SUFFIXES = "bib|css|csv|html|js|json|md|pdf|png|py|svg|toml|ttf|typed|yaml|yml"
PATH = re.compile(r"[\w.<>*-]+(/[\w.<>*-]+)*/?")
LOOKS_LIKE_A_FILE = re.compile(rf".*\.({SUFFIXES})|.*/.*|(LICENSE|Makefile)")

# Made by a command, or one of two ways to write a protocol; none need exist in a clone.
NOT_IN_A_CLONE = {
    ".venv",
    "bundle.json",
    "card.pdf",
    "dist",
    "out",
    "protocol.pdf",
    "advice.csv",
    "cases.csv",
    "reading.svg",
    "references.bib",
    "references.json",
    "site/index.html",
}

# Wrong in the documents: why.
WORDS = {
    r"\bdentin\b": "write dentine",
    r"\bmillimeters?\b": "write millimetre",
    r"\bcolors?\b": "write colour",
    r"\b(?-i:[Ll]icenses?)\b": "write licence",
    r"\bpulpal diagnos": "write pulp diagnosis",
    r"\bpacking\b": "write condensation",
    r"\bx-?rays?\b": "write radiograph",
    r"\belectrical shock": "write galvanic",
    r"\.\./": "name only what a clone holds",
    r"\b(TODO|FIXME|TBD|lorem ipsum)\b": "finish it, or file an issue",
}

# Hosts that files of the repository may name: of published standards and licences, and names reserved for examples.
HOSTS = re.compile(
    r"(doi\.org|docs\.oasis-open\.org|json-schema\.org|www\.w3\.org|www\.apache\.org|scripts\.sil\.org|openfontlicense\.org"
    r"|citationstyles\.org|unitsofmeasure\.org|www\.cebm\.ox\.ac\.uk|reproducible-builds\.org|ns\.adobe\.com|www\.adobe\.com|www\.aiim\.org|purl\.org|orcid\.org"
    r"|(.+\.)?example(\.(com|org|net))?|localhost|127\.0\.0\.1)(:\d+)?"
)


def tokens(document: Path) -> Iterator[Token]:
    """All tokens of a Markdown file, those inside a paragraph included."""
    for token in MarkdownIt("commonmark").enable("table").parse(document.read_text(encoding="utf-8")):
        yield token
        yield from token.children or ()


def paths_in_code(document: Path) -> set[str]:
    """What looks like a path in the `code` of the text."""
    spans = {token.content for token in tokens(document) if token.type == "code_inline"}
    return {span for span in spans if PATH.fullmatch(span) and LOOKS_LIKE_A_FILE.fullmatch(span)}


def targets_of_links(document: Path) -> set[str]:
    """Where links and pictures lead within the repository, without the part behind `#`."""
    targets = {str(token.attrs.get("href", token.attrs.get("src", ""))) for token in tokens(document)}
    return {target.partition("#")[0] for target in targets if "://" not in target} - {""}


def commands(document: Path) -> set[tuple[str, str]]:
    """Program and first word of every command line in the code of a document: `("make", "demo")`."""
    code = [token.content for token in tokens(document) if token.type in ("code_inline", "fence", "code_block")]
    lines = (line.strip().removeprefix("$ ") for text in code for line in text.splitlines())
    words = (re.match(r"(make|liningbook) ([a-z][a-z-]*)\b", line) for line in lines)
    return {(found[1], found[2]) for found in words if found}


def exists(name: str, repository: Path) -> bool:
    """Whether a path that a document names is there, or is made by a command."""
    name = name.rstrip("/")
    if name in NOT_IN_A_CLONE or name.partition("/")[0] in NOT_IN_A_CLONE:
        return True
    pattern = re.sub(r"<[^>]*>", "*", name)
    roots = [repository, repository / "builder" / "liningbook", *(repository / "guidelines").glob("*/")]
    return any(any(root.glob(pattern)) for root in roots)


@pytest.mark.parametrize("name", [*DOCUMENTS, "site/docs/trust.md"])
def test_files_named_in_code_exist(repository: Path, name: str) -> None:
    missing = {path for path in paths_in_code(repository / name) if not exists(path, repository)}
    assert missing == set()


@pytest.mark.parametrize("name", DOCUMENTS)
def test_links_and_pictures_lead_to_files_that_exist(repository: Path, name: str) -> None:
    missing = {target for target in targets_of_links(repository / name) if not (repository / target).exists()}
    assert missing == set()


@pytest.mark.parametrize("name", DOCUMENTS)
def test_words_of_the_trade(repository: Path, name: str) -> None:
    text = (repository / name).read_text(encoding="utf-8")
    assert [f"{found[0]}: {why}" for word, why in WORDS.items() for found in re.finditer(word, text, re.I)] == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_make_targets_exist(repository: Path, name: str) -> None:
    makefile = (repository / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z][a-z-]*):", makefile, re.M))
    named = {word for program, word in commands(repository / name) if program == "make"}
    assert named - targets == set()


@pytest.mark.parametrize("name", DOCUMENTS)
def test_commands_exist(repository: Path, name: str) -> None:
    for program, command in sorted(commands(repository / name)):
        if program == "liningbook":
            run = subprocess.run(
                [sys.executable, "-c", "from liningbook.cli import main; raise SystemExit(main())", command, "--help"],
                env={**os.environ, "PYTHONPATH": str(repository / "builder")},
                capture_output=True,
                text=True,
                check=False,
            )
            assert run.returncode == 0, f"liningbook {command}: {run.stderr}"


def test_the_readme_gives_the_two_commands_of_a_fresh_machine(repository: Path) -> None:
    assert commands(repository / "README.md") >= {("make", "demo"), ("make", "test")}


def test_no_file_names_a_host_that_is_no_standard_and_no_example(repository: Path) -> None:
    found = {}
    files = [repository / name for name in (*DOCUMENTS, "Makefile", "pyproject.toml", "LICENSE")]
    for folder in (".ci", "builder", "guidelines", "schema", "site", "tests"):
        files += [path for path in sorted((repository / folder).rglob("*")) if path.is_file()]
    for path in files:
        if path.is_relative_to(repository / "tests" / "published" / "data"):
            continue  # published standards, as they are
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a font, a picture, or a test file that is no text on purpose
        hosts = {host for host in re.findall(r"https?://([\w.:-]+)", text) if not HOSTS.fullmatch(host.rstrip(".:"))}
        if hosts:
            found[path.relative_to(repository).as_posix()] = sorted(hosts)
    assert found == {}


def test_what_counts_as_a_path(tmp_path: Path) -> None:
    document = tmp_path / "a.md"
    document.write_text(
        "`rules/<rule-id>.md` `protocol.yaml` `Makefile` `logic/` `--format` `0.5 mm` `gap` `make test` `a/b: c`\n"
        "[link](x/y.md#part) ![picture](z.png) [out](https://doi.org/10.5555/1)\n\n"
        "```sh\n$ make demo\nliningbook check x\n```\n"
    )
    assert paths_in_code(document) == {"rules/<rule-id>.md", "protocol.yaml", "Makefile", "logic/"}
    assert targets_of_links(document) == {"x/y.md", "z.png"}
    assert commands(document) == {("make", "test"), ("make", "demo"), ("liningbook", "check")}
