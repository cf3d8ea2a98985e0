"""The fields of a source file against its JSON Schema: each mistake becomes one finding on the smallest wrong text.

The schemas keep every alternative apart by its type, so that an error of the validator speaks of one place and one
cause; what is said of it comes from annotations in the schema (`x-say`, `x-message`, `x-help`, `x-name`, `x-with`, and
`examples`). Standard: JSON Schema, draft 2020-12 (https://json-schema.org/draft/2020-12).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from liningbook.finding import Finding, Label, Span, worded
from liningbook.resources import schema
from liningbook.sources.shape_words import (
    Path,
    example,
    is_reported_as_empty,
    one_of,
    place_of_group,
    place_of_value,
    short,
    subject,
    what_it_is,
)
from liningbook.sources.suggest import did_you_mean, near
from liningbook.sources.yaml_nodes import Node, one_line

if TYPE_CHECKING:
    from jsonschema_rs import ValidationError, Validator

Schema = Mapping[str, Any]

MOST = 200
"""So many findings of one file are listed; a file with more has another fault than its fields."""

EXAMPLE_IN_LINE = 60
"""A longer example stands in the advice, not in the message."""

DIGIT_LIKE = tuple("=+0123456789")
"""How a key starts that the validator might take for a number."""

SAME_VALUE = ("$ref", "allOf", "anyOf", "if", "then", "else", "dependentSchemas")
"""Keywords that lead to a schema for the same value; the others lead to a part of it."""

TWO_STEPS = ("properties", "allOf", "anyOf", "dependentSchemas")
"""Keywords that are followed by a name or a number on the way to a schema."""


def check_shape(node: Node, schema_name: str) -> list[Finding]:
    """All mistakes in the fields of a file (kind `schema`), in the order of the text.

    `schema_name` is `protocol`, `rule`, `materials`, `vignettes`, `card` or `copies`. An empty value that reading the
    YAML has reported is not reported again. Of a file with more than `MOST` mistakes only so many are given, and one
    more finding says so.
    """
    plain, whole = node.plain(), schema(schema_name)
    if _validator(schema_name).is_valid(plain):
        return []
    errors = list(islice(_validator(schema_name, names=False).iter_errors(_shielded(plain)), 2 * MOST))
    mistakes = [_Mistake(error, _schemas_on_the_way(whole, error.evaluation_path)) for error in errors]
    names = islice(_bad_names(whole, whole, node), 2 * MOST)
    findings = sorted([*_Shape(node, whole, mistakes).findings(), *names], key=lambda finding: finding.span)
    if len(findings) > MOST or len(errors) == 2 * MOST:
        place = findings[MOST].span if len(findings) > MOST else place_of_group((), node)
        findings[MOST:] = [_finding("this file has more mistakes in its fields than are listed", place)]
    return findings


@cache
def _validator(schema_name: str, names: bool = True) -> Validator:
    """The compiled schema; without `names` it lets any name pass (see `_bad_names`)."""
    import jsonschema_rs

    whole = schema(schema_name)
    return jsonschema_rs.Draft202012Validator(whole if names else _without_names(whole))


def _without_names(part: Any) -> Any:
    if isinstance(part, dict):
        return {key: _without_names(value) for key, value in part.items() if key != "propertyNames"}
    return [_without_names(value) for value in part] if isinstance(part, list) else part


def _bad_names(whole: Schema, part: Schema, node: Node) -> Iterator[Finding]:
    """The names an author gave that cannot be names.

    Sought here because the validator copies a whole group into the error about each of its names.
    """
    part, rule = _resolved(whole, part), whole["$defs"].get("id")
    for name, child in (node.fields or {}).items():
        if "propertyNames" in part and not re.fullmatch(rule["pattern"], name):
            better = "-".join(re.findall("[a-z0-9]+", name.lower())) or rule["examples"][0]
            message = f"'{short(name)}' cannot be a name: a name is {rule['x-say']}"
            yield _finding(message, child.key_span or child.span, f"write for example `{short(better)}`")
        inner = part.get("properties", {}).get(name) or part.get("additionalProperties")
        if inner:
            yield from _bad_names(whole, inner, child)
    for child in node.items or ():
        if "items" in part:
            yield from _bad_names(whole, part["items"], child)


def _shielded(value: Any) -> Any:
    """A plain value with `=` before keys such as 08, which the validator would take for a place in a list."""
    if isinstance(value, dict):
        return {f"={key}" if key[:1] in DIGIT_LIKE else key: _shielded(inner) for key, inner in value.items()}
    return [_shielded(inner) for inner in value] if isinstance(value, list) else value


def _bare(key: str) -> str:
    return key.removeprefix("=")


def _schemas_on_the_way(whole: Schema, steps: Sequence[str | int]) -> tuple[Schema, ...]:
    """The schemas that speak of the value of an error, from the outermost to the one that holds the failed keyword."""
    here: Any = whole
    frames: list[Schema] = [whole]
    position = 0
    while position < len(steps) - 1:
        keyword = str(steps[position])
        here = _resolved(whole, here) if keyword == "$ref" else here[keyword]
        if keyword in TWO_STEPS:
            position += 1
            here = here[steps[position]]
        frames = [*frames, here] if keyword in SAME_VALUE else [here]
        position += 1
    return tuple(frames)


def _resolved(whole: Schema, part: Schema) -> Schema:
    target: Schema = whole["$defs"][part["$ref"].removeprefix("#/$defs/")] if "$ref" in part else part
    return target


@dataclass(frozen=True)
class _Mistake:
    """An error of the validator with the schemas that speak of its value."""

    error: ValidationError
    frames: tuple[Schema, ...]

    @property
    def path(self) -> Path:
        return tuple(_bare(step) if isinstance(step, str) else step for step in self.error.instance_path)

    @property
    def keyword(self) -> str:
        return self.error.kind.name

    @property
    def holder(self) -> Schema:
        return self.frames[-1]

    def annotation(self, name: str) -> Any:
        """The outermost annotation of that name, which is the most particular one."""
        return next((frame[name] for frame in self.frames if name in frame), None)

    @property
    def unknown(self) -> list[str]:
        """The fields that are not known here, no more than `MOST` and one."""
        return [_bare(name) for name in self.error.kind.as_dict()["unexpected"][: MOST + 1]]


class _Shape:
    """Turns the errors about one file into findings."""

    def __init__(self, root: Node, whole: Schema, mistakes: Sequence[_Mistake]) -> None:
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
                case _:
                    yield self.wrong_value(mistake, node)

    def is_in_unwanted(self, mistake: _Mistake) -> bool:
        """Whether the mistake is in a field that should not be there at all."""
        path = mistake.path
        own = 1 if mistake.keyword == "not" else 0
        return any(path[:length] in self.unwanted for length in range(1, len(path) + 1 - own))

    def missing(self, mistake: _Mistake, node: Node) -> Iterator[Finding]:
        name = str(mistake.error.kind.as_dict()["property"])
        if name in self.meant.get(mistake.path, ()):
            return
        field = next(frame["properties"][name] for frame in mistake.frames if name in frame.get("properties", {}))
        where = f" in {subject(mistake.path)}" if mistake.path else ""
        shown = example(field, _resolved(self.whole, field))
        if "enum" in field:
            advice = f"write `{name}:` with {one_of(field['enum'])}"
        else:
            advice = f"write for example `{name}: {shown}`"
        yield _finding(f"`{name}` is missing{where}", place_of_group(mistake.path, node), advice)

    def none_of(self, mistake: _Mistake, node: Node) -> Iterator[Finding]:
        wanted = {name for branch in mistake.holder["anyOf"] for name in branch["required"]}
        if not wanted & self.meant.get(mistake.path, set()):
            place = place_of_group(mistake.path, node)
            yield _finding(mistake.holder["x-message"], place, mistake.holder["x-help"])

    def unknown(self, mistake: _Mistake, node: Node) -> Iterator[Finding]:
        known, group = mistake.holder["properties"], mistake.holder["x-name"]
        for name in mistake.unknown:
            child = (node.fields or {})[name]
            if homes := self.homes(name):
                advice = f"`{name}` is a field of {' or of '.join(homes)}: check where it stands and its indentation"
            else:
                advice = did_you_mean(name, known) or f"the fields of {group} are {', '.join(known)}"
            yield _finding(f"'{short(name)}' is not a field of {group}", child.key_span or child.span, advice)

    def homes(self, name: str) -> list[str]:
        """What the groups are called that have such a field, if there are one or two."""
        parts = (self.whole, *self.whole["$defs"].values())
        found = {part["x-name"] for part in parts if "x-name" in part and name in part.get("properties", {})}
        return sorted(found) if len(found) <= 2 else []

    def out_of_place(self, mistake: _Mistake, node: Node) -> Iterator[Finding]:
        """A field that must not stand where another one stands; the later of the two is marked."""
        message, advice, place = mistake.holder["x-message"], mistake.holder["x-help"], node.key_span or node.span
        if (mistake.path[:-1], message) in self.told:
            return
        self.told.add((mistake.path[:-1], message))
        labels: tuple[Label, ...] = ()
        if "x-with" in mistake.holder:
            other = self.root.at([*mistake.path[:-1], mistake.holder["x-with"]])
            first, place = sorted((other.key_span or other.span, place))
            labels = (Label(first, "the other one"),)
        yield _finding(message, place, advice, related=labels)

    def wrong_value(self, mistake: _Mistake, node: Node) -> Finding:
        options = mistake.holder.get("enum", ())
        say = mistake.annotation("x-say") or one_of(options)
        advice = [mistake.annotation("x-help") or ""]
        shown = example(*mistake.frames)
        if shown is not None and "`" not in say:
            if len(shown) <= EXAMPLE_IN_LINE:
                say = f"{say}, such as `{shown}`"
            else:
                advice.append(f"write for example `{shown}`")
        if options and node.text is not None:
            advice.insert(0, did_you_mean(node.text, options))
        called = subject(mistake.path) if mistake.path else self.whole["x-name"]
        message = f"{called} must be {say}, not {what_it_is(node, mistake.keyword)}"
        return _finding(message, place_of_value(node), *advice)


def _finding(message: str, place: Span, *advice: str, related: tuple[Label, ...] = ()) -> Finding:
    lines = tuple(one_line(line) for line in advice if line)
    return worded("schema", one_line(message), place, related=related, help=lines)
