"""Study tables in protocol and page, and on their own."""

from __future__ import annotations

from typing import Any

from liningbook.say.catalogue import N_, Messages, filled, ngettext


def resting_words(count: int, numbers: Any) -> Any:
    """The rules that rest on a study table, by their numbers, which may be links."""
    return filled(ngettext("Rule {numbers} rests on it.", "Rules {numbers} rest on it.", count), numbers=numbers)


def tables_named(count: int, numbers: Any) -> Any:
    """The study tables of a rule by their numbers, which may be links: `study table 2`."""
    return filled(ngettext("study table {numbers}", "study tables {numbers}", count), numbers=numbers)


TEXTS: Messages = {
    "evidence_title": N_("{title}: what the studies show, edition {edition}"),
    "evidence": N_("What the studies show"),
    "evidence_lead": N_(
        "The figures are those of the studies; what is computed from them follows the method named beneath each plot. "
        "How sure one may be is judged by those who wrote this protocol, with their reasons."
    ),
    "table_titled": N_("Table {number}. {title}"),
    "resting": resting_words,
    "tables_named": tables_named,
    "effects_caption": N_("{title}: the effect on each outcome"),
    "outcome": N_("Outcome"),
    "what_happens": N_("What happens"),
    "of_1000": N_("Of 1000 people"),
    "effect_measured": N_("Effect (95% interval)"),
    "how_sure": N_("How sure"),
    "grades_caption": N_("{title}: what lowered or raised the certainty"),
    "judged_domain": N_("Judged"),
    "author_says": N_("Why, in the author's words"),
    "figures_say": N_("What the figures say"),
    "figures_said": N_("The figures: {figures}."),
    "plot_and_grade": N_("Plot of the studies, and how sure: {outcome}"),
    "plot_caption": N_("{title}, as a table"),
}
