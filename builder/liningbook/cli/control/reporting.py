"""`liningbook reporting`."""

from __future__ import annotations

import argparse

from liningbook.cli.common import read_sound
from liningbook.cli.terminal import columns, print_json, say


def run(options: argparse.Namespace) -> int:
    """Prints what of RIGHT and AGREE II is reported, and where; exits 0 whatever is missing."""
    protocol = read_sound(options).protocol
    if options.format == "json":
        from liningbook.exchange.reporting_json import reporting_json

        print_json(reporting_json(protocol))
    else:
        from liningbook.show.terminal.reporting_text import reporting_text

        say(reporting_text(protocol, columns()))
    return 0
