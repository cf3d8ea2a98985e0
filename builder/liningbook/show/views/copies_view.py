"""Where the cards hang, as the notice and the register show it: plain data."""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.show.views.view import Identity


@dataclass(frozen=True)
class CopyRow:
    """One place in the practice where a card hangs, or will."""

    number: int
    room: str
    edition: str
    """The edition that hangs there now; nothing if none does."""
    since: str
    """The day on which it was hung, in words; nothing if not known."""
    owes: bool
    """Whether an old edition hangs there that must come down."""
    is_due: bool = False
    """Whether a card of this edition is to be hung there."""

    @property
    def is_open(self) -> bool:
        """Whether anything is to be done there."""
        return self.owes or self.is_due


@dataclass(frozen=True)
class CopiesView:
    """Where the cards hang: for the register and the notice that the old ones are withdrawn."""

    identity: Identity
    rows: tuple[CopyRow, ...]
    replaced: tuple[str, ...]
    """The older editions that hang somewhere, oldest first as the practice lists them."""
