"""Whether an identifier is written as one: DOI, ISBN, ISSN, PMID, PMCID of a publication, ORCID of a person.

DOI: the pattern that Crossref gives for its own (A. Gilmartin, Crossref blog, 11 August 2015), and its pattern for the
early Wiley ones. The check digits of ISBN (ISO 2108), ISSN (ISO 3297) and ORCID (ISO/IEC 7064, MOD 11-2): the library
python-stdnum.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Literal

Wrong = Literal["", "form", "check-digit"]
"""What is wrong with an identifier: nothing, how it is written, or its last digit, which checks the others."""

_DOI = re.compile(r"10\.\d{4,9}/[-._;()/:A-Z0-9]+\Z", re.IGNORECASE | re.ASCII)
_DOI_WILEY = re.compile(r"10\.1002/\S+\Z", re.ASCII)
_DOI_PREFIX = re.compile(r"\A(?:(?:https?://)?(?:dx\.|www\.)?doi\.org/|doi[:\s]\s*)", re.IGNORECASE)
_ORCID = re.compile(r"[0-9]{4}-[0-9]{4}-[0-9]{4}-[0-9]{3}[0-9X]")
_ORCID_PREFIX = re.compile(r"\Ahttps?://orcid\.org/", re.IGNORECASE)

LONGEST = 40
"""No number with a check digit is written in more characters."""


def bare_doi(text: str) -> str:
    """A DOI without the address or the `doi:` in front of it."""
    return _DOI_PREFIX.sub("", text.strip())


def bare_orcid(text: str) -> str:
    """An ORCID without the address in front of it."""
    return _ORCID_PREFIX.sub("", text.strip())


def is_doi(text: str) -> bool:
    """Whether a bare DOI is written as one, without a stop that ends a sentence; it is not looked up."""
    return bool(_DOI.match(text) or _DOI_WILEY.match(text)) and not text.endswith(".")


def is_pmid(text: str) -> bool:
    """Whether a PubMed number is written as one: up to eight digits, the first not 0."""
    return bool(re.fullmatch(r"[1-9][0-9]{0,7}", text))


def is_pmcid(text: str) -> bool:
    """Whether a PubMed Central number is written as one: `PMC` and digits."""
    return bool(re.fullmatch(r"PMC[1-9][0-9]{0,11}", text))


def isbn_wrong(text: str) -> Wrong:
    """What is wrong with an ISBN of 10 or 13 digits, hyphens and spaces left aside."""
    from stdnum import isbn

    return _wrong(text, isbn.validate)


def issn_wrong(text: str) -> Wrong:
    """What is wrong with an ISSN, its hyphen left aside."""
    from stdnum import issn

    return _wrong(text, issn.validate)


def orcid_wrong(text: str) -> Wrong:
    """What is wrong with a bare ORCID, which is written in four groups of four."""
    from stdnum.iso7064 import mod_11_2

    return _wrong(text.replace("-", ""), mod_11_2.validate) if _ORCID.fullmatch(text) else "form"


def _wrong(text: str, validate: Callable[[str], object]) -> Wrong:
    from stdnum.exceptions import InvalidChecksum, ValidationError

    if not text.isascii() or len(text) > LONGEST:
        return "form"
    try:
        validate(text)
    except InvalidChecksum:
        return "check-digit"
    except ValidationError:
        return "form"
    return ""


def isbn_in_full(text: str) -> str:
    """A sound ISBN in its form of 13 digits alone, which is the same for both ways to write it."""
    from stdnum import isbn

    return str(isbn.to_isbn13(isbn.compact(text))).replace("-", "")


WRONG: Mapping[str, Callable[[str], Wrong]] = {
    "DOI": lambda text: "" if is_doi(bare_doi(text)) else "form",
    "PMID": lambda text: "" if is_pmid(text) else "form",
    "PMCID": lambda text: "" if is_pmcid(text) else "form",
    "ISBN": isbn_wrong,
    "ISSN": issn_wrong,
}
"""What is wrong with the identifier of a publication, by the field that holds it."""
