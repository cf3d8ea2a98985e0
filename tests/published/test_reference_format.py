"""The text of references against another formatter: citeproc-py, with a style for Citing Medicine.

Sources: citeproc-py 0.11.1 (its own licence is BSD); the style `nlm-citation-sequence` of the Citation Style Language
project in `data`, with its notice in `data/README.md`. One defect of citeproc-py is worked around in
`formatted.py`: it leaves out the delimiters of dates. Where Liningbook differs on purpose, the test says so, with both
lines; the reasons are from K. Patrias, D. Wendling (eds), Citing Medicine, 2nd ed., 2007, from memory.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from liningbook.say.references import format_reference
from tests.published.formatted import printed

Data = Mapping[str, object]


def names(*people: tuple[str, str]) -> list[dict[str, str]]:
    return [{"family": family, "given": given} for family, given in people]


def day(*parts: int) -> dict[str, object]:
    return {"date-parts": [list(parts)]}


def organisation(name: str) -> list[dict[str, str]]:
    return [{"literal": name}]


SEEN = day(2026, 10, 5)

ARTICLE: Data = {
    "type": "article-journal",
    "title": "Efficacy of BCG vaccine in the prevention of tuberculosis: meta-analysis of the published literature",
    "container-title": "JAMA",
    "volume": "271",
    "issue": "9",
    "page": "698-702",
    "DOI": "10.1001/jama.1994.03510330076038",
    "PMID": "8309034",
    "issued": day(1994, 3, 2),
    "author": names(
        ("Colditz", "Graham A."),
        ("Brewer", "Timothy F."),
        ("Berkey", "C S"),
        ("Wilson", "M E"),
        ("Burdick", "E"),
        ("Fineberg", "H V"),
        ("Mosteller", "F"),
    ),
}
BOOK: Data = {
    "type": "book",
    "title": "Clinical Practice Guidelines We Can Trust",
    "author": organisation("Institute of Medicine"),
    "editor": names(("Graham", "Robin"), ("Mancher", "Michelle")),
    "publisher": "National Academies Press",
    "publisher-place": "Washington, DC",
    "ISBN": "978-0-309-16422-1",
    "issued": day(2011),
}
PAGE_OF_SITE: Data = {
    "type": "webpage",
    "title": "OCEBM Levels of Evidence",
    "container-title": "Centre for Evidence-Based Medicine",
    "publisher": "University of Oxford",
    "author": organisation("OCEBM Levels of Evidence Working Group"),
    "issued": day(2011),
    "accessed": SEEN,
    "URL": "https://www.cebm.ox.ac.uk/resources/levels-of-evidence/ocebm-levels-of-evidence",
}
PAGE: Data = {
    "type": "webpage",
    "title": "A page",
    "author": organisation("Some Group"),
    "issued": day(2011),
    "accessed": SEEN,
    "URL": "https://example.org/x",
}
CHAPTER: Data = {
    "type": "chapter",
    "title": "Dentine as a barrier",
    "container-title": "The pulp",
    "author": [
        {"family": "Berg", "given": "Jan Peter", "non-dropping-particle": "van der"},
        {"family": "Smith", "given": "Anne-Marie", "suffix": "Jr"},
    ],
    "editor": names(("Graham", "Robin")),
    "publisher": "Press",
    "publisher-place": "Leeds",
    "issued": day(2015),
    "page": "1525-1533",
    "edition": "2",
}
PAPER: Data = {
    "type": "paper-conference",
    "title": "Talk",
    "container-title": "Proceedings of X",
    "author": names(("A", "B")),
    "publisher": "P",
    "publisher-place": "X",
    "issued": day(2019),
    "page": "3-9",
}
REPORT: Data = {
    "type": "report",
    "title": "A report",
    "author": organisation("World Body"),
    "publisher": "World Body",
    "publisher-place": "Geneva",
    "issued": day(2014),
    "number": "12",
}
REPORT_ONLINE: Data = {
    **REPORT,
    "collection-title": "Technical series",
    "URL": "https://example.org/r",
    "accessed": SEEN,
}
MONTH: Data = {
    "type": "article-journal",
    "title": "Pages",
    "container-title": "J",
    "volume": "1",
    "page": "1525-1533",
    "issued": day(2019, 3),
    "author": names(("A", "B")),
}
LAW: Data = {"type": "legislation", "title": "Mercury Act", "publisher": "State Press", "issued": day(2017)}
SERIES: Data = {
    "type": "book",
    "title": "Dentine",
    "author": names(("A", "B")),
    "editor": names(("C", "D"), ("E", "F")),
    "edition": "2",
    "volume": "3",
    "publisher": "Press",
    "publisher-place": "Leeds",
    "collection-title": "Series",
    "collection-number": "4",
    "issued": day(2006),
}
CENTRAL: Data = {
    "type": "article-journal",
    "title": "On",
    "container-title": "J",
    "author": names(*((letter, letter) for letter in "ABCDEF")),
    "issued": day(2019),
    "volume": "3",
    "issue": "2 Suppl",
    "page": "S12-S15",
    "DOI": "10.5555/x",
    "PMID": "8309034",
    "PMCID": "PMC6692166",
}
ONLINE: Data = {"URL": "https://example.org/x", "accessed": SEEN}
NUMBERED: Data = {
    "type": "article-journal",
    "title": "Ref. of J.",
    "container-title": "BMJ",
    "volume": "328",
    "number": "e34",
    "issued": day(2019),
    "DOI": "10.5555/x",
}


@pytest.mark.parametrize(
    ("data", "line"),
    [
        pytest.param(
            ARTICLE,
            "Colditz GA, Brewer TF, Berkey CS, Wilson ME, Burdick E, Fineberg HV, et al. Efficacy of BCG vaccine in "
            "the prevention of tuberculosis: meta-analysis of the published literature. JAMA. 1994 Mar "
            "2;271(9):698–702. doi:10.1001/jama.1994.03510330076038 PubMed PMID: 8309034.",
            id="article with seven authors",
        ),
        pytest.param(
            BOOK,
            "Institute of Medicine. Clinical Practice Guidelines We Can Trust. Graham R, Mancher M, editors. "
            "Washington, DC: National Academies Press; 2011.",
            id="book of an organisation, with editors",
        ),
        pytest.param(
            PAGE_OF_SITE,
            "OCEBM Levels of Evidence Working Group. Centre for Evidence-Based Medicine [Internet]. University of "
            "Oxford; 2011 [cited 2026 Oct 5]. OCEBM Levels of Evidence. Available from: "
            "https://www.cebm.ox.ac.uk/resources/levels-of-evidence/ocebm-levels-of-evidence",
            id="page of a web site",
        ),
        pytest.param(
            PAGE,
            "Some Group. A page [Internet]. 2011 [cited 2026 Oct 5]. Available from: https://example.org/x",
            id="page alone",
        ),
        pytest.param(
            CHAPTER,
            "van der Berg JP, Smith AM Jr. Dentine as a barrier. In: Graham R, editor. The pulp. 2nd ed. Leeds: Press; "
            "2015. p. 1525–33.",
            id="chapter",
        ),
        pytest.param(PAPER, "A B. Talk. In: Proceedings of X. X: P; 2019. p. 3–9.", id="conference paper"),
        pytest.param(REPORT, "World Body. A report. Geneva: World Body; 2014. Report no.: 12.", id="report"),
        pytest.param(
            REPORT_ONLINE,
            "World Body. A report [Internet]. Geneva: World Body; 2014 [cited 2026 Oct 5]. (Technical series). "
            "Report no.: 12. Available from: https://example.org/r",
            id="report online",
        ),
        pytest.param(MONTH, "A B. Pages. J. 2019 Mar;1:1525–33.", id="month without a day"),
        pytest.param(
            SERIES,
            "A B. Dentine. 2nd ed. C D, E F, editors. Vol. 3. Leeds: Press; 2006. (Series; no. 4).",
            id="volume of a book in a series",
        ),
        pytest.param(
            CENTRAL,
            "A A, B B, C C, D D, E E, F F. On. J. 2019;3(2 Suppl):S12–5. doi:10.5555/x PubMed PMID: 8309034; PubMed "
            "Central PMCID: PMC6692166.",
            id="six authors, a supplement, all identifiers",
        ),
        pytest.param(LAW, "Mercury Act. State Press; 2017.", id="law with a publisher"),
        pytest.param(
            {**MONTH, **ONLINE},
            "A B. Pages. J [Internet]. 2019 Mar [cited 2026 Oct 5];1:1525–33. Available from: https://example.org/x",
            id="article online",
        ),
        pytest.param(
            {
                "type": "book",
                "title": "Net",
                "author": names(("A", "B")),
                "publisher": "P",
                "issued": day(2019),
                **ONLINE,
            },
            "A B. Net [Internet]. P; 2019 [cited 2026 Oct 5]. Available from: https://example.org/x",
            id="book online",
        ),
        pytest.param(
            {**CHAPTER, **ONLINE},
            "van der Berg JP, Smith AM Jr. Dentine as a barrier. In: Graham R, editor. The pulp [Internet]. 2nd ed. "
            "Leeds: Press; 2015 [cited 2026 Oct 5]. p. 1525–33. Available from: https://example.org/x",
            id="chapter online",
        ),
        pytest.param(NUMBERED, "Ref. of J. BMJ. 2019;328:e34. doi:10.5555/x", id="article number"),
        pytest.param(
            {"type": "article-journal", "title": "No author", "container-title": "BMJ", "issued": day(2019)},
            "No author. BMJ. 2019.",
            id="no author",
        ),
        pytest.param({"type": "article-journal", "title": "Only title"}, "Only title.", id="only a title"),
    ],
)
def test_text_is_the_one_that_citeproc_prints(data: Data, line: str) -> None:
    assert format_reference(data) == line == printed(data)


@pytest.mark.parametrize(
    ("data", "theirs", "ours"),
    [
        pytest.param(
            {"type": "article-journal", "title": "Does it end?", "author": names(("A", "B"))},
            "A B. Does it end?.",
            "A B. Does it end?",
            id="no full stop after a question mark",
        ),
        pytest.param(
            {"type": "book", "title": "Edited", "editor": names(("A", "B")), "edition": "2", "issued": day(2019)},
            "A B, editor. Edited. 2nd ed. A B, editor. 2019.",
            "A B, editor. Edited. 2nd ed. 2019.",
            id="an editor in place of an author is named once",
        ),
        pytest.param(
            {
                "type": "thesis",
                "title": "On dentine",
                "genre": "PhD thesis",
                "author": names(("Marsh", "A.")),
                "publisher": "University of X",
                "publisher-place": "Leeds",
                "issued": day(2001),
            },
            "Marsh A. On dentine [PhD thesis]. [Leeds]: University of X; 2001.",
            "Marsh A. On dentine [PhD thesis]. Leeds: University of X; 2001.",
            id="the place of a thesis without brackets",
        ),
        pytest.param(
            {
                "type": "legislation",
                "title": "Regulation (EU) 2017/852 on mercury",
                "container-title": "Official Journal of the European Union",
                "volume": "L 137",
                "page": "1-21",
                "issued": day(2017, 5, 24),
            },
            "Regulation (EU) 2017/852 on mercury. Official Journal of the European Union. 2017 May 24. p. 1–21.",
            "Regulation (EU) 2017/852 on mercury. Official Journal of the European Union. 2017 May 24;L 137:1–21.",
            id="the volume of a law is kept",
        ),
        pytest.param(
            {**LAW, "authority": "Parliament", **ONLINE},
            "Mercury Act [Internet]. State Press; 2017. Available from: https://example.org/x",
            "Parliament. Mercury Act [Internet]. State Press; 2017 [cited 2026 Oct 5]. Available from: "
            "https://example.org/x",
            id="the authority of a law, and the day on which it was read",
        ),
        pytest.param(
            {**PAGE, "issued": day(2011, 3, 4)},
            "Some Group. A page [Internet]. 2011 [cited 2026 Oct 5]. Available from: https://example.org/x",
            "Some Group. A page [Internet]. 2011 Mar 4 [cited 2026 Oct 5]. Available from: https://example.org/x",
            id="the whole date of a page",
        ),
        pytest.param(
            {**MONTH, "issued": {"date-parts": [[2019, 3], [2019, 4]]}},
            "A B. Pages. J. Mar– Apr2019;1:1525–33.",
            "A B. Pages. J. 2019 Mar–Apr;1:1525–33.",
            id="two months of a year",
        ),
        pytest.param(
            {**REPORT, "genre": "Technical report"},
            "World Body. A report [Technical report]. Geneva: World Body; 2014. Technical report no.: 12.",
            "World Body. A report [Technical report]. Geneva: World Body; 2014. Report no.: 12.",
            id="the number of a report is called so",
        ),
        pytest.param(
            {**CHAPTER, "volume": "1"},
            "van der Berg JP, Smith AM Jr. Dentine as a barrier. In: Graham R, editor. The pulp. 2nd ed. Leeds: Press; "
            "2015. p. 1525–33.",
            "van der Berg JP, Smith AM Jr. Dentine as a barrier. In: Graham R, editor. The pulp. 2nd ed. Vol. 1. "
            "Leeds: Press; 2015. p. 1525–33.",
            id="the volume in which a chapter stands",
        ),
        pytest.param(
            {**BOOK, "DOI": "10.5555/x", **ONLINE},
            "Institute of Medicine. Clinical Practice Guidelines We Can Trust [Internet]. Graham R, Mancher M, "
            "editors. Washington, DC: National Academies Press; 2011 [cited 2026 Oct 5]. Available from: "
            "https://example.org/x doi:10.5555/x",
            "Institute of Medicine. Clinical Practice Guidelines We Can Trust. Graham R, Mancher M, editors. "
            "Washington, DC: National Academies Press; 2011. doi:10.5555/x",
            id="a DOI stands for the address",
        ),
    ],
)
def test_text_differs_from_citeproc_on_purpose(data: Data, theirs: str, ours: str) -> None:
    assert printed(data) == theirs != ours
    assert format_reference(data) == ours


def test_citeproc_does_not_escape_what_goes_into_html() -> None:
    """So its formatter for HTML cannot be used for texts of authors."""
    assert "<script>" in printed({"type": "book", "title": "<script>alert(1)</script>"}, html=True)
