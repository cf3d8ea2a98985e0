"""The page for the screen."""

from __future__ import annotations

from typing import Any

from liningbook.say.catalogue import N_, Messages, filled, ngettext


def rules_by_number(count: int, numbers: Any) -> Any:
    """Other rules by their numbers alone, which are HTML."""
    return filled(ngettext("rule {numbers}", "rules {numbers}", count), numbers=numbers)


TEXTS: Messages = {
    "stop_below": N_("Yes, or not known? Stop: the chart does not answer. See the exceptions."),
    "stop_below_ask": N_(
        "Yes, or not known? Stop: the chart does not answer. See the exceptions, or ask <b>{contact}</b>."
    ),
    "page_title": N_("{title}, edition {edition}"),
    "page_about": N_("{practice}: {status}, review by {day}, digest {digest}"),
    "views": N_("Views"),
    "view_protocol": N_("Rules and chart"),
    "the_protocol": N_("The protocol"),
    "skip": N_("Skip to the protocol"),
    "whether_to_use": N_("Whether to use this edition"),
    "digest_begins": N_("Digest begins"),
    "open_findings": N_("Open findings"),
    "contents_and_search": N_("Contents and search"),
    "search_rules": N_("Search rules and references"),
    "accepted_warnings": N_("Accepted warnings"),
    "page_readings": N_("Thresholds as readings"),
    "no_scripts": N_(
        "The look-up needs scripts, and this browser runs none. All that it knows is written below: the chart, the "
        "exceptions to it and every rule. Look at the date too: use this edition until {day} and no longer."
    ),
    "no_look_up": N_(
        "This page was made without the look-up. The chart, the exceptions to it and every rule are below."
    ),
    "rules_by_number": rules_by_number,
    "rule_is": N_("Rule {number}"),
    "reference_is": N_("Reference {number}"),
    "why_rule": N_("Why, and how sure are we: rule {number}"),
    "fact": N_("<b>{label}:</b> {text}"),
    "rule_file_is": N_("Rule file: {file}"),
    "which_edition": N_("Which edition this is"),
    "edition_and_digest": N_("Edition {edition}. Its digest, the same on every output of this edition: {digest}"),
    "put_up_at": N_("Put up at {address}"),
    "nothing_kept": N_("Nothing that is typed into this page leaves it or is kept."),
    "copy_kept": N_("This device keeps a copy: the page opens without a network too."),
    "copy_failed": N_("This device could not keep a copy: without a network the page will not open."),
    "edition_kept": N_("Edition {edition}, {status}. Review by {day}."),
    "rule_titled": N_("Rule {number}, {title}"),
    "page_foot": N_("{title} · {practice} · Edition {edition} · {status} · Review by {day}"),
    # the look-up
    "look_up": N_("Look up a case"),
    "about_the_link": N_("About the link you opened"),
    "not_asked": N_("Not asked is not “no”."),
    "the_case": N_("The case"),
    "new_case": N_("New case"),
    "the_advice": N_("The advice"),
    "try_the_draft": N_("Show the advice to try the draft, not for patients"),
    "do_not_guess": N_(
        "<b>Not asked, or not known?</b> Do not guess. Ask the patient, look again, or turn to <b>{contact}</b>."
    ),
    "sheet_of": N_("Review by {review} · Digest {digest} · Printed on {day}"),
    "this_case": N_("This case"),
    "for_the_notes": N_("For the notes"),
    "how_judged": N_("How was it judged?"),
    "departing": N_("Reason for departing from this advice, if you do"),
    "line_for_notes": N_("Line for the notes. No names: nothing is kept here."),
    "copy_line": N_("Copy the line"),
    "make_link": N_("Make a link to this case"),
    "print_case": N_("Print this case"),
    "link_again": N_("Link that asks this case again"),
}
