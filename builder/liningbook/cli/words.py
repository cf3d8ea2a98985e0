"""How a table of cases is written, by the file of words that a call names."""

from __future__ import annotations

from pathlib import Path

from liningbook.cases.columns import TableForm
from liningbook.cli.common import FOUND, CannotDo
from liningbook.cli.terminal import complain_at_length
from liningbook.say.cases import yes_or_no
from liningbook.say.catalogue import speaking
from liningbook.say.command import stops
from liningbook.sources.csv_rows import Rows
from liningbook.space.cells import Space


def form_of(words: Path | None, rows: Rows, space: Space, language: str) -> TableForm:
    """How a table is written. Stops with the findings if there is a file of words that cannot be used."""
    with speaking(language):
        yes_and_no = {yes_or_no(value): value for value in ("yes", "no")}
    if words is None:
        return TableForm({}, yes_and_no, rows.separator == ";")
    from liningbook.cases.build_columns import read_columns
    from liningbook.show.terminal.report import findings_alone

    columns, folder, findings = read_columns(words.read_bytes(), str(words), space)
    if findings:
        complain_at_length(lambda width: findings_alone(findings, folder.texts, width))
        raise CannotDo(stops.WORDS_CANNOT_BE_READ.format(name=words), FOUND)
    return TableForm(columns, yes_and_no, rows.separator == ";")
