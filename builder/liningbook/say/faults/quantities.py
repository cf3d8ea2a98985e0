"""The words for numbers, units, ranges and values that are not as they must be."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Words

_DECIMAL = "'{written:short}' is not a decimal number"
_UNIT = "'{code:short}' is not a unit that Liningbook knows"
_RANGE = "{label} is a quantity, so it needs a range here"
_SIGN = "write a range, such as `{{{bound}: {number:short}}}`"
_UNITS = "write the unit as {units:one of}"
_OTHER_BOUND = "check which bound is the smaller, and which of them are to be included"
_MEASURED = "write a number that can be measured"

QUANTITIES: Mapping[str, Words] = {
    # --- numbers and units
    "not-decimal": Words(_DECIMAL, ("write a number such as `0.7`",)),
    "not-decimal-quantity": Words(_DECIMAL, ("write for example `0.5 {example}`",)),
    "decimal-comma": Words("the number has a decimal comma", ("write `{point}`",)),
    "commas": Words("the number has commas", ("write `{plain}`",)),
    "comma": Words("the number has a comma", ("write `{plain}` or `{point}`, whichever is meant",)),
    "too-long": Words("the number has more than {most} digits", (_MEASURED,)),
    "too-long-in-unit": Words("in {unit} the number has more than {most} digits", (_MEASURED,)),
    "too-large": Words("the number is too large", (_MEASURED,)),
    "too-small": Words("'{written:short}' is too small", ("write {least} or more",)),
    "no-unit": Words("the number has no unit", ("write `{number} {example}`, if {example} is meant",)),
    "unknown-unit": Words(_UNIT, ("write `{instead}`", _UNITS)),
    "unknown-unit-meant": Words(_UNIT, ("write `{meant}`",)),
    "unknown-unit-code": Words(_UNIT, ("write a UCUM code, for example mm, um, a (years), d (days), N, Cel",)),
    "other-dimension": Words("'{unit}' measures another kind of thing than '{like}'", (_UNITS,)),
    "sign": Words("the sign {sign} is not used in numbers here", (_SIGN,)),
    "minus": Words("the minus before the number is not the hyphen of the keyboard", ("write `-{number:short}`",)),
    "exponent": Words("the number is written with an exponent", ("write it in full, as a decimal number",)),
    "not-one-number": Words(
        "'{written:short}' is not one number with its unit",
        ("write a decimal number and a unit, for example `0.5 {example}`",),
    ),
    "inexact-in-unit": Words("{quantity} is no exact decimal number of {unit}", ("write it in {unit}",)),
    "inexact-value": Words("'{written:short}' is no exact decimal number of {unit}", ("give it in {unit}",)),
    # --- ranges
    "no-bound": Words("this range has no bound", ("write for example `{{at_most: 0.5 mm}}`",)),
    "nothing-between": Words("nothing lies between these bounds", ("check which is the smaller",)),
    "negative-thickness": Words("a thickness cannot be less than nothing", ("write numbers from 0 on",)),
    "range-needed": Words(
        _RANGE, ("write for example `{{at_most: {example:short}}}` or `{{exactly: {example:short}}}`",)
    ),
    "range-needed-for-sign": Words(_RANGE, (_SIGN,)),
    "not-of-quantity": Words("`not` does not go with {label}, a quantity", ("write the ranges that are meant",)),
    "no-value-in-range": Words("no value of {label} lies in this range", (_OTHER_BOUND,)),
    "too-many-ranges": Words(
        "{count} ranges stand here, and one list may hold {most}", ("say the same in fewer, larger ones",)
    ),
    "too-many-conditions": Words(
        "{count} sets of conditions stand here, and one list may hold {most}", ("say the same in fewer, larger ones",)
    ),
    # --- values of a factor
    "no-such-value": Words(
        "'{written:short}' is not a value of {label}", ("did you mean `{near}`?", "one of {values}")
    ),
    "outside-limits": Words(
        "{value} is outside the limits of {label} ({low} to {high})",
        ("write a value within them, or change them (factor {factor} in protocol.yaml)",),
    ),
    "off-step": Words(
        "{value} is not a whole multiple of the step of {label} ({step})",
        ("write a multiple of it, or change the step (factor {factor} in protocol.yaml)",),
    ),
    "range-of-choice": Words(
        "{label} is not a quantity, so a range does not fit here",
        ("write a value, a list of values, or `{{not: value}}`",),
    ),
    "range-of-yes-no": Words("{label} is not a quantity, so a range does not fit here", ("write `yes` or `no`",)),
    "yes-no-list": Words("{label} is answered by yes or no", ("write `yes` or `no`, or leave it out",)),
    "values-are-words": Words("the values of {label} are single words", ("write for example `{example}`",)),
    "no-value-left": Words("no value of {label} is left here", ("leave at least one value",)),
    "case-incomplete": Words("the case does not say: {missing}", ("give a value for every factor",)),
    "not-a-count": Words("'{written:short}' is not a whole number of cases", ("write for example `12`",)),
    "too-large-a-count": Words("'{written:short}' is too large a number of cases"),
    "no-such-day": Words(
        "'{written:short}' is not a day of the calendar", ("write year, month and day, for example `2027-09-01`",)
    ),
}
