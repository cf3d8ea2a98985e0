"""BibTeX to CSL-JSON: names, dates, accents, short names; mistakes on the text that is wrong."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from liningbook.sources.citations.bibtex import read_bibtex
from liningbook.sources.citations.bibtex_values import MOST_FILLED_IN
from liningbook.sources.citations.reference_entry import MOST_ENTRIES, SourceText
from tests.unit.sources.citations.underlined import told, underlined

ARTICLE = r"""% Invented studies.
@string{jid = "Journal of Invented Dentistry"}

@Article{marlow2019,
  Author = {Marlow, Ada B. and van der Berg, J. P. and {Ministry of Teeth and Gums} and
            {\"O}zg{\"u}r, {\c C}. and Smith, Jr, Ann and others},
  title = {Heat through {RDT} $\leq$ 2~mm},
  subtitle = "A {"}short{"} look",
  journal = jid,
  year = 2019, month = mar # "~2",
  volume = 271, number = {9}, pages = {698--702},
  doi = {https://doi.org/10.5555/marlow\_2019},
  issn = {0378-5955}, pmid = 8309034,
  note = {Invented study},
  abstract = {Not read: \anything},
}
"""


def read(text: str) -> tuple[dict[str, Mapping[str, object]], list[tuple[str, str, str]]]:
    entries, findings = read_bibtex(SourceText("references.bib", text))
    return {entry.id: entry.data for entry in entries}, told(text, findings)


def one(fields: str, kind: str = "article") -> Mapping[str, object]:
    entries, findings = read(f"@{kind}{{k, {fields}}}")
    assert findings == []
    return entries["k"]


def test_article_becomes_csl_json() -> None:
    entries, findings = read(ARTICLE)
    assert findings == []
    assert entries == {
        "marlow2019": {
            "id": "marlow2019",
            "type": "article-journal",
            "title": 'Heat through RDT ≤ 2 mm: A "short" look',
            "container-title": "Journal of Invented Dentistry",
            "volume": "271",
            "issue": "9",
            "page": "698–702",
            "DOI": "10.5555/marlow_2019",
            "ISSN": "0378-5955",
            "PMID": "8309034",
            "note": "Invented study",
            "issued": {"date-parts": [[2019, 3, 2]]},
            "author": [
                {"family": "Marlow", "given": "Ada B."},
                {"family": "Berg", "given": "J. P.", "non-dropping-particle": "van der"},
                {"literal": "Ministry of Teeth and Gums"},
                {"family": "Özgür", "given": "Ç."},
                {"family": "Smith", "given": "Ann", "suffix": "Jr"},
                {"literal": "others"},
            ],
        }
    }


def test_entry_and_fields_keep_their_places() -> None:
    entries, _ = read_bibtex(SourceText("references.bib", ARTICLE))
    (entry,) = entries
    assert (entry.span.line, entry.span.column) == (4, 10)
    assert underlined(ARTICLE, entry.span) == "marlow2019"
    assert underlined(ARTICLE, entry.place("DOI")) == r"https://doi.org/10.5555/marlow\_2019"
    assert underlined(ARTICLE, entry.place("volume")) == "271"
    assert underlined(ARTICLE, entry.place("issue")) == "9"


def test_places_hold_under_windows_line_ends_and_round_brackets() -> None:
    text = "@book(a,\r\n title = {x})\r\n@book{b, title = {a}, note={a}}\r\n"
    entries, findings = read_bibtex(SourceText("references.bib", text))
    assert findings == []
    assert [underlined(text, entry.span) for entry in entries] == ["a", "b"]
    assert entries[1].span.line == 3
    assert entries[1].place("note").column == 29


def test_places_of_two_entries_with_the_same_text_differ() -> None:
    text = "@book{a, title = {x}}\n@book{a, title = {x}}\n"
    entries, _ = read_bibtex(SourceText("references.bib", text))
    assert [entry.span.line for entry in entries] == [1, 2]


@pytest.mark.parametrize(
    ("kind", "csl"),
    [
        ("article", "article-journal"),
        ("book", "book"),
        ("techreport", "report"),
        ("phdthesis", "thesis"),
        ("online", "webpage"),
        ("legislation", "legislation"),
        ("misc", "document"),
        ("leaflet", "document"),
        ("inbook", "book"),
    ],
)
def test_kind_of_entry(kind: str, csl: str) -> None:
    assert one("title = {x}", kind)["type"] == csl


def test_part_of_a_book_is_a_chapter() -> None:
    data = one("title = {x}, booktitle = {y}, edition = {2}, address = {Leeds}, publisher = {Z}", "incollection")
    assert data["type"] == "chapter"
    assert (data["container-title"], data["publisher-place"], data["publisher"]) == ("y", "Leeds", "Z")


@pytest.mark.parametrize("field", ["url", "howpublished", "note"])
def test_address_is_found_where_people_put_it(field: str) -> None:
    data = one(rf"title = {{x}}, {field} = {{\url{{https://example.org/~a\_b}}}}, urldate = {{2026-10-05}}", "misc")
    assert data["type"] == "webpage"
    assert data["URL"] == "https://example.org/~a_b"
    assert data["accessed"] == {"date-parts": [[2026, 10, 5]]}
    assert "genre" not in data
    assert "note" not in data


@pytest.mark.parametrize(
    ("fields", "issued"),
    [
        ("year = 2019", {"date-parts": [[2019]]}),
        ("year = {2019}, month = {3}", {"date-parts": [[2019, 3]]}),
        ("year = {2019}, month = {March}", {"date-parts": [[2019, 3]]}),
        ("year = {2019}, month = {Sept.}", {"date-parts": [[2019, 9]]}),
        ("year = {2019}, month = {2 March}", {"date-parts": [[2019, 3, 2]]}),
        ("year = {2019}, month = mar, day = 2", {"date-parts": [[2019, 3, 2]]}),
        ("year = {2019}, month = {Mar--Apr}", {"literal": "2019 Mar–Apr"}),
        ("year = {in press}", {"literal": "in press"}),
        ("date = {2019-03-02}", {"date-parts": [[2019, 3, 2]]}),
        ("date = {2019/2020}, year = 1999", {"date-parts": [[2019], [2020]]}),
    ],
)
def test_date(fields: str, issued: dict[str, object]) -> None:
    assert one(fields)["issued"] == issued


@pytest.mark.parametrize(
    ("text", "where", "message"),
    [
        ("@article{a, title={x}", "@article{a, title={x}", "this entry is not closed before the file ends"),
        (
            "@article{a, title={x\n@book{b, title={y}}",
            "@article{a, title={x",
            "this entry is not closed before the next one starts",
        ),
        ("@article{a title={x}}", "a title", "a comma is missing after the entry's key"),
        ("@article{a, title {x}}", "{", "a field name without `=`, or a comma missing before it"),
        ("@article{a, title={x} year={2019}}", "{x} year={2019}", "a comma is missing after this value"),
        ("@article{a, title={x}, title={y}}", "title", "'title' is given twice in the entry 'a'"),
        ("@article{a, title={x}, Title={y}}", "Title", "'Title' is given twice in the entry 'a'"),
        ("@article{a, title=}", "title", "there is no value here"),
        ("@article{a, = {x}}", "=", "a field here has no name"),
        ("@article{a, title=Two words}", "Two words", "'Two' is neither in curly brackets nor a short name that this "
         "file defines"),
        ("@article{a, note=nt}", "nt", "'nt' is neither in curly brackets nor a short name that this file defines"),
        ("@string{j = {x} y}\n@book{a,}", "@string{j = {x} y}", "this value is not in curly brackets"),
        ("misc{a, title={x}}\n@book{b,}", "misc{", "this looks like an entry but is not one"),
        ("@article\n@book{b,}", "@article", "this looks like an entry but is not one"),
        ("Marlow 2019, a study", "Marlow 2019, a study", "there is no entry in this file"),
    ],
)  # fmt: skip
def test_what_is_not_bibtex_is_unreadable(text: str, where: str, message: str) -> None:
    _, findings = read(text)
    assert findings == [("unreadable", where, message)]


@pytest.mark.parametrize(
    ("text", "where", "message"),
    [
        ("@article{, title={x}}", "@article{", "this entry has no key, so no rule can cite it"),
        (r"@article{a, title={x \foo y}}", r"x \foo y", r"the LaTeX command `\foo` is not known here"),
        ("@article{a, author={A, B, C, D}}", "A, B, C, D", "'A, B, C, D' cannot be read as one person's name"),
        (r"@article{a, note={x \foo y}}", r"x \foo y", r"the LaTeX command `\foo` is not known here"),
        (r"@article{a, year={2019}, month={\foo}}", r"\foo", r"the LaTeX command `\foo` is not known here"),
        ("@article{a, year={2019}, month={13}}", "2019", "'2019-13' is not a date"),
        ("@article{a, date={March 2019}}", "March 2019", "'March2019' is not a date"),
        ("@article{a, date={2019-02-30}}", "2019-02-30", "'2019-02-30' is not a date"),
        ("@article{a, crossref={b}}", "b", "fields taken over from another entry are not used here"),
    ],
)
def test_value_that_says_nothing_breaks_the_schema(text: str, where: str, message: str) -> None:
    _, findings = read(text)
    assert findings == [("schema", where, message)]


def test_all_mistakes_are_told_and_the_sound_entries_are_read() -> None:
    entries, findings = read("@book{a, title={x\n@book{b, title={y}}\n@book{c, title=z}\n@book{d, title={d}}")
    assert list(entries) == ["b", "c", "d"]
    assert [kind for kind, _, _ in findings] == ["unreadable", "unreadable"]


def test_comments_are_no_entries() -> None:
    assert read('% @book{a,}\n@comment{anything}\nSome words.\n@preamble{"x"}\n@book{b,}\n')[0].keys() == {"a", "b"}
    assert read("") == ({}, [])
    assert read("% nothing yet\n") == ({}, [])


def test_short_names_that_stand_for_each_other_do_not_grow_without_end() -> None:
    names = ["@string{s0 = {" + "x" * 1000 + "}}"]
    names += [f"@string{{s{n} = s{n - 1} # s{n - 1} # s{n - 1} # s{n - 1}}}" for n in range(1, 30)]
    entries, findings = read("\n".join([*names, "@book{b, title = s9}"]))
    assert "the short names of this file stand for too much text" in {message for _, _, message in findings}
    assert len(str(entries)) < MOST_FILLED_IN


def test_list_longer_than_any_practice_has_is_refused() -> None:
    entries, findings = read("@book{k,\n" * (MOST_ENTRIES + 1))
    assert entries == {}
    assert [message for _, _, message in findings] == ["the list has more than 10000 entries"]
