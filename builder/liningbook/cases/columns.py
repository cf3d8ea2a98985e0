"""How the columns of a table are written: which holds which factor, and what a text in it means.

A column is named after a factor, by its name or by its label; a file of the practice's own words may say more. Nothing
is guessed: a text with two meanings has none, and a comma that may mark thousands is not read.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from liningbook.cases.question import READING
from liningbook.cases.readings import NoReading, take
from liningbook.finding import Refused
from liningbook.model.rule import Factor
from liningbook.model.values import NotAValue
from liningbook.notation.quantity import Unit
from liningbook.sources.csv_rows import CannotRead, legible
from liningbook.sources.look_alike import folded
from liningbook.sources.text import near
from liningbook.space.cells import Axis, Space

COUNT = "count"
"""The column that says how many cases a row stands for."""


@dataclass(frozen=True)
class ColumnForm:
    """What a column holds: a factor's values or readings, the unit of plain numbers, and words for values.

    `words` maps each word, folded, to the value it stands for. `has_comma` says that numbers have a decimal comma.
    """

    factor: str
    is_reading: bool = False
    unit: Unit | None = None
    words: Mapping[str, str] = field(default_factory=dict)
    has_comma: bool = False

    @property
    def name(self) -> str:
        """What a column is called that holds just this."""
        return self.factor + READING * self.is_reading


@dataclass(frozen=True)
class TableForm:
    """How a table is written: its columns by their names, what yes and no are called, and what sets cells apart."""

    columns: Mapping[str, ColumnForm] = field(default_factory=dict)
    yes_and_no: Mapping[str, str] = field(default_factory=dict)
    has_semicolons: bool = False


PLAIN = TableForm()


def known_columns(factors: Mapping[str, Factor], names: Sequence[str], form: TableForm) -> dict[str, ColumnForm]:
    """The columns of a table that hold factors, by their names in its first row. Raises CannotRead."""
    found = dict(_by_words(names, form))
    taken = {column.factor for column in found.values()}
    for name in names:
        factor = name.removesuffix(READING)
        if name not in found and factor in factors:
            found[name] = ColumnForm(factor, name != factor)
    taken |= {column.factor for column in found.values()}
    labels = _once((folded(factor.label), factor.id) for factor in factors.values() if factor.id not in taken)
    for name in names:
        if name not in found and (meant := labels.get(folded(name))):
            found[name] = ColumnForm(meant)
    by_factor: dict[str, str] = {}
    for name, column in found.items():
        if column.factor in by_factor:
            first, label = by_factor[column.factor], factors[column.factor].label
            raise CannotRead("table-given-twice", label=label, column=legible(first), other=legible(name))
        by_factor[column.factor] = name
    return found


def _by_words(names: Sequence[str], form: TableForm) -> Iterable[tuple[str, ColumnForm]]:
    """The columns that the file of words names, capitals and blanks aside."""
    alike = _once((folded(name), name) for name in names) if form.columns else {}
    for name, column in form.columns.items():
        here = name if name in names else alike.get(folded(name))
        if here is None:
            raise CannotRead("table-lacks-column", name=name, near=near(name, names))
        yield here, column


def _once(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """What each text stands for; nothing for one that stands for several things."""
    found: dict[str, set[str]] = {}
    for text, meant in pairs:
        found.setdefault(text, set()).add(meant)
    return {text: next(iter(meant)) for text, meant in found.items() if len(meant) == 1}


def find_columns(space: Space, names: list[str], form: TableForm) -> list[tuple[str, ColumnForm]]:
    """The column of each factor, and its name in the table. Raises CannotRead."""
    if not any(names):
        raise CannotRead("table-empty")
    if doubled := next((name for name, times in Counter(names).items() if name and times > 1), ""):
        raise CannotRead("table-column-twice", name=legible(doubled))
    columns = known_columns({axis.factor.id: axis.factor for axis in space.axes}, names, form)
    found = {column.factor: (name, column) for name, column in columns.items()}
    missing = [axis.factor.id for axis in space.axes if axis.factor.id not in found]
    others = [name for name in names if name and name not in columns and name != COUNT]
    if not found:
        raise CannotRead("table-without-factors", missing=tuple(missing))
    if missing:
        wanted = missing + [name + READING for name in missing]
        alike = tuple((legible(name), best) for name in others if (best := near(name, wanted)))
        raise CannotRead("table-columns-missing", missing=tuple(missing), alike=alike)
    is_counted = COUNT in names
    for name in others:
        if name.endswith(READING):
            raise CannotRead("table-reading-of-nothing", name=legible(name), factor=legible(name.removesuffix(READING)))
        if not is_counted and _is_like_count(name):
            raise CannotRead("table-like-count", name=legible(name), count=COUNT)
    for axis in space.axes:
        name, column = found[axis.factor.id]
        if column.is_reading and (no := why_not_read_off(axis)):
            if no.what == "table-not-read-off":
                raise CannotRead(no.what, **no.given)
            raise CannotRead("table-column-useless", column=legible(name), reason=no)
    return [found[axis.factor.id] for axis in space.axes]


def _is_like_count(name: str) -> bool:
    """Whether a name is `count` but for a slip of the pen; a looser measure would take in `country` and `account`."""
    name = name.lower()
    slips = {COUNT, f"{COUNT}s", *(COUNT[:at] + COUNT[at + 1 :] for at in range(len(COUNT)))}
    return name in slips or sorted(name) == sorted(COUNT)


def why_not_read_off(axis: Axis) -> Refused | None:
    """What keeps a column from holding readings of a factor."""
    factor = axis.factor
    if factor.unit is None or factor.limits is None:
        return Refused("table-not-read-off", label=factor.label, column=factor.id)
    try:
        take(axis, factor.limits.lower.value)
    except NoReading as no:
        return no
    return None


class Vocabulary:
    """What the texts of one column mean, in the words of the protocol."""

    def __init__(self, factor: Factor, column: ColumnForm, form: TableForm) -> None:
        self._factor, self._column, self._form = factor, column, form
        self._values: dict[str, set[str]] = {}
        pairs = [(text, value) for value, label in factor.values.items() for text in (value, label)]
        if factor.kind == "yes-no":
            pairs += form.yes_and_no.items()
        for text, value in (*((folded(text), value) for text, value in pairs), *column.words.items()):
            self._values.setdefault(text, set()).add(value)

    def meant(self, text: str) -> str:
        """The text as the protocol writes it; one that it knows nothing of stays as it is. Raises NotAValue."""
        if self._factor.kind == "quantity":
            return self._amount(text)
        if text.strip() in self._factor.values:
            return text
        meant = self._values.get(folded(text), {text})
        if len(meant) > 1:
            raise NotAValue("unknown-name", "word-of-several", written=text, values=tuple(sorted(meant)))
        return next(iter(meant))

    def _amount(self, text: str) -> str:
        if is_range(text):
            raise NotAValue("unit", "not-one-value", written=text)
        found = _NUMBER.fullmatch(text.strip())
        if found is None:
            return text
        number, unit = found.groups()
        if "." in number and self._column.has_comma:
            raise NotAValue("unit", "point-among-commas", written=text)
        may_be_thousands = _THOUSANDS.fullmatch(number) and not self._column.has_comma
        if "," in number and (self._column.has_comma or self._form.has_semicolons) and not may_be_thousands:
            number = number.replace(",", ".")
        if not unit and self._column.unit is not None:
            unit = self._column.unit.code
        return f"{number} {unit or ''}".strip()


_NUMBER = re.compile(r"([-+]?[0-9]*[.,]?[0-9]+)\s*([^0-9\s,.].*)?", re.DOTALL)
_THOUSANDS = re.compile("[-+]?[1-9][0-9]{0,2},[0-9]{3}")

_LONGEST_RANGE = 60
_RANGE = re.compile(
    r"\s*(?:[<>≤≥{]|(?:up to|under|below|over|above|at least|at most|less than|more than|between|from|bis|unter|über)\b"
    r"|[-+]?[0-9.,]+\s*[^\s0-9]{0,6}?\s*(?:[-–—−…]|\.\.|to\b|bis\b)\s*[0-9.,]+)",
    re.IGNORECASE,
)
_EXPONENT = re.compile("[-+]?[0-9.]+[eE][-+]?[0-9]")


def is_range(text: str) -> bool:
    """Whether a text is written as a range, of which no case has more than one value."""
    return len(text) <= _LONGEST_RANGE and bool(_RANGE.match(text)) and not _EXPONENT.match(text.strip())
