"""The words of the questions of the look-up: how they are put, how far they are answered, how a reading is taken."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages, gettext, ngettext

QUESTIONS: Messages = {
    "choose-yes": N_("Yes"),
    "choose-no": N_("No"),
    "choose": N_("Choose …"),
    "how-measured": N_("{factor}: judged or read"),
    "say-how": N_("Say how it was found: judged or read."),
    "write-in-unit": N_("Write {unit}, for example {number}."),
    "not-set": N_("not set"),
    "take-back": N_("Take back"),
    "take-back-of": N_("Take back the answer: {question}"),
    "group-given": N_("Your answers"),
    "group-next": N_("Asked next"),
    "group-rest": N_("May be asked next: {questions}"),
    "group-always": N_("Asked in every case"),
    "group-idle": N_("Can change nothing now: {factors}"),
    "group-idle-borderline": N_("Cannot change the advice; what else it could be may hang on it: {factors}"),
    "unfinished": N_("Not finished: {what}"),
    "all-answered": N_("Finished: all {total} answered"),
    "finished": N_("Finished: {done} answered, {left} can change nothing"),
    "finished-borderline": N_("Finished: {done} answered, {left} cannot change the advice"),
    "nothing-asked": N_("Nothing is asked"),
    "next": N_("Next: {question}"),
    "not-to-be-used": N_("Not to be used"),
    "to-the-advice": N_("To the advice"),
    "next-bold": N_("<b>Next: {question}</b>"),
    "nothing-settled": N_("<b>No advice yet:</b> {what}."),
    "part-settled": N_("<b>Not finished:</b> {what}."),
    "may-matter": lambda count: ngettext("at most {count} more question", "at most {count} more questions", count),
    "always-asked": lambda count: ngettext(
        "{count} question is asked in every case", "{count} questions are asked in every case", count
    ),
    "settled": N_("Settled already"),
    "settled-if-covered": N_("Settled already, if this protocol covers the case"),
    "no-longer": N_("This no longer depends on: {factors}."),
    "no-longer-borderline": N_("This no longer depends on: {factors}. What else it could be may still hang on it."),
    "still-open": N_("Still open, with what is still possible"),
    "scope-open": N_("Whether this protocol covers the case is still open."),
    "number-not-taken": N_("{question} The number cannot be taken."),
    "told-advice": N_("Finished. {advice}."),
    "told-settled": N_("Settled: {settled}."),
    "told-next": N_("Not finished. Next: {question}"),
    "told-unfinished": N_("Not finished."),
}


def way_words(method: str, is_length: bool) -> dict[str, str]:
    """The two ways to say a quantity that may be read off: judged by eye, or read by the protocol's method."""
    if is_length:
        read = gettext("Read on a film ({method})") if method else gettext("Read on a film")
        return {"value": gettext("Judged in the cavity"), "reading": read.format(method=method)}
    read = gettext("Read off ({method})") if method else gettext("Read off")
    return {"value": gettext("Judged otherwise"), "reading": read.format(method=method)}


def asked_words(label: str) -> str:
    """A factor as a question; a label that is one already stays."""
    return label if label.rstrip().endswith("?") else gettext("{label}?").format(label=label)


def screen_note(ask: str, values: str) -> str:
    """A stop question beside the factor on whose values a yes takes the case off the chart."""
    return gettext("{question} Yes, or not known: {values}.").format(question=ask, values=values)


def reading_words(unit: str) -> dict[str, str]:
    """How a quantity is called that is read off, and what is said of what was read.

    `number` names the field for it, in a unit where it has one. The rest are messages to be filled in.
    """
    return {
        "number": gettext("Reading in {unit}").format(unit=unit) if unit else gettext("Reading"),
        "slider": gettext("reading, slider"),
        "how": gettext("How a reading is taken"),
        "entered": gettext("You entered a reading of {reading}."),
        "entered_corrected": gettext(
            "You entered a reading of {reading}, corrected to {corrected} and treated as {value}."
        ),
        "noted": gettext("{value}, by a reading of {reading}"),
        "noted_corrected": gettext("by a reading of {reading}, corrected to {corrected} and treated as {value}"),
    }


def value_words(is_read: bool, unit: str) -> dict[str, str]:
    """How the field and the slider are called for the value itself; `is_read` where a reading may be given instead."""
    if is_read:
        number = gettext("Value in {unit}").format(unit=unit) if unit else gettext("Value")
        return {"number": number, "slider": gettext("value, slider")}
    number = gettext("Number in {unit}").format(unit=unit) if unit else gettext("Number")
    return {"number": number, "slider": gettext("number, slider")}
