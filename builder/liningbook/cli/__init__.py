"""The command `liningbook`: arguments and exit codes. This package alone prints and writes files.

Exit codes: 0 nothing is wrong, 1 there are errors, 2 there is no protocol or the call is wrong.
"""

from __future__ import annotations

import argparse
import gc
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from liningbook.cli.common import FOUND, UNUSABLE, CannotDo, complain, os_words, ready_to_print, say
from liningbook.outputs.rows import PARTS
from liningbook.say.command import stops, usage


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command; returns its exit code."""
    ready_to_print()
    # Modules and rules stay until the end: looking for garbage while they load only costs time (20 ms a check).
    gc.set_threshold(100_000, 20, 20)
    options = _options(arguments)
    try:
        code: int = import_module(f"liningbook.cli.{options.command}").run(options)
    except CannotDo as stop:
        complain(stops.complaint(str(stop)))
        return stop.code
    except KeyboardInterrupt:
        complain(stops.complaint(stops.STOPPED))
        return 130
    except OSError as error:
        complain(stops.complaint(os_words(error)))
        return FOUND
    return code


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with a call in one line. `command` is the name of the command that it is for."""

    command = ""

    def option(self, name: str, **how: Any) -> None:
        """Adds an argument; what it is for is said in `say.command.usage`."""
        words = usage.OPTIONS.get(f"{self.command} {name}") or usage.OPTIONS[name]
        self.add_argument(name, help=words, **how)

    def error(self, message: str) -> NoReturn:
        self.exit(UNUSABLE, stops.complaint(usage.bad_call(message, self.prog)))

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
        parser.error(usage.UNRECOGNISED.format(words=" ".join(rest)))
    return options


def _place(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError(usage.EMPTY_NAME)
    return Path(text)


def _parser() -> argparse.ArgumentParser:
    from liningbook import __version__

    parser = _Parser(prog="liningbook", description=usage.DESCRIPTION, allow_abbrev=False)
    parser.add_argument("--version", action="version", version=usage.VERSION_LINE.format(version=__version__))
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for name, add in (
        ("check", _add_check),
        ("case", _add_case),
        ("table", _add_table),
        ("compare", _add_compare),
        ("build", _add_build),
        ("preview", _add_preview),
    ):
        what = usage.COMMANDS[name]
        command = commands.add_parser(name, help=what, description=what, allow_abbrev=False)
        command.command = name
        command.set_defaults(command=name)
        add(command)
    return parser


def _add_folder(command: _Parser) -> None:
    """What all commands but one take: the folder and the day."""
    command.option("protocol", type=_place, metavar="PROTOCOL")
    command.option("--on", metavar="DATE")


def _add_check(command: _Parser) -> None:
    _add_folder(command)
    command.option("--format", choices=("text", "json", "sarif", "junit"), default="text")
    command.option("--strict", action="store_true")
    command.option("--accepted", action="store_true")
    command.option("--mend", action="store_true")
    command.option("--explain", action="store_true")
    command.option("--budget", metavar="SECONDS")


def _add_case(command: _Parser) -> None:
    _add_folder(command)
    command.option("values", nargs="*", metavar="FACTOR=VALUE")
    command.option("--format", choices=("text", "json"), default="text")
    command.option("--why", action="store_true")
    command.option("--chart", type=_place, metavar="FILE.svg")
    command.option("--section", type=_place, metavar="FILE.svg")
    command.option("--cases", type=_place, metavar="FILE.csv")
    command.option("--out", type=_place, metavar="FILE.csv")


def _add_table(command: _Parser) -> None:
    _add_folder(command)
    command.option("--decision", required=True, metavar="DECISION")
    command.option("--format", choices=("text", "csv", "html"), default="text")


def _add_compare(command: _Parser) -> None:
    command.option("old", metavar="OLD")
    command.option("new", metavar="NEW")
    command.option("--repo", type=_place, metavar="DIR")
    command.option("--on", metavar="DATE")
    command.option("--format", choices=("text", "markdown", "json"), default="text")
    command.option("--cases", type=_place, metavar="FILE.csv")
    command.option("--out", type=_place, metavar="FILE.csv")
    command.option("--chart", type=_place, metavar="FILE.svg")
    command.option("--sheet", type=_place, metavar="FILE.pdf")


def _add_build(command: _Parser) -> None:
    _add_folder(command)
    command.option("--out", type=_place, required=True, metavar="DIR")
    command.add_argument("--only", metavar="LIST", help=usage.SOME_OF.format(outputs=",".join(PARTS)))
    command.option("--draft", action="store_true")
    command.option("--crop-marks", action="store_true")
    command.option("--since", metavar="OLD")
    command.option("--repo", type=_place, metavar="DIR")


def _add_preview(command: _Parser) -> None:
    _add_folder(command)
    command.option("--port", metavar="NUMBER")
    command.option("--no-browser", action="store_true")
