"""How a protocol was made, topic by topic, and the domains of AGREE II: the labels that are printed."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from liningbook.evidence.reporting.agree import AT_LEAST, PREFERRED
from liningbook.say.cases import sentences
from liningbook.say.catalogue import N_, gettext, ngettext

TOPICS: Mapping[str, str] = {
    "subtitle": N_("Sort of document"),
    "focus": N_("What the advice is for"),
    "summary": N_("The advice in short"),
    "terms": N_("Terms and abbreviations"),
    "burden": N_("How much the problem weighs"),
    "aims": N_("Aims"),
    "subgroups": N_("Groups of patients"),
    "users": N_("For whom it is written"),
    "settings": N_("Where it is used"),
    "contributors": N_("Who took part, and how they were chosen"),
    "affiliations": N_("Where they belong"),
    "patients": N_("What patients said"),
    "questions": N_("Questions answered"),
    "outcomes": N_("Outcomes, and how they were chosen"),
    "search": N_("The search for studies"),
    "selection": N_("Studies taken and not taken"),
    "reviews": N_("Systematic reviews used"),
    "reviews_judged": N_("How these reviews were judged"),
    "certainty": N_("How certainty was judged"),
    "evidence_limits": N_("Strengths and limits of the evidence"),
    "evidence_link": N_("How the advice is tied to the evidence"),
    "by_subgroup": N_("Where advice differs between groups"),
    "strength": N_("How strong the advice is meant"),
    "benefits_harms": N_("Benefits and harms"),
    "values": N_("What patients value"),
    "cost": N_("Cost and resources"),
    "acceptability": N_("Equity, feasibility, acceptability"),
    "options": N_("Other ways of treating"),
    "decided": N_("How it was decided"),
    "external_review": N_("Review from outside"),
    "quality_assurance": N_("Quality assurance"),
    "funding": N_("Who paid"),
    "funder": N_("What the funder had to say"),
    "interests_managed": N_("How interests were dealt with"),
    "documents": N_("Where the documents are"),
    "barriers": N_("What helps and what hinders"),
    "tools": N_("Tools"),
    "audit": N_("How it is audited"),
    "updating": N_("How it is kept up to date"),
    "gaps": N_("What is not known"),
    "limits": N_("Limits of this work"),
}
"""The topics of `reporting`, in the order in which they are printed."""

DOMAINS: Mapping[str, str] = {
    "scope": N_("Scope and purpose"),
    "stakeholders": N_("Stakeholder involvement"),
    "rigour": N_("Rigour of development"),
    "clarity": N_("Clarity of presentation"),
    "applicability": N_("Applicability"),
    "independence": N_("Editorial independence"),
}


def topic_words(topic: str) -> str:
    """The label of a topic of `reporting`."""
    return gettext(TOPICS[topic]) if topic in TOPICS else topic.replace("_", " ")


def domain_words(domain: str) -> str:
    """The name of a domain of AGREE II."""
    return gettext(DOMAINS[domain])


def not_applicable_words(because: str) -> str:
    """That a topic does not apply, with the authors' reason."""
    return gettext("Does not apply: {because}").format(because=because)


def percent_words(percent: Fraction | None) -> str:
    """A scaled score, `57 %`, rounded half up as the manual of AGREE II does; that there is none otherwise."""
    if percent is None:
        return gettext("no item applied")
    return gettext("{percent} %").format(percent=rounded(percent))


def rounded(percent: Fraction) -> int:
    """A percentage as a whole number, half up."""
    return int(percent + Fraction(1, 2))


def appraised_words(count: int) -> str:
    """By how many readers the protocol was appraised, and whether that is enough."""
    said = ngettext(
        "Appraised by {count} reader with AGREE II; 100 % is the most that a domain can reach.",
        "Appraised by {count} readers with AGREE II; 100 % is the most that a domain can reach.",
        count,
    ).format(count=count)
    if count >= PREFERRED:
        return said
    if count < AT_LEAST:
        more = gettext("AGREE II asks for two at least, better four: this is one view.")
    else:
        more = gettext("Four are preferred.")
    return sentences([said, more])
