"""The card."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages

TEXTS: Messages = {
    "card_title": N_("{title}: card, edition {edition}"),
    "edition_mark_same": N_("<b>{mark}</b>, the same on every print of this edition"),
    "edition_mark_rules": N_("<b>{mark}</b>, the same on every print of this edition with these rules"),
    "do_not_use": N_("<b>Do not use</b>"),
    "use_until_bold": N_("Use until <b>{day}</b>"),
    "use_from_until": N_("Use from <b>{first}</b> until <b>{day}</b>"),
    "ask_first_stop": N_("Ask first (tick: the answer is no)"),
    "stopped": N_("<b>Yes, or not known?</b> Turn over."),
    "stopped_ask": N_("<b>Yes, or not known?</b> Turn over, or ask <b>{contact}</b>."),
    "yes_or_not_known": N_("<b>Tick what is answered no.</b> Yes, or not known? Leave the chart and turn over."),
    "yes_or_not_known_ask": N_(
        "<b>Tick what is answered no.</b> Yes, or not known? Leave the chart and turn over, or ask <b>{contact}</b>."
    ),
    "ticked": N_("<b>All ticked</b>: the chart holds. <b>One not</b>: see the exceptions overleaf first."),
    "ticked_brief": N_("<b>All ticked</b>: the chart. <b>One not</b>: turn over."),
    "first_that_fits": N_("<b>A stop goes first. A line changes only its layer; the first that fits decides.</b>"),
    "turn_over": N_("Turn over"),
    "full_size": N_("50 mm when printed at full size"),
    "other_cases": N_("{subject}: other cases"),
    "exceptions_to_chart_for": N_("{subject}: exceptions to the chart"),
    "exceptions_to_chart": N_("Exceptions to the chart"),
    "write_here": N_("Write here what to ask, what to say and whom to call."),
}
