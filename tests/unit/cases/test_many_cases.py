"""A table of cases with its advice: every row as if it had been asked alone, however many there are."""

from __future__ import annotations

import shutil
import tracemalloc
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date
from io import BytesIO
from itertools import count, islice, product
from pathlib import Path
from random import Random
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.cases.many_cases import MOST_TOLD, Tally, label
from liningbook.cases.question import BadQuestion, answer, put
from liningbook.meaning.meaning import Meaning
from liningbook.say.faults import reason_words
from liningbook.sources.csv_rows import CannotRead, open_rows, to_bytes
from tests.oracle.folder import write_folder
from tests.oracle.generate import random_protocol
from tests.refused import refusing

DAY = date(2026, 11, 25)

ADDED_TO_A_DECISION = ("", ".state", ".rules", ".grade")

ROW = ["0.4 mm", "no", "normal", "amalgam", "no", "no", "no", "no", "no", "no"]


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found = analyse(demonstration, DAY).meaning
    assert found is not None
    return found


def text_of(meaning: Meaning, name: str, random: Random) -> str:
    factor = meaning.protocol.factors[name.removesuffix(".reading")]
    if factor.unit is None or factor.limits is None:
        return random.choice(list(factor.values))
    low, high = factor.limits.lower.value, factor.limits.upper.value
    thresholds = [bound for cell in meaning.space.axes[meaning.space.index[factor.id]].cells for bound in
                  (cell.lower.value, cell.upper.value)]  # fmt: skip
    digits = random.choice([0, 1, 2, 4])
    number = random.choice([float(random.choice(thresholds)), random.uniform(float(low), float(high))])
    if name != factor.id:
        number = random.uniform(float(low) - 1, float(high) * 2)
    return f"{number:.{digits}f} {factor.unit.code}"


def names_of(meaning: Meaning, random: Random, most: int = 0) -> list[str]:
    """A column for each factor, up to `most` of them holding readings, in any order."""
    names = list(meaning.protocol.factors)
    able = [n for n in names if (how := meaning.protocol.factors[n].reading) is not None and how.cautious]
    read_off = random.sample(able, min(most, len(able)))
    return random.sample([f"{name}.reading" if name in read_off else name for name in names], len(names))


def random_table(meaning: Meaning, names: list[str], rows: int, random: Random) -> list[list[str]]:
    return [names, *[[text_of(meaning, name, random) for name in names] for _ in range(rows)]]


def expected(meaning: Meaning, given: Mapping[str, str]) -> dict[str, str]:
    """The added cells, from the same question put alone."""
    decisions = meaning.protocol.decisions
    added = {column: "" for name in decisions for column in (name, f"{name}.state", f"{name}.rules", f"{name}.grade")}
    doubt = {"borderline": "", "outside_limits": ""} if any(name.endswith(".reading") for name in given) else {}
    try:
        reply = answer(meaning, put(meaning, given))
    except BadQuestion as no:
        return {**added, **doubt, "scope": "", "edition_state": "", "problem": reason_words(no)}
    for name, outcome in reply.advice.outcomes.items():
        words = {"layer": "{}", "choice": "{}", "none": "none", "judgement": "judgement"}
        added[name] = " | ".join(words[c.answer.kind].format(c.answer.name) for c in outcome.candidates)
        added[f"{name}.state"] = outcome.state
        added[f"{name}.rules"] = " | ".join("; ".join(c.rules) for c in outcome.candidates)
        stated = [[graded(meaning, rule) for rule in c.rules] for c in outcome.candidates]
        added[f"{name}.grade"] = " | ".join("; ".join(grades) for grades in stated)
    if reply.doubt is not None:
        wrong = [name for name, item in reply.question.taken.items() if item.is_doubtful]
        said = [f"{name}: the reading is outside the limits; check the number and the unit" for name in wrong]
        doubt = {"borderline": "yes" if reply.doubt.is_borderline else "no", "outside_limits": "; ".join(said)}
    scope = "yes" if reply.advice.excluded is None else "no"
    return {**added, **doubt, "scope": scope, "edition_state": reply.edition_state, "problem": ""}


def graded(meaning: Meaning, rule: str) -> str:
    stated = meaning.protocol.rules[rule].evidence
    parts = [None if stated.basis == "research" else stated.basis, stated.strength, stated.certainty]
    return ", ".join([*filter(None, parts), *([f"level-{stated.level}"] if stated.level else [])])


def check(meaning: Meaning, table: list[list[str]]) -> Counter[str]:
    """Holds every row against the question put alone; gives how often each state, doubt and scope occurred."""
    seen: Counter[str] = Counter()
    answered: dict[tuple[str, ...], dict[str, str]] = {}
    header, *rows = list(label(meaning, table, reason_words))
    assert len(rows) == len(table) - 1
    width = len(table[0])
    for given, row in zip(table[1:], rows, strict=True):
        assert row[:width] == given
        key = tuple(given)
        if key not in answered:
            answered[key] = expected(meaning, dict(zip(table[0], given, strict=True)))
        found = dict(zip(header[width:], row[width:], strict=True))
        want = answered[key]
        assert list(found) == list(want)
        if want["problem"]:
            assert want["problem"] in found["problem"]
            found["problem"] = want["problem"]
        assert found == want
        seen.update(
            f"{name}={text}" for name, text in found.items() if text and name not in ("problem", "outside_limits")
        )
        seen["problems"] += bool(found["problem"])
        seen["outside limits"] += bool(found.get("outside_limits"))
    return seen


# --- the same as one question at a time -----------------------------------------------------------------------------


def test_ten_thousand_rows_get_the_advice_of_the_same_questions(meaning: Meaning) -> None:
    random = Random(1)
    seen = check(meaning, random_table(meaning, names_of(meaning, random), 10_000, random))
    for wanted in ("management=assess", "management=judgement", "liner=none", "liner=hydraulic-calcium-silicate",
                   "liner.state=not-needed", "sealer=cavity-varnish", "scope=yes", "scope=no"):  # fmt: skip
        assert seen[wanted], wanted
    assert not seen["problems"]


def test_rows_that_are_read_off_get_the_advice_and_the_doubt_of_the_same_questions(meaning: Meaning) -> None:
    random = Random(2)
    seen = check(meaning, random_table(meaning, names_of(meaning, random, 1), 2500, random))
    assert seen["borderline=yes"] > 20
    assert seen["borderline=no"] > 20
    assert seen["outside limits"] > 20
    assert not seen["problems"]


def test_random_protocols_in_every_state_get_the_advice_of_the_same_questions(tmp_path: Path) -> None:
    seen: Counter[str] = Counter()
    for seed in range(60):
        plain: dict[str, Any] = random_protocol(seed)
        found = analyse(write_folder(plain, tmp_path / str(seed)), date.fromisoformat(plain["day"])).meaning
        assert found is not None
        random = Random(seed)
        seen += check(found, random_table(found, names_of(found, random, seed % 3), 60, random))
    states = {name.partition("=")[2] for name in seen if ".state=" in name}
    assert states == {"not-needed", "gap", "conflict", "contraindicated", "clash", "answered"}
    assert seen["problems"], "no value off the step or out of the limits; the random texts are too tame"
    assert any(" | " in name for name in seen)


def test_a_row_is_borderline_where_only_the_state_of_an_answer_is_in_doubt(demonstration: Path, tmp_path: Path) -> None:
    shutil.copytree(demonstration, tmp_path / "copy")
    (tmp_path / "copy" / "rules" / "no-varnish-over-thick-dentine.md").write_text(
        "---\ntitle: No varnish over thick dentine\nwhen: {rdt: {above: 4 mm}}\navoid: {sealer: [cavity-varnish]}\n"
        "evidence: {basis: good-practice, note: Invented., strength: conditional}\n---\nInvented.\n",
        "utf-8",
    )
    found = analyse(tmp_path / "copy", DAY).meaning
    assert found is not None
    names = ["rdt.reading", *list(found.protocol.factors)[1:]]
    table = [names, *[[f"{reading} mm", *ROW[1:]] for reading in ("4.5", "5.7", "7.5")]]
    check(found, table)
    rows = list(label(found, table, reason_words))
    assert [row[23] for row in rows] == ["sealer.state", "answered", "answered", "contraindicated"]
    assert [row[26] for row in rows] == ["borderline", "no", "yes", "no"]


def test_a_reading_that_cannot_be_is_doubted_in_its_row_and_counted(meaning: Meaning) -> None:
    """As in a single case; a value that cannot be is no case at all."""
    names = ["rdt.reading", *list(meaning.protocol.factors)[1:]]
    readings = ["0.6 mm", "1000 m", "-5 mm", "9 mm"]
    tally = Tally()
    header, *rows = label(meaning, [names, *[[reading, *ROW[1:]] for reading in readings]], reason_words, tally)
    told = [dict(zip(header, row, strict=True)) for row in rows]
    doubt = "rdt: the reading is outside the limits; check the number and the unit"
    assert [row["outside_limits"] for row in told] == ["", doubt, doubt, ""]
    assert [row["problem"] for row in told] == [""] * 4
    assert tally == Tally(rows=4, doubtful=2)


# --- blanks ---------------------------------------------------------------------------------------------------------


def completions(meaning: Meaning, row: list[str], blank: list[int]) -> Iterator[list[str]]:
    """The row with a text for each cell of each factor that it leaves blank."""
    axes = meaning.space.axes
    texts = [[axes[number].sample(1 << cell) for cell in range(axes[number].count)] for number in blank]
    for chosen in product(*texts):
        filled = list(row)
        for number, text in zip(blank, chosen, strict=True):
            filled[number] = text
        yield filled


def meaning_of(meaning: Meaning, given: Mapping[str, str]) -> Any:
    """What the protocol says to a whole case, told apart as people would."""
    advice = answer(meaning, put(meaning, given)).advice
    return None if advice.excluded is not None else tuple(outcome.said for outcome in advice.outcomes.values())


def test_a_blank_is_taken_where_it_cannot_matter_and_named_where_it_does(tmp_path: Path) -> None:
    """Against every way to fill in the row, on random protocols."""
    seen: Counter[str] = Counter()
    for seed in range(40):
        plain: dict[str, Any] = random_protocol(seed)
        found = analyse(write_folder(plain, tmp_path / str(seed)), date.fromisoformat(plain["day"])).meaning
        assert found is not None
        random = Random(seed)
        names = list(found.protocol.factors)
        for _ in range(8):
            row = [text_of(found, name, random) for name in names]
            blank = sorted(random.sample(range(len(names)), random.randint(1, min(2, len(names) - 1))))
            for number in blank:
                row[number] = random.choice(["", " "])
            whole = list(completions(found, row, blank))
            header, given, one = label(found, [names, row, whole[0]], reason_words)
            told, filled = (dict(zip(header, cells, strict=True)) for cells in (given, one))
            if filled["problem"]:
                assert told["problem"] == filled["problem"]
                continue
            said = {tuple(row): meaning_of(found, dict(zip(names, row, strict=True))) for row in whole}
            matter = set()
            for number in blank:
                others: dict[tuple[str, ...], set[Any]] = {}
                for filled_in, what in said.items():
                    others.setdefault(filled_in[:number] + filled_in[number + 1 :], set()).add(what)
                if any(len(ways) > 1 for ways in others.values()):
                    matter.add(names[number])
            problems = [f"{name}: the cell is blank, and the advice hangs on it" for name in names if name in matter]
            in_scope = [row for row, what in said.items() if what is not None]
            if len(set(said.values())) == 1:
                same = [*(f"{name}.state" for name in found.protocol.decisions), "scope", "problem"]
                assert [told[name] for name in same] == [filled[name] for name in same]
                for name in found.protocol.decisions:
                    assert sorted(told[name].split(" | ")) == sorted(filled[name].split(" | "))
            else:
                assert told["problem"] == "; ".join(problems)
                assert not any(told[name] for name in found.protocol.decisions)
            seen.update([f"named {len(matter)}", f"scope {len(in_scope) > 0}"])
    assert min(seen["named 0"], seen["named 1"], seen["named 2"], seen["scope False"]) > 0, seen


def test_the_demonstration_needs_no_more_than_the_advice_hangs_on(meaning: Meaning) -> None:
    names = list(meaning.protocol.factors)
    exposed = ["", "yes", *[""] * 8]
    thin = ["0.4 mm", "no", "", *ROW[3:]]
    tally = Tally()
    header, *rows = label(meaning, [names, exposed, thin], reason_words, tally)
    told = [dict(zip(header, row, strict=True)) for row in rows]
    assert (told[0]["management"], told[0]["liner.state"], told[0]["problem"]) == ("assess", "not-needed", "")
    assert told[1]["problem"] == "pulp: the cell is blank, and the advice hangs on it"
    assert (tally.rows, tally.unusable) == (2, 1)


def test_a_blank_beside_a_reading_keeps_its_doubt(meaning: Meaning) -> None:
    names = ["rdt.reading", *list(meaning.protocol.factors)[1:]]
    full = [["0.6 mm", *ROW[1:]], ["1000 m", *ROW[1:]], ["2.9 mm", *ROW[1:]]]
    settled = meaning.space.index["rosin-allergy"]
    table = [names, *full, *[[*row[:settled], "", *row[settled + 1 :]] for row in full]]
    header, *rows = label(meaning, table, reason_words)
    for whole, blank in zip(rows[:3], rows[3:], strict=True):
        first, second = (dict(zip(header, row, strict=True)) for row in (whole, blank))
        if not second["problem"]:
            assert {**second, "rosin-allergy": first["rosin-allergy"]} == first


# --- the table ------------------------------------------------------------------------------------------------------


def test_the_advice_stands_to_the_right_of_the_columns_as_they_are(meaning: Meaning) -> None:
    names = list(meaning.protocol.factors)
    header, row = label(meaning, [["who", *names, " count ", "=1+1"], ["a;b", *ROW, "3", "@x"]], reason_words)
    assert header[:13] == ["who", *names, " count ", "=1+1"]
    assert header[13:] == [
        *[f"{name}{what}" for name in ("management", "liner", "base", "sealer") for what in ADDED_TO_A_DECISION],
        "scope", "edition_state", "problem",
    ]  # fmt: skip
    assert row[:13] == ["a;b", *ROW, "3", "@x"]
    assert row[13::4][:4] == ["restore", "calcium-hydroxide", "resin-modified-glass-ionomer", "cavity-varnish"]
    assert row[14::4][:4] == ["answered"] * 4
    assert row[-3:] == ["yes", "in-force", ""]


def test_the_rules_and_their_grades_stand_beside_the_answer(meaning: Meaning) -> None:
    header, row = label(meaning, [[*meaning.protocol.factors], ROW], reason_words)
    told = dict(zip(header, row, strict=True))
    assert (told["liner.rules"], told["liner.grade"]) == ("line-a-deep-cavity", "conditional, very-low")
    assert (told["sealer.rules"], told["sealer.grade"]) == ("varnish-under-amalgam", "conditional, very-low")


def test_a_row_that_cannot_be_used_is_written_with_its_reason_and_no_advice(meaning: Meaning) -> None:
    names = list(meaning.protocol.factors)
    tally = Tally()
    rows = list(label(meaning, [names, ROW, ["0,4 mm", *ROW[1:]], ["x"], ROW], reason_words, tally))
    assert [len(row) for row in rows] == [29] * 5
    assert rows[2][:10] == ["0,4 mm", *ROW[1:]]
    assert rows[2][10:28] == [""] * 18
    assert rows[2][28].startswith("rdt: the number has a decimal comma")
    assert rows[3][28] == "the row has 1 cell, the header has 10"
    assert rows[1] == rows[4]
    assert (tally.rows, tally.unusable) == (4, 2)
    assert [(number, reason_words(why)) for number, why in tally.problems] == [(3, rows[2][-1]), (4, rows[3][-1])]


@pytest.mark.parametrize("name", ["liner", "liner.state", "scope", "edition_state", "problem"])
def test_a_column_that_the_advice_would_be_mistaken_for_stops_it(meaning: Meaning, name: str) -> None:
    with refusing(CannotRead, f"a column called {name}, and the table already has one"):
        label(meaning, [[*meaning.protocol.factors, name]], reason_words)


def test_a_column_called_borderline_matters_only_where_something_is_read_off(meaning: Meaning) -> None:
    names = list(meaning.protocol.factors)
    assert len(next(label(meaning, [[*names, "borderline"]], reason_words))) == 30
    with refusing(CannotRead, "a column called borderline"):
        label(meaning, [["rdt.reading", *names[1:], "borderline"]], reason_words)


@pytest.mark.parametrize(("separator", "newline", "mark"), [(",", "\n", b""), (";", "\r\n", b"\xef\xbb\xbf")])
def test_a_file_comes_out_as_it_went_in_with_the_advice(
    meaning: Meaning, separator: str, newline: str, mark: bytes
) -> None:
    lines = [separator.join([*meaning.protocol.factors, "note"]), separator.join([*ROW, '"one\ntwo; three, four"'])]
    data = mark + "".join(line + newline for line in lines).encode() + b"M\xfcller" + newline.encode()
    rows = open_rows(BytesIO(data))
    out = b"".join(to_bytes(label(meaning, rows, reason_words), rows))
    assert out.startswith(mark + lines[0].encode() + separator.encode())
    assert lines[1].encode() + separator.encode() + b"restore" in out
    assert out.count(newline.encode()) == data.count(newline.encode())
    assert newline.encode() + b"M\xfcller" + separator.encode() * 29 in out
    again = open_rows(BytesIO(out))
    assert [len(row) for row in again] == [30, 30, 30]
    assert [row[29] for row in open_rows(BytesIO(out))] == ["problem", "", "the row has 1 cell, the header has 11"]


# --- however many ---------------------------------------------------------------------------------------------------


def endless(meaning: Meaning, taken: list[int]) -> Iterator[list[str]]:
    """Rows without end, no two alike: numbers that keep changing, foreign texts, one row in ten of no use."""
    random = Random(3)
    yield ["who", *meaning.protocol.factors]
    for number in count():
        taken[0] = number
        rdt = f"{random.uniform(0, 6):.5f} mm" if number % 10 else f"thin {number}"
        rest = [text_of(meaning, name, random) for name in list(meaning.protocol.factors)[1:]]
        yield [f"case {number}", rdt, *rest]


def test_rows_are_taken_one_by_one(meaning: Meaning) -> None:
    taken = [0]
    table = label(meaning, endless(meaning, taken), reason_words)
    for number, row in enumerate(islice(table, 1, 50)):
        assert row[0] == f"case {number}"
        assert taken[0] == number


def test_memory_does_not_grow_with_the_number_of_rows(meaning: Meaning, monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("space.holding", "cases.case_table", "cases.many_cases"):
        monkeypatch.setattr(f"liningbook.{module}.MOST_KEPT", 100)
    table = label(meaning, endless(meaning, [0]), reason_words)
    tracemalloc.start()
    try:
        for _ in islice(table, 6000):
            pass
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 1_000_000  # without a bound it is 3.8 MB


def test_a_million_rows_go_through_as_they_come(meaning: Meaning) -> None:
    block = [ROW[:], ["0,4 mm", *ROW[1:]], *[[f"{n / 100:.2f} mm", *ROW[1:]] for n in range(1, 599)]]
    header = list(meaning.protocol.factors)
    produced = 0

    def rows() -> Iterator[list[str]]:
        nonlocal produced
        yield header
        for number in range(1_000_000):
            produced += 1
            yield block[number % 600]

    tally = Tally()
    most_ahead = number = 0
    for number, _ in enumerate(label(meaning, rows(), reason_words, tally)):
        most_ahead = max(most_ahead, produced - number)
    assert number == 1_000_000
    assert most_ahead == 0
    assert (tally.rows, tally.unusable) == (1_000_000, sum(n % 600 == 1 for n in range(1_000_000)))
    assert len(tally.problems) == MOST_TOLD
