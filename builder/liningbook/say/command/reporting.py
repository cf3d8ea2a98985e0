"""What `liningbook reporting` says: the items of RIGHT and AGREE II in short words of our own, and what to do next."""

from __future__ import annotations

from collections.abc import Mapping

SECTIONS: Mapping[str, str] = {
    "basic": "Basic information",
    "background": "Background",
    "evidence": "Evidence",
    "recommendations": "Recommendations",
    "review": "Review and quality assurance",
    "funding": "Funding and interests",
    "other": "Other information",
}

RIGHT: Mapping[str, str] = {
    "1a": "the title says what sort of document it is",
    "1b": "the year",
    "1c": "what the advice is for: prevention, diagnosis, treatment",
    "2": "a summary of the advice",
    "3": "terms and abbreviations",
    "4": "whom to ask",
    "5": "how much the problem weighs",
    "6": "aims",
    "7a": "the patients it is about",
    "7b": "groups of patients that need another look",
    "8a": "who is to use it",
    "8b": "where it is to be used",
    "9a": "how contributors were chosen, and what they did",
    "9b": "everybody who took part, with role and affiliation",
    "10a": "the questions, with patients, treatment, comparison and outcome",
    "10b": "how the outcomes were chosen",
    "11a": "new or existing systematic reviews",
    "11b": "how existing reviews were found, judged and kept current",
    "12": "how the certainty of the evidence was judged",
    "13a": "clear advice that can be acted on",
    "13b": "advice of its own for groups that need it",
    "13c": "strength of the advice and certainty of the evidence",
    "14a": "values and preferences of patients",
    "14b": "cost and resources",
    "14c": "equity, feasibility, acceptability",
    "15": "how the group came to its advice",
    "16": "review from outside, and what became of the comments",
    "17": "quality assurance",
    "18a": "who paid for each stage",
    "18b": "what the funder had to say",
    "19a": "interests declared",
    "19b": "how interests were judged and managed, and where to read them",
    "20": "where the document and what belongs to it can be had",
    "21": "gaps in the evidence",
    "22": "limits of the work itself",
}

AGREE: Mapping[str, str] = {
    "1": "objectives",
    "2": "health questions",
    "3": "patients it is about",
    "4": "professions in the group",
    "5": "views of patients",
    "6": "target users",
    "7": "search for evidence",
    "8": "how evidence was selected",
    "9": "strengths and limits of the evidence",
    "10": "how advice was arrived at",
    "11": "benefits and harms weighed",
    "12": "link between advice and evidence",
    "13": "external review",
    "14": "procedure for updating",
    "15": "advice specific and clear",
    "16": "options laid out",
    "17": "key advice easy to find",
    "18": "facilitators and barriers",
    "19": "tools for putting it into practice",
    "20": "what it takes in resources",
    "21": "criteria for audit",
    "22": "no influence of the funder",
    "23": "interests recorded and dealt with",
}

PLACES: Mapping[str, str] = {
    "title": "the title",
    "edition": "the edition",
    "in_force_from": "the day from which it is in force",
    "contact": "the contact",
    "scope": "the scope",
    "site_address": "the address of the page",
    "authors": "the authors with their interests",
    "rules": "a rule that advises",
    "grades": "the grade of a rule",
    "citations": "what a rule rests on",
    "decisions": "a decision with more than one answer",
    "tables": "the question of a study table",
    "searches": "the search of a study table",
    "judgements": "a judgement of studies, with its reason",
    "weighed": "a study table with outcomes of benefit and of harm",
}
"""What stands at a place that is no text of `reporting`."""

RIGHT_HEAD = "RIGHT: what a reader is told (no score)"
AGREE_HEAD = "AGREE II: where an appraiser finds what each item is about"
OPEN = "Not reported yet: {count}. Say it in protocol.yaml under `reporting`, a text a topic, in your own words. "
OPEN += "What does not apply says why: `cost: {{not_applicable: why}}`."
ALL_TOLD = "Nothing is left out: every item is reported, or it is said why it does not apply."
WRITE = "for example: {example}"
WRITE_SAME = "`{topic}`, as for RIGHT {item}"
WRITE_IN = "write `{field}` in protocol.yaml"
WRITE_RULES = "say it in the rules themselves"
NOT_APPLICABLE = "does not apply: {because}"
COUNTED = "{what}, the first of {count}"
SCORES_HEAD = "AGREE II: scaled scores of the domains, never added up"
NO_APPRAISAL = (
    "Nobody has appraised it yet: each appraiser writes a file of appraisals/ (`liningbook fields appraisal`)."
)
QUALITY = "quality of the whole {quality} of 7"
RECOMMENDS: Mapping[str, str] = {
    "yes": "would recommend it",
    "with-changes": "would recommend it with changes",
    "no": "would not recommend it",
}
READ_MORE = (
    "Checklists: RIGHT statement, doi 10.7326/M16-1565; AGREE II, doi 10.1503/cmaj.090449. The words here are ours."
)

FIELD_OF_FACT: Mapping[str, str] = {
    "1b": "in_force_from",
    "4": "contact",
    "7a": "scope",
    "19a": "authors",
}
"""The field that reports an item of RIGHT for which `reporting` has no topic; the others are of the rules."""
