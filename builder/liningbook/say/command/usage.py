"""How the command line is called, as `--help` says it, and what is wrong with a call."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

DESCRIPTION = "Write, check and print a practice's house protocol of pulp protection."
VERSION_LINE = "liningbook {version}"

COMMANDS: Mapping[str, str] = {
    "check": "find overlaps, conflicts, gaps and mistakes",
    "case": "the advice for one case, or for a table of cases",
    "table": "a whole decision as a table of disjoint rows",
    "compare": "which cases two versions treat differently",
    "build": "print the protocol, the card, the bundle and the page",
    "cited": "what rests on a work, and which cases that decides",
    "reporting": "what of RIGHT and AGREE II the protocol reports, and where",
    "history": "what became of a rule, and who approved it: from git",
    "approve": "write down who approves the protocol as it stands, so that a change since is seen",
    "evidence": "what the study tables come to, and what one more study would change",
    "fields": "what can be written in a protocol's files, field by field",
    "preview": "show the page in the browser, anew at every save, with what is found",
}

VERSION = "a protocol's folder, a bundle.json, or with --repo a git revision (main, HEAD~1:guidelines/mine)"

OPTIONS: Mapping[str, str] = {
    "protocol": "the folder of the protocol",
    "--on": "look at the protocol as it stands on this day (YEAR-MONTH-DAY)",
    "--retracted": "a list of works that were retracted: their DOIs, one a line, or in a column called doi",
    "check --format": "how to print what is found",
    "check --strict": "let what is to be looked at fail the check too, unless it is accepted",
    "check --accepted": "list what the practice accepted as well",
    "check --mend": "try out for each finding what would settle it, and say what that changes; nothing is written",
    "check --explain": "say of each kind found what it means and why it matters",
    "check --budget": "seconds that the search may take (left out: a fixed count of steps, the same on every machine)",
    "case values": "what is known of the case, for example rdt=1.2mm; rdt.reading=1.2mm is what was read off",
    "case --format": "how to print the advice",
    "case --why": "say of every rule whether it decides, gives way, asks for more or does not apply",
    "case --complete": "demand a value for every factor",
    "case --chart": "draw the readings against the thresholds",
    "case --section": "draw the cross-section of the tooth with its layers",
    "case --cases": "a table of cases, a column a factor",
    "case --words": "a file that says how the table is written: its columns, and your words for values",
    "case --out": "where to write the table with the advice",
    "table --decision": "the decision, for example liner",
    "table --format": "how to print the table",
    "compare old": VERSION,
    "compare new": "the same",
    "compare --repo": "the git repository, or the protocol's folder in it",
    "compare --on": "look at both as they stand on this day (YEAR-MONTH-DAY)",
    "compare --format": "how to print it",
    "compare --cases": "a table of past cases, a column a factor",
    "compare --words": "a file that says how the table is written: its columns, and your words for values",
    "compare --out": "where to write the rows that are affected",
    "compare --chart": "draw the charts before and after",
    "compare --sheet": "print what changes, for a meeting",
    "build --out": "the folder to write into",
    "build --only": "some of {outputs}",
    "build --draft": "build in spite of errors, every page marked as a draft",
    "build --crop-marks": "put crop marks on the card, for a print shop",
    "build --since": "say what has changed since this version: a folder, a bundle.json, or with --repo a git revision",
    "build --repo": "the git repository of --since, or the protocol's folder in it",
    "cited key": "the key of an entry of the reference list, or its DOI",
    "cited protocol": "the folder of the protocol (left out: the one that you are in)",
    "cited --format": "how to print it",
    "reporting --format": "how to print it",
    "history rule": "the rule's file, or its name",
    "history protocol": "the folder of the protocol; left out: the one that the file lies in, or this folder",
    "history --since": "leave out what was committed before this day (YEAR-MONTH-DAY)",
    "history --format": "how to print it",
    "approve --name": "who approves it",
    "approve --role": "what this person does in the practice",
    "approve --on": "the day of the approval (YEAR-MONTH-DAY); left out: today",
    "evidence --format": "how to print it",
    "evidence --with": "a file with one study for one outcome: what would it change? Nothing is written or regraded",
    "evidence --out": "a folder to write into: a page of all plots and tables, each plot, effects.csv, evidence.json",
    "fields topic": "the file, for example rule or protocol; left out: which files there are",
    "fields --format": "how to print it; markdown is all files on one page",
    "preview --port": "the port on this machine (another free one if left out)",
    "preview --no-browser": "do not open the browser; only print the address",
}
"""Of every argument, under its command where it has one, what it is for."""


EMPTY_NAME = "the name is empty"
NO_DAY = "'{text}' is not a day; write for example --on 2027-01-31"
NO_SECONDS = "'{text}' is not a number of seconds; write for example --budget 20"
NO_PORT = "'{text}' is not a port; write a whole number from 1 to 65535, for example --port {usual}"
NO_OUTPUT = "'{name}' is not an output; --only takes some of {outputs}"
GIVEN_TWICE = "the factor {name} is given twice"
BAD_EPOCH = "SOURCE_DATE_EPOCH must be a whole number of seconds since 1970"
NO_READING_TO_DRAW = "--chart draws readings, and none is given; write for example rdt.reading=1.2mm"
TWO_DRAWINGS_IN_ONE = "--chart and --section cannot both be written into one file"
TABLE_NEEDS_BOTH = "a table of cases needs both --cases FILE.csv and --out FILE.csv"
TABLE_TAKES_NOTHING_ELSE = "a table of cases takes no FACTOR=VALUE, no --why, no --chart and no --section"
WORDS_NEED_CASES = "--words says how a table of cases is written; name the table with --cases"
OUT_NEEDS_CASES = "--out is where the rows of a table of cases are written; name the table with --cases"
REPO_NEEDS_SINCE = "--repo is where the version of --since is looked for; name that version with --since"

_CALLS = (
    (r"the following arguments are required: (.*)", r"\1 is missing"),
    (r"unrecognized arguments: (.*)", r"'\1' is not understood here"),
    (r"argument COMMAND: invalid choice: ('.*?') \(choose from (.*)\)", r"there is no command \1, only \2"),
    (r"argument (.*?): invalid choice: ('.*?') \(choose from (.*)\)", r"\1 cannot be \2, only one of \3"),
    (r"argument (.*?): expected one argument", r"\1 needs a value"),
    (r"argument (.*?): (.*)", r"\1: \2"),
)
"""What Python's argparse says of a call, and how it is said here."""
UNRECOGNISED = "unrecognized arguments: {words}"
"""What argparse says of words that belong to no argument."""


def bad_call(message: str, program: str) -> str:
    """What is wrong with a call, from what argparse says of it."""
    for pattern, words in _CALLS:
        if found := re.fullmatch(pattern, message, re.DOTALL):
            message = found.expand(words)
            break
    return f"{message}; `{program} --help` says what can be written"


def no_decision(name: str, near: str, decisions: Sequence[str]) -> str:
    """A `--decision` that the protocol has not; `near` asks for one that may be meant."""
    return f"there is no decision called '{name}'; {near or 'the decisions are ' + ', '.join(decisions)}"


def no_value(item: str, name: str = "", value: str = "") -> str:
    """A word that is no FACTOR=VALUE; the one before it may have been meant to go on with it."""
    example = f"{name}={value}{item}" if name else "rdt=1.2mm"
    return f"'{item}' is not a factor and its value; write them without a blank, for example {example}"
