"""What is said in the figures that the scripts draw."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages

FIGURES: Messages = {
    "section-title": N_("Cross-section of the prepared tooth"),
    "dentine": N_("Dentine"),
    "pulp": N_("Pulp"),
    "not-asked-for": N_("its thickness is not asked for"),
    "from-the-pulp": N_("From the pulp outwards. {ground}: {value}."),
    "layer-said": N_("{number}: {agent}, {words}, {amount}."),
    "layer-unstated": N_("{number}: {agent}, {words}, thickness not stated."),
    "no-layer": N_("No layer is placed."),
    "no-layer-under": N_("No layer is placed under it."),
    "on-top": N_("On top: {material} ({factor})."),
    "what-is-on-top": N_("What is placed on top"),
    "said-not-to-scale": N_("{text}; not to scale"),
    "no-thickness": N_("thickness not stated, not to scale"),
    "drawn-at": N_("{amount}, drawn at {at}"),
    "walls-not-to-scale": N_("{text}; on the walls not to scale"),
    "heights-only": N_("{length} (heights only)"),
    "reading-title": N_("Reading, correction and uncertainty against the thresholds"),
    "reading-said": N_(
        "{factor}: read: {reading}; corrected: {corrected}; within its uncertainty: {band}; treated as: {value}."
    ),
    "thresholds": N_("Thresholds: {thresholds}."),
    "no-thresholds": N_("Thresholds: none."),
    "read-line": N_("Read: {reading}"),
    "corrected-line": N_("Corrected: {corrected}; within its uncertainty: {band}"),
    "value-line": N_("Treated as: {value}"),
    "beyond-scale": N_("{text}, beyond the end of this scale"),
}
