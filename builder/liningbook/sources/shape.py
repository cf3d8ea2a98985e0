"""The fields of a source file against its JSON Schema: each mistake becomes one finding on the smallest wrong text.

Whether a file is as it should be says the library jsonschema-rs, which is quick; only of a file that it refuses does
the library jsonschema tell what is wrong. The schemas keep every alternative apart by its type, so that an error speaks
of one place and one cause; its words come from annotations in the schema (`x-say`, `x-message`, `x-help`, `x-name`,
`x-with`, and `examples`). Standard: JSON Schema, draft 2020-12 (https://json-schema.org/draft/2020-12).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from liningbook.finding import Finding, fault
from liningbook.resources import schema
from liningbook.sources.node import Node
from liningbook.sources.shape_values import (
    Path,
    example,
    is_reported_as_empty,
    place_of_group,
    place_of_value,
    what_it_is,
)
from liningbook.sources.text import kebab, near

if TYPE_CHECKING:
    import jsonschema_rs
    from jsonschema import ValidationError
    from jsonschema.protocols import Validator

    from liningbook.sources.slips.meant import Meant

Schema = Mapping[str, Any]

MOST = 200
"""So many findings of one file are listed; a file with more has another fault than its fields."""

EXAMPLE_IN_LINE = 60
"""A longer example stands in the advice, not in the message."""

NAMES_BY = {"$ref": "#/$defs/values"}
"""What stands in a group of names by decision."""

WITHOUT_DECISION = "names-without-decision"
"""The fault of names that stand in no such group; who knows the decisions can say more."""

SAME_VALUE = ("$ref", "allOf", "anyOf", "if", "then", "else", "dependentSchemas")
"""Keywords that lead to a schema for the same value; the others lead to a part of it."""

TWO_STEPS = ("properties", "allOf", "anyOf", "dependentSchemas")
"""Keywords that are followed by a name or a number on the way to a schema."""


def check_shape(node: Node, schema_name: str) -> list[Finding]:
    """All mistakes in the fields of a file (kind `schema`), in the order of the text.

    `schema_name` names the schema (`protocol`, `rule`, …). An empty value that reading the YAML has reported is not
    reported again. Of a file with more than `MOST` mistakes only so many are given, and one more finding says so.
    """
    plain = node.plain()
    if _judge(schema_name).is_valid(plain):
        return []
    whole = schema(schema_name)
    errors = list(islice(_teller(schema_name).iter_errors(plain), 2 * MOST))
    mistakes = [_ShapeMistake(error, _schemas_on_the_way(whole, error)) for error in errors]
    findings = sorted(_Shape(node, whole, mistakes).findings(), key=lambda finding: finding.span)
    if len(findings) > MOST or len(errors) == 2 * MOST:
        place = findings[MOST].span if len(findings) > MOST else place_of_group((), node)
        findings[MOST:] = [fault("schema", place, "too-many-faults")]
    return findings


@cache
def _judge(schema_name: str) -> jsonschema_rs.Validator:
    """Says quickly whether a file is as it should be."""
    import jsonschema_rs

    return jsonschema_rs.Draft202012Validator(schema(schema_name))


@cache
def _teller(schema_name: str) -> Validator:
    """Tells what is wrong with a file."""
    from jsonschema import Draft202012Validator, ValidationError
    from jsonschema.validators import extend

    def pattern(_: Validator, wanted: str, text: object, __: Schema) -> Iterator[ValidationError]:
        """A pattern as the standard means it: `$` is the end of the text, a line break there included."""
        if isinstance(text, str) and not re.search(wanted.replace("$", r"\Z"), text):
            yield ValidationError(wanted)

    made: Any = extend
    teller: Validator = made(Draft202012Validator, {"pattern": pattern})(schema(schema_name))
    return teller


def _schemas_on_the_way(whole: Schema, error: ValidationError) -> tuple[Schema, ...]:
    """The schemas that speak of the value of an error, from the outermost to the one that holds the failed keyword.

    The way that the library tells leaves out `$ref` and `if`.
    """
    steps = list(error.absolute_schema_path)
    here: Any = whole
    frames: list[Schema] = [whole]
    position = 0
    while position < len(steps):
        keyword = str(steps[position])
        if keyword not in here:
            here = _resolved(whole, here)
            frames.append(here)
        if position == len(steps) - 1:
            if here != error.schema and "$ref" in here:
                frames.append(_resolved(whole, here))
            break
        here = here[keyword]
        if keyword in TWO_STEPS:
            position += 1
            here = here[steps[position]]
        frames = [*frames, here] if keyword in SAME_VALUE else [here]
        position += 1
    return tuple(frames)


def _resolved(whole: Schema, part: Schema) -> Schema:
    target: Schema = whole["$defs"][part["$ref"].removeprefix("#/$defs/")] if "$ref" in part else part
    return target


class _ShapeMistake:
    """An error of the validator with the schemas that speak of its value."""

    def __init__(self, error: ValidationError, frames: tuple[Schema, ...]) -> None:
        self.frames, self.holder = frames, frames[-1]
        self.path: Path = tuple(error.absolute_path)
        self.instance: Any = error.instance
        self.keyword = "propertyNames" if "propertyNames" in error.schema_path else str(error.validator)

    def annotation(self, name: str) -> Any:
        """The outermost annotation of that name, which is the most particular one."""
        return next((frame[name] for frame in self.frames if name in frame), None)

    @property
    def unknown(self) -> list[str]:
        """The fields that are not known here, no more than `MOST` and one."""
        return [name for name in self.instance if name not in self.holder["properties"]][: MOST + 1]


class _Shape:
    """Turns the errors about one file into findings."""

    def __init__(self, root: Node, whole: Schema, mistakes: Sequence[_ShapeMistake]) -> None:
        self.root, self.whole = root, whole
        self.mistakes = sorted(mistakes, key=lambda mistake: self.root.at(list(mistake.path)).span)
        self.meant: dict[Path, set[str]] = {}
        self.unwanted: set[Path] = set()
        self.told: set[tuple[Path, str]] = set()
        for mistake in mistakes:
            if mistake.keyword == "not":
                self.unwanted.add(mistake.path)
            if mistake.keyword == "additionalProperties":
                known = mistake.holder["properties"]
                guesses = {near(name, known) for name in mistake.unknown if not self.homes(name)}
                self.meant[mistake.path] = {guess for guess in guesses if guess is not None}

    def findings(self) -> Iterator[Finding]:
        for mistake in self.mistakes:
            node = self.root.at(list(mistake.path))
            if is_reported_as_empty(node) or self.is_in_unwanted(mistake):
                continue
            match mistake.keyword:
                case "required":
                    yield from self.missing(mistake, node)
                case "anyOf":
                    yield from self.none_of(mistake, node)
                case "additionalProperties":
                    yield from self.unknown(mistake, node)
                case "not":
                    yield from self.out_of_place(mistake, node)
                case "propertyNames":
                    yield self.bad_name(mistake, node)
                case _:
                    yield self.wrong_value(mistake, node)

    def is_in_unwanted(self, mistake: _ShapeMistake) -> bool:
        """Whether the mistake is in a field that should not be there at all."""
        path = mistake.path
        own = 1 if mistake.keyword == "not" else 0
        return any(path[:length] in self.unwanted for length in range(1, len(path) + 1 - own))

    def missing(self, mistake: _ShapeMistake, node: Node) -> Iterator[Finding]:
        """The fields that are missing in a group; the library has an error for each of them, all alike."""
        place = place_of_group(mistake.path, node)
        for name in mistake.holder["required"]:
            told = (mistake.path, name) in self.told
            if told or name in mistake.instance or name in self.meant.get(mistake.path, ()):
                continue
            self.told.add((mistake.path, name))
            field = next(frame["properties"][name] for frame in mistake.frames if name in frame.get("properties", {}))
            options = tuple(field.get("enum", ()))
            shown = "" if options else example(field, _resolved(self.whole, field))
            within: dict[str, Any] = {"path": mistake.path} if mistake.path else {}
            what = "field-missing-in" if within else "field-missing"
            yield fault("schema", place, what, (), field=name, options=options, example=shown, **within)

    def none_of(self, mistake: _ShapeMistake, node: Node) -> Iterator[Finding]:
        wanted = {name for branch in mistake.holder["anyOf"] for name in branch["required"]}
        if not wanted & self.meant.get(mistake.path, set()):
            yield fault("schema", place_of_group(mistake.path, node), "as-the-schema-says",
                        message=mistake.holder["x-message"], advice=mistake.holder["x-help"])  # fmt: skip

    def unknown(self, mistake: _ShapeMistake, node: Node) -> Iterator[Finding]:
        for name in mistake.unknown:
            child, homes = (node.fields or {})[name], self.homes(name)
            best = None if homes else near(name, mistake.holder["properties"])
            known = () if homes or best else tuple(mistake.holder["properties"])
            yield fault("schema", child.place, "unknown-field", name=name, group=mistake.holder["x-name"],
                        homes=homes, near=best, known=known)  # fmt: skip

    def homes(self, name: str) -> tuple[str, ...]:
        """What the groups are called that have such a field, if there are one or two."""
        parts = (self.whole, *self.whole["$defs"].values())
        found = {part["x-name"] for part in parts if "x-name" in part and name in part.get("properties", {})}
        return tuple(sorted(found)) if len(found) <= 2 else ()

    def out_of_place(self, mistake: _ShapeMistake, node: Node) -> Iterator[Finding]:
        """A field that must not stand where another one stands; the later of the two is marked."""
        message, place = mistake.holder["x-message"], node.place
        if (mistake.path[:-1], message) in self.told:
            return
        self.told.add((mistake.path[:-1], message))
        related: tuple[tuple[Any, str], ...] = ()
        if "x-with" in mistake.holder:
            other = self.root.at([*mistake.path[:-1], mistake.holder["x-with"]])
            first, place = sorted((other.place, place))
            related = ((first, "other-one"),)
        yield fault("schema", place, "as-the-schema-says", related, message=message, advice=mistake.holder["x-help"])

    def bad_name(self, mistake: _ShapeMistake, node: Node) -> Finding:
        """A name given by the author that cannot be one."""
        name, rule = str(mistake.instance), mistake.holder
        child = (node.fields or {})[name]
        better = kebab(name) or rule["examples"][0]
        return fault("schema", child.place, "not-a-name", name=name, rule=rule["x-say"], better=better)

    def wrong_value(self, mistake: _ShapeMistake, node: Node) -> Finding:
        if mistake.keyword == "type" and mistake.holder.get("additionalProperties") == NAMES_BY:
            shown = example(*mistake.frames)
            return fault("schema", place_of_value(node), WITHOUT_DECISION, (),
                         called=mistake.path, instead="", several=(), example=shown)  # fmt: skip
        from liningbook.sources.slips.meant import NOTHING

        options, say = tuple(mistake.holder.get("enum", ())), mistake.annotation("x-say") or ""
        shown = "" if "`" in (say or str(options)) else example(*mistake.frames)
        is_short = len(shown) <= EXAMPLE_IN_LINE
        what = "wrong-value-such-as" if shown and is_short else "wrong-value"
        meant = self.meant_by(mistake, node)
        inline: dict[str, Any] = {"shown": shown} if shown and is_short else {"example": "" if meant else shown}
        return fault(
            "schema", place_of_value(node), what, (),
            called=mistake.path or self.whole["x-name"],
            wanted=say or options,
            found=what_it_is(node, mistake.keyword),
            near=near(node.text, options) if options and node.text is not None else None,
            advice="" if meant else mistake.annotation("x-help") or "",
            **inline,
            **{**NOTHING, **meant},
        )  # fmt: skip

    def meant_by(self, mistake: _ShapeMistake, node: Node) -> Meant:
        """What a value means that stands where something else is wanted, as far as it can be told."""
        from liningbook.sources.slips.meant import MEANT, list_meant, text_meant

        holder, definitions, text = mistake.holder, self.whole["$defs"], node.text or ""
        if mistake.keyword == "type" and holder["type"] == "string":
            return text_meant(node, mistake.path)
        if mistake.keyword == "type" and holder["type"] == "array":
            items = holder["items"]
            is_text = _resolved(self.whole, items).get("type") == "string"
            return list_meant(text, items.get("$ref") == "#/$defs/name") if is_text else {}
        makers = (maker for name, maker in MEANT.items() if definitions.get(name) is holder)
        return next((maker(text) for maker in makers), {})
