"""Protocols of any size, made in memory: the engine is measured without the reading of files.

The same seed gives the same protocol. `decision_table` follows the style of the published benchmark (D. Calvanese et
al., Semantics and Analysis of DMN Decision Tables, BPM 2016): a partition of the cases from recursive splits, of which
one row in ten is then widened or narrowed in one column. The others are families for what is hard.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from random import Random

from liningbook.finding import Span
from liningbook.model.protocol import Agent, Protocol
from liningbook.model.rule import (
    Answer,
    Condition,
    Conditions,
    Decision,
    Evidence,
    Factor,
    Name,
    Rule,
    Stretch,
    WrittenDate,
)
from liningbook.notation.interval import Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import UNITS

DAY = date(2026, 11, 25)
NOWHERE = Span("protocol.yaml", 1, 1, 1, 2)

Ends = tuple[int, bool, int, bool]
"""A stretch of a quantity in whole units: least, included, most, included."""
Values = frozenset[str]
Row = dict[str, Ends | Values]
"""What a rule asks of each factor; a factor left out means any value."""


# --- pieces ---------------------------------------------------------------------------------------------------------


def quantity(name: str, most: int) -> Factor:
    """A factor of 0 to `most` micrometres."""
    limits = Range(Lower(Fraction(0), True), Upper(Fraction(most), True))
    return Factor(name, name.capitalize(), "quantity", NOWHERE, unit=UNITS["um"], limits=limits)


def choice(name: str, count: int) -> Factor:
    """A factor of `count` values."""
    return Factor(name, name.capitalize(), "choice", NOWHERE, {f"{name}-{n}": f"Value {n}" for n in range(count)})


def yes_no(name: str) -> Factor:
    """A question."""
    return Factor(name, name.capitalize(), "yes-no", NOWHERE, {"yes": "Yes", "no": "No"})


def rule(
    number: int,
    factors: Mapping[str, Factor],
    row: Row,
    advise: Mapping[str, str],
    overrides: Sequence[int] = (),
    avoid: Mapping[str, Sequence[str]] | None = None,
) -> Rule:
    """The rule of a row; `advise` names one answer of a decision, or an agent of a layer."""
    name = rule_name(number)
    file = f"rules/{name}.md"
    conditions = {
        factor: _condition(factors[factor], wanted, Span(file, 4 + line, 10, 4 + line, 30))
        for line, (factor, wanted) in enumerate(row.items())
    }
    place = Span(file, 20, 3, 20, 20)
    return Rule(
        name,
        f"Rule {number}",
        Span(file, 2, 8, 2, 20),
        (Conditions(conditions),),
        Evidence("good-practice", place, note="Made for measuring."),
        {decision: _answer(answer, place) for decision, answer in advise.items()},
        {decision: tuple(Name(agent, place) for agent in agents) for decision, agents in (avoid or {}).items()},
        overrides=tuple(Name(rule_name(other), place) for other in overrides),
    )


def rule_name(number: int) -> str:
    """Ids in the order of the numbers."""
    return f"r{number:05}"


def _condition(factor: Factor, wanted: Ends | Values, place: Span) -> Condition:
    if isinstance(wanted, frozenset):
        return Condition(factor.id, place, place, values=tuple(value for value in factor.values if value in wanted))
    low, low_closed, high, high_closed = wanted
    stretch = Range(Lower(Fraction(low), low_closed), Upper(Fraction(high), high_closed))
    return Condition(factor.id, place, place, RangeSet.of([stretch]), (Stretch(stretch, place),))


def _answer(name: str, place: Span) -> Answer:
    if name == "none":
        return Answer("none", place, ("none",))
    kind = "layer" if name.startswith("agent") else "choice"
    return Answer("layer" if kind == "layer" else "choice", place, (kind, name), name)


def protocol(
    factors: Sequence[Factor],
    decisions: Mapping[str, Decision],
    rules: Sequence[Rule],
    agents: Sequence[Agent] = (),
) -> Protocol:
    """A protocol that holds nothing else."""
    return Protocol(
        "A protocol made for measuring", "Nowhere", "1", "draft", "Measuring", (), "grade",
        WrittenDate(date(2099, 1, 1), NOWHERE), NOWHERE,
        {factor.id: factor for factor in factors}, decisions, {one.id: one for one in rules},
        {agent.id: agent for agent in agents},
    )  # fmt: skip


def question(name: str, answers: int) -> Decision:
    """A decision with so many answers."""
    return Decision(name, name.capitalize(), NOWHERE, answers={f"{name}-{n}": f"Answer {n}" for n in range(answers)})


# --- tables in the published style ----------------------------------------------------------------------------------

MOST = 1000
"""The upper limit of a table's quantities."""


def table_factors(columns: int) -> list[Factor]:
    """Quantities and choices in turn."""
    return [
        quantity(f"number-{n}", MOST) if n % 2 == 0 else choice(f"choice-{n}", 4 + 2 * (n % 5)) for n in range(columns)
    ]


def decision_table(rules: int, columns: int, noise: str = "", seed: int = 1, answers: int = 7) -> Protocol:
    """A table of so many rules that share the cases out among them; `noise` is `overlapping`, `missing` or nothing."""
    random = Random(f"{seed} {rules} {columns}")
    factors = {factor.id: factor for factor in table_factors(columns)}
    rows = _partition(random, factors, rules)
    for row in random.sample(rows, rules // 10 if noise else 0):
        _widen(random, factors, row) if noise == "overlapping" else _narrow(random, row)
    random.shuffle(rows)
    decision = question("grade", answers)
    made = [
        rule(number, factors, row, {"grade": f"grade-{random.randrange(answers)}"}) for number, row in enumerate(rows)
    ]
    return protocol(list(factors.values()), {"grade": decision}, made)


def _partition(random: Random, factors: Mapping[str, Factor], count: int) -> list[Row]:
    """Rows that hold every case exactly once: the whole is split, then a random part of it, and so on."""
    rows: list[Row] = [{}]
    while len(rows) < count:
        at = random.randrange(len(rows))
        halves = _split(random, factors[random.choice(list(factors))], rows[at])
        if halves:
            rows[at : at + 1] = halves
    return rows


def _split(random: Random, factor: Factor, row: Row) -> list[Row]:
    wanted = row.get(factor.id)
    if factor.kind == "quantity":
        low, low_closed, high, high_closed = wanted if isinstance(wanted, tuple) else (0, True, MOST, True)
        if high - low < 2:
            return []
        cut, closed = random.randrange(low + 1, high), random.random() < 0.5
        parts: list[Ends | Values] = [(low, low_closed, cut, closed), (cut, not closed, high, high_closed)]
    else:
        values = sorted(wanted if isinstance(wanted, frozenset) else factor.values)
        if len(values) < 2:
            return []
        taken = random.sample(values, random.randrange(1, len(values)))
        parts = [frozenset(taken), frozenset(values) - frozenset(taken)]
    return [{**row, factor.id: part} for part in parts]


def _widen(random: Random, factors: Mapping[str, Factor], row: Row) -> None:
    """Lets one column hold more than it did."""
    name = random.choice(list(row))
    wanted = row[name]
    if isinstance(wanted, frozenset):
        row[name] = wanted | {random.choice(sorted(set(factors[name].values) - wanted))}
        return
    low, low_closed, high, high_closed = wanted
    more = max(1, (high - low) // 2)
    if high < MOST and (low == 0 or random.random() < 0.5):
        row[name] = (low, low_closed, min(MOST, high + more), True)
    else:
        row[name] = (max(0, low - more), True, high, high_closed)


def _narrow(random: Random, row: Row) -> None:
    """Lets one column hold less than it did."""
    able = [
        name
        for name, wanted in row.items()
        if (len(wanted) if isinstance(wanted, frozenset) else wanted[2] - wanted[0]) > 1
    ]
    name = random.choice(able or list(row))
    wanted = row[name]
    if isinstance(wanted, frozenset):
        row[name] = wanted - {random.choice(sorted(wanted))} if len(wanted) > 1 else wanted
        return
    low, low_closed, high, high_closed = wanted
    cut = low + max(1, (high - low) // 2)
    if cut < high:
        row[name] = (low, low_closed, cut, True) if random.random() < 0.5 else (cut, True, high, high_closed)


# --- a large practice -----------------------------------------------------------------------------------------------


def practice(rules: int = 60, seed: int = 1) -> Protocol:
    """Rules as a practice writes them: one thickness, five choices, four decisions, overrides and an `avoid` or two.

    The management follows from the pulp and the caries; a layer is needed where the tooth is restored. The rules on the
    layers meet, contradict and leave gaps as they happen to.
    """
    random = Random(f"{seed} practice {rules}")
    factors = {"rdt": quantity("rdt", 6000)}
    for name, count in (("restoration", 3), ("pulp", 5), ("caries", 4), ("material", 6), ("allergy", 10)):
        factors[name] = choice(name, count)
    agents = [
        Agent(f"agent-{layer}-{n}", f"Agent {n} for a {layer}", (layer,), NOWHERE)
        for layer in LAYERS
        for n in (1, 2, 3)
    ]
    decisions = {"management": question("management", 3)}
    for layer in LAYERS:
        needed_when = ("management", ("management-0",))
        decisions[layer] = Decision(layer, layer.capitalize(), NOWHERE, layer, needed_when=needed_when)
    made = [
        rule(0, factors, {"pulp": frozenset({"pulp-0", "pulp-1", "pulp-2"})}, {"management": "management-0"}),
        rule(1, factors, {"pulp": frozenset({"pulp-3"})}, {"management": "management-1"}),
        rule(2, factors, {"pulp": frozenset({"pulp-4"})}, {"management": "management-2"}),
        rule(3, factors, {"caries": frozenset({"caries-3"})}, {"management": "management-1"}, overrides=[0]),
    ]
    for number in range(len(made), rules):
        layer = LAYERS[number % 3]
        row: Row = {}
        for name in random.sample(list(factors), random.choice([1, 2, 2, 3, 3])):
            row[name] = _thickness(random) if name == "rdt" else _values(random, factors[name])
        names = ["none", *(agent.id for agent in agents if layer in agent.classes)]
        losers = [random.randrange(4, number)] if number > 4 and random.random() < 0.5 else []
        avoid = {layer: [names[-1]]} if random.random() < 0.1 else {}
        made.append(rule(number, factors, row, {layer: random.choice(names[:3])}, losers, avoid))
    return protocol(list(factors.values()), decisions, made, agents)


LAYERS = ("liner", "base", "sealer")
THRESHOLDS = (0, 250, 500, 750, 1000, 1500, 2000, 2500, 4000, 6000)


def _thickness(random: Random) -> Ends:
    low, high = sorted(random.sample(THRESHOLDS, 2))
    return (low, low == 0 or random.random() < 0.5, high, high == 6000 or random.random() < 0.5)


def _values(random: Random, factor: Factor) -> Values:
    values = list(factor.values)
    return frozenset(random.sample(values, random.randrange(1, 1 + len(values) // 2)))


# --- hard families --------------------------------------------------------------------------------------------------


def unstructured(rules: int, used: int, axes: int, width: float, seed: int = 1, most: int = MOST) -> Protocol:
    """Random boxes: each rule asks for a stretch of the given share of `used` of the quantities."""
    random = Random(f"{seed} {rules} {used} {axes} {width}")
    factors = {f"number-{n}": quantity(f"number-{n}", most) for n in range(axes)}
    made = []
    for number in range(rules):
        row: Row = {}
        for name in sorted(random.sample(list(factors), used)):
            low = random.randrange(0, most - round(width * most) + 1)
            row[name] = (low, True, low + round(width * most), random.random() < 0.5)
        made.append(rule(number, factors, row, {"grade": f"grade-{random.randrange(3)}"}))
    return protocol(list(factors.values()), {"grade": question("grade", 3)}, made)


def clauses(variables: int, count: int, seed: int = 1) -> Protocol:
    """Random 3-SAT as rules: each holds where one clause fails, so a case without a rule is a satisfying assignment."""
    random = Random(f"{seed} {variables} {count}")
    factors = {f"asked-{n}": yes_no(f"asked-{n}") for n in range(variables)}
    made = []
    for number in range(count):
        names = sorted(random.sample(list(factors), 3))
        row: Row = {name: frozenset({random.choice(["yes", "no"])}) for name in names}
        made.append(rule(number, factors, row, {"grade": "grade-0"}))
    return protocol(list(factors.values()), {"grade": question("grade", 2)}, made)
