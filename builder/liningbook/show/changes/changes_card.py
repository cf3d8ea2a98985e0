"""What has changed since an edition, in the sentence or two for which a card has room: where to look anew."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from operator import or_

from liningbook.compare.comparison import Comparison
from liningbook.say.cases import labelled, shortened
from liningbook.say.changes.notes import note_words
from liningbook.say.changes.shown import other_advice, other_words, referral_ended
from liningbook.say.changes.summary import decision_label
from liningbook.say.texts import t
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.chart_view import ChartWords
from liningbook.space.boxes import Box, meets
from liningbook.space.region import Region

MOST_NAMED = 3
"""So many changes are named on a card."""
MOST_LETTERS = 180
"""So long may the list of them be; the rest is counted."""


def card_changes(comparison: Comparison, charts: ChartWords, subject: str = "") -> tuple[str, ...]:
    """Where to look anew, and where all of it stands; nothing where nothing has changed for the cases of the card.

    `charts` are those of the card: they say which factors make its bands and its columns, and on which scale depth is
    said. `subject` is the one column that the card is about, by its label. What is said of a change is true of no fewer
    cases than those in which the advice changed.
    """
    edition = comparison.old_protocol.edition
    places = list(_Places(comparison, charts, subject).words())
    told = []
    for worded, ends in ((referral_ended, True), (other_advice, False)):
        listed = list(dict.fromkeys(place for place, is_end in places if is_end is ends))
        if listed:
            told.append(worded(edition, *_kept(listed)))
    lost = comparison.lost_words
    others = [note for note in comparison.notes if note.what == "shown" and note not in lost]
    if lost or others:
        told.append(other_words(edition, *_kept([shortened(note_words(n), MOST_LETTERS) for n in (*lost, *others)])))
    if any(note.what == "readings" for note in comparison.notes):
        told.append(t.other_readings(edition=edition))
    return (*told, t.changes_in_full(heading=t.changed_since(edition=edition))) if told else ()


def _kept(listed: list[str]) -> tuple[list[str], int]:
    """Those of a list for which there is room, and how many more there are."""
    kept = listed[:1]
    for one in listed[1:MOST_NAMED]:
        if len("; ".join([*kept, one])) > MOST_LETTERS:
            break
        kept.append(one)
    return kept, len(listed) - len(kept)


class _Places:
    """The changes in as few words as it takes to say where they are."""

    def __init__(self, comparison: Comparison, charts: ChartWords, subject: str) -> None:
        self.comparison, self.space, self.subject = comparison, comparison.space, subject
        self.main: tuple[int, ...] = ()
        band = None
        if charts.layout is not None:
            axes = charts.meaning.space.axes
            names = [axes[number].factor.id for number in (charts.layout.column_axis, charts.layout.band_axis)]
            self.main = tuple(self.space.index[name] for name in names)
            band = self.main[1]
        self.case_words = CaseWords(
            comparison.new, self.space.full, band if charts.words.read_axis is not None else None
        )

    def words(self) -> Iterable[tuple[str, bool]]:
        """Each change that concerns the card, by consequence, and whether a referral ends by it."""
        for told in self.comparison.ranking.told:
            difference = told.change
            boxes = [shown for box in difference.region if (shown := self._shown(box))]
            if not boxes:
                continue
            name = difference.decision
            label = decision_label(self.comparison, name)
            where = ", ".join(self._where(name, _union(boxes)))
            ends = any(loss.kind == "referral" for loss in told.losses)
            yield f"{label} ({where})" if where else label, ends

    def _shown(self, box: Box) -> Box | None:
        """The part of a box that the card is about."""
        if not self.subject or not self.main:
            return box
        column = self.main[0]
        axis = self.space.axes[column]
        own = axis.mask_of_values([value for value in axis.values if axis.factor.values[value] == self.subject])
        return (*box[:column], box[column] & own, *box[column + 1 :]) if box[column] & own else None

    def _where(self, decision: str, hull: Box) -> Iterable[str]:
        """The values that occur, of the factors that say where to look."""
        asked = self._asked(decision, hull)
        others = [number for number in range(len(hull)) if number not in self.main]
        for number in (*self.main, *others):
            if number in self.main:
                is_told = self._covers_more(number, hull) and not (self.subject and number == self.main[0])
            else:
                is_told = asked[number] & ~hull[number] != 0
            words = self.case_words.axis(number, hull[number]) if is_told else ""
            if words:
                yield words if number in self.main else labelled(self.case_words.label(number), words)

    def _covers_more(self, number: int, hull: Box) -> bool:
        """Whether the protocol covers other values of a factor too, with the others as they are in the change."""
        wide = (*hull[:number], self.space.full[number], *hull[number + 1 :])
        boxes = [*self.comparison.old.scope, *self.comparison.new.scope]
        return any(meets(box, wide) and box[number] & ~hull[number] for box in boxes)

    def _asked(self, decision: str, hull: Box) -> Box:
        """The values under which the decision is to be made at all, in the columns and bands of the change."""
        full = self.space.full
        frame = Region((tuple(hull[n] if n in self.main else whole for n, whole in enumerate(full)),))
        found = Region()
        for meaning in (self.comparison.old, self.comparison.new):
            if decision in meaning.protocol.decisions:
                found = found | meaning.needed(decision) & frame
        return _union(list(found)) if found else full


def _union(boxes: list[Box]) -> Box:
    return tuple(reduce(or_, masks) for masks in zip(*boxes, strict=True))
