"""How the protocol was made and appraised, as it is printed and shown: texts by topic, bars with numbers, no total."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.evidence.reporting.agree import domain_scores
from liningbook.model.protocol import Protocol
from liningbook.say.outputs.reporting import DOMAINS, TOPICS, appraised_words
from liningbook.show.paper.paper_html import protocol_html
from liningbook.show.views.evidence.making import making, subtitle
from liningbook.show.views.pieces import DomainBar, Labelled, Making
from liningbook.show.web.page_html import page_html
from tests.rendering import sample_view as sample

BUNDLE = json.dumps({"digest": sample.DIGEST})
MADE = Making(
    (Labelled("Aims", "Fewer <b>pulps</b> lost."), Labelled("Limits of this work", "One person chose the studies.")),
    (DomainBar("Scope and purpose", 57, "57 %"), DomainBar("Editorial independence", 0, "no item applied")),
    "Appraised by 2 readers.",
)


def outputs() -> list[str]:
    view = sample.protocol_view(making=MADE, subtitle="A house protocol & more")
    return [protocol_html(view), page_html(view, BUNDLE)]


@pytest.fixture(scope="module")
def shown(demonstration: Path) -> Protocol:
    found = understand(demonstration, date(2026, 11, 25)).protocol
    assert found is not None
    return found


def test_texts_and_bars_stand_on_paper_and_on_the_page() -> None:
    for text in outputs():
        assert "Fewer &lt;b&gt;pulps&lt;/b&gt; lost." in text.replace("\u00a0", " ")
        assert "A house protocol &amp; more" in text.replace("\u00a0", " ")
        rows = re.search(r'<table class="listing domains">.*?</table>', text, re.DOTALL)
        assert rows is not None
        assert re.findall(r"M0 0h(\d+)v4H0z", rows[0]) == ["57", "0"]
        assert [cell.replace("\u00a0", " ") for cell in re.findall(r'class="percent">(.*?)</td>', rows[0])] == [
            "57 %",
            "no item applied",
        ]
        assert "style=" not in rows[0]


def test_nothing_stands_there_where_nothing_is_said() -> None:
    view = sample.protocol_view()
    for text in (protocol_html(view), page_html(view, BUNDLE)):
        assert 'id="making"' not in text
        assert 'class="subtitle"' not in text


def test_the_demonstration_says_it_in_the_order_of_the_topics(shown: Protocol) -> None:
    made = making(shown)
    assert made is not None
    assert subtitle(shown) == "A house protocol with recommendations"
    said = [fact.label for fact in made.topics]
    assert said == [words for topic, words in TOPICS.items() if words in said]
    assert len(said) == len(shown.reporting) - 1
    assert "Does not apply: No existing review was used." in [fact.text for fact in made.topics]


def test_the_bars_are_the_scores_of_the_domains_and_no_total_is_given(shown: Protocol) -> None:
    made = making(shown)
    assert made is not None
    assert [bar.label for bar in made.domains] == list(DOMAINS.values())
    percents = [score.percent for score in domain_scores(shown.appraisals)]
    assert all(p is not None and abs(bar.percent - p) <= 0.5 for bar, p in zip(made.domains, percents, strict=True))
    assert [bar.words for bar in made.domains] == [f"{bar.percent} %" for bar in made.domains]


def test_too_few_appraisers_are_told() -> None:
    assert "two at least" in appraised_words(1)
    assert "Four are preferred" in appraised_words(2)
    assert "Four are preferred" in appraised_words(3)
    assert "preferred" not in appraised_words(4)
