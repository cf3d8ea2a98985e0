"""A view of an invented protocol with texts of real length: 7 restorations x 3 bands, 30 rules, all lists filled."""

from __future__ import annotations

from dataclasses import replace

from liningbook.show.views.pieces import (
    Accepted,
    FactorView,
    Labelled,
    ReadingRow,
    ReadingTable,
    ReferenceView,
    RuleGroup,
    RuleLink,
    RuleView,
    Stopper,
    StopsRow,
    StopsTable,
)
from liningbook.show.views.rule_view import grounds
from liningbook.show.views.view import CardView, Cell, Chart, ExceptionLine, ExceptionRow, Identity, ProtocolView, Step

DIGEST = "3f9a1c7e5b2d8046af13c95e7702bd6684e1f0a92c5d37b8906e4fa1d2c3b587"
CODE = "https://tern-street.example/pulp#edition=" + DIGEST

BANDS = ("0.5 mm or less", "more than 0.5 mm, up to 2 mm", "more than 2 mm")

CALCIUM_HYDROXIDE = "Hard-setting calcium hydroxide, deepest spot, under 0.5 mm"
GLASS_IONOMER = "Resin-modified glass ionomer, floor, 0.75 to 1 mm"
THIN_GLASS_IONOMER = "Resin-modified glass ionomer, over the liner only, under 0.75 mm"
VARNISH = "Cavity varnish, 2 coats, all cavity walls"
ADHESIVE = "Resin adhesive, all cavity walls"
NOTHING = "Place nothing"
ADVICE: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...] = (
    ("Amalgam", ((CALCIUM_HYDROXIDE, GLASS_IONOMER, VARNISH), (GLASS_IONOMER, VARNISH), (VARNISH,))),
    ("Direct resin composite", ((CALCIUM_HYDROXIDE, THIN_GLASS_IONOMER, ADHESIVE), (ADHESIVE,), (ADHESIVE,))),
    ("Conventional glass ionomer", ((CALCIUM_HYDROXIDE,), (), ())),
    ("Cast metal, non-resin cement", ((CALCIUM_HYDROXIDE, GLASS_IONOMER), (GLASS_IONOMER,), ())),
    ("Ceramic, resin cement", ((CALCIUM_HYDROXIDE, THIN_GLASS_IONOMER, ADHESIVE), (ADHESIVE,), (ADHESIVE,))),
    ("Provisional before a resin", ((CALCIUM_HYDROXIDE,), (), ())),
    ("Provisional, any other", ((CALCIUM_HYDROXIDE,), (), ())),
)


def identity(**changes: object) -> Identity:
    """The identity of the sample; keyword arguments replace fields."""
    sample = Identity(
        title="Pulp protection under direct restorations",
        practice="Tern Street Dental Practice",
        edition="2026.2",
        status="in-force",
        status_words="In force",
        review_by="1 September 2027",
        use_until="1 March 2027",
        use_until_day="2027-03-01",
        is_past=False,
        in_force_from="1 September 2026",
        digest=DIGEST,
        scope="Vital permanent teeth in adults, direct and indirect restorations.",
        authors=(
            Labelled("A. Marsh, principal dentist", "none declared"),
            Labelled("C. Vale, dental nurse", "none declared"),
        ),
        approvals=(Labelled("B. Reed, clinical lead", "20 August 2026"),),
        contact="A. Marsh, extension 12",
        cautions=(
            "Check the patient record for allergies before choosing an agent.",
            "The thickness of dentine on a radiograph is an estimate; when in doubt, treat as the thinner band.",
            "This protocol is the practice's own and is no substitute for the judgement of the dentist.",
            "Follow the manufacturer's instructions for mixing, placing and curing.",
        ),
        stop_questions=(
            "Is the pulp exposed?",
            "Does pain linger after cold, or wake the patient at night?",
            "Any allergy to methacrylate, eugenol, rosin or a metal of amalgam?",
        ),
        is_draft_build=False,
        open_findings=(),
    )
    return replace(sample, **changes)  # type: ignore[arg-type]


def _cell(column: str, band: str, texts: tuple[str, ...]) -> Cell:
    name = f"{column}, {band}"
    if not texts:
        return Cell(name, (Step(0, NOTHING),), "nothing")
    return Cell(name, tuple(Step(number, text) for number, text in enumerate(texts, 1)), "place")


def chart() -> Chart:
    """Bands of remaining dentine against restorations, with one cell of every tone but `fault`."""
    cells = [[_cell(column, band, texts[b]) for column, texts in ADVICE] for b, band in enumerate(BANDS)]
    cells[1][3] = Cell(
        f"Cast metal, non-resin cement, {BANDS[1]}",
        (Step(0, "Dentist decides: a base, or the cement alone"),),
        "decide",
    )
    cells[0][6] = Cell(
        f"Provisional, any other, {BANDS[0]}", (Step(0, "Stop: assess the pulp before placing anything"),), "refer"
    )
    cells[2][6] = Cell(
        f"Provisional, any other, {BANDS[2]}", (Step(0, "Not covered: see the protocol for provisionals"),), "out"
    )
    return Chart(
        band_heading="Remaining dentine thickness",
        column_heading="Restoration",
        bands=BANDS,
        columns=tuple(column for column, _ in ADVICE),
        cells=tuple(tuple(row) for row in cells),
        usual=(
            Labelled("Pulp exposed", "no"),
            Labelled("Pulp diagnosis", "normal"),
            Labelled("Dissimilar metal in contact", "no"),
            Labelled("Local law restricts amalgam", "no"),
            Labelled("Allergies", "none of those asked for"),
        ),
    )


CHANGE, ASSESS = "Choose another restoration", "Assess the pulp first"


def _has(
    triggers: tuple[str, ...], *lines: tuple[tuple[str, ...], str, str, str, str], stops: bool = False
) -> ExceptionRow:
    """A group of lines: where, what it is about, what is done, the details, and the tone."""
    return ExceptionRow(tuple((one,) for one in triggers), tuple(ExceptionLine(*line) for line in lines), stops)


def exceptions() -> tuple[ExceptionRow, ...]:
    """What goes before the chart, by what the patient has."""
    glass, floor, thin = "Conventional glass ionomer", "floor, 0.75 to 1 mm", "up to 2 mm"
    both = ExceptionRow(
        (("Methacrylate allergy", "Rosin allergy"),),
        (ExceptionLine(("Amalgam",), "Cavity sealer", "Place none", "", "nothing"),),
    )
    return (
        _has(
            ("Pulp exposed", "Pulp diagnosis: Irreversible pulpitis or Necrotic"),
            ((), "Stop", ASSESS, "", "refer"),
            stops=True,
        ),
        _has(
            ("Pulp diagnosis: Uncertain",),
            ((), "Dentist decides", "Retest, place a provisional, or review", "", "decide"),
            stops=True,
        ),
        _has(
            ("Local law restricts amalgam", "Allergy to a metal of amalgam", "Dissimilar metal in contact"),
            (("Amalgam",), "Stop", CHANGE, "", "refer"),
            stops=True,
        ),
        _has(
            ("Methacrylate allergy",),
            (("Direct resin composite or Ceramic",), "Stop", CHANGE, "", "refer"),
            stops=True,
        ),
        both,
        _has(
            ("Pulp diagnosis: Reversible pulpitis",),
            (("up to 0.5 mm",), "Liner", "Hydraulic calcium silicate", "deepest spot", "place"),
            (("Provisional, any other", thin), "Base", "Reinforced zinc oxide-eugenol", "floor", "place"),
        ),
        _has(("Methacrylate allergy",), (("Amalgam or Cast metal", thin), "Base", glass, floor, "place")),
        _has(("Rosin allergy",), (("Amalgam",), "Cavity sealer", *ADHESIVE.split(", ", 1), "place")),
    )


AVOID = (
    Labelled("Cavity varnish", "under composite, ceramic and glass ionomer"),
    Labelled("Zinc oxide-eugenol", "under composite, ceramic and a provisional before a resin"),
)
NEVER = (
    Labelled("Zinc oxide-eugenol", "with an allergy to eugenol"),
    Labelled("Resin-modified glass ionomer and resin adhesive", "with an allergy to methacrylate"),
    Labelled("Cavity varnish and rosin-bearing zinc oxide-eugenol", "with an allergy to rosin"),
)

PAIRINGS = (
    Labelled(
        "Hard-setting calcium hydroxide needs a base of glass ionomer over it",
        "It dissolves slowly and does not carry load; glass ionomer restorations cover it themselves.",
    ),
    Labelled("Zinc oxide-eugenol and a resin adhesive must not meet", "Eugenol keeps resin from setting."),
    Labelled("Zinc phosphate cement needs a barrier over thin dentine", "It is acid while it sets (pH < 3.5)."),
)

EXCLUSIONS = (
    Labelled("Remaining dentine exactly 0 mm", "An exposed pulp is not covered here. See the protocol for exposures."),
    Labelled("Primary teeth", "Not covered here. Ask A. Marsh."),
)

PROTECTION = (
    Labelled(
        "Amalgam, 2 mm or less",
        "Base stops heat and cold and condensation pressure; Cavity sealer stops corrosion products; nothing stops "
        "bacteria through marginal leakage",
    ),
    Labelled(
        "Amalgam, more than 2 mm", "the dentine stops heat and cold; nothing stops bacteria through marginal leakage"
    ),
    Labelled("Composite and Ceramic, any value", "Cavity sealer stops bacteria through marginal leakage"),
)

STOPS = StopsTable(
    ("Heat", "Bacteria at the margin"),
    (
        StopsRow("Amalgam", "more than 2 mm", (Stopper("dentine", "dentine"), Stopper("open", "nothing stops it"))),
        StopsRow("Composite", "any value", (Stopper("absent", "\u2013"), Stopper("layer", "Cavity sealer"))),
    ),
)

ACCEPTED = Accepted(
    label="Bacteria at the margin reach the pulp under amalgam with varnish",
    cases=("Restoration: Amalgam; Rosin allergy: no", "Restoration: Amalgam; Methacrylate allergy: yes"),
    reason="The margin seals itself in about 3 months.",
    by="B. Reed",
    until="1 September 2027",
    text="The margin seals itself in about 3 months. Accepted by B. Reed until 1 September 2027.",
)

READINGS = (
    ReadingTable(
        "Remaining dentine thickness",
        "bitewing radiograph",
        (ReadingRow("0.5 mm", "1.3 mm", "about 98 in 100"), ReadingRow("2 mm", "3.5 mm", "about 98 in 100")),
    ),
)


def _rule(number: int, title: str, **changes: object) -> RuleView:
    slug = "-".join("".join(c if c.isalnum() else " " for c in title.lower()).split())
    rule = RuleView(
        number=number,
        anchor=f"rule-{slug}",
        id=slug,
        title=title,
        conditions=(
            (
                Labelled("Remaining dentine thickness", "0.5 mm or less"),
                Labelled("Restoration", "amalgam"),
                Labelled("Pulp exposed", "no"),
            ),
        ),
        advice=(Labelled("Liner", CALCIUM_HYDROXIDE), Labelled("Base", GLASS_IONOMER + ", after 4 minutes")),
        avoid=(),
        never=(),
        overrides=(),
        overridden_by=(),
        valid="",
        review_by="",
        why_html=(
            "<p>A layer less than half a millimetre thick covers the spot nearest to the pulp. "
            "<strong>Teachers and books disagree</strong> on whether it changes the outcome: an invented trial of "
            "120 teeth (risk ratio 0.94, 95 % confidence interval 0.71–1.24) shows no gain.</p>"
            "<p>Reasons to go on with it:</p><ul><li>it is cheap and quick;</li><li>it keeps acid "
            "(pH &lt; 3.5) away from thin dentine (≤ 0.5 mm, ± 0.4 mm).</li></ul>"
        ),
        evidence=(
            Labelled("Basis", "research, observational"),
            Labelled("Certainty", "very low: lowered for indirectness (1) and imprecision (1)"),
            Labelled("Strength", "conditional"),
            Labelled("Note", "The benefit is uncertain, the burden small."),
        ),
        cites=((1,), (2,)),
        cited=2,
        evidence_line="Conditional, very low certainty",
        judged=("observational studies", "lowered by 1 for indirect evidence"),
        note="The benefit is uncertain, the burden small.",
    )
    return replace(rule, **changes)  # type: ignore[arg-type]


TITLES = (
    ("Management", ("Assess the pulp before covering an exposure", "Assess irreversible pulpitis first",
                    "Decide for yourself where the diagnosis is uncertain", "Restore a vital tooth",
                    "Follow the law on amalgam", "Leave amalgam with a metal allergy",
                    "Leave resin with a methacrylate allergy", "Keep dissimilar metals apart")),
    ("Liner", ("No liner over thick dentine", "No liner over middling dentine",
               "Cover the deepest spot of a deep cavity", "Calcium silicate in reversible pulpitis")),
    ("Base", ("No base over thick dentine", "A base under metal", "No base under resin in a middling cavity",
              "A thin cover for the liner under resin", "No base under glass ionomer",
              "Conventional glass ionomer with a methacrylate allergy", "A soothing base under a provisional",
              "Another base with a eugenol allergy")),
    ("Cavity sealer", ("Two coats of varnish under amalgam", "An adhesive under resin",
                       "No sealer under glass ionomer or cast metal", "An adhesive with a rosin allergy",
                       "No sealer with two allergies")),
    ("What to avoid", ("No varnish under resin or glass ionomer", "No eugenol under resin",
                       "Never eugenol with its allergy", "Never methacrylate with its allergy",
                       "Never rosin with its allergy")),
)  # fmt: skip

VARIATIONS: dict[int, dict[str, object]] = {
    4: {"conditions": ((),)},
    5: {
        "advice": (Labelled("Management", "Choose another restoration"),),
        "valid": "from 1 January 2026",
        "overrides": (RuleLink(4, "Restore a vital tooth", "rule-restore-a-vital-tooth"),),
        "evidence": (Labelled("Basis", "law"),),
        "evidence_line": "Law",
        "judged": (),
    },
    3: {"advice": (Labelled("Management", "Dentist decides: retest, place a provisional, or review"),)},
    12: {
        "conditions": (
            (
                Labelled("Remaining dentine thickness", "0.5 mm or less"),
                Labelled("Pulp diagnosis", "reversible pulpitis"),
            ),
            (
                Labelled("Remaining dentine thickness", "more than 0.5 mm, up to 0.75 mm"),
                Labelled("Pulp exposed", "no"),
            ),
        ),
        "overrides": (
            RuleLink(11, "Cover the deepest spot of a deep cavity", "rule-cover-the-deepest-spot-of-a-deep-cavity"),
        ),
        "review_by": "1 March 2027",
        "review_month": "March 2027",
    },
    11: {
        "overridden_by": (
            RuleLink(12, "Calcium silicate in reversible pulpitis", "rule-calcium-silicate-in-reversible-pulpitis"),
        )
    },
    26: {"advice": (), "avoid": (Labelled("Cavity sealer", "Cavity varnish"),)},
    28: {"advice": (), "never": (Labelled("Base", "Zinc oxide-eugenol"),), "cites": ()},
}


def rule_groups() -> tuple[RuleGroup, ...]:
    """Thirty rules under five headings."""
    groups, number = [], 0
    for heading, titles in TITLES:
        rules = []
        for title in titles:
            number += 1
            rules.append(_rule(number, title, **VARIATIONS.get(number, {})))
        groups.append(RuleGroup(heading, "group-" + heading.lower().replace(" ", "-"), tuple(rules)))
    return tuple(groups)


FACTORS = (
    FactorView(
        "Remaining dentine thickness",
        "0 mm to 6 mm, in steps of 0.05 mm",
        "Bitewing radiograph: thickness = 0.7 × reading, uncertainty ± 0.4 mm. A doubtful reading counts as thinner.",
    ),
    FactorView("Restoration", "; ".join(column for column, _ in ADVICE), ""),
    FactorView("Pulp diagnosis", "normal; reversible pulpitis; irreversible pulpitis; necrotic; uncertain", ""),
    FactorView("Pulp exposed", "yes or no", ""),
)

REFERENCES = (
    ReferenceView(
        1,
        "marlow2019",
        "Marlow A, Quill B. Linings in deep cavities: an invented trial. Journal of Invented Dentistry 2019; 4: 11–19.",
        "https://doi.org/10.5555/lining.2019.1",
    ),
    ReferenceView(2, "fenn2021", "Fenn C. Varnish under amalgam: an invented cohort. Invented Letters 2021; 7: 3.", ""),
    ReferenceView(3, "statute2026", "An invented statute on dental amalgam, 2026, section 4.", "javascript:alert(1)"),
)


def protocol_view(**changes: object) -> ProtocolView:
    """The whole protocol; keyword arguments replace fields."""
    groups: tuple[RuleGroup, ...] = changes.pop("rule_groups", rule_groups())  # type: ignore[assignment]
    view = ProtocolView(
        identity=identity(),
        chart=chart(),
        exceptions=exceptions(),
        factors=FACTORS,
        rule_groups=groups,
        pairings=PAIRINGS,
        exclusions=EXCLUSIONS,
        accepted=(ACCEPTED,),
        references=REFERENCES,
        protection=PROTECTION,
        readings=READINGS,
        stops=STOPS,
        grounds=grounds(groups),
        certainties=(Labelled("very low certainty", "the true effect is likely to differ a good deal"),),
    )
    return replace(view, **changes)  # type: ignore[arg-type]


def card_view(**changes: object) -> CardView:
    """The card for the wall; keyword arguments replace fields."""
    view = CardView(
        identity=identity(),
        chart=chart(),
        exceptions=exceptions(),
        avoid=AVOID,
        never=NEVER,
        protection=PROTECTION,
        readings=READINGS,
        pairings=PAIRINGS,
        exclusions=EXCLUSIONS,
        code=CODE,
        copy="Copy 3 of 6, Surgery 3",
        left_out=("Indirect pulp treatment: see the protocol.",),
        changes=("The base under cast metal is now the dentist's choice.",),
    )
    return replace(view, **changes)  # type: ignore[arg-type]


def small_card(size: str, column: int = 0, **changes: object) -> CardView:
    """The card of one restoration, with what concerns it; keyword arguments replace fields."""
    whole = chart()
    name = whole.columns[column]
    kept = []
    for group in exceptions():
        lines = [line for line in group.lines if not line.where or line.where[0][:2] in ("up", name[:2])]
        lines = [replace(line, where=tuple(text for text in line.where if text.startswith("up"))) for line in lines]
        if lines:
            kept.append(replace(group, lines=tuple(lines)))
    view = card_view(
        size=size,
        subject=name,
        chart=replace(
            whole,
            columns=(name,),
            cells=tuple((row[column],) for row in whole.cells),
            band_notes=("not 0 mm", "", ""),
        ),
        exceptions=tuple(kept),
        never=(),
        readings=() if size == "A6" else READINGS,
        protection=tuple(fact for fact in PROTECTION if fact.label.startswith(name.split()[0])),
        pairings=PAIRINGS[:1],
        avoid=(),
        left_out=("The other restorations have cards of their own.",),
        changes=(),
    )
    return replace(view, **changes)  # type: ignore[arg-type]


DRAFT = identity(
    is_draft_build=True,
    open_findings=(
        "error: no rule for the liner under amalgam at exactly 0.5 mm of remaining dentine (gap)",
        "error: two rules disagree on the base under cast metal at 2 mm (conflict)",
    ),
)
