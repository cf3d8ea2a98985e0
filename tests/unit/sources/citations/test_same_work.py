"""By what two entries are one work, and by what they are not."""

from __future__ import annotations

import json
from typing import Any

import pytest

from liningbook.sources.citations.reference_list import read_references
from liningbook.sources.citations.same_work import signs_of

STUDY: dict[str, Any] = {
    "type": "article-journal",
    "title": "Liners <i>in vivo</i>: a study",
    "author": [{"family": "Müller", "given": "A."}],
    "issued": {"date-parts": [[2019, 3]]},
}


def shared(one: dict[str, Any], other: dict[str, Any]) -> set[str]:
    """By what two entries are told to be one work."""
    references, _ = read_references("references.json", json.dumps([{"id": "a", **one}, {"id": "b", **other}]))
    first, second = (set(signs_of(references[key])) for key in "ab")
    return {by for by, *_ in first & second}


@pytest.mark.parametrize(
    ("one", "other", "by"),
    [
        ({"DOI": "10.5555/abc"}, {"DOI": "https://doi.org/10.5555/ABC"}, "DOI"),
        ({"PMID": 8309034}, {"PMID": "8309034"}, "PMID"),
        ({"PMCID": "PMC6692166"}, {"PMCID": "PMC6692166"}, "PMCID"),
        ({"ISBN": "0-306-40615-2"}, {"ISBN": "978-0-309-16422-1, 9780306406157"}, "ISBN"),
        (STUDY, {**STUDY, "title": "LINERS in vivo – a study.", "issued": {"literal": "2019"}}, "title"),
        (STUDY, {**STUDY, "author": [{"family": "Muller", "given": "Anna"}, {"family": "B", "given": "C"}]}, "title"),
    ],
)
def test_same_work(one: dict[str, Any], other: dict[str, Any], by: str) -> None:
    assert shared(one, other) == {by}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        pytest.param({"DOI": "10.5555/a"}, {"DOI": "10.5555/b"}, id="another DOI"),
        pytest.param({"DOI": "11.5555/a"}, {"DOI": "11.5555/a"}, id="what is none says nothing"),
        pytest.param({"ISBN": "9780306406158"}, {"ISBN": "9780306406158"}, id="a wrong digit says nothing"),
        pytest.param(
            {"type": "chapter", "ISBN": "9780306406157"},
            {"type": "chapter", "ISBN": "9780306406157"},
            id="chapters",
        ),
        pytest.param(
            {"type": "book", "ISBN": "9780306406157"}, {"type": "chapter", "ISBN": "9780306406157"}, id="part"
        ),
        pytest.param(STUDY, {**STUDY, "issued": {"date-parts": [[2020]]}}, id="another year"),
        pytest.param(STUDY, {**STUDY, "author": [{"family": "Ash"}]}, id="another first author"),
        pytest.param(STUDY, {**STUDY, "title": "Liners in vitro: a study"}, id="another title"),
        pytest.param({"title": "Amalgam"}, {"title": "Amalgam"}, id="a title alone"),
        pytest.param({"title": ["x"], "author": "x", "issued": 3}, {"title": ["x"], "author": "x"}, id="other forms"),
    ],
)
def test_not_the_same_work(one: dict[str, Any], other: dict[str, Any]) -> None:
    assert shared(one, other) == set()
