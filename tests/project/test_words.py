"""Words that a reader sees stand in say/ alone: no other module, no template and no script of the page holds any.

A literal counts as words where, without its markup, it holds a capitalised word, or a word beside a blank. What is no
text for a reader is told by where it stands: a docstring, an annotation, the text of an exception that means a bug of
ours, a pattern, a tag. `NO_WORDS` names what is left, with the reason.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import Environment

import liningbook
from liningbook.resources import site_dir

PACKAGE = Path(liningbook.__file__).parent
OURS = {
    "AssertionError",
    "KeyError",
    "RuntimeError",
    "TypeError",
    "ValueError",
    "AttributeError",
    "NotImplementedError",
}
"""Exceptions that no user ever reads: they mean a bug."""

NO_WORDS: dict[str, dict[str, str]] = {
    "model/approval/entry.py": dict.fromkeys(
        ("approved: [\x00], ", ", digest: \x00", "\x00\x00digest: \x00"), "written into a source, not said"
    ),
    "model/values.py": dict.fromkeys(
        (
            "No {layer}",
            "Place nothing",
            "Nothing",
            "None",
            "Not needed",
            "Not needed in this case",
            "Ohne {layer}",
            "Kein {layer}",
            "Keine {layer}",
            "Nichts legen",
            "Nichts",
            "In diesem Fall nicht nötig",
            "Sin {layer}",
            "No colocar nada",
            "Nada",
            "Ninguno",
            "Ninguna",
            "No es necesario en este caso",
            "Sans {layer}",
            "Ne rien poser",
            "Rien",
            "Aucun",
            "Aucune",
            "Non nécessaire dans ce cas",
        ),
        "compared with labels, and not said",
    ),
    "notation/quantity.py": dict.fromkeys(("Cel", "Pa", "Ohm", "Mm"), "units"),
    "sources/citations/bibtex.py": dict.fromkeys(
        ("Unexpectedly reached end", "Unexpected block start", "Expected comma", "Expected a `=`"),
        "what the library says",
    ),
    "sources/citations/bibtex_entry.py": dict.fromkeys(
        ("PhD thesis", "Master's thesis", "PMCID"), "values of CSL-JSON"
    ),
    "sources/citations/bibtex_values.py": dict.fromkeys(
        (
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ),
        "months of BibTeX",
    ),
    "sources/citations/csl_json.py": dict.fromkeys(
        (
            "Expecting value",
            "Expecting property name enclosed in double quotes",
            "Expecting ',' delimiter",
            "Expecting ':' delimiter",
            "Unterminated string starting at",
            "Invalid control character at",
            "Invalid \\escape",
            "Invalid \\uXXXX escape",
            "Illegal trailing comma before end of object",
            "Illegal trailing comma before end of array",
            "Expecting '\0' delimiter",
        ),
        "what the library says",
    ),
    "sources/citations/latex.py": dict.fromkeys(
        ("Gamma", "Delta", "Theta", "Lambda", "Xi", "Pi", "Sigma", "Phi", "Psi", "Omega"), "commands of LaTeX"
    ),
    "sources/citations/identifiers.py": {"PMCID": "a field of CSL-JSON"},
    "sources/citations/reference_list.py": {"PMCID": "a field of CSL-JSON"},
    "sources/citations/same_work.py": {"PMCID": "a field of CSL-JSON"},
    "checks/kinds/references.py": {"ORCID": "a name of an identifier, as it stands in JSON"},
    "sources/documents.py": {"README.md": "a file"},
    "exchange/uncommitted.py": {"README.md": "a file"},
    "sources/editing.py": dict.fromkeys(("overrides: [\0]", "when: {\0: \0}"), "fields of a rule"),
    "sources/slips/in_text.py": dict.fromkeys(("mapping values", "expected ':'"), "what the library says"),
    "sources/slips/refusal.py": dict.fromkeys(
        (
            "',' or '\\]'",
            "',' or '\\}'",
            "expected key|<block end>|<document start>",
            "'-' indicator|sequence entries",
            "mapping values",
            "expected ':'",
            "start any token",
            "node content",
            "document indicator",
            "comment or line break",
            "mapping keys",
            "quoted scalar",
            "end of stream",
            "',' or",
            "unknown reason",
        ),
        "what the library says",
    ),
    "show/terminal/decision_table.py": {
        "body{font:16px/1.4 sans-serif;margin:1.5rem}table{border-collapse:collapse}th,td{border:1px solid #555;"
        "padding:.3rem .5rem;text-align:left;vertical-align:top}thead th{background:#eee}": "a style sheet",
    },
    "cli/preview.py": {"DISPLAY": "a variable of the environment"},
    "compare/notes.py": dict.fromkeys(
        ["excluded cases", "placing order", "from least to most", "needed when"],
        "the notation of `compare --format json`",
    ),
    "compare/noting/note.py": dict.fromkeys(
        ["\0 is \0", " or ", "taken out"], "the notation of `compare --format json`"
    ),
    "compare/noting/rules.py": {"review by": "the notation of `compare --format json`"},
    "show/figures/shapes.py": {"'Source Sans Pro', sans-serif": "a font"},
    "preview/server.py": {
        "Liningbook": "our own name",
        "Host": "a header",
        "text/html; charset=utf-8": "a kind of file",
        "text/plain; charset=utf-8": "a kind of file",
        "data: \0\n\n": "a line of the protocol of events",
    },
    "show/web/page.py": {"any maskable": "what an icon is for"},
    "show/web/page_html.py": {"\0; frame-src 'self'; frame-ancestors 'none'": "a policy"},
    "preview.js": {"SELECT": "an element"},
    "sw.js": {"liningbook \0 ": "the name of a store", "use strict": "a mode"},
    "entry.js": {"\0-limits \0-error": "identifiers"},
    "search.js": {
        "summary, .rule-number, .reference-number, .under, .hidden, .cover-notice, svg, [hidden]": "a selector",
        "Escape": "a key",
    },
    "shell.js": {"\0Strip": "a name in the data of the page"},
    "tooth.js": {"\0 mm": "a unit"},
    "show/assets/fonts.py": {
        **dict.fromkeys(("Source Sans Pro", "Lining Sans"), "names inside the files of the font"),
    },
    "show/paper/typeset.py": {
        **dict.fromkeys(("Data", "Type"), "names of PDF"),
        **dict.fromkeys(("unclosed file", "No fonts configured|.*HarfBuzz-Subset"), "messages of the typesetter"),
    },
    "show/views/view_texts.py": {" html": "how names of fields end"},
}
"""By file, literals that are no words for a reader, and why."""

MARKUP = re.compile(
    r"<!--.*?-->|<[a-zA-Z/!?\0][^<>]*(?:>|$)|^[^<>]*?\">|[\w:-]+=(?:\"[^\"]*(?:\"|$)|'[^']*(?:'|$))|&\w+;"  # HTML, SVG
    r"|^\s*(?=.*\{)[@:.#\0][a-z ].*|\{[^{}]*:[^{}]*\}|^(?:[a-z-]+: [^:;]+;\s*)+$|\0(?:mm|pt|em|rem|px)\b"  # CSS
    r"|^[a-z]+-(?:src|uri|action|ancestors) .*",  # a Content Security Policy
    re.DOTALL,
)
WORDS = re.compile(
    r"(?<![\w.#@/-])[A-Z][a-z]+(?![\w(-])|(?<![\w.-])[A-Z]{5,}(?![\w-])"  # a capitalised word
    r"|[^\W\d_]{2,}[.,;:)”…]*\s|\s[(“]?[^\W\d_]{2,}|\0[^\W\d_]{2,}"  # a word beside a blank or a value
)
STYLES = re.compile(r"(?:content|string-set):([^;{}]*)[;}]")
SHOWN = re.compile(r"\b(?:alt|title|aria-label|placeholder|content|label|data-\w+)=\"([^\"]*)")
LETTERS = re.compile(r"[^\W\d_]{2,}")


def is_words(text: str) -> bool:
    """Whether a literal reads as words. Places to be filled in stand in it as the character NUL."""
    shown = " ".join(re.findall(r"\b(?:alt|title|aria-label|placeholder)=\"([^\"]*)", text))
    return bool(LETTERS.search(shown) or WORDS.search(MARKUP.sub("", text)))


def literals(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """The texts of a module with their lines, a text with places for values as one."""
    skipped = {id(node) for root in ast.walk(tree) for node in not_for_readers(root)}
    for node in walk(tree, skipped):
        if isinstance(node, ast.JoinedStr):
            yield (
                node.lineno,
                "".join(str(part.value) if isinstance(part, ast.Constant) else "\0" for part in node.values),
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


def walk(node: ast.AST, skipped: set[int]) -> Iterator[ast.AST]:
    if id(node) in skipped:
        return
    yield node
    inner = (
        [v.value for v in node.values if isinstance(v, ast.FormattedValue)]
        if isinstance(node, ast.JoinedStr)
        else (ast.iter_child_nodes(node))
    )
    for child in inner:
        yield from walk(child, skipped)


def not_for_readers(node: ast.AST) -> Iterator[ast.AST]:
    """The parts of a node that hold no text for a reader."""
    match node:
        case ast.Expr(ast.Constant()):
            yield node
        case ast.AnnAssign():
            yield node.annotation
        case ast.arg() if node.annotation:
            yield node.annotation
        case ast.FunctionDef() if node.returns:
            yield node.returns
        case ast.Assign([ast.Name("__all__")]):
            yield node.value
        case ast.Assert() if node.msg:
            yield node.msg
        case ast.Raise(ast.Call(ast.Name(name))) if name in OURS:
            yield node
        case ast.Call(ast.Attribute(ast.Name("re"))):
            yield from node.args[:1]
        case ast.Call(ast.Attribute(attr="add_argument" | "add_parser" | "add_subparsers")):
            yield from node.args
            yield from (word.value for word in node.keywords if word.arg in ("metavar", "dest", "action"))
        case ast.Call(ast.Name("_value" | "_path")):  # what stands for a value in the help
            yield from (word.value for word in node.keywords if word.arg == "metavar")
        case ast.Call(ast.Name("cast" | "TypeVar" | "import_module" | "Literal")):
            yield from node.args[:1]
        case ast.Subscript(ast.Name("Literal")):
            yield node


def in_python(path: Path) -> list[tuple[int, str]]:
    return [(line, text) for line, text in literals(ast.parse(path.read_text("utf-8"))) if is_words(text)]


def in_template(path: Path) -> list[tuple[int, str]]:
    """What a template shows that does not come from elsewhere: its own text, shown attributes, texts in expressions."""
    found: list[tuple[int, str]] = []
    page = ""
    for line, kind, value in Environment().lex(path.read_text("utf-8")):
        page += value if kind == "data" else "\0" if kind == "variable_begin" else ""
        tag = page[page.rfind("<") :] if page.rfind("<") > page.rfind(">") else ""
        is_shown = not tag or re.search(SHOWN.pattern + "$", tag)
        if kind == "string" and is_shown and is_words(value[1:-1]):
            found.append((line, value))
    page = re.sub(
        r"<style>.*?</style>|<meta name=\"(?:viewport|color-scheme|referrer)\"[^>]*>", "", page, flags=re.DOTALL
    )
    bare = re.sub(r"<[^>]*>|&\w+;", "\0", page)
    texts = [*re.split(r"[\0\n]", bare), *(part for text in SHOWN.findall(page) for part in text.split("\0"))]
    return found + [(1, text.strip()) for text in texts if LETTERS.search(text)]


NOT_SHOWN = re.compile(
    r"//[^\n]*|/\*.*?\*/|throw new (?:Error|RangeError|SyntaxError|TypeError)\([^\n]*"
    r"|(?:class: |className = |querySelector(?:All)?\(|closest\(|matchMedia\()[\"`][^\"`]*[\"`]",
    re.DOTALL,
)
"""In a script: comments, errors that mean a bug of ours, classes and selectors."""
TEMPLATE = re.compile(r"`((?:[^`$\\\n]|\\.|\$(?!\{)|\$\{(?:[^{}`\n]|\{[^{}`\n]*\})*\})*)`")
"""A text between grave accents in which no other one stands: the innermost."""
VALUE = re.compile(r"\$\{(?:[^{}]|\{[^{}]*\})*\}")


def in_script(path: Path) -> list[tuple[int, str]]:
    code = NOT_SHOWN.sub(lambda match: "\n" * match[0].count("\n"), path.read_text("utf-8"))
    found: list[tuple[int, str]] = []
    while match := TEMPLATE.search(code):
        line = code.count("\n", 0, match.start()) + 1
        found.append((line, VALUE.sub("\0", match[1])))
        found += [(line, text) for part in VALUE.findall(match[1]) for text in quoted(part)]
        code = code[: match.start()] + "0" + "\n" * match[0].count("\n") + code[match.end() :]
    found += [(number, text) for number, line in enumerate(code.split("\n"), 1) for text in quoted(line)]
    return [(line, text) for line, text in found if is_words(text)]


def quoted(code: str) -> list[str]:
    return re.findall(r"\"((?:\\.|[^\"\\\n])*)\"", code)


def files() -> Iterator[tuple[str, list[tuple[int, str]]]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if not name.startswith("say/"):
            yield name, in_python(path)
    for path in sorted((site_dir() / "templates").glob("*.html")):
        yield path.name, in_template(path)
    for path in sorted((site_dir() / "styles").glob("*.css")):
        said = "".join(STYLES.findall(path.read_text("utf-8")))
        yield path.name, [(1, text) for text in re.findall(r'"([^"]*)"', said) if re.search("[A-Za-z]{2}", text)]
    for path in sorted((site_dir() / "scripts").glob("*.*js")):
        yield path.name, in_script(path)


FILES = dict(files())


@pytest.mark.parametrize("name", FILES)
def test_words_stand_in_say_alone(name: str) -> None:
    found = [(line, text) for line, text in FILES[name] if text not in NO_WORDS.get(name, {})]
    assert not found


def test_what_is_said_to_be_no_words_still_stands_there() -> None:
    for name, texts in NO_WORDS.items():
        assert {text for _, text in FILES[name]} >= texts.keys()
        assert all(texts.values())
