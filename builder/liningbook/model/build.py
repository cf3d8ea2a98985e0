"""The documents of a folder to one protocol. Names are resolved here and nowhere else."""

from __future__ import annotations

from typing import cast

from liningbook.finding import Finding, Span
from liningbook.model.build_card import read_card, read_copies
from liningbook.model.build_frame import (
    answers_to,
    read_acceptances,
    read_decisions,
    read_exclusions,
    read_factors,
    read_language,
    read_people,
    read_scheme,
)
from liningbook.model.build_materials import read_exposures, read_materials, read_pairings
from liningbook.model.build_rules import Tables, read_rule, report_circles
from liningbook.model.build_values import STATES, Context, get, listed, read_case, read_date, text_of, texts_of
from liningbook.model.protocol import Dated, Decision, Name, Protocol, Reference, Status, Vignette
from liningbook.sources.citations.reference_list import read_references
from liningbook.sources.documents import Folder
from liningbook.sources.yaml_nodes import Node


def build_protocol(folder: Folder, earlier: list[Finding]) -> tuple[Protocol | None, list[Finding]]:
    """The protocol of the folder, or `None` where a source is wrong, with what is newly found.

    `earlier` are the findings of reading and of the schemas: a place already reported is not reported again.
    """
    context = Context(reported={(f.span.file, f.span.line, f.span.column) for f in earlier})
    root = folder.protocol.root if folder.protocol else None
    stuff = folder.materials.root if folder.materials else None
    materials = read_materials(context, stuff)
    context.factors = read_factors(context, root)
    decisions = read_decisions(context, root, materials.agents)
    scheme = read_scheme(root)
    tables = Tables(
        decisions,
        materials.agents,
        materials.places if stuff is not None else None,
        frozenset(folder.rule_names),
        scheme,
    )
    rules = {}
    for name, document in sorted(folder.rules.items()):
        rule = read_rule(context, tables, name, document)
        if rule is not None:
            rules[name] = rule
    report_circles(context, rules)
    pairings = read_pairings(context, stuff, decisions, materials.agents)
    sources = read_exposures(context, stuff, "sources", materials.irritants)
    barriers = read_exposures(context, stuff, "barriers", materials.irritants)
    excluded = read_exclusions(context, root)
    names = {
        "decision": decisions,
        "irritant": None if stuff is None else materials.irritants,
        "agent": materials.agents,
        "factor": context.factors,
        "rule": tables.rules,
    }
    accepted = read_acceptances(context, root, names)
    authors, approved = read_people(context, root)
    references = _references(folder, context)
    vignettes = _vignettes(context, folder, decisions, tables)
    card = read_card(context, folder.card.root if folder.card else None, decisions)
    copies = read_copies(context, folder.copies.root if folder.copies else None)
    language = read_language(context, root)
    in_force_from = read_date(context, get(root, "in_force_from"))
    review_node = get(root, "review_by")
    review_by = read_date(context, review_node)
    if earlier or context.findings:
        return None, context.findings
    assert root is not None and review_node is not None and review_by is not None and scheme is not None
    return Protocol(
        title=text_of(root, "title"),
        practice=text_of(root, "practice"),
        edition=text_of(root, "edition"),
        status=_status(text_of(root, "status")),
        scope=text_of(root, "scope"),
        cautions=texts_of(root, "cautions"),
        scheme=scheme,
        review_by=Dated(review_by, review_node.span),
        span=Span("protocol.yaml", 1, 1, 1, 2),
        factors=context.factors or {},
        decisions=decisions or {},
        rules=rules,
        agents=materials.agents or {},
        authors=authors,
        approved=approved,
        in_force_from=in_force_from,
        contact=text_of(root, "contact"),
        stop_questions=texts_of(root, "stop_questions"),
        site_address=text_of(root, "site_address"),
        language=language,
        places=materials.places,
        irritants=materials.irritants,
        pairings=pairings,
        sources=sources,
        barriers=barriers,
        excluded=excluded,
        accepted=accepted,
        references=references,
        vignettes=vignettes,
        card=card,
        copies=copies,
    ), []


def _status(text: str) -> Status:
    return cast(Status, text)


def _references(folder: Folder, context: Context) -> dict[str, Reference]:
    found: dict[str, Reference] = {}
    for file, text in sorted(folder.references.items()):
        entries, findings = read_references(file, text)
        context.findings += findings
        for name, entry in entries.items():
            if name in found:
                context.find("unreadable", entry.span, f"the reference '{name}' is given in two files", "keep one")
            found.setdefault(name, entry)
    return found


def _vignettes(
    context: Context, folder: Folder, decisions: dict[str, Decision] | None, tables: Tables
) -> tuple[Vignette, ...]:
    root = folder.vignettes.root if folder.vignettes else None
    found = []
    for node in listed(root):
        if node.fields is None or context.factors is None:
            continue
        values, numbers = read_case(context, context.factors, get(node, "case"))
        expect = {}
        expected = get(node, "expect")
        for name, child in ((expected.fields or {}) if expected is not None else {}).items():
            if not context.known_key(name, child, decisions, "decision") or not decisions or child.text is None:
                continue
            known = answers_to(decisions[name], tables.agents)
            words = None if known is None else [*known, "judgement", *STATES]
            if context.known(Node(child.text.strip(), child.span), words, f"answer to {name}"):
                expect[name] = Name(child.text.strip(), child.span)
        name_node = get(node, "name")
        place = name_node.span if name_node is not None else node.span
        found.append(Vignette(text_of(node, "name"), values, numbers, expect, place))
    return tuple(found)
