"""Why a case gets its advice. English alone: only the command line says it."""

from __future__ import annotations

from collections.abc import Iterable

from liningbook.cases.trace import DEPENDS, DOES_NOT_APPLY, HEARD, SILENCED, Above, Reason, Speaker, Warner
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Factor, Rule
from liningbook.say.amounts import number_words, probability_words
from liningbook.say.cases import condition_words, value_words
from liningbook.say.locale import both, either

HEADING = "WHY"
DECISION = "{decision}: {needed}"
DO_NOT_APPLY = "does not apply here:"


def _needed_on(protocol: Protocol, reason: Reason) -> str:
    """`Management is Restore with the layers below`; nothing if the decision is needed in every case."""
    if reason.decision.needed_when is None:
        return ""
    on, wanted = reason.decision.needed_when
    earlier = protocol.decisions[on]
    labels = [protocol.agents[w].label if w in protocol.agents else earlier.answers.get(w, w) for w in wanted]
    return f"{earlier.label} is {either(labels)}"


def needed_words(protocol: Protocol, reason: Reason) -> str:
    """Whether a decision is needed, and on what that turns."""
    on = _needed_on(protocol, reason)
    if not on:
        return "needed in every case"
    needed = {True: "needed", False: "not needed", None: "not settled"}[reason.needed]
    return f"{needed}: it is if {on}"


def speaker_words(speaker: Speaker) -> str:
    """Why a rule is heard or not."""
    if speaker.status == DOES_NOT_APPLY:
        sets = (
            " and ".join(
                f"{unmet.factor.label} is {value_words(unmet.factor, unmet.value)}, "
                f"the rule wants {condition_words(unmet.factor, unmet.condition)}"
                for unmet in one
            )
            for one in speaker.unmet
        )
        return "; or ".join(sets)
    if speaker.status == DEPENDS:
        return _depends_words(speaker.depends)
    return f"overridden by {_titles(speaker.winners)}" if speaker.winners else "every condition holds"


def warner_words(warner: Warner) -> str:
    """Whether a warning stands."""
    if warner.depends:
        return _depends_words(warner.depends)
    if warner.always:
        return "never, and nothing overrides it"
    return f"switched off by {_titles(warner.winners)}" if warner.winners else "to be avoided"


def _depends_words(factors: Iterable[Factor]) -> str:
    return f"that depends on {both([factor.label for factor in factors])}"


def threshold_words(above: Above) -> str:
    """A threshold in the factor's unit."""
    assert above.factor.unit is not None
    return number_words(above.threshold, above.factor.unit)


def above_words(above: Above) -> str:
    """A probability in a whole sentence."""
    share = probability_words(above.probability)
    return f"Probability that {above.factor.label} is above {threshold_words(above)}: {share} (normal distribution)"


# --- on the terminal --------------------------------------------------------------------------------------------------


def need_words(protocol: Protocol, reason: Reason) -> str:
    """`needed, since Management is Restore with the layers below`."""
    on = _needed_on(protocol, reason)
    if not on:
        return "needed in every case"
    needed = {True: "needed, since", False: "not needed, only if", None: "not settled, needed if"}[reason.needed]
    return f"{needed} {on}"


def speaking_words(reason: Reason, speaker: Speaker, answer: str) -> str:
    """What a rule does in this case: it decides, gives way to another, asks for more; or why it does not apply."""
    title = _titles([speaker.rule])
    if speaker.status == DOES_NOT_APPLY:
        return f"{title} is for {_wanted(speaker)}"
    if speaker.status == DEPENDS:
        return f"asks for {both([factor.label for factor in speaker.depends])}: {title} → {answer}"
    if speaker.status == SILENCED:
        return f"gives way: {title} to {_titles(speaker.winners)}"
    heard = {other.answer for other in reason.speakers if other.status == HEARD}
    decides = "would decide" if reason.needed is False else "decides" if len(heard) == 1 else "disagrees"
    return f"{decides}: {title} → {answer}"


def warning_words(warner: Warner, agent: str) -> str:
    """What a rule rules out, or would."""
    title = _titles([warner.rule])
    if warner.depends:
        return f"asks for {both([factor.label for factor in warner.depends])}: {title} may rule out {agent}"
    if warner.always:
        return f"rules out {agent}: {title}, and nothing overrides it"
    return f"gives way: {title} to {_titles(warner.winners)}" if warner.winners else f"rules out {agent}: {title}"


def _wanted(speaker: Speaker) -> str:
    """What a rule asks for that the case has not, with what it has."""
    sets = (
        both(
            [
                f"{unmet.factor.label} {condition_words(unmet.factor, unmet.condition)} "
                f"(here {value_words(unmet.factor, unmet.value)})"
                for unmet in one
            ]
        )
        for one in speaker.unmet
    )
    return ", or for ".join(dict.fromkeys(sets))


def _titles(rules: Iterable[Rule]) -> str:
    return ", ".join(f"“{rule.title}”" for rule in rules)
