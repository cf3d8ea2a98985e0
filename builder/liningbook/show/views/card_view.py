"""What a card shows, as `card.yaml` chooses, and what it says of all that it leaves out."""

from __future__ import annotations

from dataclasses import replace

from liningbook.meaning.chart import Layout, Outcomes
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.screening import with_thresholds
from liningbook.model.protocol import Card, Protocol
from liningbook.say.outputs import paper
from liningbook.say.outputs.charts import as_read
from liningbook.say.texts import t
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.list_view import ListWords
from liningbook.show.views.protection_view import protection_facts, reading_tables
from liningbook.show.views.view import CardView, Identity, Labelled
from liningbook.space.boxes import meets, on_axis
from liningbook.space.region import Region


class CardWords:
    """Words the cards of one compiled protocol. `outcomes` are those of the meaning, if they are known."""

    def __init__(self, meaning: Meaning, outcomes: Outcomes | None = None) -> None:
        self.protocol: Protocol = meaning.protocol
        self.card: Card = meaning.protocol.card
        self.meaning = with_thresholds(meaning, self.card)
        known = outcomes if self.meaning is meaning else None
        self.charts = ChartWords(self.meaning, self.card, outcomes=known)

    def why_none(self) -> str:
        """Why there is no card, where `views` gives none."""
        return paper.NO_CHART if self.charts.layout is None else paper.NO_CASE

    def views(self, identity: Identity, size: str, copy: str) -> tuple[CardView, ...]:
        """One card for A4; for a smaller size one a restoration. None where there is no chart."""
        layout = self.charts.layout
        if layout is None:
            return ()
        if size == "A4":
            found = [self._view(self.charts, identity, size, "", copy)]
        else:
            axis = self.meaning.space.axes[layout.column_axis]
            names = [axis.factor.values[axis.values[cell]] for cell in layout.columns]
            found = [self._view(self.of(name), identity, size, name, copy) for name in names]
        return tuple(view for view in found if view is not None)

    def of(self, subject: str) -> ChartWords:
        """The chart of one restoration, by its label; of all of them for a card about none."""
        layout = self.charts.layout
        if not subject or layout is None:
            return self.charts
        axis = self.meaning.space.axes[layout.column_axis]
        return self.charts.for_column(
            next(cell for cell in layout.columns if axis.factor.values[axis.values[cell]] == subject)
        )

    def pain(self) -> str:
        """What the practice says to a patient who rings with pain, in sentences."""
        return " ".join(text if text.endswith((".", "!", "?")) else f"{text}." for text in self.card.pain)

    def _view(self, charts: ChartWords, identity: Identity, size: str, subject: str, copy: str) -> CardView | None:
        chart, layout = charts.chart(), charts.layout
        if chart is None or layout is None:
            return None
        if size == "A6":
            chart = replace(chart, usual=self._unasked(chart.usual, layout))
        lists = ListWords(self.meaning, charts.words, charts.decisions, charts.outcomes if subject else None)
        readings = reading_tables(self.meaning, layout.shown)
        if charts.words.read_axis is not None or (subject and chart.band_readings):
            own = self.meaning.space.axes[layout.band_axis].factor.label
            readings = tuple(table for table in readings if table.factor != own)
        return CardView(
            identity=replace(identity, stop_questions=self._asked(layout)) if subject else identity,
            chart=chart,
            exceptions=charts.exceptions(),
            avoid=lists.avoided(),
            pairings=lists.pairings(reasons=False),
            exclusions=lists.exclusions(),
            never=lists.never(layout),
            protection=protection_facts(self.meaning, layout, charts.band_words),
            readings=readings,
            needs=lists.needs(),
            size=size,
            subject=subject,
            left_out=tuple(self._left_out(charts, subject, says_subject=size != "A6")),
            pain=self.pain(),
            code=code_text(identity),
            copy=copy,
        )

    def _asked(self, layout: Layout) -> tuple[str, ...]:
        """The stop questions, without those that take off the chart only what a small card is not about."""
        return tuple(
            question.ask
            for question in self.protocol.stop_questions
            if question.screens is None
            or any(meets(box, layout.shown) for box in self.meaning.space.boxes(question.screens))
        )

    def _unasked(self, usual: tuple[Labelled, ...], layout: Layout) -> tuple[Labelled, ...]:
        """The usual case without what a no to every stop question says already."""
        space, questions = self.meaning.space, self.protocol.stop_questions
        asked = [box for question in questions if question.screens is not None for box in space.boxes(question.screens)]
        told = set()
        for number, axis in enumerate(space.axes):
            unusual = on_axis(layout.shown, number, layout.shown[number] & ~layout.usual[number])
            if all(unusual) and Region((unusual,)).is_within(asked):
                told.add(axis.factor.label)
        return tuple(fact for fact in usual if fact.label not in told)

    def _left_out(self, charts: ChartWords, subject: str, says_subject: bool) -> list[str]:
        """What the protocol covers and a card does not show, a sentence each; a subject alone its title tells too."""
        found = [] if subject else self._columns_left_out(charts)
        found += [t.only_for(restoration=subject)] if subject and says_subject else []
        found += self._bands_left_out(charts)
        hidden = [d.label for name, d in self.protocol.decisions.items() if name not in charts.decisions]
        if hidden:
            found.append(t.decisions_left_out(decisions=", ".join(hidden)))
        if charts.words.read_axis is not None:
            factor = self.meaning.space.axes[charts.words.read_axis].factor
            found.append(t.only_as_read(quantity=as_read(factor)))
        return found

    def _columns_left_out(self, charts: ChartWords) -> list[str]:
        assert charts.layout is not None
        axis = self.meaning.space.axes[charts.layout.column_axis]
        labels = [
            axis.factor.values[value] for cell, value in enumerate(axis.values) if cell not in charts.layout.columns
        ]
        return [t.columns_left_out(restorations=", ".join(labels))] if labels else []

    def _bands_left_out(self, charts: ChartWords) -> list[str]:
        """The part of the range that is not shown, as far as any of its cases is in scope."""
        assert charts.layout is not None
        number = charts.layout.band_axis
        full, shown = self.meaning.space.full, charts.layout.shown
        hidden = 0
        for cell in range(self.meaning.space.axes[number].count):
            there = (*full[:number], 1 << cell, *full[number + 1 :])
            if not shown[number] >> cell & 1 and self.meaning.scope & Region((there,)):
                hidden |= 1 << cell
        said = charts.words.axis(number, hidden) if hidden else ""
        return [t.bands_left_out(factor=charts.words.label(number), range=said)] if said else []


def code_text(identity: Identity) -> str:
    """What the card's QR code says: where the page is, and which bundle it must show."""
    if identity.site_address:
        return f"{identity.site_address}#digest={identity.digest}"
    return f"sha256:{identity.digest}"
