"""What two versions come to as a whole: in sentences, in past cases, and as the name of the next edition."""

from __future__ import annotations

from collections.abc import Iterable

from liningbook.compare.comparison import Comparison, Difference, key_of
from liningbook.compare.past_cases import PastCases
from liningbook.say.cases import labelled
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.changes.treatment import outcome_words, part_words
from liningbook.say.changes.where import how_cases_are_named, set_line
from liningbook.say.faults import reason_words
from liningbook.say.locale import both, day_words

MOST_PROBLEMS = 20
"""So many rows that could not be used are listed; the rest is counted."""


def summary_words(comparison: Comparison, past: PastCases | None) -> Iterable[str]:
    """How many changes there are under which decisions; or that there are none, and what may still differ."""
    if comparison.no_case_changed:
        kinds = {note.what for note in comparison.notes}
        if "readings" in kinds:
            yield gettext(
                "No case is treated differently where every value is known. What is read off is corrected differently, "
                "so a reading may now lead to other advice."
            )
        elif "shown" in kinds:
            yield gettext(
                "No case gets another answer by name. But labels, the scope, cautions or stop questions have changed, "
                "so something else may be read, asked or placed: look at each."
            )
        else:
            yield gettext(
                "No case is treated differently: both versions were compared over every case, boundary values too."
            )
        return
    number = len(comparison.differences)
    decisions = both(list(dict.fromkeys(decision_label(comparison, d.decision) for d in comparison.differences)))
    yield ngettext(
        "Cases are treated differently: {count} change, under {decisions}.",
        "Cases are treated differently: {count} changes, under {decisions}.",
        number,
    ).format(count=number, decisions=decisions)
    following = number - len(comparison.ranking.told)
    if following:
        yield ngettext(
            "{count} of them only follows from another and is counted there.",
            "{count} of them only follow from others and are counted there.",
            following,
        ).format(count=following)
    yield how_cases_are_named()
    if past is None:
        words = gettext("Together they are {part} of all combinations in the table of cases, not of patients.")
        yield words.format(part=part_words(comparison.share_changed))


def decision_label(comparison: Comparison, decision: str) -> str:
    """What a decision of either version is called."""
    return comparison.decision(decision).label


def gaps_and_conflicts(comparison: Comparison) -> list[tuple[str, tuple[str, ...]]]:
    """New and closed gaps and conflicts: headings, each with a line for a change."""
    found = []
    for heading, state, opens in (
        (gettext("New gaps"), "gap", True),
        (gettext("New conflicts"), "conflict", True),
        (gettext("Closed gaps"), "gap", False),
        (gettext("Closed conflicts"), "conflict", False),
    ):
        differences = [d for d in comparison.differences if (d.opens(state) if opens else d.closes(state))]
        if differences:
            found.append((heading, tuple(_where(comparison, difference) for difference in differences)))
    return found


def _where(comparison: Comparison, change: Difference) -> str:
    """Decision and cases of a change, the first set of them in full."""
    boxes = comparison.cases_of(change)
    line = labelled(decision_label(comparison, change.decision), set_line(comparison, boxes[0]))
    if len(boxes) == 1:
        return line
    more = ngettext("{line} (and {count} further set of cases)", "{line} (and {count} further sets of cases)",
                    len(boxes) - 1)  # fmt: skip
    return more.format(line=line, count=len(boxes) - 1)


def past_words(comparison: Comparison, past: PastCases) -> Iterable[str]:
    """What was counted in a table of past cases."""
    if not past.rows:
        yield gettext("No row of the table could be used, so it says nothing about past cases.")
    yield gettext(
        "Of {cases} in {rows}, {changed} ({changed_rows}) would be treated differently."
    ).format(
        cases=ngettext("{count} past case", "{count} past cases", past.cases).format(count=past.cases),
        rows=rows_words(past.rows),
        changed=past.changed_cases,
        changed_rows=rows_words(past.changed_rows),
    )  # fmt: skip
    if past.depends_rows:
        labels = both([comparison.new.protocol.factors[name].label for name in past.depends_on])
        yield ngettext(
            "For {count} further case it depends on {factors}, which the table does not give.",
            "For {count} further cases it depends on {factors}, which the table does not give.",
            past.depends_cases,
        ).format(count=past.depends_cases, factors=labels)
    if past.doubtful:
        yield ngettext(
            "{count} row has a reading outside the limits: check the number and the unit.",
            "{count} rows have a reading outside the limits: check the numbers and the units.",
            past.doubtful,
        ).format(count=past.doubtful)
    known = {key_of(d.decision, d.before, d.after) for d in comparison.differences}
    for key, group in past.groups.items():
        if key not in known:
            yield gettext(
                "Only because readings are corrected differently: {decision}: {before} → {after}, {count} cases."
            ).format(
                decision=decision_label(comparison, group.decision),
                before=outcome_words(comparison.old.protocol, group.decision, group.before),
                after=outcome_words(comparison.new.protocol, group.decision, group.after),
                count=group.cases,
            )
    for number, problem in past.problems[:MOST_PROBLEMS]:
        yield gettext("Row {number} could not be used: {problem}").format(number=number, problem=reason_words(problem))
    if past.unusable > MOST_PROBLEMS:
        words = gettext("{count} further rows could not be used; `--out` writes them all with the reason.")
        yield words.format(count=past.unusable - MOST_PROBLEMS)


def rows_words(number: int) -> str:
    """`1 row`, `3 rows`."""
    return ngettext("{count} row", "{count} rows", number).format(count=number)


def older_approval(comparison: Comparison) -> tuple[str, tuple[str, ...]]:
    """That the approval, and the first day, are those of the old version: a sentence, and what they are."""
    old, new = comparison.old_protocol, comparison.new_protocol
    people = [", ".join(filter(None, (p.name, p.role, day_words(p.on)))) for p in new.approved]
    if new.in_force_from is None or new.in_force_from != old.in_force_from:
        words = gettext("Approved only as the earlier version, edition {edition}, though it has changed since")
        return words.format(edition=old.edition), tuple(people)
    words = gettext(
        "Approval and first day are those of the earlier version, edition {edition}, though it has changed since"
    )
    first = labelled(gettext("In force from"), day_words(new.in_force_from))
    return words.format(edition=old.edition), (*people, first)


def edition_words(comparison: Comparison) -> str:
    """Whether a new edition is due, why, and what it may be called."""
    step = comparison.largest_step
    why = {
        "treatment": gettext(
            "Cases or readings are treated differently: a new edition, to be approved and hung up anew"
        ),
        "grounds": gettext(
            "What is asked or shown, what the advice rests on, or how long it holds has changed: a new edition"
        ),
        "words": gettext("Only words have changed: a corrected edition"),
        "none": gettext("Nothing has changed: no new edition"),
    }[step]
    if step == "none" and comparison.notes:
        why = gettext("Nothing has changed that calls for a new edition")
    suggested, old, now = comparison.suggested_edition, comparison.old_protocol.edition, comparison.new_protocol.edition
    if step == "none" or not suggested:
        return f"{why}."
    if now != old:
        return gettext("{why}. After {old} it is called {new}.").format(why=why, old=old, new=now)
    words = gettext("{why}, for example {suggested}. The edition is still called {now}.")
    return words.format(why=why, suggested=suggested, now=now)
