"""The fields of all source files as a page of Markdown."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.say.command import fields as say
from liningbook.say.faults.words import one_of
from liningbook.show.terminal.fields_text import overview_text
from liningbook.show.views.field_view import FieldGroup, all_topics, file_fields


def fields_page() -> str:
    """The page: the folder and how a file is written, then each file with a table a group."""
    lines = [f"# {say.PAGE_TITLE}", "", say.PAGE_LEAD, "", "```text", *overview_text().rstrip("\n").split("\n"), "```"]
    for topic in all_topics():
        shown = file_fields(topic)
        lines += ["", f"## {shown.file}", "", shown.description]
        for number, group in enumerate(shown.groups):
            lines += ["", *_group_lines(group, is_first=number == 0)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _group_lines(group: FieldGroup, is_first: bool) -> Iterator[str]:
    if not is_first:
        yield from (f"### {group.title}", "", group.description, "")
    if group.one_of:
        yield from (say.ONE_NEEDED.format(names=one_of(tuple(f"`{name}`" for name in group.one_of))), "")
    yield _row(say.COLUMNS)
    yield _row(("---",) * len(say.COLUMNS))
    for field in group.fields:
        value = say.value_words(field.value, field.group, mark="`")
        yield _row((
            f"`{field.name}`",
            say.needed_words(field.needed),
            say.stands_there(field.description, value),
            f"`{field.example}`" if field.example else "",
        ))  # fmt: skip


def _row(cells: tuple[str, ...]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
