"""Values judged by eye: the advice is that at the value, and it is said exactly where it could be another.

Random protocols and cases, of which every value within the uncertainty is looked at, with nothing of the engine.
"""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from liningbook.cases.question import answer, put
from liningbook.cli import main
from liningbook.show.terminal.reply import reply_json
from tests import seeds
from tests.oracle.folder import write_folder
from tests.oracle.generate import Source, random_case, random_protocol
from tests.oracle.grid import axis_of
from tests.oracle.notation import decimal, limits_of, number, step_of
from tests.oracle.readings import Band, Said, in_band, read_band, said
from tests.oracle.world import World

SEEDS = seeds.window(0, 200, 10)
CASES = 30


def with_judged(plain: dict[str, Any], source: Source) -> dict[str, Any]:
    """The protocol with some quantities judged by eye, on the step and off it."""
    for factor in plain["protocol"]["factors"].values():
        if factor["kind"] == "quantity" and source.is_so(70):
            low, high = limits_of(factor)
            within = (high - low) * Fraction(source.one(["0.01", "0.05", "0.1", "0.3"]))
            side = source.one(["below", "above"])
            factor["judged"] = {"uncertainty": f"{decimal(within)} {factor['unit']}", "cautious": side}
    return plain


def band_of(factor: dict[str, Any], value: Fraction) -> Band:
    """Within the uncertainty of a value, short of the limits, unless it is one itself. With a step, whole multiples."""
    (low, high), step = limits_of(factor), step_of(factor)
    within = number(factor["judged"]["uncertainty"], factor["unit"])
    if step is not None:
        count = within // step
        first, last = max(value - count * step, low + step), min(value + count * step, high - step)
        return min(first, value), True, max(last, value), True
    first, last = value - within, value + within
    return max(first, low), first > low or value == low, min(last, high), last < high or value == high


@pytest.mark.parametrize("seed", SEEDS)
def test_it_is_said_exactly_where_another_value_within_the_uncertainty_gets_other_advice(seed: int) -> None:
    source = Source(seed)
    plain = with_judged(random_protocol(seed, 3000), source)
    with tempfile.TemporaryDirectory() as folder:
        world = World(str(seed), plain, write_folder(plain, Path(folder)))
        meaning = world.meaning
    whens = world.brute._all_whens
    for _ in range(CASES):
        given = random_case(source, world.brute.grid())
        texts = {name: world.text(name, value) for name, value in given.items()}
        reply = reply_json(meaning.protocol, answer(meaning, put(meaning, texts)))
        advice = world.brute.advise(given)
        bands = {name: band_of(factor, given[name]) for name, factor in world.factors.items() if "judged" in factor}
        choices = [
            [v for v in axis_of(name, world.factors[name], whens, bands[name][::2]) if in_band(bands[name], v)]
            if name in bands
            else [given[name]]
            for name in given
        ]
        otherwise: dict[str, set[Said]] = {}
        leaves = False
        for values in product(*choices):
            other = world.brute.advise(dict(zip(given, values, strict=True)))
            leaves |= advice.in_scope and not other.in_scope
            for decision in other.states:
                if not advice.in_scope or said(other, decision) != said(advice, decision):
                    otherwise.setdefault(decision, set()).add(said(other, decision))
        assert reply["in_scope"] == advice.in_scope
        assert ("near" in reply) == bool(otherwise or leaves), texts
        assert "borderline" not in reply
        for name, near in reply.get("near", {}).items():
            factor = world.factors[name]
            assert read_band(factor, near["range"]) == bands[name], texts
            assert near["cautious"] == factor["judged"]["cautious"]
            got = {
                decision: {
                    (state, frozenset(m for m, _ in answers)) for state, answers, _ in map(world.outcome_of_json, some)
                }
                for decision, some in near["otherwise"].items()
            }
            assert got == otherwise, texts
            assert ("otherwise_not_covered" in near) == leaves


def test_the_random_cases_are_of_every_sort() -> None:
    tally: Counter[str] = Counter()
    for seed in range(30):
        source = Source(seed)
        plain = with_judged(random_protocol(seed, 3000), source)
        with tempfile.TemporaryDirectory() as folder:
            meaning = World(str(seed), plain, write_folder(plain, Path(folder))).meaning
        world = World(str(seed), plain, Path(folder))
        for _ in range(CASES):
            given = random_case(source, world.brute.grid())
            question = put(meaning, {name: world.text(name, value) for name, value in given.items()})
            near = reply_json(meaning.protocol, answer(meaning, question)).get("near", {})
            tally["near" if near else "not near"] += 1
            tally["two"] += len(near) > 1
            tally["outside"] += any("otherwise_not_covered" in one for one in near.values())
            tally["at a limit"] += any(given[name] in limits_of(world.factors[name]) for name in near)
    assert min(tally[sort] for sort in ("near", "not near", "two", "outside", "at a limit")) >= 5, tally


# --- by hand ----------------------------------------------------------------------------------------------------------

JUDGED = "    judged: {uncertainty: 0.3 mm, cautious: below}\n"
CASE = ["exposed=no", "pulp=normal", "restoration=amalgam", "metal-contact=no", "amalgam-restricted=no"]
CASE += [f"{name}=no" for name in ("methacrylate-allergy", "eugenol-allergy", "rosin-allergy", "amalgam-metal-allergy")]


@pytest.fixture
def judged(repository: Path, tmp_path: Path) -> Path:
    """The demonstration with a thickness that is judged by eye."""
    import shutil

    folder = shutil.copytree(repository / "guidelines" / "tern-street", tmp_path / "judged")
    place = folder / "protocol.yaml"
    text = place.read_text("utf-8")
    assert not re.search(r"\bjudged:", text)
    place.write_text(text.replace("    at_most: 6 mm\n", "    at_most: 6 mm\n" + JUDGED, 1), "utf-8")
    return folder


def text_of(judged: Path, capsys: pytest.CaptureFixture[str], *given: str) -> str:
    assert main(["case", str(judged), "--on", "2026-11-25", *given]) == 0
    return capsys.readouterr().out


def test_near_a_threshold_a_value_is_to_be_looked_at_again(judged: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = text_of(judged, capsys, "rdt=0.6mm", *CASE)
    flat = " ".join(told.split())
    assert (
        "Look again: Remaining dentine thickness, judged by eye as 0.6 mm, is within 0.3 mm of a threshold. "
        "If in doubt, take the smaller value. Within that it could also be: Liner: Hard-setting calcium hydroxide"
        in flat
    )
    assert "Look again" not in text_of(judged, capsys, "rdt=0.81mm", *CASE)
    assert "Look again" in text_of(judged, capsys, "rdt=0.8mm", *CASE)
    assert "judged by eye" not in text_of(judged, capsys, "rdt.reading=1.5mm", *CASE)


def test_with_something_missing_it_is_said_of_what_is_settled(judged: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = [one for one in CASE if not one.startswith("rosin")]
    assert "Look again" in text_of(judged, capsys, "rdt=0.6mm", *given)


@pytest.mark.parametrize(
    ("written", "kind", "said"),
    [
        ("{uncertainty: 0.3, cautious: below}", "unit", ""),
        ("{uncertainty: 0.3 kg, cautious: below}", "unit", ""),
        ("{uncertainty: 0 mm, cautious: below}", "out-of-limits", "Write how far off it may be, for example `0.3 mm`"),
        ("{uncertainty: -0.1 mm, cautious: below}", "out-of-limits", "leave `judged` out"),
        ("{uncertainty: 0.3 mm}", "schema", "cautious"),
        ("{cautious: below}", "schema", "uncertainty"),
        ("{uncertainty: 0.3 mm, cautious: left}", "schema", "above"),
        ("{uncertainty: 0.3 mm, cautious: below, guard_band: 1}", "schema", "guard_band"),
    ],
)
def test_a_judged_that_cannot_be_is_told_with_a_remedy(
    written: str, kind: str, said: str, judged: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = judged / "protocol.yaml"
    text = place.read_text("utf-8")
    place.write_text(text.replace("{uncertainty: 0.3 mm, cautious: below}", written), "utf-8")
    assert main(["check", str(judged), "--on", "2026-11-25"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert f"({kind})" in told
    assert said in told, told


def test_only_a_quantity_can_be_judged(judged: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = judged / "protocol.yaml"
    text = place.read_text("utf-8")
    place.write_text(text.replace("    label: Pulp exposed\n", "    label: Pulp exposed\n" + JUDGED), "utf-8")
    assert main(["check", str(judged), "--on", "2026-11-25"]) == 1
    assert "`judged` is only for a factor of kind quantity" in " ".join(capsys.readouterr().out.split())
