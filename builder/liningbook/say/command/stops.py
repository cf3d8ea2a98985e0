"""Why a command stops, or leaves something undone. Each sentence is filled in with `str.format`."""

from __future__ import annotations

from collections.abc import Sequence

OF_FILE = "{name}: {what}"
ROW = "{table}, row {number}: {why}"
STOPPED = "stopped"
NO_DOI = "'{text}' is no DOI, and is passed over"
MORE_WITHOUT_DOI = "{table}: {number} more rows hold no DOI and are passed over"
CANNOT_BE_READ = "the protocol cannot be read"
WORDS_CANNOT_BE_READ = "the file of words {name} cannot be used"
VERSION_CANNOT_BE_READ = "the protocol of {where} cannot be read"
NO_CHART_TO_COMPARE = "--chart draws bands of a quantity against a choice, and this protocol lacks one of them"
NOTHING_TO_DRAW = "{place} is not written: this case gets no single set of layers to draw"

MOST_KEYS = 8
"""So many keys of references are named."""

# Places to write to.
SOURCES_ONLY = "the folder {folder} is for {kept}; choose another with --out"
HOLDS_PROTOCOL = "the folder {folder} holds a protocol; choose another with --out"
NOT_OURS = (
    "{place} stands in the way: it is not what an earlier call has written; move it, or choose another folder with "
    "--out"
)
OLDER_PLOT = "{place} is of an earlier call: its outcome is no longer in the tables, or has no effect"
NO_FOLDER = "{place} is not a folder; choose another with --out"
NOT_WRITABLE = "the folder {folder} cannot be written to; choose another with --out"
SOURCE_OR_TWICE = "{place} is a source, or is written twice; choose another file to write into"
IS_FOLDER = "{place} is a folder, where a file is to be written"
NOT_PLAIN = "{place} is a link, a device or a pipe, which no file replaces; choose another place to write to"
IN_THE_WAY = "{place} is where a build is made ready, and is no folder; remove it"
INTO_SOURCES = "the folder {folder} is reached by a link into the sources; choose another with --out"
BUILD_WAITS = "another build is writing into {folder}; waiting until it is done"
BUILD_IS_STUCK = "another build has been writing into {folder} for {minutes} minutes; nothing was written"
AS_IT_WAS = "{what}; the previous output is as it was"

# Building.
NOTHING_WRITTEN = "nothing was written: something must be settled first"
MAY_BE_DRAFT = NOTHING_WRITTEN + "; `--draft` builds all the same, with every page marked"
NOT_MADE = "{why}\nnothing was written"
SAME_NAME = (
    "edition {edition} was built here before with the edition mark {before}; it is "
    "{now} now. Give a changed protocol a new `edition`, so that old cards can be told apart"
)

# The preview.
PORT_TAKEN = "port {number} is taken by another program; choose another with --port"
PORT_FORBIDDEN = "port {number} may not be used; choose one above 1023 with --port"
OUR_FAULT = "{trace}this is a fault of Liningbook, not of the protocol; the page stays as it was\n"
OTHER_MACHINE = "This preview is only for browsers of this machine."
OTHER_SITE = "Another site may not read the preview."
NOTHING_HERE = "There is nothing here."
NO_WATCHER = "the watcher is missing. Install it with: pip install 'liningbook[preview]'"

# Versions to compare.
NO_VERSION = "there is no folder or bundle '{where}'; a git revision needs --repo"
ONE_FILE_OF_PROTOCOL = "{where} is one file of a protocol; name the folder that it is in"
UNREADABLE = "{where} cannot be read ({why})"
NO_JSON = "{name} is not JSON, so it is not a bundle"
NO_BUNDLE = "{name} is not a rule bundle of Liningbook"
OTHER_BUNDLE_VERSION = "{name} is a bundle of version {version}; this Liningbook reads version 1"
ITS_TOP, ITS_TOP_FOLDER = "its top", "its top folder"
BUNDLE_DAMAGED = "{name} is damaged at {place}; build it again"
BUNDLE_WITHOUT_FORM = "{name} is damaged ({why}); build it again"
BUNDLE_CHANGED = "{name} does not match its own digest: it was changed by hand or damaged; build it again"
NO_REPOSITORY = "there is no folder {folder}"
NO_REVISION = "there is no revision '{name}' in {repository}"
NOT_IN_REVISION = "revision '{name}' holds no '{inside}'"
NO_FOLDER_IN_REVISION = "revision '{name}' holds no folder '{folder}'"
NO_PROTOCOL_IN_REVISION = "revision '{name}' holds no protocol.yaml"
NO_PROTOCOL_IN_FOLDER = NO_PROTOCOL_IN_REVISION + " in {place}"
NOT_A_REVISION = "'{shown}' is not a revision; write for example main or HEAD~1"
NO_GIT = "git cannot be run ({why}); install it to compare revisions"
NO_PART = "the repository lacks a part of this revision, or it is damaged ({what}); nothing is fetched"
BARE_NOT_NAMED = (
    "{folder} is in a bare repository that may have come with other files, so it is not read; "
    "name the repository itself with --repo"
)
TOO_LARGE = "the files of this revision are too large for a protocol"


def without_doi(table: str, keys: Sequence[str]) -> str:
    """That references have no DOI by which a list could name them."""
    named = ", ".join(keys[:MOST_KEYS]) + (", …" if len(keys) > MOST_KEYS else "")
    count = "1 reference has" if len(keys) == 1 else f"{len(keys)} references have"
    return f"{count} no DOI, so {table} cannot say whether they were retracted: {named}"


def complaint(reason: str) -> str:
    """One line beside the result."""
    return f"liningbook: {reason}\n"


def bundle_holds_only(first: str | None, last: str | None) -> str:
    """A caution: the day looked at is another."""
    return f"the bundle holds {f'from {first} ' if first else ''}{f'until {last}' if last else ''}".rstrip()


def not_read(files: Sequence[str], most: int = 3) -> str:
    """A caution: something that may be meant to count does not."""
    some = ", ".join(files[:most]) + (f" and {len(files) - most} more" if len(files) > most else "")
    return f"nothing reads {some}, so what is said here knows nothing of it; `liningbook check` says more"


def several_protocols(name: str, places: Sequence[str], most: int = 6) -> str:
    """The revision holds several protocols."""
    some = ", ".join(f"{name}:{place or '.'}" for place in sorted(places)[:most])
    return f"revision '{name}' holds {len(places)} protocols; write which one: {some}"


def git_says(said: str, of_content: bool) -> str:
    """What git itself complains of in its lines, about a name or about what a revision holds."""
    lines = said.splitlines()
    line = next((line for line in lines if line.startswith("fatal: ")), lines[0] if lines else "")
    words = f"git: {line.removeprefix('fatal: ').removeprefix('warning: ')}" if line else "git: stopped without a word"
    if of_content or "lazy fetching disabled" in said:
        return NO_PART.format(what=words)
    return words
