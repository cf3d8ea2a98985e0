"""An author's Markdown: what it becomes, and what is refused."""

from __future__ import annotations

import subprocess
import sys
from html.parser import HTMLParser

import pytest

from liningbook.finding import Fault, Span
from liningbook.say.faults import fault_told
from liningbook.show.markup.markdown import to_html
from liningbook.sources.markdown_text import is_safe_link, problems

HOSTILE = [
    "<script>alert(1)</script>",
    "text <img src=x onerror=alert(1)> text",
    "<svg/onload=alert(1)>",
    "<!-- comment -->",
    "<?php echo 1 ?>",
    "<![CDATA[ x ]]>",
    "[x](javascript:alert(1))",
    "[x](JaVaScRiPt:alert(1))",
    "[x](java&#115;cript&colon;alert(1))",
    "[x](javascript\\:alert(1))",
    "[x](<javascript:alert(1)>)",
    "[x](vbscript:x)",
    "[x](data:text/html,<script>alert(1)</script>)",
    "[x](http://plain.example)",
    "[x](//host.example/a)",
    "[x](\\\\host\\a)",
    "[x](/etc/passwd)",
    "[x](file:///etc/passwd)",
    "[x][y]\n\n[y]: javascript:alert(1)",
    '[x](https://a.example "title" onclick="x")',
    "![x](https://a.example/pixel.png)",
    "![x](data:image/svg+xml,<svg onload=alert(1)>)",
    "![x][y]\n\n[y]: https://a.example/p.png",
    "<https://a.example>",
    "<javascript:alert(1)>",
    "<a href='https://a.example' style='x'>y</a>",
    "`<script>` and ``` <b> ```",
    "| <script> |\n|---|\n| <img src=x> |",
    '"><script>alert(1)</script>',
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "a\n<style>*{display:none}</style>\nb",
    "<iframe srcdoc='<script>alert(1)</script>'>",
    '[x](https://a.example/"onmouseover=alert(1))',
]

HARMLESS = ("[x](https://a.example", "&lt;", "<svg/onload", "[x](\\\\host")
"""What Markdown itself takes for words or for a harmless link."""

ALLOWED = {
    "p": set(),
    "a": {"href", "title"},
    "strong": set(),
    "em": set(),
    "code": set(),
    "pre": set(),
    "ul": set(),
    "ol": {"start"},
    "li": set(),
    "blockquote": set(),
    "hr": set(),
    "br": set(),
    "h5": set(),
    "h6": set(),
    "table": set(),
    "thead": set(),
    "tbody": set(),
    "tr": set(),
    "th": {"class", "scope"},
    "td": {"class"},
}


class _Seen(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_comment(self, data: str) -> None:
        self.tags.append((f"comment {data}", {}))

    def handle_pi(self, data: str) -> None:
        self.tags.append((f"instruction {data}", {}))


def tags_of(html: str) -> list[tuple[str, dict[str, str | None]]]:
    seen = _Seen()
    seen.feed(html)
    seen.close()
    return seen.tags


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_but_allowed_tags_comes_out(text: str) -> None:
    for tag, attributes in tags_of(to_html(text)):
        assert tag in ALLOWED
        assert set(attributes) <= ALLOWED[tag]
        if tag == "a":
            assert is_safe_link(str(attributes["href"])), attributes


@pytest.mark.parametrize(
    "text",
    [text for text in HOSTILE if "`" not in text and not text.startswith(HARMLESS)],
)
def test_what_is_hostile_is_named(text: str) -> None:
    assert problems(text)


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("one\n\ntwo <b>bold</b>", 3, 5, "raw HTML"),
        ("one\n\n  <div>\n</div>", 3, 3, "raw HTML"),
        ("see ![film](a.png)", 1, 5, "pictures"),
        ("ok [a](https://a.example), not [b](ftp://b.example)", 1, 34, "link"),
        ("[a][b]\n\n[b]: javascript:x", 3, 3, "link"),
        ("see <https://a.example>", 1, 5, "angle brackets"),
        ("- a\n  - b\n    - c\n      - d\n        - e", 5, 9, "deep"),
        ("> > > > > deep", 1, 11, "deep"),
        ("a \u202eb", 1, 3, "U+202E"),
        ("a\r\nb\u200b", 2, 2, "U+200B"),
        ("a &#x202E; b", 1, 3, "&#x202E;"),
        ("a &zwnj; b", 1, 3, "&zwnj;"),
        ("bell \x07", 1, 6, "U+0007"),
    ],
)
def test_a_problem_has_its_place(text: str, line: int, column: int, words: str) -> None:
    found = problems(text)
    assert [(p.line, p.column) for p in found][:1] == [(line, column)]
    said = fault_told(Fault(Span("rules/a.md", line, column, line, column + 1), found[0].what, found[0].given))
    assert words in said.message
    assert said.help


def test_every_problem_is_reported_in_order() -> None:
    found = problems("<b>a</b>\n\n![x](y)\n\n[z](http://z.example)\n\n\u200e")
    assert [p.line for p in found] == [1, 1, 3, 5, 7]


@pytest.mark.parametrize(
    "text",
    [
        "Plain words, **bold**, `code`, 1 < 2 > 0.5, AT&T, pH < 3.5 & more.",
        "[a](https://a.example/x?y=1#z), [b](#rule), [c](mailto:a@b.example), [d](other.html)",
        "1. one\n2. two\n   - three\n     - four\n\n> quoted\n> > twice",
        "| a | b |\n|---|--:|\n| 1 | 2 |",
        "x &le; y &#177; z",
        "A note [in brackets]: and so on.",
    ],
)
def test_ordinary_text_has_no_problem(text: str) -> None:
    assert problems(text) == []


def test_headings_go_below_the_rule_and_skip_no_level() -> None:
    html = to_html("### Deep first\n\n# One\n\n##### Five\n\n# One again")
    assert [tag for tag, _ in tags_of(html)] == ["h5", "h5", "h6", "h5"]


def test_a_table_has_headings_with_scope_and_no_style() -> None:
    html = to_html("| a | b |\n|:-:|--:|\n| 1 | 2 |")
    assert '<th class="align-center" scope="col">a</th>' in html
    assert "style" not in html


def test_what_would_be_dropped_is_refused() -> None:
    with pytest.raises(ValueError, match="nested"):
        to_html(">" * 30 + " deep")


def test_a_text_without_anything_suspicious_does_not_load_the_library() -> None:
    program = (
        "import sys\n"
        "from liningbook.sources.markdown_text import problems\n"
        "text = '# A\\n\\n**b** [c](https://d.example) 1 < 2\\n\\n- e\\n- f\\n\\n> g\\n'\n"
        "assert problems(text * 100) == []\n"
        "assert not [name for name in sys.modules if name.startswith('markdown_it')]\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("target", ["#a", "https://a.example", "HTTPS://a.example", "mailto:a@b.example", "a/b.html"])
def test_a_safe_link(target: str) -> None:
    assert is_safe_link(target)


@pytest.mark.parametrize(
    "target",
    ["http://a.example", "ftp://a", "javascript:a", " javascript:a", "/a", "//a", "\\a", "data:,a", "a\u202eb", "c:d"],
)
def test_an_unsafe_link(target: str) -> None:
    assert not is_safe_link(target)
