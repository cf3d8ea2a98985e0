"""The parts of the page's script fit together, and the one that they are joined into does what they do."""

from __future__ import annotations

import json
import re
from collections import Counter

import pytest

from liningbook.resources import site_dir
from liningbook.say.look_up.words import FIGURES, MESSAGES, script_words
from liningbook.show.assets.scripts import DRAWING, ENGINE, PAGE, PARTS, joined, part, service_worker
from liningbook.show.figures.script import engine
from liningbook.show.web.page_html import content_security_policy

ALONE = ("drawer", "preview", "sw")
"""Scripts that are no part of the page."""
TOP = re.compile(r"^(?:async )?(?:function\*?|class|const|let) ([\w$]+|[\[{][^\]}]*[\]}])", re.MULTILINE)
NAMED_BY_THEIR_SENSE = {
    "NotAQuantity", "parseQuantity", "BadCase", "answer", "readBundle", "crossSection", "coverReason",
}  # fmt: skip
"""Names that do not begin with that of their part."""


def top_level_names(text: str) -> list[str]:
    """The names that a part defines at its top: those of lines that are not indented."""
    return [name for found in TOP.findall(text) for name in re.findall(r"[\w$]+", found)]


def test_every_script_of_the_site_is_a_part_or_stands_alone() -> None:
    found = {path.stem for path in (site_dir() / "scripts").iterdir()}
    assert found == {*PARTS, *ALONE}
    assert len(PARTS) == len(set(PARTS))


def test_no_two_parts_define_the_same_name_at_their_top() -> None:
    names = Counter(name for one in PARTS for name in top_level_names(part(one)))
    assert len(names) > 150
    assert [name for name, count in names.items() if count > 1] == []


@pytest.mark.parametrize("one", PARTS)
def test_a_name_tells_in_which_part_it_stands(one: str) -> None:
    names = {name for name in top_level_names(part(one)) if not name.lower().startswith(one)}
    assert names <= NAMED_BY_THEIR_SENSE


@pytest.mark.parametrize("one", [*PARTS, *ALONE])
def test_a_part_is_no_longer_than_a_module(one: str) -> None:
    assert len(part(one).split("\n")) <= 300


@pytest.mark.parametrize("one", PARTS)
def test_a_part_imports_and_exports_nothing(one: str) -> None:
    assert not re.search(r"^\s*(?:import|export)\b|\bimport\s*\(|\bimport\.meta\b", part(one), re.MULTILINE)


def test_the_parts_are_one_strict_script() -> None:
    """The engine reads them whole: a name taken twice, or a mistake of spelling, is an error of its own."""
    assert engine().eval(f"(function () {{ 'use strict'; return function () {{ {{ {joined()} }} }}; }})() !== null")


def test_a_name_taken_twice_would_be_told() -> None:
    with pytest.raises(Exception, match="already been declared"):
        engine().eval(f"'use strict'; {{ {joined(('exact',))} function exactMeet() {{}} }}")


def test_what_answers_and_draws_does_not_know_of_the_page() -> None:
    for one in ("say", *ENGINE, *DRAWING):
        assert not re.search(r"\b(?:document|window|location|navigator)\b", part(one)), one


def test_the_cover_comes_first() -> None:
    assert PARTS[0] == "shell"
    assert joined().index("shellCover()") < joined().index("class Exact")


def test_no_part_makes_html_of_texts() -> None:
    """Nodes are built; where markup is read in, it is a figure that the page's own code has drawn and escaped."""
    for one in PARTS:
        assert not re.search(r"outerHTML|insertAdjacentHTML|document\.write|\beval\b|new Function", part(one)), one
        if one in ("search", "shell", "offline"):
            assert "innerHTML" not in part(one), one


def test_the_joined_script_is_plain_and_the_same_every_time() -> None:
    text = joined()
    assert text == joined()
    assert "</script" not in text.lower()
    assert "<!--" not in text
    assert content_security_policy([], [text]).count("sha256-") == 1


def test_a_joined_script_has_no_comments_and_its_texts_whole() -> None:
    text = joined()
    assert "It stands first in the page" in part("shell")
    assert "It stands first in the page" not in text
    assert "It holds no numbers" in part("words")
    assert "It holds no numbers" not in text
    for one in PARTS:
        for quoted in re.findall(r'"[^"\n]*//[^"\n]*"', part(one)):
            assert quoted in text


# --- the words ------------------------------------------------------------------------------------------------------


def said_by(one: str) -> set[str]:
    """The keys of the messages that a part says; `*` stands for what is put together."""
    found = set()
    for match in re.finditer(r"\b(?:say|sayMessage|nodesSaid)\(", part(one)):
        found |= keys(argument(part(one), match.end()))
    return found


def keys(code: str) -> set[str]:
    """The texts of a piece of code but for those with which something is compared."""
    code = re.sub(r'=== "[^"]*"', "", code)
    together = re.findall(r"`([^`]*)`", code)
    plain = re.findall(r'"([^"\n]+)"', re.sub(r"`[^`]*`", "", code))
    return {*plain, *(re.sub(r"\$\{[^}]*\}", "*", text) for text in together)}


def argument(text: str, start: int) -> str:
    """The first argument of a call."""
    depth, at = 0, start
    while depth or text[at] not in ",)":
        depth += (text[at] in "([{") - (text[at] in ")]}")
        at += 1
    return text[start:at]


def test_every_message_that_a_part_says_is_known() -> None:
    known = {*MESSAGES, "to"}
    patterns = {re.escape(key).replace(r"\*", "[a-z]+"): key for one in PARTS for key in said_by(one)}
    assert [key for one, key in patterns.items() if not any(re.fullmatch(one, other) for other in known)] == []


def test_every_message_is_said() -> None:
    code = "".join(map(part, PARTS))
    patterns = {re.escape(key).replace(r"\*", "[a-z]+") for one in PARTS for key in said_by(one) if "*" in key}
    either = {f"{key}-borderline" for key in re.findall(r'wordsBorderline\("([a-z-]+)"', code)}
    left = [key for key in MESSAGES if f'"{key}"' not in code and key not in either]
    assert [key for key in left if not any(re.fullmatch(one, key) for one in patterns)] == []


def test_what_a_figure_says_stands_with_the_figures() -> None:
    said = {key for one in ("section", "tooth", "reading") for key in said_by(one)}
    assert [key for key in FIGURES if key not in said] == []


def test_the_words_are_plain_data_with_a_form_for_every_number() -> None:
    words = script_words()
    assert words == json.loads(json.dumps(words))
    forms = {key: set(one) for key, one in words["say"].items() if isinstance(one, dict)}
    assert forms
    assert all(found == {"one", "other"} for found in forms.values())


def test_the_service_worker_bears_its_edition() -> None:
    assert "@edition@" not in service_worker("0a1b-2c")
    assert "0a1b-2c" in service_worker("0a1b-2c")
    with pytest.raises(ValueError, match="not the name of an edition"):
        service_worker("x`; alert(1)")


def test_the_page_is_made_of_all_parts() -> None:
    assert set(PARTS) == {"shell", "say", *ENGINE, *DRAWING, *PAGE}
