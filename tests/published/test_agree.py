"""The scaled scores of the domains of AGREE II against its user's manual, and what follows from the formula.

Brouwers et al., AGREE II, CMAJ 2010;182:E839-42, doi 10.1503/cmaj.090449: 23 items in six domains, each scored from 1
to 7. Manual of May 2009, updated September 2013: the worked example of domain 1, and the ends of each domain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

import pytest

from liningbook.evidence.reporting.agree import DOMAINS, ITEMS, Appraisal, DomainScore, Score, domain_scores
from liningbook.finding import Span

HERE = Span("appraisals/one.yaml", 1, 1, 1, 2)


def appraisal(items: Mapping[str, int | None]) -> Appraisal:
    scores = {item: Score(score, "", HERE) for item, score in items.items()}
    return Appraisal("one", HERE.file, HERE, "A. Reader", "", None, scores)


def of_domain(domain: str, *appraisers: Sequence[int | None]) -> DomainScore:
    given = [appraisal(dict(zip(DOMAINS[domain], scores, strict=True))) for scores in appraisers]
    [found] = [score for score in domain_scores(given) if score.domain == domain]
    return found


def test_there_are_23_items_in_six_domains() -> None:
    assert tuple(str(number) for number in range(1, 24)) == ITEMS
    assert [len(items) for items in DOMAINS.values()] == [3, 3, 8, 3, 4, 2]


def test_the_example_of_the_manual_gives_57_percent() -> None:
    score = of_domain("scope", (5, 6, 6), (6, 6, 7), (2, 4, 3), (3, 3, 2))
    assert (score.obtained, score.least, score.most) == (53, 12, 84)
    assert score.percent == Fraction(4100, 72)
    assert round(score.percent) == 57


@pytest.mark.parametrize(
    ("domain", "appraisers", "least", "most"),
    [
        ("scope", 1, 3, 21), ("scope", 2, 6, 42), ("scope", 4, 12, 84),
        ("stakeholders", 2, 6, 42),
        ("rigour", 1, 8, 56), ("rigour", 2, 16, 112), ("rigour", 4, 32, 224),
        ("clarity", 4, 12, 84),
        ("applicability", 1, 4, 28), ("applicability", 2, 8, 56), ("applicability", 4, 16, 112),
        ("independence", 1, 2, 14), ("independence", 2, 4, 28), ("independence", 4, 8, 56),
    ],
)  # fmt: skip
def test_the_ends_of_each_domain_are_those_of_the_manual(domain: str, appraisers: int, least: int, most: int) -> None:
    score = of_domain(domain, *([4] * len(DOMAINS[domain]) for _ in range(appraisers)))
    assert (score.least, score.most) == (least, most)


@pytest.mark.parametrize(("given", "percent"), [(7, 100), (1, 0), (4, 50)])
@pytest.mark.parametrize("domain", DOMAINS)
def test_the_same_score_everywhere_gives_the_same_percentage(domain: str, given: int, percent: int) -> None:
    assert of_domain(domain, *([given] * len(DOMAINS[domain]) for _ in range(3))).percent == percent


def test_two_who_disagree_wholly_give_half() -> None:
    assert of_domain("independence", (7, 7), (1, 1)).percent == 50


def test_one_appraiser_is_scaled_alike() -> None:
    assert of_domain("independence", (3, 6)).percent == Fraction(700, 12)


def test_an_item_that_does_not_apply_counts_nowhere() -> None:
    score = of_domain("scope", (7, None, 1), (7, 7, 1))
    assert (score.obtained, score.least, score.most) == (23, 5, 35)
    assert score.percent == 60
    assert of_domain("scope", (7, None, 1)).percent == of_domain("independence", (7, 1)).percent


def test_a_domain_of_which_nothing_applies_has_no_score() -> None:
    assert of_domain("independence", (None, None)).percent is None
