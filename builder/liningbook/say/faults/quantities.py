"""The words for numbers, units, ranges and values that are not as they must be."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import RANGE_OTHERWISE, Say

_DECIMAL = "'{written:short}' is not a decimal number"
_UNIT = "'{code:short}' is not a unit that Liningbook knows"
_RANGE = "{label} is a quantity, so it needs a range here"
_SIGN = "write a range, such as `{{{bound}: {number:short}}}`"
_UNITS = "write the unit as {units:one of}"
_OTHER_BOUND = "check which bound is the smaller, and which of them are to be included"
_MEASURED = "write a number that can be measured"

QUANTITIES: Mapping[str, Say] = {
    # --- numbers and units
    "not-decimal": Say(_DECIMAL, "write a number such as `0.7`"),
    "not-decimal-quantity": Say(_DECIMAL, "write for example `0.5 {example}`"),
    "decimal-comma": Say("the number has a decimal comma", "write `{point}`"),
    "commas": Say("the number has commas", "write `{plain}`"),
    "comma": Say("the number has a comma", "write `{plain}` or `{point}`, whichever is meant"),
    "too-long": Say("the number has more than {most} digits", _MEASURED),
    "too-long-in-unit": Say("in {unit} the number has more than {most} digits", _MEASURED),
    "too-large": Say("the number is too large", _MEASURED),
    "too-small": Say("'{written:short}' is too small", "write {least} or more"),
    "no-unit": Say("the number has no unit", "write `{number} {example}`, if {example} is meant"),
    "unknown-unit": Say(_UNIT, "write `{instead}`", _UNITS),
    "unknown-unit-meant": Say(_UNIT, "write `{meant}`"),
    "unknown-unit-code": Say(_UNIT, "write a UCUM code, for example mm, um, a (years), d (days), N, Cel"),
    "other-dimension": Say("'{unit}' measures another kind of thing than '{like}'", _UNITS),
    "sign": Say("the sign {sign} is not used in numbers here", _SIGN),
    "minus": Say("the minus before the number is not the hyphen of the keyboard", "write `-{number:short}`"),
    "exponent": Say("the number is written with an exponent", "write it in full, as a decimal number"),
    "not-one-number": Say(
        "'{written:short}' is not one number with its unit",
        "write a decimal number and a unit, for example `0.5 {example}`",
    ),
    "inexact-in-unit": Say("{quantity} is no exact decimal number of {unit}", "write it in {unit}"),
    "inexact-value": Say("'{written:short}' is no exact decimal number of {unit}", "give it in {unit}"),
    # --- ranges
    "no-bound": Say("this range has no bound", "write for example `{{at_most: 0.5 mm}}`"),
    "nothing-between": Say("nothing lies between these bounds", "check which is the smaller"),
    "no-thickness": Say("a layer of no thickness is none", "write `none` as the answer, or a thickness above 0"),
    "negative-thickness": Say("a thickness cannot be less than nothing", "write numbers from 0 on"),
    "range-needed": Say(_RANGE, "write for example `{{at_most: {example:short}}}` or `{{exactly: {example:short}}}`"),
    "range-for-bound": Say("`{key}` is one end of a range, so it needs one number with its unit", *RANGE_OTHERWISE),
    "range-in-words": Say(_RANGE, *RANGE_OTHERWISE),
    "not-of-quantity": Say("`not` does not go with {label}, a quantity", "write the ranges that are meant"),
    "no-value-in-range": Say("no value of {label} lies in this range", _OTHER_BOUND),
    "too-many-ranges": Say(
        "{count} ranges stand here, and one list may hold {most}", "say the same in fewer, larger ones"
    ),
    "too-many-conditions": Say(
        "{count} sets of conditions stand here, and one list may hold {most}", "say the same in fewer, larger ones"
    ),
    # --- values of a factor
    "no-such-value": Say("'{written:short}' is not a value of {label}", "did you mean `{near}`?", "one of {values}"),
    "outside-limits": Say(
        "{value} is outside the limits of {label} ({low} to {high})",
        "write a value within them, or change them (factor {factor} in protocol.yaml)",
    ),
    "off-step": Say(
        "{value} is not a whole multiple of the step of {label} ({step})",
        "write a multiple of it, or change the step (factor {factor} in protocol.yaml)",
    ),
    "range-of-choice": Say(
        "{label} is not a quantity, so a range does not fit here",
        "write a value, a list of values, or `{{not: value}}`",
    ),
    "range-of-yes-no": Say("{label} is not a quantity, so a range does not fit here", "write `yes` or `no`"),
    "yes-no-list": Say("{label} is answered by yes or no", "write `yes` or `no`, or leave it out"),
    "values-are-words": Say("the values of {label} are single words", "write for example `{example}`"),
    "no-value-left": Say("no value of {label} is left here", "leave at least one value"),
    "case-incomplete": Say("the case does not say: {missing}", "give a value for every factor"),
    "not-a-count": Say("'{written:short}' is not a whole number of cases", "write for example `12`"),
    "too-large-a-count": Say("'{written:short}' is too large a number of cases"),
    "no-such-day": Say(
        "'{written:short}' is not a day of the calendar", "write year, month and day, for example `2027-09-01`"
    ),
}
