"""Identifiers against published ones, and check digits against the arithmetic of the standards.

DOI pattern: Crossref blog, 11 August 2015. ISBN: ISO 2108. ISSN: ISO 3297. ORCID: ISO/IEC 7064, MOD 11-2, as ORCID's
own support pages give the arithmetic. The valid ones below belong to real publications, or are ORCID's own examples;
each invalid one is a valid one with one digit changed, or breaks the syntax.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from liningbook.sources.citations.identifiers import (
    bare_doi,
    bare_orcid,
    is_doi,
    is_pmcid,
    is_pmid,
    isbn_in_full,
    isbn_wrong,
    issn_wrong,
    orcid_wrong,
)


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


@pytest.mark.parametrize(
    "text",
    ["11.1001/x", "10.12/x", "10.1001/", "10.1001/a b", "10.1016/µm", "", "10.5555/x\n", "10.5555/x.", "10.1002/x."],
)
def test_doi_is_none(text: str) -> None:
    assert not is_doi(text)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("0-306-40615-2", ""),
        ("080442957X", ""),
        ("0-309-16422-5", "check-digit"),
        ("9780306406157", ""),
        ("978-0-309-16422-1", ""),
        ("9789241548960", ""),
        ("9781119536628", ""),
        ("9780306406158", "check-digit"),
        ("978030640615", "form"),
        ("4006381333931", "form"),  # a right check digit, but no prefix of books
        ("", "form"),
        ("9" * 100_000, "form"),
    ],
)
def test_isbn_has_its_check_digit(text: str, wrong: str) -> None:
    assert isbn_wrong(text) == wrong


@pytest.mark.parametrize(("short", "full"), [("0-306-40615-2", "9780306406157"), ("080442957X", "9780804429573")])
def test_both_forms_of_an_isbn_are_one(short: str, full: str) -> None:
    assert isbn_in_full(short) == isbn_in_full(full) == full


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("0895-4356", ""),
        ("0378-5955", ""),
        ("0003-4819", ""),
        ("2434-561X", ""),
        ("0895-4357", "check-digit"),
        ("0895-435", "form"),
    ],
)
def test_issn_has_its_check_digit(text: str, wrong: str) -> None:
    assert issn_wrong(text) == wrong


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("0000-0002-1825-0097", ""),
        ("0000-0001-5109-3700", ""),
        ("0000-0002-1694-233X", ""),
        ("0000-0003-0464-5036", ""),
        ("0000-0002-1825-0098", "check-digit"),
        ("0000-0002-1825-0079", "check-digit"),
        ("0000-0002-1694-233x", "form"),
        ("0000000218250097", "form"),
        ("0000-0002-1825-009", "form"),
        ("0000-0002-1825-0097\n", "form"),
        ("\uff10000-0002-1825-0097", "form"),
    ],
)
def test_orcid_has_its_check_digit(text: str, wrong: str) -> None:
    assert orcid_wrong(text) == wrong
    assert bare_orcid("https://orcid.org/" + text) == text.strip()


def check_digit(digits: str, weights: Sequence[int], modulus: int) -> str:
    """The digit that makes the weighted sum a multiple of the modulus (ISO 2108 and ISO 3297), X for 10."""
    rest = -sum(weight * int(digit) for weight, digit in zip(weights, digits, strict=True)) % modulus
    return "X" if rest == 10 else str(rest)


def test_check_digits_are_those_of_the_standards_on_numbers_at_random() -> None:
    numbers = random.Random(2011)
    for _ in range(1000):
        nine = f"{numbers.randrange(10**9):09d}"
        twelve = numbers.choice(["978", "979"]) + nine
        for digits, weights, modulus, wrong_with in (
            (nine, range(10, 1, -1), 11, isbn_wrong),
            (twelve, [1, 3] * 6, 10, isbn_wrong),
            (nine[:7], range(8, 1, -1), 11, issn_wrong),
        ):
            right = check_digit(digits, weights, modulus)
            good = [last for last in "0123456789X" if not wrong_with(digits + last)]
            assert good == [right], digits


def test_check_digits_of_orcids_are_those_of_the_standard_on_numbers_at_random() -> None:
    numbers = random.Random(7064)
    for _ in range(1000):
        fifteen = f"{numbers.randrange(10**15):015d}"
        total = 0
        for digit in fifteen:
            total = (total + int(digit)) * 2
        right = (12 - total % 11) % 11
        groups = "-".join(fifteen[at : at + 4] for at in range(0, 15, 4))
        good = [last for last in "0123456789X" if not orcid_wrong(groups + last)]
        assert good == ["X" if right == 10 else str(right)], fifteen


@pytest.mark.parametrize("text", ["\uff10895-4356", "0895\u20134356", "978\u2013030640\u20136157"])
def test_signs_that_only_look_like_those_of_a_number_are_none(text: str) -> None:
    assert issn_wrong(text) == isbn_wrong(text) == "form"


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
