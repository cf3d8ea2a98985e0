"""The items of the RIGHT statement as it numbers them.

Chen Y et al., Ann Intern Med 2017;166, doi 10.7326/M16-1565 (volume from memory): 22 topics, and, as a completed form
says, "22 sections and 35 items". That there are seven sections, and which items they hold, is from the statement's
checklist at right-statement.org; the sub-items from 11 on are from memory.
"""

from __future__ import annotations

import re

from liningbook.control.reported import RIGHT
from liningbook.evidence.reporting.right import SECTIONS
from liningbook.say.command import reporting as say

ITEMS = [item for items in SECTIONS.values() for item in items]


def test_there_are_22_topics_and_35_items() -> None:
    assert len(ITEMS) == len(set(ITEMS)) == 35
    topics = [int(re.sub("[a-z]", "", item)) for item in ITEMS]
    assert topics == sorted(topics)
    assert set(topics) == set(range(1, 23))


def test_each_section_has_as_many_items_as_the_statement() -> None:
    assert [len(items) for items in SECTIONS.values()] == [6, 8, 5, 7, 2, 4, 3]


def test_every_item_has_its_words_and_its_row() -> None:
    assert list(say.RIGHT) == ITEMS == list(RIGHT)
    assert list(say.SECTIONS) == list(SECTIONS)
