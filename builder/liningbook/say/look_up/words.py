"""The words of the page's scripts: every message that they say, by its key, and how the language writes numbers.

The scripts fill in the `{names}` and choose the plural form; what stands between `<b>` and `</b>` becomes bold.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from liningbook.notation.quantity import UNITS
from liningbook.say.amounts import unit_words
from liningbook.say.catalogue import N_, Messages, gettext, language, ngettext, pgettext
from liningbook.say.locale import decimal_words, plural_forms
from liningbook.say.look_up.asked import QUESTIONS
from liningbook.say.look_up.drawn import FIGURES

SAYINGS: Messages = {
    # --- numbers, ranges and values ---
    "exactly": N_("exactly {value}"),
    "any": N_("any value"),
    "at-most": N_("{value} or less"),
    "below": N_("less than {value}"),
    "at-least": N_("{value} or more"),
    "above": N_("more than {value}"),
    "from-to": N_("{low} to {high}"),
    "from-before": N_("at least {low}, less than {high}"),
    "after-to": N_("more than {low}, at most {high}"),
    "after-before": N_("more than {low}, less than {high}"),
    "per-cent": N_("{number}%"),
    "yes": N_("yes"),
    "no": N_("no"),
    "just-above": N_("just above {value}"),
    "just-below": N_("just below {value}"),
    "with-note": N_("{text} ({note})"),
    "label": N_("{label}:"),
    "labelled": N_("{label}: {text}"),
    "labelled-bold": N_("<b>{label}:</b> {text}"),
    "check-number": N_("Check the number and the unit: it does not go so far in this protocol."),
    "check-number-of": N_("Check the number and the unit: {factor} does not go so far in this protocol."),
    "never-a-limit": N_("A reading never stands for a limit of {factor} itself; look for that in another way."),
    # --- why a number cannot be taken ---
    "too-long": N_("The number has more than {digits} digits."),
    "measurable": N_("Write a number that can be measured."),
    "no-exact-decimal": N_("'{text}' is no exact decimal number of {unit}."),
    "give-in": N_("Give it in {unit}."),
    "not-decimal": N_("'{text}' is not a decimal number."),
    "write-example": N_("Write for example “{quantity}”."),
    "no-unit": N_("The number has no unit."),
    "write-if-meant": N_("Write “{quantity}”, if {unit} is meant."),
    "unknown-unit": N_("'{unit}' is not one of the units that will do here."),
    "write": N_("Write “{quantity}”."),
    "write-unit": N_("Write the unit as {units}."),
    "other-kind": N_("'{unit}' measures another kind of thing than '{wanted}'."),
    "decimal-comma": N_("The number has a decimal comma."),
    "decimal-point": N_("The number has a decimal point."),
    "several-comma": N_("The number has commas."),
    "several-point": N_("The number has points between its digits."),
    "one-comma": N_("The number has a comma."),
    "one-point": N_("The number has a point between its digits."),
    "write-either": N_("Write “{quantity}” or “{other}”, whichever is meant."),
    "sign": N_("The sign {sign} is not used in numbers here."),
    "write-range": N_("Write a range, such as “{range}”."),
    "minus": N_("The minus before the number is not the hyphen of the keyboard."),
    "exponent": N_("The number is written with an exponent."),
    "write-in-full": N_("Write it in full, as a decimal number."),
    "not-one-number": N_("'{text}' is not one number with its unit."),
    "write-quantity": N_("Write a decimal number and a unit, for example “{quantity}”."),
    "beyond-limits": N_("{number} is outside the limits of {factor} ({low} to {high})."),
    "not-on-step": N_("{number} is not a whole multiple of the step of {factor} ({step})."),
    "no-such-value": N_("'{value}' is not a value of {factor}. One of {values}."),
    "never-read": N_("{factor} is not a quantity, so it is not read off."),
    "not-read": N_("The protocol does not say how {factor} is read off. Give the value itself."),
    "no-cautious-side": N_("The protocol does not say on which side a doubtful reading of {factor} is taken."),
    # --- the advice ---
    "not-covered": N_("Not covered here"),
    "no-single-answer": N_("No single answer: {decisions}"),
    "stop": N_("Stop: {answers}"),
    "dentist-decides": N_("Dentist decides: {text}"),
    "place": lambda count: ngettext("Place {count} layer", "Place {count} layers, in this order", count),
    "place-nothing": N_("Place nothing"),
    "nothing-asked-for": N_("Nothing is asked for here"),
    "treated-as": N_("treated as {value}"),
    "instead": N_("<b>Instead:</b> {text}"),
    "not-asked": N_("Not asked, since it can change nothing: {factors}"),
    "not-asked-borderline": N_("Not asked (cannot change the advice; what else it could be may hang on it): {factors}"),
    "where-to-turn": N_("Where to turn: <b>{contact}</b>."),
    "authors": N_("the authors of the protocol"),
    "not-needed": N_("Not needed in this case: {decisions}"),
    "place-nothing-until": N_("<b>Place nothing until this is done:</b> {what}"),
    "place-nothing-until-decided": N_("<b>Place nothing until this is decided:</b> {what}"),
    "answer-by": N_("{answer}: by {rules}"),
    "avoided-by": N_("avoid {name}: by {rule}"),
    "forbidden-by": N_("NEVER {name}: by {rule}"),
    "near-below": N_(
        "Look again: {factor}, judged by eye as {value}, is within {within} of a threshold. "
        "If in doubt, take the smaller value."
    ),
    "near-above": N_(
        "Look again: {factor}, judged by eye as {value}, is within {within} of a threshold. "
        "If in doubt, take the larger value."
    ),
    "near-otherwise": N_("Within that it could also be:"),
    "too-close": N_("Too close to call: {what}. Look again."),
    "covered-or-not": N_("whether this protocol covers the case"),
    "too-close-lead": N_("{bands}, within the uncertainty of the reading."),
    "or-ask": N_("In doubt ask <b>{contact}</b>."),
    "could-be": N_("{factor} could be {range}"),
    "either-as": N_("as {values}"),
    "either-or": N_("or else"),
    "counted-as": N_("Counted as {values}: <b>{head}</b>"),
    "case-not-covered": N_("<b>A case that is not covered:</b> {text}"),
    "threats-open": N_("<b>What reaches the pulp, by this protocol's table</b>: not stopped: {irritants}"),
    "threats-stopped": lambda count: ngettext(
        "<b>What reaches the pulp, by this protocol's table</b>: the one present is stopped",
        "<b>What reaches the pulp, by this protocol's table</b>: all {count} stopped",
        count,
    ),
    "threats-unknown": N_("<b>What reaches the pulp</b> depends on what was not asked, and is not told here."),
    "stopped-by-dentine": N_("stopped by the dentine, by this protocol's table"),
    "stopped-by": N_("stopped by {layers}"),
    "not-stopped": N_("stopped by nothing placed here"),
    "given-off-stopped-by": N_("what {layer} gives off is stopped by {layers}"),
    "given-off-not-stopped": N_("what {layer} gives off is stopped by nothing placed before it"),
    "by-the-table": N_("{text}, by this protocol's table"),
    "readings-drawn": lambda count: ngettext(
        "<b>The reading against the thresholds</b>, drawn", "<b>The readings against the thresholds</b>, drawn", count
    ),
    "why": N_("<b>Why, and how sure are we</b>"),
    "why-rule": N_("<b>Why? Rule {numbers}</b>: {grade}"),
    "why-rules": N_("<b>Why? Rules {numbers}</b>"),
    "rule-titled": N_("Rule {number}: {title}"),
    "the-rule": N_("rule {number}, {title}"),
    "how-sure": N_("How sure: {grade}."),
    "rests-on": N_("Rests on: {grade}."),
    "references": N_("References: {sources}"),
    "barred": N_("Not to be used in this case"),
    "barred-more": N_("More may be barred, by what was not asked."),
    "never": N_("<b>Never:</b> {names}"),
    "avoid": N_("<b>Avoid:</b> {names}"),
    "barred-in": N_("{name} ({decisions})"),
    "barred-by": N_("{name} ({decisions}): {rule}"),
    "drawn": N_("<b>The layers</b>, drawn in section"),
    # --- the line for the notes, and the link ---
    "how-judged": N_("How was this judged: {factor}?"),
    "noted-edition": N_("{title}, {practice}, edition {edition} (digest {digest}), looked up on {day}"),
    "noted-case": N_("Case: {facts}"),
    "noted-advice": N_("Advice: {advice}"),
    "noted-departure": N_("Departed from because: {reason}"),
    "noted-check-number": N_("{reading}, CHECK THE NUMBER AND THE UNIT"),
    "noted-not-covered": N_("not covered"),
    "noted-stop": N_("stop: {answer}"),
    "noted-dentist": N_("the dentist decides"),
    "noted-near": N_("near a threshold, judged by eye"),
    "noted-borderline": N_("borderline within the uncertainty of the reading"),
    "noted-nothing": N_("nothing is asked for"),
    "line-copied": N_("The line was copied."),
    "link-copied": N_("The link was copied."),
    "line-selected": N_("The line is selected: copy it with Ctrl and C, or with Copy on a phone."),
    "link-selected": N_("The link is selected: copy it with Ctrl and C, or with Copy on a phone."),
    "link-not-taken": N_("{question}: what the link says cannot be taken. {reason}"),
    "link-not-asked": N_("The link gives a value for “{name}”, which this protocol does not ask. It was left out."),
    "link-twice": N_("The link answers {factor} more than once. It was left open: answer it here."),
    "link-other-edition": N_(
        "This link was made for edition {other} (digest {other_digest}). This page is edition {edition} (digest "
        "{digest}): its advice may differ. In doubt ask {contact}."
    ),
    "link-no-edition": N_(
        "This link was made without saying for which edition. This page is edition {edition} (digest {digest}): its "
        "advice may differ. In doubt ask {contact}."
    ),
    "not-given": N_("not given"),
    # --- the search ---
    "section": N_("Section"),
    "nothing-found": N_("Nothing found. Try fewer or other words."),
    "found": lambda count: ngettext("{count} place found.", "{count} places found.", count),
    "many-found": N_("{count} places found, the first {most} shown."),
}


MESSAGES: Messages = {**SAYINGS, **QUESTIONS, **FIGURES}
"""Every message of the scripts by its key."""


def script_words() -> dict[str, Any]:
    """What the scripts need of the language: its tag, its decimal sign, the words of units, and all messages."""
    return {
        "lang": language(),
        "decimal": decimal_words("."),
        "units": {
            code: [unit_words(UNITS[code], Fraction(1)), unit_words(UNITS[code], Fraction(2))]
            for code in ("d", "wk", "mo", "a")
        },
        "say": {
            "to": between_numbers(),
            **{
                key: gettext(message) if isinstance(message, str) else plural_forms(message)
                for key, message in MESSAGES.items()
            },
        },
    }


def between_numbers() -> str:
    """The word between two numbers, with which they stay on one line: `0.75 to 1 mm`."""
    return pgettext("between two numbers", "to")


def authors_words(first: str, second: str) -> str:
    """The two authors of a reference, or the first of several where there is no second."""
    if second:
        return gettext("{first} and {second}").format(first=first, second=second)
    return gettext("{first} et al.").format(first=first)
