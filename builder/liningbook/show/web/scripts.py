"""The browser's modules as one inline module, and the service worker of an edition.

A page opened as a file may not load modules (HTML, "fetch a module worker script graph": the origin of a file is
opaque), so the page carries its modules joined: imports are left out, `export` is dropped, what is imported stands
before what imports it. For that, every name at the top of a module belongs to that module alone, and an import stands
on one line, without `as`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from liningbook.resources import site_dir

FIRST = "shell.mjs"
"""It covers an edition that must not be used, so it runs before anything that might fail."""

_IMPORT = re.compile(r'^import \{ ([\w$]+(?:, [\w$]+)*) \} from "\./([\w-]+\.mjs)";$')
_EXPORT = re.compile(r"^export (?=(?:async )?function\*? |class |const |let )")
_NAME = re.compile(r"^(?:export )?(?:(?:async )?function\*? ?|class |const |let |var )([\w$]+)")
_SPREAD = re.compile(r"^(?:const |let )([\[{])([\w$]+(?:, [\w$]+)*)[\]}] = ")


class ScriptError(ValueError):
    """The modules cannot be joined: what is wrong, a line each."""


def modules(folder: Path | None = None) -> dict[str, str]:
    """Name and text of every module of the site, in the order of the page."""
    folder = folder or site_dir() / "scripts"
    found = {path.name: path.read_text("utf-8") for path in sorted(folder.glob("*.mjs"))}
    return {name: found[name] for name in in_order(found)}


def in_order(sources: Mapping[str, str]) -> list[str]:
    """The modules with what each imports before it, else by name; `shell.mjs` before all, whatever it imports."""
    ordered: list[str] = [name for name in (FIRST,) if name in sources]
    seen = set(ordered)

    def visit(name: str) -> None:
        if name in seen or name not in sources:
            return
        seen.add(name)
        for line in sources[name].split("\n"):
            if match := _IMPORT.match(line):
                visit(match[2])
        ordered.append(name)

    for name in sorted(sources):
        visit(name)
    return ordered


def joined(sources: Mapping[str, str] | None = None) -> str:
    """One module that does what all of them do together. Raises ScriptError."""
    sources = modules() if sources is None else sources
    if found := problems(sources):
        raise ScriptError("\n".join(found))
    return compact("\n".join(_alone(text) for text in sources.values()))


def compact(script: str) -> str:
    """A script without its comments and its indents.

    Only whole lines are comments here, and no text goes over several lines (see `problems`), so nothing else is
    touched.
    """
    without = re.sub(r"^[ ]*/\*\*.*?\*/\n", "", script, flags=re.DOTALL | re.MULTILINE)
    lines = (line.strip() for line in without.split("\n"))
    return "\n".join(line for line in lines if line and not line.startswith("//")) + "\n"


def problems(sources: Mapping[str, str]) -> list[str]:
    """What keeps modules from being joined, a line each."""
    found: list[str] = []
    names = {name: top_level_names(text) for name, text in sources.items()}
    exports = {
        name: {top_level_names(line)[0] for line in text.split("\n") if _EXPORT.match(line)}
        for name, text in sources.items()
    }
    owner: dict[str, str] = {}
    for module, here in names.items():
        for name in here:
            if name in owner:
                found.append(f"{module}: the name {name} is taken by {owner[name]}")
            owner.setdefault(name, module)
    for module, text in sources.items():
        for number, line in enumerate(text.split("\n"), 1):
            if problem := _line_problem(line, exports):
                found.append(f"{module}:{number}: {problem}")
        if "</script" in text.lower() or "<!--" in text:
            found.append(f"{module}: `</script` and `<!--` must not occur")
        if not text.endswith("\n"):
            found.append(f"{module}: the last line has no end")
    return found


def top_level_names(text: str) -> list[str]:
    """The names that a module defines at its top: those of lines that are not indented."""
    found: list[str] = []
    for line in text.split("\n"):
        if match := _NAME.match(line):
            found.append(match[1])
        elif match := _SPREAD.match(line):
            found += match[2].split(", ")
    return found


def _line_problem(line: str, exports: Mapping[str, set[str]]) -> str:
    if re.match(r"import\b", line):
        match = _IMPORT.match(line)
        if not match:
            return 'an import is written `import { name } from "./module.mjs";` on one line'
        if match[2] not in exports:
            return f"there is no module {match[2]}"
        lacking = [name for name in match[1].split(", ") if name not in exports[match[2]]]
        return f"{match[2]} does not export {', '.join(lacking)}" if lacking else ""
    if re.match(r"export\b", line) and not _EXPORT.match(line):
        return "an export stands before a function, a class, a const or a let"
    if re.match(r"(?:export )?(?:const|let|var) [\[{]", line) and not _SPREAD.match(line):
        return "names taken out of a list or an object at the top of a module stand on one line, without `export`"
    if re.sub(r"\\\\.", "", line).count("`") % 2:
        return "a text between grave accents stands on one line"
    if re.search(r"/\*", line) and not re.match(r" *(/\*\*|//)", line):
        return "a comment has lines of its own and begins with `/**` or `//`"
    if re.search(r"\bimport\s*\(|\bimport\.meta\b", line):
        return "nothing is imported while the page runs"
    return ""


def _alone(text: str) -> str:
    """A module without its imports and without the word `export`."""
    lines = [_EXPORT.sub("", line) for line in text.split("\n") if not _IMPORT.match(line)]
    return "\n".join(lines).strip("\n") + "\n"


def service_worker(edition: str) -> str:
    """The script that keeps the site for use without a network, under a name that no other edition has."""
    if not re.fullmatch(r"[0-9a-f-]+", edition):
        raise ValueError(f"not the name of an edition: {edition}")
    template = (site_dir() / "scripts" / "sw.js").read_text("utf-8")
    assert template.count("@edition@") == 1
    return compact(template.replace("@edition@", edition))
