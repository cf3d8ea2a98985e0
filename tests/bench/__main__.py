"""The bench: how long Liningbook takes at every size, and other ways on the same tables in the same run.

    make bench            everything, in about ten minutes
    make bench QUICK=1    the smaller sizes, each rival stopped after 3 seconds; within two minutes

The protocols are made in memory (`tests/bench/protocols.py`), so that what is measured is the analysis and not the
reading of files; one line is about a folder on the disk. Times are medians of up to five runs, each task in a process
forked for it (but for the study tables, which are pooled in turn in one). A rival that is not done in time is
stopped; one that was stopped on a smaller table of no more columns is not begun (but for Z3 on the largest, whose
whole time is estimated from the pairs it did). Prints Markdown and writes out/bench.json.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from liningbook.analysis import inspect
from liningbook.meaning.meaning import Meaning
from liningbook.model.build import build_protocol, read_folder
from liningbook.model.protocol import Protocol
from liningbook.say.findings import told
from liningbook.space.boxes import Box, cell_count
from liningbook.space.cover import uncovered
from tests.bench import asking, engine, evidence, rivals, two_versions
from tests.bench import print as printer
from tests.bench.measure import Measured, Task, measure, time_words
from tests.bench.protocols import DAY, decision_table, practice

GROWTH = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
GROWTH_COLUMNS = 8


class Bench:
    """One run of the bench: what is printed, and what goes into the JSON."""

    def __init__(self, quick: bool) -> None:
        self.quick = quick
        self.limit = 3.0 if quick else 30.0
        self.figures: dict[str, Any] = {}
        self._stopped: dict[str, list[tuple[int, int]]] = {}

    def say(self, line: str = "") -> None:
        sys.stdout.write(line + "\n")
        sys.stdout.flush()

    def table(self, head: Sequence[str], rows: Iterator[Sequence[str]]) -> None:
        """A Markdown table, row by row as it is measured."""
        self.say("| " + " | ".join(head) + " |")
        self.say("|" + " --- |" + " ---: |" * (len(head) - 1))
        for row in rows:
            self.say("| " + " | ".join(row) + " |")
        self.say()

    def rival(self, name: str, size: tuple[int, int], task: Task, always: bool = False) -> Measured:
        """Measures a rival, unless it was stopped on a table that is no larger."""
        stopped = self._stopped.setdefault(name, [])
        if not always and any(rules <= size[0] and columns <= size[1] for rules, columns in stopped):
            return Measured((), self.limit, why=f"> {self.limit:g} s, not begun")
        found = measure(task, self.limit)
        if found.seconds is None and not found.why:
            stopped.append(size)
        return found

    def keep(self, section: str, name: str, what: str, measured: Measured) -> None:
        """Puts figures into the JSON."""
        self.figures.setdefault(section, {}).setdefault(name, {})[what] = {
            "seconds": measured.seconds,
            "times": list(measured.times),
            "stopped_at": None if measured.times else measured.limit,
            "estimate": measured.estimate,
            "why": measured.why,
            "result": measured.result,
            "megabytes": round(measured.megabytes, 1),
        }


def with_ratio(measured: Measured, ours: Measured) -> str:
    """A rival's time and how many times ours it is."""
    base = ours.seconds or 0.0
    if measured.seconds is not None:
        return f"{measured.words()} ({ratio_words(measured.seconds / base)} ×)"
    if measured.why and not measured.why.startswith(">"):
        return measured.why
    least = f"{measured.words()} (> {ratio_words(measured.limit / base)} ×)"
    return (
        least
        if measured.estimate is None
        else f"> {measured.limit:g} s (about {ratio_words(measured.estimate / base)} ×)"
    )


def ratio_words(ratio: float) -> str:
    """Two figures."""
    if ratio >= 10:
        digits = len(str(int(ratio))) - 2
        return f"{round(ratio, -digits):,.0f}"
    return f"{ratio:.2g}"


def compiled(protocol: Protocol) -> tuple[Box, list[Box]]:
    """The space and the boxes of all rules."""
    meaning = Meaning(protocol, DAY)
    return meaning.space.full, [box for boxes in meaning.boxes for box in boxes]


# --- sections -------------------------------------------------------------------------------------------------------


def demonstration(bench: Bench) -> None:
    """The protocol of the demonstration."""
    bench.say("## The demonstration\n")
    folder, findings = read_folder(engine.DEMONSTRATION)
    protocol, _ = build_protocol(folder, findings)
    assert protocol is not None
    lines: list[tuple[str, Task]] = [
        ("reading the folder from the disk", lambda _: bool(build_protocol(*read_folder(engine.DEMONSTRATION)))),
        (
            "analysis alone, all checks and texts",
            lambda _: len([told(finding) for finding in inspect(Meaning(protocol, DAY))]),
        ),
        ("whole `check` in process", lambda _: len(engine.from_disk().findings)),
    ]

    def rows() -> Iterator[Sequence[str]]:
        for name, task in lines:
            found = measure(task, 30.0)
            bench.keep("demonstration", name, "liningbook", found)
            yield name, found.words()
        engine.command_from_cold()  # the first run compiles
        cold = Measured(tuple(engine.command_from_cold() for _ in range(5 if bench.quick else 9)), 30.0)
        bench.keep("demonstration", "command", "liningbook", cold)
        yield "`liningbook check` as a command from cold", f"{cold.words()} (best {time_words(min(cold.times))})"

    bench.table([f"{len(protocol.rules)} rules", "median"], rows())


def sets(bench: Bench) -> list[tuple[str, tuple[int, int], str, Callable[[], Protocol]]]:
    """Name, size, what is wrong with it, and the protocol of every set of rules."""
    found: list[tuple[str, tuple[int, int], str, Callable[[], Protocol]]] = [
        ("practice, 60 rules × 6", (60, 6), "both", lambda: practice(60))
    ]
    sizes = [(rules, columns) for rules in ((500,) if bench.quick else (500, 1000, 1500)) for columns in (3, 5, 7)]
    for rules, columns in [*sizes, *([] if bench.quick else [(5000, 8)])]:
        for noise in ("overlapping", "missing"):
            made = lambda r=rules, c=columns, n=noise: decision_table(r, c, n)  # noqa: E731
            found.append((f"{noise}, {rules:,} × {columns}", (rules, columns), noise, made))
    return found


def whole_checks(bench: Bench) -> None:
    """Everything that a check does, texts included."""
    bench.say("## The whole check: compiling, all checks, every finding in words\n")

    def rows() -> Iterator[Sequence[str]]:
        for name, _, _, make in sets(bench):
            protocol = make()
            compiling = measure(lambda _, p=protocol: len(Meaning(p, DAY).boxes), 30.0)
            questions = measure(lambda _, p=protocol: engine.questions(p), 60.0)
            found = measure(lambda _, p=protocol: engine.whole_check(p), 60.0)
            bench.keep("whole check", name, "compiling", compiling)
            bench.keep("whole check", name, "questions", questions)
            bench.keep("whole check", name, "liningbook", found)
            findings, of_pairs, boxes = found.result
            counts = [f"{count:,}" for count in (findings, of_pairs, boxes)]
            times = [measured.words() for measured in (compiling, questions, found)]
            yield name, *counts, *times, f"{found.megabytes:.0f} MB"

    bench.table(
        ["", "findings", "pairs", "boxes", "compiling", "regions and witnesses", "everything", "memory"], rows()
    )


def meeting(bench: Bench) -> None:
    """Which rules meet, against the rivals."""
    bench.say("## Which rules meet (all give the same number of pairs)\n")

    def rows() -> Iterator[Sequence[str]]:
        for name, size, noise, make in sets(bench):
            if noise == "missing":
                continue
            full, boxes = compiled(make())
            ours = measure(lambda _, f=full, b=boxes: engine.pairs(f, b), 30.0)
            bench.keep("which rules meet", name, "liningbook", ours)
            cells = [name, f"{ours.result:,}", ours.words()]
            for rival, task in rivals.PAIRS.items():
                largest = size[0] == 5000 and rival.startswith("Z3")
                found = bench.rival(f"pairs: {rival}", size, lambda p, t=task, b=boxes: t(b, p), always=largest)
                bench.keep("which rules meet", name, rival, found)
                agree(name, rival, found.result, ours.result)
                cells.append(with_ratio(found, ours))
            yield cells

    bench.table(["", "pairs", "Liningbook", *rivals.PAIRS], rows())


def open_cases(bench: Bench) -> None:
    """Which cases no rule answers, against the rivals."""
    bench.say("## Which cases no rule answers (× is the ratio to the few, large boxes; the rivals give many pieces)\n")

    def rows() -> Iterator[Sequence[str]]:
        for name, size, noise, make in sets(bench):
            if noise == "overlapping":
                continue
            protocol = make()
            meaning = Meaning(protocol, DAY)
            full = meaning.space.full
            boxes = meaning.boxes_of(meaning.advising(list(protocol.decisions)[-1]))
            ours = measure(lambda _, f=full, b=boxes: _outline(engine.gap_boxes(f, b)), 30.0)
            pieces = measure(lambda _, f=full, b=boxes: len(uncovered(f, b)), 30.0)
            bench.keep("open cases", name, "liningbook", ours)
            bench.keep("open cases", name, "liningbook, pieces", pieces)
            count, all_cells = ours.result
            narrowed = str(size[0] // 10) if noise == "missing" else "–"
            cells = [name, narrowed, f"{count:,}", pieces.words(), ours.words()]
            for rival, task in rivals.GAPS.items():
                found = bench.rival(f"gaps: {rival}", size, lambda p, t=task, f=full, b=boxes: t(f, b, p))
                bench.keep("open cases", name, rival, found)
                by_cells = rival in ("every cell by numpy", "Z3, cell by cell")
                if found.result is not None:
                    agree(
                        name,
                        rival,
                        found.result if by_cells else bool(found.result),
                        all_cells if by_cells else bool(count),
                    )
                cells.append(with_ratio(found, ours))
            yield cells

    bench.table(["", "rows narrowed", "boxes", "Liningbook, pieces", "Liningbook, boxes", *rivals.GAPS], rows())


def _outline(boxes: Sequence[Box]) -> tuple[int, int]:
    return len(boxes), sum(map(cell_count, boxes))


def agree(name: str, rival: str, theirs: Any, ours: Any) -> None:
    """Stops the bench where two ways that are done do not agree."""
    if theirs is not None and theirs != ours:
        raise SystemExit(f"{name}: {rival} gives {theirs}, Liningbook {ours}")


def differences(bench: Bench) -> None:
    """Two versions of a protocol, both compiled."""
    bench.say("## Where two versions differ (both compiled and indexed)\n")
    pairs: list[tuple[str, Callable[[], Protocol], int]] = [
        (f"practice, 60 rules × 6, {count} changed", lambda: practice(60), count) for count in (1, 3, 10)
    ]
    if not bench.quick:
        pairs.append(("missing, 5,000 × 8, 10 changed", lambda: decision_table(5000, 8, "missing"), 10))

    def rows() -> Iterator[Sequence[str]]:
        for name, make, count in pairs:
            old, new = engine.two_versions(make(), count)
            for meaning in (old, new):
                assert meaning.rows
            found = measure(lambda _, a=old, b=new: engine.difference(a, b), 30.0)
            bench.keep("differences", name, "liningbook", found)
            yield name, f"{found.result:,}", found.words()

    bench.table(["", "boxes", "Liningbook"], rows())


def growth(bench: Bench) -> None:
    """From 10 rules to 5,000, for the curve in the documents."""
    bench.say(f"## From 10 rules to {'500' if bench.quick else '5,000'}, {GROWTH_COLUMNS} columns, overlapping rows\n")
    names = ["pairs in a plain loop", "pairs by numpy", "published sweep", "Z3, pair by pair"]
    limit, bench.limit = bench.limit, min(bench.limit, 10.0)

    def rows() -> Iterator[Sequence[str]]:
        for rules in GROWTH[: 6 if bench.quick else None]:
            protocol = decision_table(rules, GROWTH_COLUMNS, "overlapping")
            full, boxes = compiled(protocol)
            whole = measure(lambda _, p=protocol: engine.whole_check(p), 60.0)
            pairs = measure(lambda _, f=full, b=boxes: engine.pairs(f, b), 30.0)
            cells = [f"{rules:,}", whole.words(), pairs.words()]
            for what, measured in (("whole check", whole), ("pairs", pairs)):
                bench.keep("growth", str(rules), what, measured)
            for rival in names:
                task = rivals.PAIRS[rival]
                found = bench.rival(f"growth: {rival}", (rules, GROWTH_COLUMNS), lambda p, t=task, b=boxes: t(b, p))
                agree(str(rules), rival, found.result, pairs.result)
                bench.keep("growth", str(rules), rival, found)
                cells.append(with_ratio(found, pairs))
            yield cells

    bench.table(["rules", "whole check", "pairs", *names], rows())
    bench.limit = limit


def printing(bench: Bench) -> None:
    """The printed protocol beside the typesetter alone."""
    bench.say("## The printed protocol beside WeasyPrint alone on the same HTML (processor time, medians of 3)\n")
    view, bundle, drawings = printer.demonstration()
    protocols = [("demonstration", view), ("60 rules", printer.of_rules(view, 60))]

    def rows() -> Iterator[Sequence[str]]:
        for name, one in protocols[: 1 if bench.quick else None]:
            found = printer.compare(name, one, bundle, drawings)
            bench.figures.setdefault("printing", {})[name] = {
                "pages": found.pages,
                "liningbook": found.ours,
                "weasyprint": found.alone,
                "ratio": round(found.ratio, 3),
            }
            yield name, str(found.pages), time_words(found.ours), time_words(found.alone), f"{found.ratio:.2f}"

    bench.table(["", "pages", "Liningbook", "WeasyPrint alone", "ratio"], rows())


def versions(bench: Bench) -> None:
    """Two versions of a protocol, and past cases against both."""
    bench.say("## Two versions of a protocol of 120 rules, from their folders, and past cases against both\n")
    count = 100_000 if bench.quick else 1_000_000

    def rows() -> Iterator[Sequence[str]]:
        with two_versions.two_folders() as (old, new):
            compared = measure(lambda _: len(two_versions.compared(old, new).differences), 60.0)
            bench.keep("two versions", "120 rules", "liningbook", compared)
            yield (
                "reading and comparing",
                f"{compared.result} changes",
                compared.words(),
                f"{compared.megabytes:.0f} MB",
            )
            two_versions.command(old, new)  # the first run compiles
            cold = Measured(tuple(two_versions.command(old, new) for _ in range(5)), 30.0)
            bench.keep("two versions", "command", "liningbook", cold)
            yield "`liningbook compare` as a command from cold", "", cold.words(), ""
            comparison = two_versions.compared(old, new)
            content = two_versions.rows_of(comparison, count)
            counted = measure(lambda _: two_versions.counted(comparison, content).changed_cases, 120.0)
            bench.keep("two versions", f"{count:,} past cases", "liningbook", counted)
            yield f"{count:,} past cases", f"{counted.result} changed", counted.words(), f"{counted.megabytes:.0f} MB"

    bench.table(["", "found", "time", "memory"], rows())


def questions(bench: Bench) -> None:
    """How many questions a case takes, and how long it takes to choose the first."""
    bench.say("## Questions asked of a case of the demonstration (of 10 factors), and how soon the first is chosen\n")
    protocol, _ = build_protocol(*read_folder(engine.DEMONSTRATION))
    assert protocol is not None
    cases = asking.Cases(protocol)
    bare = asking.without_always(protocol)
    ways = {
        "as it stands": protocol,
        "nothing asked first": asking.without_stop_questions(protocol),
        "nothing asked always": bare,
        "neither": asking.without_stop_questions(bare),
    }

    def rows() -> Iterator[Sequence[str]]:
        for name, one in ways.items():
            found = cases.asked(one)
            bench.figures.setdefault("questions", {})[name] = vars(found)
            yield name, f"{found.mean:.2f}", f"{found.practice:.2f}", str(found.worst)
        yield "the best order there can be", f"{cases.best(False):.2f}", f"{cases.best(True):.2f}", ""

    bench.table(["", "mean of all cases", "mean of a practice", "most"], rows())

    def times() -> Iterator[Sequence[str]]:
        for name, one in {
            "demonstration": protocol,
            "120 rules × 12, each case once": decision_table(120, 12),
            "500 rules × 12, each case once": decision_table(500, 12),
            "practice, 60 rules × 6": practice(60),
            "practice, 120 rules × 6": practice(120),
        }.items():
            found = measure(lambda _, p=one: asking.first_question(p), 30.0)
            bench.keep("first question", name, "liningbook", found)
            yield name, found.words()

    bench.table(["first question", "compiling, tables and choice"], times())


def study_tables(bench: Bench) -> None:
    """Studies pooled, beside two libraries with the same estimator, and what study tables add to a check."""
    count = 1_000
    found = evidence.rows(count)
    bench.say(
        f"## {count:,} study tables of {evidence.STUDIES} studies, from counts to the pooled effect (processor time)\n"
    )
    makers = {"statsmodels": evidence.by_statsmodels, "PyMARE": evidence.by_pymare}
    lines = [
        ("DerSimonian-Laird", "dersimonian-laird", False, ["statsmodels", "PyMARE"]),
        ("Paule-Mandel", "paule-mandel", False, ["statsmodels"]),
        ("restricted likelihood", "reml", False, ["PyMARE"]),
        ("DerSimonian-Laird, and each study left out", "dersimonian-laird", True, ["statsmodels", "PyMARE"]),
        ("restricted likelihood, tau² interval, and each study left out", "reml", True, ["PyMARE"]),
    ]

    def rows() -> Iterator[Sequence[str]]:
        for name, tau2, whole, libraries in lines:
            part = found[: count // 20] if whole else found
            ways = {"Liningbook": evidence.ours(evidence.tables(part, tau2), whole)}
            ways |= {library: makers[library](part, tau2, whole) for library in libraries}
            times = evidence.processor_times(ways, 1 if bench.quick else 3)
            bench.figures.setdefault("study tables", {})[name] = {"tables": len(part), "seconds": times}
            own = times["Liningbook"]
            others = [
                f"{time_words(times[library])} ({ratio_words(times[library] / own)} ×)" if library in times else "–"
                for library in makers
            ]
            yield f"{name} ({len(part):,} tables)", time_words(own), *others

    bench.table(["", "Liningbook", *makers], rows())
    bench.say("### `check` of the demonstration as a command from cold, processor time\n")

    def checks() -> Iterator[Sequence[str]]:
        with evidence.with_and_without() as folders:
            for folder in folders:
                evidence.processor_time(folder)  # the first run compiles
            times = [[evidence.processor_time(folder) for folder in folders] for _ in range(5 if bench.quick else 9)]
        with_tables, without = (median(column) for column in zip(*times, strict=True))
        ratio = with_tables / without
        bench.figures.setdefault("study tables", {})["check"] = {
            "with": with_tables,
            "without": without,
            "ratio": ratio,
        }
        yield time_words(with_tables), time_words(without), f"{ratio:.2f}"

    bench.table(["with its study tables", "without", "ratio"], checks())


def main(arguments: Sequence[str] | None = None) -> None:
    """Runs the bench."""
    parser = argparse.ArgumentParser(prog="bench", description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="the smaller sizes only")
    parser.add_argument("--out", type=Path, default=Path("out/bench.json"), help="where the JSON goes")
    options = parser.parse_args(arguments)
    bench = Bench(options.quick)
    start = perf_counter()
    before = os.getloadavg()[0]
    bench.say(f"# Bench{' (quick)' if bench.quick else ''}\n")
    bench.say(
        f"Python {platform.python_version()}, {os.cpu_count()} processors, load {before:.1f} at the start. "
        f"Protocols in memory. Rivals are stopped after {bench.limit:g} s; × is the ratio to Liningbook.\n"
    )
    for section in (
        demonstration,
        whole_checks,
        meeting,
        open_cases,
        differences,
        growth,
        printing,
        versions,
        questions,
        study_tables,
    ):
        section(bench)
    bench.say(f"Load {os.getloadavg()[0]:.1f} at the end; {perf_counter() - start:.0f} s in all.")
    bench.figures["run"] = {
        "quick": bench.quick,
        "python": platform.python_version(),
        "processors": os.cpu_count(),
        "load": [round(before, 2), round(os.getloadavg()[0], 2)],
        "seconds": round(perf_counter() - start, 1),
    }
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_text(json.dumps(bench.figures, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    bench.say(f"Written: {options.out}")


if __name__ == "__main__":
    main()
