"""`liningbook table`."""

from __future__ import annotations

import argparse

from liningbook.cli.common import CannotDo, read_sound
from liningbook.cli.terminal import columns, say
from liningbook.say.command.usage import no_decision
from liningbook.say.faults.words import did_you_mean
from liningbook.show.terminal.decision_table import as_csv, as_html, as_text, table_view


def run(options: argparse.Namespace) -> int:
    """Prints a decision as a table."""
    meaning = read_sound(options)
    protocol = meaning.protocol
    decision = protocol.decisions.get(options.decision)
    if decision is None:
        near = did_you_mean(options.decision, protocol.decisions)
        raise CannotDo(no_decision(options.decision, near, list(protocol.decisions)))
    view = table_view(meaning, decision)
    if options.format == "html":
        say(as_html(view), "markup")
    else:
        say(as_csv(view) if options.format == "csv" else as_text(view, columns()))
    return 0
