"""The figures of a reply, drawn by the page's own script, so that each picture is drawn once (V8, through mini-racer).

The script runs in an engine of its own that has neither files nor a network. What it draws from goes in as JSON texts,
so that no author's words are ever read as code.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from liningbook.cases.question import Reply
from liningbook.exchange.frame import FORMAT, VERSION, chart_of, frame_of
from liningbook.meaning.meaning import Meaning
from liningbook.say.look_up.words import script_words
from liningbook.say.outputs import paper
from liningbook.show.assets.font_widths import widths_of
from liningbook.show.assets.fonts import PrintingUnavailable
from liningbook.show.assets.scripts import DRAWING, ENGINE, joined
from liningbook.show.terminal.reply import reply_json
from liningbook.show.views.answer_table import decision_words


@dataclass(frozen=True)
class Example:
    """A case that stands for others: the band in words, the value in it that is drawn, and the choices' own name.

    `at` is empty where no value stands for the band, `top` where there is but one choice.
    """

    reply: Reply
    band: str
    at: str
    top: str


class Drawer:
    """Draws the replies to cases of one protocol, in the language spoken. Raises PrintingUnavailable."""

    def __init__(self, meaning: Meaning) -> None:
        self._protocol = meaning.protocol
        rules: Mapping[str, Any] = {"rules": [], "tables": []}
        bundle = {"format": FORMAT, "version": VERSION, **frame_of(meaning), **chart_of(meaning), **rules}
        words = {**script_words(), "decisions": decision_words(meaning)}
        self._engine = engine()
        self._engine.eval("drawerStart")(*with_widths(bundle, words))

    def section(self, reply: Reply, uid: str) -> str:
        """The cross-section (SVG); nothing where the advice is not one full set of layers. `uid` ends identifiers."""
        return self._drawn("drawerSection", reply, uid)

    def sheet(self, cases: Sequence[Example], uid: str, wide: int) -> list[str]:
        """The cross-sections of cases that stand for others, to one scale and of one size, `wide` tenths wide.

        Each is SVG, or nothing as from `section`.
        """
        given = [
            {"band": case.band, "at": case.at, "top": case.top, "reply": reply_json(self._protocol, case.reply)}
            for case in cases
        ]
        found: list[str] = json.loads(self._engine.eval("drawerSheet")(json.dumps(given), uid, wide))
        return found

    def reading(self, reply: Reply, uid: str) -> str:
        """Where readings lie against the thresholds (SVG); nothing where none was taken."""
        return self._drawn("drawerReading", reply, uid)

    def _drawn(self, function: str, reply: Reply, uid: str) -> str:
        return str(self._engine.eval(function)(json.dumps(reply_json(self._protocol, reply)), uid))


def with_widths(bundle: Mapping[str, Any], words: Mapping[str, Any]) -> tuple[str, str]:
    """Bundle and words as JSON texts, the words with the widths of all characters that can be drawn."""
    texts = [json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in (bundle, words)]
    widths = widths_of("".join(texts))
    return texts[0], json.dumps({**words, "widths": widths}, ensure_ascii=False, separators=(",", ":"))


def engine() -> Any:
    """An engine that holds the parts of the script that answer and draw. Raises PrintingUnavailable."""
    try:
        from py_mini_racer import MiniRacer
    except ImportError as error:
        raise PrintingUnavailable(paper.NO_SCRIPT_ENGINE) from error
    made = MiniRacer()
    made.eval(joined(("say", *ENGINE, *DRAWING, "drawer")))
    return made
