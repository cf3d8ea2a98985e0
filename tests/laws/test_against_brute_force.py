"""The engine against a brute-force table: on random protocols both say the same of every case.

`tests/oracle` works the contract out case by case; nothing of the engine is used there. A failure names the seed;
`python -m tests.oracle.shrink SEED` makes the protocol small.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.logic import chart as charts
from liningbook.logic.decide import decide
from liningbook.logic.table import table_of
from liningbook.model.build_values import read_value
from liningbook.rendering.report import case_json
from tests.oracle.compare import findings_that_differ
from tests.oracle.generate import Source, quantity_text, random_case, random_protocol
from tests.oracle.world import World, world_of

COUNT = int(os.environ.get("LAWS_COUNT", "500"))
FIRST = int(os.environ.get("LAWS_FIRST", "0"))

CASES = 12
"""How many random cases of each protocol are asked for one by one."""


@pytest.fixture(scope="module", params=range(FIRST, FIRST + COUNT))
def world(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> World:
    seed = request.param
    return world_of(str(seed), random_protocol(seed), tmp_path_factory.mktemp("protocol"))
