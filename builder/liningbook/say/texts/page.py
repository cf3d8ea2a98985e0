"""The page for the screen."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages

TEXTS: Messages = {
    "stop_below": N_("Yes, or not known? Stop: the chart does not answer. See the departures below."),
    "stop_below_ask": N_(
        "Yes, or not known? Stop: the chart does not answer. See the departures below, or ask <b>{contact}</b>."
    ),
}
