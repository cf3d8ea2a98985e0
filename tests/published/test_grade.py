"""Certainty of evidence against published GRADE tables.

Sources, row by row:
BMJ 2004      GRADE Working Group, BMJ 2004;328:1490, table 2.
Otitis media  the table of antibiotics for acute otitis media printed with the GRADE series (J Clin Epidemiol 2011), as
              reproduced in a later publication, not seen in the original.
Halitosis     BMJ Clin Evid 2014:1305 (PMC4168334).
Burning mouth BMJ Clin Evid 2016:1301 (PMC4704679).
The last two print one column `quality` that holds several domains at once; only its sum is published, so how it is
spread over the domains below is ours and does not change the result.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from liningbook.evidence.grade import Manner, certainty, explain, raising_ignored
from liningbook.say.findings.grades import step_words

Counts = Mapping[str, int]

OLDER = Manner(rating_up="arithmetic-2004")


@pytest.mark.parametrize(
    ("design", "lowered", "published"),
    [
        pytest.param("randomised", {"indirectness": 1}, "moderate", id="BMJ 2004: depression severity"),
        pytest.param("randomised", {}, "high", id="BMJ 2004: transient side effects"),
        pytest.param("randomised", {}, "high", id="otitis media: pain at 24 hours"),
        pytest.param("randomised", {}, "high", id="otitis media: pain at 2 to 7 days"),
        pytest.param("randomised", {"indirectness": 1}, "moderate", id="otitis media: tympanometry at 1 month"),
        pytest.param("randomised", {"indirectness": 1}, "moderate", id="otitis media: tympanometry at 3 months"),
        pytest.param("randomised", {"inconsistency": 1}, "moderate", id="otitis media: vomiting, diarrhoea or rash"),
        pytest.param("randomised", {"risk-of-bias": 2}, "low", id="halitosis: mouthwash or placebo"),
        pytest.param(
            "randomised", {"risk-of-bias": 2, "indirectness": 1}, "very-low", id="halitosis: mouthwash or saliva"
        ),
        pytest.param("randomised", {"risk-of-bias": 1}, "moderate", id="halitosis: zinc toothpaste"),
        pytest.param(
            "randomised",
            {"risk-of-bias": 2, "imprecision": 1, "indirectness": 1},
            "very-low",
            id="burning mouth: cognitive behavioural therapy (four levels down from high: held at the lowest)",
        ),
    ],
)
def test_published_certainty_is_found_again(design: str, lowered: Counts, published: str) -> None:
    """None of these rows is raised, so that both ways of rating up give the same."""
    assert certainty(design, lowered, {}) == certainty(design, lowered, {}, OLDER) == published
    assert explain(design, lowered, {})[-1].level == published


def test_a_raise_beside_a_lowering_counted_in_2004_and_does_not_count_now() -> None:
    """BMJ 2004, table 2, poisoning fatalities: printed as moderate, by adding 2 - 1 + 2.

    The present rule (Schünemann et al., J Clin Epidemiol 2019;111:105-14, footnote of table 1) leaves the raise aside.
    """
    lowered, raised = {"risk-of-bias": 1}, {"large-effect": 2}
    assert certainty("observational", lowered, raised, OLDER) == "moderate"
    assert certainty("observational", lowered, raised) == "very-low"
    assert raising_ignored("observational", lowered, raised, OLDER) is None
    assert raising_ignored("observational", lowered, raised) == "lowered"
    assert "not raised by 2 for large effect: raising counts only where nothing is lowered" in map(
        step_words, explain("observational", lowered, raised)
    )


@pytest.mark.parametrize(
    ("design", "lowered", "raised", "printed", "right", "older"),
    [
        # Three rows of one table in a BMJ Open article; the notes for this project name no more of it than that.
        pytest.param(
            "observational", {"risk-of-bias": 1}, {}, "low", "very-low", "very-low", id="serious risk of bias"
        ),
        pytest.param("observational", {}, {}, "moderate", "low", "low", id="neither lowered nor raised"),
        pytest.param(
            "observational",
            {"indirectness": 1},
            {"large-effect": 1},
            "moderate",
            "very-low",
            "low",
            id="indirect, but strong",
        ),
        # J Clin Exp Dent 2024;16:e1120 (PMC11470449).
        pytest.param(
            "randomised",
            {"inconsistency": 1},
            {"large-effect": 2},
            "high",
            "moderate",
            "high",
            id="inconsistent trials",
        ),
        pytest.param(
            "randomised",
            {"publication-bias": 1},
            {"large-effect": 2},
            "high",
            "moderate",
            "high",
            id="suspected publication bias",
        ),
    ],
)
def test_published_certainty_that_breaks_the_rules_is_not_found_again(
    design: str, lowered: Counts, raised: Counts, printed: str, right: str, older: str
) -> None:
    """The older sum lets the two last rows through, which raise trials; the current rule takes none of the five."""
    assert certainty(design, lowered, raised) == right
    assert certainty(design, lowered, raised, OLDER) == older
    assert right != printed


def test_a_large_effect_lifts_observational_studies_to_high_and_no_reason_lifts_them_further() -> None:
    """Smoking and lung cancer, the standing example of Guyatt et al., J Clin Epidemiol 2011;64:1311-6."""
    assert certainty("observational", {}, {"large-effect": 2}) == "high"
    assert certainty("observational", {}, {"large-effect": 2, "dose-response": 1}) == "high"
