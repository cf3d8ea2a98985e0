"""The shape of the package: no circles of imports, small modules, small folders.

Imports inside functions and those for type checkers count as any other. Lower rooms and modules never import higher
ones: see `test_layers.py` and `pyproject.toml`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import grimp
import pytest

MOST_LINES = 300
MOST_MODULES = 15


def in_circles(imports: Mapping[str, set[str]]) -> set[str]:
    """The modules from which imports lead back to themselves."""
    found = set()
    for start in imports:
        reached: set[str] = set()
        waiting = [start]
        while waiting:
            new = imports[waiting.pop()] - reached
            reached |= new
            waiting += new
        if start in reached:
            found.add(start)
    return found


@pytest.mark.parametrize(
    ("imports", "found"),
    [
        ({"a": {"b"}, "b": {"c"}, "c": set()}, set()),
        ({"a": {"b"}, "b": {"c"}, "c": {"b"}}, {"b", "c"}),
        ({"a": {"b", "c"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}, {"a", "b", "c"}),
    ],
)
def test_what_counts_as_a_circle(imports: dict[str, set[str]], found: set[str]) -> None:
    assert in_circles(imports) == found


def test_no_imports_lead_back_to_their_module() -> None:
    graph = grimp.build_graph("liningbook", cache_dir=None)
    imports = {module: graph.find_modules_directly_imported_by(module) for module in graph.modules}
    assert imports["liningbook.cli.check"], "imports inside functions count"
    assert in_circles(imports) == set()


def test_no_module_template_style_or_script_is_long(repository: Path) -> None:
    files = [path for folder in ("builder/liningbook", "site") for path in (repository / folder).rglob("*.*")]
    written = [path for path in files if path.suffix in {".py", ".html", ".css", ".js"}]
    assert {path.suffix for path in written} >= {".py", ".html", ".css", ".js"}
    lines = {path.relative_to(repository).as_posix(): path.read_text(encoding="utf-8").count("\n") for path in written}
    assert {name: count for name, count in lines.items() if count > MOST_LINES} == {}


def test_no_folder_holds_many_modules(repository: Path) -> None:
    package = repository / "builder" / "liningbook"
    folders = [package, *(path for path in package.rglob("*") if path.is_dir())]
    sizes = {
        folder.relative_to(package.parent).as_posix(): sum(not p.name.startswith("__") for p in folder.glob("*.py"))
        for folder in folders
    }
    assert sizes["liningbook/space"] > 5
    assert {name: size for name, size in sizes.items() if size > MOST_MODULES} == {}
