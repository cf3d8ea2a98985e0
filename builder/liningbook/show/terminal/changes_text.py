"""A report of two versions as plain text and as Markdown that is fit for a comment on a pull request."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from liningbook.say.cases import shortened
from liningbook.say.changes import report
from liningbook.show.changes.changes_view import ChangesView
from liningbook.show.terminal.inert import inert
from liningbook.show.terminal.lines import USUAL, block, reflowed, wrapped
from liningbook.show.views.changed import ChangeView, NoteGroup
from liningbook.sources.text import visible

MOST_CHARACTERS = 60_000
"""A comment of a pull request takes little more."""

MOST_CASES = 12
"""So many sets of cases of one change are listed in a comment."""

MOST_LINES = 1_000
"""So many lines of a list are shown at most."""

MOST_LETTERS = 2_000
"""So many letters of one text."""

MOST_RULES = 4
"""So many rules are named on each side of a change; the report as JSON names all."""


def changes_text(view: ChangesView, width: int = USUAL) -> str:
    """The report for the terminal."""
    lines = [
        f"{view.title} ({view.practice})",
        report.FROM_TO.format(old=view.old, new=view.new),
    ]
    for group in view.first:
        lines += ["", group.heading, *(f"  {line}" for line in group.lines)]
    found = reflowed(map(_one_line, lines), width)
    found += reflowed(map(_one_line, ("", *view.summary, *view.past)), width, 0)
    for change in view.changes:
        found += ["", *_change_lines(change, width)]
    lines = []
    for group in (*view.faults, *view.notes):
        lines += ["", group.heading, *(f"  {line}" for line in group.lines)]
    found += reflowed(map(_one_line, lines), width)
    end = reflowed(map(_one_line, ("", view.edition, "", *view.cautions)), width, 0)
    return "\n".join([*found, *end]).rstrip() + "\n"


def _change_lines(change: ChangeView, width: int) -> Iterator[str]:
    """A change with its cases as a block: where, for example, by which rules, how large a part."""
    head = report.CHANGE.format(decision=change.decision, before=change.before, after=change.after)
    yield from wrapped(_one_line(head), width, f"{change.number:>2}  ")
    rows = [*report.case_rows(change.cases), (report.EXAMPLE_ROW, change.example)]
    rows += [(report.RULES_ROW, report.TURNS.format(before=before, after=after)) for before, after in [_rules(change)]]
    rows += [(report.PART_ROW, change.share)]
    yield from block([(label, _one_line(text)) for label, text in rows], width, "    ")
    for text in (*change.effects, *change.following):
        yield from wrapped(_one_line(text), width, "    ")


def _rules(change: ChangeView) -> tuple[str, str]:
    return report.rules_listed(change.rules_before, MOST_RULES), report.rules_listed(change.rules_after, MOST_RULES)


@dataclass(frozen=True)
class Limits:
    """How much of a report a comment shows: so many changes, lines of a list, and letters of a text."""

    changes: int
    lines: int
    letters: int


def changes_markdown(view: ChangesView) -> str:
    """The report as a comment: a table, and what more there is to say folded away.

    A report that is too long for a comment is cut: lists first, then its changes, then long texts. It says so.
    """
    whole = Limits(len(view.changes), MOST_LINES, MOST_LETTERS)
    text = _within(view, whole)
    for limits in _ever_less(whole):
        if len(text) <= MOST_CHARACTERS:
            break
        text = _within(view, limits)
    return text


def _ever_less(whole: Limits) -> Iterator[Limits]:
    lines = MOST_CASES * 4
    yield replace(whole, lines=lines)
    changes = whole.changes
    while changes:
        changes = changes * 3 // 4
        yield Limits(changes, lines if changes else MOST_CASES, whole.letters)
    yield Limits(0, MOST_CASES, 200)
    yield Limits(0, 3, 60)


def _within(view: ChangesView, limits: Limits) -> str:
    return "\n\n".join(_Comment(limits).paragraphs(view)) + "\n"


class _Comment:
    """A comment of limited length, in paragraphs."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits

    def safe(self, text: str) -> str:
        """An author's text that means nothing to Markdown, shortened if need be."""
        return inert(shortened(_one_line(text), self.limits.letters))

    def whole(self, text: str) -> str:
        """An author's text that means nothing to Markdown, all of it: the end of a case may tell it apart."""
        return inert(_one_line(text))

    def paragraphs(self, view: ChangesView) -> Iterator[str]:
        safe, shown = self.safe, view.changes[: self.limits.changes]
        yield f"## {report.HEADING.format(title=safe(view.title))}"
        yield report.AS_SENTENCE.format(old=safe(view.old), new=safe(view.new))
        if view.first:
            yield self._framed(view.first)
        yield from (f"**{sentence}**" for sentence in self._some((*view.summary, *view.past)))
        if shown:
            head = f"|{' |'.join(f' {head}'.rstrip() for head in report.TABLE)} |"
            yield "\n".join([head, "| --- | --- | --- | --- | --- | --- |", *(self._row(change) for change in shown)])
        following = [(change.number, text) for change in shown for text in change.following]
        if following:
            yield self._list(
                [report.FOLLOWING_OF.format(number=n, following=text) for n, text in following], MOST_LINES
            )
        if len(shown) < len(view.changes):
            yield report.CHANGES_LEFT_OUT.format(number=len(view.changes) - len(shown))
        if shown:
            yield _folded(report.EVERY_CHANGE, (part for change in shown for part in self._in_full(change)))
        for group in view.faults:
            yield from self._group(group, MOST_CASES)
        if view.notes:
            notes = (part for group in view.notes for part in self._group(group, self.limits.lines))
            yield _folded(report.WHAT_ELSE, notes)
        yield safe(view.edition)
        yield from (f"<sub>{caution}</sub>" for caution in self._some(view.cautions))

    def _framed(self, groups: Sequence[NoteGroup]) -> str:
        """What stands first, as a quotation, which is drawn with a bar beside it."""
        paragraphs = (part for group in groups for part in self._group(group, self.limits.lines))
        return "\n>\n".join("\n".join(f"> {line}" for line in part.split("\n")) for part in paragraphs)

    def _some(
        self, texts: Sequence[str], most: int = MOST_LINES, said: Callable[[str], str] | None = None
    ) -> Iterator[str]:
        most = min(most, self.limits.lines)
        yield from ((said or self.safe)(text) for text in texts[:most])
        if len(texts) > most:
            yield report.MORE_LEFT_OUT.format(number=len(texts) - most)

    def _list(self, texts: Sequence[str], most: int) -> str:
        return "\n".join(f"- {text}" for text in self._some(texts, most))

    def _group(self, group: NoteGroup, most: int) -> Iterator[str]:
        yield f"**{self.safe(group.heading)}**"
        yield self._list(group.lines, most)

    def _row(self, change: ChangeView) -> str:
        first = change.cases[0] if change.cases else ""
        more = report.MORE_SETS.format(number=len(change.cases) - 1) if len(change.cases) > 1 else ""
        decision, *others = (self.safe(cell) for cell in (change.decision, change.before, change.after, change.share))
        number = report.NUMBER_LOST.format(number=change.number) if change.loses else str(change.number)
        return "| " + " | ".join([number, decision, self.whole(first) + more, *others]) + " |"

    def _in_full(self, change: ChangeView) -> Iterator[str]:
        safe = self.safe
        yield f"**{change.number} {safe(change.decision)}: {safe(change.before)} → {safe(change.after)}**"
        yield "\n".join(f"- {text}" for text in self._some(change.cases, MOST_CASES, self.whole))
        before, after = _rules(change)
        example = report.EXAMPLE.format(witness=safe(change.example))
        sides = report.RULES_BEFORE.format(titles=safe(before)), report.RULES_AFTER.format(titles=safe(after))
        yield "  \n".join((example, *sides))
        if change.effects:
            yield safe(" ".join(change.effects))


def _folded(heading: str, paragraphs: Iterable[str]) -> str:
    return "\n\n".join((f"<details><summary>{heading}</summary>", *paragraphs, "</details>"))


def _one_line(text: str) -> str:
    """The text on one line, with signs that do not show written out; the blanks before it are kept."""
    start = len(text) - len(text.lstrip(" "))
    return " " * start + visible(" ".join(text.split()))
