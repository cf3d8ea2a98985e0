"""A decision as text: columns where they fit on a line, else a block a row."""

from __future__ import annotations

from liningbook.show.terminal.decision_table import TableView, as_text

VIEW = TableView(
    "Liner: A protocol",
    ("Depth", "Restoration", "Liner", "Rules"),
    (("0.5 mm or less", "Amalgam", "Calcium hydroxide", "line"), ("more than 0.5 mm", "any", "not needed", "")),
    "2 rows",
    ("Not clinical advice.",),
    "in-force",
    "",
)


def test_a_table_that_fits_has_columns() -> None:
    assert as_text(VIEW, 80) == (
        "Liner: A protocol\n\n"
        "Depth             Restoration  Liner              Rules\n"
        "----------------  -----------  -----------------  -----\n"
        "0.5 mm or less    Amalgam      Calcium hydroxide  line\n"
        "more than 0.5 mm  any          not needed\n\n"
        "2 rows\n\n"
        "Not clinical advice.\n"
    )


def test_a_wider_one_has_a_numbered_block_a_row_without_what_tells_nothing_apart() -> None:
    assert as_text(VIEW, 50) == (
        "Liner: A protocol\n\n"
        " 1  Depth        0.5 mm or less\n"
        "    Restoration  Amalgam\n"
        "    Liner        Calcium hydroxide\n"
        "    Rules        line\n\n"
        " 2  Depth        more than 0.5 mm\n"
        "    Liner        not needed\n\n"
        "2 rows\n\n"
        "Not clinical advice.\n"
    )
