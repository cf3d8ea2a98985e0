"""An analysed protocol to the words and the reading order of its outputs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from liningbook.analysis import Analysis
from liningbook.finding import Severity
from liningbook.meaning.meaning import Meaning
from liningbook.model.edition import days_of_use, edition_state
from liningbook.model.protocol import Protocol
from liningbook.say.findings import told
from liningbook.say.locale import day_words
from liningbook.say.outputs.charts import section
from liningbook.say.outputs.identity import approval_words, finding_words, interests_words, person_words, status_words
from liningbook.say.safety import standing_cautions
from liningbook.say.texts import t
from liningbook.show.views.card_view import CardWords
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.evidence.making import making, subtitle
from liningbook.show.views.evidence.tables import EvidenceTable
from liningbook.show.views.list_view import ListWords
from liningbook.show.views.protection_view import protection_facts, reading_tables, stops_table
from liningbook.show.views.rule_view import RuleWords, grounds
from liningbook.show.views.view import CardView, Chart, Identity, Labelled, ProtocolView

if TYPE_CHECKING:
    from liningbook.compare.comparison import Comparison
    from liningbook.show.views.changed import ChangesPage


class Viewer:
    """Builds the views of one analysis. `to_html` turns an author's Markdown into safe HTML.

    With `since`, a comparison with an earlier edition, they say what has changed.
    """

    def __init__(
        self, analysis: Analysis, digest: str, to_html: Callable[[str], str], since: Comparison | None = None
    ) -> None:
        assert analysis.protocol is not None and analysis.meaning is not None
        self.analysis = analysis
        self.protocol: Protocol = analysis.protocol
        self.meaning: Meaning = analysis.meaning
        self.digest = digest
        self.since = since
        self.charts = ChartWords(self.meaning)
        self.rules = RuleWords(self.meaning, to_html)
        self.lists = ListWords(self.meaning)

    def protocol_view(self) -> ProtocolView:
        """What the printed protocol and the page show."""
        groups = self.rules.groups()
        return ProtocolView(
            identity=self.identity(),
            chart=self._marked(chart, self.charts) if (chart := self.charts.chart()) else None,
            exceptions=self.charts.exceptions(),
            factors=tuple(self.lists.factor(factor) for factor in self.protocol.factors.values()),
            rule_groups=groups,
            pairings=self.lists.pairings(),
            exclusions=self.lists.exclusions(),
            accepted=self.lists.accepted(),
            references=self.rules.references(),
            protection=self.protection(),
            readings=reading_tables(self.meaning),
            needs=self.lists.needs(),
            stops=stops_table(self.meaning, self.charts.layout, self.charts.band_words) if self.charts.layout else None,
            grounds=grounds(groups),
            certainties=self.rules.certainties(),
            changes=self.changes(),
            tables=self.tables,
            pain=Labelled(section("pain"), pain) if (pain := self.card.pain()) else None,
            subtitle=subtitle(self.protocol),
            making=making(self.protocol),
        )

    def card_views(self, size: str = "A4", copy: str = "") -> tuple[CardView, ...]:
        """The cards of a size: one for A4, one a restoration for A5 and A6; none where the protocol has no chart.

        `copy` is what a numbered card bears, such as `Copy 3 of 6, Surgery 3`.
        """
        views = self.card.views(self.identity(), size, copy)
        if self.since is None:
            return views
        from liningbook.show.changes.changes_card import card_changes

        found = []
        for view in views:
            changes = card_changes(self.since, self.card.charts, view.subject)
            brief = t.changes_in_brief(edition=self.since.old_protocol.edition) if changes else ""
            chart = self._marked(view.chart, self.card.of(view.subject))
            found.append(replace(view, chart=chart, changes=changes, changes_brief=brief))
        return tuple(found)

    def _marked(self, chart: Chart, words: ChartWords) -> Chart:
        """A chart with its changed cells marked, where an earlier edition is known."""
        if self.since is None:
            return chart
        from liningbook.show.changes.marked import marked_chart

        return marked_chart(chart, self.since, words)

    def changes(self) -> ChangesPage | None:
        """What has changed since an earlier edition; nothing where there is none, or where it is the same."""
        from liningbook.show.changes.changes_page import changes_page

        return None if self.since is None or self.since.is_alike else changes_page(self.since)

    @cached_property
    def tables(self) -> tuple[EvidenceTable, ...]:
        """The study tables in words, with what is computed of them; none where what computes it is not installed."""
        from liningbook.control.weighed import weighed_tables
        from liningbook.evidence.synthesis.installed import is_installed

        can_be = bool(self.protocol.tables) and is_installed()
        return self.rules.tables(weighed_tables(self.protocol)) if can_be else ()

    @cached_property
    def card(self) -> CardWords:
        """What the card shows, in words."""
        return CardWords(self.meaning, self.charts.outcomes)

    def protection(self) -> tuple[Labelled, ...]:
        """What stops which irritant in the usual case."""
        layout = self.charts.layout
        return protection_facts(self.meaning, layout, self.charts.band_words) if layout is not None else ()

    def identity(self) -> Identity:
        """What every output bears."""
        protocol = self.protocol
        findings = self.analysis.findings
        day, begins = self.meaning.day, protocol.in_force_from
        state = edition_state(protocol, day)
        first, last = days_of_use(protocol, day)
        is_late = first is not None and (first > day or begins is None or first > begins)
        draft = any(finding.severity is Severity.ERROR for finding in findings)
        return Identity(
            title=protocol.title,
            practice=protocol.practice,
            edition=protocol.edition,
            status=protocol.status,
            status_words=status_words(protocol, day, draft),
            review_by=day_words(protocol.review_by.on),
            use_from=day_words(first) if first is not None and is_late else "",
            use_until=day_words(last),
            use_until_day=last.isoformat(),
            is_past=day > last,
            is_early=state == "not-yet-in-force",
            in_force_from=day_words(begins) if begins and state == "in-force" else "",
            digest=self.digest,
            scope=protocol.scope,
            authors=tuple(
                Labelled(person_words(p.name, p.role), interests_words(p.interests, p.orcid)) for p in protocol.authors
            ),
            approvals=tuple(
                Labelled(person_words(p.name, p.role), approval_words(p, protocol.sealed)) for p in protocol.approved
            ),
            contact=protocol.contact,
            cautions=(*protocol.cautions, *standing_cautions()),
            stop_questions=protocol.asked_first,
            is_draft_build=draft,
            open_findings=tuple(
                finding_words(finding.severity.value, told(finding).message, finding.kind)
                for finding in findings
                if draft and finding.severity is not Severity.NOTE and not finding.accepted
            ),
            site_address=protocol.site_address,
        )
