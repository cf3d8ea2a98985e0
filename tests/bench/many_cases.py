"""Rows a second of `case --cases`: a table in memory to a table in memory, reading and writing of CSV included.

    PYTHONPATH=builder python -m tests.bench.many_cases [ROWS]

Every factor of the demonstration varies from row to row; its quantities have two decimals. Printed are the median of
three runs (the first includes all that is worked out for the first time), the slowest of them, and the machine's load.
"""

from __future__ import annotations

import os
import sys
from collections import deque
from collections.abc import Iterator
from datetime import date
from io import BytesIO
from pathlib import Path
from random import Random
from statistics import median
from time import perf_counter

from liningbook.analysis import analyse
from liningbook.cases.many_cases import Tally, label
from liningbook.meaning.meaning import Meaning
from liningbook.say.faults import reason_words
from liningbook.sources.csv_rows import open_rows, to_bytes

DEMONSTRATION = Path(__file__).resolve().parents[2] / "guidelines" / "tern-street"
DAY = date(2026, 11, 25)
ROWS = 300_000
RUNS = 3


def table(meaning: Meaning, rows: int, read_off: bool = False, extra: bool = False, seed: int = 1) -> bytes:
    """A CSV table of random cases; `read_off` gives quantities as readings where the protocol corrects them."""
    random = Random(seed)
    factors = list(meaning.protocol.factors.values())
    names = [f"{f.id}.reading" if read_off and f.reading else f.id for f in factors]

    def row(number: int) -> Iterator[str]:
        if extra:
            yield f"case {number}"
        for factor in factors:
            if factor.limits is None or factor.unit is None:
                yield random.choice(list(factor.values))
            else:
                hundredths = random.randrange(int(factor.limits.upper.value * 100) + 1)
                yield f"{hundredths // 100}.{hundredths % 100:02} {factor.unit.code}"

    lines = [",".join([*(["who"] if extra else []), *names])]
    lines += [",".join(row(number)) for number in range(rows)]
    return ("\r\n".join(lines) + "\r\n").encode()


def run(meaning: Meaning, data: bytes) -> float:
    """Seconds for a whole table, nothing kept from an earlier one."""
    start = perf_counter()
    tally = Tally()
    rows = open_rows(BytesIO(data))
    deque(to_bytes(label(meaning, rows, reason_words, tally), rows), maxlen=0)
    seconds = perf_counter() - start
    if tally.unusable:
        raise AssertionError(f"{tally.unusable} of {tally.rows} rows could not be used")
    return seconds


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    meaning = analyse(DEMONSTRATION, DAY).meaning
    if meaning is None:
        raise AssertionError("the demonstration cannot be read")
    for title, read_off in (("values", False), ("readings", True)):
        data = table(meaning, rows, read_off)
        seconds = [run(meaning, data) for _ in range(RUNS)]
        rate, least = rows / median(seconds), rows / max(seconds)
        load = " ".join(f"{part:.1f}" for part in os.getloadavg())
        line = f"{title:10}{rows:>10,} rows  {rate:>10,.0f} rows/s  slowest {least:>10,.0f}  load {load}\n"
        sys.stdout.write(line)


if __name__ == "__main__":
    main()
