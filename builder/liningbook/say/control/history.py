"""What is said of the past of a rule, a line each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

from liningbook.compare.comparison import Comparison
from liningbook.compare.noting.note import Note
from liningbook.control.history import AdvisedAnew, ApprovedAs, Commit, Held, InForce, Turn
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Rule, When
from liningbook.say.answers import answer_words, name_or_label
from liningbook.say.cases import capital, conditions_words
from liningbook.say.changes.notes import FIELDS, note_words
from liningbook.say.changes.treatment import outcome_words, part_words
from liningbook.say.changes.where import set_line
from liningbook.say.locale import both, day_words, either
from liningbook.say.outputs.rules import evidence_line
from liningbook.sources.text import visible_name
from liningbook.space.region import Region

WHAT: Mapping[str, str] = {
    "written": "written",
    "changed": "changed",
    "renamed": "given another name",
    "words": "reworded",
    "taken-out": "taken out",
    "unreadable": "the protocol could not be read",
}
STATUS: Mapping[str, str] = {"draft": "a draft", "in-force": "in force", "withdrawn": "withdrawn"}

MOST_SHOWN = 3
"""So many groups of cases are told of one change; the others are counted."""

NO_RULE = "there is no rule '{rule}' in {folder}, and no commit had one; name its file, or its name and the protocol"
NOT_A_RULE = "'{rule}' is not the name of a rule; write for example line-the-floor, or rules/line-the-floor.md"
NO_PAST = "nothing of {rule} is committed yet, so it has no history"
BAD_SINCE = "'{text}' is not a day; write for example --since 2025-01-31"
UNREADABLE = "What it says is not known: {why}"
MENDED_LATER = "The protocol of this commit could not be read ({why}); told is what it says since it was mended."
NOT_COMMITTED = "The rule's file has edits that are not committed; they are not told here."
LOOKING = "commit {number} of {count}"
ONLY_SINCE = "Commits before {day} were not looked at."
CUT = "Only the last {count} commits were looked at."
ALL = "Every commit that touched the folder of the protocol was looked at: {count}."
SHALLOW = (
    "The history that is here begins with commit {commit} ({day}): the rule was written then or before. "
    "`git fetch --unshallow` gets what is older."
)
MOVED = "Before commit {commit} the protocol lay in {place}; it was followed there."
NOT_PROOF = (
    "A history is what was committed, under the names that were written there; it can be rewritten, and proves neither "
    "who it was nor that the advice was right."
)


def head_line(rule: str, place: str) -> str:
    """Of which rule it is."""
    return f"The history of rule {rule} ({visible_name(place)}), the newest first."


def turn_lines(turn: Turn) -> Iterator[str]:
    """One change: when and by whom, in which edition, what changed, and by whose approval it came into force."""
    yield f"{_when(turn.commit.when)}, {_who(turn.commit)}, commit {turn.commit.name[:8]}: {_what(turn)}"
    if turn.edition:
        yield f"  Edition {turn.edition}, then {STATUS.get(turn.status, turn.status)}."
    if turn.unread:
        told = UNREADABLE if turn.what == "unreadable" else MENDED_LATER
        yield f"  {told.format(why=visible_name(turn.unread))}"
    if turn.after is None or turn.protocol is None:
        return
    if turn.what == "written":
        yield from _rule_lines(turn.protocol, turn.after)
    worded = [note for note in turn.notes if note.what == "words"]
    for note in turn.notes if turn.what == "words" else [note for note in turn.notes if note not in worded]:
        yield from _note_lines(turn, note)
    if worded and turn.what != "words":
        yield f"  Reworded: {both([FIELDS.get(note.field, note.field) for note in worded])}"
    if turn.comparison is not None:
        yield from _treated_lines(turn.comparison, turn.treated)
    if turn.what not in ("words", "renamed"):
        yield f"  {_held_words(turn.held)}"


def _when(when: datetime | None) -> str:
    return "Day unknown" if when is None else day_words(when.date())


def _who(commit: Commit) -> str:
    author, committer = (visible_name(name) or "nobody named" for name in (commit.author, commit.committer))
    return author if author == committer else f"{author} (committed by {committer})"


def _what(turn: Turn) -> str:
    words = WHAT[turn.what]
    if turn.what == "renamed" and turn.after is None:
        return f"{words}, {turn.name}"
    return f"{words} (it was called {turn.old_name})" if turn.old_name and turn.what != "taken-out" else words


def _rule_lines(protocol: Protocol, rule: Rule) -> Iterator[str]:
    """What a rule says, where nothing older stands beside it."""
    yield f"  Where: {_cases(protocol, rule.when)}"
    yield from (f"  {line}" for line in _said(protocol, rule))
    yield f"  Rests on: {_grade(rule)}{f'; cites {_cited(rule)}' if rule.evidence.cites else ''}"


def _cases(protocol: Protocol, when: When) -> str:
    sets = [", ".join(f"{a} {b}".strip() for a, b in conditions_words(protocol, one)) for one in when]
    return either(sets) if all(sets) else "every case"


def _said(protocol: Protocol, rule: Rule) -> list[str]:
    lines = []
    for name, answer in rule.advise.items():
        decision = protocol.decisions[name]
        lines.append(f"{decision.label}: {answer_words(protocol, decision, answer)}")
    for words, table in (("avoid", rule.avoid), ("never", rule.never)):
        for name, named in table.items():
            decision = protocol.decisions[name]
            lines.append(f"{decision.label}, {words}: {both([name_or_label(protocol, decision, n.id) for n in named])}")
    return lines


def _grade(rule: Rule) -> str:
    return evidence_line(rule.evidence)


def _cited(rule: Rule) -> str:
    return both([name.id for name in rule.evidence.cites])


def _note_lines(turn: Turn, note: Note) -> Iterator[str]:
    """A difference; where it is about the cases or the answers, with how they were and how they are."""
    comparison, before, after = turn.comparison, turn.before, turn.after
    if note.field not in ("when", "advice") or comparison is None or before is None or after is None:
        line = note_words(note)
        yield f"  {capital(line.partition(': ')[2] or line)}"
        return
    old, new = comparison.old_protocol, comparison.new_protocol
    if note.field == "when":
        yield f"  Where, before: {_cases(old, before.when)}"
        yield f"  Where, now: {_cases(new, after.when)}"
    else:
        was, now = (_said(*pair) for pair in ((old, before), (new, after)))
        yield f"  Advice, before: {'; '.join(line for line in was if line not in now) or 'nothing of it'}"
        yield f"  Advice, now: {'; '.join(line for line in now if line not in was) or 'nothing of it'}"


def _treated_lines(comparison: Comparison, treated: Iterable[AdvisedAnew]) -> Iterator[str]:
    """How large a part is treated differently, and the largest groups of cases with the advice before and now."""
    groups: dict[tuple[str, str, str], list[AdvisedAnew]] = {}
    for one in treated:
        was = outcome_words(comparison.old.protocol, one.decision, one.part.before)
        now = outcome_words(comparison.new.protocol, one.decision, one.part.after)
        groups.setdefault((one.decision, was, now), []).append(one)
    if not groups:
        return
    whole = comparison.share_of(_cases_of(one for group in groups.values() for one in group))
    yield f"  Treated differently: {part_words(whole)} of the combinations in the table."
    in_order = sorted(groups.items(), key=lambda item: -sum(one.part.share for one in item[1]))
    for (decision, was, now), group in in_order[:MOST_SHOWN]:
        boxes = comparison.told_of(decision, _cases_of(group))
        yield f"    {comparison.decision(decision).label}: {was} → {now}"
        more = f"; {len(boxes) - 1} more such sets" if len(boxes) > 1 else ""
        yield f"      {set_line(comparison, boxes[0])}{more}"
    if len(groups) > MOST_SHOWN:
        yield f"    In further cases too ({len(groups) - MOST_SHOWN}); `--format json` has them all."


def _cases_of(treated: Iterable[AdvisedAnew]) -> Region:
    return Region.any_of(box for one in treated for box in one.part.region)


def _held_words(held: Held) -> str:
    """Which edition first held it in force and approved, and which before only said that it was in force."""
    said = []
    if held.unapproved is not None:
        early = held.unapproved
        said.append(
            f"Edition {early.edition} held it from commit {early.commit.name[:8]} ({_when(early.commit.when)}) on, "
            f"said to be in force, but not approved as it was: {_approvals(early)}."
        )
    if held.in_force is not None:
        first = held.in_force
        since = f"from {day_words(first.since)}" if first.since else "from a day that cannot be told"
        said.append(
            f"First in force as approved in edition {first.edition}, {since} (commit {first.commit.name[:8]}): "
            f"{_approvals(first)}."
        )
    elif not held.is_searched:
        said.append("Whether it was in force as approved cannot be told: too many commits follow.")
    else:
        said.append("No edition with it was committed as in force and approved as it was.")
    return " ".join(said)


def _approvals(edition: InForce) -> str:
    if not edition.approvals:
        return "approved by nobody who is named"
    return f"approved by {both([_approval(one) for one in edition.approvals])}"


def moved_line(commit: str, place: str) -> str:
    """Where the protocol lay before a commit."""
    return MOVED.format(commit=commit[:8], place=visible_name(place) or "the top of the repository")


def oldest_line(commit: Commit) -> str:
    """With which commit a history begins of which not all was fetched."""
    return SHALLOW.format(commit=commit.name[:8], day=_when(commit.when))


def _approval(one: ApprovedAs) -> str:
    who = f"{one.name}, {one.role}," if one.role else one.name
    said = f"{who} on {day_words(one.on)}"
    if not one.digest:
        return f"{said} (no digest)"
    what = {True: "of that text", False: "of an earlier text", None: "not held against the text"}[one.fits]
    return f"{said} (digest {one.digest[:8]}, {what})"
