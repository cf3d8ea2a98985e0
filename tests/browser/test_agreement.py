"""The browser's evaluator says what Liningbook says, word for word and to the last digit, in a real browser."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date
from itertools import islice, product
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.meaning.possible import Possible
from tests import seeds
from tests.browser.cases import asking, cases, partial_cases, protocol
from tests.browser.evaluator import Evaluator, differences, evaluator, expected, in_browser, script, sorts
from tests.oracle.folder import write_folder
from tests.oracle.generate import DAY, Source
from tests.saying import messages_of

__all__ = ["evaluator", "in_browser"]

SEEDS = seeds.window(7000, 40, 4, always=[7009, 7017, 7021, 7023])
PARTIAL = seeds.window(7000, 200, 20, always=[7037, 7143, 7171])
CASES = 520
"""Cases of each seed: 20,800 in all, a fourth of them in each run."""

FAULTY = sorted(path.parent for path in Path(__file__).resolve().parents[2].glob("guidelines/faulty/*/protocol.yaml"))

SORTS = {
    "given": 5000, "read off": 5000, "refused": 500, "in scope": 10_000, "excluded": 500, "not-needed": 500, "gap": 500,
    "conflict": 500, "contraindicated": 200, "clash": 100, "answered": 5000, "silent": 500, "borderline": 1500,
    "near": 1000,
    "otherwise_not_covered": 100, "irritants": 2000, "another order": 100, "given off": 500, "several readings": 100,
    "stops_short_of_limit": 300, "outside_limits": 100, "long number": 100, "a part": 100, "settled": 20, "open": 20,
    "irrelevant": 20, "scope open": 10, "settled in part": 10, "asked on": 20, "finished early": 20,
}  # fmt: skip
"""How many replies of each sort the random cases of all seeds must get at least; of a fourth, half its share."""


def made(plain: Mapping[str, Any], folder: Path) -> tuple[Analysis, dict[str, Any]]:
    """A protocol in plain data, analysed and bundled."""
    analysis = analyse(write_folder(plain, folder), date.fromisoformat(plain["day"]))
    assert analysis.meaning is not None, messages_of(analysis.findings)
    return analysis, bundle_of(analysis)


@pytest.mark.parametrize("seed", SEEDS)
def test_both_say_the_same_to_random_cases_of_random_protocols(
    seed: int, evaluator: Evaluator, in_browser: str, tmp_path: Path
) -> None:
    analysis, bundle = made(protocol(seed), tmp_path)
    assert analysis.meaning is not None
    asked = list(cases(Source(seed), analysis.meaning.space.axes, CASES))
    replies = evaluator.replies(in_browser, bundle, asked)
    wrong = list(islice(differences(analysis, asked, replies, Counter()), 3))
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("seed", PARTIAL)
def test_both_say_the_same_to_parts_of_cases_of_random_protocols(
    seed: int, evaluator: Evaluator, in_browser: str, tmp_path: Path
) -> None:
    analysis, bundle = made(asking(seed), tmp_path)
    assert analysis.meaning is not None
    asked = [{}, *partial_cases(Source(seed), analysis.meaning.space.axes, 40)]
    tally: Counter[str] = Counter()
    wrong = list(islice(differences(analysis, asked, evaluator.replies(in_browser, bundle, asked), tally), 3))
    assert not wrong, "\n".join(wrong)
    assert tally["a part"] >= 10


def test_the_parts_of_cases_get_replies_of_every_sort(tmp_path: Path) -> None:
    tally: Counter[str] = Counter()
    for seed in range(7000, 7012):
        analysis, _ = made(asking(seed), tmp_path / str(seed))
        assert analysis.meaning is not None
        possible = Possible(analysis.meaning)
        for given in partial_cases(Source(seed), analysis.meaning.space.axes, 40):
            tally.update(sorts(given, expected(analysis, given, possible)))
    least = {"settled in part": 20, "open": 50, "scope open": 20, "excluded": 5, "irrelevant": 20, "asked on": 50,
             "finished early": 20, "always asked": 5, "borderline": 5, "near": 5,
             "silent": 5, "conflict": 5}  # fmt: skip
    assert {sort: tally[sort] for sort in least if tally[sort] < least[sort]} == {}


def test_the_random_cases_get_replies_of_every_sort(tmp_path: Path) -> None:
    tally: Counter[str] = Counter()
    for seed in SEEDS:
        analysis, _ = made(protocol(seed), tmp_path / str(seed))
        assert analysis.meaning is not None
        for given in cases(Source(seed), analysis.meaning.space.axes, CASES):
            tally.update(sorts(given, expected(analysis, given)))
    share = 1 if seeds.takes_all() else 1 / 8
    assert {sort: tally[sort] for sort, least in SORTS.items() if tally[sort] < share * least} == {}
    assert set(tally) <= set(SORTS)


EVIDENCE = {"basis": "good-practice", "note": "Made by hand."}
MOVED = {
    "protocol": {
        "title": "Moved", "practice": "A program", "edition": "1", "status": "draft", "review_by": "2099-01-01",
        "authors": [{"name": "A. Program", "role": "author", "interests": "none"}], "scope": "Tests",
        "cautions": ["None."], "evidence_scheme": "grade", "factors": {"wet": {"label": "Wet", "kind": "yes-no"}},
        "decisions": {layer: {"layer": layer} for layer in ("liner", "base", "sealer")},
    },
    "materials": {"agents": {name: {"class": name.removesuffix("-agent")}
                             for name in ("liner-agent", "base-agent", "sealer-agent")}},
    "rules": {
        "line": {"title": "Line", "advise": {"liner": {"agent": "liner-agent", "after": "base"}}, "evidence": EVIDENCE},
        "seal": {"title": "Seal", "advise": {"sealer": {"agent": "sealer-agent"}}, "evidence": EVIDENCE},
        "lay": {"title": "Lay", "when": {"wet": "yes"}, "evidence": EVIDENCE,
                "advise": {"base": {"agent": "base-agent", "after": "sealer"}}},
        "leave": {"title": "Leave", "when": {"wet": "no"}, "advise": {"base": "none"}, "evidence": EVIDENCE},
    },
    "day": DAY.isoformat(),
}  # fmt: skip
"""A protocol in which liner and sealer are settled, but their order hangs on whether there is a base."""

ALTERED = {
    "open ends included": ("low + (lowIn ? 0 : 1)", "low"),
    "a threshold in the stretch below": ("order === 0 && highIn", "order === 0"),
    "a limit not stopped short of": ("counted.compare(low) <= 0", "counted.compare(low) < 0"),
    "bands that reach the limit": ("least.compare(low) > 0", "least.compare(low) >= 0"),
    "wrong only beyond the uncertainty": ("high.plus(how.uncertainty)) > 0", "high.plus(how.uncertainty)) >= 0"),
    "guard band to the bold side": ("isAbove ? middle.plus", "!isAbove ? middle.plus"),
    "whole steps to the bold side": ('reading.cautious === "above" ? count', 'reading.cautious !== "above" ? count'),
    "too small a place": ("< rank(irritant.acts_on)", "<= rank(irritant.acts_on)"),
    "thickness that just reaches": ("exactCompareHigh(inner, outer) <= 0", "exactCompareHigh(inner, outer) < 0"),
    "an agent that stops its own": ("place < count", "place <= count"),
    "moved the wrong way": ("< order.indexOf(other) !== Boolean(side)", "< order.indexOf(other) === Boolean(side)"),
    "silent though not overridden": ("overridden.has(id)", "!overridden.has(id)"),
    "rules told apart": ("known.some((one) => doubtMeaning(compiled, one) === doubtMeaning(compiled, row))",
                         "known.includes(row)"),
    "out of scope not doubted": ("advice.excluded ? 0 : 1", "1"),
    "units taken for one another": ("value.times(given.size).over(wanted.size)", "value"),
    "not asked taken for no": ("found.cells.push(null);", "found.cells.push(factor.count - 1);"),
    "rules of some completion": ("list.filter((item) => others.every(",
                                  "list.filter((item) => !others.length || others.some("),
    "what is asked already": ("if (before[n] & after) found.add(missing[n]);", "if (bits) found.add(missing[n]);"),
    "the last of what is as good": ("least === null || left < least", "least === null || left <= least"),
    "stop questions not first": ("screening[0] ?? nextBest", "nextBest"),
    "always asked, never asked": ("matter.has(ids.indexOf(id)) || compiled.factors.get(id).alwaysAsk;",
                                  "matter.has(ids.indexOf(id));"),
    "settled as it is said first": ("if (rows.length === 1) found.settled", "if (rows.length) found.settled"),
    "scope taken for granted": ('inside ? (out.length ? "open" : true) : false', "inside > 0n"),
    "silent in some completion": ("return both.length > 0 && partialIsAlways(compiled, box, both);",
                                  "return both.length > 0;"),
    "the first order": ("orders.size === 1 ? JSON.parse([...orders][0]) : null", "JSON.parse([...orders][0])"),
    "binary fractions": ("return left < right ? -1 : left > right ? 1 : 0;",
                         "return Math.sign(Number(this.toDecimal()) - Number(other.toDecimal()));"),
}  # fmt: skip
"""Mistakes that an evaluator could make, each as a change of its text."""


@pytest.fixture(scope="module")
def some(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Analysis, dict[str, Any], list[dict[str, str]]]]:
    """A few of the protocols with their cases."""
    found = []
    for seed in range(7000, 7016):
        analysis, bundle = made(asking(seed), tmp_path_factory.mktemp(str(seed)))
        assert analysis.meaning is not None
        source, axes = Source(seed), analysis.meaning.space.axes
        found.append((analysis, bundle, [*cases(source, axes, 150), *partial_cases(source, axes, 60)]))
    found.append((*made(MOVED, tmp_path_factory.mktemp("moved")), [{}]))
    return found


@pytest.mark.parametrize("mistake", ALTERED)
def test_an_altered_evaluator_is_found_out(
    mistake: str, evaluator: Evaluator, some: list[tuple[Analysis, dict[str, Any], list[dict[str, str]]]]
) -> None:
    text = script()
    assert text.count(ALTERED[mistake][0]) == 1
    altered = evaluator.load(text.replace(*ALTERED[mistake]))
    for analysis, bundle, asked in some:
        if any(True for _ in differences(analysis, asked, evaluator.replies(altered, bundle, asked), Counter())):
            return
    pytest.fail("no case told the altered evaluator from the right one")


# --- by hand --------------------------------------------------------------------------------------------------------


@pytest.fixture
def tenths(tmp_path: Path) -> tuple[Analysis, dict[str, Any]]:
    """A protocol that places a liner up to 0.3 mm and none beyond. What is read off is 0.1 mm too small."""
    reading = {"method": "a gauge", "offset": "0.1 mm", "uncertainty": "0 mm", "guard_band": "0", "cautious": "below"}
    evidence = {"basis": "good-practice", "note": "Made by hand."}
    rdt = {"label": "Thickness", "kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm"}
    plain = {
        "protocol": {
            "title": "Tenths", "practice": "A program", "edition": "1", "status": "draft", "review_by": "2099-01-01",
            "authors": [{"name": "A. Program", "role": "author", "interests": "none"}], "scope": "Tests",
            "cautions": ["Mind this."], "evidence_scheme": "grade", "factors": {"rdt": {**rdt, "reading": reading}},
            "decisions": {"liner": {"layer": "liner"}},
        },
        "materials": {"agents": {"lime": {"class": "liner"}}},
        "rules": {
            "line": {"title": "Line", "when": {"rdt": {"at_most": "0.3 mm"}},
                     "advise": {"liner": {"agent": "lime", "coats": "2"}}, "evidence": evidence},
            "leave": {"title": "Leave", "when": {"rdt": {"above": "0.3 mm"}}, "advise": {"liner": "none"},
                      "evidence": evidence},
        },
        "day": DAY.isoformat(),
    }  # fmt: skip
    return made(plain, tmp_path)


@pytest.mark.parametrize(
    ("given", "order"),
    [({"wet": "no"}, ["liner", "sealer"]), ({"wet": "yes"}, ["sealer", "base", "liner"]), ({}, [])],
)
def test_the_order_of_settled_layers_is_said_only_where_it_hangs_on_nothing_that_is_open(
    given: dict[str, str], order: list[str], evaluator: Evaluator, in_browser: str, tmp_path: Path
) -> None:
    analysis, bundle = made(MOVED, tmp_path)
    [reply] = evaluator.replies(in_browser, bundle, [given])
    assert reply["placing_order"] == order
    assert list(differences(analysis, [given], [reply], Counter())) == []


@pytest.mark.parametrize(
    ("factor", "text", "counts_as", "rule"),
    [
        ("rdt", "0.3 mm", "0.3 mm", "line"),
        ("rdt", "0.30 mm", "0.3 mm", "line"),
        ("rdt", "300 um", "0.3 mm", "line"),
        ("rdt", "300 \u00b5m", "0.3 mm", "line"),
        ("rdt", "300.0001 \u03bcm", "0.3000001 mm", "leave"),
        ("rdt", " +.3mm ", "0.3 mm", "line"),
        ("rdt", "0.30000000000000000000000001 mm", "0.30000000000000000000000001 mm", "leave"),
        ("rdt", "0.29999999999999999999999999 mm", "0.29999999999999999999999999 mm", "line"),
        ("rdt", "300.0001 um", "0.3000001 mm", "leave"),
        ("rdt.reading", "0.2 mm", "0.3 mm", "line"),  # 0.1 + 0.2
        ("rdt.reading", "200 um", "0.3 mm", "line"),
        ("rdt.reading", "0.20000000000000000000001 mm", "0.30000000000000000000001 mm", "leave"),
    ],
)
def test_a_tenth_and_two_tenths_are_three_tenths(
    factor: str, text: str, counts_as: str, rule: str, evaluator: Evaluator, in_browser: str,
    tenths: tuple[Analysis, dict[str, Any]],
) -> None:  # fmt: skip
    [reply] = evaluator.replies(in_browser, tenths[1], [{factor: text}])
    assert reply["case"] == {"rdt": counts_as}
    assert reply["advice"]["liner"]["rules"] == [rule]
    assert list(differences(tenths[0], [{factor: text}], [reply], Counter())) == []


@pytest.mark.parametrize(
    ("given", "kind", "says"),
    [
        ({"rdt": "0.3"}, "unit", "“0.3 mm”"),
        ({"rdt": "0,3 mm"}, "unit", "“0.3 mm”"),
        ({"rdt": "0.3 microns"}, "unit", "“0.3 um”"),
        ({"rdt": "3 a"}, "unit", "mm"),
        ({"rdt": "6.0000000000000000001 mm"}, "out-of-limits", "0 mm to 6 mm"),
        ({"rdt": "1 mm", "rdt.reading": "1 mm"}, "twice", "Thickness"),
        ({"rdt": "1 mm", "pulp": "normal"}, "unknown-factor", "pulp"),
    ],
)
def test_what_cannot_be_answered_is_refused_with_a_reason(
    given: dict[str, str], kind: str, says: str, evaluator: Evaluator, in_browser: str,
    tenths: tuple[Analysis, dict[str, Any]],
) -> None:  # fmt: skip
    [reply] = evaluator.replies(in_browser, tenths[1], [given])
    assert reply["kind"] == kind
    assert says in reply["bad"]
    assert reply["factor"] == ("pulp" if kind == "unknown-factor" else "rdt")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"format": "another"}, "not a rule bundle"),
        ({"version": 2}, "version 2"),
        ({"units": None}, "older than this page"),
        ({"tables": []}, "exactly one row"),
    ],
)
def test_a_bundle_that_cannot_be_trusted_is_not_answered_from(
    changes: dict[str, Any], says: str, evaluator: Evaluator, in_browser: str, tenths: tuple[Analysis, dict[str, Any]]
) -> None:
    error = evaluator.error(in_browser, {**tenths[1], **changes}, {"rdt": "1 mm"})
    assert says in error


def test_numbers_are_written_as_liningbook_writes_them(evaluator: Evaluator, in_browser: str) -> None:
    texts = ["0", "-0", "0.50", ".5", "5.", "+007", "-0.0021", "1/8", "-3/2000", "123456789012345678901234567890.5"]
    wanted = ["0", "0", "0.5", "0.5", "5", "7", "-0.0021", "0.125", "-0.0015", "123456789012345678901234567890.5"]
    assert evaluator.page.evaluate(
        "([name, texts]) => texts.map((text) => globalThis[name].Exact.parse(text).toDecimal())", [in_browser, texts]
    ) == wanted  # fmt: skip


def test_both_say_the_same_in_every_cell_of_the_demonstration(
    evaluator: Evaluator, in_browser: str, demonstration: Path
) -> None:
    analysis = analyse(demonstration, DAY)
    meaning = analysis.meaning
    assert meaning is not None
    bundle = bundle_of(analysis)
    axes = [[axis.sample(1 << cell) for cell in range(axis.count)] for axis in meaning.space.axes]
    every = [dict(zip(meaning.space.names, values, strict=True)) for values in product(*axes)]
    assert len(every) == 31_360
    tally: Counter[str] = Counter()
    for first in range(0, len(every), 8000):
        asked = every[first : first + 8000]
        replies = evaluator.replies(in_browser, bundle, asked)
        wrong = list(islice(differences(analysis, asked, replies, tally), 5))
        assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("folder", FAULTY, ids=lambda path: path.name)
def test_both_say_the_same_of_a_faulty_protocol(folder: Path, evaluator: Evaluator, in_browser: str) -> None:
    analysis = analyse(folder, DAY)
    if analysis.meaning is None:
        return  # what is no protocol has no bundle
    asked = list(cases(Source(1), analysis.meaning.space.axes, 100))
    replies = evaluator.replies(in_browser, bundle_of(analysis), asked)
    assert list(differences(analysis, asked, replies, Counter())) == []
