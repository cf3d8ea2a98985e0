"""What a build says while it works: on a terminal what is being done now, with seconds; elsewhere a line a file."""

from __future__ import annotations

import shutil
from time import monotonic

from liningbook.cli.terminal import complain, is_live, write_over
from liningbook.say.cases import shortened
from liningbook.say.command.progress import doing, seconds_words
from liningbook.sources.text import visible


class Progress:
    """Lines on standard error. On a terminal the line of a step gives way to the next one, and a file's line stays."""

    def __init__(self) -> None:
        self.live = is_live()
        self.since = monotonic()
        self.name = ""

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        self.clear()

    def begin(self, name: str) -> None:
        """What is worked on from now on: a file, or the protocol."""
        self.name, self.since = name, monotonic()

    def step(self, words: str) -> None:
        """What is done to it now; shown on a terminal only."""
        self._over(doing(self.name, words, monotonic() - self.since))

    def end(self, done: str) -> None:
        """What has become of it: one line that stays."""
        self.clear()
        complain(f"{done} {self.name}{f' ({seconds_words(monotonic() - self.since)})' if self.live else ''}\n")

    def say(self, line: str) -> None:
        """One line that stays."""
        self.clear()
        complain(f"{line}\n")

    def clear(self) -> None:
        """Takes away the line of a step, so that something else can be printed."""
        self._over("")

    def _over(self, line: str) -> None:
        if self.live:
            write_over(shortened(visible(line), shutil.get_terminal_size().columns - 1))
