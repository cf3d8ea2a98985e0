"""One version of a protocol, from a folder, a rule bundle or a git revision."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from liningbook.analysis import Analysis, understand, understand_sources
from liningbook.compare.comparison import Comparison, compare
from liningbook.exchange.from_bundle import NotABundle, bundle_holds, read_bundle, sources_of
from liningbook.exchange.from_git import NotInGit, read_revision
from liningbook.exchange.uncommitted import Uncommitted, uncommitted
from liningbook.model.build import read_files
from liningbook.model.protocol import Card, Protocol
from liningbook.resources import ENGLISH
from liningbook.say.command import stops
from liningbook.say.faults import reason_words
from liningbook.sources.documents import NoProtocol
from liningbook.sources.files import GivenFiles
from liningbook.sources.text import visible_name

SOURCES = (".yaml", ".yml", ".md", ".bib")
"""The endings of a protocol's files that no bundle has."""


class NoVersion(Exception):
    """Why a version cannot be read, in words for the user."""


class UnsoundVersion(Exception):
    """The sources of a version are wrong; `analysis` holds the findings."""

    def __init__(self, analysis: Analysis) -> None:
        self.analysis = analysis


@dataclass(frozen=True)
class Version:
    """A protocol as it stands on a day. `where` is what the user called it, `caution` what to know about it."""

    where: str
    protocol: Protocol
    caution: str = ""
    is_whole: bool = True
    """Whether it holds the rules of every day, as the sources do; a bundle holds those of one."""
    place: str | None = None
    """The folder in the repository, of a protocol that was read from a revision."""


def read_version(where: str, day: date, repository: Path | None = None) -> Version:
    """The version that `where` names.

    With a repository it is a revision, unless there is no such revision and there is such a folder or file. Raises
    NoVersion and UnsoundVersion.
    """
    try:
        if repository is not None and not where.startswith((".", "/")):
            try:
                return _from_git(where, day, repository)
            except NotInGit:
                if not os.path.exists(where):
                    raise
        if repository is None and not os.path.exists(where):
            raise NoVersion(stops.NO_VERSION.format(where=where))
        if os.path.isfile(where) and where.endswith(SOURCES):
            raise NoVersion(stops.ONE_FILE_OF_PROTOCOL.format(where=where))
        if os.path.isfile(where):
            return _from_bundle(Path(where).read_bytes(), where, day)
        return _from_sources(where, _sound(understand(Path(where), day)))
    except NoProtocol as no:
        raise NoVersion(reason_words(no)) from None
    except (NotInGit, NotABundle) as no:
        raise NoVersion(visible_name(str(no))) from None
    except OSError as error:
        raise NoVersion(stops.UNREADABLE.format(where=where, why=error.strerror)) from None


def _sound(analysis: Analysis) -> Protocol:
    if analysis.protocol is None:
        raise UnsoundVersion(analysis)
    return analysis.protocol


def _from_git(where: str, day: date, repository: Path) -> Version:
    files = read_revision(repository, where)
    if files.single is not None:
        return _from_bundle(files.single, where, day)
    if "protocol.yaml" not in files.contents:
        raise NoVersion(stops.NO_PROTOCOL_IN_FOLDER.format(name=where, place=files.place or stops.ITS_TOP_FOLDER))
    return _from_sources(where, _read(day, GivenFiles(files.contents, files.links)), files.place)


def _from_sources(where: str, protocol: Protocol, place: str | None = None) -> Version:
    caution = stops.not_read(protocol.passed_over) if protocol.passed_over else ""
    return Version(where, protocol, caution, place=place)


def _from_bundle(content: bytes, where: str, day: date) -> Version:
    bundle = read_bundle(content, where)
    texts = {path: text.encode() for path, text in sources_of(bundle, day).items()}
    first, last = bundle["holds"]["from"], bundle["holds"]["until"]
    caution = "" if bundle_holds(bundle, day) else stops.bundle_holds_only(first, last)
    return Version(where, _read(day, GivenFiles(texts)), caution, is_whole=False)


def _read(day: date, files: GivenFiles) -> Protocol:
    return _sound(understand_sources(*read_files(files), day))


def compare_versions(old: Version, new: Version, day: date) -> Comparison:
    """Every difference between two versions as they stand on a day.

    If one is a bundle, which holds only the rules of a day, no language, vignette, card or study table, so does the
    other.
    """
    if old.is_whole and new.is_whole:
        return compare(old.protocol, new.protocol, day)
    return compare(_on(old.protocol, day), _on(new.protocol, day), day)


def uncommitted_edits(versions: Sequence[Version], repository: Path | None) -> Uncommitted | None:
    """What is not committed in the folder of which a revision is compared, if there is such a folder."""
    if repository is None:
        return None
    places = [version.place for version in versions if version.place is not None]
    named = [version.where for version in versions if version.place is None]
    return uncommitted(repository, places[-1], named) if places else None


def _on(protocol: Protocol, day: date) -> Protocol:
    rules = {name: rule for name, rule in protocol.rules.items() if rule.holds_on(day)}
    for name, rule in rules.items():
        evidence = replace(rule.evidence, tables=(), because="")
        kept = tuple(other for other in rule.overrides if other.id in rules)
        rules[name] = replace(rule, overrides=kept, evidence=evidence)
    return replace(
        protocol,
        rules=rules,
        language=ENGLISH,
        accepted=(),
        vignettes=(),
        card=Card(),
        copies=(),
        tables={},
        approved=tuple(replace(approval, digest="") for approval in protocol.approved),
        reporting={},
        appraisals=(),
        further={},
    )
