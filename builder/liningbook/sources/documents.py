"""A protocol folder to its source texts: which files there are, decoded, rule files split into front matter and body.

Nothing outside the folder is read: a link that leads out of it is a finding. What is wrong with one file never keeps
the others from being read.
"""

from __future__ import annotations

import codecs
import errno
import os
import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from liningbook.finding import Finding, Span, worded
from liningbook.sources.yaml_nodes import HIDDEN, Node, read_yaml

MAX_BYTES = 2_000_000
"""No source file of a practice comes near this size; a larger one is not read."""

MAX_BODY = 20_000
"""No rule needs more characters for its reasons; reading Markdown can take time that grows with the square."""

KNOWN_NAMES = (
    "protocol.yaml", "materials.yaml", "vignettes.yaml", "card.yaml", "copies.yaml",
    "references.bib", "references.json", "rules",
)  # fmt: skip

MEANT = {
    "protocol": "protocol.yaml", "protocols": "protocol.yaml", "material": "materials.yaml",
    "materials": "materials.yaml", "vignette": "vignettes.yaml", "vignettes": "vignettes.yaml",
    "card": "card.yaml", "cards": "card.yaml", "copy": "copies.yaml", "copies": "copies.yaml",
    "reference": "references", "references": "references", "refs": "references", "rule": "rules",
}  # fmt: skip
"""What a file or folder was surely meant to be, by its name without the ending."""

ENDINGS = {
    "protocol.yaml": ("yaml", "yml"), "materials.yaml": ("yaml", "yml"), "vignettes.yaml": ("yaml", "yml"),
    "card.yaml": ("yaml", "yml"), "copies.yaml": ("yaml", "yml"), "references": ("bib", "json"),
}  # fmt: skip

RULE_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")


class NoProtocol(Exception):
    """There is no protocol at this place: the folder or its `protocol.yaml` is missing."""


@dataclass(frozen=True)
class Document:
    """A source file in YAML (or with YAML front matter), as a tree of nodes; `body` starts on `body_line`."""

    file: str
    root: Node | None
    body: str = ""
    body_line: int = 1


@dataclass
class Folder:
    """The sources of a protocol: `texts` by file name (for showing lines), and the documents read from them.

    `missing` and `unreadable` names of files keep later steps from reporting what follows from them.
    """

    texts: dict[str, str] = field(default_factory=dict)
    protocol: Document | None = None
    materials: Document | None = None
    vignettes: Document | None = None
    card: Document | None = None
    copies: Document | None = None
    rules: dict[str, Document] = field(default_factory=dict)
    references: dict[str, str] = field(default_factory=dict)
    rule_names: set[str] = field(default_factory=set)
    """Every rule file's stem, those that could not be read included."""


def read_folder(path: Path) -> tuple[Folder, list[Finding]]:
    """Every source of the protocol folder, with findings (`unreadable`, `schema`). Raises NoProtocol."""
    if os.path.isfile(path):
        raise NoProtocol(f"{path} is a file; name the folder that holds protocol.yaml")
    if not os.path.isdir(path):
        raise NoProtocol(f"there is no folder {_brief(str(path))}")
    reader = _Reader(path)
    try:
        os.lstat(path / "protocol.yaml")
    except FileNotFoundError:
        raise NoProtocol(f"the folder {path} holds no protocol.yaml{_misnamed(path)}") from None
    except OSError as error:
        reader.find("unreadable", "protocol.yaml", f"the folder cannot be opened ({error.strerror})",
                    "check who may read it")  # fmt: skip
    else:
        reader.read_all()
    return reader.folder, reader.findings


def read_files(contents: Mapping[str, bytes]) -> tuple[Folder, list[Finding]]:
    """The same for files that lie nowhere, by their path in the folder (`rules/one.md`). Raises NoProtocol."""
    if "protocol.yaml" not in contents:
        raise NoProtocol("there is no protocol.yaml")
    reader = _FilesReader(contents)
    reader.read_all()
    return reader.folder, reader.findings


def _brief(text: str, most: int = 200) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _misnamed(path: Path) -> str:
    """Advice if a file of the folder has almost the name `protocol.yaml`."""
    names = sorted(os.listdir(path)) if os.access(path, os.R_OK) else []
    alike = [name for name in names if name.lower() in ("protocol.yaml", "protocol.yml", "protocol.yaml.txt")]
    return f"; rename {alike[0]}" if alike else ""


def reread_rule(folder: Folder, file: str, text: str) -> tuple[Folder, list[Finding]]:
    """The folder with another text in one rule file, and what is wrong with that text; nothing is read or written."""
    reader = _Reader(Path())
    document = reader.rule_document(file, text)
    stem = file.removeprefix("rules/").removesuffix(".md")
    rules = {**folder.rules, stem: document}
    return replace(folder, texts={**folder.texts, file: text}, rules=rules), reader.findings


class _Reader:
    def __init__(self, path: Path) -> None:
        self.path = path
        self.real = os.path.realpath(path)
        self.folder = Folder()
        self.findings: list[Finding] = []

    def read_all(self) -> None:
        self.folder.protocol = self.yaml_document("protocol.yaml")
        if self.exists("materials.yaml"):
            self.folder.materials = self.yaml_document("materials.yaml")
        else:
            self.find("unreadable", "materials.yaml", "the protocol has no file materials.yaml",
                      "write one with `agents`: what can be placed")  # fmt: skip
        if self.exists("vignettes.yaml"):
            self.folder.vignettes = self.yaml_document("vignettes.yaml")
        if self.exists("card.yaml"):
            self.folder.card = self.yaml_document("card.yaml")
        if self.exists("copies.yaml"):
            self.folder.copies = self.yaml_document("copies.yaml")
        for name in ("references.bib", "references.json"):
            if self.exists(name) and (text := self.text(name)) is not None:
                self.folder.references[name] = text
        self.report_misnamed()
        self.read_rules()

    def report_misnamed(self) -> None:
        """Files that were surely meant to be read and have another name: nobody must think that they count."""
        for name in self.names():
            stem, _, ending = name.casefold().rpartition(".")
            wanted = MEANT.get(stem or ending)
            right_ending = ending in ENDINGS.get(wanted or "", ()) or not stem
            if wanted is None or not right_ending or name in KNOWN_NAMES:
                continue
            instead = f"{wanted}.{'bib' if ending == 'bib' else 'json'}" if wanted == "references" else wanted
            self.find("unreadable", _visible(name), "nothing of this name is read",
                      f"name it {'rules' if wanted == 'rules' else instead}")  # fmt: skip

    def read_rules(self) -> None:
        names = self.names_in_rules()
        if names is None:
            return
        for name in names:
            if name == "README.md" or name.startswith((".", "_")):
                continue
            file = f"rules/{_visible(name)}"
            stem, dot, ending = name.rpartition(".")
            is_folder = self.is_folder(f"rules/{name}")
            if ending != "md" or not dot or is_folder:
                what = "a folder" if is_folder else "not a rule"
                self.find("unreadable", file, f"this is {what}: a rule is a file whose name ends in .md",
                          "move it elsewhere, or begin its name with _ to have it passed over")  # fmt: skip
                continue
            self.folder.rule_names.add(stem)
            if not RULE_NAME.match(stem):
                self.find("schema", file, f"'{_visible(stem)}' cannot be a rule's name",
                          "name the file in small letters, digits and single hyphens, for example "
                          f"`{_kebab(stem)}.md`")  # fmt: skip
                continue
            text = self.text(file)
            if text is not None:
                self.folder.rules[stem] = self.rule_document(file, text)
        if not self.folder.rule_names:
            self.find("schema", "protocol.yaml", "the protocol has no rule",
                      "write one rule a file in the folder `rules`, for example `rules/my-first-rule.md`")  # fmt: skip

    def names_in_rules(self) -> list[str] | None:
        """The names in the folder `rules`, sorted; nothing after a finding. Without such a folder there are none."""
        rules = self.path / "rules"
        if not self.inside("rules"):
            self.find("unreadable", "rules", "this link leads out of the protocol folder", "put the folder itself here")
            return None
        if self.exists("rules") and not rules.is_dir():
            self.find("unreadable", "rules", "this is not a folder", "make it a folder that holds the rules")
            return None
        try:
            return sorted(os.listdir(rules)) if self.exists("rules") else []
        except OSError as error:
            self.find("unreadable", "rules", f"the folder cannot be opened ({error.strerror})", "check who may read it")
            return None

    def yaml_document(self, file: str) -> Document:
        text = self.text(file)
        return Document(file, None if text is None else self.yaml(text, file, 1))

    def yaml(self, text: str, file: str, first_line: int) -> Node | None:
        root, found = read_yaml(text, file, first_line)
        self.findings += found
        return root

    def rule_document(self, file: str, text: str) -> Document:
        lines = text.split("\n")
        if lines[0].rstrip() != "---":
            self.find("unreadable", file, "a rule starts with a line of three hyphens",
                      "put `---` on the first line, then the fields, then `---` again, then the reasons")  # fmt: skip
            return Document(file, None)
        end = next((n for n, line in enumerate(lines[1:], 1) if line.rstrip() == "---"), None)
        if end is None:
            self.find("unreadable", file, "the fields of this rule never end",
                      "put a line `---` after the last field, before the reasons")  # fmt: skip
            return Document(file, None)
        root = self.yaml("\n".join(lines[1:end]) + "\n", file, 2)
        body = "\n".join(lines[end + 1 :])
        if len(body) > MAX_BODY:
            self.find("schema", file, f"the reasons of this rule are longer than {MAX_BODY} characters",
                      "say it shorter, or in several rules", Span(file, end + 2, 1, end + 2, 2))  # fmt: skip
            body = ""
        return Document(file, root, body, end + 2)

    def text(self, file: str) -> str | None:
        """The decoded text of a file, or nothing after a finding."""
        if not self.inside(file):
            self.find("unreadable", file, "this link leads out of the protocol folder", "put the file itself here")
            return None
        path = os.path.join(self.path, file)
        try:
            status = os.stat(path)
            if not stat.S_ISREG(status.st_mode):
                self.find("unreadable", file, "this is not a file of text", "put a file of text here")
                return None
            if status.st_size > MAX_BYTES:
                self.find("unreadable", file, f"the file is larger than {MAX_BYTES // 1_000_000} MB",
                          "keep only the text of the protocol in it")  # fmt: skip
                return None
            with open(path, "rb") as stream:
                raw = stream.read()
        except OSError as error:
            if error.errno in (errno.ENOENT, errno.ELOOP):
                self.find("unreadable", file, "this link leads nowhere", "put the file itself here")
            else:
                self.find("unreadable", file, f"the file cannot be opened ({error.strerror})", "check who may read it")
            return None
        return self.decode(file, raw)

    def decode(self, file: str, raw: bytes) -> str | None:
        raw = raw.removeprefix(codecs.BOM_UTF8)
        try:
            text = raw.decode("utf-8")
        except UnicodeDecodeError as error:
            before = raw[: error.start].decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
            line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
            self.find("unreadable", file, "the file is not in UTF-8", "save it again with the encoding UTF-8",
                      Span(file, line, column, line, column + 1))  # fmt: skip
            return None
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        self.folder.texts[file] = text
        hidden = HIDDEN.search(text)
        if hidden:
            line = text.count("\n", 0, hidden.start()) + 1
            column = hidden.start() - text.rfind("\n", 0, hidden.start())
            self.find("unreadable", file, f"a hidden character stands here (U+{ord(hidden.group()):04X})",
                      "delete it, or type the passage again", Span(file, line, column, line, column + 1))  # fmt: skip
            return None
        return text

    def names(self) -> list[str]:
        """The names in the protocol's folder, sorted."""
        return sorted(os.listdir(self.path))

    def is_folder(self, file: str) -> bool:
        return os.path.isdir(self.path / file)

    def exists(self, file: str) -> bool:
        return os.path.lexists(self.path / file)

    def inside(self, file: str) -> bool:
        """Whether a file is no link, or one that does not lead out of the folder (its parent being in it)."""
        path = os.path.join(self.path, file)
        if not os.path.islink(path):
            return True
        real = os.path.realpath(path)
        return real == self.real or real.startswith(self.real.rstrip(os.sep) + os.sep)

    def find(self, kind: str, file: str, message: str, advice: str, span: Span | None = None) -> None:
        span = span or Span(file, 1, 1, 1, 2)
        self.findings.append(worded(kind, message, span, help=(advice,)))


class _FilesReader(_Reader):
    """A folder whose files are given with their contents."""

    def __init__(self, contents: Mapping[str, bytes]) -> None:
        super().__init__(Path())
        self.contents = contents

    def names(self) -> list[str]:
        return sorted({path.partition("/")[0] for path in self.contents})

    def names_in_rules(self) -> list[str] | None:
        inside = [path.removeprefix("rules/") for path in self.contents if path.startswith("rules/")]
        return sorted({path.partition("/")[0] for path in inside})

    def is_folder(self, file: str) -> bool:
        return any(path.startswith(f"{file}/") for path in self.contents)

    def exists(self, file: str) -> bool:
        return file in self.contents or self.is_folder(file)

    def text(self, file: str) -> str | None:
        content = self.contents.get(file)
        if content is None or len(content) > MAX_BYTES:
            why = (
                "this is not a file of text"
                if content is None
                else f"the file is larger than {MAX_BYTES // 1_000_000} MB"
            )
            self.find("unreadable", file, why, "put a file of text here")
            return None
        return self.decode(file, content)


def _visible(name: str) -> str:
    """The name of a file without what would not show, or would hide the rest, where it is printed."""
    return HIDDEN.sub("?", name.replace("\n", "?").replace("\t", "?"))


def _kebab(stem: str) -> str:
    return "-".join(re.findall(r"[a-z0-9]+", stem.lower())) or "my-rule"
