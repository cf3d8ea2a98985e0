"""The bundle's canonical form against RFC 8785 (JSON Canonicalization Scheme, A. Rundgren, B. Jordan, S. Erdtman,
2020).

The vectors of sections 3.2.2 and 3.2.3 and of appendix B are given from memory of the RFC. Node.js, where there is
one, is a second witness for the numbers: RFC 8785 prescribes the serialisation of ECMAScript.
"""

from __future__ import annotations

import json
import shutil
import struct
import subprocess

import pytest

from liningbook.digest import canonical, digest_of
from tests.limits import HANGS

SECTION_3_2_2 = (
    '{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
    '"string":"\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/","literals":[null,true,false]}'
)
SECTION_3_2_2_CANONICAL = (
    '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
)

SECTION_3_2_3 = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\U0001f600": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
}
SECTION_3_2_3_ORDER = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]

APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555555", "333333333.3333333"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


def number(bits: str) -> float:
    value: float = struct.unpack(">d", bytes.fromhex(bits))[0]
    return value


def test_the_example_of_section_3_2_2() -> None:
    assert canonical(json.loads(SECTION_3_2_2)).decode() == SECTION_3_2_2_CANONICAL


def test_keys_are_sorted_by_utf16_code_units_as_in_section_3_2_3() -> None:
    assert list(json.loads(canonical(SECTION_3_2_3))) == SECTION_3_2_3_ORDER


@pytest.mark.parametrize(("bits", "text"), APPENDIX_B)
def test_numbers_of_appendix_b(bits: str, text: str) -> None:
    assert canonical(number(bits)).decode() == text


def test_numbers_are_written_as_node_writes_them() -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("a second witness only: there is no node on this machine")
    values = [number(bits) for bits, _ in APPENDIX_B]
    told = subprocess.run(
        [node, "-e", "console.log(JSON.stringify(JSON.parse(process.argv[1])))", json.dumps(values)],
        capture_output=True, text=True, check=True, timeout=HANGS,
    ).stdout.strip()  # fmt: skip
    assert canonical(values).decode() == told


def test_no_number_that_json_cannot_hold_is_let_through() -> None:
    for value in (float("nan"), float("inf"), 2**53):
        with pytest.raises(ValueError, match=r".+"):
            canonical(value)


def test_the_digest_is_that_of_the_canonical_form_without_itself() -> None:
    # SHA-256 of {"a":1,"b":"µ"} in UTF-8, by the reference tool sha256sum.
    known = subprocess.run(
        ["sha256sum"], input='{"a":1,"b":"µ"}'.encode(), capture_output=True, check=True, timeout=HANGS
    )
    assert digest_of({"b": "µ", "digest": "x" * 64, "a": 1}) == known.stdout.decode().split()[0]
