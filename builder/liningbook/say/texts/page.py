"""The page for the screen."""

from __future__ import annotations

from liningbook.say.catalogue import Messages

TEXTS: Messages = {}
