"""What covers an edition that must not be used for patients, and from which day it may be used."""

from __future__ import annotations

import json
from datetime import date

from liningbook.say.outputs import cover
from liningbook.show.views.view import Identity


def first_day(bundle_json: str) -> date | None:
    """The first day on which a bundle's advice may be used: it is in force, and its rules are those of the day."""
    bundle = json.loads(bundle_json)
    days = (bundle.get("protocol", {}).get("in_force_from"), bundle.get("holds", {}).get("from"))
    return max((date.fromisoformat(day) for day in days if day), default=None)


def cover_words(identity: Identity, use_from: date | None = None) -> cover.CoverWords:
    """What the page says of this edition; `use_from` is the first day of its use, where that is known."""
    always = ""
    if identity.status == "withdrawn":
        always = cover.withdrawn_cover()
    elif identity.is_draft_build:
        always = cover.draft_cover(len(identity.open_findings))
    elif identity.status == "draft":
        always = cover.draft_cover()
    return cover.cover_words(always, identity.edition, identity.contact, identity.use_until, use_from)
