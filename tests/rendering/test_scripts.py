"""The browser's modules fit together, and the one that they are joined into does what they do."""

from __future__ import annotations

import re

import pytest

from liningbook.show.markup.html import content_security_policy
from liningbook.show.web.scripts import (
    FIRST,
    ScriptError,
    in_order,
    joined,
    modules,
    problems,
    service_worker,
    top_level_names,
)

IMPORT = re.compile(r'^import \{ (.*) \} from "\./(.*)";$', re.MULTILINE)


def test_the_modules_of_the_site_fit_together() -> None:
    found = modules()
    assert problems(found) == []
    assert {"shell.mjs", "lookup.mjs", "evaluate.mjs", "search.mjs", "offline.mjs"} <= set(found)
    wanted = {match[2] for text in found.values() for match in IMPORT.finditer(text)}
    assert wanted <= set(found)


def test_no_two_modules_define_the_same_name_at_their_top() -> None:
    names = [name for text in modules().values() for name in top_level_names(text)]
    assert len(names) > 100
    assert len(set(names)) == len(names)


def test_the_cover_comes_first_and_what_is_imported_before_what_imports_it() -> None:
    found = modules()
    places = {name: place for place, name in enumerate(found)}
    assert places[FIRST] == 0
    for name, text in found.items():
        for match in IMPORT.finditer(text):
            # Modules that import one another stand in any order: what they share is used only once all have run.
            back = name in {other[2] for other in IMPORT.finditer(found[match[2]])}
            assert name == FIRST or back or match[2] == FIRST or places[match[2]] < places[name], (name, match[2])


def test_no_module_makes_html_of_texts() -> None:
    """Nodes are built; where markup is read in, it is a figure that the page's own code has drawn and escaped."""
    for name, text in modules().items():
        assert not re.search(r"outerHTML|insertAdjacentHTML|document\.write|\beval\b|new Function", text), name
        if name in ("search.mjs", "shell.mjs", "offline.mjs"):
            assert "innerHTML" not in text, name


def test_the_joined_module_is_plain_and_the_same_every_time() -> None:
    text = joined()
    assert text == joined()
    assert not re.search(r"^(import|export)\b", text, re.MULTILINE)
    assert "</script" not in text.lower()
    assert "<!--" not in text
    assert content_security_policy([], [text]).count("sha256-") == 1


A = 'export const aOne = "1 // not a comment";\nexport function aTwo() {\n  return aOne;\n}\n'
B = 'import { aOne, aTwo } from "./a.mjs";\n\nconst [bOne, bTwo] = [1, 2];\nconsole.log(aOne, aTwo(), bOne, bTwo);\n'


def test_joining_leaves_out_imports_and_exports() -> None:
    text = joined({"a.mjs": A, "b.mjs": B})
    assert "import" not in text
    assert "export" not in text
    assert '"1 // not a comment"' in text
    assert text.index("const aOne") < text.index("console")


def test_a_joined_module_has_no_comments_and_its_texts_whole() -> None:
    noted = '/** What\n * it is. */\n// A line.\nconst aOne = "// kept too";\nconst aTwo = [\n  `// kept`,\n];\n'
    text = joined({"a.mjs": noted})
    assert "it is" not in text
    assert "A line" not in text
    assert '"// kept too"' in text
    assert "`// kept`" in text


def test_the_order_follows_the_imports() -> None:
    sources = {"a.mjs": 'import { bX } from "./b.mjs";\n', "b.mjs": "export const bX = 1;\n", FIRST: "\n"}
    assert in_order(sources) == [FIRST, "b.mjs", "a.mjs"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("const aOne = 2;\n", "b.mjs: the name aOne is taken by a.mjs"),
        ("async function aTwo() {}\n", "the name aTwo is taken"),
        ("const [aOne, bX] = [1, 2];\n", "the name aOne is taken"),
        ('import { aThree } from "./a.mjs";\n', "b.mjs:1: a.mjs does not export aThree"),
        ('import { cOne } from "./c.mjs";\n', "there is no module c.mjs"),
        ('import * as a from "./a.mjs";\n', "on one line"),
        ('import {\n  aOne,\n} from "./a.mjs";\n', "on one line"),
        ('import { aOne as bOne } from "./a.mjs";\n', "on one line"),
        ("export default 1;\n", "an export stands before"),
        ('export { aOne } from "./a.mjs";\n', "an export stands before"),
        ("const {\n  bOne,\n} = location;\n", "stand on one line"),
        ('await import("./a.mjs");\n', "nothing is imported while the page runs"),
        ("const bOne = `\n`;\n", "a text between grave accents stands on one line"),
        ("const bOne = 1; /* noted */\n", "a comment has lines of its own"),
        ('const bTag = "</SCRIPT>";\n', "`</script`"),
        ("const bOne = 1;", "the last line has no end"),
    ],
)
def test_what_cannot_be_joined_is_told(text: str, words: str) -> None:
    with pytest.raises(ScriptError) as caught:
        joined({"a.mjs": A, "b.mjs": text})
    assert words in str(caught.value)


def test_the_service_worker_bears_its_edition() -> None:
    assert "@edition@" not in service_worker("0a1b-2c")
    assert "0a1b-2c" in service_worker("0a1b-2c")
    with pytest.raises(ValueError, match="not the name of an edition"):
        service_worker("x`; alert(1)")
