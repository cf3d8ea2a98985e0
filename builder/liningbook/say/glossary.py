"""The trade's terms, one word each in a language: what every message must use.

A catalogue gives each term under the context `glossary`; several forms that are all right stand with ` | ` between
them. `tests/unit/say/test_glossary.py` holds every translated message against it.
"""

from __future__ import annotations

from liningbook.say.catalogue import pgettext


def terms() -> dict[str, str]:
    """The English terms with those of the language spoken."""
    return {
        "remaining dentine thickness": pgettext("glossary", "remaining dentine thickness"),
        "dentine": pgettext("glossary", "dentine"),
        "enamel": pgettext("glossary", "enamel"),
        "pulp": pgettext("glossary", "pulp"),
        "cavity": pgettext("glossary", "cavity"),
        "tooth": pgettext("glossary", "tooth"),
        "restoration": pgettext("glossary", "restoration"),
        "layer": pgettext("glossary", "layer"),
        "coat": pgettext("glossary", "coat"),
        "agent": pgettext("glossary", "agent"),
        "irritant": pgettext("glossary", "irritant"),
        "allergies": pgettext("glossary", "allergies"),
        "dentist": pgettext("glossary", "dentist"),
        "clinician": pgettext("glossary", "clinician"),
        "practice": pgettext("glossary", "practice"),
        "surgery": pgettext("glossary", "surgery"),
        "protocol": pgettext("glossary", "protocol"),
        "edition": pgettext("glossary", "edition"),
        "draft": pgettext("glossary", "draft"),
        "rule": pgettext("glossary", "rule"),
        "decision": pgettext("glossary", "decision"),
        "advice": pgettext("glossary", "advice"),
        "departures": pgettext("glossary", "departures"),
        "threshold": pgettext("glossary", "threshold"),
        "reading": pgettext("glossary", "reading"),
        "uncertainty": pgettext("glossary", "uncertainty"),
        "certainty": pgettext("glossary", "certainty"),
        "recommendation": pgettext("glossary", "recommendation"),
        "evidence": pgettext("glossary", "evidence"),
        "good practice": pgettext("glossary", "good practice"),
        "randomised": pgettext("glossary", "randomised"),
        "observational": pgettext("glossary", "observational"),
        "review": pgettext("glossary", "review"),
        "caution": pgettext("glossary", "caution"),
        "digest": pgettext("glossary", "digest"),
    }
