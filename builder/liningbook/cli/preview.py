"""`liningbook preview`."""

from __future__ import annotations

import argparse
import errno
import os
import sys
import traceback
from threading import Event, Thread
from time import monotonic

from liningbook.cli.common import FOUND, CannotDo, chosen_day
from liningbook.cli.terminal import complain, say
from liningbook.model.build import read_folder
from liningbook.preview.server import Server
from liningbook.preview.watch import look, watch
from liningbook.preview.workshop import Showing, Workshop
from liningbook.say.command import progress as words
from liningbook.say.command import stops, usage
from liningbook.say.faults import reason_words
from liningbook.sources.documents import NoProtocol

PORT = 8137
"""The port that is taken if it is free."""


def run(options: argparse.Namespace) -> int:
    """Serves the page and makes it anew at every save, until it is stopped with Ctrl-C."""
    port = _port(options.port)
    chosen_day(options.on)  # a day that is none is told before anything else
    try:
        import watchfiles  # noqa: F401
    except ImportError:
        raise CannotDo(stops.NO_WATCHER) from None
    try:
        read_folder(options.protocol)
    except NoProtocol as no:
        raise CannotDo(reason_words(no)) from None
    workshop = Workshop(options.protocol, lambda: chosen_day(options.on))
    seen = look(options.protocol)
    server = _server(port, workshop.make())
    server.tell_fault = lambda trace: complain(stops.OUR_FAULT.format(trace=trace))
    Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True).start()
    say(f"{server.address}\n")
    complain(words.PREVIEW_RUNS.format(summary=server.showing.summary))
    if not options.no_browser:
        _open(server.address)

    def changed() -> None:
        start = monotonic()
        showing = _made(workshop, server.showing)
        if showing.version != server.showing.version:
            server.show(showing)
            complain(words.preview_shown(showing.summary, monotonic() - start))

    try:
        watch(options.protocol, seen, changed, Event())
    except KeyboardInterrupt:
        complain(words.PREVIEW_ENDED)
    finally:
        server.end()
    return 0


def _made(workshop: Workshop, last: Showing) -> Showing:
    """What is to be shown now. A fault of the program is printed in full and does not end the preview."""
    try:
        return workshop.make()
    except Exception:
        complain(stops.OUR_FAULT.format(trace=traceback.format_exc()))
        return last


def _port(text: str | None) -> int | None:
    if text is None:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) <= 5 and 1 <= int(text) <= 65535):
        raise CannotDo(usage.NO_PORT.format(text=text, usual=PORT))
    return int(text)


def _server(port: int | None, showing: Showing) -> Server:
    number = port or PORT
    try:
        return Server(number, showing)
    except OSError as error:
        if error.errno == errno.EADDRINUSE and port is None:
            return Server(0, showing)
        words = {errno.EADDRINUSE: stops.PORT_TAKEN, errno.EACCES: stops.PORT_FORBIDDEN}.get(error.errno or 0)
        if words is None:
            raise
        raise CannotDo(words.format(number=number), FOUND) from None


def _open(address: str) -> None:
    """Opens the browser where there is a screen; a browser for terminals would cover what is printed here."""
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return
    import webbrowser

    webbrowser.open(address)
