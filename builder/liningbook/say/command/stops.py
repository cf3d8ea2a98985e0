"""Why a command stops, or leaves something undone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

STOPPED = "stopped"
CANNOT_BE_READ = "the protocol cannot be read"
NO_CHART_TO_COMPARE = "--chart draws bands of a quantity against a choice, and this protocol lacks one of them"


def complaint(reason: str) -> str:
    """One line beside the result."""
    return f"liningbook: {reason}\n"


def of_file(name: object, what: str) -> str:
    """A fault with the file that it is about."""
    return f"{name}: {what}"


def version_unreadable(where: str) -> str:
    """The sources of one of two versions are wrong."""
    return f"the protocol of {where} cannot be read"


# --- places to write to -----------------------------------------------------------------------------------------------


def rules_only(folder: Path) -> str:
    """A place among the rules."""
    return f"the folder {folder} is for rules; choose another with --out"


def no_folder(place: Path) -> str:
    """A place below a file."""
    return f"{place} is not a folder; choose another with --out"


def not_writable(folder: Path) -> str:
    """A folder that belongs to others."""
    return f"the folder {folder} cannot be written to; choose another with --out"


def is_source_or_twice(place: Path) -> str:
    """A file that the call reads, or that it writes already."""
    return f"{place} is a source, or is written twice; choose another file to write into"


def is_folder(place: Path) -> str:
    """A folder in place of a file."""
    return f"{place} is a folder, where a file is to be written"


def as_it_was(what: str) -> str:
    """Writing failed and was undone."""
    return f"{what}; the previous output is as it was"


def nothing_to_draw(place: Path) -> str:
    """A cross-section that is not drawn."""
    return f"{place} is not written: this case gets no single set of layers to draw"


# --- build ------------------------------------------------------------------------------------------------------------


def nothing_written(may_be_draft: bool) -> str:
    """Errors keep everything from being built."""
    hint = "; `--draft` builds all the same, with every page marked" if may_be_draft else ""
    return f"nothing was written, since there are errors{hint}"


def not_made(why: str) -> str:
    """An output cannot be made."""
    return f"{why}\nnothing was written"


def same_name(edition: str, before: str, now: str) -> str:
    """An edition in force was built before under the same name and says something else now, by its marks."""
    return (
        f"edition {edition} was built here before with the edition mark {before}; it is "
        f"{now} now. Give a changed protocol a new `edition`, so that old cards can be told apart"
    )


# --- preview ----------------------------------------------------------------------------------------------------------


def port_taken(number: int) -> str:
    """Another program listens there."""
    return f"port {number} is taken by another program; choose another with --port"


def port_forbidden(number: int) -> str:
    """A port for which one must be an administrator."""
    return f"port {number} may not be used; choose one above 1023 with --port"


def our_fault(trace: str) -> str:
    """A fault of the program while the preview runs."""
    return f"{trace}this is a fault of Liningbook, not of the protocol; the page stays as it was\n"


# --- versions to compare ----------------------------------------------------------------------------------------------


def no_version(where: str) -> str:
    """Nothing has this name, and no repository is named."""
    return f"there is no folder or bundle '{where}'; a git revision needs --repo"


def one_file_of_protocol(where: str) -> str:
    """A source in place of the folder of sources."""
    return f"{where} is one file of a protocol; name the folder that it is in"


def unreadable(where: str, why: str | None) -> str:
    """The system does not let it be read."""
    return f"{where} cannot be read ({why})"


def bundle_holds_only(first: str | None, last: str | None) -> str:
    """A caution: the day looked at is another."""
    return f"the bundle holds {f'from {first} ' if first else ''}{f'until {last}' if last else ''}".rstrip()


def no_json(name: str) -> str:
    """A file that is no bundle."""
    return f"{name} is not JSON, so it is not a bundle"


def no_bundle(name: str) -> str:
    """JSON, but no bundle."""
    return f"{name} is not a rule bundle of Liningbook"


def other_bundle_version(name: str, version: object) -> str:
    """A bundle of the future."""
    return f"{name} is a bundle of version {version}; this Liningbook reads version 1"


def bundle_damaged(name: str, place: str) -> str:
    """A bundle of another shape than its schema says."""
    return f"{name} is damaged at {place or 'its top'}; build it again"


def bundle_without_form(name: str, why: object) -> str:
    """A bundle with a number that has no canonical form."""
    return f"{name} is damaged ({why}); build it again"


def bundle_changed(name: str) -> str:
    """A bundle whose digest is not its own."""
    return f"{name} does not match its own digest: it was changed by hand or damaged; build it again"


def no_repository(folder: Path) -> str:
    """No folder where the repository should be."""
    return f"there is no folder {folder}"


def no_revision(name: str, repository: Path) -> str:
    """Git does not know the revision."""
    return f"there is no revision '{name}' in {repository}"


def not_in_revision(name: str, inside: str) -> str:
    """The revision has no such file or folder."""
    return f"revision '{name}' holds no '{inside}'"


def no_folder_in_revision(name: str, folder: str) -> str:
    """The revision lacks the folder that the repository is named by."""
    return f"revision '{name}' holds no folder '{folder}'"


def no_protocol_in_revision(name: str, place: str | None = None) -> str:
    """The revision holds no protocol, at all or at a place."""
    where = "" if place is None else f" in {place or 'its top folder'}"
    return f"revision '{name}' holds no protocol.yaml{where}"


def several_protocols(name: str, places: Sequence[str], most: int = 6) -> str:
    """The revision holds several protocols."""
    some = ", ".join(f"{name}:{place or '.'}" for place in sorted(places)[:most])
    return f"revision '{name}' holds {len(places)} protocols; write which one: {some}"


def not_a_revision(shown: str) -> str:
    """A name that git would take for an option."""
    return f"'{shown}' is not a revision; write for example main or HEAD~1"


def no_git(why: str | None) -> str:
    """Git is not installed."""
    return f"git cannot be run ({why}); install it to compare revisions"


def git_says(line: str) -> str:
    """What git itself complains of."""
    return f"git: {line.removeprefix('fatal: ')}" if line else "git: stopped without a word"


TOO_LARGE = "the files of this revision are too large for a protocol"
