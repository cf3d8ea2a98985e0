"""What has changed since the last edition: the change sheet, and the list of changes on page and protocol."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.say.catalogue import N_, Messages, ngettext


def unsettled_changes(numbers: Sequence[str]) -> str:
    """The changes that leave no single answer."""
    words = ngettext("No single answer: change {numbers}.", "No single answer: changes {numbers}.", len(numbers))
    return words.format(numbers=", ".join(numbers))


TEXTS: Messages = {
    # the sheet
    "sheet_title": N_("{title}: what changes, edition {old} to {new}"),
    "sheet_about": N_("From edition {old} to edition {new}, for the practice meeting"),
    "sheet_foot": N_("Change sheet, edition {old} to edition {new}. For the meeting: do not work by it."),
    "what_changes": N_("What changes, and for which cases"),
    "two_versions": N_("The two versions"),
    "chart_title": N_("{title}: the chart with what has changed"),
    "the_changes": N_("The changes"),
    "the_chart_now": N_("The chart now"),
    "chart_holds_for": N_("The chart holds only for"),
    "exceptions_changed": N_("Exceptions that change"),
    "for_the_copies": N_("What it means for the cards"),
    "what_else_differs": N_("What else differs"),
    "part_of_all": N_("Part: {part}"),
    "the_change_sheet": N_("the change sheet"),
    # the card
    "other_readings": N_("Since edition {edition}, readings are corrected differently."),
    "changes_in_full": N_("In full: the protocol, “{heading}”."),
    "changes_in_brief": N_("Advice has changed since edition {edition}: see the protocol."),
    # the meeting
    "the_meeting": N_("The meeting"),
    "filled_in_at_meeting": N_("To be filled in at the meeting"),
    "discussed_on": N_("Discussed on"),
    "led_by": N_("Led by"),
    "edition_to_be_called": N_("Edition to be called"),
    "in_force_from_when": N_("In force from"),
    "old_cards_down_by": N_("Old cards taken down by"),
    "new_cards_up_by": N_("New cards hung by"),
    "agreed_as_a_whole": N_("Agreed as a whole"),
    "agreed_but_for": N_("Agreed but for changes"),
    "not_agreed": N_("Not agreed"),
    "signatures": N_("Names, roles, agreement, signatures and dates"),
    "date_signed": N_("Date"),
    # a change
    "version_before": N_("Before"),
    "version_now": N_("Now"),
    "version_after": N_("After"),
    "change_before_and_now": N_("Change {number}: before and now"),
    "change_about": N_("Change {number}: cases, rules and what it does"),
    "cases": N_("Cases"),
    "or_these": N_("or"),
    "every_case": N_("every case"),
    "for_example": N_("For example"),
    "what_it_does": N_("What it does"),
    "no_single_answer": N_("There is no single answer now. Not to be used before this is mended."),
    "not_to_be_used": N_("Not to be used before this is mended."),
    "unsettled_changes": unsettled_changes,
    "safety_lost": N_("(safety lost)"),
    "rules_before": N_("Rules before"),
    "rules_now": N_("Rules now"),
    "by_no_rule": N_("no rule"),
    "changes_at_a_glance": N_("The changes at a glance"),
    "change_number": N_("No."),
    "decision_and_cases": N_("Decision, and where"),
    "by_rules": N_("By"),
    "yes_agreed": N_("yes"),
    "no_agreed": N_("no"),
}
