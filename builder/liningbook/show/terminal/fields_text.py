"""The fields of the source files as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.say.command import fields as say
from liningbook.say.faults.words import one_of
from liningbook.show.terminal.lines import WIDEST, wide, wrapped
from liningbook.show.views.field_view import Field, FieldGroup, FileFields, all_topics, file_fields


def overview_text(width: int = WIDEST) -> str:
    """How the folder of a protocol looks, how a file is written, and of what there are lists of fields."""
    lines = [say.FOLDER_HEAD, "", f"  {say.FOLDER}"]
    for topic in all_topics():
        shown = file_fields(topic)
        about = f"{shown.description} ({shown.needed})" if shown.needed else shown.description
        lines += _beside(f"    {shown.file}", about, 40, width)
    lines += ["", *wrapped(say.WRITING_HEAD, width), ""]
    for written, meaning in say.WRITING:
        *above, last = written.split("\n")
        lines += [*(f"  {row}" for row in above), *_beside(f"  {last}", meaning, 40, width)]
    topics = say.TOPICS.format(topics=one_of(tuple(all_topics())))
    return "\n".join([*lines, "", *wrapped(say.RULE_FILES, width), "", *wrapped(topics, width)]) + "\n"


def fields_text(shown: FileFields, width: int = WIDEST) -> str:
    """The fields of one file."""
    lines = [shown.file, *wrapped(shown.description, width)]
    for number, group in enumerate(shown.groups):
        lines += ["", *_group_lines(group, width, is_first=number == 0)]
    return "\n".join(lines) + "\n"


def _group_lines(group: FieldGroup, width: int, *, is_first: bool) -> Iterator[str]:
    if not is_first:
        yield group.title
        yield from wrapped(group.description, width)
    if group.one_of:
        yield from wrapped(say.ONE_NEEDED.format(names=one_of(group.one_of)), width)
    for field in group.fields:
        yield from _field_lines(field, width)


def _field_lines(field: Field, width: int) -> Iterator[str]:
    needed = say.needed_words(field.needed)
    value = say.value_words(field.value, field.group)
    indent = " " * _column(20, width)
    yield from _beside(f"  {field.name}", say.of_field(needed, value), 20, width)
    yield from wrapped(field.description, width, indent)
    if field.example:
        yield from wrapped(field.example, width, indent, f"{indent}  ")


def _beside(head: str, text: str, column: int, width: int) -> list[str]:
    """A word with what it means beside it, from a column on; on the next line where the word is longer."""
    column = _column(column, width)
    if wide(head) < column:
        return wrapped(text, width, head.ljust(column))
    return [head, *wrapped(text, width, " " * column)]


def _column(column: int, width: int) -> int:
    """A column of what is laid out for the widest lines; narrow ones have no more than an indent."""
    return column if width >= 2 * column else 6
