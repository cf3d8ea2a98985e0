"""Random protocols as plain data, small enough that every case can be looked at.

The same seed gives the same protocol. Everything that the contract allows turns up: thresholds closed, open, single and
at the limits, in several units; steps; lists of ranges; `when` as a mapping, a list, empty; `needed_when` chains;
excluded cases; overrides between rules of one and of several decisions; `avoid` and `never`; equal answers written
differently; rules out of force; `together`. What a source may not say (an empty range, a circle of overrides) does not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from fractions import Fraction
from random import Random
from typing import Any

from tests.oracle.grid import Grid, axis_of
from tests.oracle.notation import SIZES, as_list, decimal, meets

DAY = date(2026, 11, 25)

MOST_CELLS = 20_000

QUANTITIES: list[tuple[str, list[str], str, str, list[str]]] = [
    # id, units, least, most, thresholds
    ("rdt", ["mm", "um"], "0", "6", ["0.25", "0.5", "1", "2", "2.5", "3.75"]),
    ("rdt", ["mm", "um"], "0.2", "5", ["0.5", "0.55", "0.6", "1.2", "2"]),
    ("age", ["a", "mo"], "0", "120", ["0.5", "12", "16", "18", "65"]),
    ("load", ["N", "kN"], "0", "2000", ["13", "18", "18.5", "400"]),
    ("heat", ["Cel"], "-10", "60", ["-5.5", "0", "4", "36.8", "37"]),
]

STEPPED: list[tuple[str, list[str], str, str, str]] = [
    # id, units, least, most, step
    ("rdt", ["mm", "um"], "0", "3", "0.25"),
    ("rdt", ["mm", "um"], "0.1", "2", "0.05"),
    ("depth", ["mm", "um"], "-1", "2", "0.5"),
    ("coats-before", ["mm"], "0", "4", "1"),
    ("wait", ["min", "s"], "0", "30", "1.5"),
]

SPELLINGS = [
    ["0.75 mm", "750 um", "0.750 mm"],
    ["1 mm", "1000 um", "1.0 mm", "0.1 cm"],
    ["4 min", "240 s"],
    ["5 min", "300 s"],
]
"""Ways to write the same quantity in an answer."""

LAYERS = ["liner", "base", "sealer"]
ANSWERS = ["restore", "change", "assess"]


class Source:
    """A seeded source of choices."""

    def __init__(self, seed: int) -> None:
        self.random = Random(seed)

    def one(self, of: Sequence[Any]) -> Any:
        return self.random.choice(of)

    def some(self, of: Sequence[Any], least: int = 1, most: int | None = None) -> list[Any]:
        """Different ones, in a random order."""
        most = len(of) if most is None else min(most, len(of))
        return self.random.sample(list(of), self.random.randint(min(least, most), most))

    def count(self, least: int, most: int) -> int:
        return self.random.randint(least, most)

    def is_so(self, percent: int) -> bool:
        return self.random.randrange(100) < percent

    def draw(self, *weighted: tuple[int, Callable[[], Any]]) -> Any:
        [(_, make)] = self.random.choices(weighted, [weight for weight, _ in weighted])
        return make()


def random_protocol(seed: int, most_cells: int = MOST_CELLS) -> dict[str, Any]:
    """The protocol of a seed."""
    source = Source(seed)
    for _ in range(1000):
        plain = _Protocol(source).plain()
        whens = [thing.get("when") for thing in plain["rules"].values()]
        whens += [thing.get("when") for thing in plain["protocol"]["excluded"] + plain["materials"]["together"]]
        if Grid(plain["protocol"]["factors"], whens).count <= most_cells:
            return plain
    raise AssertionError(f"seed {seed} gives no protocol of {most_cells} cells")


def random_case(source: Source, grid: Grid) -> dict[str, Any]:
    return grid.case(source.count(0, grid.count - 1))


def quantity_text(source: Source, value: Fraction, units: Sequence[str], unit: str) -> str:
    """A value of `unit` in one of several units, in one of the ways in which people write it."""
    kind, one = SIZES[unit]
    choices = [code for code in units if (value * one / SIZES[code][1] * 10**6).denominator == 1]
    code = source.one(choices) if source.is_so(40) else unit
    assert SIZES[code][0] == kind
    text = decimal(value * one / SIZES[code][1])
    if source.is_so(10):
        text += "0" if "." in text else ".0"
    return f"{text} {code}"


class _Protocol:
    """One protocol in the making."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.units: dict[str, list[str]] = {}
        self.points: dict[str, list[Fraction]] = {}
        """The thresholds of a quantity, limits included."""
        self.given: dict[str, list[Any]] = {}
        """The answers given so far, by decision."""
        self.factors = self.make_factors()
        self.decisions = self.make_decisions()
        self.classes: list[str] = sorted({d["layer"] for d in self.decisions.values() if "layer" in d})
        self.places = source.one([{}, {"spot": "Spot", "floor": "Floor", "walls": "Walls"}])
        self.agents = self.make_agents()
        self.make_needed()

    def plain(self) -> dict[str, Any]:
        source = self.source
        rules = self.make_rules()
        protocol = {
            "title": "A random protocol", "practice": "A program", "edition": "1", "status": "draft",
            "review_by": "2099-01-01", "authors": [{"name": "A. Program", "role": "author", "interests": "none"}],
            "scope": "Tests", "cautions": ["Mind this."], "stop_questions": ["Any pain?"], "evidence_scheme": "grade",
            "factors": self.factors, "decisions": self.decisions,
            "excluded": [self.exclusion() for _ in range(source.one([0, 0, 1, 1, 2]))],
        }  # fmt: skip
        materials: dict[str, Any] = {"agents": self.agents}
        if self.places:
            materials["places"] = self.places
        materials["together"] = [self.pairing() for _ in range(source.one([0, 0, 1, 2]))] if self.classes else []
        return {"protocol": protocol, "materials": materials, "rules": rules, "day": DAY.isoformat()}

    # --- factors and conditions -------------------------------------------------------------------------------------

    def make_factors(self) -> dict[str, Any]:
        source = self.source
        made = [self.quantity() for _ in range(source.one([0, 1, 1, 1, 1, 2, 2, 2]))]
        for number in range(source.one([1, 2, 2, 3])):
            values = [f"{'abc'[number]}{n}" for n in range(1, source.one([1, 2, 2, 3, 3, 4, 4, 5]) + 1)]
            made.append((f"choice-{'abc'[number]}", {"kind": "choice", "values": {v: v.upper() for v in values}}))
        made += [(f"asked-{n}", {"kind": "yes-no"}) for n in range(source.one([0, 1, 1, 2]))]
        source.random.shuffle(made)
        return dict(made)

    def quantity(self) -> tuple[str, dict[str, Any]]:
        source = self.source
        if source.is_so(35):
            name, units, least, most, step = source.one(STEPPED)
            size = Fraction(step)
            first, last = Fraction(least) / size, Fraction(most) / size
            inner = [size * n for n in source.some(range(int(first) + 1, int(last)), 2, 4)]
        else:
            name, units, least, most, known = source.one(QUANTITIES)
            step, inner = None, [Fraction(text) for text in source.some(known, 2, 4)]
        name = f"{name}-2" if name in self.units else name
        unit = source.one(units) if source.is_so(30) else units[0]
        scale = SIZES[units[0]][1] / SIZES[unit][1]
        self.units[name] = units
        self.points[name] = sorted({scale * value for value in (Fraction(least), Fraction(most), *inner)})
        factor = {"label": name.capitalize(), "kind": "quantity", "unit": unit}
        for key, text in (("at_least", least), ("at_most", most), ("step", step)):
            if text is not None:
                factor[key] = quantity_text(source, scale * Fraction(text), units, unit)
        return name, factor

    def text(self, factor: str, value: Fraction) -> str:
        return quantity_text(self.source, value, self.units[factor], self.factors[factor]["unit"])

    def when(self, most_factors: int = 2) -> Any:
        return self.source.draw(
            (70, lambda: self.mapping(most_factors)),
            (12, lambda: [self.mapping(most_factors) for _ in range(self.source.count(1, 3))]),
            (2, lambda: [self.mapping(most_factors), {}]),
            (2, dict),
            (2, list),
        )

    def mapping(self, most_factors: int, least: int = 1) -> dict[str, Any]:
        names = self.source.some(list(self.factors), least, most_factors)
        return {name: self.condition(name) for name in names}

    def condition(self, name: str) -> Any:
        source, factor = self.source, self.factors[name]
        if factor["kind"] == "quantity":
            one = lambda: self.range(name)  # noqa: E731
            return source.draw((80, one), (20, lambda: [one() for _ in range(source.count(1, 3))]))
        if factor["kind"] == "yes-no":
            return source.one(["yes", "no"])
        values = list(factor["values"])
        if len(values) == 1:
            return source.one([values, values[0]])
        return source.draw(
            (50, lambda: source.one(values)),
            (25, lambda: source.some(values)),
            (10, lambda: {"not": source.one(values)}),
            (15, lambda: {"not": source.some(values, 1, len(values) - 1)}),
        )

    def range(self, name: str) -> dict[str, str]:
        """A range that holds a value."""
        source, points = self.source, self.points[name]
        axis = axis_of(name, self.factors[name], [], points)
        while True:
            low, high = sorted((source.one(points), source.one(points)))
            lower = {source.one(["above", "at_least"]): self.text(name, low)}
            upper = {source.one(["below", "at_most"]): self.text(name, high)}
            bounds = source.draw(
                (30, lambda lower=lower: lower),
                (30, lambda upper=upper: upper),
                (40, lambda lower=lower, upper=upper: {**lower, **upper}),
                (15, lambda low=low: {"exactly": self.text(name, low)}),
                (5, lambda low=low: {"at_least": self.text(name, low), "at_most": self.text(name, low)}),
            )
            if any(meets(self.factors[name], bounds, value) for value in axis):
                return bounds

    def exclusion(self) -> dict[str, Any]:
        found = self.source.draw(
            (60, lambda: {"when": self.mapping(3, least=2)}),
            (30, lambda: {"when": [self.mapping(3, least=2) for _ in range(self.source.count(1, 2))]}),
            (10, lambda: {"when": self.when()}),
            (1, dict),
        )
        if self.source.is_so(80):
            found["because"] = f"Reason {self.source.count(1, 9)}."
        if self.source.is_so(50):
            found["instead"] = f"See elsewhere {self.source.count(1, 9)}."
        return found or {"because": "All of it."}

    # --- decisions and agents ---------------------------------------------------------------------------------------

    def make_decisions(self) -> dict[str, Any]:
        source = self.source
        layers = source.some(LAYERS, source.count(1, 3), 3)
        layers.sort(key=LAYERS.index)
        made: list[tuple[str, dict[str, Any]]] = [(name, {"label": name.upper(), "layer": name}) for name in layers]
        if len(layers) < 3 and source.is_so(10):
            made.append(("second", {"layer": layers[0]}))
        answers = {answer: answer.capitalize() for answer in source.some(ANSWERS, 2, 3)}
        made.insert(0 if source.is_so(80) else source.count(0, len(made)), ("management", {"answers": answers}))
        if len(made) < 4 and source.is_so(15):
            answers = {answer: answer.capitalize() for answer in source.some(["soon", "later"], 1, 2)}
            made.insert(source.count(0, len(made)), ("recall", {"label": "Recall", "answers": answers}))
        return dict(made)

    def make_agents(self) -> dict[str, Any]:
        source = self.source
        agents: dict[str, Any] = {}
        for layer in self.classes:
            for n in (1, 2):
                agent: dict[str, Any] = {"class": layer}
                if source.is_so(30):
                    agent["class"] = source.one([[layer], [layer, *(c for c in self.classes if c != layer)]])
                if self.places and source.is_so(60):
                    agent["place"] = source.one(list(self.places))
                agents[f"{layer}-agent-{n}"] = agent
        return agents

    def agents_of(self, decision: str) -> list[str]:
        layer = self.decisions[decision]["layer"]
        return [name for name, agent in self.agents.items() if layer in as_list(agent["class"])]

    def make_needed(self) -> None:
        """`needed_when` on decisions listed before."""
        source, names = self.source, list(self.decisions)
        for position, name in enumerate(names):
            if position == 0 or source.is_so(25):
                continue
            earlier = (
                "management" if "management" in names[:position] and source.is_so(60) else source.one(names[:position])
            )
            if "layer" in self.decisions[earlier]:
                known = ["none", *self.agents_of(earlier)]
                wanted = source.some(known, 1, 2)
            else:
                wanted = source.some(list(self.decisions[earlier]["answers"]), 1, 2)
            self.decisions[name]["needed_when"] = {earlier: self.one_or_list(wanted)}

    def one_or_list(self, values: list[str]) -> Any:
        return values[0] if len(values) == 1 and self.source.is_so(60) else values

    def pairing(self) -> dict[str, Any]:
        source = self.source
        layers = [name for name, decision in self.decisions.items() if "layer" in decision]
        pick = lambda: {  # noqa: E731
            layer: self.one_or_list(source.some(self.agents_of(layer), 1, 2)) for layer in source.some(layers, 1, 2)
        }
        found = {"with": pick()}
        keys = source.one([["require"], ["forbid"], ["require", "forbid"]])
        found |= {key: pick() for key in keys}
        if source.is_so(50):
            found["when"] = self.when()
        return found | {"because": "They react."}

    # --- rules ------------------------------------------------------------------------------------------------------

    def make_rules(self) -> dict[str, Any]:
        source = self.source
        rules: dict[str, Any] = {}
        for decision in self.decisions:
            made: list[dict[str, Any]] = []
            if source.is_so(5):
                continue
            if self.points and source.is_so(50):
                made += [{"when": when, "advise": {decision: self.answer(decision)}} for when in self.parts()]
            for _ in range(source.count(0 if made else 1, 4)):
                made.append({"advise": {decision: self.answer(decision)}})
                if source.is_so(75):
                    made[-1]["when"] = self.when()
            for rule in made:
                if source.is_so(20):
                    other = source.one(list(self.decisions))
                    rule["advise"].setdefault(other, self.answer(other))
            for _ in range(source.one([0, 0, 1, 1, 2])):
                made.append({"when": self.when()} if source.is_so(85) else {})
            for rule in made:
                self.add_warnings(rule, decision, 12 if "advise" in rule else 100)
            for number, rule in enumerate(made, 1):
                rules[f"{decision}-{number}"] = self.completed(rule)
        if not rules:
            rules["only"] = self.completed({"advise": {decision: self.answer(decision) for decision in self.decisions}})
        self.add_overrides(rules)
        return rules

    def parts(self) -> list[dict[str, Any]]:
        """A quantity's axis cut into neighbouring ranges, whose ends may or may not be closed."""
        source = self.source
        name = source.one(list(self.points))
        points = self.points[name]
        cuts = sorted(source.some(points[1:-1], 1, 2))
        further = {}
        if source.is_so(30):
            others = [factor for factor in self.factors if factor != name]
            further = {other: self.condition(other) for other in source.some(others, 1, 1)}
        parts: list[dict[str, Any]] = []
        for low, high in zip([None, *cuts], [*cuts, None], strict=True):
            bounds = {}
            if low is not None:
                bounds[source.one(["above", "at_least", "at_least"])] = self.text(name, low)
            if high is not None:
                bounds[source.one(["below", "at_most"])] = self.text(name, high)
            axis = axis_of(name, self.factors[name], [], points)
            if any(meets(self.factors[name], bounds, value) for value in axis):
                parts.append({name: bounds, **further})
        return parts

    def answer(self, decision: str) -> Any:
        """An answer to a decision, often one that another rule has given, written otherwise."""
        given = self.given.setdefault(decision, [])
        if given and self.source.is_so(35):
            return self.rewritten(self.source.one(given))
        given.append(self.new_answer(decision))
        return given[-1]

    def rewritten(self, answer: Any) -> Any:
        """An equal answer: quantities in other units, the agent's own place named or left out."""
        if not isinstance(answer, dict) or "judgement" in answer:
            return answer
        other = dict(answer)
        if "thickness" in other:
            other["thickness"] = {key: self.respelt(text) for key, text in other["thickness"].items()}
        if "wait" in other:
            other["wait"] = self.respelt(other["wait"])
        if self.places:
            own = self.agents[other["agent"]].get("place", list(self.places)[-1])
            if other.get("place") == own:
                del other["place"]
            elif "place" not in other and self.source.is_so(50):
                other["place"] = own
        return other

    def respelt(self, text: str) -> str:
        return self.source.one(next(way for way in SPELLINGS if text in way))

    def new_answer(self, decision: str) -> Any:
        source = self.source
        if source.is_so(10):
            return {"judgement": f"Reason {source.count(1, 3)}."}
        if "answers" in self.decisions[decision]:
            return source.one(list(self.decisions[decision]["answers"]))
        if source.is_so(25):
            return "none"
        agent = source.one(self.agents_of(decision))
        found: dict[str, Any] = {"agent": agent}
        if source.is_so(30):
            found["thickness"] = self.thickness()
        if source.is_so(15):
            found["coats"] = source.one(["1", "2"])
        if self.places and source.is_so(30):
            own = list(self.places).index(self.agents[agent].get("place", list(self.places)[-1]))
            found["place"] = source.one(list(self.places)[: own + 1]) if source.is_so(30) else list(self.places)[own]
        if source.is_so(10):
            found["wait"] = self.respelt(source.one(["4 min", "5 min"]))
        others = [name for name, d in self.decisions.items() if "layer" in d and name != decision]
        if others and source.is_so(12):
            found[source.one(["before", "after"])] = source.one(others)
        return found

    def thickness(self) -> dict[str, str]:
        source = self.source
        low = {source.one(["at_least", "above"]): self.respelt("0.75 mm")}
        high = {source.one(["at_most", "below"]): self.respelt("1 mm")}
        return source.one([low, high, {**low, **high}, {"exactly": self.respelt("1 mm")}])

    def add_warnings(self, rule: dict[str, Any], decision: str, percent: int) -> None:
        source = self.source
        while source.is_so(percent):
            key = source.one(["avoid", "avoid", "never"])
            under = decision if source.is_so(80) else source.one(list(self.decisions))
            known = self.decisions[under].get("answers") or self.agents_of(under)
            rule.setdefault(key, {})[under] = self.one_or_list(source.some(list(known), 1, 2))
            percent = 20

    def completed(self, rule: dict[str, Any]) -> dict[str, Any]:
        source = self.source
        found = {"title": f"Rule {source.count(1, 999)}", **rule}
        found["evidence"] = {"basis": "good-practice", "note": "Made by a program."}
        if source.is_so(15):
            days = lambda n: (DAY + timedelta(days=n)).isoformat()  # noqa: E731
            found["valid"] = source.one(
                [
                    {"from": days(0)}, {"until": days(0)}, {"from": days(0), "until": days(0)}, {"from": days(-9)},
                    {"from": days(1)}, {"until": days(-1)}, {"from": days(-9), "until": days(-1)},
                ]
            )  # fmt: skip
        return found

    def add_overrides(self, rules: dict[str, Any]) -> None:
        """Overrides from rules to rules later in a random order, so that there is no circle."""
        source = self.source
        order = list(rules)
        source.random.shuffle(order)
        for position, name in enumerate(order[:-1]):
            if source.is_so(40):
                later = order[position + 1 :]
                near = [other for other in later if other.rpartition("-")[0] == name.rpartition("-")[0]]
                chosen = source.some(near or later, 1, 2) if source.is_so(80) else source.some(later, 1, 2)
                rules[name]["overrides"] = sorted(chosen)
