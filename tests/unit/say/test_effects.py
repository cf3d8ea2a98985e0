"""The verb follows the certainty, the count its sign, and the number needed goes through infinity."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from liningbook.evidence.synthesis.concluded import concluded
from liningbook.evidence.synthesis.result import Absolute, Heterogeneity, LeftOut, NumberNeeded, Pooled, Synthesis
from liningbook.evidence.synthesis.synthesise import synthesise
from liningbook.evidence.table import OutcomeTable
from liningbook.say.outputs import effects, forests
from tests.rendering import sample_tables as sample

HARM = sample.NECROSIS
CERTAIN = {
    "high": "happens less often",
    "moderate": "probably happens less often",
    "low": "may happen less often",
    "very-low": "may happen less often, but the evidence is very uncertain",
    "": "happened less often in these studies",
}


def pooled(low: float, high: float) -> Synthesis:
    return Synthesis(True, (), pooled=Pooled((low + high) / 2, 0.1, low, high))


@pytest.mark.parametrize("certainty", CERTAIN)
def test_the_verb_follows_the_certainty(certainty: str) -> None:
    outcome = replace(HARM, certainty=certainty)
    assert effects.effect_words(outcome, concluded(outcome, pooled(-1.2, -0.1))) == CERTAIN[certainty]


@pytest.mark.parametrize("certainty", CERTAIN)
@pytest.mark.parametrize("measure", ["risk-ratio", "odds-ratio", "risk-difference", "mean-difference"])
def test_there_are_words_for_every_conclusion(measure: str, certainty: str) -> None:
    outcome = replace(HARM, measure=measure, certainty=certainty)
    words = [effects.effect_words(outcome, one) for one in ("less", "more", "little", "open")]
    assert len(set(words)) == 4
    assert ("very uncertain" in words[3]) is (certainty == "very-low")
    if certainty == "very-low":
        low = effects.effect_words(replace(outcome, certainty="low"), "open")
        assert words[3].startswith(low), "both sides stay"
    assert effects.effect_words(outcome, None)


@pytest.mark.parametrize(
    ("low", "high", "threshold", "expected"),
    [
        (-1.2, -0.1, None, "less"),
        (0.1, 1.2, None, "more"),
        (-0.1, 0.1, None, "open"),
        (-0.1, 0.1, "0.75", "little"),
        (-0.2, 0.27, "0.75", "little"),
        (-0.2, 0.29, "0.75", "open"),
        (-0.2, 0.27, "1.25", "open"),
        (-0.1, -0.05, "0.75", "little"),
        (0.0, 0.3, None, "open"),
    ],
)
def test_what_an_interval_says(low: float, high: float, threshold: str | None, expected: str) -> None:
    """`little` only where a threshold is stated, and the interval is within it on both sides (ln 0.75 = −0.288)."""
    outcome = replace(HARM, threshold=Fraction(threshold) if threshold else None)
    assert concluded(outcome, pooled(low, high)) == expected


def test_without_an_interval_nothing_is_concluded() -> None:
    bare = Synthesis(True, (), pooled=Pooled(-0.5, 0.1, None, None))
    assert concluded(HARM, bare) == "no-interval"
    words = effects.effect_words(HARM, "no-interval")
    assert words == "no interval can be given for the effect"
    assert words != effects.effect_words(HARM, None)
    assert concluded(HARM, Synthesis(True, ())) is None


def test_a_count_has_its_sign_in_words() -> None:
    found = Absolute(0.12, True, -61.2, -79, 36, None)
    assert effects.difference_per_1000(found) == "61 fewer (79 fewer to 36 more)"
    assert effects.difference_per_1000(replace(found, per_1000=0.0)) == "no difference (79 fewer to 36 more)"
    assert effects.difference_per_1000(replace(found, low=None)) == "61 fewer"
    assert effects.comparator_words(found, "no liner") == "No liner: 120 (stated)"
    assert effects.comparator_words(replace(found, is_stated=False), "no liner").endswith("(median of the studies)")


def test_a_small_count_is_not_printed_as_none() -> None:
    assert effects.difference_per_1000(Absolute(0.0001, True, -0.04, -0.09, -0.003, None)).startswith("0.04")


def test_the_number_needed_goes_through_infinity() -> None:
    gain, harm = NumberNeeded(22, "benefit"), NumberNeeded(29, "harm")
    found = Absolute(0.1, True, -15, -46, 35, NumberNeeded(67, "benefit"), gain, harm, through_infinity=True)
    assert effects.number_needed_words(found) == "1 in 67 gains (gain 1 in 22 to ∞ to harm 1 in 29)"
    turned = replace(found, number_low=harm, number_high=gain)
    assert effects.number_needed_words(turned) == effects.number_needed_words(found)
    plain = replace(found, number_low=gain, number_high=NumberNeeded(90, "benefit"), through_infinity=False)
    assert effects.number_needed_words(plain) == "1 in 67 gains (22 to 90)"
    assert effects.number_needed_words(replace(found, number_needed=None)) == ""
    assert effects.number_needed_words(replace(found, number_high=None)) == "1 in 67 gains (gain 1 in 22 to ∞)"
    assert effects.number_needed_words(replace(found, number_low=None)) == "1 in 67 gains (harm 1 in 29 to ∞)"


def test_i2_is_named_by_its_definition() -> None:
    found = Heterogeneity(9.34, 2, 0.0094, 0.786, "q", 0.89, 0.07, 48.97)
    words = forests.heterogeneity_words(found).replace("\xa0", " ")
    spread = "Q = 9.34, df = 2, p = 0.009; I² = 79% (from Q); tau² = 0.89 (Q-profile 0.070 to 48.97)"
    assert words.endswith(f": {spread}")
    assert "(from tau²)" in forests.heterogeneity_words(replace(found, i2_from="tau2"))
    assert forests.heterogeneity_words(replace(found, df=0)) == ""
    assert "tau²" not in forests.heterogeneity_words(replace(found, tau2=None))


def test_methods_are_named_by_their_terms() -> None:
    assert "restricted maximum likelihood" in forests.method_words(HARM)
    fixed = replace(HARM, model="fixed", weights="mantel-haenszel")
    assert forests.method_words(fixed) == "Method: fixed effect, Mantel-Haenszel weights"
    assert forests.method_words(replace(HARM, interval="hartung-knapp")).endswith("Hartung-Knapp interval")


def test_names_of_studies() -> None:
    author = {"author": [{"family": "Marlow"}]}
    assert forests.study_name(author, "marlow2019", 2019) == "Marlow 2019"
    assert forests.study_name({"author": [{"literal": "Working Group"}]}, "w", None) == "Working Group"
    assert forests.study_name({"author": []}, "marlow2019", 2019) == "marlow2019"
    assert forests.study_name(None, "marlow2019", None) == "marlow2019"
    assert forests.told_apart("Marlow 2019", ["Marlow 2019", "Marlow 2019b"]) == "Marlow 2019c"


def test_every_reason_to_leave_a_study_out_has_words() -> None:
    assert forests.left_out_line(LeftOut("a", "no-events")).startswith("left out: ")
    assert "Ash" in forests.no_effects([("Ash", LeftOut("a", "no-events"))])


@pytest.mark.parametrize("outcome", [sample.NECROSIS, sample.SENSITIVITY, sample.VITALITY, sample.extreme()])
def test_words_and_figures_agree_on_the_direction(outcome: OutcomeTable) -> None:
    """What is said to happen less often has fewer events per 1000."""
    found = synthesise(outcome)
    said = concluded(outcome, found)
    if found.absolute is not None and said in ("less", "more"):
        assert ("fewer" in effects.difference_per_1000(found.absolute).split(" (")[0]) == (said == "less")
    assert said is not None
