"""A rule through the commits of a repository: where its file changed, what it said then, and when that was in force.

A protocol is read only in the commits in which the file of the rule changed, and in those before them. Of the others no
more is read than status, edition and approvals.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache
from pathlib import Path

from liningbook.analysis import Analysis, understand_sources
from liningbook.compare.renames import with_new_names
from liningbook.control.history import SAME_MEANING, Held, Turn, What, change_of
from liningbook.exchange.from_git import NotInGit
from liningbook.exchange.past.commits import Repository
from liningbook.exchange.past.in_force import Editions, EditionThen, first_in_force
from liningbook.finding import Severity
from liningbook.model.build import read_files
from liningbook.say.faults import reason_words
from liningbook.say.findings import told
from liningbook.sources.documents import NoProtocol, read_file
from liningbook.sources.files import MAX_BYTES, GivenFiles
from liningbook.sources.node import get, listed, text_of

_RULE_FILE = re.compile(r"rules/([^/]+)\.md")

MOST_TRIED = 5
"""So many commits of a stretch are tried until one can be read."""

MANY = 200
"""So many files are read from the repository at once."""


@dataclass(frozen=True)
class Unchanged:
    """Commits through which the file of the rule stayed the same; they are numbered from 0, the newest."""

    newest: int
    oldest: int
    name: str
    blob: str | None


class RulePast:
    """The past of the rule of a name in a protocol's folder, as far back as so many commits.

    `looks` is told which commit is looked at, of how many. `today` stands for the day of a commit that bears none.
    Raises NotInGit.
    """

    def __init__(self, folder: Path, rule: str, most: int, today: date, looks: Callable[[int, int], None]) -> None:
        self.repository = Repository(folder, most)
        self.commits = self.repository.commits
        self.rule, self.today, self.looks = rule, today, looks
        self.read = lru_cache(maxsize=4)(self._read)
        self.edition_of = lru_cache(maxsize=64)(self._edition_of)
        self.heads = self.repository.blobs("protocol.yaml", self.commits)

    @property
    def is_cut(self) -> bool:
        """Whether there are older commits, which are not looked at or not here."""
        return self.repository.is_cut or self.repository.is_shallow

    @property
    def is_known(self) -> bool:
        """Whether any commit holds the rule."""
        return any(stretch.blob is not None for stretch in self.stretches())

    # --- where the file changed -------------------------------------------------------------------------------------

    def stretches(self) -> list[Unchanged]:
        """From the newest to the oldest; where the file got another name and said the same, it is followed."""
        found: list[Unchanged] = []
        name, start, count = self.rule, 0, len(self.commits)
        blobs = self._blobs(name, 0)
        while start < count:
            end = start
            while end + 1 < count and blobs[end + 1] == blobs[start]:
                end += 1
            found.append(Unchanged(start, end, name, blobs[start]))
            start = end + 1
            if start < count and blobs[end] is not None and blobs[start] is None:
                former = self._former_name(end, name)
                if former:
                    name = former
                    blobs[start:] = self._blobs(name, start)
        return found

    def _blobs(self, name: str, start: int) -> list[str | None]:
        """What the file of a rule of this name holds, from a commit on to the oldest."""
        return self.repository.blobs(f"rules/{name}.md", self.commits[start:])

    def _rules(self, number: int) -> dict[str, str]:
        """The rule files of a commit: names, and the names of their contents."""
        try:
            entries = self.repository.git.entries(self.repository.tree(self.commits[number]))
        except NotInGit:
            return {}
        return {found[1]: blob for path, (_, blob) in entries.items() if (found := _RULE_FILE.fullmatch(path))}

    def _former_name(self, number: int, name: str) -> str:
        """The name that a rule had before the commit in which it got its own; nothing if it was new."""
        now, then = self._rules(number), self._rules(number + 1)
        gone = {former: blob for former, blob in then.items() if former not in now}
        same = [former for former, blob in gone.items() if blob == now.get(name)]
        if same or not gone:
            return same[0] if same else ""
        before, after = self.read(number + 1).protocol, self.read(number).protocol
        if before is None or after is None:
            return ""
        renamed = with_new_names(before, after)[1].rules
        return next((former for former, called in renamed.items() if called == name), "")

    # --- what a commit holds ----------------------------------------------------------------------------------------

    def _read(self, number: int) -> Analysis:
        """The protocol of a commit, on its day; without one, `title` says why there is none."""
        commit = self.commits[number]
        self.looks(number, len(self.commits))
        day = commit.day(self.today)
        try:
            files = self.repository.git.files(self.repository.tree(commit), self.repository.place_in(commit))
            analysis = understand_sources(*read_files(GivenFiles(files.contents, files.links)), day)
        except NoProtocol as no:
            return Analysis(day, (), {}, reason_words(no), "")
        except NotInGit as no:
            return Analysis(day, (), {}, str(no), "")
        if analysis.protocol is None:
            error = next(f for f in analysis.findings if f.severity is Severity.ERROR)
            return replace(analysis, title=f"{error.span.file}:{error.span.line}: {told(error).message}")
        return analysis

    def _edition_of(self, number: int) -> EditionThen | None:
        """What a commit says of its edition, from `protocol.yaml` alone."""
        content = self._head_contents.get(self.heads[number] or "")
        if content is None:
            return None
        root = read_file("protocol.yaml", content, "protocol")[0].root("protocol")
        approved = tuple(
            (text_of(node, "name"), text_of(node, "role"), text_of(node, "on"), text_of(node, "digest").lower())
            for node in listed(get(root, "approved"))
        )
        return EditionThen(text_of(root, "edition"), text_of(root, "status"), text_of(root, "in_force_from"), approved)

    @cached_property
    def _head_contents(self) -> dict[str, bytes | None]:
        """What each `protocol.yaml` holds, by the name of its content; nothing of one that is too large."""
        blobs = list(dict.fromkeys(blob for blob in self.heads if blob is not None))
        found: dict[str, bytes | None] = {}
        for start in range(0, len(blobs), MANY):
            some = blobs[start : start + MANY]
            try:
                found |= zip(some, self.repository.git.contents(some, MAX_BYTES), strict=True)
            except NotInGit:  # more than is read at once, or damaged
                found |= dict.fromkeys(some)
        return found

    # --- what became of the rule ------------------------------------------------------------------------------------

    def turns(self, since: date | None = None) -> Iterator[Turn]:
        """What became of the rule, the newest first; down to a day, if one is given."""
        stretches = self.stretches()
        reach: int | None = None  # the newest commit up to which the rule means what it says in the stretch
        for at, stretch in enumerate(stretches):
            commit = self.commits[stretch.oldest]
            if since is not None and commit.when is not None and commit.when.date() < since:
                return
            older = stretches[at + 1 :]
            if stretch.blob is None:
                reach = None
                if older:
                    yield self._taken_out(stretch)
            elif not (self.is_cut and not older):
                reach = stretch.newest if reach is None else reach
                turn = self._turn(stretch, older, reach)
                reach = reach if turn.what in SAME_MEANING else None
                yield turn

    def _taken_out(self, stretch: Unchanged) -> Turn:
        then = self.edition_of(stretch.oldest)
        about = (then.edition, then.status) if then else ("", "")
        after = self.read(stretch.oldest).protocol
        before = self.read(stretch.oldest + 1).protocol
        called = with_new_names(before, after)[1].rules.get(stretch.name, "") if before and after else ""
        what: What = "renamed" if called else "taken-out"
        return Turn(
            what, self.commits[stretch.oldest], called or stretch.name, *about, old_name=stretch.name if called else ""
        )

    def _turn(self, stretch: Unchanged, older: Sequence[Unchanged], reach: int) -> Turn:
        commit, then = self.commits[stretch.oldest], self.edition_of(stretch.oldest)
        edition, status = (then.edition, then.status) if then else ("", "")
        turn = Turn("unreadable", commit, stretch.name, edition, status)
        number = self._readable(range(stretch.oldest, stretch.newest - 1, -1), stretch.name)
        if number is None:
            return replace(turn, unread=self.read(stretch.oldest).title)
        unread = "" if number == stretch.oldest else self.read(stretch.oldest).title
        after = self.read(number).protocol
        assert after is not None
        base, old_name = self._base(older)
        before = None if base is None else self.read(base).protocol
        change = change_of(before, after, old_name, stretch.name, commit.day(self.today))
        return replace(
            turn, what=change.what, old_name=old_name if old_name != stretch.name else "", notes=change.notes,
            treated=change.treated, comparison=change.comparison, protocol=after, after=after.rules[stretch.name],
            before=before.rules.get(old_name) if before is not None else None, unread=unread,
            held=self._held(stretch.oldest, reach, commit.day(self.today)),
        )  # fmt: skip

    def _readable(self, numbers: Sequence[int], name: str) -> int | None:
        """The first of some commits whose protocol can be read, and holds the rule if it has a name."""
        for number in list(numbers)[:MOST_TRIED]:
            protocol = self.read(number).protocol
            if protocol is not None and (not name or name in protocol.rules):
                return number
        return None

    def _base(self, older: Sequence[Unchanged]) -> tuple[int | None, str]:
        """The last commit before a change whose protocol can be read, and the name that the rule had there, if any.

        A rule that is written anew after it was taken out is a new one.
        """
        for stretch in older:
            name = "" if stretch.blob is None else stretch.name
            number = self._readable(range(stretch.newest, stretch.oldest + 1), name)
            if number is not None or not name:
                return number, name
        return None, ""

    def _held(self, oldest: int, newest: int, changed: date) -> Held:
        """Which of some commits first held in force what the rule says in them."""
        editions = Editions(self.commits, self.edition_of, self._sealed)
        return first_in_force(editions, range(oldest, newest - 1, -1), changed)

    def _sealed(self, number: int) -> str | None:
        protocol = self.read(number).protocol
        return None if protocol is None else protocol.sealed
