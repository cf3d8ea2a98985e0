"""The words around findings: what must be done about them, how many there are, what could not be looked for."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from liningbook.finding import Severity
from liningbook.say.cases import capital, full_stop, sentences
from liningbook.say.catalogue import gettext, ngettext

ACCEPTED = "accepted"
NONE_FOUND = "none found"


def severity_words(severity: Severity) -> str:
    """What must be done about a finding: `Must be settled`."""
    words = {
        Severity.ERROR: gettext("Must be settled"),
        Severity.WARNING: gettext("Look at"),
        Severity.NOTE: gettext("To know"),
    }
    return words[severity]


def counts_words(counts: Mapping[Severity, int], accepted: int) -> str:
    """`1 must be settled, 2 to look at (4 accepted by the practice)`."""
    errors, warnings, notes = (counts[severity] for severity in Severity)
    counted = [
        ngettext("{count} must be settled", "{count} must be settled", errors).format(count=errors) if errors else "",
        ngettext("{count} to look at", "{count} to look at", warnings).format(count=warnings) if warnings else "",
        ngettext("{count} to know", "{count} to know", notes).format(count=notes) if notes else "",
    ]
    text = ", ".join(words for words in counted if words) or gettext("nothing found")
    if not accepted:
        return text
    return gettext("{counts} ({accepted} accepted by the practice)").format(counts=text, accepted=accepted)


def placing_words(layers: Sequence[str], moved: Sequence[str]) -> str:
    """`Placing order: 1 Liner, 2 Base, 3 Cavity sealer.`; `moved` are rules that ask for another one.

    Nothing where there are not two layers to put in order.
    """
    if len(layers) < 2:
        return ""
    numbered = ", ".join(f"{number} {label}" for number, label in enumerate(layers, 1))
    if not moved:
        return gettext("Placing order: {layers}").format(layers=numbered)
    said = ngettext(
        "Placing order: {layers}; another where `before` or `after` in this rule says so: {rules}",
        "Placing order: {layers}; another where `before` or `after` in these rules says so: {rules}",
        len(moved),
    )
    return said.format(layers=numbered, rules=", ".join(moved))


def place_words(file: str, line: int) -> str:
    """`rules/thin-dentine.md, line 4`."""
    return gettext("{file}, line {line}").format(file=file, line=line)


def not_looked_for() -> str:
    """What the page says where the sources cannot be read."""
    return gettext("These sources cannot be read, so overlaps, conflicts and gaps were not looked for.")


def nothing_to_read() -> str:
    """What is counted where there is no protocol."""
    return gettext("nothing to read")


# --- the report on a terminal, in English alone -----------------------------------------------------------------------

HEADS: Mapping[Severity, str] = {
    Severity.ERROR: "MUST BE SETTLED",
    Severity.WARNING: "LOOK AT",
    Severity.NOTE: "TO KNOW",
}
"""What stands over the findings about which the same must be done."""

TRIED_OUT = "Tried out: {what}"
SAME_CAUSE = "Most likely from the same cause:"

_EITHER = "Either "
_PLAIN_WORD = re.compile(r"[a-z]+(?![\w.-])")

_UNTIL_SOUND = "Until then nothing is printed, nor are overlaps, conflicts and gaps looked for."
_UNTIL_SETTLED = "Until then nothing is printed but a draft (`build --draft`)."
_MAY_BE_PRINTED = "None of this keeps the protocol from being printed."


def at_place(place: str, label: str) -> str:
    """A place, and what is wrong with it."""
    return f"{place} – {label}" if label else place


def set_off(before: str, wrong: str, after: str) -> str:
    """A line with its wrong words in quotation marks, in more of them where the line has such marks itself."""
    row, left, right = f"{before}{wrong}{after}", "«", "»"
    while left in row or right in row:
        left, right = f"{left}«", f"{right}»"
    return f"{before}{left}{wrong}{right}{after}"


def ways_words(ways: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The ways out, each with what stands before it: `Either` and `take it out`, `or` and `write another day.`.

    One that is no choice is a sentence. Lines below the first of a way are to be typed as they are.
    """
    for number, (way, further) in enumerate(pairwise((*ways, ""))):
        has_other = _is_other(further)
        text = way if has_other or "\n" in way else full_stop(way)
        if _is_other(way):
            head, text = text.split(" ", 1)
            yield (f"{head} ".rjust(len(_EITHER)), text) if number else ("", as_sentence(text))
        else:
            yield (_EITHER, text) if has_other else ("", as_sentence(text))


def _is_other(way: str) -> bool:
    """Whether a way out is a choice beside the one before it."""
    return way.startswith(("or ", "or, "))


def as_sentence(text: str) -> str:
    """A text with a capital at its head, unless that is a name of a file or of the author's: `pH`, `protocol.yaml`."""
    return capital(text) if _PLAIN_WORD.match(text) else text


def kind_words(kind: str, is_accepted: bool) -> str:
    """The kind of a finding, which stands last in its sentence."""
    return f"{kind}, {ACCEPTED}" if is_accepted else kind


def protocol_name(title: str, edition: str) -> str:
    """What was looked at."""
    return (f"{title}, edition {edition}" if edition else title) if title else "This protocol"


def nothing_found(name: str, counts: str) -> str:
    """The whole report where there is nothing to tell."""
    return f"{name}: {counts}"


def sum_words(counts: str, *, must_be_settled: bool, is_protocol: bool) -> str:
    """How many findings there are, and what that means."""
    sound = _UNTIL_SETTLED if must_be_settled else _MAY_BE_PRINTED
    return sentences([counts, sound if is_protocol else _UNTIL_SOUND])


def example_words(case: str, as_usual: bool) -> str:
    """One case, by what is not as usual in it."""
    if not as_usual:
        return f"For example {case}"
    return f"For example {case}; all else as usual" if case else "For example the usual case"


def usual_words(case: str) -> str:
    """What examples leave out."""
    return f"As usual: {case}."


# --- within the report of a test runner -------------------------------------------------------------------------------


def note(text: str) -> str:
    """A fact."""
    return f"note: {text}"


def advice(text: str) -> str:
    """What to do."""
    return f"help: {text}"


def mend(text: str) -> str:
    """What would mend it."""
    return f"mend: {text}"
