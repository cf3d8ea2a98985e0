"""LaTeX to plain text: nothing is lost in silence."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.sources.citations.latex import plain_text, verbatim_text


@pytest.mark.parametrize(
    ("latex", "text"),
    [
        (r"{\"O}zg{\"u}r", "Özgür"),
        (r"\'Ecole \`a la \^ile", "École à la île"),
        (r"\v{S}\'{\i}n\u{a} \c c \c{C} \H{o} \k{a} \r{u} \=o \.z \~n \d{s}", "Šínă ç Ç ő ą ů ō ż ñ ṣ"),
        (r"Stra\ss e, \O re, \aa, \ae ther, \L{}\'od\'z", "Straße, Øre, å, æther, Łódź"),
        (r"\' e", "é"),
        (r"698--702 --- ``so''", "698–702 — “so”"),
        (r"50\% of R\&D, \#1, a\_b, \$5", "50% of R&D, #1, a_b, $5"),
        ("50% of it", "50% of it"),
        ("costs $5", "costs $5"),
        (r"RDT $\leq$ 2 mm, 5 $\mu$m, $\pm$ 1", "RDT ≤ 2 mm, 5 µm, ± 1"),
        (r"CO$_2$ at 37$^{\circ}$C", "CO2 at 37°C"),
        (r"10$^{-3}$ and 10\textsuperscript{-3}, 1\textsuperscript{st}", "10^-3 and 10^-3, 1st"),
        (r"{The {RDT}} of \textit{E. coli} \emph{in} {\em situ}", "The RDT of E. coli in situ"),
        ("O'Brien a_b x^y", "O'Brien a_b x^y"),
        ("two\n   lines~here\\\\there", "two lines here there"),
    ],
)
def test_latex_is_read(latex: str, text: str) -> None:
    assert plain_text(latex) == (text, ())


@pytest.mark.parametrize(
    ("latex", "text", "unknown"),
    [
        (r"a \foo{b} c", r"a \foob c", (r"\foo",)),
        (r"a \`{} c", "a c", (r"\`",)),
        ("end \\'", "end", (r"\'",)),
    ],
)
def test_unknown_command_is_reported_and_stays(latex: str, text: str, unknown: tuple[str, ...]) -> None:
    assert plain_text(latex) == (text, unknown)


@given(st.text(alphabet=st.characters(exclude_characters="\\{}$~`'-_", exclude_categories=["Cs"])))
def test_text_without_latex_stays_what_it_is(text: str) -> None:
    assert plain_text(text) == (" ".join(unicodedata.normalize("NFC", text).replace("^°", "°").split()), ())


@given(st.text(alphabet="\\{}$~^_`'\"-aeiouc. "))
def test_any_text_is_read(text: str) -> None:
    assert isinstance(plain_text(text)[0], str)
    assert isinstance(verbatim_text(text), str)


@pytest.mark.parametrize(
    ("latex", "text"),
    [
        (r"10.5555/ab\_c{\_}d--e", "10.5555/ab_c_d--e"),
        (r"\url{https://example.org/~a\%20b?x=1\&y}", "https://example.org/~a%20b?x=1&y"),
        (r"https://example.org/\textasciitilde{}a", "https://example.org/~a"),
    ],
)
def test_address_keeps_its_signs(latex: str, text: str) -> None:
    assert verbatim_text(latex) == text
