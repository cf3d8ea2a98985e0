"""The words in which people read an evidence statement.

Words stand in for the circles that GRADE draws beside its levels: a font may lack the signs, and a sign missing on
paper is a fault.
"""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.evidence.ocebm import canonical_design
from liningbook.say.catalogue import N_, gettext

BASES: Mapping[str, str] = {
    "research": N_("research"),
    "law": N_("law"),
    "instructions": N_("manufacturer's instructions"),
    "good-practice": N_("good practice"),
}

CERTAINTIES: Mapping[str, str] = {
    "high": N_("high certainty"),
    "moderate": N_("moderate certainty"),
    "low": N_("low certainty"),
    "very-low": N_("very low certainty"),
}

CERTAINTY_MEANINGS: Mapping[str, str] = {
    "high": N_("the true effect is very likely close to what the studies show"),
    "moderate": N_("the true effect is probably close to what the studies show, but may differ a good deal"),
    "low": N_("the true effect may differ a good deal from what the studies show"),
    "very-low": N_("the true effect is likely to differ a good deal from what the studies show"),
}

STRENGTHS: Mapping[str, str] = {"strong": N_("strong recommendation"), "conditional": N_("conditional recommendation")}

STRENGTHS_BRIEF: Mapping[str, str] = {"strong": N_("strong"), "conditional": N_("conditional")}
"""Of a recommendation, in a line that goes on with its certainty."""

DESIGNS: Mapping[str, str] = {
    "randomised": N_("randomised trials"),
    "observational": N_("observational studies"),
    "sr-rct": N_("systematic review of randomised trials"),
    "sr-n-of-1": N_("systematic review of trials in single patients"),
    "sr-nested-case-control": N_("systematic review of nested case-control studies"),
    "n-of-1-patient": N_("trial in the patient in question"),
    "rct": N_("randomised trial"),
    "observational-dramatic": N_("observational study with a dramatic effect"),
    "cohort-controlled": N_("controlled cohort study"),
    "case-series": N_("case series"),
    "case-control": N_("case-control study"),
    "historical-control": N_("comparison with earlier patients"),
    "mechanism": N_("reasoning from mechanisms or laboratory work"),
}

DOMAINS: Mapping[str, str] = {
    "risk-of-bias": N_("risk of bias"),
    "inconsistency": N_("results that differ between studies"),
    "indirectness": N_("indirect evidence"),
    "imprecision": N_("imprecise results"),
    "publication-bias": N_("studies probably left unpublished"),
    "large-effect": N_("a large effect"),
    "dose-response": N_("an effect that grows with the dose"),
    "plausible-confounding": N_("bias that would have hidden the effect"),
}

QUESTIONS: Mapping[str, str] = {"benefit": N_("benefit"), "harm": N_("harm")}


def word(table: Mapping[str, str], name: str) -> str:
    """The words for a name by one of the tables; a name without an entry is read with spaces for hyphens."""
    return gettext(table[name]) if name in table else name.replace("-", " ").replace("_", " ")


def design(name: str) -> str:
    """The design of the studies, of either scheme and in any of its spellings: `observational studies`."""
    return word(DESIGNS, name if name in DESIGNS else canonical_design(name) or name)


def level(number: int, question: str) -> str:
    """An OCEBM level with its question: `level 2 of 5 for benefit`; level 1 is the strongest."""
    return gettext("level {number} of 5 for {question}").format(number=number, question=word(QUESTIONS, question))


def certainty_words(name: str) -> tuple[str, str]:
    """A level of certainty, and what it means."""
    return word(CERTAINTIES, name), word(CERTAINTY_MEANINGS, name)


def judgements(lowered: Mapping[str, int], raised: Mapping[str, int]) -> tuple[str, ...]:
    """The judgements that count, one a line: `lowered by 1 for indirect evidence`; nothing for those of 0."""
    down, up = gettext("lowered by {number} for {reason}"), gettext("raised by {number} for {reason}")
    return tuple(
        said.format(number=counted[name], reason=word(DOMAINS, name))
        for said, counted in ((down, lowered), (up, raised))
        for name in DOMAINS
        if counted.get(name)
    )
