"""What a row of the table of source files says: which files of the folder it is about, and what becomes of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

Form = Literal["yaml", "rules", "text"]
"""`yaml` is one file of YAML, `rules` a folder of files with front matter, `text` one text under one of two names."""


@dataclass(frozen=True)
class SourceFile:
    """A file of the protocol's folder, or a folder of files that are alike.

    `files` are the names under which it is read (one for YAML; the folder for rules), `meant` other names, without an
    ending, that surely mean it. `schema` names the JSON Schema of its fields. `define` finds, before anything is built,
    the names that other files use; `build` gives fields of the protocol. Both take a `model.building.Building`.
    """

    name: str
    files: tuple[str, ...]
    meant: tuple[str, ...]
    form: Form = "yaml"
    schema: str = ""
    missing: str = ""
    """The fault of a folder that has no such file, if there must be one."""
    define: Callable[[Any], None] | None = None
    build: Callable[[Any], Mapping[str, Any]] = lambda _: {}

    def instead(self, ending: str) -> str:
        """The right name of a file that has another one and ends so; empty if it may be something else."""
        endings = {name.rpartition(".")[2] for name in self.files if "." in name}
        endings |= {"yml"} if "yaml" in endings else set()
        if ending and ending not in endings:
            return ""
        return next((name for name in self.files if ending and name.endswith(f".{ending}")), self.files[-1])
