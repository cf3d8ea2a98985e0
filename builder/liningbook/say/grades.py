"""The words in which people read an evidence statement.

Words stand in for the circles that GRADE draws beside its levels: a font may lack the signs, and a sign missing on
paper is a fault.
"""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.evidence.ocebm import canonical_design

BASES: Mapping[str, str] = {
    "research": "research",
    "law": "law",
    "instructions": "manufacturer's instructions",
    "good-practice": "good practice",
}

CERTAINTIES: Mapping[str, str] = {
    "high": "high certainty",
    "moderate": "moderate certainty",
    "low": "low certainty",
    "very-low": "very low certainty",
}

CERTAINTY_MEANINGS: Mapping[str, str] = {
    "high": "the true effect is very likely close to what the studies show",
    "moderate": "the true effect is probably close to what the studies show, but may differ a good deal",
    "low": "the true effect may differ a good deal from what the studies show",
    "very-low": "the true effect is likely to differ a good deal from what the studies show",
}

STRENGTHS: Mapping[str, str] = {"strong": "strong recommendation", "conditional": "conditional recommendation"}

DESIGNS: Mapping[str, str] = {
    "randomised": "randomised trials",
    "observational": "observational studies",
    "sr-rct": "systematic review of randomised trials",
    "sr-n-of-1": "systematic review of trials in single patients",
    "sr-nested-case-control": "systematic review of nested case-control studies",
    "n-of-1-patient": "trial in the patient in question",
    "rct": "randomised trial",
    "observational-dramatic": "observational study with a dramatic effect",
    "cohort-controlled": "controlled cohort study",
    "case-series": "case series",
    "case-control": "case-control study",
    "historical-control": "comparison with earlier patients",
    "mechanism": "reasoning from mechanisms or laboratory work",
}

DOMAINS: Mapping[str, str] = {
    "risk-of-bias": "risk of bias",
    "inconsistency": "results that differ between studies",
    "indirectness": "indirect evidence",
    "imprecision": "imprecise results",
    "publication-bias": "studies probably left unpublished",
    "large-effect": "a large effect",
    "dose-response": "an effect that grows with the dose",
    "plausible-confounding": "bias that would have hidden the effect",
}

QUESTIONS: Mapping[str, str] = {"benefit": "benefit", "harm": "harm"}


def basis(name: str) -> str:
    """What a rule rests on: `good practice`."""
    return _word(BASES, name)


def certainty(name: str) -> str:
    """A GRADE level: `very low certainty`."""
    return _word(CERTAINTIES, name)


def certainty_meaning(name: str) -> str:
    """What a GRADE level says of the true effect, as half a sentence."""
    return _word(CERTAINTY_MEANINGS, name)


def strength(name: str) -> str:
    """The strength of a recommendation: `conditional recommendation`."""
    return _word(STRENGTHS, name)


def design(name: str) -> str:
    """The design of the studies, of either scheme and in any of its spellings: `observational studies`."""
    return _word(DESIGNS, name if name in DESIGNS else canonical_design(name) or name)


def domain(name: str) -> str:
    """A reason for lowering or raising: `indirect evidence`."""
    return _word(DOMAINS, name)


def level(number: int, question: str) -> str:
    """An OCEBM level with its question: `level 2 of 5 for benefit`; level 1 is the strongest."""
    return f"level {number} of 5 for {_word(QUESTIONS, question)}"


def judgements(lowered: Mapping[str, int], raised: Mapping[str, int]) -> tuple[str, ...]:
    """The judgements that count, one a line: `lowered by 1 for indirect evidence`; nothing for those of 0."""
    down = [f"lowered by {lowered[name]} for {domain(name)}" for name in DOMAINS if lowered.get(name)]
    up = [f"raised by {raised[name]} for {domain(name)}" for name in DOMAINS if raised.get(name)]
    return (*down, *up)


def _word(table: Mapping[str, str], name: str) -> str:
    """The words for a name; a name without an entry is read with spaces for hyphens."""
    return table.get(name, name.replace("-", " ").replace("_", " "))
