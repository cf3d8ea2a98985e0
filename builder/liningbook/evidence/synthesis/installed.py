"""Whether there is what putting studies together needs, without loading it."""

from __future__ import annotations

from importlib.util import find_spec


def is_installed() -> bool:
    """Whether scipy can be found (the extra `evidence`)."""
    try:
        return find_spec("scipy") is not None
    except (ImportError, ValueError):
        return False
