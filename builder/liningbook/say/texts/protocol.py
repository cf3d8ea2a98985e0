"""The printed protocol."""

from __future__ import annotations

from typing import Any

from liningbook.say.catalogue import N_, Messages, filled, ngettext


def cited_words(count: int, numbers: Any) -> Any:
    """The references of a rule by their numbers, which may be links: `ref. 5`, `refs 5, 7`."""
    return filled(ngettext("ref. {numbers}", "refs {numbers}", count), numbers=numbers)


TEXTS: Messages = {
    "protocol_title": N_("{title}: protocol, edition {edition}"),
    "written_by": N_("Written by"),
    "interests": N_("{author}. Interests: {interests}"),
    "use_from_to": N_("Use from {first} to {last}"),
    "protocol_foot": N_("{title} · Edition {edition}, mark {mark} · {status} · Review by {day}"),
    "people": N_("Who wrote and approved it, and whom to ask"),
    "approved_by": N_("Approved by"),
    "nobody_yet": N_("nobody yet"),
    "contents": N_("Contents"),
    "changed_since": N_("What has changed since edition {edition}"),
    "the_chart": N_("The decision chart"),
    "chart_holds_only_for": N_("<b>The chart holds only for</b> {cases}. In every other case the exceptions decide."),
    "stop_then": N_("Yes, or not known? Stop: the chart does not answer. Go through the exceptions."),
    "stop_then_ask": N_(
        "Yes, or not known? Stop: the chart does not answer. Go through the exceptions, or ask <b>{contact}</b>."
    ),
    "all_ticked": N_("<b>All ticked:</b> the chart holds. <b>One not:</b> go through the exceptions first."),
    "factors": N_("What is asked of a case"),
    "factors_caption": N_("Factors, their values and how they are measured"),
    "factor": N_("Factor"),
    "values_measured": N_("Values, and how they are measured"),
    "pictures": N_("Pictures of the layers"),
    "pictures_lead": N_("Each set of layers in the chart once. Their heights are to one scale; the tooth is a scheme."),
    "rules": N_("The rules"),
    "pairings": N_("What goes together"),
    "what": N_("What"),
    "why": N_("Why"),
    "protection": N_("What stops what, by this protocol's table"),
    "case_of_chart": N_("Case of the chart"),
    "dentine": N_("dentine"),
    "nothing_stops_it": N_("nothing stops it"),
    "stops_lead": N_(
        "For the usual case of the chart. Each cell says what stops the irritant before the pulp, by this protocol's "
        "table of agents and irritants; – stands where it does not arise."
    ),
    "exclusions": N_("Not covered here"),
    "case": N_("Case"),
    "why_and_where": N_("Why, and where to turn"),
    "accepted": N_("Warnings accepted by the practice"),
    "warning": N_("Warning"),
    "reason": N_("Reason"),
    "cases_any": N_("In any of these cases"),
    "accepted_by": N_("Accepted by"),
    "until": N_("Until"),
    "judgements": N_("Annex: judgements and notes"),
    "rules_numbered": N_("Rules"),
    "judged": N_("How the grade or the statement came about"),
    "note": N_("Note"),
    "references": N_("References"),
    "readings": N_("Annex: thresholds as readings"),
    "cautions": N_("Cautions"),
    "about": N_("About this edition"),
    "sign_off": N_("Sign-off"),
    "goes_before": N_("Goes before"),
    "gives_way_to": N_("Gives way to"),
    "cited": cited_words,
    "review_month": N_("review {month}"),
    "goes_before_rules": N_("goes before {numbers}"),
    "gives_way_to_rules": N_("gives way to {numbers}"),
    "way": N_("From a case to its advice"),
    "on_page": N_("page"),
    "way_ask": N_("<b>Ask first.</b> A yes, or an answer that is not known, ends the use of the chart: {page}."),
    "way_exceptions": N_(
        "<b>Go through the exceptions</b> from the top. The first line that fits goes before the chart: {page}."
    ),
    "way_cell": N_("<b>Find the cell of the chart</b> and place its layers in the order of their numbers: {page}."),
    "way_why": N_("<b>Read why</b> in the rule, with what it rests on: {page}."),
    "nothing_holds_after": N_("After {day} nothing in this edition holds until it has been looked at again."),
    "digest_is_for": N_(
        "The digest is a fingerprint of this edition: 64 characters that are worked out, by the public "
        "method SHA-256, from every rule, value, agent and reference in it. If one letter is changed, the "
        "digest comes out quite different. So two papers with the same digest give the same advice, "
        "whatever the edition on them is called."
    ),
    "compare_foot": N_(
        "The foot of every page of this protocol bears its first eight characters, the edition mark: <b>{mark}</b>."
    ),
    "compare_card": N_("The card bears the same mark, and the whole digest in its square code."),
    "compare_page": N_("The page for the screen shows the digest beside the edition."),
    "compare_page_at": N_("The page for the screen shows the digest beside the edition: {address}."),
    "compare_bundle": N_(
        "The file bundle.json, which is attached to the PDF of this protocol, holds the same rules as "
        "data, and the digest."
    ),
    "if_they_differ": N_(
        "If the characters differ, the page or this protocol is of another edition. Do not use either "
        "until it is known which one is in force."
    ),
    "if_they_differ_ask": N_(
        "If the characters differ, the page or this protocol is of another edition. Do not use either "
        "until it is known which one is in force: ask <b>{contact}</b>."
    ),
    "if_three_differ": N_(
        "If the characters differ, the card, the page or this protocol is of another edition. Do not use "
        "either until it is known which one is in force."
    ),
    "if_three_differ_ask": N_(
        "If the characters differ, the card, the page or this protocol is of another edition. Do not use "
        "either until it is known which one is in force: ask <b>{contact}</b>."
    ),
    "we_agree": N_(
        "We have read edition <b>{edition}</b> of this protocol, with the mark <b>{mark}</b>, and "
        "agree that the practice works by it. It is to be reviewed by <b>{review_by}</b>."
    ),
    "we_agree_until": N_(
        "We have read edition <b>{edition}</b> of this protocol, with the mark <b>{mark}</b>, and "
        "agree that the practice works by it. It is to be reviewed by <b>{review_by}</b> and must not be "
        "used after <b>{use_until}</b>."
    ),
    "agreed_caption": N_("Agreed: names, signatures and dates"),
    "name": N_("Name"),
    "role": N_("Role"),
    "read": N_("Read and understood"),
    "i_have_read": N_("I have read this edition and I understand it. Its mark is <b>{mark}</b>."),
    "i_have_read_card": N_(
        "I have read this edition and I understand it, and I know where its card hangs. Its mark is <b>{mark}</b>."
    ),
    "read_caption": N_("Read and understood: names, roles, signatures and dates"),
    # the heads of the pages
    "rules_of": N_("The rules: {group}"),
    "rule_continued": N_("rule {number} continued"),
    "only_warning": N_("Avoid and never"),
    "attachment": N_("The rules of this protocol as data"),
}
