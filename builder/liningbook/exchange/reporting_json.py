"""What is reported of a protocol, and how it was appraised, as JSON (`reporting --format json`)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from liningbook.control.reported import Item, agree_items, right_items
from liningbook.evidence.reporting.agree import AT_LEAST, PREFERRED, Appraisal, domain_scores
from liningbook.model.protocol import Protocol
from liningbook.say.command.reporting import AGREE, RIGHT


def reporting_json(protocol: Protocol) -> dict[str, Any]:
    """The items of RIGHT, without any score, those of AGREE II, and the scaled scores of its domains."""
    return {
        "protocol": protocol.title,
        "edition": protocol.edition,
        "right": [_item(item, RIGHT[item.item], "section") for item in right_items(protocol)],
        "agree": {
            "items": [_item(item, AGREE[item.item], "domain") for item in agree_items(protocol)],
            "appraisals": _appraisals(protocol.appraisals),
        },
    }


def _item(item: Item, topic: str, part: str) -> dict[str, Any]:
    return {
        "item": item.item,
        part: item.part,
        "topic": topic,
        "state": item.state,
        "where": [
            {"file": place.span.file, "line": place.span.line, "what": place.what, "count": place.count}
            for place in item.where
        ],
        **({"because": item.because} if item.because else {}),
        "fields": list(item.topics),
    }


def _appraisals(appraisals: Sequence[Appraisal]) -> dict[str, Any]:
    """Every appraiser, and the domains; `percent` is absent where no item of a domain applied."""
    return {
        "appraisers": [
            {
                "appraiser": one.appraiser,
                **({"role": one.role} if one.role else {}),
                **({"on": one.on.isoformat()} if one.on else {}),
                "file": one.file,
                "overall": {"quality": one.quality, "recommend": one.recommend},
            }
            for one in appraisals
        ],
        "domains": [
            {
                "domain": score.domain,
                "obtained": score.obtained,
                "least": score.least,
                "most": score.most,
                **({} if score.percent is None else {"percent": float(score.percent)}),
            }
            for score in (domain_scores(appraisals) if appraisals else ())
        ],
        "needed": AT_LEAST,
        "preferred": PREFERRED,
    }
