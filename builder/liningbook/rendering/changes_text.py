"""A report of two versions as plain text and as Markdown that is fit for a comment on a pull request."""

from __future__ import annotations

import html
from collections.abc import Iterable, Iterator

from liningbook.rendering.changes_view import ChangesView, ChangeView, NoteGroup

MOST_CHARACTERS = 60_000
"""A comment of a pull request takes little more."""

MOST_CASES = 12
"""So many sets of cases of one change are listed in a comment."""


def changes_text(view: ChangesView) -> str:
    """The report for the terminal."""
    lines = [f"{view.title} ({view.practice})", f"from {view.old} to {view.new}", "", *view.summary, *view.past]
    for change in view.changes:
        lines += ["", *_change_lines(change)]
    for group in (*view.faults, *view.notes):
        lines += ["", group.heading, *(f"  {line}" for line in group.lines)]
    return "\n".join([*lines, "", view.edition, "", *view.cautions]).rstrip() + "\n"


def _change_lines(change: ChangeView) -> Iterator[str]:
    yield f"{change.number}  {change.decision}: {change.before} → {change.after}"
    yield from (f"     {'where' if number == 0 else '   or'} {case}" for number, case in enumerate(change.cases))
    yield f"     for example {change.witness}"
    yield f"     by {_listed(change.rules_before)} → {_listed(change.rules_after)}"
    yield from (f"     {effect}" for effect in change.effects)
    yield f"     {change.share}"


def _listed(titles: tuple[str, ...]) -> str:
    return ", ".join(titles) or "no rule"


def changes_markdown(view: ChangesView) -> str:
    """The report as a comment: a table, and what more there is to say folded away.

    A report that is too long for a comment is cut at its changes, and says so.
    """
    shown = len(view.changes)
    while True:
        text = "\n".join(_markdown(view, shown)) + "\n"
        if len(text) <= MOST_CHARACTERS or shown == 0:
            return text
        shown = shown * 3 // 4


def _markdown(view: ChangesView, shown: int) -> Iterator[str]:
    yield f"## {_safe(view.title)}: what changes for which cases"
    yield ""
    yield f"From {_safe(view.old)} to {_safe(view.new)}."
    for sentence in (*view.summary, *view.past):
        yield ""
        yield f"**{_safe(sentence)}**"
    if view.changes:
        yield ""
        yield "| | Decision | Cases | Before | After | Part |"
        yield "| --- | --- | --- | --- | --- | --- |"
        for change in view.changes[:shown]:
            yield _row(change)
        if shown < len(view.changes):
            yield ""
            yield f"**{len(view.changes) - shown} further changes** are left out here; `liningbook compare` has all."
        yield ""
        yield from _folded("Every change in full", (line for c in view.changes[:shown] for line in _in_full(c)))
    for group in view.faults:
        yield ""
        yield f"**{_safe(group.heading)}**"
        yield ""
        yield from (f"- {_safe(line)}" for line in group.lines[:MOST_CASES])
        if len(group.lines) > MOST_CASES:
            yield f"- and {len(group.lines) - MOST_CASES} more"
    if view.notes:
        yield ""
        yield from _folded("What else differs (no case hangs on it)", _notes(view.notes))
    yield ""
    yield _safe(view.edition)
    for caution in view.cautions:
        yield ""
        yield f"<sub>{_safe(caution)}</sub>"


def _row(change: ChangeView) -> str:
    first = change.cases[0] if change.cases else ""
    more = f" … and {len(change.cases) - 1} more" if len(change.cases) > 1 else ""
    cells = (str(change.number), change.decision, first + more, change.before, change.after, change.share)
    return "| " + " | ".join(_safe(cell) for cell in cells) + " |"


def _in_full(change: ChangeView) -> Iterator[str]:
    yield f"**{change.number} {_safe(change.decision)}: {_safe(change.before)} → {_safe(change.after)}**"
    yield ""
    yield from (f"- {_safe(case)}" for case in change.cases[:MOST_CASES])
    if len(change.cases) > MOST_CASES:
        yield f"- and {len(change.cases) - MOST_CASES} more sets of cases"
    yield ""
    yield f"For example: {_safe(change.witness)}  "
    yield f"Rules before: {_safe(_listed(change.rules_before))}  "
    yield f"Rules after: {_safe(_listed(change.rules_after))}"
    if change.effects:
        yield ""
        yield _safe(" ".join(change.effects))
    yield ""


def _notes(groups: Iterable[NoteGroup]) -> Iterator[str]:
    for group in groups:
        yield f"**{_safe(group.heading)}**"
        yield ""
        yield from (f"- {_safe(line)}" for line in group.lines)
        yield ""


def _folded(heading: str, lines: Iterable[str]) -> Iterator[str]:
    yield f"<details><summary>{heading}</summary>"
    yield ""
    yield from lines
    yield "</details>"


_SIGNS = str.maketrans({sign: f"&#{ord(sign)};" for sign in "\\`*_[]|~@"} | {"\n": " ", "\r": " "})
"""Signs that Markdown, or a site that shows it, might take for more than a sign: a mention, a link, a column."""


def _safe(text: str) -> str:
    """An author's text that means nothing to Markdown."""
    escaped = html.escape(text, quote=False).replace("#", "&#35;").translate(_SIGNS)
    return escaped.replace("://", "&#58;//").replace("www.", "www&#46;")
