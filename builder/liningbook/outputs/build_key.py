"""Whether an output must be made again: the SHA-256 of everything that it is made from.

That is what is handed to the function that makes it, the program with its templates, styles and scripts, and the
versions of everything that draws. No path and no clock goes in, so that the same sources have the same key on every
machine with the same installed versions.
"""

from __future__ import annotations

import hashlib
import sys
import zlib
from collections.abc import Callable, Iterator, Mapping, Set
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from fractions import Fraction
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import liningbook
from liningbook.resources import site_dir

DRAWS = (
    "brotli",
    "cssselect2",
    "font-source-sans-pro",
    "fonttools",
    "jinja2",
    "markdown-it-py",
    "markupsafe",
    "mini-racer",
    "pillow",
    "pydyf",
    "pyphen",
    "rcssmin",
    "rfc8785",
    "rjsmin",
    "segno",
    "tinycss2",
    "tinyhtml5",
    "weasyprint",
    "zopfli",
)
"""The packages on which the bytes of an output depend."""

LIBRARIES = {
    "pango_version": ("libpango-1.0.so.0", "libpango-1.0.dylib", "libpango-1.0-0.dll"),
    "FcGetVersion": ("libfontconfig.so.1", "libfontconfig.1.dylib", "fontconfig-1.dll"),
    "hb_version_string": ("libharfbuzz.so.0", "libharfbuzz.0.dylib", "libharfbuzz-0.dll"),
}
"""The libraries of the system that set the type: the function that tells the version, and where it is found."""


def key_of(*parts: Any) -> str:
    """The SHA-256 of plain values, dataclasses of them, and functions by their name, as 64 hexadecimal digits.

    Raises TypeError for anything of which it cannot be said what it is made of.
    """
    digest = hashlib.sha256()
    for chunk in _spelt(parts):
        digest.update(chunk)
    return digest.hexdigest()


def _spelt(value: Any) -> Iterator[bytes]:
    """The value as bytes from which it could be told again: kind, length, content."""
    if is_dataclass(value) and not isinstance(value, type):
        yield _head(type(value).__qualname__, 0)
        yield from _spelt({field.name: getattr(value, field.name) for field in fields(value)})
    elif isinstance(value, Mapping):
        yield _head("mapping", len(value))
        for name, item in value.items():
            yield from _spelt(name)
            yield from _spelt(item)
    elif isinstance(value, (tuple, list)):
        yield _head("list", len(value))
        for item in value:
            yield from _spelt(item)
    elif isinstance(value, Set):
        yield from _spelt(sorted(key_of(item) for item in value))
    elif isinstance(value, bytes):
        yield _head("bytes", len(value))
        yield value
    elif value is None or isinstance(value, (str, int, float, Fraction, date, Enum)):
        content = str(value).encode()
        yield _head(type(value).__qualname__, len(content))
        yield content
    elif callable(value):
        yield from _spelt(f"{value.__module__}.{value.__qualname__}")
    else:
        raise TypeError(f"cannot say what {type(value).__qualname__} is made of")


def _head(kind: str, length: int) -> bytes:
    return f"{kind}:{length};".encode()


@cache
def program_key() -> str:
    """The SHA-256 of the program: its own files, and the versions of what it draws with."""
    package = Path(liningbook.__file__).parent
    files: dict[str, bytes] = {}
    for name, folder, patterns in (
        ("liningbook", package, ("*.py", "*.po")),
        ("site", site_dir(), ("templates/*", "styles/*", "scripts/*", "fonts/*")),
    ):
        paths = [path for pattern in patterns for path in _all(folder, pattern) if path.is_file()]
        files |= {f"{name}/{path.relative_to(folder).as_posix()}": path.read_bytes() for path in sorted(paths)}
    return key_of(
        files,
        liningbook.__version__,
        list(sys.version_info[:3]),
        zlib.ZLIB_RUNTIME_VERSION,
        {package: _version(package) for package in DRAWS},
        {function: _library(function, names) for function, names in LIBRARIES.items()},
    )


def _all(folder: Path, pattern: str) -> Iterator[Path]:
    return folder.rglob(pattern) if pattern.startswith("*") else folder.glob(pattern)


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return ""


def _library(function: str, names: tuple[str, ...]) -> str:
    """The version that a library of the system tells; nothing where it is not found."""
    import ctypes

    for name in names:
        try:
            ask: Callable[[], int | bytes | None] = getattr(ctypes.CDLL(name), function)
        except (OSError, AttributeError):
            continue
        if function == "hb_version_string":
            ask.restype = ctypes.c_char_p  # type: ignore[attr-defined]
        return str(ask())
    return ""
