"""Names have one sense each, and what is documented is there."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

IDENTIFIER = re.compile(r"`([A-Za-z_]\w*)(?:[(\[][^`]*)?`")
FILE = re.compile(r"`([\w/-]+\.(?:py|mjs|js|json|yaml|md|html|css|txt|bib|ttf|woff2))`")
WORD = re.compile(r"[\w-]+")

# What a library asks for, and which.
CALLED_BY_LIBRARIES = {
    "_print_message": "argparse",
    "allow_reuse_address": "socketserver",
    "daemon_threads": "socketserver",
    "do_HEAD": "http.server",
    "emit": "logging",
    "format_field": "string.Formatter",
    "handle_data": "html.parser",
    "handle_endtag": "html.parser",
    "handle_error": "socketserver",
    "handle_starttag": "html.parser",
    "log_message": "http.server",
    "request_queue_size": "socketserver",
    "server_version": "http.server",
    "sys_version": "http.server",
    "timeout": "socketserver",
}

# Words in docstrings that are examples, endings, or names outside the package.
EXAMPLES = {"JP", "_html", "_schema", "account", "country", "q", "rtd"}

# Files that a command or a practice makes.
MADE = {"bundle.json", "index.html", "one.md"}

Tree = tuple[str, ast.Module]


@pytest.fixture(scope="module")
def trees(repository: Path) -> list[Tree]:
    package = repository / "builder" / "liningbook"
    return [
        (path.relative_to(package).as_posix(), ast.parse(path.read_text(encoding="utf-8")))
        for path in sorted(package.rglob("*.py"))
    ]


def docstrings(tree: ast.AST) -> Iterator[tuple[ast.AST, ast.Constant]]:
    """Every text that stands as a statement, with the module, class or function in which it does."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            for statement in node.body:
                match statement:
                    case ast.Expr(value=ast.Constant(value=str()) as text):
                        yield node, text


def names(tree: ast.AST) -> set[str]:
    """Every name that is given or used."""
    found: set[str] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name) | ast.Attribute(attr=name) | ast.arg(arg=name) | ast.keyword(arg=str(name)):
                found.add(name)
            case ast.ClassDef(name=name) | ast.FunctionDef(name=name) | ast.alias(name=name):
                found.add(name.rpartition(".")[2])
    return found


def words(tree: ast.AST) -> set[str]:
    """Every word in a text that is no docstring."""
    documented = {id(text) for _, text in docstrings(tree)}
    return {
        word
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documented
        for word in WORD.findall(node.value)
    }


def test_no_two_classes_have_one_name(trees: list[Tree]) -> None:
    places = defaultdict(list)
    for name, tree in trees:
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                places[node.name].append(name)
    assert {name: where for name, where in places.items() if len(where) > 1} == {}


def test_nothing_in_the_package_is_used_by_tests_alone(trees: list[Tree], repository: Path) -> None:
    used = set(CALLED_BY_LIBRARIES)
    for folder in ("templates", "scripts"):
        for path in (repository / "site" / folder).iterdir():
            used |= set(WORD.findall(path.read_text(encoding="utf-8")))
    for _, tree in trees:
        for node in ast.walk(tree):
            match node:
                case ast.Name(id=name, ctx=ast.Load()) | ast.Attribute(attr=name, ctx=ast.Load()):
                    used.add(name)
    made = [(name, thing) for name, tree in trees for thing in things_made(tree) if not thing.startswith("__")]
    assert len(made) > 1500
    assert [where for where in made if where[1] not in used] == []
    assert not CALLED_BY_LIBRARIES.keys() - {thing for _, thing in made}, "an exception that is no longer needed"


def things_made(tree: ast.Module) -> Iterator[str]:
    """The names of functions, classes, fields and constants."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name
        if isinstance(node, ast.ClassDef | ast.Module):
            for statement in node.body:
                match statement:
                    case ast.AnnAssign(target=ast.Name(id=name)) | ast.Assign(targets=[ast.Name(id=name)]):
                        yield name


def test_every_docstring_says_what_its_own_thing_is(trees: list[Tree]) -> None:
    found = [name for name, tree in trees for _, text in docstrings(tree) if str(text.value).startswith("The same")]
    assert found == []


def test_names_in_docstrings_exist(trees: list[Tree], repository: Path) -> None:
    known = EXAMPLES | {part for name, _ in trees for part in re.split(r"[/.]", name)}
    for _, tree in trees:
        known |= names(tree) | words(tree)
    for path in (repository / "schema").glob("*.json"):
        known |= set(WORD.findall(path.read_text(encoding="utf-8")))
    documented = [
        (name, word) for name, tree in trees for _, text in docstrings(tree) for word in IDENTIFIER.findall(text.value)
    ]
    assert len(documented) > 300
    assert [where for where in documented if where[1] not in known] == []


def test_files_in_docstrings_exist(trees: list[Tree], repository: Path) -> None:
    package = repository / "builder" / "liningbook"
    roots = [repository, package, repository / "site", *(repository / "guidelines").iterdir()]
    named = [(name, path) for name, tree in trees for _, text in docstrings(tree) for path in FILE.findall(text.value)]
    assert len(named) > 10
    missing = [where for where in named if not any(any(root.rglob(where[1])) for root in roots)]
    assert [(name, path) for name, path in missing if path.rpartition("/")[2] not in MADE] == []


def test_a_name_of_several_words_in_the_docstring_of_a_class_is_one_of_its_module(trees: list[Tree]) -> None:
    """So a field that was renamed or taken out is not described any longer."""
    for name, tree in trees:
        here = names(tree) | words(tree)
        for node, text in docstrings(tree):
            if isinstance(node, ast.ClassDef):
                assert [word for word in IDENTIFIER.findall(text.value) if "_" in word and word not in here] == [], name


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "site/docs/card.md", "site/docs/speed.md"])
def test_options_in_the_documents_exist(name: str, trees: list[Tree], repository: Path) -> None:
    options = {word for file, tree in trees if file.startswith("cli/") for word in words(tree) if word.startswith("--")}
    assert "--format" in options
    text = (repository / name).read_text(encoding="utf-8")
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", text))
    assert named - options == set()


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "site/docs/card.md", "site/docs/design.md"])
def test_names_of_several_words_in_the_documents_exist(name: str, trees: list[Tree], repository: Path) -> None:
    known: set[str] = set()
    for _, tree in trees:
        known |= names(tree) | words(tree)
    for folder in ("schema", "tests", "site"):
        for path in (repository / folder).rglob("*.*"):
            if path.suffix in {".json", ".py", ".js", ".html"}:
                known |= set(WORD.findall(path.read_text(encoding="utf-8"))) | {path.stem}
    text = (repository / name).read_text(encoding="utf-8")
    assert [word for word in IDENTIFIER.findall(text) if "_" in word.strip("_") and word not in known] == []


def test_fields_in_the_descriptions_of_the_schemas_exist(repository: Path, trees: list[Tree]) -> None:
    texts = {path.name: path.read_text(encoding="utf-8") for path in sorted((repository / "schema").glob("*.json"))}
    described = {name: re.findall(r'"(?:description|\$comment)": "([^"]*)"', text) for name, text in texts.items()}
    known = {key for text in texts.values() for key in re.findall(r'"([\w$-]+)"', text)}
    for _, tree in trees:
        known |= words(tree)
    assert any(IDENTIFIER.findall(line) for lines in described.values() for line in lines)
    unknown = [(name, w) for name, lines in described.items() for line in lines for w in IDENTIFIER.findall(line)]
    assert [(name, word) for name, word in unknown if word not in known] == []
