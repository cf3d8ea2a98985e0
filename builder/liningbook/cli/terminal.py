"""The one module that writes to the terminal, or to what stands in its place: a pipe, a file.

Nothing that came from a file gets there raw. What does not show, or would move the cursor or turn the direction of
reading, is written as what it is; so is a sign that the terminal cannot show, unless it has a plain spelling.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any, Literal, TextIO

from liningbook.sources.text import UNSEEN, sign_name

Form = Literal["text", "json", "markup"]
"""What a text is, which says how a sign is written in it that cannot stand there as it is."""

_PLAIN = {
    "≤": "<=", "≥": ">=", "≠": "!=", "±": "+/-", "×": "x", "→": "->", "←": "<-", "µ": "u", "μ": "u", "…": "...",
    "«": ">>>", "»": "<<<",
    **dict.fromkeys("\u2010\u2011\u2012–—−", "-"), **dict.fromkeys("\u2018\u2019\u201a", "'"),
    **dict.fromkeys("“”„", '"'), **dict.fromkeys("\u00a0\u2007\u2009\u202f", " "),
}  # fmt: skip
"""Plain spellings that cannot be taken for anything else, for a terminal that lacks the sign."""

_ESCAPES: dict[Form, Callable[[str], str]] = {
    "text": sign_name,
    "json": lambda sign: json.dumps(sign)[1:-1],
    "markup": lambda sign: f"&#x{ord(sign):X};",
}


_SET_OFF = re.compile(r"«[^»]*»+|>>>.*?<<<|^[A-Z][A-Z ]+$", re.MULTILINE | re.DOTALL)
"""What is set off by quotation marks or capitals, and bold beside that where a terminal can show it."""


def ready_to_print() -> None:
    """Makes both streams write what they are given; a closed one swallows it."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
        if hasattr(getattr(sys, name), "reconfigure"):
            getattr(sys, name).reconfigure(errors="backslashreplace")


def say(text: str, form: Form = "text") -> None:
    """Prints a result at once. A reader that has gone away (`| head`) is no error; a full disk is, an OSError."""
    with suppress(BrokenPipeError):
        _write(sys.stdout, text, form)


def tell(text: str) -> None:
    """Prints a result in which what is set off is bold as well, where that can be shown."""
    with suppress(BrokenPipeError):
        _write(sys.stdout, text, "text", bright=_is_bright(sys.stdout))


def columns(stream: TextIO | None = None) -> int:
    """How many columns a line may take that is printed to a stream, the usual one if none is named."""
    from liningbook.show.terminal.lines import USUAL, WIDEST

    if not (stream or sys.stdout).isatty():
        return USUAL
    from shutil import get_terminal_size

    return min(get_terminal_size((USUAL, 24)).columns, WIDEST)


def print_json(value: Any) -> None:
    """Prints plain values as JSON."""
    say(json.dumps(value, ensure_ascii=False, indent=1) + "\n", "json")


def complain(text: str, start: str = "") -> None:
    """Prints beside the result. Where even that cannot be printed the exit code must do.

    `start` is written as it is: ours, never a file's.
    """
    with suppress(OSError):
        _write(sys.stderr, text, "text", start)


def complain_at_length(text_of: Callable[[int], str]) -> None:
    """Prints beside the result what is as wide as there is room for; what is set off in it is bold as well."""
    with suppress(OSError):
        _write(sys.stderr, text_of(columns(sys.stderr)), "text", bright=_is_bright(sys.stderr))


def _is_bright(stream: TextIO) -> bool:
    """Whether bold can be shown and is wanted: `NO_COLOR` says that it is not."""
    is_shown = os.environ.get("TERM") != "dumb" and (os.name != "nt" or "WT_SESSION" in os.environ)
    return stream.isatty() and is_shown and not os.environ.get("NO_COLOR")


def is_live() -> bool:
    """Whether a line beside the result can be written over by the next one."""
    return sys.stderr.isatty() and os.environ.get("TERM") != "dumb"


def write_over(line: str) -> None:
    """Prints beside the result a line in place of the one that the cursor stands in."""
    complain(line, "\r\x1b[K")


def _write(stream: TextIO, text: str, form: Form, start: str = "", *, bright: bool = False) -> None:
    text = fit_to_print(text, stream.encoding or "utf-8", form)
    try:
        stream.write(start + (_SET_OFF.sub("\x1b[1m\\g<0>\x1b[22m", text) if bright else text))
        stream.flush()
    except OSError:
        # What is still in the buffer must not fail once more when Python ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        raise


def fit_to_print(text: str, encoding: str, form: Form = "text") -> str:
    """The text as it is written in an encoding, whatever it holds."""
    escape = _ESCAPES[form]
    text = UNSEEN.sub(lambda found: escape(found[0]), text)
    if text.isascii() or encoding.lower().replace("_", "-").startswith("utf"):
        return text
    if form != "text":  # JSON is UTF-8 by its standard, and pages say that they are
        return re.sub("[^\x00-\x7f]", lambda found: escape(found[0]), text)
    from unicodedata import normalize

    return "".join(
        sign if _has(encoding, sign) else _PLAIN.get(sign) or escape(sign) for sign in normalize("NFC", text)
    )


def _has(encoding: str, sign: str) -> bool:
    try:
        sign.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True
