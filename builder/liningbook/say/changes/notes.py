"""What else differs between two versions, a line each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from liningbook.compare.comparison import Comparison
from liningbook.compare.noting.note import NeededWhen, Note, What
from liningbook.compare.renames import Renamed
from liningbook.say.cases import labelled, shortened
from liningbook.say.catalogue import N_, gettext
from liningbook.say.kinds import ACCEPTABLE
from liningbook.say.locale import either

HEADINGS: Mapping[What, str] = {
    "shown": N_("What is asked or shown: a person must look"),
    "readings": N_("How values are read off"),
    "rules": N_("Rules added, taken out or changed"),
    "evidence": N_("Evidence and grades"),
    "materials": N_("Materials and what they stop"),
    "dates": N_("Dates"),
    "words": N_("Wording only"),
    "frame": N_("About the edition"),
    "other_changes": N_("Accepted warnings, vignettes, card, copies, reporting and studies"),
}

TO_LOOK_AT = ("shown", "readings")
"""The groups that stand before all else: other words, questions or corrections may lead a hand elsewhere."""

KINDS: Mapping[str, str] = {
    "factor": N_("factor"),
    "value": N_("value"),
    "decision": N_("decision"),
    "answer": N_("answer"),
    "agent": N_("agent"),
    "irritant": N_("irritant"),
    "place": N_("place"),
    "table": N_("table"),
    "rule": N_("rule"),
    "reference": N_("reference"),
    "accepted": N_("accepted warning"),
    "vignette": N_("vignette"),
    "card": N_("card"),
    "copy": N_("card that hangs in"),
    "reporting": N_("reporting on"),
    "appraisal": N_("appraisal by"),
    "tables": N_("study table"),
    "products": N_("product"),
}

FIELDS: Mapping[str, str] = {
    "title": N_("title"),
    "practice": N_("practice"),
    "site_address": N_("site address"),
    "scope": N_("scope"),
    "contact": N_("contact"),
    "language": N_("language"),
    "cautions": N_("cautions"),
    "stop_questions": N_("stop questions"),
    "screens": N_("what the stop questions take off the chart"),
    "always_ask": N_("always asked"),
    "edition": N_("edition"),
    "status": N_("status"),
    "evidence_scheme": N_("evidence scheme"),
    "review_by": N_("review by"),
    "in_force_from": N_("in force from"),
    "authors": N_("authors"),
    "approved": N_("approved"),
    "excluded": N_("excluded"),
    "excluded cases": N_("excluded cases"),
    "entry": N_("entry"),
    "entries": N_("entries"),
    "label": N_("label"),
    "placing order": N_("placing order"),
    "from least to most": N_("from least to most"),
    "unit": N_("unit"),
    "at_least": N_("at least"),
    "at_most": N_("at most"),
    "layer": N_("layer"),
    "needed when": N_("needed when"),
    "step": N_("step"),
    "offset": N_("offset"),
    "uncertainty": N_("uncertainty"),
    "scale": N_("scale"),
    "judged": N_("how sure a judged value is"),
    "guard_band": N_("guard band"),
    "cautious": N_("cautious"),
    "method": N_("method"),
    "classes": N_("classes"),
    "blocks": N_("blocks"),
    "emits": N_("emits"),
    "place": N_("place"),
    "acts_on": N_("acts on"),
    "because": N_("because"),
    "cites": N_("cites"),
    "when": N_("when"),
    "advice": N_("advice"),
    "reasons": N_("reasons"),
    "valid from": N_("valid from"),
    "valid until": N_("valid until"),
    "review by": N_("review by"),
    "basis": N_("basis"),
    "certainty": N_("certainty"),
    "strength": N_("strength"),
    "design": N_("design"),
    "level": N_("level"),
    "question": N_("question"),
    "note": N_("note"),
    "lowered": N_("lowered"),
    "raised": N_("raised"),
    "adjusted": N_("adjusted"),
    "situation": N_("situation"),
    "good_practice": N_("good practice"),
    "rating_up": N_("rating up"),
    "dissent": N_("dissent"),
    "by": N_("by"),
    "until": N_("until"),
    "case": N_("case"),
    "expect": N_("expect"),
    "sizes": N_("size"),
    "columns": N_("columns"),
    "columns_by": N_("columns by"),
    "bands": N_("bands"),
    "bands_by": N_("bands by"),
    "decisions": N_("decisions"),
    "pain": N_("when a patient rings with pain"),
    "usual": N_("usual"),
    "since": N_("since"),
    "tables": N_("study tables"),
    "population": N_("population"),
    "intervention": N_("intervention"),
    "comparator": N_("comparator"),
    "search": N_("search"),
    "outcomes": N_("outcomes"),
    "kind": N_("benefit or harm"),
    "importance": N_("importance"),
    "measure": N_("measure"),
    "model": N_("model"),
    "tau2": N_("tau²"),
    "interval": N_("interval"),
    "weights": N_("weights"),
    "zero_cells": N_("added where a cell is zero"),
    "comparator_risk": N_("risk with the comparator"),
    "threshold": N_("threshold"),
    "risk_of_bias_tool": N_("tool for the risk of bias"),
    "studies": N_("studies"),
    "figures": N_("figures"),
    "year": N_("year"),
    "setting": N_("setting"),
    "text": N_("text"),
    "not_applicable": N_("not applicable"),
    "role": N_("role"),
    "on": N_("on"),
    "quality": N_("quality"),
    "recommend": N_("recommend"),
    "scores": N_("scores"),
}
"""Parts of a thing as they are read; a value or an answer, which is a part too, bears its own name."""

PARTICULARS = ("title", "edition", "status", "in_force_from", "review_by")
"""Parts of a protocol that stand at the head of a sheet, before and after."""

MOST_LETTERS = 160


def note_words(note: Note) -> str:
    """One difference on one line."""
    head = _head(note)
    if note.field == "added":
        return gettext("{thing}: added").format(thing=head)
    if note.field == "taken out":
        return gettext("{thing}: taken out").format(thing=head)
    before, after = _value_words(note.before), _value_words(note.after)
    if before and after:
        line = labelled(head, f"{before} → {after}")
    elif before:
        line = gettext("{thing}: no longer {text}").format(thing=head, text=before)
    elif after:
        line = gettext("{thing}: now {text}").format(thing=head, text=after)
    else:
        return gettext("{thing} changed").format(thing=head)
    if note.grade == "stronger":
        return gettext("{line} (stronger)").format(line=line)
    return gettext("{line} (weaker)").format(line=line) if note.grade == "weaker" else line


def _head(note: Note) -> str:
    """The thing that differs and which part of it."""
    thing = _thing(note.kind, note.name if note.kind == "accepted" else note.name.replace("_", " "))
    if note.field in ("added", "taken out"):
        return thing
    field = gettext(FIELDS[note.field]) if note.field in FIELDS else note.field.replace("_", " ")
    if note.under:
        field = gettext("why, {decision}").format(decision=note.under)
    return labelled(thing, field) if thing else field


def _thing(kind: str, name: str) -> str:
    """`rule line-the-floor`; nothing for the protocol as a whole. An accepted warning is named by its kind first."""
    first, blank, rest = name.partition(" ")
    if kind == "accepted" and first in ACCEPTABLE:
        name = f"{gettext(ACCEPTABLE[first])}{blank}{rest}"
    return " ".join(word for word in (gettext(KINDS[kind]) if kind in KINDS else "", name) if word)


def _value_words(value: str | NeededWhen) -> str:
    if isinstance(value, NeededWhen):
        words = gettext("{factor} is {value}").format(factor=value.decision, value=either(value.answers))
        return shortened(words, MOST_LETTERS)
    return shortened(value, MOST_LETTERS)


def renamed_words(renamed: Renamed) -> str:
    """A name that changed and nothing else."""
    thing = _thing(renamed.kind, renamed.before)
    if renamed.within:
        words = gettext("{thing} of {owner} is now called {name}")
        return words.format(thing=thing, owner=renamed.within, name=renamed.after)
    return gettext("{thing} is now called {name}").format(thing=thing, name=renamed.after)


def to_look_at(comparison: Comparison) -> list[tuple[str, tuple[str, ...]]]:
    """What a person must look at though no case hangs on it, but for what is lost: headings, each with its lines."""
    others = [note for note in comparison.notes if note not in comparison.lost_words]
    return _by_heading(others, [what for what in HEADINGS if what in TO_LOOK_AT])


def _by_heading(notes: Sequence[Note], kinds: Iterable[What]) -> list[tuple[str, tuple[str, ...]]]:
    found = [
        (gettext(HEADINGS[what]), tuple(note_words(note) for note in notes if note.what == what)) for what in kinds
    ]
    return [(heading, lines) for heading, lines in found if lines]


def beside_changes(comparison: Comparison) -> list[Note]:
    """The notes that say more than a list of changes and of what both versions are: not what is named there."""
    outcomes = [one for told in comparison.ranking.told for one in (told.change.before, told.change.after)]
    rules = {rule for outcome in outcomes for candidate in outcome.candidates for rule in candidate.rules}
    return [
        note
        for note in comparison.notes
        if not (note.kind == "rule" and note.what == "rules" and note.name in rules)
        and not (note.kind == "protocol" and note.field in PARTICULARS)
    ]


def note_groups(comparison: Comparison, notes: Sequence[Note] | None = None) -> list[tuple[str, tuple[str, ...]]]:
    """Everything else by which no case is treated differently, or the notes given: headings, each with its lines."""
    gone = [gettext("{thing}: taken out").format(thing=factor.label) for factor in comparison.gone]
    added = [gettext("{thing}: added").format(thing=factor.label) for factor in comparison.added]
    found = [
        (gettext("Factors added or taken out"), (*gone, *added)),
        (gettext("New names for the same"), tuple(renamed_words(renamed) for renamed in comparison.renamed)),
    ]
    told = [(heading, lines) for heading, lines in found if lines]
    listed = comparison.notes if notes is None else notes
    return told + _by_heading(listed, [what for what in HEADINGS if what not in TO_LOOK_AT])
