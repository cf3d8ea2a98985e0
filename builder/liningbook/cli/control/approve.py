"""`liningbook approve`: who approves the protocol as it stands, written into it with the digest of what it says."""

from __future__ import annotations

import argparse
import codecs
from dataclasses import replace
from typing import TYPE_CHECKING

from liningbook.analysis import Analysis, inspect, understand_sources
from liningbook.cli.common import FOUND, CannotDo, chosen_day, read
from liningbook.cli.terminal import complain_at_length, say
from liningbook.cli.writing import check_plain, write_all
from liningbook.finding import Finding, Severity
from liningbook.model.approval.entry import FILE, NewApproval, with_entry
from liningbook.model.approval.sealing import seal_of
from liningbook.model.edition import outdated
from liningbook.say.command import approving as words
from liningbook.say.findings import told
from liningbook.say.locale import day_words
from liningbook.sources.documents import read_file
from liningbook.sources.text import hidden_character, one_line, sign_name

if TYPE_CHECKING:
    from liningbook.model.protocol import Protocol

ABOUT_APPROVAL = ("status", "changed-since-approval")
"""Kinds of findings that an approval may mend, or that are about what is written after it."""


def run(options: argparse.Namespace) -> int:
    """Writes the approval; nothing where the protocol has errors, is withdrawn or past its review."""
    name, role = (_shown_text(option, getattr(options, option[2:])) for option in words.EXAMPLES)
    day = chosen_day(options.on)
    if day > chosen_day(None):
        raise CannotDo(words.STILL_TO_COME.format(day=day_words(day)))
    if day != chosen_day(None):  # what stops an approval today is not got round by the day of another
        _approvable(read(argparse.Namespace(**{**vars(options), "on": None})), options)
    analysis = read(options)
    protocol = _approvable(analysis, options)
    assert analysis.folder is not None
    place = options.protocol / FILE
    check_plain(place)
    raw = place.read_bytes()
    text = raw.removeprefix(codecs.BOM_UTF8).decode("utf-8", "replace")
    if text.replace("\r\n", "\n").replace("\r", "\n") != analysis.texts[FILE]:
        raise CannotDo(words.CHANGED_MEANWHILE.format(file=place), FOUND)
    name, role = _as_written(protocol, name, role)
    entry = NewApproval(name, role, day, seal_of(analysis.folder, protocol.references))
    made = with_entry(text, entry)
    after = None if made is None else _read_back(analysis, made.encode(), entry)
    if made is None or after is None:
        raise CannotDo(words.NOT_WRITTEN.format(file=place, line=entry.line), FOUND)
    bom = codecs.BOM_UTF8 if raw.startswith(codecs.BOM_UTF8) else b""
    write_all({place: bom + made.encode()})
    _tell(after, entry, str(place))
    return 0


def _shown_text(option: str, text: str) -> str:
    """A text of one line that a reader sees in full."""
    text = " ".join(filter(None, one_line(text).split(" ")))
    if not text:
        raise CannotDo(words.NO_TEXT.format(option=option, example=words.EXAMPLES[option]))
    if sign := hidden_character(text):
        raise CannotDo(words.HIDDEN_SIGN.format(option=option, sign=sign_name(sign)))
    return text


def _as_written(protocol: Protocol, name: str, role: str) -> tuple[str, str]:
    """Name and role as an earlier approval of the same person has them; large letters and blanks make no other one."""

    def plainly(texts: tuple[str, str]) -> list[str]:
        return ["".join(text.casefold().split()) for text in texts]

    known = [(one.name, one.role) for one in protocol.approved]
    alike = [one for one in known if plainly(one) == plainly((name, role))]
    return (name, role) if (name, role) in alike or not alike else alike[0]


def _approvable(analysis: Analysis, options: argparse.Namespace) -> Protocol:
    """The protocol, if it can be approved."""
    from liningbook.show.terminal.report import findings_text

    errors = tuple(finding for finding in analysis.findings if finding.severity is Severity.ERROR)
    blocking = tuple(error for error in errors if error.kind not in ABOUT_APPROVAL)
    protocol = analysis.protocol
    if protocol is None or blocking:
        complain_at_length(lambda width: findings_text(replace(analysis, findings=blocking), width=width))
        raise CannotDo(words.HAS_ERRORS.format(protocol=options.protocol), FOUND)
    if protocol.status == "withdrawn":
        raise CannotDo(words.WITHDRAWN.format(edition=protocol.edition), FOUND)
    if words.is_too_late(protocol, analysis.day):
        due = day_words(protocol.review_by.on)
        raise CannotDo(words.PAST_REVIEW.format(edition=protocol.edition, day=due), FOUND)
    return protocol


def _read_back(before: Analysis, content: bytes, entry: NewApproval) -> Analysis | None:
    """The protocol with the entry, read from what is to be written; nothing where it is not the one approved."""
    assert before.folder is not None
    own, findings = read_file(FILE, content, "protocol")
    documents = {**before.folder.documents, **own.documents}
    folder = replace(before.folder, documents=documents, texts={**before.folder.texts, **own.texts})
    after = understand_sources(folder, findings, before.day)
    if after.protocol is None or seal_of(folder, after.protocol.references) != entry.digest:
        return None
    stands = any((p.name, p.role, p.on, p.digest) == (entry.name, entry.role, entry.on, entry.digest)
                 for p in after.protocol.approved)  # fmt: skip
    return after if stands else None


def _tell(after: Analysis, entry: NewApproval, file: str) -> None:
    """What was written, and what is to be done next."""
    assert after.protocol is not None and after.meaning is not None
    found = [finding for finding in inspect(after.meaning) if _is_left(finding)]
    approval = next(one for one in after.protocol.approved if one.digest == entry.digest and one.name == entry.name)
    say(words.approved_words(after.protocol, approval, file))
    lines = words.next_lines(after.protocol, outdated(after.protocol), [told(finding).message for finding in found])
    say("".join(f"{line}\n" for line in lines))


def _is_left(finding: Finding) -> bool:
    return finding.kind == "status" and finding.severity is Severity.ERROR
