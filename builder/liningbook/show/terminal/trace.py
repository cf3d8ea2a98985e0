"""Why a case gets its advice, as text for people."""

from __future__ import annotations

from liningbook.cases.question import Reply
from liningbook.cases.trace import probabilities, reasons
from liningbook.meaning.meaning import Meaning
from liningbook.say.command import why as say


def why_text(meaning: Meaning, reply: Reply) -> str:
    """The trace, decision by decision, then the probabilities of readings."""
    protocol = meaning.protocol
    lines = [say.HEADING]
    for reason in reasons(meaning, reply):
        decision = reason.decision
        lines.append(f"  {decision.label} ({say.needed_words(protocol, reason)})")
        for speaker in reason.speakers:
            said = say.says_words(protocol, decision, speaker)
            lines.append(f"    {say.status_words(reason, speaker)} → {said}")
            lines.append(f"        {say.speaker_words(speaker)}")
        for warner in reason.warners:
            lines.append(f"    {say.warns_words(warner)} → {say.avoided_words(protocol, decision, warner)}")
            lines.append(f"        {say.warner_words(warner)}")
    lines += [f"  {say.above_words(above)}" for above in probabilities(meaning, reply)]
    return "\n".join(lines) + "\n"
