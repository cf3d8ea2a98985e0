"""What differs between two versions, in words and in reading order: for the terminal, a comment, a sheet, a page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from liningbook.compare.comparison import Comparison, Difference, key_of
from liningbook.compare.effects import Effects
from liningbook.compare.notes import Note
from liningbook.compare.renames import Renamed
from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Decision, Protocol
from liningbook.say.answers import answer_words
from liningbook.say.cases import box_words, count_words, line_words, value_words
from liningbook.say.locale import both

if TYPE_CHECKING:
    from liningbook.compare.past_cases import PastCases

NOT_PATIENTS = "of all combinations in the table of cases, not of patients"


@dataclass(frozen=True)
class ChangeView:
    """One change. `cases` are sets of cases, each on one line; `rules_before` and `rules_after` are titles."""

    number: int
    decision: str
    before: str
    after: str
    cases: tuple[str, ...]
    witness: str
    rules_before: tuple[str, ...]
    rules_after: tuple[str, ...]
    effects: tuple[str, ...]
    share: str
    tone: str
    """What to look at: `fault` for a new gap or the like, `refer` for a referral, `less`, `more` or `other`."""


@dataclass(frozen=True)
class NoteGroup:
    """Differences of one kind by which no case is treated differently; each on one line."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class ChangesView:
    """Everything that a report of two versions says."""

    title: str
    practice: str
    old: str
    new: str
    summary: tuple[str, ...]
    changes: tuple[ChangeView, ...]
    faults: tuple[NoteGroup, ...]
    """New and closed gaps and conflicts."""
    notes: tuple[NoteGroup, ...]
    past: tuple[str, ...]
    edition: str
    cautions: tuple[str, ...] = ()


def changes_view(
    comparison: Comparison,
    old: str,
    new: str,
    past: PastCases | None = None,
    cautions: Iterable[str] = (),
    errors: int = 0,
) -> ChangesView:
    """The words for a comparison. `old` and `new` are what the user called the versions; `past` are counted cases.

    `errors` is how many errors a check of the new version finds.
    """
    protocol = comparison.new_protocol
    return ChangesView(
        protocol.title,
        protocol.practice,
        _named(comparison.old_protocol, old),
        _named(protocol, new),
        (*_errors(errors), *_summary(comparison, past)),
        tuple(
            _change(comparison, number, difference, past) for number, difference in enumerate(comparison.differences, 1)
        ),
        tuple(_faults(comparison)),
        tuple(_note_groups(comparison)),
        tuple(_past(comparison, past)) if past else (),
        _edition(comparison),
        tuple(cautions),
    )


def _named(protocol: Protocol, where: str) -> str:
    return f"edition {protocol.edition}{f' ({where})' if where else ''}"


def share_words(share: Fraction) -> str:
    """A share with four decimals, to the nearest: `0.0417`."""
    number = (share * 10000 + Fraction(1, 2)).__floor__()
    return f"{number // 10000}.{number % 10000:04}"


def _part(share: Fraction) -> str:
    """The same in words; what is too small for four decimals is said so."""
    if share and share < Fraction(1, 20000):
        return "less than 0.0001"
    return share_words(share) if share else "0.0000 (single values)"


def _errors(errors: int) -> Iterable[str]:
    if errors:
        yield f"THE NEW VERSION HAS {count_words(errors, 'ERROR')} and cannot be built: `liningbook check` lists them."


def _summary(comparison: Comparison, past: PastCases | None) -> Iterable[str]:
    if comparison.no_case_changed:
        if any(note.what == "readings" for note in comparison.notes):
            yield (
                "No case is treated differently where every value is known. What is read off is corrected differently, "
                "so a reading may now lead to other advice."
            )
        elif any(note.what == "shown" for note in comparison.notes):
            yield (
                "No case gets another answer by name. But labels, the scope, cautions or stop questions have changed, "
                "so something else may be read, asked or placed: look at them below."
            )
        else:
            yield "No case is treated differently: both versions were compared over every case, boundary values too."
        return
    number = len(comparison.differences)
    decisions = list(dict.fromkeys(_label(comparison, d.decision) for d in comparison.differences))
    yield f"Cases are treated differently: {count_words(number, 'change')}, under {both(decisions)}."
    if past is None:
        yield f"Together they are {_part(comparison.share_changed)} {NOT_PATIENTS}."


def _label(comparison: Comparison, decision: str) -> str:
    return _decision(comparison, decision).label


def _decision(comparison: Comparison, decision: str) -> Decision:
    found = comparison.new.protocol.decisions.get(decision) or comparison.old.protocol.decisions.get(decision)
    assert found is not None
    return found


def outcome_words(protocol: Protocol, decision: str, outcome: Outcome) -> str:
    """What a decision comes to, on one line."""
    known = protocol.decisions.get(decision)
    if outcome.state == "out-of-scope":
        return "Not covered"
    if known is None:
        return "Not asked"
    if outcome.state == "not-needed":
        return "Not needed"
    if outcome.state == "gap":
        return "No rule answers this"
    answers = [answer_words(protocol, known, candidate.answer) for candidate in outcome.candidates]
    return {
        "conflict": "Rules disagree: " + " / ".join(answers),
        "contraindicated": f"{answers[0]}, which another rule says to avoid",
        "clash": f"{answers[0]}, which does not go with another layer",
    }.get(outcome.state, answers[0])


def _change(comparison: Comparison, number: int, change: Difference, past: PastCases | None) -> ChangeView:
    old, new = comparison.old.protocol, comparison.new.protocol
    boxes = [comparison.space.notation(box) for box in change.region]
    return ChangeView(
        number,
        _label(comparison, change.decision),
        outcome_words(old, change.decision, change.before),
        outcome_words(new, change.decision, change.after),
        tuple(box_words(new.factors, box) for box in boxes),
        line_words([(f.label, value_words(f, change.witness[name])) for name, f in new.factors.items()]),
        _titles(comparison.old_protocol, change.before),
        _titles(comparison.new_protocol, change.after),
        effect_words(comparison, change.effects),
        _how_many(change, past),
        _tone(change),
    )


def _how_many(change: Difference, past: PastCases | None) -> str:
    if past is None:
        return _part(change.share)
    group = past.groups.get(key_of(change.decision, change.before, change.after))
    return f"{group.cases if group else 0} of {count_words(past.cases, 'case')}"


def _titles(protocol: Protocol, outcome: Outcome) -> tuple[str, ...]:
    rules = [rule for candidate in outcome.candidates for rule in candidate.rules]
    return tuple(f"{protocol.rules[rule].title} ({rule})" for rule in dict.fromkeys(rules))


def _tone(change: Difference) -> str:
    effects = change.effects
    if change.after.state not in ("answered", "not-needed", "out-of-scope"):
        return "fault"
    if effects.referral or effects.judgement or effects.cover:
        return "refer"
    if effects.lost or effects.layer == "ends":
        return "less"
    return "more" if effects.gained or effects.layer == "starts" else "other"


def effect_words(comparison: Comparison, effects: Effects) -> tuple[str, ...]:
    """What a change does, a sentence each."""
    irritants = {**comparison.old.protocol.irritants, **comparison.new.protocol.irritants}

    def named(names: Iterable[str]) -> str:
        return both([irritants[name].label for name in names])

    found = []
    if effects.gained:
        found.append(f"Adds protection against {named(effects.gained)}, by the protocol's table.")
    if effects.lost:
        found.append(f"Removes protection against {named(effects.lost)}, by the protocol's table.")
    for step, starts, ends in (
        (effects.layer, "A layer is placed where none was.", "A layer is no longer placed."),
        (effects.referral, "A referral starts: no layer is reached now.", "A referral ends: the layers are reached."),
        (effects.judgement, "The dentist decides now.", "It is no longer left to the dentist."),
        (effects.cover, "These cases are covered now.", "These cases are no longer covered."),
    ):
        if step:
            found.append(starts if step == "starts" else ends)
    if effects.grade == "mixed":
        found.append("The grade behind the advice changes, but not in the same way in all these cases.")
    elif effects.grade:
        words = {"stronger": "a stronger grade", "weaker": "a weaker grade", "other": "another kind of grade"}
        found.append(f"The advice rests on {words[effects.grade]}.")
    return tuple(found)


def _faults(comparison: Comparison) -> Iterable[NoteGroup]:
    for heading, state, opens in (
        ("New gaps", "gap", True),
        ("New conflicts", "conflict", True),
        ("Closed gaps", "gap", False),
        ("Closed conflicts", "conflict", False),
    ):
        found = [d for d in comparison.differences if (d.opens(state) if opens else d.closes(state))]
        if found:
            yield NoteGroup(heading, tuple(_fault(comparison, difference) for difference in found))


def _fault(comparison: Comparison, change: Difference) -> str:
    boxes = [comparison.space.notation(box) for box in change.region]
    more = f" (and {count_words(len(boxes) - 1, 'further set')} of cases)" if len(boxes) > 1 else ""
    words = box_words(comparison.new.protocol.factors, boxes[0])
    return f"{_label(comparison, change.decision)}: {words}{more}"


HEADINGS: Mapping[str, str] = {
    "shown": "What is asked or shown: a person must look",
    "readings": "How values are read off",
    "rules": "Rules added, taken out or changed",
    "evidence": "Evidence and grades",
    "materials": "Materials and what they stop",
    "dates": "Dates",
    "words": "Wording only",
    "frame": "About the edition",
}


def _note_groups(comparison: Comparison) -> Iterable[NoteGroup]:
    factors = [f"{factor.label}: taken out" for factor in comparison.gone]
    factors += [f"{factor.label}: added" for factor in comparison.added]
    if factors:
        yield NoteGroup("Factors added or taken out", tuple(factors))
    if comparison.renamed:
        yield NoteGroup("New names for the same", tuple(_renamed(renamed) for renamed in comparison.renamed))
    for what, heading in HEADINGS.items():
        lines = tuple(note_words(note) for note in comparison.notes if note.what == what)
        if lines:
            yield NoteGroup(heading, lines)


def _renamed(renamed: Renamed) -> str:
    within = f" of {renamed.within}" if renamed.within else ""
    return f"{renamed.kind} {renamed.before}{within} is now called {renamed.after}"


MOST_LETTERS = 160


def note_words(note: Note) -> str:
    """One difference on one line."""
    subject = " ".join(word for word in (note.kind if note.kind != "protocol" else "", note.name) if word)
    head = f"{subject}: {note.field}" if subject else note.field
    head = head.replace("_", " ")
    step = {"stronger": " (stronger)", "weaker": " (weaker)"}.get(note.grade, "")
    if note.before and note.after:
        return f"{head}: {_short(note.before)} → {_short(note.after)}{step}"
    if note.before or note.after:
        return f"{head}: {'no longer' if note.before else 'now'} {_short(note.before or note.after)}{step}"
    return head if note.field in ("added", "taken out") else f"{head} changed"


def _short(text: str) -> str:
    return text if len(text) <= MOST_LETTERS else f"{text[: MOST_LETTERS - 1]}…"


def _past(comparison: Comparison, past: PastCases) -> Iterable[str]:
    if not past.rows:
        yield "No row of the table could be used, so it says nothing about past cases."
    yield (
        f"Of {count_words(past.cases, 'past case')} in {count_words(past.rows, 'row')}, {past.changed_cases} "
        f"({count_words(past.changed_rows, 'row')}) would be treated differently."
    )
    if past.depends_rows:
        labels = both([comparison.new.protocol.factors[name].label for name in past.not_given])
        further = count_words(past.depends_cases, "further case")
        yield f"For {further} it depends on {labels}, which the table does not give."
    known = {key_of(d.decision, d.before, d.after) for d in comparison.differences}
    for key, group in past.groups.items():
        if key not in known:
            before = outcome_words(comparison.old.protocol, group.decision, group.before)
            after = outcome_words(comparison.new.protocol, group.decision, group.after)
            label = _label(comparison, group.decision)
            yield f"Only because readings are corrected differently: {label}: {before} → {after}, {group.cases} cases."
    for number, problem in past.problems[:20]:
        yield f"Row {number} could not be used: {problem}"
    if past.unusable > 20:
        yield f"{past.unusable - 20} further rows could not be used; `--out` writes them all with the reason."


def _edition(comparison: Comparison) -> str:
    step = {
        "treatment": "Cases or readings are treated differently: a new edition, to be approved and hung up anew",
        "grounds": "What is asked or shown, what the advice rests on, or how long it holds has changed: a new edition",
        "words": "Only words have changed: a corrected edition",
        "none": "Nothing has changed: no new edition",
    }[comparison.largest_step]
    if comparison.largest_step == "none" and comparison.notes:
        step = "Nothing has changed that calls for a new edition"
    suggested, now = comparison.suggested_edition, comparison.new_protocol.edition
    if comparison.largest_step == "none" or not suggested:
        return f"{step}."
    if now != comparison.old_protocol.edition:
        return f"{step}. After {comparison.old_protocol.edition} it is called {now}."
    return f"{step}, for example {suggested}. The edition is still called {now}."
