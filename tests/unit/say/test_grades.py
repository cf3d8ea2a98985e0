"""Words for people: every name that a rule can use has some, and none needs an unusual sign."""

from __future__ import annotations

from liningbook.evidence import grade, ocebm, recommending
from liningbook.say import grades as words


def test_words_of_the_contract() -> None:
    assert words.word(words.STRENGTHS, "strong") == "strong recommendation"
    assert words.word(words.STRENGTHS, "conditional") == "conditional recommendation"
    assert words.word(words.CERTAINTIES, "very-low") == "very low certainty"
    assert words.word(words.BASES, "good-practice") == "good practice"
    assert words.level(2, "benefit") == "level 2 of 5 for benefit"


def test_every_level_design_and_reason_has_words() -> None:
    assert set(words.CERTAINTIES) == set(words.CERTAINTY_MEANINGS) == set(grade.LEVELS)
    assert set(words.DESIGNS) == set(grade.START) | set(ocebm.DESIGNS)
    assert set(words.DOMAINS) == set(grade.LOWERED_AT_MOST) | set(grade.RAISED_AT_MOST)
    assert set(words.QUESTIONS) == set(ocebm.TABLE)


def test_other_spelling_of_a_design_has_the_same_words() -> None:
    assert words.design("sr_nested_cc") == words.design("sr-nested-case-control")
    assert words.design("randomised") == "randomised trials"


def test_a_judgement_is_told_with_its_number_of_levels() -> None:
    assert words.judged_words("risk-of-bias", 2, False) == "lowered by 2 for risk of bias"
    assert words.judged_words("imprecision", 0, False) == "not lowered for imprecise results"
    assert words.judged_words("large-effect", 1, True) == "raised by 1 for a large effect"


def test_every_situation_and_question_of_good_practice_has_words() -> None:
    assert set(words.SITUATIONS) == set(recommending.SITUATIONS)
    assert tuple(words.GOOD_PRACTICE) == recommending.GOOD_PRACTICE


def test_no_sign_outside_plain_letters_is_used() -> None:
    tables = (
        words.BASES,
        words.CERTAINTIES,
        words.CERTAINTY_MEANINGS,
        words.STRENGTHS,
        words.DESIGNS,
        words.DOMAINS,
        words.QUESTIONS,
        words.SITUATIONS,
        words.GOOD_PRACTICE,
        words.SETTINGS,
    )
    assert all(text.isascii() for table in tables for text in table.values())
