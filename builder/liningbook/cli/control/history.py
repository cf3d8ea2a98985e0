"""`liningbook history`: what became of a rule, from git."""

from __future__ import annotations

import argparse
from pathlib import Path

from liningbook.cli.common import FOUND, CannotDo, chosen_day, day_of
from liningbook.cli.progress import Progress
from liningbook.cli.terminal import columns, print_json, say
from liningbook.exchange.from_git import NotInGit
from liningbook.exchange.past.history_json import history_json
from liningbook.exchange.past.rule_past import RulePast
from liningbook.exchange.uncommitted import uncommitted
from liningbook.say.control import history as words
from liningbook.say.locale import day_words
from liningbook.show.terminal.lines import reflowed
from liningbook.sources.documents import RULE_NAME
from liningbook.sources.text import visible_name

MOST_COMMITS = 2_000
"""So many commits are looked at; a protocol has had fewer."""


def run(options: argparse.Namespace) -> int:
    """Prints each change of the rule, the newest first."""
    folder, rule = _named(options.rule, options.protocol)
    since = None if options.since is None else day_of(options.since, words.BAD_SINCE)
    try:
        with Progress() as progress:
            progress.begin(rule)
            past = RulePast(folder, rule, MOST_COMMITS, chosen_day(None), lambda number, count: progress.step(
                words.LOOKING.format(number=number + 1, count=count)))  # fmt: skip
            turns = list(past.turns(since))
    except NotInGit as no:
        raise CannotDo(visible_name(str(no)), FOUND) from None
    if not turns and since is None and not (past.is_cut and past.is_known):
        is_there = (folder / "rules" / f"{rule}.md").is_file()
        raise CannotDo((words.NO_PAST if is_there else words.NO_RULE).format(rule=rule, folder=folder), FOUND)
    place = f"{past.repository.place}/rules/{rule}.md".lstrip("/")
    edits = uncommitted(folder, past.repository.place, ())
    is_edited = edits is not None and f"rules/{rule}.md" in edits.files
    if options.format == "json":
        former = [moved.place or "." for moved in past.repository.moves]
        is_whole = not past.is_cut and since is None
        print_json(history_json(rule, place, turns, len(past.commits), is_whole, is_edited, former))
        return 0
    lines = [words.head_line(rule, place), *([words.NOT_COMMITTED] if is_edited else [])]
    for turn in turns:
        lines += ["", *words.turn_lines(turn)]
    count = len(past.commits)
    lines += ["", *(words.moved_line(moved.commit, moved.place) for moved in past.repository.moves)]
    if since is not None:
        lines.append(words.ONLY_SINCE.format(day=day_words(since)))
    elif past.repository.is_shallow:
        lines.append(words.oldest_line(past.commits[-1]))
    else:
        lines.append((words.CUT if past.is_cut else words.ALL).format(count=count))
    lines.append(words.NOT_PROOF)
    say("".join(f"{line}\n" for line in reflowed(lines, columns())))
    return 0


def _named(rule: str, protocol: Path | None) -> tuple[Path, str]:
    """The protocol's folder and the name of the rule, from the path of its file, or from its name and the folder."""
    path = Path(rule)
    if path.suffix == ".md" or len(path.parts) > 1:
        name = path.stem
        folder = protocol if protocol is not None else path.parent.parent if path.parent.name == "rules" else None
        if folder is None and path.parent == Path():
            folder = Path()
    else:
        name, folder = rule, protocol or Path()
    if folder is None or not RULE_NAME.match(name):
        raise CannotDo(words.NOT_A_RULE.format(rule=rule))
    return folder, name
