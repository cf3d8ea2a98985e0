"""Why a case gets its advice, as text for people."""

from __future__ import annotations

from liningbook.cases.question import Reply
from liningbook.cases.trace import probabilities, reasons
from liningbook.meaning.meaning import Meaning
from liningbook.say.answers import answer_words, name_or_label
from liningbook.say.command import why as say


def why_text(meaning: Meaning, reply: Reply) -> str:
    """The trace, decision by decision, then the probabilities of readings."""
    protocol = meaning.protocol
    lines = [say.HEADING]
    for reason in reasons(meaning, reply):
        decision = reason.decision
        lines.append(f"  {decision.label} ({say.needed_words(protocol, reason)})")
        for speaker in reason.speakers:
            said = answer_words(protocol, decision, speaker.answer)
            lines.append(f"    {say.status_words(reason, speaker)} → {said}")
            lines.append(f"        {say.speaker_words(speaker)}")
        for warner in reason.warners:
            avoided = name_or_label(protocol, decision, warner.avoided)
            lines.append(f"    {say.WARNS.format(title=warner.rule.title)} → {avoided}")
            lines.append(f"        {say.warner_words(warner)}")
    lines += [f"  {say.above_words(above)}" for above in probabilities(meaning, reply)]
    return "\n".join(lines) + "\n"
