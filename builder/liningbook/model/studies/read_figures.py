"""The figures of one study: counts, means, or an effect as it was reported. What cannot be true is told on its cell."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any, cast

from liningbook.evidence.table import RATIOS, Counts, Means, Reported, Study
from liningbook.finding import Span
from liningbook.model.building import Building
from liningbook.model.read_values import whole_number
from liningbook.notation.quantity import NotAQuantity, not_too_long, parse_number
from liningbook.sources.node import Node, get, text_of
from liningbook.sources.shape_values import place_of_value

MOST_COUNTED = 10**12
"""More teeth than there are; a larger total is a slip of the pen."""

WAYS = ("events", "mean", "estimate")
"""The fields by which the ways of giving figures are known."""

NOT_FITTING: Mapping[str, str] = {"events": "counts-do-not-fit", "mean": "means-do-not-fit"}
OTHER_LENGTH: Mapping[str, str] = {"events": "counts-of-other-length", "mean": "means-of-other-length"}
"""What is wrong with the figures of an arm, by the way of giving them; an `estimate` fits every measure."""

SPREADS = ("low", "high", "standard_error")

KNOWN = {*WAYS, *SPREADS, "study", "comparator", "year", "setting", "table", "outcome"}
"""The fields of a study, and those beside it in a file of its own."""

FITTING: Mapping[str, tuple[str, ...]] = {
    "risk-ratio": ("events", "estimate"),
    "odds-ratio": ("events", "estimate"),
    "risk-difference": ("events", "estimate"),
    "mean-difference": ("mean", "estimate"),
}
"""The ways of giving figures that fit each measure."""


def figure(building: Building, node: Node | None) -> Fraction | None:
    """One figure; a finding (`bad-table`) if it is no plain number."""
    if node is None or node.text is None:
        return None
    if re.fullmatch(r"\s*[0-9.,]+\s*%\s*", node.text):
        building.find("bad-table", node, "per-cent")
        return None
    try:
        return not_too_long(parse_number(node.text.strip()))
    except NotAQuantity as no:
        building.find("bad-table", node, no.what, **no.given)
        return None


def read_study(building: Building, node: Node, name: str, measure: str) -> Study | None:
    """A study of an outcome, or nothing after a finding (`bad-table`)."""
    reader = _StudyReader(building, node, measure)
    way = reader.way()
    if way is None:
        return None
    treated, comparator = (None, None) if way == "estimate" else (reader.arm(way, way), reader.arm("comparator", way))
    reported = reader.reported() if way == "estimate" else None
    if (treated is None or comparator is None) and reported is None:
        return None
    return Study(
        study=name,
        span=node.span,
        treated=treated,
        comparator=comparator,
        reported=reported,
        year=whole_number(text_of(node, "year")) or building.years.get(name),
        setting=cast(Any, text_of(node, "setting") or "patients"),
        places=reader.places,
    )


class _StudyReader:
    def __init__(self, building: Building, node: Node, measure: str) -> None:
        self.building, self.node, self.measure = building, node, measure
        self.is_ratio = measure in RATIOS
        self.places: dict[str, Span] = {key: child.span for key, child in (node.fields or {}).items()}

    def wrong(self, place: Node | Span, what: str, **given: Any) -> None:
        self.building.find("bad-table", place, what, **given)

    def missing(self, place: Span, what: str, **given: Any) -> None:
        """What a study lacks, unless a field of it has a name that is none: that may be what is meant."""
        if KNOWN.issuperset(self.node.fields or ()):
            self.wrong(place, what, **given)

    def way(self) -> str | None:
        """The field by which the figures are known, if there is one that fits and nothing is missing beside it."""
        fields = self.node.fields or {}
        ways = [key for key in fields if key in WAYS]
        whole = place_of_value(self.node)
        if not ways:
            stray = next((key for key in fields if key in ("comparator", *SPREADS)), None)
            if stray is None:
                self.missing(whole, "no-figures")
            else:
                what = "arm-missing" if stray == "comparator" else "estimate-missing"
                self.missing(fields[stray].place, what)
            return None
        way, *others = ways
        if others:
            self.wrong(fields[others[0]].place, "two-ways", one=way, other=others[0])
            return None
        beside = ("comparator",) if way == "estimate" else SPREADS
        if stray := next((key for key in fields if key in beside), None):
            self.wrong(fields[stray].place, "two-ways", one=way, other=stray)
            return None
        fitting = FITTING.get(self.measure)
        if fitting is not None and way not in fitting:
            self.wrong(fields[way].place, NOT_FITTING[way], measure=self.measure)
            return None
        if way != "estimate" and "comparator" not in fields:
            self.missing(whole, "comparator-missing", way=way)
            return None
        return way

    def arm(self, key: str, way: str) -> Counts | Means | None:
        """One arm's figures."""
        node = get(self.node, key)
        if node is None or node.items is None:
            return None
        cells = node.items
        self.places |= {f"{key}.{number}": cell.span for number, cell in enumerate(cells)}
        if len(cells) != (2 if way == "events" else 3):
            self.wrong(place_of_value(node), OTHER_LENGTH[way], count=len(cells))
            return None
        return self.counts(*cells) if way == "events" else self.means(*cells)

    def counts(self, first: Node, second: Node) -> Counts | None:
        events, total = self.counted(first), self.counted(second)
        if total == 0:
            self.wrong(second, "nobody")
        elif events is not None and total is not None and events > total:
            self.wrong(first, "events-over-total", events=events, total=total)
        return Counts(events, total) if events is not None and total is not None else None

    def means(self, first: Node, second: Node, third: Node) -> Means | None:
        mean, deviation = figure(self.building, first), figure(self.building, second)
        number = self.counted(third)
        if deviation is not None and deviation <= 0:
            self.wrong(second, "no-deviation", written=second.text or "")
        if number is not None and number < 2:
            self.wrong(third, "too-few-for-deviation", number=number)
        if mean is None or deviation is None or number is None:
            return None
        return Means(mean, deviation, number)

    def counted(self, node: Node) -> int | None:
        """A whole number of people or teeth."""
        value = figure(self.building, node)
        if value is None:
            return None
        if value < 0:
            self.wrong(node, "negative-figure", written=node.text or "")
        elif value.denominator != 1:
            self.wrong(node, "not-whole", written=node.text or "")
        elif value > MOST_COUNTED:
            self.wrong(node, "too-many-counted", most=MOST_COUNTED)
        else:
            return int(value)
        return None

    def reported(self) -> Reported | None:
        """The effect as it was reported, with its interval or its standard error."""
        nodes = {key: child for key in ("estimate", *SPREADS) if (child := get(self.node, key)) is not None}
        low, high, error = (nodes.get(key) for key in SPREADS)
        if error is not None and (low or high) is not None:
            self.wrong(error.place, "two-spreads")
            return None
        if error is None and (low is None or high is None):
            what = "no-spread" if low is None and high is None else "limit-missing"
            self.missing(place_of_value(self.node), what, limit="low" if low is None else "high")
            return None
        values = {key: figure(self.building, child) for key, child in nodes.items()}
        if any(value is None for value in values.values()):
            return None
        found = Reported(**{key: value for key, value in values.items() if value is not None})
        self.check(found, nodes)
        return found

    def check(self, found: Reported, nodes: Mapping[str, Node]) -> None:
        if self.is_ratio:
            wrong = [
                key for key in ("estimate", "low", "high") if (value := getattr(found, key)) is not None and value <= 0
            ]
            for key in wrong:
                self.wrong(nodes[key], "ratio-not-positive", written=nodes[key].text or "")
            if wrong:
                return
        elif self.measure == "risk-difference" and abs(found.estimate) > 1:
            self.wrong(nodes["estimate"], "difference-outside", written=nodes["estimate"].text or "")
        if found.standard_error is not None and found.standard_error <= 0:
            self.wrong(nodes["standard_error"], "no-error", written=nodes["standard_error"].text or "")
        if found.low is None or found.high is None:
            return
        low, high = nodes["low"].text or "", nodes["high"].text or ""
        if found.low > found.high:
            self.wrong(nodes["low"], "limits-in-wrong-order", low=low, high=high)
        elif found.low == found.high:
            self.wrong(nodes["high"], "interval-without-width", low=low)
        elif not found.low <= found.estimate:
            self.wrong(nodes["low"], "limit-beyond-estimate", limit="low", estimate=nodes["estimate"].text or "")
        elif not found.estimate <= found.high:
            self.wrong(nodes["high"], "limit-beyond-estimate", limit="high", estimate=nodes["estimate"].text or "")
