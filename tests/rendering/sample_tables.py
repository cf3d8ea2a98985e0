"""Study tables of invented studies: usual ones, and such as a plot must bear."""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

from liningbook.control.weighed import WeighedTable, weigh
from liningbook.evidence.table import Counts, Judgement, Means, OutcomeTable, Reported, Searched, Study, StudyTable
from liningbook.finding import Span
from liningbook.show.views.evidence.evidence_view import EvidenceWords
from liningbook.show.views.evidence.forest import Forest
from liningbook.show.views.evidence.tables import EvidenceTable
from liningbook.sources.citations.reference_entry import Reference

HERE = Span("evidence/sample.yaml", 1, 1, 1, 2)
NAMES = ("Marlow", "Ash", "Bell", "Dunn", "Hale", "Pike", "Reed", "Swann", "Teal", "Wren")


def counts(key: str, treated: tuple[int, int], comparator: tuple[int, int], year: int | None = None) -> Study:
    """A study that counted events."""
    return Study(key, HERE, Counts(*treated), Counts(*comparator), year=year)


def means(key: str, treated: tuple[str, str, int], comparator: tuple[str, str, int]) -> Study:
    """A study that measured."""
    (mean, deviation, number), (other, spread, people) = treated, comparator
    return Study(
        key,
        HERE,
        Means(Fraction(mean), Fraction(deviation), number),
        Means(Fraction(other), Fraction(spread), people),
    )


def reported(key: str, estimate: str, low: str, high: str) -> Study:
    """A study of which the effect alone is known."""
    return Study(key, HERE, reported=Reported(Fraction(estimate), Fraction(low), Fraction(high)))


def outcome(studies: tuple[Study, ...], **changes: Any) -> OutcomeTable:
    """An outcome of these studies; keyword arguments replace what is usual."""
    usual: dict[str, Any] = {
        "id": "pulp-necrosis",
        "label": "Pulp necrosis within two years",
        "kind": "harm",
        "importance": 8,
        "measure": "risk-ratio",
        "design": "randomised",
        "certainty": "moderate",
        "lowered": {
            "imprecision": Judgement(1, "Few teeth lost their pulp, and one trial carries most of the weight.", HERE)
        },
    }
    return OutcomeTable(span=HERE, studies=studies, **(usual | changes))


NECROSIS = outcome(
    (
        counts("marlow2019", (5, 156), (8, 74)),
        counts("ash2020", (4, 92), (11, 95)),
        counts("bell2021", (0, 40), (2, 41)),
        counts("dunn2022", (0, 30), (0, 31)),
        counts("hale2023", (9, 210), (14, 204)),
        counts("pike2024", (3, 61), (3, 58)),
    ),
    comparator_risk=Fraction(12, 100),
)
SENSITIVITY = outcome(
    (
        means("marlow2019", ("1.2", "0.9", 150), ("1.9", "1.1", 71)),
        means("ash2020", ("0.8", "0.7", 88), ("1.1", "0.8", 90)),
        means("reed2018", ("2.4", "1.6", 25), ("2.2", "1.4", 24)),
    ),
    id="sensitivity",
    label="Sensitivity to cold after a week",
    importance=5,
    measure="mean-difference",
    unit="cm",
    threshold=Fraction(-1),
    certainty="low",
    lowered={
        "inconsistency": Judgement(1, "The trials do not agree on how much.", HERE),
        "risk-of-bias": Judgement(1, "Nobody was blinded in two of three.", HERE),
        "indirectness": Judgement(0, "All were patients of general practices.", HERE),
    },
)
VITALITY = outcome(
    (
        reported("teal2017", "1.08", "0.98", "1.19"),
        counts("swann2021", (88, 102), (79, 101)),
        counts("wren2022", (51, 60), (50, 61)),
    ),
    id="vitality",
    label="Tooth still vital after five years",
    kind="benefit",
    importance=7,
    certainty="high",
    lowered={},
)
HARM = outcome(
    (counts("ash2020", (0, 92), (0, 95)), counts("bell2021", (0, 40), (0, 41))),
    id="allergy",
    label="Allergic reaction",
    importance=6,
    certainty="",
    lowered={},
    design="",
)

TABLE = StudyTable(
    "liner-in-deep-cavities",
    HERE.file,
    HERE,
    "Adults with a deep carious cavity and a vital pulp",
    "calcium hydroxide liner",
    "no liner",
    {one.id: one for one in (NECROSIS, SENSITIVITY, VITALITY, HARM)},
    Searched(("PubMed", "two trial registers"), "2026-05-01", "Trials in any language."),
)


def extreme() -> OutcomeTable:
    """Intervals that leave the axis, a long name, a study of great weight."""
    return outcome(
        (
            reported("longname2020", "0.9", "0.85", "0.95"),
            reported("bell2021", "0.5", "0.0004", "600"),
            reported("dunn2022", "4000", "20", "800000"),
            reported("hale2023", "0.99", "0.7", "1.4"),
        ),
        id="extreme",
        label="Any complication",
        threshold=Fraction(3, 4),
    )


def many(number: int = 60) -> OutcomeTable:
    """So many studies."""
    chance = random.Random(7)
    found = []
    for place in range(number):
        people = chance.randrange(20, 300)
        found.append(
            counts(
                f"{NAMES[place % 10].lower()}{1990 + place // 10}-{place}",
                (chance.randrange(1, people // 4), people),
                (chance.randrange(1, people // 3), people),
                1990 + place // 2,
            )
        )
    return outcome(tuple(found), id="many")


def references() -> dict[str, Reference]:
    """The reference list of all of them."""
    found = {}
    tables = (NECROSIS, SENSITIVITY, VITALITY, HARM, extreme(), many())
    for key in dict.fromkeys(one.study for table in tables for one in table.studies):
        family = key.rstrip("0123456789-").capitalize()
        if key == "longname2020":
            family = "Abernathy-Featherstonehaugh and the Working Group on Deep Cavities of the Northern Practices"
        year = int("".join(filter(str.isdigit, key.split("-")[0])))
        found[key] = Reference(key, {"author": [{"family": family}], "issued": {"date-parts": [[year]]}}, HERE)
    return found


def weighed_table(table: StudyTable = TABLE) -> WeighedTable:
    """The table with all that is computed of it."""
    return WeighedTable(table, {name: weigh(one) for name, one in table.outcomes.items()})


def table_view(table: StudyTable = TABLE, number: int = 1) -> EvidenceTable:
    """The table in words; `number` is its number among the tables."""
    known = references()
    numbers = {key: number for number, key in enumerate(known, 1)}
    return EvidenceWords(known, numbers).table(weighed_table(table), number)


def forest(
    one: OutcomeTable = NECROSIS, intervention: str = "calcium hydroxide liner", comparator: str = "no liner"
) -> Forest:
    """The plot of one outcome."""
    table = StudyTable("sample", HERE.file, HERE, "Adults", intervention, comparator, {one.id: one})
    found = table_view(table).outcomes[0].forest
    assert found is not None
    return found
