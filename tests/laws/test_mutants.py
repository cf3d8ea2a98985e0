"""Mistakes that the engine could make: the laws find out each of them, whichever window of their seeds a run takes.

A mistake is a change of the engine's text, made in the running function and taken back. It counts as found out when a
law about random protocols fails for at least one seed of every window.
"""

from __future__ import annotations

import ast
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib import import_module
from inspect import getattr_static
from pathlib import Path
from types import CodeType
from typing import Any

import pytest

import liningbook
from tests import seeds
from tests.laws import test_against_brute_force, test_protection, test_readings, test_two_versions
from tests.oracle import compare
from tests.oracle.generate import random_protocol
from tests.oracle.irritants import KINDS, differences
from tests.oracle.materials import guarded_world, protocol_with_materials
from tests.oracle.pairs import pair_of
from tests.oracle.world import world_of

PACKAGE = Path(liningbook.__file__).parent
ROOMS = ("space", "meaning", "checks", "cases", "compare")


def of_cases(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        assert list(compare.disagreements(world_of(str(seed), random_protocol(seed), Path(folder)))) == []


def of_materials(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = guarded_world(str(seed), protocol_with_materials(seed), Path(folder))
        assert [line for kind in KINDS for line in differences(world, kind, world.of_materials, world.expected)] == []


def of_readings(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        world = guarded_world(str(seed), protocol_with_materials(seed), Path(folder))
        questions = list(test_readings.ask(world))
        test_readings.test_a_reading_is_corrected_and_counts_on_the_cautious_side(world, questions)
        test_readings.test_the_advice_for_a_reading_is_that_of_the_value_it_counts_as(world, questions)
        test_readings.test_a_reading_is_borderline_exactly_where_the_advice_within_its_uncertainty_differs(
            world, questions
        )


def of_versions(seed: int) -> None:
    test_two_versions.test_changed_cases_are_those_of_every_case_looked_at(pair_of.__wrapped__(seed))


LAWS: dict[Callable[[int], None], tuple[int, int, int]] = {
    of_cases: test_against_brute_force.RANGE,
    of_materials: test_protection.RANGE,
    of_readings: test_readings.RANGE,
    of_versions: test_two_versions.RANGE,
}

MISTAKES: dict[Callable[[int], None], dict[str, tuple[str, str]]] = {
    of_cases: {
        "a threshold counts to the stretch above it": ("(0 if item.lower.closed else 1)", "0"),
        "an open end counts as closed": ("(0 if item.upper.closed else 1)", "0"),
        "a number on a threshold is taken for the stretch below":
            ("return self.places[number]\n", "return max(self.places[number] - 1, 0)\n"),
        "half of what is left of a box is lost": ("  if half is not None:", "  if half is not None and not halves:"),
        "a cover that leaves a box open on one axis is taken for one that fills it":
            ("sides[last] &= ~cover[last]\n                shrunk.add(last)", "return None"),
        "boxes of a region may share cases":
            ("(boxes) if not join.meeting(box, (1 << row) - 1)]", "(boxes)]"),
        "what is excluded is in scope": (".full,)).minus(self.excluded)", ".full,))"),
        "rules that are overridden are heard": ("left = speaking & ~silent", "left = speaking"),
        "two answers are no conflict": ("if len(candidates) > 1:", "if len(candidates) > 2:"),
        "an override switches off no `avoid`": ("if not meaning.overridden_by[index] & heard:", "if True:"),
        "a `never` can be overridden": ("return [] if warned.always else self.boxes_of(", "return self.boxes_of("),
        "a decision is needed only where every answer of a conflict calls for it":
            ("return any(answer_word(candidate.answer)", "return all(answer_word(candidate.answer)"),
        "every layer of an entry clashes": ("            if layer in bearing and", "            if True and"),
        "advice is silenced by rules that advise on something else":
            ("boxes_of(self.overridden_by[index] & self.advising(decision))", "boxes_of(self.overridden_by[index])"),
    },
    of_materials: {
        "a layer on too small a place stops":
            ("place_rank(protocol, answer) >= list(protocol.places).index(acts_on)", "True"),
        "a layer stops what it gives off itself":
            ("self.order[: self.order.index(before)]", "self.order[: self.order.index(before) + 1]"),
        "a layer that may be too thin stops": ("return needed.lower <= mine.lower and", "return"),
        "dentine stops nothing": ("open_.minus(self.exposed_to(self.protocol.barriers, irritant))", "open_"),
    },
    of_readings: {
        "a guard band to the bold side":
            ('y + guard if how.cautious == "above"', 'y + guard if how.cautious != "above"'),
        "a reading is rounded to the bold side":
            ('if factor.reading.cautious == "above":', 'if factor.reading.cautious != "above":'),
    },
    of_versions: {
        "numbers are turned into another unit the wrong way":
            ("by = unit.size / to.size\n    return Range(", "by = to.size / unit.size\n    return Range("),
        "a change is sought among the same answers": ("if other not in alike", "if other in alike"),
    },
}  # fmt: skip


@cache
def engine() -> dict[Path, str]:
    return {path: path.read_text("utf-8") for room in ROOMS for path in sorted((PACKAGE / room).rglob("*.py"))}


def place_of(text: str) -> tuple[Path, str]:
    """The module and the dotted name of the function, or method, that holds a text; there must be one such place."""
    [path] = [path for path, source in engine().items() if text in source]
    assert engine()[path].count(text) == 1, path
    line = engine()[path][: engine()[path].index(text)].count("\n") + 1
    names = []
    inner: Any = ast.parse(engine()[path])
    while not names or isinstance(inner, ast.ClassDef):
        inner = next(
            node
            for node in inner.body
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and node.lineno <= line <= (node.end_lineno or 0)
        )
        names.append(inner.name)
    return path, ".".join(names)


def code_of(code: CodeType, name: str) -> CodeType:
    """The code of a function in that of its module or class."""
    first, _, rest = name.partition(".")
    found = next(part for part in code.co_consts if isinstance(part, CodeType) and part.co_name == first)
    return code_of(found, rest) if rest else found


@contextmanager
def changed(old: str, new: str) -> Iterator[None]:
    """The engine with a change of its text."""
    path, name = place_of(old)
    module = import_module(".".join(("liningbook", *path.relative_to(PACKAGE).with_suffix("").parts)))
    function: Any = module
    for part in name.split("."):
        function = getattr_static(function, part)
    for wrapped in ("fget", "func", "__func__"):
        function = getattr(function, wrapped, function)
    right = function.__code__
    function.__code__ = code_of(compile(engine()[path].replace(old, new), str(path), "exec"), name)
    try:
        yield
    finally:
        function.__code__ = right


EACH = [pytest.param(law, name, id=name) for law, names in MISTAKES.items() for name in names]


@pytest.mark.parametrize(("law", "mistake"), EACH)
def test_the_mistake_can_be_made(law: Callable[[int], None], mistake: str) -> None:
    with changed(*MISTAKES[law][mistake]):
        pass  # there is one place in the engine that says so


@pytest.mark.thorough
@pytest.mark.parametrize(("law", "mistake"), EACH)
def test_every_window_finds_the_mistake_out(law: Callable[[int], None], mistake: str) -> None:
    with changed(*MISTAKES[law][mistake]):
        for number, window in enumerate(seeds.windows(*LAWS[law])):
            assert any(fails(law, seed) for seed in window), f"no seed of window {number} tells it from the right one"


def fails(law: Callable[[int], None], seed: int) -> bool:
    try:
        law(seed)
    except Exception:
        return True
    return False


@pytest.mark.thorough
@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_the_right_engine_passes(law: Callable[[int], None]) -> None:
    """So that no law fails here for another reason than the mistake."""
    first, _, _ = LAWS[law]
    for seed in range(first, first + 5):
        law(seed)
