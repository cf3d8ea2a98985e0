"""The fields of the source files as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from liningbook.say.command import fields as say
from liningbook.say.faults.words import one_of
from liningbook.show.views.field_view import Field, FieldGroup, FileFields, all_topics, file_fields

WIDTH = 100
"""Lines are no longer, so that they fit a window and a sheet of paper."""


def overview_text() -> str:
    """How the folder of a protocol looks, how a file is written, and of what there are lists of fields."""
    lines = [say.FOLDER_HEAD, "", f"  {say.FOLDER}"]
    for topic in all_topics():
        shown = file_fields(topic)
        about = f"{shown.description} ({shown.needed})" if shown.needed else shown.description
        lines += _beside(f"    {shown.file}", about, 40)
    lines += ["", say.WRITING_HEAD, ""]
    for written, meaning in say.WRITING:
        *above, last = written.split("\n")
        lines += [*(f"  {row}" for row in above), *_beside(f"  {last}", meaning, 40)]
    lines += ["", *_wrapped(say.RULE_FILES), "", *_wrapped(say.TOPICS.format(topics=one_of(tuple(all_topics()))))]
    return "\n".join(lines) + "\n"


def fields_text(shown: FileFields) -> str:
    """The fields of one file."""
    lines = [shown.file, *_wrapped(shown.description)]
    for number, group in enumerate(shown.groups):
        lines += ["", *_group_lines(group, is_first=number == 0)]
    return "\n".join(lines) + "\n"


def _group_lines(group: FieldGroup, is_first: bool) -> Iterator[str]:
    if not is_first:
        yield group.title
        yield from _wrapped(group.description)
    if group.one_of:
        yield say.ONE_NEEDED.format(names=one_of(group.one_of))
    for field in group.fields:
        yield from _field_lines(field)


def _field_lines(field: Field) -> Iterator[str]:
    needed = say.needed_words(field.needed)
    value = say.value_words(field.value, field.group)
    yield from _beside(f"  {field.name}", say.of_field(needed, value), 20)
    yield from _wrapped(field.description, " " * 20)
    if field.example:
        yield from _wrapped(field.example, " " * 20, "  ")


def _wrapped(text: str, indent: str = "", hang: str = "") -> list[str]:
    """A text in lines, none of which ends within a word with a hyphen."""
    return wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + hang, break_on_hyphens=False)


def _beside(head: str, text: str, column: int) -> list[str]:
    """A word with what it means beside it, from a column on; on the next line where the word is longer."""
    rows = [row[column:] for row in _wrapped(text, " " * column)] or [""]
    first = [f"{head.ljust(column)}{rows[0]}"] if len(head) < column else [head, " " * column + rows[0]]
    return [line.rstrip() for line in (*first, *(" " * column + row for row in rows[1:]))]
