"""What `liningbook cited` says of a work and of what rests on it."""

from __future__ import annotations

RESTING = "RESTS ON IT"
ALSO = "listed as {keys} too, and what rests on that is told here."
NOTHING = "nothing rests on it: no rule and no entry of the materials cites it, and no study table counts it"
RULE = "Rule '{title}'"
BY_TABLE = "Rule '{title}', by its table {tables}"
NOT_IN_FORCE = "{rule} (not in force on this day)"
ENTRY = "Entry {number} of `{table}`"
STUDY = "Study table {table}, {outcome}"
AT = "{what}: {place}"

CASES = "DECIDES"
ADVISES = "{decision}: a rule that rests on it gives the advice in {part} of all combinations in scope"
NEVER_ADVISES = "{decision}: no rule that rests on it gives the advice in any case"
ONLY = "in {part} it gives none, but a rule that rests on it silences another, or says what to avoid:"
UNSETTLED = "{decision}: which cases these are takes too long to work out"
NO_CASES = "no rule in force rests on it, so it decides no case"
MORE = "and {number} further sets of cases; `--format json` lists them all"

IS_ASKED = "its title begins like that of a retracted work: was it retracted?"
LISTED = "Retracted: listed in {file}, row {row}."

NO_WORK = "there is no reference called '{name}', and none with that DOI"
NO_KEY = "which work? Write the key of an entry of the reference list, or its DOI, before the folder"
NONE_LISTED = "this protocol has no reference list"


def no_work(name: str, near: str) -> str:
    """A key that no entry has; `near` asks for one that may be meant."""
    return "; ".join(filter(None, (NO_WORK.format(name=name), near)))
