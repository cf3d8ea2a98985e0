"""The words for fields that are not as their schema says; the schemas bring some of them along."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import FaultWords

_FIELD = ("write `{field}:` with {options:one of}", "write for example `{field}: {example}`")
_NEAR = "did you mean `{near}`?"

SHAPE: Mapping[str, FaultWords] = {
    "too-many-faults": FaultWords("this file has more mistakes in its fields than are listed"),
    "as-the-schema-says": FaultWords("{message}", ("{advice}",)),
    "field-missing": FaultWords("`{field}` is missing", _FIELD),
    "field-missing-in": FaultWords("`{field}` is missing in {path:subject}", _FIELD),
    "unknown-field": FaultWords(
        "'{name:short}' is not a field of {group}",
        (
            "`{name}` is a field of {homes:or of}: check where it stands and its indentation",
            _NEAR,
            "the fields of {group} are {known}",
        ),
    ),
    "not-a-name": FaultWords(
        "'{name:short}' cannot be a name: a name is {rule}", ("write for example `{better:short}`",)
    ),
    "wrong-value": FaultWords(
        "{called:subject} must be {wanted:wanted}, not {found:found}",
        (_NEAR, "{advice}", "write for example `{example}`"),
    ),
    "wrong-value-such-as": FaultWords(
        "{called:subject} must be {wanted:wanted}, such as `{shown}`, not {found:found}", (_NEAR, "{advice}")
    ),
}
