"""The layers of DEVELOPERS.md hold: import-linter's contracts, and the modules that print and write files."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

# Modules that may touch the disk or the screen besides the command line, and why.
ALLOWED = {
    "show/paper/typeset.py": "the font library takes its settings only from a file: one is made in a temporary folder",
}

WRITING_METHODS = {"write_text", "write_bytes", "mkdir", "touch", "unlink", "rename", "symlink_to", "rmdir"}
WRITING_FUNCTIONS = {
    "os": {"mkdir", "makedirs", "open", "remove", "rename", "replace", "rmdir", "symlink", "unlink", "write"},
    "shutil": {"copy", "copy2", "copyfile", "copytree", "move", "rmtree"},
    "tempfile": {"mkdtemp", "mkstemp", "NamedTemporaryFile", "TemporaryDirectory", "TemporaryFile"},
}


STREAMS = {"stdout", "stderr", "__stdout__", "__stderr__"}
"""What `sys` calls the terminal."""

PRINTING = {
    *("print", "print_exc", "print_exception", "print_stack", "print_help", "print_usage", "pprint"),
    *("showwarning", "basicConfig", "StreamHandler", "lastResort"),
}
"""Functions and types of the standard library that print by themselves."""


def prints(source: str) -> Iterator[tuple[int, str]]:
    """Line and name of everything that could write to the terminal."""
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Attribute(value=ast.Name(id="sys"), attr=stream) if stream in STREAMS:
                yield node.lineno, f"sys.{stream}"
            case ast.ImportFrom(module="sys", names=names) if {name.name for name in names} & STREAMS:
                yield node.lineno, "from sys"
            case ast.Constant(value=str(name)) if name in STREAMS:
                yield node.lineno, name
            case ast.Name(id=name) | ast.Attribute(attr=name) if name in PRINTING:
                yield node.lineno, name
            case ast.Call(func=ast.Attribute(value=ast.Name(id="os"), attr="write" | "system" as name)):
                yield node.lineno, f"os.{name}"
            case ast.Call(func=ast.Attribute(value=ast.Name(id="subprocess"), attr=name), keywords=words):
                if not {word.arg for word in words} >= {"capture_output"}:
                    yield node.lineno, f"subprocess.{name}"


def outputs(source: str) -> Iterator[tuple[int, str]]:
    """Line and name of every call that prints, or that opens, makes, moves or deletes a file or folder."""
    yield from prints(source)
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Call(func=ast.Name(id="open") | ast.Attribute(attr="open")) if _opens_to_write(node):
                yield node.lineno, "open to write"
            case ast.Call(func=ast.Attribute(value=ast.Name(id=module), attr=name)) if name in WRITING_FUNCTIONS.get(
                module, ()
            ):
                yield node.lineno, f"{module}.{name}"
            case ast.Call(func=ast.Attribute(attr=name)) if name in WRITING_METHODS:
                yield node.lineno, name


def _opens_to_write(call: ast.Call) -> bool:
    """Whether a call of `open` or `path.open` has a mode that writes; a mode that is not spelt out counts as one."""
    of_path = isinstance(call.func, ast.Attribute)
    modes = call.args[0 if of_path else 1 :][:1] + [word.value for word in call.keywords if word.arg == "mode"]
    return any(not isinstance(mode, ast.Constant) or set(str(mode.value)) & set("wax+") for mode in modes)


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("print('x')", ["print"]),
        ("import sys\nsys.stderr.write('x')", ["sys.stderr"]),
        ("from sys import stderr", ["from sys"]),
        ("getattr(sys, 'stdout')", ["stdout"]),
        ("say = print", ["print"]),
        ("import traceback\ntraceback.print_exc()", ["print_exc"]),
        ("import subprocess\nsubprocess.run(['git'])", ["subprocess.run"]),
        ("import subprocess\nsubprocess.run(['git'], capture_output=True)", []),
        ("import os\nos.write(2, b'x')", ["os.write", "os.write"]),
        ("open('f', 'w')", ["open to write"]),
        ("open('f', mode='ab')", ["open to write"]),
        ("path.open('x')", ["open to write"]),
        ("path.write_text('x')", ["write_text"]),
        ("import os\nos.replace('a', 'b')", ["os.replace"]),
        ("import tempfile\ntempfile.mkdtemp()", ["tempfile.mkdtemp"]),
        ("open('f')", []),
        ("path.open('rb')", []),
        ("'a'.replace('a', 'b')", []),
        ("document.write_pdf()", []),
    ],
)
def test_what_counts_as_output(source: str, found: list[str]) -> None:
    assert [name for _, name in outputs(source)] == found


def test_only_the_command_line_prints_or_writes_files(repository: Path) -> None:
    package = repository / "builder" / "liningbook"
    found: dict[str, list[str]] = {}
    for path in sorted(package.rglob("*.py")):
        name = path.relative_to(package).as_posix()
        if not name.startswith("cli/"):
            for line, call in outputs(path.read_text(encoding="utf-8")):
                found.setdefault(name, []).append(f"line {line}: {call}")
    assert {name: calls for name, calls in found.items() if name not in ALLOWED} == {}
    assert sorted(ALLOWED) == sorted(ALLOWED.keys() & found.keys()), "an exception that is no longer needed"


def test_one_module_alone_writes_to_the_terminal(repository: Path) -> None:
    package = repository / "builder" / "liningbook"
    found = {}
    for path in package.rglob("*.py"):
        if calls := [f"line {line}: {call}" for line, call in prints(path.read_text(encoding="utf-8"))]:
            found[path.relative_to(package).as_posix()] = calls
    assert found.pop("cli/terminal.py")
    assert found == {}


def test_no_module_imports_a_higher_one_and_every_module_has_its_layer(repository: Path) -> None:
    lint_imports = Path(sys.executable).parent / "lint-imports"
    run = subprocess.run(
        [lint_imports, "--no-cache"],
        cwd=repository,
        env={**os.environ, "PYTHONPATH": str(repository / "builder")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr


def test_every_package_of_several_modules_is_held_exhaustively(repository: Path) -> None:
    """By a contract of layers in which each module must have its place, or by one that takes in all modules at once."""
    package = repository / "builder" / "liningbook"
    configuration = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = configuration["tool"]["importlinter"]["contracts"]
    held = {name for contract in contracts if contract.get("exhaustive") for name in contract["containers"]}
    held |= {
        name.removesuffix(".*")
        for contract in contracts
        if contract["type"] == "independence"
        for name in contract["modules"]
        if name.endswith(".*")
    }
    folders = [folder for folder in (package, *package.rglob("*")) if len(list(folder.glob("[!_]*.py"))) > 1]
    several = {".".join(folder.relative_to(package.parent).parts) for folder in folders}
    assert {"liningbook", "liningbook.space"} <= several
    assert several - held == set()
    assert not any(contract.get("exhaustive_ignores") for contract in contracts), "each module has its place"
