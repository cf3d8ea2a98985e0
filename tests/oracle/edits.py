"""Random edits of a protocol in plain data: what a practice changes from one edition to the next.

An edit may leave the protocol unsound (a range that now holds nothing); who makes a version of it asks for that. Each
edit takes the protocol and a source of choices, and does nothing where it does not apply.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from fractions import Fraction
from math import gcd, lcm
from random import Random

from tests.oracle.notation import SIZES, as_list, decimal, limits_of, number, thresholds
from tests.oracle.versions import Plain, whens_of, with_names

Edit = Callable[[Plain, Random], None]

OTHER_UNITS = {"mm": "um", "um": "mm", "a": "mo", "mo": "a", "N": "kN", "kN": "N", "min": "s", "s": "min"}
SIGNS = {"above": "at_least", "at_least": "above", "below": "at_most", "at_most": "below"}


def another(plain: Plain, seed: int, kinds: list[Edit] | None = None) -> Plain:
    """The protocol after some random edits."""
    random = Random(f"edits {seed}")
    found = copy.deepcopy(plain)
    for _ in range(random.choice([1, 1, 2, 4, 8])):
        random.choice(kinds or EDITS)(found, random)
    return found


# --- rules ------------------------------------------------------------------------------------------------------------


def any_rule(plain: Plain, random: Random) -> Plain:
    found: Plain = random.choice(list(plain["rules"].values()))
    return found


def bounds_of(plain: Plain) -> Iterator[tuple[str, dict[str, str]]]:
    """Every range that a rule states, with the name of its factor."""
    for rule in plain["rules"].values():
        for when in as_list(rule.get("when") or {}):
            for name, condition in when.items():
                if plain["protocol"]["factors"][name]["kind"] == "quantity":
                    yield from ((name, bounds) for bounds in as_list(condition))


def other_when(plain: Plain, random: Random) -> None:
    """A rule holds where another one does."""
    when = copy.deepcopy(any_rule(plain, random).get("when", {}))
    any_rule(plain, random)["when"] = when


def other_threshold(plain: Plain, random: Random) -> None:
    """An end of a range is moved."""
    if not (known := list(bounds_of(plain))):
        return
    name, bounds = random.choice(known)
    factor = plain["protocol"]["factors"][name]
    low, high = limits_of(factor)
    points = sorted({low, high, *thresholds(name, factor["unit"], whens_of(plain))})
    step = number(factor["step"], factor["unit"]) if "step" in factor else None
    fresh = random.choice(points)
    if random.random() < 0.5:
        fresh = (random.choice(points) + random.choice(points)) / 2
        fresh = fresh // step * step if step else fresh
    if (fresh * 10**12).denominator == 1:
        bounds[random.choice(list(bounds))] = f"{decimal(fresh)} {factor['unit']}"


def other_sign(plain: Plain, random: Random) -> None:
    """An end of a range that was within is without, or the reverse."""
    known = [bounds for _, bounds in bounds_of(plain) if set(bounds) & set(SIGNS)]
    if known:
        bounds = random.choice(known)
        key = random.choice(sorted(set(bounds) & set(SIGNS)))
        bounds[SIGNS[key]] = bounds.pop(key)


def other_agent(plain: Plain, random: Random) -> None:
    """A rule advises another agent of the same sort."""
    answers = [a for rule in plain["rules"].values() for a in rule.get("advise", {}).values()
               if isinstance(a, dict) and "agent" in a]  # fmt: skip
    agents = plain["materials"]["agents"]
    if answers:
        answer = random.choice(answers)
        alike = [n for n, agent in agents.items() if agent["class"] == agents[answer["agent"]]["class"]]
        answer["agent"] = random.choice(alike)


def other_answer(plain: Plain, random: Random) -> None:
    """A rule advises what another one does."""
    rules = [rule for rule in plain["rules"].values() if rule.get("advise")]
    if rules:
        first, second = random.choice(rules), random.choice(rules)
        for decision in sorted({*first["advise"]} & {*second["advise"]}):
            first["advise"][decision] = copy.deepcopy(second["advise"][decision])


def rule_added(plain: Plain, random: Random) -> None:
    rule = copy.deepcopy(any_rule(plain, random))
    rule["when"] = copy.deepcopy(any_rule(plain, random).get("when", {}))
    plain["rules"][f"added-{len(plain['rules'])}"] = rule


def rule_removed(plain: Plain, random: Random) -> None:
    """A rule goes, and with it what names it."""
    if len(plain["rules"]) > 1:
        name = random.choice(list(plain["rules"]))
        del plain["rules"][name]
        without_overrides_of(plain)


def without_overrides_of(plain: Plain) -> None:
    """No rule overrides one that is not there."""
    for rule in plain["rules"].values():
        kept = [other for other in rule.pop("overrides", []) if other in plain["rules"]]
        if kept:
            rule["overrides"] = kept


def rule_split(plain: Plain, random: Random) -> None:
    """Two rules for two values in place of one for both."""
    choices = [name for name, f in plain["protocol"]["factors"].items() if f["kind"] == "choice"]
    name = random.choice(list(plain["rules"]))
    rule = plain["rules"][name]
    if not choices or not isinstance(rule.get("when"), dict):
        return
    factor = random.choice(choices)
    values = list(plain["protocol"]["factors"][factor]["values"])
    if factor in rule["when"] or len(values) < 2:
        return
    del plain["rules"][name]
    parts = {f"{name}-1": values[:1], f"{name}-2": values[1:]}
    for part, some in parts.items():
        plain["rules"][part] = {**copy.deepcopy(rule), "when": {**copy.deepcopy(rule["when"]), factor: some}}
    for other in plain["rules"].values():
        if name in other.get("overrides", []):
            other["overrides"] = [o for o in other["overrides"] if o != name] + list(parts)


def rule_renamed(plain: Plain, random: Random) -> None:
    renamed(plain, "rule", random.choice(list(plain["rules"])))


def override_added(plain: Plain, random: Random) -> None:
    """A rule overrides another; where it closes a circle the protocol is unsound."""
    if len(plain["rules"]) > 1:
        first, second = random.sample(list(plain["rules"]), 2)
        rule = plain["rules"][first]
        rule["overrides"] = sorted({*rule.get("overrides", []), second})


def override_removed(plain: Plain, random: Random) -> None:
    if overriding := [rule for rule in plain["rules"].values() if rule.get("overrides")]:
        del random.choice(overriding)["overrides"]


def warning_added(plain: Plain, random: Random) -> None:
    """A rule says to avoid what another one advises."""
    advising = [(d, a) for rule in plain["rules"].values() for d, a in rule.get("advise", {}).items()]
    decision, answer = random.choice(advising) if advising else ("", None)
    if isinstance(answer, dict) and "agent" in answer:
        any_rule(plain, random).setdefault(random.choice(["avoid", "never"]), {})[decision] = [answer["agent"]]


def warning_removed(plain: Plain, random: Random) -> None:
    rule = any_rule(plain, random)
    for key in ("avoid", "never"):
        if key in rule and ({"advise", "avoid", "never"} & set(rule)) != {key}:
            del rule[key]
            return


def rule_ended(plain: Plain, random: Random) -> None:
    any_rule(plain, random)["valid"] = {"until": "2026-11-24"}


# --- factors ----------------------------------------------------------------------------------------------------------


def quantities(plain: Plain) -> list[str]:
    return [name for name, factor in plain["protocol"]["factors"].items() if factor["kind"] == "quantity"]


def choices(plain: Plain) -> list[str]:
    return [name for name, factor in plain["protocol"]["factors"].items() if factor["kind"] == "choice"]


def value_added(plain: Plain, random: Random) -> None:
    if names := choices(plain):
        values = plain["protocol"]["factors"][random.choice(names)]["values"]
        values[f"added-{len(values)}"] = f"Added {len(values)}"


def value_removed(plain: Plain, random: Random) -> None:
    """A value goes; conditions that named nothing else name another one."""
    names = [name for name in choices(plain) if len(plain["protocol"]["factors"][name]["values"]) > 1]
    if not names:
        return
    name = random.choice(names)
    values = plain["protocol"]["factors"][name]["values"]
    gone = random.choice(list(values))
    del values[gone]
    for when in whens_of(plain):
        for mapping in as_list(when or {}):
            if name in mapping:
                named = mapping[name]
                inner = as_list(named["not"] if isinstance(named, dict) else named)
                kept = [value for value in inner if value != gone] or [next(iter(values))]
                mapping[name] = {"not": kept} if isinstance(named, dict) else kept


def value_renamed(plain: Plain, random: Random) -> None:
    if names := choices(plain):
        name = random.choice(names)
        renamed(plain, "value", random.choice(list(plain["protocol"]["factors"][name]["values"])), name)


def factor_added(plain: Plain, random: Random) -> None:
    name = f"added-{len(plain['protocol']['factors'])}"
    plain["protocol"]["factors"][name] = {"label": "Added", "kind": "yes-no"}
    rule = any_rule(plain, random)
    rule["when"] = [{**when, name: "yes"} for when in as_list(rule.get("when") or {}) or [{}]]


def factor_removed(plain: Plain, random: Random) -> None:
    factors = plain["protocol"]["factors"]
    if len(factors) > 1:
        name = random.choice(list(factors))
        del factors[name]
        for when in whens_of(plain):
            for mapping in as_list(when or {}):
                mapping.pop(name, None)


def factor_renamed(plain: Plain, random: Random) -> None:
    renamed(plain, "factor", random.choice(list(plain["protocol"]["factors"])))


def factor_moved(plain: Plain, random: Random) -> None:
    factors = plain["protocol"]["factors"]
    name = random.choice(list(factors))
    factors[name] = factors.pop(name)


def other_kind(plain: Plain, random: Random) -> None:
    """A question of yes or no becomes a choice of the same names: another factor."""
    asked = [factor for factor in plain["protocol"]["factors"].values() if factor["kind"] == "yes-no"]
    if asked:
        factor = random.choice(asked)
        factor |= {"kind": "choice", "values": {"yes": "Yes", "no": "No"}}


def other_limits(plain: Plain, random: Random) -> None:
    """A quantity goes further, or less far."""
    if not (names := quantities(plain)):
        return
    name = random.choice(names)
    factor = plain["protocol"]["factors"][name]
    low, high = limits_of(factor)
    points = sorted(thresholds(name, factor["unit"], whens_of(plain)) - {low, high})
    step = number(factor["step"], factor["unit"]) if "step" in factor else Fraction(1)
    fresh = random.choice([high + 2 * step, high + step, *points[-1:]])
    factor["at_most"] = f"{decimal(fresh)} {factor['unit']}"


def other_step(plain: Plain, random: Random) -> None:
    """A quantity gets a step, loses it, or gets a finer or a coarser one."""
    if not (names := quantities(plain)):
        return
    name = random.choice(names)
    factor = plain["protocol"]["factors"][name]
    unit = factor["unit"]
    numbers = [*limits_of(factor), *thresholds(name, unit, whens_of(plain))]
    whole = lcm(*(value.denominator for value in numbers))
    coarsest = Fraction(gcd(*(int(value * whole) for value in numbers)), whole)
    options = [coarsest, coarsest / 2, None] if "step" in factor else [coarsest, coarsest / 2]
    fresh = random.choice(options)
    factor.pop("step", None)
    if fresh:
        factor["step"] = f"{decimal(fresh)} {unit}"


def other_unit(plain: Plain, random: Random) -> None:
    names = [n for n in quantities(plain) if plain["protocol"]["factors"][n]["unit"] in OTHER_UNITS]
    if names:
        factor = plain["protocol"]["factors"][random.choice(names)]
        factor["unit"] = OTHER_UNITS[factor["unit"]]
        assert factor["unit"] in SIZES


# --- frame ------------------------------------------------------------------------------------------------------------


def excluded_added(plain: Plain, random: Random) -> None:
    when = copy.deepcopy(any_rule(plain, random).get("when") or {})
    plain["protocol"]["excluded"].append({"when": when, "because": "Added."})


def excluded_removed(plain: Plain, random: Random) -> None:
    if excluded := plain["protocol"]["excluded"]:
        excluded.pop(random.randrange(len(excluded)))


def together_added(plain: Plain, random: Random) -> None:
    """Two agents that are advised do not go together."""
    found: dict[str, list[str]] = {}
    for rule in plain["rules"].values():
        for decision, answer in rule.get("advise", {}).items():
            if isinstance(answer, dict) and "agent" in answer:
                found.setdefault(decision, []).append(answer["agent"])
    if len(found) > 1:
        first, second = random.sample(sorted(found), 2)
        entry = {"with": {first: sorted(set(found[first]))}, "forbid": {second: sorted(set(found[second]))}}
        plain["materials"]["together"].append({**entry, "because": "Added."})


def together_removed(plain: Plain, random: Random) -> None:
    if together := plain["materials"]["together"]:
        together.pop(random.randrange(len(together)))


def other_needed(plain: Plain, random: Random) -> None:
    """A decision waits for an answer to the one before it, or for none any more."""
    decisions = list(plain["protocol"]["decisions"].items())
    at = random.randrange(len(decisions))
    _, decision = decisions[at]
    if decision.pop("needed_when", None) is None and at:
        earlier, before = decisions[random.randrange(at)]
        wanted = list(before["answers"]) if "answers" in before else ["none"]
        decision["needed_when"] = {earlier: [random.choice(wanted)]}


def decision_added(plain: Plain, random: Random) -> None:
    name = f"added-{len(plain['protocol']['decisions'])}"
    plain["protocol"]["decisions"][name] = {"label": "Added", "answers": {"do": "Do", "wait": "Wait"}}
    any_rule(plain, random).setdefault("advise", {})[name] = random.choice(["do", "wait"])


def decision_removed(plain: Plain, random: Random) -> None:
    """A decision goes, with all that speaks of it."""
    decisions = plain["protocol"]["decisions"]
    if len(decisions) == 1:
        return
    gone = random.choice(list(decisions))
    del decisions[gone]
    for decision in decisions.values():
        if gone in decision.get("needed_when", {}):
            del decision["needed_when"]
    plain["materials"]["together"] = [
        entry for entry in plain["materials"]["together"]
        if not any(gone in entry.get(key, {}) for key in ("with", "require", "forbid"))
    ]  # fmt: skip
    for name, rule in list(plain["rules"].items()):
        for key in ("advise", "avoid", "never"):
            if gone in rule.get(key, {}):
                del rule[key][gone]
                if not rule[key]:
                    del rule[key]
        for answer in rule.get("advise", {}).values():
            if isinstance(answer, dict):
                for key in [k for k in ("before", "after") if answer.get(k) == gone]:
                    del answer[key]
        if not {"advise", "avoid", "never"} & set(rule):
            del plain["rules"][name]
    without_overrides_of(plain)


def decision_renamed(plain: Plain, random: Random) -> None:
    renamed(plain, "decision", random.choice(list(plain["protocol"]["decisions"])))


def answer_renamed(plain: Plain, random: Random) -> None:
    decisions = plain["protocol"]["decisions"]
    if names := [name for name, decision in decisions.items() if "answers" in decision]:
        name = random.choice(names)
        renamed(plain, "answer", random.choice(list(decisions[name]["answers"])), name)


def agent_renamed(plain: Plain, random: Random) -> None:
    if agents := list(plain["materials"]["agents"]):
        renamed(plain, "agent", random.choice(agents))


def other_place(plain: Plain, random: Random) -> None:
    """The most that an agent covers is another."""
    if places := list(plain["materials"].get("places", {})):
        agent = random.choice(list(plain["materials"]["agents"].values()))
        agent["place"] = random.choice(places)


def renamed(plain: Plain, kind: str, name: str, within: str = "") -> None:
    fresh = with_names(plain, [{"kind": kind, "before": name, "after": f"{name}-anew", "of": within}])
    plain.clear()
    plain.update(fresh)


RENAMING: list[Edit] = [
    rule_renamed, value_renamed, factor_renamed, decision_renamed, answer_renamed, agent_renamed,
]  # fmt: skip

EDITS: list[Edit] = [
    other_when, other_when, other_threshold, other_threshold, other_threshold, other_sign, other_sign, other_sign,
    other_agent, other_agent, other_answer, other_answer, rule_added, rule_removed, rule_split, override_added,
    override_removed, warning_added, warning_removed, rule_ended, value_added, value_removed, factor_added,
    factor_removed, factor_moved, other_kind, other_limits, other_limits, other_step, other_step, other_unit,
    other_unit, excluded_added, excluded_removed, together_added, together_removed, other_needed, decision_added,
    decision_removed, other_place, *RENAMING,
]  # fmt: skip
