"""`liningbook evidence`: what the study tables come to, and what one more study would change."""

from __future__ import annotations

import argparse

from liningbook.cli.common import CannotDo, read_sound
from liningbook.cli.terminal import columns, print_json, say
from liningbook.control.weighed import weighed_tables
from liningbook.evidence.synthesis.installed import is_installed
from liningbook.say.command import evidence as words


def run(options: argparse.Namespace) -> int:
    """Prints what the studies come to; exits 0 whatever that is."""
    protocol = read_sound(options).protocol
    if protocol.tables and not is_installed():
        raise CannotDo(words.MISSING)
    tables = weighed_tables(protocol)
    if options.format == "json":
        from liningbook.exchange.evidence_json import evidence_json

        print_json(evidence_json(protocol, tables))
    elif not tables:
        say(f"{words.NO_TABLES}\n")
    else:
        from liningbook.show.terminal.evidence_text import evidence_text

        say(evidence_text(protocol, tables, columns()))
    return 0
