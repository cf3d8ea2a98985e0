"""The card."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages

TEXTS: Messages = {
    "card_title": N_("{title}: card, edition {edition}"),
    "edition_mark_same": N_("<b>{mark}</b>, the same on every print of this edition"),
    "edition_mark_rules": N_("<b>{mark}</b>, the same on every print of this edition with these rules"),
    "do_not_use": N_("<b>Do not use</b>"),
    "use_until_day": N_("Use until <b>{day}</b>"),
    "use_from_until": N_("Use from <b>{first}</b> until <b>{day}</b>"),
    "ask_first_stop": N_("Ask first: stop if yes or not known"),
    "stopped": N_("<b>Stopped?</b> Turn over."),
    "stopped_ask": N_("<b>Stopped?</b> Turn over, or ask <b>{contact}</b>."),
    "yes_or_not_known": N_("<b>Yes, or not known?</b> Stop. The chart does not answer. Turn over."),
    "yes_or_not_known_ask": N_(
        "<b>Yes, or not known?</b> Stop. The chart does not answer. Turn over, or ask <b>{contact}</b>."
    ),
    "ticked": N_("<b>All ticked</b>: the chart holds. <b>One not</b>: see the exceptions overleaf first."),
    "ticked_brief": N_("<b>All ticked</b>: the chart. <b>One not</b>: turn over."),
    "first_that_fits": N_("<b>The first that fits decides</b>, layer by layer; none: the chart."),
    "turn_over": N_("Turn over"),
    "full_size": N_("50 mm when printed at full size"),
    "other_cases": N_("{subject}: other cases"),
    "when_chart_does_not_hold_for": N_("{subject}: when the chart does not hold"),
    "when_chart_does_not_hold": N_("When the chart does not hold"),
    "write_here": N_("Write here what to ask, what to say and whom to call."),
}
