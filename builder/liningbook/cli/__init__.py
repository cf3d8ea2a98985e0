"""The command `liningbook`: arguments and exit codes. This package alone prints and writes files.

Exit codes: 0 nothing is wrong, 1 there are errors, 2 there is no protocol or the call is wrong.
"""

from __future__ import annotations

import argparse
import gc
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

from liningbook.cli.common import FOUND, OUTPUTS, UNUSABLE, CannotDo, complain, os_words, ready_to_print, say


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command; returns its exit code."""
    ready_to_print()
    # Modules and rules stay until the end: looking for garbage while they load only costs time (20 ms a check).
    gc.set_threshold(100_000, 20, 20)
    options = _options(arguments)
    try:
        code: int = options.run(options)
    except CannotDo as stop:
        complain(f"liningbook: {stop}\n")
        return stop.code
    except KeyboardInterrupt:
        complain("liningbook: stopped\n")
        return 130
    except OSError as error:
        complain(f"liningbook: {os_words(error)}\n")
        return FOUND
    return code


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with a call in one line."""

    def error(self, message: str) -> NoReturn:
        for pattern, words in (
            (r"the following arguments are required: (.*)", r"\1 is missing"),
            (r"unrecognized arguments: (.*)", r"'\1' is not understood here"),
            (r"argument COMMAND: invalid choice: ('.*?') \(choose from (.*)\)", r"there is no command \1, only \2"),
            (r"argument (.*?): invalid choice: ('.*?') \(choose from (.*)\)", r"\1 cannot be \2, only one of \3"),
            (r"argument (.*?): expected one argument", r"\1 needs a value"),
            (r"argument (.*?): (.*)", r"\1: \2"),
        ):
            if found := re.fullmatch(pattern, message, re.DOTALL):
                message = found.expand(words)
                break
        self.exit(UNUSABLE, f"liningbook: {message}; `{self.prog} --help` says what can be written\n")

    def _print_message(self, message: str, file: Any = None) -> None:
        if message:
            (say if file is sys.stdout else complain)(message)


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    """The options of a call. Values of a case may stand on either side of an option such as `--format`."""
    parser = _parser()
    options, rest = parser.parse_known_args(arguments)
    if hasattr(options, "values"):
        options.values += [item for item in rest if "=" in item and not item.startswith("-")]
        rest = [item for item in rest if item not in options.values]
    if rest:
        parser.error(f"unrecognized arguments: {' '.join(rest)}")
    return options


def _place(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError("the name is empty")
    return Path(text)


def _parser() -> argparse.ArgumentParser:
    from liningbook import __version__

    parser = _Parser(
        prog="liningbook",
        description="Write, check and print a practice's house protocol of pulp protection.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"liningbook {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_check(commands)
    _add_case(commands)
    _add_table(commands)
    _add_compare(commands)
    _add_build(commands)
    _add_preview(commands)
    return parser


def _command(commands: Any, name: str, what: str) -> argparse.ArgumentParser:
    """A command with what all of them take: the folder and the day."""
    command: argparse.ArgumentParser = commands.add_parser(name, help=what, description=what, allow_abbrev=False)
    command.add_argument("protocol", type=_place, metavar="PROTOCOL", help="the folder of the protocol")
    command.add_argument("--on", metavar="DATE", help="look at the protocol as it stands on this day (YEAR-MONTH-DAY)")
    return command


def _add_check(commands: Any) -> None:
    def run(options: argparse.Namespace) -> int:
        from liningbook.cli import check

        return check.run(options)

    command = _command(commands, "check", "find overlaps, conflicts, gaps and mistakes")
    forms = ("text", "json", "sarif", "junit")
    command.add_argument("--format", choices=forms, default="text", help="how to print what is found")
    command.add_argument("--strict", action="store_true", help="let warnings that are not accepted fail the check too")
    command.add_argument("--accepted", action="store_true", help="list the warnings that the practice accepted as well")
    command.add_argument(
        "--mend", action="store_true", help="say for each finding what would mend it; nothing is written"
    )
    command.add_argument(
        "--explain", action="store_true", help="say of each kind found what it means and why it matters"
    )
    command.add_argument("--budget", metavar="SECONDS", help="how long the search for gaps may take (20 if left out)")
    command.set_defaults(run=run)


def _add_case(commands: Any) -> None:
    def run(options: argparse.Namespace) -> int:
        from liningbook.cli import case

        return case.run(options)

    command = _command(commands, "case", "the advice for one case, or for a table of cases")
    command.add_argument(
        "values",
        nargs="*",
        metavar="FACTOR=VALUE",
        help="a value for each factor, for example rdt=1.2mm; rdt.reading=1.2mm is what was read off",
    )
    command.add_argument("--format", choices=("text", "json"), default="text", help="how to print the advice")
    command.add_argument("--why", action="store_true", help="say of every rule why it speaks or does not")
    command.add_argument("--chart", type=_place, metavar="FILE.svg", help="draw the readings against the thresholds")
    command.add_argument(
        "--section", type=_place, metavar="FILE.svg", help="draw the cross-section of the tooth with its layers"
    )
    command.add_argument("--cases", type=_place, metavar="FILE.csv", help="a table of cases, a column a factor")
    command.add_argument("--out", type=_place, metavar="FILE.csv", help="where to write the table with the advice")
    command.set_defaults(run=run)


def _add_table(commands: Any) -> None:
    def run(options: argparse.Namespace) -> int:
        from liningbook.cli import table

        return table.run(options)

    command = _command(commands, "table", "a whole decision as a table of disjoint rows")
    command.add_argument("--decision", required=True, metavar="DECISION", help="the decision, for example liner")
    command.add_argument("--format", choices=("text", "csv", "html"), default="text", help="how to print the table")
    command.set_defaults(run=run)


def _add_preview(commands: Any) -> None:
    def run(options: argparse.Namespace) -> int:
        from liningbook.cli import preview

        return preview.run(options)

    command = _command(commands, "preview", "show the page in the browser, anew at every save, with what is found")
    command.add_argument("--port", metavar="NUMBER", help="the port on this machine (another free one if left out)")
    command.add_argument("--no-browser", action="store_true", help="do not open the browser; only print the address")
    command.set_defaults(run=run)


def _add_compare(commands: Any) -> None:
    def run(options: argparse.Namespace) -> int:
        from liningbook.cli import compare

        return compare.run(options)

    what = "which cases two versions treat differently"
    command: argparse.ArgumentParser = commands.add_parser("compare", help=what, description=what, allow_abbrev=False)
    version = "a protocol's folder, a bundle.json, or with --repo a git revision (main, HEAD~1:guidelines/mine)"
    command.add_argument("old", metavar="OLD", help=version)
    command.add_argument("new", metavar="NEW", help="the same")
    command.add_argument(
        "--repo", type=_place, metavar="DIR", help="the git repository, or the protocol's folder in it"
    )
    command.add_argument("--on", metavar="DATE", help="look at both as they stand on this day (YEAR-MONTH-DAY)")
    command.add_argument("--format", choices=("text", "markdown", "json"), default="text", help="how to print it")
    command.add_argument("--cases", type=_place, metavar="FILE.csv", help="a table of past cases, a column a factor")
    command.add_argument("--out", type=_place, metavar="FILE.csv", help="where to write the rows that are affected")
    command.add_argument("--chart", type=_place, metavar="FILE.svg", help="draw the charts before and after")
    command.add_argument("--sheet", type=_place, metavar="FILE.pdf", help="print what changes, for a meeting")
    command.set_defaults(run=run)


def _add_build(commands: Any) -> None:
    def run(options: argparse.Namespace) -> int:
        from liningbook.cli import build

        return build.run(options)

    command = _command(commands, "build", "print the protocol, the card, the bundle and the page")
    command.add_argument("--out", type=_place, required=True, metavar="DIR", help="the folder to write into")
    command.add_argument("--only", metavar="LIST", help=f"some of {','.join(OUTPUTS)}")
    command.add_argument("--draft", action="store_true", help="build in spite of errors, every page marked as a draft")
    command.add_argument("--fresh", action="store_true", help="make everything again, what has not changed as well")
    command.add_argument("--crop-marks", action="store_true", help="put crop marks on the card, for a print shop")
    command.add_argument(
        "--since",
        metavar="OLD",
        help="say what has changed since this version: a folder, a bundle.json, or with --repo a git revision",
    )
    command.add_argument(
        "--repo", type=_place, metavar="DIR", help="the git repository of --since, or the protocol's folder in it"
    )
    command.set_defaults(run=run)
