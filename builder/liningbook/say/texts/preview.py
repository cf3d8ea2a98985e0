"""The findings as the preview shows them, and the window that it is shown in."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages

TEXTS: Messages = {
    "preview": N_("Preview"),
    "preview_of": N_("Preview: {what}"),
    "preview_titled": N_("{title}: {found}"),
    "this_protocol": N_("This protocol"),
    "out_of_date": N_("Out of date: the sources have changed since and cannot be read. See what was found."),
    "ways_out": N_("Ways out"),
    "preview_lost": N_("The preview has ended, or cannot be reached. What is shown may be out of date."),
    "the_page": N_("The page"),
    "page_itself": N_("the page itself"),
    "preview_needs_scripts": N_(
        "The preview needs scripts. Without them, open {page} and load it again after each change."
    ),
}
