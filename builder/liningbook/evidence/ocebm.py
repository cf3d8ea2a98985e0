"""Levels of evidence from question and design, by the OCEBM 2011 table.

OCEBM Levels of Evidence Working Group, The Oxford 2011 Levels of Evidence (version 2.1), Centre for Evidence-Based
Medicine, University of Oxford; CC BY 4.0. Of its questions two are used: does the intervention help (benefit), and
what are its common harms (harm). The table lets a level be moved for quality, precision, directness, consistency and
size of effect, but gives no number of steps: a moved level is one that the author states.
"""

from __future__ import annotations

from collections.abc import Mapping

_BELOW = {3: ("cohort-controlled",), 4: ("case-series", "case-control", "historical-control"), 5: ("mechanism",)}

TABLE: Mapping[str, Mapping[int, tuple[str, ...]]] = {
    "benefit": {1: ("sr-rct", "sr-n-of-1"), 2: ("rct", "observational-dramatic"), **_BELOW},
    "harm": {
        1: ("sr-rct", "sr-nested-case-control", "n-of-1-patient", "observational-dramatic"),
        2: ("rct", "observational-dramatic"),
        **_BELOW,
    },
}
"""Question, then level, to the designs that the table lists there.

The table lists an observational study with dramatic effect twice for harms: under 1, and exceptionally under 2.
"""

DESIGNS: tuple[str, ...] = tuple(
    dict.fromkeys(design for rows in TABLE.values() for designs in rows.values() for design in designs)
)
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


def levels(question: str, design: str, adjusted_to: int | None = None) -> frozenset[int]:
    """The levels that may be stated: the one reached by a stated adjustment, else those under which the table lists it.

    Empty for a question (benefit or harm) or a design that the table does not have.
    """
    if adjusted_to is not None:
        return frozenset({adjusted_to})
    name = canonical_design(design)
    return frozenset(level for level, designs in TABLE.get(question, {}).items() if name in designs)
