"""The findings as the preview shows them."""

from __future__ import annotations

from liningbook.say.catalogue import Messages

TEXTS: Messages = {}
