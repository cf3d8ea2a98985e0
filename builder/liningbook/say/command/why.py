"""Why a case gets its advice. English alone: only the command line says it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from liningbook.cases.trace import DEPENDS, DOES_NOT_APPLY, HEARD, SILENCED, Above, Reason, Speaker, Warner
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Factor, Rule
from liningbook.say.amounts import number_words, probability_words
from liningbook.say.cases import condition_words, value_words
from liningbook.say.locale import both, either

HEADING = "Why:"
WARNS = "warns: {title}"
STATUSES: Mapping[str, str] = {
    HEARD: "heard",
    SILENCED: "silenced",
    DEPENDS: "not settled",
    DOES_NOT_APPLY: "does not apply",
}


def needed_words(protocol: Protocol, reason: Reason) -> str:
    """Whether a decision is needed, and on what that turns."""
    if reason.decision.needed_when is None:
        return "needed in every case"
    on, wanted = reason.decision.needed_when
    earlier = protocol.decisions[on]
    labels = [protocol.agents[w].label if w in protocol.agents else earlier.answers.get(w, w) for w in wanted]
    needed = {True: "needed", False: "not needed", None: "not settled"}[reason.needed]
    return f"{needed}: it is if {earlier.label} is {either(labels)}"


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


def status_words(reason: Reason, speaker: Speaker) -> str:
    """`silenced: The title of the rule`."""
    is_idle = speaker.status == HEARD and reason.needed is False
    return f"{'would apply' if is_idle else STATUSES[speaker.status]}: {speaker.rule.title}"


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
    return (
        f"Probability that {above.factor.label} is truly above {threshold_words(above)}: {share} (normal distribution)"
    )


def _titles(rules: Iterable[Rule]) -> str:
    return ", ".join(f"“{rule.title}”" for rule in rules)
