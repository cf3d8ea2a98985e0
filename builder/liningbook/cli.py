"""The command `liningbook`: arguments, exit codes, and the only place that prints or writes files."""

from __future__ import annotations

import argparse
import gc
import json
import os
import sys
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from liningbook.analysis import Analysis

OUTPUTS = ("protocol", "card", "bundle", "site")

FOUND = 1
"""Exit code: there are errors."""

UNUSABLE = 2
"""Exit code: there is no protocol, or the call is wrong."""


class CannotDo(Exception):
    """Why a command stops, in one line for the user, with its exit code."""

    def __init__(self, reason: str, code: int = UNUSABLE) -> None:
        super().__init__(reason)
        self.code = code


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command; returns its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    # Modules and rules stay until the end, so looking for garbage while they load only costs time (about 20 ms a check).
    gc.set_threshold(100_000, 20, 20)
    parser = _parser()
    options = parser.parse_args(arguments)
    try:
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except CannotDo as stop:
        print(f"liningbook: {stop}", file=sys.stderr)
        return stop.code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("liningbook: stopped", file=sys.stderr)
        return 130
    except OSError as error:
        print(f"liningbook: {_os_words(error)}", file=sys.stderr)
        return FOUND


def _os_words(error: OSError) -> str:
    what = error.strerror or str(error)
    return f"{error.filename}: {what}" if error.filename else what


def _parser() -> argparse.ArgumentParser:
    from liningbook import __version__

    parser = argparse.ArgumentParser(
        prog="liningbook",
        description="Write, check and print a practice's house protocol of pulp protection.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"liningbook {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    day = {"metavar": "DATE", "help": "look at the protocol as it stands on this day (YEAR-MONTH-DAY)"}

    check = commands.add_parser("check", help="find overlaps, conflicts, gaps and mistakes", allow_abbrev=False)
    check.add_argument("protocol", type=Path, metavar="PROTOCOL", help="the folder of the protocol")
    check.add_argument("--format", choices=("text", "json"), default="text", help="how to print what is found")
    check.add_argument("--strict", action="store_true", help="let warnings that are not accepted fail the check too")
    check.add_argument("--accepted", action="store_true", help="list the warnings that the practice accepted as well")
    check.add_argument("--on", **day)  # type: ignore[arg-type]
    check.set_defaults(run=_check)

    case = commands.add_parser("case", help="the advice for one case", allow_abbrev=False)
    case.add_argument("protocol", type=Path, metavar="PROTOCOL", help="the folder of the protocol")
    case.add_argument("values", nargs="*", metavar="FACTOR=VALUE", help="a value for each factor, for example rdt=1.2mm")
    case.add_argument("--format", choices=("text", "json"), default="text", help="how to print the advice")
    case.add_argument("--on", **day)  # type: ignore[arg-type]
    case.set_defaults(run=_case)

    build = commands.add_parser("build", help="print the protocol, the card, the bundle and the page", allow_abbrev=False)
    build.add_argument("protocol", type=Path, metavar="PROTOCOL", help="the folder of the protocol")
    build.add_argument("--out", type=Path, required=True, metavar="DIR", help="the folder to write into")
    build.add_argument("--only", metavar="LIST", help=f"some of {','.join(OUTPUTS)}")
    build.add_argument("--draft", action="store_true", help="build in spite of errors, every page marked as a draft")
    build.add_argument("--crop-marks", action="store_true", help="put crop marks on the card, for a print shop")
    build.add_argument("--on", **day)  # type: ignore[arg-type]
    build.set_defaults(run=_build)
    return parser


# --- check ----------------------------------------------------------------------------------------------------------


def _check(options: argparse.Namespace) -> int:
    from liningbook.finding import Severity
    from liningbook.rendering.report import findings_json, findings_text

    analysis = _analyse(options)
    if options.format == "json":
        _print_json(findings_json(analysis))
    else:
        print(findings_text(analysis, options.accepted), end="")
    failed = analysis.has_errors or (options.strict and analysis.count(Severity.WARNING) > 0)
    return FOUND if failed else 0


def _analyse(options: argparse.Namespace) -> Analysis:
    from liningbook.analysis import analyse
    from liningbook.reading.documents import NoProtocol

    day = _day(options.on)
    try:
        return analyse(options.protocol, day)
    except NoProtocol as no:
        raise CannotDo(str(no)) from None


def _day(text: str | None) -> date:
    if text is not None:
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise CannotDo(f"'{text}' is not a day; write for example --on 2027-01-31") from None
    epoch = _epoch()
    return (datetime.now(UTC) if epoch is None else datetime.fromtimestamp(epoch, UTC)).date()


def _epoch() -> int | None:
    text = os.environ.get("SOURCE_DATE_EPOCH")
    if not text:
        return None
    try:
        datetime.fromtimestamp(int(text), UTC)
    except (ValueError, OverflowError, OSError):
        raise CannotDo("SOURCE_DATE_EPOCH must be a whole number of seconds since 1970") from None
    return int(text)


def _print_json(value: Any) -> None:
    print(json.dumps(value, ensure_ascii=False, indent=1))


# --- case -----------------------------------------------------------------------------------------------------------


def _case(options: argparse.Namespace) -> int:
    from liningbook.logic.decide import decide
    from liningbook.rendering.report import case_json, case_text, findings_text
    from liningbook.rendering.safety import STANDING_CAUTIONS

    analysis = _analyse(options)
    protocol, meaning = analysis.protocol, analysis.meaning
    if protocol is None or meaning is None:
        print(findings_text(analysis), end="", file=sys.stderr)
        return FOUND
    values, numbers = _values(protocol.factors, options.values)
    advice = decide(meaning, meaning.space.cell(values, numbers))
    if options.format == "json":
        _print_json(case_json(values, advice))
    else:
        print(case_text(protocol, values, advice, (*protocol.cautions, *STANDING_CAUTIONS)), end="")
    return 0


def _values(factors: Any, given: Sequence[str]) -> tuple[dict[str, str], dict[str, Any]]:
    from liningbook.model.build_values import NotAValue, read_value
    from liningbook.reading.suggest import did_you_mean

    values: dict[str, str] = {}
    numbers: dict[str, Any] = {}
    for item in given:
        name, equals, text = item.partition("=")
        if not equals:
            raise CannotDo(f"'{item}' is not a factor and its value; write for example {next(iter(factors))}=…")
        if name not in factors:
            near = did_you_mean(name, factors)
            raise CannotDo(f"there is no factor called '{name}'; {near or 'the factors are ' + ', '.join(factors)}")
        if name in values:
            raise CannotDo(f"the factor {name} is given twice")
        try:
            values[name], number = read_value(factors[name], text)
        except NotAValue as no:
            raise CannotDo(f"{no.reason}; {no.instead}" if no.instead else no.reason) from None
        if number is not None:
            numbers[name] = number
    missing = [name for name in factors if name not in values]
    if missing:
        raise CannotDo(f"the case needs a value for {', '.join(missing)}; write for example {missing[0]}=…")
    return {name: values[name] for name in factors}, numbers


# --- build ----------------------------------------------------------------------------------------------------------


def _build(options: argparse.Namespace) -> int:
    from liningbook.rendering.make import CannotMake, make
    from liningbook.rendering.report import findings_text

    wanted = _wanted(options.only)
    analysis = _analyse(options)
    if analysis.protocol is None or (analysis.has_errors and not options.draft):
        print(findings_text(analysis), end="", file=sys.stderr)
        hint = "" if analysis.protocol is None else "; `--draft` builds all the same, with every page marked"
        print(f"liningbook: nothing was written, since there are errors{hint}", file=sys.stderr)
        return FOUND
    _check_writable(options.out)
    files: dict[str, bytes] = {}
    try:
        for name, content in make(analysis, wanted, epoch=_epoch(), crop_marks=options.crop_marks):
            print(f"made {name}", file=sys.stderr)
            files[name] = content
    except CannotMake as no:
        raise CannotDo(f"{no}\nnothing was written", FOUND) from None
    _write_all(options.out, files)
    for name in files:
        print(options.out / name)
    return 0


def _wanted(only: str | None) -> list[str]:
    if only is None:
        return list(OUTPUTS)
    names = [name.strip() for name in only.split(",")]
    for name in names:
        if name not in OUTPUTS:
            raise CannotDo(f"'{name}' is not an output; --only takes some of {','.join(OUTPUTS)}")
    return [name for name in OUTPUTS if name in names]


def _check_writable(out: Path) -> None:
    """Stops before the work is done if the output folder cannot be written to."""
    existing = next(folder for folder in (out, *out.absolute().parents) if folder.exists())
    if not existing.is_dir():
        raise CannotDo(f"{existing} is not a folder", FOUND)
    if not os.access(existing, os.W_OK | os.X_OK):
        raise CannotDo(f"the folder {existing} cannot be written to; choose another with --out", FOUND)


def _write_all(out: Path, files: dict[str, bytes]) -> None:
    """Writes every file beside its place first and moves them in only when all are complete."""
    beside = [(out / name, out / f"{name}.new-{os.getpid()}") for name in files]
    try:
        for (place, new), content in zip(beside, files.values(), strict=True):
            place.parent.mkdir(parents=True, exist_ok=True)
            if place.is_dir():
                raise CannotDo(f"{place} is a folder, where a file is to be written", FOUND)
            with new.open("wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
        for place, new in beside:
            new.replace(place)
    except OSError as error:
        raise CannotDo(f"{_os_words(error)}; the previous output is as it was", FOUND) from None
    finally:
        for _, new in beside:
            new.unlink(missing_ok=True)


if __name__ == "__main__":
    sys.exit(main())
