"""What a row of the table of source files says: which files of the folder it is about, and what becomes of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

Form = Literal["yaml", "rules", "folder", "text"]
"""`yaml` is one file of YAML, `rules` a folder of files with front matter, `folder` one of files of YAML, `text`
one text under one of two names."""


@dataclass(frozen=True)
class SourceFile:
    """A file of the protocol's folder, or a folder of files that are alike.

    `files` are the names under which it is read (one for YAML; the folder where there are several), `meant` other
    names, without an ending, that surely mean it. `schema` names the JSON Schema of its fields. `define` finds, before
    anything is built, the names that other files use; `build` gives fields of the protocol. Both take a
    `model.building.Building`.
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
    known_by: str = ""
    """A field at the start of a line by which a file is known that lies elsewhere."""
    is_relied_on: bool = False
    """Whether advice may rest on it: such a file that nothing reads is an error."""

    @property
    def is_folder(self) -> bool:
        """Whether it is a folder of files that are alike."""
        return self.form in ("rules", "folder")

    @property
    def ending(self) -> str:
        """With its dot, how the files of a folder end."""
        return ".md" if self.form == "rules" else ".yaml"

    def instead(self, ending: str) -> str:
        """The right name of a file that has another one and ends so; empty if it may be something else."""
        endings = {name.rpartition(".")[2] for name in self.files if "." in name}
        endings |= {"yml"} if "yaml" in endings else set()
        if ending and ending not in endings:
            return ""
        return next((name for name in self.files if ending and name.endswith(f".{ending}")), self.files[-1])
