"""The cases that a finding speaks of: in a few words for its message, in full below it, and one of them as an example.

Thousands of findings speak of the same few sets of cells, so the words of each set are kept, by space and language.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from weakref import WeakKeyDictionary

from liningbook.checks.facts import Cases, Doubt
from liningbook.finding import Span
from liningbook.say.amounts import number_words, range_words
from liningbook.say.cases import line_words, sentence_words, shortened, value_words, values_words
from liningbook.say.catalogue import gettext, language, ngettext
from liningbook.say.locale import decimal_words, either
from liningbook.say.told import Told
from liningbook.space.boxes import Box, bits
from liningbook.space.budget import Limit
from liningbook.space.cells import Axis, Space
from liningbook.space.share import share_text

MOST_IN_TITLE = 3
"""How many factors a message names; the cases listed below it name all."""

MOST_NAMED = 4
"""How many sets of cases are listed; the rest is counted (JSON has them all)."""


def told_of_cases(
    cases: Cases,
    message: str,
    doubt: str = "",
    *,
    label: str = "",
    related: Sequence[tuple[Span, str]] = (),
    notes: Sequence[str] = (),
    advice: Sequence[str] = (),
    **given: str,
) -> Told:
    """A message with its cases put in for `{where}`; `doubt` is the message where none was found in time.

    Both are filled in with what is given.
    """
    if cases.doubt is not None:
        largest = gettext("these are the largest sets of cases; there may be others")
        notes = [*notes, *([largest] if cases.region else []), _bounds(cases.doubt)]
        advice = [*advice, more_time(cases.doubt.limit)]
    if not cases.region:
        return Told(doubt.format(**given), notes=tuple(notes), help=tuple(advice))
    said, example = message.format(where=_where(cases), **given), _example(cases)
    return Told(said, label, tuple(related), (*_listed(cases), example, *notes), tuple(advice), example)


def more_time(limit: Limit) -> str:
    """How to ask for more time."""
    if limit.unit == "seconds":
        words = gettext("give more time (`--budget`; this time {seconds} seconds)")
        return words.format(seconds=decimal_words(f"{limit.amount:g}"))
    return gettext(
        "give it a time of your own, for example a minute: `--budget 60` (else it stops at a fixed count of steps)"
    )


def _bounds(doubt: Doubt) -> str:
    words = gettext("the part of all cases that this concerns is at least {least} and at most {most}")
    return words.format(
        least=decimal_words(share_text(doubt.least, upwards=False)),
        most=decimal_words(share_text(doubt.most, upwards=True)),
    )


def where_words(space: Space, box: Box) -> str:
    """A set of cases as the end of a sentence, `where A is b and C is d`."""
    return sentence_words(_telling(space).parts(box))


def _where(cases: Cases) -> str:
    """The first set of cases in a few words, and that there are others."""
    boxes = cases.region.boxes
    parts = _telling(cases.space).parts(boxes[0])
    words = sentence_words([(label, shortened(text)) for label, text in parts[:MOST_IN_TITLE]])
    if len(parts) > MOST_IN_TITLE:
        words = gettext("{where}, …").format(where=words)
    if len(boxes) > 1:
        words = gettext("{where}, and elsewhere").format(where=words)
    return gettext("{where}, and perhaps elsewhere").format(where=words) if cases.doubt else words


def _listed(cases: Cases) -> list[str]:
    """The sets of cases, where the message does not say them in full."""
    boxes, telling = cases.region.boxes, _telling(cases.space)
    lines = []
    first, *others = (telling.parts(box) for box in boxes[:MOST_NAMED])
    if others or len(first) > MOST_IN_TITLE:
        lines.append(gettext("cases: {cases}").format(cases=line_words(first)))
        lines += ["   " + gettext("or: {cases}").format(cases=line_words(parts)) for parts in others]
    more = len(boxes) - MOST_NAMED
    if more > 0:
        words = ngettext("and {count} further set of cases", "and {count} further sets of cases", more)
        lines.append("   " + words.format(count=more))
    return lines


def _example(cases: Cases) -> str:
    """One case, with a value for every factor."""
    telling = _telling(cases.space)
    return gettext("for example {case}").format(case=line_words(telling.example(cases.region.boxes[0])))


def example_beside(cases: Cases, usual: Mapping[str, int]) -> tuple[str, set[str]]:
    """One case by what differs in it from the usual one, and the names of the factors that are left out for that.

    `usual` are the usual cells of factors, by name. Of the sets of cases the one is taken that differs in the fewest.
    """
    often = [usual.get(name, 0) for name in cases.space.names]

    def usually(box: Box) -> list[bool]:
        return [bool(mask & cells) for mask, cells in zip(box, often, strict=True)]

    box = max(cases.region.boxes, key=lambda one: sum(usually(one)))
    left_out = usually(box)
    told = zip(_telling(cases.space).example(box), left_out, strict=True)
    named = [part for part, is_usual in told if not is_usual]
    names = {name for name, is_usual in zip(cases.space.names, left_out, strict=True) if is_usual}
    return line_words(named) if named else "", names


class _Telling:
    """The boxes of one space in the language spoken: label and words of each factor."""

    def __init__(self, space: Space) -> None:
        self._axes = [_AxisTelling(axis) for axis in space.axes]

    def parts(self, box: Box) -> list[tuple[str, str]]:
        """Only the factors on which not any value will do."""
        axes = zip(self._axes, box, strict=True)
        return [(axis.label, axis.words(mask)) for axis, mask in axes if mask != axis.full]

    def example(self, box: Box) -> list[tuple[str, str]]:
        """One case in the box, with a value for every factor."""
        return [(axis.label, axis.example(mask)) for axis, mask in zip(self._axes, box, strict=True)]


_TELLINGS: WeakKeyDictionary[Space, dict[str, _Telling]] = WeakKeyDictionary()


def _telling(space: Space) -> _Telling:
    by_language = _TELLINGS.setdefault(space, {})
    if language() not in by_language:
        by_language[language()] = _Telling(space)
    return by_language[language()]


class _AxisTelling:
    """The sets of cells of one factor."""

    def __init__(self, axis: Axis) -> None:
        self.axis, self.label, self.full = axis, axis.factor.label, axis.full
        self._words: dict[int, str] = {}
        self._examples: dict[int, str] = {}
        self._numbers: dict[int, str] = {}

    def words(self, mask: int) -> str:
        if mask not in self._words:
            self._words[mask] = self._worded(mask)
        return self._words[mask]

    def _worded(self, mask: int) -> str:
        axis, factor = self.axis, self.axis.factor
        if factor.kind != "quantity":
            return values_words(factor, [axis.values[cell] for cell in bits(mask)])
        return either([range_words(stretch, axis.unit, factor.limits) for stretch in axis.runs_as_ranges(mask)])

    def example(self, mask: int) -> str:
        if mask not in self._examples:
            axis = self.axis
            words = self._number(axis.middle_cell(mask)) if axis.cells else value_words(axis.factor, axis.sample(mask))
            self._examples[mask] = words
        return self._examples[mask]

    def _number(self, cell: int) -> str:
        if cell not in self._numbers:
            self._numbers[cell] = number_words(self.axis.number_in(cell), self.axis.unit)
        return self._numbers[cell]
