"""The withdrawal notice and the register of copies."""

from __future__ import annotations

from liningbook.say.catalogue import Messages

TEXTS: Messages = {}
