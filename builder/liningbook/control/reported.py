"""Which items of RIGHT and of AGREE II a protocol reports, and where it does so.

An item is reported where something specific stands: a text that the authors wrote for it, or a fact of the protocol
that answers it by itself (`_FACTS`). Whether what stands there is good is for a reader, or an appraiser, to judge.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from liningbook.evidence.reporting import agree, right
from liningbook.finding import Span
from liningbook.model.protocol import Protocol

State = Literal["reported", "not-reported", "not-applicable"]


@dataclass(frozen=True)
class Place:
    """Where an item is reported: what stands there, as a code (`title`, `rules`, ...), and how many there are."""

    what: str
    span: Span
    count: int = 1


@dataclass(frozen=True)
class Item:
    """One item: its number, the section or domain, whether it is reported, where, and which topic would report it.

    `because` is the authors' reason for which it does not apply. `topics` are those of `reporting` that answer it;
    without any, the protocol itself does.
    """

    item: str
    part: str
    state: State
    where: tuple[Place, ...]
    because: str
    topics: tuple[str, ...]


GUIDANCE = re.compile(
    r"guideline|guidance|protocol|recommendation|leitlinie|protokoll|empfehlung|protocole|recommandation|protocolo"
    r"|gu[ií]a\b|recomendaci",
    re.IGNORECASE,
)
"""By these words a title says what sort of document it is, in the languages of the outputs."""

YEAR = re.compile(r"\b(19|20)[0-9]{2}\b")

RIGHT: Mapping[str, tuple[str, ...]] = {
    "1a": ("subtitle",), "1b": (), "1c": ("focus",), "2": ("summary",), "3": ("terms",), "4": (),
    "5": ("burden",), "6": ("aims",), "7a": (), "7b": ("subgroups",), "8a": ("users",), "8b": ("settings",),
    "9a": ("contributors",), "9b": ("affiliations",),
    "10a": ("questions",), "10b": ("outcomes",), "11a": ("reviews",), "11b": ("reviews_judged",), "12": ("certainty",),
    "13a": (), "13b": ("by_subgroup",), "13c": ("strength",), "14a": ("values",), "14b": ("cost",),
    "14c": ("acceptability",), "15": ("decided",),
    "16": ("external_review",), "17": ("quality_assurance",),
    "18a": ("funding",), "18b": ("funder",), "19a": (), "19b": ("interests_managed",),
    "20": ("documents",), "21": ("gaps",), "22": ("limits",),
}  # fmt: skip
"""The topic of `reporting` that answers an item of RIGHT; where there is none, only a fact does."""

AGREE: Mapping[str, tuple[str, ...]] = {
    "1": ("aims",), "2": ("questions",), "3": ("subgroups",),
    "4": ("contributors", "affiliations"), "5": ("patients",), "6": ("users",),
    "7": ("search",), "8": ("selection",), "9": ("evidence_limits",), "10": ("decided",), "11": ("benefits_harms",),
    "12": ("evidence_link",), "13": ("external_review",), "14": ("updating",),
    "15": (), "16": ("options",), "17": ("summary",),
    "18": ("barriers",), "19": ("tools",), "20": ("cost",), "21": ("audit",),
    "22": ("funder",), "23": ("interests_managed",),
}  # fmt: skip
"""The topics of `reporting` in which an appraiser finds what an item of AGREE II is about."""


_NOT_SAID = re.compile(r"[\W_]*(?:to ?do|tb[acd]|n[\W_]*a|x+)?[\W_]*", re.IGNORECASE)


def is_said(text: str) -> bool:
    """Whether a text says anything: signs alone, or the like of “n/a”, stand where it is still to be written."""
    return not _NOT_SAID.fullmatch(text)


def right_items(protocol: Protocol) -> tuple[Item, ...]:
    """Every item of RIGHT, in its order."""
    return _items(protocol, right.SECTIONS, RIGHT, "right")


def agree_items(protocol: Protocol) -> tuple[Item, ...]:
    """Every item of AGREE II, in its order: where an appraiser finds what it is about."""
    return _items(protocol, agree.DOMAINS, AGREE, "agree")


def _items(
    protocol: Protocol, parts: Mapping[str, Sequence[str]], topics: Mapping[str, tuple[str, ...]], of: str
) -> tuple[Item, ...]:
    return tuple(_item(protocol, part, item, topics[item], of) for part, items in parts.items() for item in items)


def _item(protocol: Protocol, part: str, item: str, topics: tuple[str, ...], of: str) -> Item:
    said = [(topic, protocol.reporting[topic]) for topic in topics if topic in protocol.reporting]
    facts = _FACTS.get((of, item), _nothing)(protocol)
    tells = _TELLING.get((of, item))
    texts = [
        (topic, stated)
        for topic, stated in said
        if is_said(stated.text) and (tells is None or tells.search(stated.text))
    ]
    where = (*facts, *(Place(topic, stated.span) for topic, stated in texts))
    reasons = [stated.not_applicable for _, stated in said if is_said(stated.not_applicable)]
    state: State = "reported" if where else "not-applicable" if reasons else "not-reported"
    return Item(item, part, state, where, reasons[0] if state == "not-applicable" else "", topics)


# --- facts of the protocol that answer an item by themselves ----------------------------------------------------------

_Facts = Callable[[Protocol], tuple[Place, ...]]


def _nothing(_: Protocol) -> tuple[Place, ...]:
    return ()


def _written(*names: str) -> _Facts:
    """Fields of protocol.yaml that are written."""

    def find(protocol: Protocol) -> tuple[Place, ...]:
        return tuple(Place(name, protocol.written[name]) for name in names if name in protocol.written)

    return find


def _title(protocol: Protocol) -> tuple[Place, ...]:
    return _written("title")(protocol) if GUIDANCE.search(protocol.title) else ()


def _year(protocol: Protocol) -> tuple[Place, ...]:
    return _written("in_force_from", *(["edition"] if YEAR.search(protocol.edition) else []))(protocol)


def _all(what: str, spans: Iterable[Span]) -> tuple[Place, ...]:
    """The first of several alike, with how many there are."""
    found = list(spans)
    return (Place(what, found[0], len(found)),) if found else ()


def _advice(protocol: Protocol) -> tuple[Place, ...]:
    return _all("rules", (rule.span for rule in protocol.rules.values() if rule.advise))


def _graded(protocol: Protocol) -> tuple[Place, ...]:
    """Strength and certainty, where every rule that rests on research states both."""
    rules = [rule for rule in protocol.rules.values() if rule.evidence.basis == "research"]
    is_whole = all(rule.evidence.strength and rule.evidence.certainty for rule in rules)
    return _all("grades", (rule.evidence.span for rule in rules)) if is_whole else ()


def _cited(protocol: Protocol) -> tuple[Place, ...]:
    """The works that every rule names which rests on more than good practice."""
    rules = [rule for rule in protocol.rules.values() if rule.evidence.basis != "good-practice"]
    is_whole = all(rule.evidence.cites or rule.evidence.tables for rule in rules)
    return _all("citations", (rule.evidence.span for rule in rules)) if is_whole else ()


def _ways(protocol: Protocol) -> tuple[Place, ...]:
    """The decisions under which rules advise more than one thing."""
    answers: dict[str, set[object]] = {}
    for rule in protocol.rules.values():
        for decision, answer in rule.advise.items():
            answers.setdefault(decision, set()).add(answer.meaning)
    several = (one.span for one in protocol.decisions.values() if len(answers.get(one.id, ())) > 1)
    return _all("decisions", several)


def _asked(protocol: Protocol) -> tuple[Place, ...]:
    """Study tables that state patients, treatment, comparison and outcomes."""
    tables = protocol.tables.values()
    return _all("tables", (t.span for t in tables if t.population and t.intervention and t.comparator and t.outcomes))


def _searched(protocol: Protocol) -> tuple[Place, ...]:
    """Study tables with their search, if all of them say where was looked and until when."""
    tables = list(protocol.tables.values())
    is_whole = all(table.search and table.search.sources and table.search.until for table in tables)
    return _all("searches", (table.span for table in tables)) if is_whole else ()


def _judged(protocol: Protocol) -> tuple[Place, ...]:
    """Judgements of the studies of an outcome that say why."""
    outcomes = [outcome for table in protocol.tables.values() for outcome in table.outcomes.values()]
    judged = [one for outcome in outcomes for one in (*outcome.lowered.values(), *outcome.raised.values())]
    return _all("judgements", (one.span for one in judged if one.because))


def _weighed(protocol: Protocol) -> tuple[Place, ...]:
    """Study tables with outcomes of benefit and of harm."""
    kinds = ((table, {outcome.kind for outcome in table.outcomes.values()}) for table in protocol.tables.values())
    return _all("weighed", (table.span for table, found in kinds if found == {"benefit", "harm"}))


_FACTS: Mapping[tuple[str, str], _Facts] = {
    ("right", "1a"): _title,
    ("right", "1b"): _year,
    ("right", "4"): _written("contact"),
    ("right", "7a"): _written("scope"),
    ("right", "10a"): _asked,
    ("right", "13a"): _advice,
    ("right", "13c"): _graded,
    ("right", "19a"): _written("authors"),
    ("right", "20"): _written("site_address"),
    ("agree", "2"): _asked,
    ("agree", "3"): _written("scope"),
    ("agree", "7"): _searched,
    ("agree", "9"): _judged,
    ("agree", "11"): _weighed,
    ("agree", "12"): _cited,
    ("agree", "15"): _advice,
    ("agree", "16"): _ways,
}
"""What in the protocol itself answers an item. All others are answered by the topics of `reporting` alone."""

_TELLING: Mapping[tuple[str, str], re.Pattern[str]] = {("right", "1a"): GUIDANCE}
"""What a text must hold to answer an item; any text does for the others."""
