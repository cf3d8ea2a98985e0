"""Levels of evidence from question and design, by the OCEBM 2011 table.

OCEBM Levels of Evidence Working Group, The Oxford 2011 Levels of Evidence (version 2.1), Centre for Evidence-Based
Medicine, University of Oxford; CC BY 4.0. Of its questions two are used: does the intervention help (benefit), and
what are its common harms (harm). The table lets a level be moved for quality, precision, directness, consistency and
size of effect, but gives no number of steps: a moved level is one that the author states.
"""

from __future__ import annotations

from collections.abc import Mapping

QUESTIONS: tuple[str, ...] = ("benefit", "harm")

LEVELS: tuple[int, ...] = (1, 2, 3, 4, 5)
"""All levels, from the strongest to the weakest."""

TABLE: Mapping[str, Mapping[str, frozenset[int]]] = {
    "benefit": {
        "sr-rct": frozenset({1}),
        "sr-n-of-1": frozenset({1}),
        "rct": frozenset({2}),
        "observational-dramatic": frozenset({2}),
        "cohort-controlled": frozenset({3}),
        "case-series": frozenset({4}),
        "case-control": frozenset({4}),
        "historical-control": frozenset({4}),
        "mechanism": frozenset({5}),
    },
    "harm": {
        "sr-rct": frozenset({1}),
        "sr-nested-case-control": frozenset({1}),
        "n-of-1-patient": frozenset({1}),
        "observational-dramatic": frozenset({1, 2}),
        "rct": frozenset({2}),
        "cohort-controlled": frozenset({3}),
        "case-series": frozenset({4}),
        "case-control": frozenset({4}),
        "historical-control": frozenset({4}),
        "mechanism": frozenset({5}),
    },
}
"""Question, then design, to the levels under which the table lists it.

The table lists an observational study with dramatic effect twice for harms: under 1, and exceptionally under 2.
"""

DESIGNS: tuple[str, ...] = tuple(dict.fromkeys(design for rows in TABLE.values() for design in rows))
"""All designs, by the names that Liningbook uses."""

ALIASES: Mapping[str, str] = {
    "sr-nof1": "sr-n-of-1",
    "obs-dramatic": "observational-dramatic",
    "historically-controlled": "historical-control",
    "mechanism-based-reasoning": "mechanism",
    "sr-nested-cc": "sr-nested-case-control",
    "nof1-patient": "n-of-1-patient",
    "randomised": "rct",
    "randomized": "rct",
}
"""Other spellings of a design; an underscore always counts as a hyphen."""


def canonical_design(design: str) -> str | None:
    """The name that Liningbook uses for a design, or None for a design that the table does not know."""
    name = design.strip().lower().replace("_", "-").replace(" ", "-")
    name = ALIASES.get(name, name)
    return name if name in DESIGNS else None


def levels(question: str, design: str) -> frozenset[int]:
    """The levels under which the table lists a design for a question (benefit or harm); empty if it has no such row."""
    return TABLE.get(question, {}).get(canonical_design(design) or "", frozenset())


def expected(question: str, design: str, adjusted_to: int | None = None) -> frozenset[int]:
    """The levels that may be stated: the level reached by a stated adjustment, else those of the table."""
    if adjusted_to is not None:
        return frozenset({adjusted_to})
    return levels(question, design)
