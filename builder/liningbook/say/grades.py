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
    "local-random-survey": N_("random sample survey of the place, or census"),
    "sr-surveys": N_("systematic review of surveys that fit the place"),
    "local-survey": N_("survey of the place without a random sample"),
    "sr-diagnostic": N_("systematic review of blinded studies of the test against one reference"),
    "diagnostic-consecutive": N_("blinded study of the test against one reference"),
    "diagnostic-selected": N_("study of the test on selected patients, or not always against the reference"),
    "diagnostic-poor-reference": N_("study of the test against a poor reference"),
    "sr-inception-cohort": N_("systematic review of cohorts from the beginning of the disease"),
    "inception-cohort": N_("cohort from the beginning of the disease"),
    "prognostic-cohort": N_("cohort study"),
    "trial-control-arm": N_("control arm of a randomised trial"),
    "poor-prognostic-cohort": N_("cohort study of poor quality"),
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

SITUATIONS: Mapping[str, str] = {
    "life-at-stake": N_("a life or as much is at stake"),
    "harm-surer-than-benefit": N_("the harm is surer than the benefit"),
    "alike-but-surely-safer": N_("as good as far as is known, and surely safer or cheaper"),
    "surely-alike-perhaps-riskier": N_("surely as good, and perhaps riskier"),
    "possible-disaster": N_("a disaster is possible"),
}
"""The five situations in which a strong recommendation may rest on low certainty."""

GOOD_PRACTICE: Mapping[str, str] = {
    "what_exactly": N_("What exactly"),
    "why_needed": N_("Why practice needs it"),
    "what_is_gained": N_("What is gained"),
    "why_no_study": N_("Why no study is looked for"),
    "how_it_follows": N_("How it follows"),
}
"""The five questions of a good practice statement."""

SETTINGS: Mapping[str, str] = {
    "patients": N_("on patients"),
    "animals": N_("on animals"),
    "laboratory": N_("in a laboratory"),
}
"""Where the work was done."""

QUESTIONS: Mapping[str, str] = {
    "prevalence": N_("how common it is"),
    "diagnosis": N_("how right a test is"),
    "prognosis": N_("what happens without treatment"),
    "benefit": N_("benefit"),
    "harm": N_("harm"),
    "rare-harm": N_("rare harm"),
    "screening": N_("screening"),
}


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


def judged_words(domain: str, level: int, is_raised: bool) -> str:
    """A judgement: `lowered by 1 for imprecision`, `not lowered for imprecision`."""
    reason = word(DOMAINS, domain)
    if level:
        said = gettext("raised by {number} for {reason}") if is_raised else gettext("lowered by {number} for {reason}")
        return said.format(number=level, reason=reason)
    said = gettext("not raised for {reason}") if is_raised else gettext("not lowered for {reason}")
    return said.format(reason=reason)
