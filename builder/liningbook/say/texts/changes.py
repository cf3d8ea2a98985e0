"""What has changed since the last edition: the change sheet, and the same on page and protocol."""

from __future__ import annotations

from liningbook.say.catalogue import Messages

TEXTS: Messages = {}
