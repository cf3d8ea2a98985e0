"""Runs a fuzzer: `PYTHONPATH=builder:. python -m tests.fuzz reader -max_total_time=360`.

The first word is the target (`reader`, `bundle` or `page`, each in its own module); the rest are options of libFuzzer,
which guides the inputs by the coverage of the package (`pip install atheris`; it is no requirement of the tests). The
corpus grows in `/tmp/liningbook-fuzz/<target>/corpus`. An input that raises anything or takes more than two seconds is
saved, once for each place and message, in `/tmp/liningbook-fuzz/<target>/new`, and the run goes on. When it has been
mended, put the smallest such input into `tests/fuzz/found/<target>`: `test_found.py` runs all that lie there.
"""

from __future__ import annotations

import hashlib
import importlib
import random
import re
import sys
import time
import traceback
from pathlib import Path
from typing import Any

import atheris

SECONDS = 2.0
INSTRUMENTED = ["liningbook", "markdown_it", "bibtexparser", "mdurl"]
WORDS = re.compile(rb"\w+|\s+|[^\w\s]")
STRANGE = [
    b"\\n", b"\\t", b"\\r", b"\\_", b"\\u2028", b"\"\\n\"", b"\"a\\n b\"", b"|\n  a\n  b\n",
    b"", b"0", b"-1", b"1", b"999999999999999999999", b"0.5 mm", b"1e3", b"500 um", b"[]", b"{}", b"[a, b]", b"''",
    b"\"", b"\\", b"null", b"none", b"yes", b"no", b"any", b"not", b"judgement", b"gap", b": ", b", ", b"- ", b"\n",
    b"\n\n", b"---\n", b"#", b"&", b"*", b"!", b"|", b">", b"%", b"@", b"`", b"\xc2\xa0", b"\xe2\x89\xa4",
    b"\xc2\xb5m", b"\xf0\x9f\x98\x80", b"\xe2\x80\xae", b"\xef\xbb\xbf", b"\x00", b"\xff", b"\t", b"\r",
    b"9999-12-31", b"0001-01-01", b"2027-01-01", b"<b>", b"](", b"](javascript:x)", b"![", b"<!--", b"&#x202e;",
    b"{{", b"\x1e", b"\\ud800", b"$", b"\\'", b"~", b"  ",
]  # fmt: skip


class Mutator:
    """Half of the time as libFuzzer does it; else by whole words and lines, which keeps more of a source readable."""

    def __init__(self, vocabulary: list[bytes]) -> None:
        self.vocabulary = vocabulary

    def __call__(self, data: bytes, max_size: int, seed: int) -> bytes:
        dice = random.Random(seed)
        if dice.random() < 0.3:
            return bytes(atheris.Mutate(data, max_size))
        for _ in range(dice.choice((1, 1, 1, 2, 3, 6))):
            data = self.by_lines(data, dice) if dice.random() < 0.3 else self.by_words(data, dice)
        return data[:max_size]

    def by_lines(self, data: bytes, dice: random.Random) -> bytes:
        lines = data.split(b"\n")
        here, there = dice.randrange(len(lines)), dice.randrange(len(lines))
        match dice.randrange(5):
            case 0:
                del lines[here]
            case 1:
                lines.insert(there, lines[here])
            case 2:
                lines[here], lines[there] = lines[there], lines[here]
            case 3:
                lines[here] = dice.choice((b" ", b"  ", b"- ", b"> ", b"    ")) + lines[here]
            case _:
                lines[here] = lines[here].lstrip()
        return b"\n".join(lines)

    def by_words(self, data: bytes, dice: random.Random) -> bytes:
        words = WORDS.findall(data) or [b""]
        here = dice.randrange(len(words))
        other = dice.choice(words)
        new = dice.choice((dice.choice(self.vocabulary), dice.choice(STRANGE), other))
        match dice.randrange(5):
            case 0:
                words[here] = b""
            case 1:
                words[here : here + dice.randrange(8)] = []
            case 2:
                words.insert(here, new * dice.choice((1, 1, 1, 2, 40)))
            case _:
                words[here] = new
        return b"".join(words)


def main() -> None:
    name, *options = sys.argv[1:]
    sys.setrecursionlimit(1000)
    with atheris.instrument_imports(include=INSTRUMENTED):
        target: Any = importlib.import_module(f"tests.fuzz.fuzz_{name}")
        for module in (
            "markdown_it",
            "bibtexparser",
            "liningbook.sources.citations.bibtex",
            "liningbook.checks.registry",
        ):
            importlib.import_module(module)
    base = Path("/tmp/liningbook-fuzz") / name
    corpus, new = base / "corpus", base / "new"
    for folder in (corpus, new):
        folder.mkdir(parents=True, exist_ok=True)
    seeds = list(target.seeds())
    for seed in seeds:
        (corpus / hashlib.sha256(seed).hexdigest()[:16]).write_bytes(seed)
    vocabulary = sorted({word for seed in seeds for word in WORDS.findall(seed)})
    known: set[str] = set()

    def one_input(data: bytes) -> None:
        start = time.process_time()
        try:
            target.one_input(data)
        except Exception as error:
            frames = traceback.extract_tb(error.__traceback__)
            said = re.sub(r"[0-9]+|'.*'", "", str(error))[:40]
            sign = f"{type(error).__name__} {frames[-1].filename}:{frames[-1].lineno} {said}"
            told = "".join(traceback.format_exception(error)[-6:])
        else:
            used = time.process_time() - start
            if used <= SECONDS:
                return
            sign, told = f"slow {int(used)}", f"{used:.1f} s"
        if sign not in known:
            known.add(sign)
            file = new / hashlib.sha256(sign.encode()).hexdigest()[:12]
            file.write_bytes(data)
            sys.stderr.write(f"\n=== FOUND {file}\n{sign}\n{told}\n")

    atheris.Setup(
        [sys.argv[0], str(corpus), f"-max_len={target.MAX_LEN}", "-timeout=20", f"-artifact_prefix={new}/", *options],
        one_input,
        custom_mutator=Mutator(vocabulary),
    )
    atheris.Fuzz()


main()
