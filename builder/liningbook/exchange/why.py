"""Why a case gets its advice, as the JSON of `case --why --format json`."""

from __future__ import annotations

from typing import Any

from liningbook.cases.question import Reply
from liningbook.cases.trace import Reason, probabilities, reasons
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.say.amounts import probability_words
from liningbook.say.answers import answer_words, name_or_label
from liningbook.say.command import why as say


def why_json(meaning: Meaning, reply: Reply) -> dict[str, Any]:
    """The trace, decision by decision, and the probabilities of readings."""
    return {
        "decisions": {reason.decision.id: _reason_json(meaning.protocol, reason) for reason in reasons(meaning, reply)},
        "probability_above": [
            {
                "factor": above.factor.label,
                "threshold": say.threshold_words(above),
                "probability": probability_words(above.probability),
            }
            for above in probabilities(meaning, reply)
        ],
    }


def _reason_json(protocol: Protocol, reason: Reason) -> dict[str, Any]:
    return {
        "needed": "open" if reason.needed is None else reason.needed,
        "because": say.needed_words(protocol, reason),
        "rules": [
            {
                "rule": speaker.rule.id,
                "says": answer_words(protocol, reason.decision, speaker.answer),
                "status": speaker.status,
                "because": say.speaker_words(speaker),
            }
            for speaker in reason.speakers
        ],
        "warnings": [
            {
                "rule": warner.rule.id,
                "avoid": name_or_label(protocol, reason.decision, warner.avoided),
                "because": say.warner_words(warner),
            }
            for warner in reason.warners
        ],
    }
