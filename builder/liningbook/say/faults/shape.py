"""The words for fields that are not as their schema says; the schemas bring some of them along."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Say

_FIELD = ("write `{field}:` with {options:one of}", "write for example `{field}: {example}`")
_NEAR = "did you mean `{near}`?"

SHAPE: Mapping[str, Say] = {
    "too-many-faults": Say("this file has more mistakes in its fields than are listed"),
    "as-the-schema-says": Say("{message}", ("{advice}",)),
    "field-missing": Say("`{field}` is missing", _FIELD),
    "field-missing-in": Say("`{field}` is missing in {path:subject}", _FIELD),
    "unknown-field": Say(
        "'{name:short}' is not a field of {group}",
        (
            "`{name}` is a field of {homes:or of}: check where it stands and its indentation",
            _NEAR,
            "the fields of {group} are {known}",
        ),
    ),
    "not-a-name": Say("'{name:short}' cannot be a name: a name is {rule}", ("write for example `{better:short}`",)),
    "wrong-value": Say(
        "{called:subject} must be {wanted:wanted}, not {found:found}",
        (_NEAR, "{advice}", "write for example `{example}`"),
    ),
    "wrong-value-such-as": Say(
        "{called:subject} must be {wanted:wanted}, such as `{shown}`, not {found:found}", (_NEAR, "{advice}")
    ),
}
