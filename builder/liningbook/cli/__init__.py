"""The command `liningbook`: arguments and exit codes. This package alone prints and writes files.

Exit codes: 0 nothing is wrong, 1 there are errors, 2 there is no protocol or the call is wrong.
"""

from __future__ import annotations

import argparse
import gc
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from liningbook.cli.common import FOUND, UNUSABLE, CannotDo, os_words
from liningbook.cli.terminal import columns, complain, ready_to_print, say
from liningbook.outputs.rows import PARTS
from liningbook.say.command import stops, usage


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command; returns its exit code."""
    ready_to_print()
    # Modules and rules stay until the end: looking for garbage while they load only costs time (20 ms a check).
    gc.set_threshold(100_000, 20, 20)
    options = _options(arguments)
    try:
        place = "cli.control" if options.command in _CONTROL else "cli"
        code: int = import_module(f"liningbook.{place}.{options.command}").run(options)
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
    """Says what is wrong with a call in one line."""

    def error(self, message: str) -> NoReturn:
        complain(stops.complaint(usage.bad_call(message, self.prog)))
        self.exit(UNUSABLE)

    def _print_message(self, message: str, file: Any = None) -> None:  # noqa: ARG002
        say(message)  # the help, or the version: argparse prints nothing else by itself


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


def _parser() -> argparse.ArgumentParser:
    from liningbook import __version__

    parser = _Parser(prog="liningbook", description=usage.DESCRIPTION, allow_abbrev=False, formatter_class=_help)
    parser.add_argument("--version", action="version", version=usage.VERSION_LINE.format(version=__version__))
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for name, what in usage.COMMANDS.items():
        command = commands.add_parser(name, help=what, description=what, allow_abbrev=False, formatter_class=_help)
        command.set_defaults(command=name)
        for option, how in _ARGUMENTS[name].items():
            words = usage.OPTIONS.get(f"{name} {option}") or usage.OPTIONS[option]
            command.add_argument(option, help=words.format(outputs=",".join(PARTS)), **how)
    return parser


def _help(prog: str) -> argparse.HelpFormatter:
    return argparse.HelpFormatter(prog, width=columns() - 2)


def _place(text: str) -> Path:
    if not text.strip():
        raise argparse.ArgumentTypeError(usage.EMPTY_NAME)
    return Path(text)


def _value(**how: Any) -> dict[str, Any]:
    return how


def _path(**how: Any) -> dict[str, Any]:
    return {"type": _place, **how}


def _format(*choices: str) -> dict[str, Any]:
    return {"choices": choices, "default": choices[0]}


_CONTROL = ("approve", "cited", "evidence", "history", "reporting")
"""The commands that lie in `cli/control/`."""

_FLAG = {"action": "store_true"}
_FOLDER = {"protocol": _path(metavar="PROTOCOL"), "--on": _value(metavar="DATE")}
_ARGUMENTS: Mapping[str, Mapping[str, dict[str, Any]]] = {
    "check": {
        **_FOLDER,
        "--format": _format("text", "json", "sarif", "junit"),
        "--strict": _FLAG,
        "--accepted": _FLAG,
        "--mend": _FLAG,
        "--explain": _FLAG,
        "--budget": _value(metavar="SECONDS"),
        "--retracted": _path(metavar="FILE.csv"),
    },
    "case": {
        **_FOLDER,
        "values": _value(nargs="*", metavar="FACTOR=VALUE"),
        "--format": _format("text", "json"),
        "--why": _FLAG,
        "--complete": _FLAG,
        "--chart": _path(metavar="FILE.svg"),
        "--section": _path(metavar="FILE.svg"),
        "--cases": _path(metavar="FILE.csv"),
        "--words": _path(metavar="FILE.yaml"),
        "--out": _path(metavar="FILE.csv"),
    },
    "table": {
        **_FOLDER,
        "--decision": _value(required=True, metavar="DECISION"),
        "--format": _format("text", "csv", "html"),
    },
    "compare": {
        "old": _value(metavar="OLD"),
        "new": _value(metavar="NEW"),
        "--repo": _path(metavar="DIR"),
        "--on": _value(metavar="DATE"),
        "--format": _format("text", "markdown", "json"),
        "--cases": _path(metavar="FILE.csv"),
        "--words": _path(metavar="FILE.yaml"),
        "--out": _path(metavar="FILE.csv"),
        "--chart": _path(metavar="FILE.svg"),
        "--sheet": _path(metavar="FILE.pdf"),
    },
    "build": {
        **_FOLDER,
        "--out": _path(required=True, metavar="DIR"),
        "--only": _value(metavar="LIST"),
        "--draft": _FLAG,
        "--crop-marks": _FLAG,
        "--retracted": _path(metavar="FILE.csv"),
        "--since": _value(metavar="OLD"),
        "--repo": _path(metavar="DIR"),
    },
    "cited": {
        "key": _value(metavar="KEY"),
        "protocol": _path(nargs="?", metavar="PROTOCOL"),
        "--on": _value(metavar="DATE"),
        "--format": _format("text", "json"),
        "--retracted": _path(metavar="FILE.csv"),
    },
    "reporting": {**_FOLDER, "--format": _format("text", "json")},
    "history": {
        "rule": _value(metavar="RULE"),
        "protocol": _path(nargs="?", metavar="PROTOCOL"),
        "--since": _value(metavar="DATE"),
        "--format": _format("text", "json"),
    },
    "approve": {
        **_FOLDER,
        "--name": _value(required=True, metavar="NAME"),
        "--role": _value(required=True, metavar="ROLE"),
    },
    "evidence": {
        **_FOLDER,
        "--format": _format("text", "json"),
        "--retracted": _path(metavar="FILE.csv"),
        "--with": _path(metavar="STUDY.yaml"),
        "--out": _path(metavar="DIR"),
    },
    "fields": {"topic": _value(nargs="?", metavar="FILE"), "--format": _format("text", "markdown")},
    "preview": {**_FOLDER, "--port": _value(metavar="NUMBER"), "--no-browser": _FLAG},
}
"""The arguments of each command, in the order of its help; what they are for is said in `say.command.usage`."""
