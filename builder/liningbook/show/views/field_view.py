"""The fields of every source file, from its JSON Schema: what an author can write where."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from liningbook.model.source_table import SOURCES
from liningbook.resources import schema
from liningbook.say.command.fields import (
    FILE_OF_MANY,
    OPTIONAL,
    REFERENCE_FIELDS,
    REFERENCES,
    WHERE_CITED,
    in_bibtex,
    in_csl,
)
from liningbook.say.faults.words import one_of
from liningbook.sources.shape_values import example
from liningbook.sources.source_file import SourceFile

Schema = Mapping[str, Any]


@dataclass(frozen=True)
class Field:
    """One field: `needed` says when as a code with its values; `value` is what stands there, in words or as options."""

    name: str
    needed: tuple[str, tuple[str, ...]]
    value: str | tuple[str, ...]
    description: str
    example: str
    group: str = ""
    """The title of the group of fields that is its value, or that stands in it."""


@dataclass(frozen=True)
class FieldGroup:
    """Fields that stand together."""

    title: str
    description: str
    fields: tuple[Field, ...]
    one_of: tuple[str, ...] = ()
    """Fields of which one must be there."""


@dataclass(frozen=True)
class FileFields:
    """A source file under the name by which it is asked for."""

    topic: str
    row: SourceFile
    description: str
    groups: tuple[FieldGroup, ...]

    @property
    def file(self) -> str:
        """How the file is called: `rules/<name>.md` stands for several, `references.bib or references.json` for one."""
        if self.row.is_folder:
            return FILE_OF_MANY.format(folder=self.row.files[0], ending=self.row.ending)
        return one_of(self.row.files)

    @property
    def needed(self) -> str:
        """Whether a protocol must have it, in words."""
        if self.row.name in ("protocol", "rules") or self.row.missing:
            return ""
        return OPTIONAL if self.row.schema else WHERE_CITED


def topic_of(row: SourceFile) -> str:
    """The name by which the fields of a source file are asked for."""
    return row.schema or row.name


def all_topics() -> Mapping[str, SourceFile]:
    """The row of every topic, those first that a protocol cannot do without."""
    rows = sorted(SOURCES, key=lambda row: (row.name != "protocol", row.name not in ("materials", "rules")))
    return {topic_of(row): row for row in rows}


def file_fields(topic: str) -> FileFields:
    """The fields of one source file, the groups in the order in which fields lead to them."""
    row = all_topics()[topic]
    if not row.schema:
        return FileFields(topic, row, REFERENCES, (FieldGroup("", "", tuple(_reference_fields())),))
    whole = schema(row.schema)
    return FileFields(topic, row, whole["description"], tuple(_groups(whole)))


def _reference_fields() -> Iterator[Field]:
    """The fields of a reference list, which has no schema of ours."""
    for name, csl, needed, description, shown in REFERENCE_FIELDS:
        yield Field(name, ("always" if needed else "never", ()), in_csl(name, csl), description, in_bibtex(name, shown))


def _groups(whole: Schema) -> Iterator[FieldGroup]:
    definitions: Mapping[str, Schema] = whole["$defs"]
    waiting = ["" if "properties" in whole else next(_leads_to(whole, whole))]
    told: dict[str, Schema] = {}
    for name in waiting:  # which grows meanwhile
        part = definitions[name] if name else whole
        if _told_in(told, part["properties"]) is None:
            told[name] = part
            waiting += [found for field in part["properties"].values() for found in _leads_to(whole, field)]
    for part in told.values():
        yield FieldGroup(
            part.get("title", ""),
            part.get("description", ""),
            tuple(_fields(whole, part, told)),
            tuple(branch["required"][0] for branch in part.get("anyOf", ()) if len(branch.get("required", ())) == 1),
        )


def _told_in(told: Mapping[str, Schema], fields: Schema) -> Schema | None:
    """The group among those told that has all these fields: the same one, or one with more."""
    holders = (part for part in told.values() if all(part["properties"].get(key) == own for key, own in fields.items()))
    return next(holders, None)


def _fields(whole: Schema, part: Schema, told: Mapping[str, Schema]) -> Iterator[Field]:
    for name, own in part["properties"].items():
        definition = _resolved(whole, own)
        field = {**definition, **own}
        within = [_told_in(told, whole["$defs"][found]["properties"]) for found in _leads_to(whole, own)]
        yield Field(
            name=name,
            needed=_needed(part, name),
            value=tuple(field["enum"]) if "enum" in field and "x-say" not in field else field.get("x-say", ""),
            description=field.get("description", ""),
            example=f"{name}: {shown}" if (shown := example(own, definition)) else "",
            group=within[0].get("title", "") if within and within[0] else "",
        )


def _needed(part: Schema, name: str) -> tuple[str, tuple[str, ...]]:
    """Whether a field must be there, and where that depends on another field, on which of its values."""
    if name in part.get("required", ()):
        return "always", ()
    for case in (part, *part.get("allOf", ())):
        asked = case.get("if", {})
        if name in case.get("then", {}).get("required", ()):
            key, wanted = next(iter(asked["properties"].items()))
            return "if", (key, *(wanted.get("enum") or (wanted["const"],)))
        if name in case.get("else", {}).get("required", ()):
            return "unless", tuple(asked["required"])
    return "never", ()


def _leads_to(whole: Schema, field: Schema) -> Iterator[str]:
    """The names of the definitions with fields of their own to which a value leads."""
    definition = _resolved(whole, field)
    if definition is not field and "properties" in definition:
        yield field["$ref"].removeprefix("#/$defs/")
        return
    for part in dict.fromkeys(("items", "additionalProperties")):
        if isinstance(inner := definition.get(part), dict):
            yield from _leads_to(whole, inner)


def _resolved(whole: Schema, part: Schema) -> Schema:
    target: Schema = whole["$defs"][part["$ref"].removeprefix("#/$defs/")] if "$ref" in part else part
    return target
