"""A bundle that nobody can have built is no bundle, though its digest is right."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.digest import digest_of
from liningbook.exchange.bundle import bundle_of
from liningbook.exchange.from_bundle import NotABundle, read_bundle
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
