"""The items of the RIGHT statement by number; their words, which are our own, stand in `say`.

Chen Y et al., A reporting tool for practice guidelines in health care: the RIGHT statement, Ann Intern Med 2017;166,
doi 10.7326/M16-1565: 22 topics in seven sections, 35 items. Its authors advise against making a score of it, so there
is none here.
"""

from __future__ import annotations

from collections.abc import Mapping

SECTIONS: Mapping[str, tuple[str, ...]] = {
    "basic": ("1a", "1b", "1c", "2", "3", "4"),
    "background": ("5", "6", "7a", "7b", "8a", "8b", "9a", "9b"),
    "evidence": ("10a", "10b", "11a", "11b", "12"),
    "recommendations": ("13a", "13b", "13c", "14a", "14b", "14c", "15"),
    "review": ("16", "17"),
    "funding": ("18a", "18b", "19a", "19b"),
    "other": ("20", "21", "22"),
}
"""The items of each section, in their order."""
