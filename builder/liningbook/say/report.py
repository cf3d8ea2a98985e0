"""The words around findings: severities and counts, and what could not be looked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from liningbook.finding import Severity
from liningbook.say.cases import count_words
from liningbook.say.catalogue import gettext, ngettext

ACCEPTED = "accepted"
NONE_FOUND = "none found"


def severity_words(severity: Severity) -> str:
    """`Error`."""
    words = {
        Severity.ERROR: gettext("Error"),
        Severity.WARNING: gettext("Warning"),
        Severity.NOTE: gettext("Note"),
    }
    return words[severity]


def counts_words(counts: Mapping[Severity, int], accepted: int) -> str:
    """`1 error, 2 warnings (4 accepted by the practice)`."""
    errors, warnings, notes = (counts[severity] for severity in Severity)
    counted = [
        ngettext("{count} error", "{count} errors", errors).format(count=errors) if errors else "",
        ngettext("{count} warning", "{count} warnings", warnings).format(count=warnings) if warnings else "",
        ngettext("{count} note", "{count} notes", notes).format(count=notes) if notes else "",
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


def not_looked_for() -> str:
    """What the page says where the sources cannot be read."""
    return gettext("These sources cannot be read, so overlaps, conflicts and gaps were not looked for.")


def nothing_to_read() -> str:
    """What is counted where there is no protocol."""
    return gettext("nothing to read")


# --- the report on a terminal, in English alone -----------------------------------------------------------------------


def summary(title: str, edition: str, counts: str, is_protocol: bool) -> str:
    """The line of counts."""
    name = (f"{title}, edition {edition}" if edition else title) if title else "this protocol"
    if is_protocol:
        return f"{name}: {counts}"
    rest = "The sources must be put right first; overlaps, conflicts and gaps were not looked for."
    return f"{name}: {counts}\n{rest}"


def with_it(others: int) -> str:
    """What stands before the further findings of a group."""
    return f"with it, most likely from the same cause: {count_words(others, 'finding')}"


def note(text: str) -> str:
    """A fact."""
    return f"note: {text}"


def advice(text: str) -> str:
    """What to do."""
    return f"help: {text}"


def mend(text: str) -> str:
    """What would mend it."""
    return f"mend: {text}"
