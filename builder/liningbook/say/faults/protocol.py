"""The words for what names, rules, materials and the card of a protocol say wrongly."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.faults.words import Say

THINGS: Mapping[str, str] = {
    "unknown-factor": "factor",
    "unknown-decision": "decision",
    "unknown-earlier-decision": "earlier decision",
    "unknown-layer-decision": "layer decision",
    "unknown-other-layer": "other layer decision",
    "unknown-answer": "answer to {of}",
    "unknown-value": "value of {of}",
    "unknown-value-of-a-choice": "value of a choice",
    "unknown-place": "place",
    "unknown-irritant": "irritant",
    "unknown-agent": "agent",
    "unknown-rule": "rule",
    "unknown-table": "study table in the folder evidence",
    "unknown-outcome": "outcome{of:of}",
}
"""What a name that is not known should be the name of."""

KNOWN = (
    "did you mean `{near}`?",
    "known here: {known}",
    "'{foreign}' is not a letter that names are made of ({foreign:code}), though it may look like one",
)

_OWN_LABEL = "give each a label that tells them apart on the chart"
_ALL_SHOWN = "so all its values are shown and none is the usual one"
_NONE_LEFT = "has a usual value here, so none is left to make"

PROTOCOL: Mapping[str, Say] = {
    # --- names
    **{what: Say(f"there is no {thing} called '{{name:short}}'", *KNOWN) for what, thing in THINGS.items()},
    "same-label": Say("'{label:short}' is the label of two {things}{of:of}", _OWN_LABEL),
    "labels-alike": Say(
        "nobody can tell '{label:short}' from '{first:short}': these are the labels of two {things}{of:of}",
        "'{foreign}' ({foreign:code}) only looks like another letter: type it again",
        _OWN_LABEL,
    ),
    "name-taken": Say("'{name}' has a meaning of its own, so nothing can be called so", "choose another name"),
    # --- protocol.yaml
    "unknown-language": Say(
        "there is no language '{written:short}' here", "did you mean `{near}`?", "write one of {known}"
    ),
    "limits-crossed": Say("{label} ends before it begins", "write the smaller limit in `at_least`"),
    "no-step": Say("a step is more than nothing", "write for example `0.1 {unit}`"),
    "no-scale": Say("the scale of a reading is more than 0", "write for example `1`"),
    "judged-surely": Say(
        "how far off a value judged by eye may be is more than 0",
        "write how far off it may be, for example `0.3 {unit}`, or leave `judged` out",
    ),
    "negative-uncertainty": Say("an uncertainty is not less than nothing", "write 0 or more"),
    "depends-on-itself": Say("{label} cannot depend on its own answer", "name a decision that is listed before it"),
    "decided-later": Say("'{on}' is not decided before {label}", "list {on} above {name}"),
    # --- materials.yaml
    "label-of-nothing": Say("this label says that nothing is placed", "write `none` as the answer instead"),
    "agent-of-other-class": Say(
        "{label} is no {layer}",
        "choose an agent whose class is {layer}: {fitting}",
        "choose an agent whose class is {without}: there is none yet",
        "or add {layer} to the class of {agent} in materials.yaml",
    ),
    # --- rules
    "days-crossed": Say("the rule ends before it begins", "write the earlier day in `from`"),
    "no-layer": Say(
        "{label} is no layer, so no agent is named here", "write one of {answers}, or `{{judgement: why}}`"
    ),
    "bare-agent": Say("an agent is named as a field of the answer", "write `{{agent: {agent}}}`"),
    "no-such-answer": Say(
        "there is no answer to {decision} called '{name:short}'",
        "write `none`, or `{{agent: …}}` with an agent of its class in materials.yaml: {fitting}",
    ),
    "no-such-expectation": Say(
        "there is no answer to {decision} called '{name:short}'",
        "did you mean `{near}`?",
        "write {known:one of}",
        "or `judgement`, or what becomes of it: {states:one of}",
    ),
    "field-of-other-scheme": Say(
        "`{field}` belongs to the evidence scheme {other}, and this protocol grades by {scheme}",
        "take it out, or change `evidence_scheme` in protocol.yaml",
    ),
    "situation-of-nothing": Say(
        "`situation` is only for a strong recommendation on low or very low certainty",
        "leave it out, or write the strength and the certainty that it allows",
    ),
    "unknown-design": Say("the evidence scheme {scheme} knows no design '{written:short}'", "write one of {known}"),
    "override-circle": Say(
        "these rules override one another in a circle: {circle:circle}",
        "take out one of these overrides",
        label="overrides {circle:last}",
    ),
    "override-of-itself": Say(
        "a rule overrides itself: {circle:circle}", "take out one of these overrides", label="overrides {circle:last}"
    ),
    "reference-in-two-files": Say("the reference '{name}' is given in two files", "keep one"),
    # --- card.yaml and copies.yaml
    **{
        f"{thing}-twice": Say(f"the {thing} '{{name:short}}' is listed twice", "keep one of the two")
        for thing in ("size", "decision", "value", "room")
    },
    "columns-of-no-choice": Say("{label} is no choice, so it cannot make the columns of the card", "name {able:or}"),
    "bands-of-no-quantity": Say("{label} is no quantity, so it cannot make the bands of the card", "name {able:or}"),
    "several-choices": Say(
        "more than one choice has these values, so they do not tell which makes the columns",
        "add `columns_by`: name {able:or}",
    ),
    "several-quantities": Say(
        "the protocol has several quantities, so it is open which of them makes the bands",
        "add `bands_by`: name {able:or}",
    ),
    "no-quantity": Say("the protocol has no quantity, so its card has no bands", "leave this out"),
    "no-reading": Say(
        "the protocol does not say how {label} is read off",
        "write `value`, or add `reading` to the factor {factor} in protocol.yaml",
    ),
    "no-cautious-side": Say(
        "the protocol does not say on which side a doubtful reading of {label} is taken, "
        "so no threshold can be rounded",
        "add `cautious` to the reading of {factor} in protocol.yaml, or write `value`",
    ),
    "usual-of-columns": Say(f"{{label}} makes the columns of the card, {_ALL_SHOWN}", "leave it out here"),
    "usual-of-bands": Say(f"{{label}} makes the bands of the card, {_ALL_SHOWN}", "leave it out here"),
    "several-usual": Say("one value of {label} is the usual one", "write for example `{example}`"),
    "every-choice-usual": Say(f"every choice {_NONE_LEFT} the columns of the card", "leave out {able:or}"),
    "every-quantity-usual": Say(f"every quantity {_NONE_LEFT} the bands of the card", "leave out {able:or}"),
    "no-edition": Say("this does not say which edition hangs in {room:short}", "add `edition`, or leave out `since`"),
    # --- appraisals
    "no-such-item": Say("AGREE II has no item '{name:short}'", "its items are numbered from 1 to 23"),
    "items-left-out": Say(
        "these items of AGREE II have no score: {missing}",
        "give each a whole number from 1 to 7, or write `{{not_applicable: why}}`",
    ),
    "appraiser-twice": Say(
        "there are two appraisals by '{name:short}'", "keep one of the two, or tell the two people apart by their names"
    ),
}
