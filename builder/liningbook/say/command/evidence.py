"""What `liningbook evidence` says of study tables, in English, as the command line speaks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from liningbook.say.cases import labelled
from liningbook.say.locale import either
from liningbook.say.synthesis import EXTRA_MISSING, INSTALL_EXTRA

EFFECT, RELATIVE, ABSOLUTE, NEEDED = "In words", "Relative", "In 1000 people", "Number needed"
CERTAINTY = "Certainty"
TREATED, COMPARED = "Treated", "Comparator"
DECIDES = "Does any single study decide this?"
ONE_STUDY = "There is only one study, so it decides alone."
TOO_MANY = "That was not tried: there are too many studies to leave out each in turn."
YEARS = "How did it come about, year by year?"
YEAR, ADDED = "Year", "Studies added"
TURNED = "turns the conclusion"

NO_TABLES = (
    "the protocol has no study tables. Write one as `evidence/NAME.yaml` in its folder (`liningbook fields evidence` "
    "says what stands in it), and name it in a rule, under `evidence`: `tables: [NAME]`"
)
QUESTIONS = "What do the figures ask of the judgements?"
NO_QUESTION = "They question none of them."

WITH_WRITES_NOTHING = "--with says what a study would change and writes no files; leave out --out or --with"
NO_SUCH_FILE = "there is no file {name}"
CANNOT_BE_USED = "the new study in {name} cannot be used"

# --- one more study

BEFORE, AFTER = "Without it", "With it"
SPREAD, NEXT, SINGLE, SINGLE_NONE = "Differences", "Next study", "Decides alone", "none"
CONCLUSIONS: Mapping[str | None, str] = {
    "less": "lies below no effect",
    "more": "lies above no effect",
    "little": "is too near no effect to matter",
    "open": "crosses no effect, so nothing is settled either way",
    "no-interval": "cannot be given",
    None: "is not known",
}
ASKED = "What the figures ask with it, and do not ask without it:"
SETTLED = "What the figures ask without it, and no longer with it:"
NOTHING_NEW = "The figures ask nothing of the judgements that they do not ask without it."
RESTING = "What rests on this table:"
NOTHING_RESTS = "No rule names this table, so no advice rests on it."
OUT_OF_FORCE = "It is not in force on this day, so it decides no case."
SILENT = "It decides no case: everywhere other rules are heard in its place, or the decision is not needed."
NOT_WORKED_OUT = "The cases are too many to be worked out."
NOT_REGRADED = (
    "Nothing was regraded and nothing was written. Whether the study belongs in the table, and what then follows for "
    "the certainty and for the rules, is for the authors to judge."
)


def missing(file: str) -> str:
    """What puts the tables together is not installed; as `check` says it of the first of them."""
    return f"{EXTRA_MISSING.format(file=file)}; {INSTALL_EXTRA}"


def table_head(name: str, file: str) -> str:
    """Above a table: its name, and where it is written."""
    return f"{name} ({file})"


def outcome_head(label: str, importance: str) -> str:
    """Above an outcome."""
    return f"{label}: {importance}"


def absolute(difference: str, comparator: str) -> str:
    """How many more or fewer of 1000, beside how many with the comparator."""
    return f"{difference}. {comparator}" if comparator else difference


def certainty(stated: str, level: str) -> str:
    """What is stated, and what the judgements give where that is something else."""
    if not stated:
        return f"none is stated; the judgements give {level}" if level else "none is stated, and nothing is judged"
    return f"{stated}, though the judgements give {level}" if level and level != stated else stated


def without(study: str, effect: str) -> str:
    """A study without which the conclusion is another."""
    return f"Yes: without {study} it is {effect}, which is another conclusion."


def none_decides(low: str, high: str) -> str:
    """Whichever study is left out, the conclusion stays."""
    return f"No: whichever is left out, the estimate lies between {low} and {high}, and the conclusion is the same."


def arriving(study: str, outcome: str, file: str) -> str:
    """Above what a new study would change."""
    return f"What {study} would change: {outcome} ({file})"


def concluded(before: str | None, after: str | None) -> str:
    """What the interval says with the study and without it."""
    if before == after:
        return f"With this study, as without it, the interval {CONCLUSIONS[after]}."
    now, then = CONCLUSIONS[after], CONCLUSIONS[before]
    return f"The conclusion is another: with this study the interval {now}; without it, it {then}."


def rule_head(rule: str, title: str, grade: Sequence[str]) -> str:
    """A rule that rests on the table, with the grade that its author gives it."""
    said = f"{title} (rules/{rule}.md)"
    return labelled(said, ", ".join(grade)) if grade else said


def decides(decision: str) -> str:
    """Before the cases whose advice under a decision a rule gives."""
    return f"It gives the advice on {decision} in these cases:"


def forbids(decision: str, what: Sequence[str]) -> str:
    """Before the cases in which a rule keeps something from being used."""
    return f"It rules out {either(what)} under {decision} in these cases:"
