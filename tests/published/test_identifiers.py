"""Identifiers against published ones, and check digits against the arithmetic of the standards.

DOI pattern: Crossref blog, 11 August 2015. ISBN: ISO 2108. ISSN: ISO 3297. The valid ones below belong to real
publications; each invalid one is a valid one with one digit changed, or breaks the syntax.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from liningbook.sources.citations.identifiers import bare_doi, is_doi, is_isbn, is_issn, is_pmcid, is_pmid


@pytest.mark.parametrize(
    "doi",
    [
        "10.1001/jama.1994.03510330076038",
        "10.1016/j.jclinepi.2011.06.004",
        "10.1136/bmj.39490.551019.BE",
        "10.5395/rde.2024.49.e34",
        "10.5555/12345678",
        "10.1002/(SICI)1097-0258(19980815/30)17:15/16<1661::AID-SIM968>3.0.CO;2-2",
    ],
)
def test_doi_is_one(doi: str) -> None:
    assert is_doi(doi)
    assert bare_doi("https://doi.org/" + doi) == bare_doi("doi:" + doi) == bare_doi("doi: " + doi) == doi


@pytest.mark.parametrize("text", ["11.1001/x", "10.12/x", "10.1001/", "10.1001/a b", "10.1016/µm", "", "10.5555/x\n"])
def test_doi_is_none(text: str) -> None:
    assert not is_doi(text)


@pytest.mark.parametrize(
    ("text", "is_right"),
    [
        ("0-306-40615-2", True),
        ("080442957X", True),
        ("0-309-16422-5", False),
        ("9780306406157", True),
        ("978-0-309-16422-1", True),
        ("9789241548960", True),
        ("9781119536628", True),
        ("9780306406158", False),
        ("978030640615", False),
        ("4006381333931", False),  # a right check digit, but no prefix of books
    ],
)
def test_isbn_has_its_check_digit(text: str, is_right: bool) -> None:
    assert is_isbn(text) is is_right


@pytest.mark.parametrize(
    ("text", "is_right"),
    [
        ("0895-4356", True),
        ("0378-5955", True),
        ("0003-4819", True),
        ("2434-561X", True),
        ("0895-4357", False),
        ("0895-435", False),
    ],
)
def test_issn_has_its_check_digit(text: str, is_right: bool) -> None:
    assert is_issn(text) is is_right


def check_digit(digits: str, weights: Sequence[int], modulus: int) -> str:
    """The digit that makes the weighted sum a multiple of the modulus (ISO 2108 and ISO 3297), X for 10."""
    rest = -sum(weight * int(digit) for weight, digit in zip(weights, digits, strict=True)) % modulus
    return "X" if rest == 10 else str(rest)


def test_check_digits_are_those_of_the_standards_on_numbers_at_random() -> None:
    numbers = random.Random(2011)
    for _ in range(1000):
        nine = f"{numbers.randrange(10**9):09d}"
        twelve = numbers.choice(["978", "979"]) + nine
        for digits, weights, modulus, is_right in (
            (nine, range(10, 1, -1), 11, is_isbn),
            (twelve, [1, 3] * 6, 10, is_isbn),
            (nine[:7], range(8, 1, -1), 11, is_issn),
        ):
            right = check_digit(digits, weights, modulus)
            good = [last for last in "0123456789X" if is_right(digits + last)]
            assert good == [right], digits


@pytest.mark.parametrize("text", ["\uff10895-4356", "0895\u20134356", "978\u2013030640\u20136157"])
def test_signs_that_only_look_like_those_of_a_number_are_none(text: str) -> None:
    assert not is_issn(text)
    assert not is_isbn(text)


@pytest.mark.parametrize(
    ("text", "is_pubmed", "is_central"),
    [
        ("8309034", True, False),
        ("08309034", False, False),
        ("830903412", False, False),
        ("PMC8309034", False, True),
        ("PMC6692166", False, True),
        ("6692166", True, False),
        ("PMC", False, False),
    ],
)
def test_pubmed_numbers(text: str, is_pubmed: bool, is_central: bool) -> None:
    assert (is_pmid(text), is_pmcid(text)) == (is_pubmed, is_central)
