"""Whether an identifier of a publication is written as one: DOI, ISBN, ISSN, PMID, PMCID.

DOI: the pattern that Crossref gives for its own (A. Gilmartin, Crossref blog, 11 August 2015), and its pattern for the
early Wiley ones. ISBN (ISO 2108) and ISSN (ISO 3297) with their check digits: the library python-stdnum.
"""

from __future__ import annotations

import re

_DOI = re.compile(r"10\.\d{4,9}/[-._;()/:A-Z0-9]+\Z", re.IGNORECASE | re.ASCII)
_DOI_WILEY = re.compile(r"10\.1002/\S+\Z", re.ASCII)
_DOI_PREFIX = re.compile(r"\A(?:https?://(?:dx\.)?doi\.org/|doi:\s*)", re.IGNORECASE)


def bare_doi(text: str) -> str:
    """A DOI without the address or the `doi:` in front of it."""
    return _DOI_PREFIX.sub("", text.strip())


def is_doi(text: str) -> bool:
    """Whether a bare DOI is written as one; it is not looked up."""
    return bool(_DOI.match(text) or _DOI_WILEY.match(text))


def is_isbn(text: str) -> bool:
    """Whether an ISBN of 10 or 13 digits, hyphens and spaces left aside, has the check digit that it must have."""
    from stdnum import isbn

    return text.isascii() and bool(isbn.is_valid(text))


def is_issn(text: str) -> bool:
    """Whether an ISSN, its hyphen left aside, has the check digit that it must have."""
    from stdnum import issn

    return text.isascii() and bool(issn.is_valid(text))


def is_pmid(text: str) -> bool:
    """Whether a PubMed number is written as one: up to eight digits, the first not 0."""
    return bool(re.fullmatch(r"[1-9][0-9]{0,7}", text))


def is_pmcid(text: str) -> bool:
    """Whether a PubMed Central number is written as one: `PMC` and digits."""
    return bool(re.fullmatch(r"PMC[1-9][0-9]*", text))
