"""`liningbook fields`."""

from __future__ import annotations

import argparse

from liningbook.cli.common import CannotDo
from liningbook.cli.terminal import columns, say
from liningbook.say.command.fields import NO_TOPIC, THERE_ARE
from liningbook.say.faults.words import did_you_mean


def run(options: argparse.Namespace) -> int:
    """Prints the fields of one file, or the list of files; as Markdown all of them."""
    from liningbook.show.markup.fields_page import fields_page
    from liningbook.show.terminal.fields_text import fields_text, overview_text
    from liningbook.show.views.field_view import all_topics, file_fields

    topics = all_topics()
    words = {word: topic for topic, row in topics.items() for word in (topic, row.name, *row.meant, *row.files)}
    topic = words.get((options.topic or "").strip().lower())
    if options.topic and topic is None:
        near = did_you_mean(options.topic, words) or THERE_ARE.format(topics=", ".join(topics))
        raise CannotDo(NO_TOPIC.format(name=options.topic, near=near))
    if options.format == "markdown":
        say(fields_page())
    else:
        say(fields_text(file_fields(topic), columns()) if topic else overview_text(columns()))
    return 0
