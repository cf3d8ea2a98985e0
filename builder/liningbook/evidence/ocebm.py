"""Levels of evidence from question and design, by the OCEBM 2011 table.

OCEBM Levels of Evidence Working Group, The Oxford 2011 Levels of Evidence (version 2.1), Centre for Evidence-Based
Medicine, University of Oxford; CC BY 4.0. Prevalence, diagnosis, prognosis, benefit and harm as reproduced in
PMC6251059, table 1, and Br J Sports Med, table 117566; the rows of rare harms and of screening are from memory. The
table lets a level be moved down for quality, precision, directness, consistency and a very small effect, and up for a
large one, but gives no number of steps: a moved level is one that the author states. Its other footnote: a systematic
review is generally better than a single study; no level follows from that.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

_BELOW = {3: ("cohort-controlled",), 4: ("case-series", "case-control", "historical-control"), 5: ("mechanism",)}

TABLE: Mapping[str, Mapping[int, tuple[str, ...]]] = {
    "prevalence": {1: ("local-random-survey",), 2: ("sr-surveys",), 3: ("local-survey",), 4: ("case-series",)},
    "diagnosis": {
        1: ("sr-diagnostic",),
        2: ("diagnostic-consecutive",),
        3: ("diagnostic-selected",),
        4: ("case-control", "diagnostic-poor-reference"),
        5: ("mechanism",),
    },
    "prognosis": {
        1: ("sr-inception-cohort",),
        2: ("inception-cohort",),
        3: ("prognostic-cohort", "trial-control-arm"),
        4: ("case-series", "case-control", "poor-prognostic-cohort"),
    },
    "benefit": {1: ("sr-rct", "sr-n-of-1"), 2: ("rct", "observational-dramatic"), **_BELOW},
    "harm": {
        1: ("sr-rct", "sr-nested-case-control", "n-of-1-patient", "observational-dramatic"),
        2: ("rct", "observational-dramatic"),
        **_BELOW,
    },
    "rare-harm": {1: ("sr-rct", "n-of-1-patient"), 2: ("rct", "observational-dramatic"), **_BELOW},  # from memory
    "screening": {1: ("sr-rct",), 2: ("rct",), **_BELOW},  # from memory
}
"""Question, then level, to the designs that the table lists there.

The table lists an observational study with dramatic effect twice for harms: under 1, and exceptionally under 2. It has
no level 5 for prevalence and prognosis.
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

UPWARD = "large-effect"
"""The one reason that moves a level up, and no level down."""


def canonical_design(design: str) -> str | None:
    """The name that Liningbook uses for a design, or None for a design that the table does not know."""
    name = design.strip().lower().replace("_", "-").replace(" ", "-")
    name = ALIASES.get(name, name)
    return name if name in DESIGNS else None


def levels(question: str, design: str, adjusted_to: int | None = None) -> frozenset[int]:
    """The levels that may be stated: the one reached by a stated adjustment, else those under which the table lists it.

    Empty for a question or a design that the table does not have.
    """
    if adjusted_to is not None:
        return frozenset({adjusted_to})
    name = canonical_design(design)
    return frozenset(level for level, designs in TABLE.get(question, {}).items() if name in designs)


def wrong_way(question: str, design: str, to: int, reason: str) -> Literal["up", "down"] | None:
    """Which way a level is moved that its reason does not move it; nothing if the reason does, or none is named."""
    base = levels(question, design)
    if not reason or not base:
        return None
    if to < min(base) and reason != UPWARD:
        return "up"
    return "down" if to > max(base) and reason == UPWARD else None
