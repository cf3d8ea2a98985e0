"""What differs in the study tables of two versions: what was asked, outcomes, studies and their figures, certainty."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from liningbook.compare.effects import Grade
from liningbook.compare.noting.note import Note, in_both, judged_text, of_keys, of_lists, of_text
from liningbook.evidence.grade import LEVELS, is_weaker
from liningbook.evidence.table import Counts, Means, OutcomeTable, Searched, Study
from liningbook.model.protocol import Protocol
from liningbook.notation.quantity import decimal_text

ASKED = ("population", "intervention", "comparator")

SAID = (
    "label", "kind", "importance", "measure", "model", "tau2", "interval", "weights", "zero_cells", "comparator_risk",
    "unit", "threshold", "design", "risk_of_bias_tool", "certainty", "because",
)  # fmt: skip
"""What an outcome says beside its studies and judgements."""


def tables(old: Protocol, new: Protocol) -> Iterator[Note]:
    """What went and came, and what differs in a table of both."""
    yield from of_keys("other_changes", "tables", old.tables, new.tables)
    for name, table, now in in_both(old.tables, new.tables):
        for field in ASKED:
            yield from of_text("other_changes", "tables", name, field, getattr(table, field), getattr(now, field))
        yield from of_text("other_changes", "tables", name, "search", _search(table.search), _search(now.search))
        yield from of_lists("other_changes", "tables", name, "outcomes", table.outcomes, now.outcomes)
        for outcome, before, after in in_both(table.outcomes, now.outcomes):
            yield from _outcome(f"{name}, {outcome}", before, after)


def _outcome(name: str, old: OutcomeTable, new: OutcomeTable) -> Iterator[Note]:
    for field in SAID:
        before, after = (_said(getattr(outcome, field)) for outcome in (old, new))
        if before != after:
            step = _step(before, after) if field == "certainty" else ""
            yield Note("other_changes", "tables", name, field, before, after, step)
    for field in ("lowered", "raised"):
        judged = [[judged_text(key, one) for key, one in getattr(outcome, field).items()] for outcome in (old, new)]
        yield from of_lists("other_changes", "tables", name, field, *judged)
    ours, theirs = ({study.study: study for study in outcome.studies} for outcome in (old, new))
    yield from of_lists("other_changes", "tables", name, "studies", ours, theirs)
    for key, study, now in in_both(ours, theirs):
        at = f"{name}, {key}"
        yield from of_text("other_changes", "tables", at, "figures", _figures(study), _figures(now))
        yield from of_text("other_changes", "tables", at, "year", _said(study.year), _said(now.year))
        yield from of_text("other_changes", "tables", at, "setting", study.setting, now.setting)


def _search(search: Searched | None) -> str:
    return "; ".join(filter(None, (*search.sources, search.until, search.note))) if search is not None else ""


def _said(value: object) -> str:
    if isinstance(value, Fraction):
        return decimal_text(value)
    return "" if value is None else str(value)


def _figures(study: Study) -> str:
    """As they stand in the source: both arms, or the estimate with its limits or its standard error."""
    if (told := study.reported) is not None:
        named = {"estimate": told.estimate, "low": told.low, "high": told.high, "standard_error": told.standard_error}
        return ", ".join(f"{key}: {decimal_text(value)}" for key, value in named.items() if value is not None)
    return " / ".join(_arm(arm) for arm in (study.treated, study.comparator))


def _arm(arm: Counts | Means | None) -> str:
    if isinstance(arm, Means):
        return f"[{decimal_text(arm.mean)}, {decimal_text(arm.deviation)}, {arm.number}]"
    return f"[{arm.events}, {arm.total}]" if arm is not None else ""


def _step(before: str, after: str) -> Grade:
    """How the certainty changed, where both versions state it."""
    if before not in LEVELS or after not in LEVELS:
        return ""
    return "weaker" if is_weaker(after, before) else "stronger"
