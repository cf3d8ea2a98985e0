"""What reaches the pulp against brute force: random protocols with random materials, every case looked at.

`tests/oracle/irritants.py` works out of the contract alone which irritants are brought, what dentine and layers stop, and
where thinner dentine loses a layer's protection. Regions are compared exactly; boxes must be disjoint and the witness
inside. A failure names the seed.
"""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.oracle.irritants import KINDS, differences, with_some_beyond
from tests.oracle.materials import GuardedWorld, guarded, guarded_world, protocol_with_materials

FIRST = int(os.environ.get("LAWS_FIRST", "0"))
COUNT = int(os.environ.get("LAWS_COUNT", "300"))
SEEDS = range(FIRST, FIRST + COUNT)


@pytest.fixture(scope="module", params=SEEDS)
def world(request: pytest.FixtureRequest) -> Iterator[GuardedWorld]:
    with tempfile.TemporaryDirectory() as folder:
        yield guarded_world(str(request.param), protocol_with_materials(request.param), Path(folder))


@pytest.mark.parametrize("kind", KINDS)
def test_findings_about_materials_are_those_of_every_case_looked_at(world: GuardedWorld, kind: str) -> None:
    assert list(differences(world, kind, world.of_materials, world.expected)) == []
