"""The words for fields that are not as their schema says; the schemas bring some of them along."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Words

_FIELD = ("write `{field}:` with {options:one of}", "write for example `{field}: {example}`")
_NEAR = "did you mean `{near}`?"

SHAPE: Mapping[str, Words] = {
    "too-many-faults": Words("this file has more mistakes in its fields than are listed"),
    "as-the-schema-says": Words("{message}", ("{advice}",)),
    "field-missing": Words("`{field}` is missing", _FIELD),
    "field-missing-in": Words("`{field}` is missing in {path:subject}", _FIELD),
    "unknown-field": Words(
        "'{name:short}' is not a field of {group}",
        (
            "`{name}` is a field of {homes:or of}: check where it stands and its indentation",
            _NEAR,
            "the fields of {group} are {known}",
        ),
    ),
    "not-a-name": Words("'{name:short}' cannot be a name: a name is {rule}", ("write for example `{better:short}`",)),
    "wrong-value": Words(
        "{called:subject} must be {wanted:wanted}, not {found:found}",
        (_NEAR, "{advice}", "write for example `{example}`"),
    ),
    "wrong-value-such-as": Words(
        "{called:subject} must be {wanted:wanted}, such as `{shown}`, not {found:found}", (_NEAR, "{advice}")
    ),
}
