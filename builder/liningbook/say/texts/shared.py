"""What several outputs say alike."""

from __future__ import annotations

from liningbook.say.catalogue import Messages

TEXTS: Messages = {}
