"""The chart: its cells, the pictures drawn of it, and what a card does not show of it."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages

TEXTS: Messages = {
    # --- a cell, and a decision in it ---
    "no_advice": N_("No advice: the rules leave this open"),
    "see_protocol": N_("see the protocol"),
    "not_covered": N_("Not covered"),
    "out_of_scope": N_("out of scope"),
    "place_nothing": N_("Place nothing"),
    "place_none": N_("Place none"),
    "nothing_asked_for": N_("Nothing is asked for here"),
    "dentist_decides": N_("Dentist decides"),
    "stop": N_("Stop"),
    "otherwise": N_("otherwise"),
    # --- what a card leaves out, and the back of it ---
    "columns_left_out": N_("Not on this card: {restorations}. See the protocol."),
    "bands_left_out": N_("Not on this card: {factor} of {range}. See the protocol."),
    "decisions_left_out": N_("Not decided on this card: {decisions}. See the protocol."),
    "only_for": N_("This card is for {restoration} only."),
    "only_as_read": N_("This card is for {quantity}. Where it is known in another way, see the protocol."),
    "continued": N_("{section}, continued"),
    "copy_of": N_("Copy {number} of {count}, {room}"),
    "check_bar": N_("Check bar, {length} mm long when printed at full size"),
    "code_opens": N_("QR code: opens {text}"),
    "code_holds": N_("QR code: holds {text}"),
    # --- thresholds, and what stops what ---
    "no_reading": N_("none"),
    "passed_at": N_("{value} is passed at a reading of {reading}"),
    "the_dentine": N_("the dentine"),
    # --- the chart's head, its marks and its legend ---
    "depth_drawn": N_("The dentine over the pulp, thinning to the left; heights to scale"),
    "depth_scale": N_("Scale of the thresholds"),
    "second_line": N_("second line: {text}"),
    "pulp": N_("Pulp"),
    "not_placed": N_("not placed"),
    "changed": N_("Changed"),
    "was": N_("was: {text}"),
    "key_order": N_("order of placing, from the pulp"),
    "key_not_placed": N_("– or no line: not placed"),
    "key_included": N_("value included"),
    "key_excluded": N_("not included"),
    "key_changed": N_("changed since edition {edition}"),
}
