"""What is reported of a protocol, and how it was appraised, as text for a terminal: what is open stands first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from liningbook.control.reported import Item, Place, agree_items, right_items
from liningbook.evidence.reporting.agree import domain_scores
from liningbook.model.protocol import Protocol
from liningbook.resources import schema
from liningbook.say.command import reporting as say
from liningbook.say.outputs.reporting import DOMAINS, TOPICS, appraised_words, domain_words, percent_words, topic_words
from liningbook.say.report import place_words
from liningbook.show.terminal.lines import USUAL, wrapped
from liningbook.sources.shape_values import written


def reporting_text(protocol: Protocol, width: int = USUAL) -> str:
    """The items of RIGHT, those of AGREE II, and the scores of its domains."""
    asked: dict[str, str] = {}
    lines = [
        *_statement(say.RIGHT_HEAD, right_items(protocol), say.RIGHT, say.SECTIONS, asked, width),
        "",
        *_statement(say.AGREE_HEAD, agree_items(protocol), say.AGREE, DOMAINS, asked, width),
        "",
        *_appraised(protocol, width),
        "",
        *wrapped(say.READ_MORE, width),
    ]
    return "".join(f"{line}\n" for line in lines)


def _statement(
    head: str,
    items: tuple[Item, ...],
    words: Mapping[str, str],
    parts: Mapping[str, str],
    asked: dict[str, str],
    width: int,
) -> Iterator[str]:
    """One checklist; `asked` has, of each topic asked for before, the item that asked."""
    missing = [item for item in items if item.state == "not-reported"]
    yield from (head, "=" * len(head), "")
    yield from wrapped(say.OPEN.format(count=len(missing)) if missing else say.ALL_TOLD, width)
    for item in missing:
        yield from wrapped(words[item.item], width, f"  {item.item:<4} ")
        yield from wrapped(_how_to_report(item, asked), width, " " * 7, " " * 9)
    for part, name in parts.items():
        told = [item for item in items if item.part == part and item.state != "not-reported"]
        yield from ("", name) if told else ()
        for item in told:
            yield from wrapped(words[item.item], width, f"  {item.item:<4} ")
            yield from wrapped(_told(item), width, " " * 7, " " * 9)


def _told(item: Item) -> str:
    """Where an item is reported, or why it does not apply."""
    if item.state == "not-applicable":
        return say.NOT_APPLICABLE.format(because=item.because)
    return "; ".join(f"{place_words(place.span.file, place.span.line)}: {_what(place)}" for place in item.where)


def _what(place: Place) -> str:
    if place.what in TOPICS:
        return topic_words(place.what)
    words = say.PLACES[place.what]
    return say.COUNTED.format(what=words, count=place.count) if place.count > 1 else words


def _how_to_report(item: Item, asked: dict[str, str]) -> str:
    """Which field reports an item that is open, with an example where it is asked for the first time."""
    if not item.topics:
        field = say.FIELD_OF_FACT.get(item.item, "")
        return say.WRITE_IN.format(field=field) if field else say.WRITE_RULES
    topic = item.topics[0]
    if topic in asked:
        return say.WRITE_SAME.format(topic=topic, item=asked[topic])
    asked[topic] = item.item
    example = schema("protocol")["$defs"]["reporting"]["properties"][topic]["examples"][0]
    return say.WRITE.format(example=f"{topic}: {written(example)}")


def _appraised(protocol: Protocol, width: int) -> Iterator[str]:
    """The scaled scores of the domains, and what each appraiser says of the whole."""
    if not protocol.appraisals:
        yield from wrapped(say.NO_APPRAISAL, width)
        return
    yield from (say.SCORES_HEAD, "=" * len(say.SCORES_HEAD), "")
    yield from wrapped(appraised_words(len(protocol.appraisals)), width)
    scores = domain_scores(protocol.appraisals)
    column = max(len(domain_words(score.domain)) for score in scores)
    for number, score in enumerate(scores, 1):
        yield f"  {number}  {domain_words(score.domain):<{column}}  {percent_words(score.percent):>5}"
    for one in protocol.appraisals:
        who = ", ".join(word for word in (one.appraiser, one.role) if word)
        said = [say.QUALITY.format(quality=one.quality)] if one.quality is not None else []
        said += [say.RECOMMENDS[one.recommend]] if one.recommend is not None else []
        yield from wrapped(f"{who}: {', '.join(said)}" if said else who, width, "  ", " " * 4)
