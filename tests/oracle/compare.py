"""Where Liningbook and the oracle disagree on a protocol: one line for each disagreement, none if all is well."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from liningbook.exchange.outcomes import case_json
from liningbook.meaning import chart as charts
from liningbook.meaning import exceptions
from liningbook.meaning.decide import decide
from liningbook.meaning.table import table_of
from liningbook.model.values import read_value
from liningbook.space.boxes import on_axis
from tests.oracle.brute import Brute, Fact, Judgement, Outcome, Regions, placing_order
from tests.oracle.folder import brute
from tests.oracle.generate import Source
from tests.oracle.notation import Unsound, holds, limits_of, read_witness, step_of
from tests.oracle.world import World

SEVERITIES = {
    "conflict": "error", "gap": "error", "contraindicated": "error", "clash": "error", "duplicate": "note",
    "unreachable": "warning", "idle-override": "warning", "avoid-overridden": "warning", "expiring": "warning",
    "coming": "note",
}  # fmt: skip

WITH_CASES = {"conflict", "gap", "contraindicated", "clash", "duplicate", "avoid-overridden"}

ON_LATER_DAYS = {"conflict", "gap", "contraindicated", "clash"}
"""Kinds that are also reported for a later day on which a rule starts or ends."""

CASES = 16
"""How many random cases of a protocol are asked for one by one."""


# --- findings -------------------------------------------------------------------------------------------------------


def findings(world: World) -> Iterator[str]:
    """Each finding's cases exactly, a sound witness, and none missing or too many."""
    try:
        regions = world.regions
    except Unsound as wrong:
        yield f"findings: {wrong}"
        return
    expected: dict[Fact, int] = {fact: cells for fact, cells in regions.cells.items() if fact[0] in WITH_CASES}
    expected |= {("unreachable", name): 0 for name in world.brute.unreachable(regions)}
    expected |= {("idle-override", *pair): 0 for pair in world.brute.idle_overrides(regions)}
    yield from _all_found(world, "findings", world.findings_of_the_day, expected)


def later_days(world: World) -> Iterator[str]:
    """What goes wrong on a later day, with its date, and the rules that end."""
    grid = world.regions.grid
    review, last = date.fromisoformat(world.plain["protocol"]["review_by"]), date.fromisoformat(world.plain["day"])
    ends = {
        name: date.fromisoformat(rule["valid"]["until"])
        for name, rule in world.plain["rules"].items()
        if "until" in rule.get("valid", {})
    }
    starts = {
        date.fromisoformat(rule["valid"]["from"])
        for rule in world.plain["rules"].values()
        if "from" in rule.get("valid", {})
    }
    day_after = timedelta(days=1)
    for day in sorted(starts | {end + day_after for end in ends.values()}):
        if not last < day <= review:
            continue
        then, before = (brute({**world.plain, "day": on.isoformat()}) for on in (day, last))
        now, earlier = then.regions(grid), before.regions(grid)
        ended = [rule for name, rule in before.rules.items() if name not in then.rules]
        expected = {}
        for fact, cells in now.cells.items():
            if fact[0] in ON_LATER_DAYS:
                new = cells & ~earlier.cells.get(fact, 0)
                if fact[0] == "gap":
                    for rule in ended:
                        new &= ~grid.cells(rule.get("when")) if fact[1] in rule.get("advise", {}) else grid.full
                expected |= {fact: new} if new else {}
        for name, end in ends.items():
            if end + day_after == day:
                rule = world.plain["rules"][name]
                open_then = 0
                for decision in rule.get("advise", {}):
                    open_then |= now.cells.get(("gap", decision), 0) & grid.cells(rule.get("when"))
                expected["expiring", name] = open_then
        expected |= _other_advice(now, earlier, ended)
        said_then = [finding for finding in world.findings if finding.get("on") == day.isoformat()]
        yield from _all_found(world, f"from {day} on", said_then, expected)
        last = day
    known = {(day_after + end).isoformat() for end in ends.values()} | {day.isoformat() for day in starts}
    for finding in world.findings:
        if "on" in finding and finding["on"] not in known:
            yield f"later: {finding['kind']} on {finding['on']}, when nothing changes"


def _other_advice(now: Regions, earlier: Regions, ended: list[Mapping[str, Any]]) -> dict[Fact, int]:
    """Where each decision comes to something else than before; without what the rules that ended leave open."""
    same: dict[str, int] = {}
    for (decision, outcome), cells in now.outcomes.items():
        for (other, old), others in earlier.outcomes.items():
            if decision == other and said(outcome) == said(old):
                same[decision] = same.get(decision, 0) | cells & others
    found: dict[Fact, int] = {}
    for decision in {name for name, _ in now.outcomes}:
        changed = now.scope & ~same.get(decision, 0)
        for rule in ended:
            if decision in rule.get("advise", {}):
                changed &= ~(now.cells.get(("gap", decision), 0) & now.grid.cells(rule.get("when")))
        if changed:
            found["coming", decision] = changed
    return found


def _all_found(world: World, title: str, said: list[dict[str, Any]], expected: Mapping[Fact, int]) -> Iterator[str]:
    seen: set[Fact] = set()
    for finding in said:
        key = key_of(finding)
        where = f"{title}: {' '.join(map(_word, key))}"
        if key in seen:
            yield f"{where} is said twice"
        elif key not in expected:
            yield f"{where} is not so: {finding['cases']}"
        else:
            yield from (f"{where}: {text}" for text in _finding(world, finding, expected[key]))
        seen.add(key)
    for key in expected:
        if key not in seen:
            yield f"{title}: {' '.join(map(_word, key))} is missing, for example {world.shown(expected[key])}"


def key_of(finding: Mapping[str, Any]) -> Fact:
    """What a finding is about, as the oracle names it."""
    kind, decision, rules = finding["kind"], finding["decision"], finding["rules"]
    if kind in ("conflict", "duplicate"):
        return (kind, decision, frozenset(rules))
    if kind in ("gap", "coming"):
        return (kind, decision)
    if kind == "contraindicated":
        return (kind, decision, rules[0], finding["agent"])
    if kind == "clash":
        return (kind, finding["entry"])
    if kind in ("unreachable", "expiring"):
        return (kind, rules[0])
    return (kind, *rules)


def _finding(world: World, finding: Mapping[str, Any], expected: int) -> Iterator[str]:
    if finding["severity"] != SEVERITIES[finding["kind"]]:
        yield f"severity {finding['severity']}"
    if not finding["message"] or not (world.folder / finding["file"]).is_file() or finding["line"] < 1:
        yield "no message or no place"
    if finding["kind"] not in WITH_CASES and not finding["cases"] and not expected:
        return
    try:
        cells = world.cells_of(finding["cases"])
        witness = read_witness(world.factors, finding["witness"])
    except Unsound as wrong:
        yield str(wrong)
        return
    if cells & ~expected:
        yield f"holds cases that are not so, such as {world.shown(cells & ~expected)}"
    if expected & ~cells:
        yield f"lacks cases, such as {world.shown(expected & ~cells)}"
    if not holds(world.factors, finding["cases"], witness):
        yield f"the witness {finding['witness']} is none"


def _word(part: object) -> str:
    return "+".join(sorted(part)) if isinstance(part, frozenset) else str(part)


# --- single cases ---------------------------------------------------------------------------------------------------


def advice(world: World) -> Iterator[str]:
    """The advice for random cases, on and between the thresholds."""
    source = Source(len(world.plain["rules"]))
    grid = world.brute.grid()
    for _ in range(CASES):
        case = {
            name: _any_number(source, factor) if factor["kind"] == "quantity" and source.is_so(30) else value
            for (name, value), factor in zip(
                grid.case(source.count(0, grid.count - 1)).items(), world.factors.values(), strict=True
            )
        }
        yield from case_advice(world, case, advice_for(world, case))


def _any_number(source: Source, factor: Mapping[str, Any]) -> Fraction:
    low, high = limits_of(factor)
    step = step_of(factor)
    if step is None:
        return low + (high - low) * Fraction(source.count(0, 10_000), 10_000)
    return low + step * source.count(0, int((high - low) / step))


def advice_for(world: World, case: Mapping[str, Any]) -> dict[str, Any]:
    """What `liningbook case --format json` prints, without the command around it."""
    values, numbers = {}, {}
    protocol = world.meaning.protocol
    for name, value in case.items():
        values[name], number = read_value(protocol.factors[name], world.text(name, value))
        if number is not None:
            numbers[name] = number
    return case_json(values, decide(world.meaning, world.meaning.space.cell(values, numbers)))


def case_advice(world: World, case: Mapping[str, Any], found: Mapping[str, Any]) -> Iterator[str]:
    """The advice for one case against the oracle's."""
    true = world.brute.advise(case)
    written = {name: world.text(name, value) for name, value in case.items()}
    where = f"advice for {written}"
    if found["case"] != written:
        yield f"{where}: the case reads {found['case']}"
    if found["in_scope"] != true.in_scope:
        yield f"{where}: in_scope is {found['in_scope']}"
    if not true.in_scope:
        yield from (f"{where}: {text}" for text in _out_of_scope(world.brute, true, found))
        return
    if list(found["advice"]) != list(world.brute.decisions):
        yield f"{where}: answers {list(found['advice'])}"
        return
    for decision, outcome in found["advice"].items():
        if world.outcome_of_json(outcome) != true.outcome(decision):
            yield f"{where}: {decision} is {outcome}, not {true.outcome(decision)}"
    silent = {decision: set(rules) for decision, rules in found["silent"].items() if rules}
    if silent != {decision: rules for decision, rules in true.silent.items() if rules}:
        yield f"{where}: silent are {found['silent']}, not {true.silent}"
    order = placing_order(true)
    if order is not None and found["placing_order"] != order:
        yield f"{where}: placed in the order {found['placing_order']}, not {order}"


def _out_of_scope(brute: Brute, true: Judgement, found: Mapping[str, Any]) -> Iterator[str]:
    if found["advice"] or found["silent"] or found["placing_order"]:
        yield "advice out of scope"
    reasons = [(brute.excluded[n].get("because", ""), brute.excluded[n].get("instead", "")) for n in true.excluded_by]
    if (found["because"], found["instead"]) not in reasons:
        yield f"out of scope because {found['because']}, instead {found['instead']}; not {reasons}"


# --- tables and the chart -------------------------------------------------------------------------------------------


def tables(world: World) -> Iterator[str]:
    """Each decision's table: disjoint rows, together the cases in scope, and what each says is so."""
    expected = world.regions.outcomes
    for decision in world.brute.decisions:
        seen = 0
        for row in table_of(world.meaning, decision):
            try:
                cells = world.cells_of_box(row.box)
            except Unsound as wrong:
                yield f"table of {decision}: {wrong}"
                return
            if cells & seen:
                yield f"table of {decision}: two rows for {world.shown(cells & seen)}"
            wrong_cells = cells & ~expected.get((decision, world.outcome(row.outcome)), 0)
            if wrong_cells:
                yield f"table of {decision}: not {world.outcome(row.outcome)} for {world.shown(wrong_cells)}"
            seen |= cells
        if seen != world.regions.scope:
            yield f"table of {decision}: no row for {world.shown(world.regions.scope & ~seen)}"


Said = tuple[str, frozenset[Any]]
"""State and distinct answers: what a chart shows."""


def said(outcome: Outcome) -> Said:
    return outcome[0], frozenset(meaning for meaning, _ in outcome[1])


def chart(world: World) -> Iterator[str]:
    """The chart with its exceptions answers every case as the protocol does; so does a card of a part of it."""
    layout = charts.choose_layout(world.meaning)
    if layout is None:
        kinds = {factor["kind"] for factor in world.factors.values()}
        if kinds.issuperset({"quantity", "choice"}):
            yield "chart: there is none"
        return
    outcomes = charts.Outcomes(world.meaning)
    shown = list(layout.shown)
    shown[layout.band_axis] &= shown[layout.band_axis] >> 1 or shown[layout.band_axis]
    part = replace(layout, shown=tuple(shown), usual=on_axis(layout.usual, layout.band_axis, shown[layout.band_axis]))
    for one in (layout, layout.of_column(layout.columns[-1]), part):
        bands = charts.bands(outcomes, one)
        groups = exceptions.exceptions(outcomes, one, list(world.brute.decisions), bands)
        yield from _triggers(one, groups)
        lines = [line for group in groups for line in exceptions.whole_lines(group)]
        for decision in world.brute.decisions:
            of_decision = [line for line in lines if line.decision == decision]
            yield from _chart(world, one, outcomes, bands, decision, of_decision)


def _triggers(layout: charts.Layout, groups: Sequence[exceptions.Keyed]) -> Iterator[str]:
    """What triggers a line is only ever a value that is not usual, and no line is without a trigger."""
    for group in groups:
        for one in group.triggers:
            asked = [n for n, (mask, whole) in enumerate(zip(one, layout.shown, strict=True)) if mask != whole]
            if not asked or {layout.band_axis, layout.column_axis} & {*asked}:
                yield f"exceptions: a trigger asks about {asked}"
            if any(one[number] & layout.usual[number] for number in asked):
                yield f"exceptions: a trigger holds a usual value, {one}"


def _chart(
    world: World,
    layout: charts.Layout,
    outcomes: charts.Outcomes,
    bands: list[int],
    decision: str,
    lines: Sequence[charts.Line],
) -> Iterator[str]:
    where = f"chart of {decision}"
    expected: dict[Said, int] = {}
    for (name, outcome), cells in world.regions.outcomes.items():
        if name == decision:
            expected[said(outcome)] = expected.get(said(outcome), 0) | cells
    left = world.regions.scope & world.cells_of_box(layout.shown) & ~expected.get(("not-needed", frozenset()), 0)
    for line in lines:
        cells = left & world.cells_of_box(line.box)
        says = said(world.outcome(line.outcome))
        if cells & ~expected.get(says, 0):
            yield f"{where}: a line says {says} for {world.shown(cells & ~expected.get(says, 0))}"
        left &= ~cells
    for band in bands:
        for column in layout.columns:
            cell = world.cells_of_box(charts.cell_box(layout, band, 1 << column))
            held = outcomes.within(decision, charts.cell_box(layout, band, 1 << column))
            for outcome, boxes in held:
                says = said(world.outcome(outcome))
                shown = sum(world.cells_of_box(box) for box in boxes)
                if shown & ~cell or shown & world.regions.scope & ~expected.get(says, 0):
                    yield f"{where}: a cell says {says} for {world.shown(shown)}"
                left &= ~shown
            if len(held) == 1:
                says = said(world.outcome(held[0][0]))
                cells = left & world.cells_of_box(charts.placed(layout, layout.shown, band, 1 << column))
                if cells & ~expected.get(says, 0):
                    yield f"{where}: follows a cell that says {says} for {world.shown(cells)}"
                left &= ~cells
    if left:
        yield f"{where}: nothing for {world.shown(left)}"


AREAS = {"findings": findings, "later_days": later_days, "advice": advice, "tables": tables, "chart": chart}


def disagreements(world: World) -> Iterator[str]:
    """All of them."""
    for area in AREAS.values():
        yield from area(world)
