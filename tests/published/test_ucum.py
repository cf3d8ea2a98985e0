"""Every unit that Liningbook knows against the data of UCUM itself, and against a reference library.

Data: `ucum-essence.xml`, version 2.2 of 17 June 2024 (The Unified Code for Units of Measure), as it ships in the
package `ucumvert` 0.3.2. Its values are decimal numbers, so sizes are compared as exact fractions, by a reader written
here.
Library: `ucumvert` reads the code, `pint` converts, in binary floating point.
"""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from functools import cache
from importlib.resources import files
from xml.etree import ElementTree

import pytest
import ucumvert

from liningbook.notation.quantity import UNITS

ESSENCE = "{http://unitsofmeasure.org/ucum-essence}"
SPECIAL = {"Cel", "[pH]"}
"""Special units of UCUM, on a scale of their own: they have no size in another unit."""

Measure = tuple[Fraction, Counter[str]]
"""Size in the base units of UCUM, and the exponent of each base unit."""


class Essence:
    """The atoms and prefixes of the XML file, and what a code of UCUM means in its base units."""

    def __init__(self) -> None:
        root = ElementTree.fromstring((files("ucumvert") / "vendor" / "ucum-essence.xml").read_bytes())
        self.version = root.get("version")
        self.base = {node.attrib["Code"] for node in root.iter(ESSENCE + "base-unit")}
        self.units = {node.attrib["Code"]: node for node in root.iter(ESSENCE + "unit")}
        self.metric = self.base | {code for code, node in self.units.items() if node.get("isMetric") == "yes"}
        self.special = {code for code, node in self.units.items() if node.get("isSpecial") == "yes"}
        self.prefixes = {node.attrib["Code"]: self.decimal(node) for node in root.iter(ESSENCE + "prefix")}

    def decimal(self, node: ElementTree.Element) -> Fraction:
        value = node.find(ESSENCE + "value")
        assert value is not None
        return Fraction(value.attrib["value"])

    def measure(self, code: str) -> Measure:
        """The meaning of a term without brackets of its own: factors joined by `.` and `/`."""
        size, powers, sign = Fraction(1), Counter[str](), 1
        for piece in re.split(r"([./])", code):
            if piece in (".", "/"):
                sign = 1 if piece == "." else -1
                continue
            atom, exponent = self.split(piece)
            of_atom, of_powers = self.simple(atom)
            size *= of_atom ** (sign * exponent)
            for base, power in of_powers.items():
                powers[base] += power * sign * exponent
        return size, Counter({base: power for base, power in powers.items() if power})

    def split(self, piece: str) -> tuple[str, int]:
        found = re.fullmatch(r"(.*?[^0-9+-]|10[*^])([+-]?[0-9]+)", piece)
        return (found.group(1), int(found.group(2))) if found and piece not in self.units else (piece, 1)

    @cache  # noqa: B019  (one object for the whole run)
    def simple(self, atom: str) -> Measure:
        if re.fullmatch(r"[0-9]+", atom):
            return Fraction(atom), Counter()
        if atom in self.base:
            return Fraction(1), Counter({atom: 1})
        if atom in self.units:
            assert atom not in self.special, atom
            value = self.units[atom].find(ESSENCE + "value")
            assert value is not None
            size, powers = self.measure(value.attrib["Unit"])
            return Fraction(value.attrib["value"]) * size, powers
        prefix = next(p for p in self.prefixes if atom.startswith(p) and atom[len(p) :] in self.metric)
        size, powers = self.simple(atom[len(prefix) :])
        return self.prefixes[prefix] * size, powers


@pytest.fixture(scope="module")
def essence() -> Essence:
    return Essence()


@pytest.fixture(scope="module")
def registry() -> ucumvert.PintUcumRegistry:
    return ucumvert.PintUcumRegistry()


ORDINARY = sorted(set(UNITS) - SPECIAL)


def first_of_its_kind(code: str) -> str:
    return next(unit.code for unit in UNITS.values() if unit.dimension == UNITS[code].dimension)


def test_data_is_the_version_named_above(essence: Essence) -> None:
    assert essence.version == "2.2"


def test_reader_of_the_data_knows_a_few_units_of_common_knowledge(essence: Essence) -> None:
    """From memory: the litre is a cubic decimetre, the pound 0.45359237 kg, the standard fall 9.80665 m/s2."""
    assert essence.measure("L") == (Fraction(1, 1000), Counter({"m": 3}))
    assert essence.measure("[lb_av]") == (Fraction("453.59237"), Counter({"g": 1}))
    assert essence.measure("[g]") == (Fraction("9.80665"), Counter({"m": 1, "s": -2}))


@pytest.mark.parametrize("code", sorted(UNITS))
def test_code_is_one_of_ucum(code: str) -> None:
    assert ucumvert.get_ucum_parser().parse(code) is not None


@pytest.mark.parametrize("code", ORDINARY)
def test_size_is_exactly_that_of_ucum(essence: Essence, code: str) -> None:
    size, powers = essence.measure(code)
    first_size, first_powers = essence.measure(first_of_its_kind(code))
    assert powers == first_powers
    assert size / first_size == UNITS[code].size / UNITS[first_of_its_kind(code)].size


@pytest.mark.parametrize("code", ORDINARY)
def test_size_agrees_with_pint(registry: ucumvert.PintUcumRegistry, code: str) -> None:
    ratio = (1 * registry.from_ucum(code)).to(registry.from_ucum(first_of_its_kind(code))).magnitude
    assert ratio == pytest.approx(float(UNITS[code].size / UNITS[first_of_its_kind(code)].size), rel=1e-12)


def test_units_of_two_dimensions_never_measure_the_same_thing(essence: Essence) -> None:
    kinds: dict[frozenset[tuple[str, int]], str] = {}
    for code in ORDINARY:
        powers = frozenset(essence.measure(code)[1].items())
        assert kinds.setdefault(powers, UNITS[code].dimension) == UNITS[code].dimension


@pytest.mark.parametrize("code", sorted(SPECIAL))
def test_unit_on_a_scale_of_its_own_is_never_converted(essence: Essence, code: str) -> None:
    assert code in essence.special
    assert [unit.code for unit in UNITS.values() if unit.dimension == UNITS[code].dimension] == [code]


@pytest.mark.parametrize(
    ("code", "size"),
    [
        ("[lbf_av]", "4.4482216152605"),
        ("a", "31557600"),  # the Julian year of 365.25 days
        ("mo", "2629800"),  # a twelfth of it
        ("[in_i]", "0.0254"),
    ],
)
def test_size_in_the_tables_of_ucum(code: str, size: str) -> None:
    """Values from memory of the UCUM tables, beside the computed ones above."""
    assert UNITS[code].size == Fraction(size)
