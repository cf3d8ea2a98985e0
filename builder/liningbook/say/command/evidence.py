"""What `liningbook evidence` says of study tables, in English, as the command line speaks."""

from __future__ import annotations

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
MISSING = "study tables need the package scipy. Install it with: pip install 'liningbook[evidence]'"


def table_head(name: str, file: str) -> str:
    """Above a table: its name, and where it is written."""
    return f"{name} ({file})"


def outcome_head(label: str, importance: str) -> str:
    """Above an outcome."""
    return f"{label}: {importance}"


def absolute(difference: str, comparator: str) -> str:
    """How many more or fewer of 1000, beside how many with the comparator."""
    return f"{difference}; with the comparator {comparator}"


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
