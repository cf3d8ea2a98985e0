"""What rests on which work: rules, entries of the materials, and the studies of tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from liningbook.evidence.table import OutcomeTable, Study, StudyTable
from liningbook.model.protocol import Exposure, Pairing, Protocol
from liningbook.model.rule import Name, Rule


@dataclass(frozen=True)
class Cited:
    """One place at which a work is named: by a rule, by an entry of the materials, or as a study of an outcome."""

    name: Name
    rule: Rule | None = None
    entry: tuple[str, int, Pairing | Exposure] | None = None
    study: tuple[StudyTable, OutcomeTable, Study] | None = None


def citations(protocol: Protocol) -> Iterator[Cited]:
    """Every place at which a work is named: rules by their names, then materials, then tables."""
    for rule in protocol.rules.values():
        yield from (Cited(name, rule=rule) for name in rule.evidence.cites)
    for entry in protocol.materials_cite():
        yield from (Cited(name, entry=entry) for name in entry[2].cites)
    for table in protocol.tables.values():
        for outcome in table.outcomes.values():
            for study in outcome.studies:
                yield Cited(Name(study.study, study.places["study"]), study=(table, outcome, study))


@dataclass(frozen=True)
class Resting:
    """What rests on one work. `through` are rules with the names of the tables by which they do."""

    rules: tuple[tuple[Rule, Name], ...] = ()
    through: tuple[tuple[Rule, tuple[Name, ...]], ...] = ()
    entries: tuple[tuple[str, int, Name], ...] = ()
    studies: tuple[tuple[StudyTable, OutcomeTable, Study], ...] = ()

    def __bool__(self) -> bool:
        """Whether anything does."""
        return bool(self.rules or self.through or self.entries or self.studies)

    @property
    def all_rules(self) -> tuple[Rule, ...]:
        """The rules, each once: those that cite it, then those that rest on it by their tables alone."""
        found = {rule.id: rule for rule, *_ in (*self.rules, *self.through)}
        return tuple(found.values())


def resting(protocol: Protocol, keys: Iterable[str]) -> dict[str, Resting]:
    """What rests on each of some works, by their keys."""
    cited: dict[str, list[Cited]] = {key: [] for key in keys}
    for one in citations(protocol):
        if one.name.id in cited:
            cited[one.name.id].append(one)
    return {key: _resting(protocol, places) for key, places in cited.items()}


def resting_on_all(protocol: Protocol, keys: Iterable[str]) -> Resting:
    """What rests on a work that is listed under several keys."""
    wanted = set(keys)
    return _resting(protocol, [one for one in citations(protocol) if one.name.id in wanted])


def _resting(protocol: Protocol, cited: Iterable[Cited]) -> Resting:
    studies = tuple(one.study for one in cited if one.study)
    tables = {table.id for table, _, _ in studies}
    through = (
        (rule, tuple(name for name in rule.evidence.tables if name.id in tables))
        for rule in (protocol.rules.values() if tables else ())
    )
    return Resting(
        tuple((one.rule, one.name) for one in cited if one.rule),
        tuple((rule, names) for rule, names in through if names),
        tuple((one.entry[0], one.entry[1], one.name) for one in cited if one.entry),
        studies,
    )
