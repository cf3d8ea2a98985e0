"""What several outputs say alike."""

from __future__ import annotations

from liningbook.say.catalogue import N_, Messages
from liningbook.say.outputs.identity import translation_note
from liningbook.say.outputs.readings import readings_lead

TEXTS: Messages = {
    "ask_first": N_("Ask first"),
    "making": N_("Annex: how this protocol was made"),
    "page_making": N_("How this protocol was made"),
    "domain": N_("Domain of AGREE II"),
    "domain_score": N_("Scaled score"),
    "never_added": N_("The domains are judged apart; their scores are never added up."),
    "edition": N_("Edition"),
    "status": N_("Status"),
    "review_by": N_("Review by"),
    "use_from": N_("Use from"),
    "use_until": N_("Use until"),
    "use_until_day": N_("Use until {day}"),
    "not_yet": N_("Not yet in force: use from {day}"),
    "in_force_from": N_("In force from"),
    "document_about": N_("{status}, review by {day}, digest {digest}"),
    "edition_is": N_("Edition {edition}"),
    "digest_is": N_("Digest {digest}"),
    "and_": N_("and"),
    "exceptions": N_("Exceptions"),
    "exceptions_lead": N_(
        "<b>A line changes only the layer that it names</b>; the others stay as in the chart. Of the lines for a layer "
        "<b>the first that fits decides</b>. “Never” holds in any case, and a stop, here or in the chart, goes before "
        "every layer."
    ),
    "patient_has": N_("Patient has"),
    "then_instead": N_("Then, instead of the chart"),
    "chart_holds_if": N_("The chart holds if"),
    "when": N_("When"),
    "or_when": N_("or when"),
    "or_": N_("or"),
    "in_every_case": N_("in every case"),
    "avoid": N_("Avoid"),
    "never": N_("Never"),
    "valid": N_("Valid"),
    "chart_caption": N_("Usual advice by {rows} and {columns}"),
    "whom_to_ask": N_("Whom to ask"),
    "digest": N_("Digest"),
    "date": N_("Date"),
    "protection_lead": N_(
        "For the usual case of the chart. It says what this protocol's table of agents and irritants says, no more."
    ),
    "where": N_("Where"),
    "what_stops_what": N_("What stops what"),
    "readings_lead": readings_lead,
    "readings_caption": N_("{factor}: thresholds as values and as readings"),
    "threshold": N_("Threshold"),
    "reading": N_("Reading"),
    "probability_above": N_("How often the value then lies above"),
    "labelled": N_("{label}: {text}"),
    "run_in": N_("{heading}:"),
    "labelled_bold": N_("{label}: <b>{text}</b>"),
    "edition_mark_is": N_("Edition mark {mark}"),
    "bold_labelled": N_("<b>{label}</b>: {text}"),
    "review_by_day": N_("Review by {day}"),
    "review_was_due": N_("its review was due by {day}"),
    "agreed": N_("Agreed"),
    "name_and_role": N_("Name and role"),
    "signature": N_("Signature"),
    "page_of_pages": N_("Page {page} of {pages}"),
    "translation_note": translation_note,
}
