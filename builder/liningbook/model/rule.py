"""A rule, and what it is made of: factors and conditions, decisions and answers, evidence.

One frozen type a thing, as in `model/protocol.py`.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Literal

from liningbook.evidence.recommending import Way
from liningbook.evidence.table import Judgement
from liningbook.finding import Span
from liningbook.notation.interval import UNBOUNDED, Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import Quantity, Unit

FactorKind = Literal["quantity", "choice", "yes-no"]


@dataclass(frozen=True)
class Name:
    """A name used in a source, with the place it stands at."""

    id: str
    span: Span


@dataclass(frozen=True)
class WrittenDate:
    """A date written in a source."""

    on: date
    span: Span


@dataclass(frozen=True)
class Reading:
    """How a quantity is measured: value = scale x reading + offset, with expanded uncertainty U (k = 2).

    `offset` and `uncertainty` are in the factor's unit; the guard band is `guard_band` times U. `cautious` is the
    side to which a doubtful reading is taken; nothing where the protocol does not say. Source of the terms: JCGM
    106:2012.
    """

    method: str
    scale: Fraction
    offset: Fraction
    uncertainty: Fraction
    guard_band: Fraction
    cautious: Literal["below", "above"] | None
    span: Span


@dataclass(frozen=True)
class Judged:
    """How sure a value is that is judged by eye: it lies within `uncertainty` of what is given, in the factor's unit.

    Near a threshold that is said; the advice stays that at the value. `cautious` is the side to take in doubt.
    """

    uncertainty: Fraction
    cautious: Literal["below", "above"]
    span: Span


@dataclass(frozen=True)
class Factor:
    """One thing a case has a value of.

    `values` maps a value to its label (choice and yes-no). For a quantity `limits` is the closed range of the
    values that occur and `step`, if any, says that only its whole multiples do; all in `unit`.
    """

    id: str
    label: str
    kind: FactorKind
    span: Span
    values: Mapping[str, str] = field(default_factory=dict)
    unit: Unit | None = None
    limits: Range | None = None
    step: Fraction | None = None
    reading: Reading | None = None
    judged: Judged | None = None
    always_ask: bool = False
    """Whether it is asked even where it can change nothing."""


@dataclass(frozen=True)
class Stretch:
    """One range of a quantity's condition, as written, with its place."""

    range: Range
    span: Span


@dataclass(frozen=True)
class Condition:
    """What a `when` asks of one factor.

    A quantity has `numbers` (in the factor's unit, cut to its limits) and the `stretches` as written;
    choice and yes-no have `values` in the factor's order.
    """

    factor: str
    span: Span
    key_span: Span
    numbers: RangeSet | None = None
    stretches: tuple[Stretch, ...] = ()
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class Conditions:
    """One mapping of a `when`: all its conditions at once. No condition means every case."""

    conditions: Mapping[str, Condition]
    span: Span | None = None


When = tuple[Conditions, ...]
"""Any of several sets of conditions. Never empty: a `when` left out is one `Conditions` without conditions."""


@dataclass(frozen=True)
class Decision:
    """A question that every case needs answered, if it is needed at all.

    `answers` maps an answer to its label, for a decision that is no layer. `needed_when` names an
    earlier decision and the answers to it under which this one is needed.
    """

    id: str
    label: str
    span: Span
    layer: str | None = None
    answers: Mapping[str, str] = field(default_factory=dict)
    needed_when: tuple[str, tuple[str, ...]] | None = None

    @property
    def is_layer(self) -> bool:
        """Whether the decision is about a layer that is placed."""
        return self.layer is not None


@dataclass(frozen=True)
class Amount:
    """A range of a layer's thickness, as written: at most one lower and one upper bound, or `exactly`."""

    range: Range
    unit: Unit
    """The unit in which `range` is given."""

    @property
    def base(self) -> Range:
        """The range in the first unit of its dimension: equal for any two equal ranges, whatever their units."""
        low, high = self.range.lower, self.range.upper
        least, most = (v if abs(v) == UNBOUNDED else v * self.unit.size for v in (low.value, high.value))
        return Range(Lower(least, low.closed), Upper(most, high.closed))


@dataclass(frozen=True)
class Answer:
    """What a rule advises under one decision.

    `kind` is `none` (no layer is placed), `layer` (`name` is the agent), `choice` (`name` is one of the decision's
    answers) or `judgement` (`why` says why the clinician decides). `meaning` is the same for any two equal
    answers: quantities by value, a place left out is the agent's own, any two judgements are equal.
    `thickness` without a lower (upper) bound has minus (plus) `UNBOUNDED` there.
    """

    kind: Literal["none", "layer", "choice", "judgement"]
    span: Span = field(compare=False)
    meaning: Hashable
    name: str = ""
    thickness: Amount | None = field(default=None, compare=False)
    coats: int | None = field(default=None, compare=False)
    place: str | None = field(default=None, compare=False)
    wait: Quantity | None = field(default=None, compare=False)
    before: str | None = field(default=None, compare=False)
    after: str | None = field(default=None, compare=False)
    why: str = field(default="", compare=False)


@dataclass(frozen=True)
class Adjustment:
    """A stated change of an OCEBM level: the level reached, and why."""

    to: int
    because: str
    span: Span
    reason: str = ""
    """Which of the table's reasons it is, where that is said: `imprecision`, `large-effect`, ..."""


@dataclass(frozen=True)
class Situation:
    """Which of the five situations lets a strong recommendation rest on weak evidence, as its author states it.

    `benefit` and `harm` are levels of certainty, empty if left out. `way` is `for` or `against`, with what in `about`;
    both are empty where the rule's own fields say it.
    """

    name: str
    benefit: str
    harm: str
    way: Literal["", "for", "against"]
    about: str
    span: Span


@dataclass(frozen=True)
class Evidence:
    """What a rule rests on, and the grade its author states.

    Scheme grade fills `certainty`, `strength`, `design`, `lowered`, `raised`; ocebm-2011 `level`, `question`,
    `design`, `adjusted`. `lowered` and `raised` are the levels of `judged`, which also says why. `places` maps a field
    to its place.
    """

    basis: Literal["research", "law", "instructions", "good-practice"]
    span: Span
    certainty: str | None = None
    strength: str | None = None
    design: str | None = None
    lowered: Mapping[str, int] = field(default_factory=dict)
    raised: Mapping[str, int] = field(default_factory=dict)
    judged: Mapping[str, Judgement] = field(default_factory=dict)
    risk_of_bias_tool: str = ""
    """`robins-i` where observational studies were judged with a tool that starts them high."""
    setting: Literal["", "patients", "animals", "laboratory"] = ""
    situation: Situation | None = None
    good_practice: Mapping[str, str] = field(default_factory=dict)
    """The answers to the five questions of a good practice statement; all or none."""
    level: int | None = None
    question: str | None = None
    adjusted: Adjustment | None = None
    note: str = ""
    cites: tuple[Name, ...] = ()
    tables: tuple[Name, ...] = ()
    """The study tables that the rule rests on."""
    because: str = ""
    """Why the certainty is another than the lowest of the critical outcomes of the tables."""
    places: Mapping[str, Span] = field(default_factory=dict)


@dataclass(frozen=True)
class Dissent:
    """That one of those who wrote the protocol does not agree with a rule, and why."""

    name: str
    reason: str


@dataclass(frozen=True)
class Rule:
    """One rule: where it holds, what it advises, what it says to avoid, and why.

    `avoid` and `never` map a decision to the agents (or answers) named. `body` is the author's Markdown, which
    starts on line `body_line`.
    """

    id: str
    title: str
    span: Span
    when: When
    evidence: Evidence
    advise: Mapping[str, Answer] = field(default_factory=dict)
    avoid: Mapping[str, tuple[Name, ...]] = field(default_factory=dict)
    never: Mapping[str, tuple[Name, ...]] = field(default_factory=dict)
    overrides: tuple[Name, ...] = ()
    valid_from: date | None = None
    valid_until: date | None = None
    valid_span: Span | None = None
    review_by: WrittenDate | None = None
    dissent: tuple[Dissent, ...] = ()
    body: str = ""
    body_line: int = 1

    def holds_on(self, day: date) -> bool:
        """Whether the rule applies at all on a day (both ends of `valid` included)."""
        return (self.valid_from or day) <= day <= (self.valid_until or day)

    @property
    def ways(self) -> frozenset[Way]:
        """Which way the rule's own fields go: for what it advises, against what it avoids, or both."""
        ways: set[Way] = {"against"} if self.avoid or self.never else set()
        return frozenset(ways | {"against" if answer.kind == "none" else "for" for answer in self.advise.values()})

    def speaks_under(self, decision: str) -> bool:
        """Whether the rule says anything under a decision."""
        return decision in self.advise or decision in self.avoid or decision in self.never
