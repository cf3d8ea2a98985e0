"""How the protocol was made and appraised, in words and in the order in which that is printed."""

from __future__ import annotations

from liningbook.evidence.reporting.agree import domain_scores
from liningbook.model.protocol import Protocol
from liningbook.say.outputs.reporting import (
    TOPICS,
    appraised_words,
    domain_words,
    not_applicable_words,
    percent_words,
    rounded,
    topic_words,
)
from liningbook.show.views.pieces import DomainBar, Labelled, Making


def subtitle(protocol: Protocol) -> str:
    """What stands beneath the title."""
    stated = protocol.reporting.get("subtitle")
    return stated.text if stated is not None else ""


def making(protocol: Protocol) -> Making | None:
    """Every topic that says something, and the scores of the domains; nothing where there is neither."""
    told = [(topic, protocol.reporting[topic]) for topic in TOPICS if topic in protocol.reporting]
    topics = tuple(
        Labelled(topic_words(topic), stated.text or not_applicable_words(stated.not_applicable))
        for topic, stated in told
        if topic != "subtitle"
    )
    appraisals = protocol.appraisals
    if not topics and not appraisals:
        return None
    domains = tuple(
        DomainBar(
            domain_words(score.domain),
            0 if score.percent is None else rounded(score.percent),
            percent_words(score.percent),
        )
        for score in (domain_scores(appraisals) if appraisals else ())
    )
    return Making(topics, domains, appraised_words(len(appraisals)) if appraisals else "")
