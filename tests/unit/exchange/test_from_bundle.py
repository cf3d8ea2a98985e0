"""A bundle that nobody can have built is no bundle, though its digest is right."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.compare import natures
from liningbook.digest import digest_of
from liningbook.exchange.bundle import bundle_of
from liningbook.exchange.from_bundle import NotABundle, read_bundle, sources_of
from liningbook.exchange.versions import read_version

DAY = date(2026, 11, 25)
DEMONSTRATION = Path(__file__).resolve().parents[3] / "guidelines" / "tern-street"


@pytest.fixture(scope="module")
def built() -> dict[str, Any]:
    return bundle_of(understand(DEMONSTRATION, DAY))


def crafted(built: dict[str, Any], change: Callable[[dict[str, Any]], None]) -> bytes:
    """A bundle with something else in it and the digest of that."""
    bundle = json.loads(json.dumps(built))
    change(bundle)
    return json.dumps({**bundle, "digest": digest_of(bundle)}).encode()


@pytest.mark.parametrize("name", ["README", "_later", ".x", "a/b", "../a", "Ä", "a--b", "a\n"])
def test_a_rule_with_a_name_that_no_source_has_is_refused(name: str, built: dict[str, Any]) -> None:
    def rename(bundle: dict[str, Any]) -> None:
        bundle["rules"][0]["id"] = name

    with pytest.raises(NotABundle, match="is damaged at rules/0/id"):
        read_bundle(crafted(built, rename), "old.json")


@pytest.mark.parametrize("table", ["factors", "decisions", "agents", "irritants", "places", "rules"])
def test_two_entries_of_one_name_are_refused(table: str, built: dict[str, Any]) -> None:
    def double(bundle: dict[str, Any]) -> None:
        bundle[table].append(bundle[table][0])

    last = len(built[table])
    with pytest.raises(NotABundle, match=f"is damaged at {table}/{last}/id"):
        read_bundle(crafted(built, double), "old.json")


def test_two_values_of_one_name_are_refused(built: dict[str, Any]) -> None:
    at = next(n for n, factor in enumerate(built["factors"]) if factor["kind"] == "choice")

    def double(bundle: dict[str, Any]) -> None:
        values = bundle["factors"][at]["values"]
        values.append({**values[0], "label": "Something else"})

    with pytest.raises(NotABundle, match=f"is damaged at factors/{at}/values/"):
        read_bundle(crafted(built, double), "old.json")


def test_a_bundle_from_before_a_protocol_needed_cautions_of_its_own_is_read(
    built: dict[str, Any], tmp_path: Path
) -> None:
    def forget(bundle: dict[str, Any]) -> None:
        own = read_version(str(DEMONSTRATION), DAY).protocol.cautions
        bundle["protocol"]["cautions"] = [text for text in bundle["protocol"]["cautions"] if text not in own]

    (tmp_path / "old.json").write_bytes(crafted(built, forget))
    assert read_version(str(tmp_path / "old.json"), DAY).protocol.rules


@pytest.mark.parametrize(
    ("first", "last"), [("2030-13-01", None), ("0000-01-01", None), (None, "2026-02-30"), ("2027-01-02", "2027-01-01")]
)
def test_days_that_cannot_be_are_refused(first: str | None, last: str | None, built: dict[str, Any]) -> None:
    def other_days(bundle: dict[str, Any]) -> None:
        bundle["holds"] = {"from": first, "until": last}

    with pytest.raises(NotABundle, match="is damaged at holds"):
        read_bundle(crafted(built, other_days), "old.json")


def test_a_key_that_stands_twice_is_refused(built: dict[str, Any]) -> None:
    text = json.dumps(built).encode()
    assert read_bundle(text, "old.json")["digest"] == built["digest"]
    with pytest.raises(NotABundle, match="is not JSON"):
        read_bundle(b'{"draft": true, ' + text[1:], "old.json")


def test_what_is_judged_of_a_rule_is_in_the_bundle_and_comes_back(built: dict[str, Any], tmp_path: Path) -> None:
    """The sentences of judgements, a situation and the five answers: the demonstration has each of them."""
    said = [rule["evidence"] for rule in built["rules"]]
    for field in ("judged", "setting", "situation", "good_practice"):
        assert any(field in evidence for evidence in said)
    path = tmp_path / "bundle.json"
    path.write_text(json.dumps(built), encoding="utf-8")
    old, new = read_version(str(path), DAY).protocol, understand(DEMONSTRATION, DAY).protocol
    assert old is not None
    assert new is not None
    for name, rule in new.rules.items():
        before = old.rules[name].evidence
        assert {key: (one.level, one.because) for key, one in before.judged.items()} == {
            key: (one.level, one.because) for key, one in rule.evidence.judged.items()
        }
        assert before.good_practice == rule.evidence.good_practice
        assert natures.situation_of(before) == natures.situation_of(rule.evidence)
        assert before.setting == rule.evidence.setting


def test_three_levels_for_risk_of_bias_come_back_with_their_tool(built: dict[str, Any]) -> None:
    def robins(bundle: dict[str, Any]) -> None:
        evidence = next(
            rule["evidence"] for rule in bundle["rules"] if "risk-of-bias" in rule["evidence"].get("lowered", {})
        )
        evidence |= {"risk_of_bias_tool": "robins-i", "design": "observational", "certainty": "very-low"}
        evidence["lowered"] = {"risk-of-bias": 3}
        evidence["judged"] = {"risk-of-bias": "Chosen by the dentist."}
        bundle["protocol"]["rating_up"] = "arithmetic-2004"

    sources = sources_of(read_bundle(crafted(built, robins), "old.json"), DAY)
    rule = next(text for text in sources.values() if "robins-i" in text)
    assert '"risk-of-bias": {"level": 3, "because": "Chosen by the dentist."}' in rule
    assert "arithmetic-2004" in sources["protocol.yaml"]
