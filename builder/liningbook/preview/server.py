"""Serves the preview to browsers of this machine, and to nothing else.

Bound to 127.0.0.1. A request under any other name is refused, so that a site whose name was made to lead here (DNS
rebinding) reads nothing; one that another site has caused is refused as well (Fetch Metadata, `Sec-Fetch-Site`).
Changes are told as Server-Sent Events (HTML Living Standard, section 9.2).
"""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from socket import SHUT_RDWR
from threading import Condition
from typing import Any

from liningbook.preview.workshop import Showing
from liningbook.say.command import stops
from liningbook.show.web.page_html import window_html

ADDRESS = "127.0.0.1"

MOST_CONNECTIONS = 32
"""How many connections are open at once; for one more the oldest is let go (a browser that waits comes back)."""

IDLE = 10.0
"""Seconds for which a connection may say nothing while its request is read or its answer taken."""

STILL_HERE = 15.0
"""Seconds after which a browser that waits is told that nothing has changed."""

HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}

PAGE_POLICY = "frame-ancestors 'self'; worker-src 'none'; connect-src 'none'"
"""Joined to the policy that the page itself holds: nobody else frames it, and nothing of it is kept."""

GONE = (ConnectionError, TimeoutError)


class Server(ThreadingHTTPServer):
    """Shows what it was given last. Raises OSError where the port is taken; port 0 takes any that is free."""

    daemon_threads = True
    request_queue_size = MOST_CONNECTIONS  # with fewer a browser that opens several waits a second
    allow_reuse_address = os.name == "posix"  # elsewhere it would let two programs share a port

    def __init__(self, port: int, showing: Showing) -> None:
        super().__init__((ADDRESS, port), _Handler)
        self.change = Condition()
        self.showing = showing
        self.ended = False
        self.tell_fault: Callable[[str], object] = str
        """Takes the trace of a fault of the program, to tell of it."""
        self._connections: dict[Any, None] = {}
        self.window, self.window_policy = window_html()
        names = (f"{name}:{self.server_port}" for name in (ADDRESS, "localhost"))
        self.hosts = frozenset((*names, *((ADDRESS, "localhost") if self.server_port == 80 else ())))

    @property
    def address(self) -> str:
        """Where a browser finds it."""
        return f"http://{ADDRESS}:{self.server_port}/"

    def show(self, showing: Showing) -> None:
        """Shows something else from now on, and tells every browser that waits."""
        with self.change:
            self.showing = showing
            self.change.notify_all()

    def wait(self, connection: Any, told: str) -> str | None:
        """The version to be seen, once it is another than the one told or some time has passed.

        Nothing at the end, or when the connection has been let go.
        """

        def over() -> bool:
            return self.ended or connection not in self._connections

        with self.change:
            self.change.wait_for(lambda: over() or self.showing.version != told, STILL_HERE)
            return None if over() else self.showing.version

    def process_request(self, request: Any, client_address: Any) -> None:
        """Takes a connection; where that is one too many, the oldest is let go."""
        with self.change:
            self._connections[request] = None
            if len(self._connections) > MOST_CONNECTIONS:
                oldest = next(iter(self._connections))
                del self._connections[oldest]
                with suppress(OSError):
                    oldest.shutdown(SHUT_RDWR)
                self.change.notify_all()
        super().process_request(request, client_address)

    def shutdown_request(self, request: Any) -> None:
        """Ends a connection."""
        with self.change:
            self._connections.pop(request, None)
        super().shutdown_request(request)

    def end(self) -> None:
        """Lets every browser go and stops serving; the port is free again."""
        with self.change:
            self.ended = True
            self.change.notify_all()
        self.shutdown()
        self.server_close()

    def handle_error(self, request: Any, client_address: Any) -> None:  # noqa: ARG002
        """A browser that has gone away is no error; what is one is told to whoever serves."""
        if not isinstance(sys.exception(), GONE):
            self.tell_fault(traceback.format_exc())


class _Handler(BaseHTTPRequestHandler):
    server: Server
    timeout = IDLE
    server_version = "Liningbook"
    sys_version = ""

    def do_GET(self) -> None:
        path = self.path.partition("?")[0]
        if self.headers.get("Host", "").lower() not in self.server.hosts:
            self._refuse(HTTPStatus.MISDIRECTED_REQUEST, stops.OTHER_MACHINE)
        elif self.headers.get("Sec-Fetch-Site", "none") not in ("none", "same-origin") and not self._is_visit(path):
            self._refuse(HTTPStatus.FORBIDDEN, stops.OTHER_SITE)
        elif path == "/":
            self._send(self.server.window.encode(), "text/html; charset=utf-8", self.server.window_policy)
        elif path == "/page":
            self._send(self.server.showing.page, "text/html; charset=utf-8", PAGE_POLICY)
        elif path == "/events":
            self._tell()
        else:
            self._refuse(HTTPStatus.NOT_FOUND, stops.NOTHING_HERE)

    do_HEAD = do_GET

    def _is_visit(self, path: str) -> bool:
        """Whether a person followed a link to the window, from wherever."""
        return path == "/" and self.headers.get("Sec-Fetch-Dest") == "document"

    def _tell(self) -> None:
        self._head(HTTPStatus.OK, "text/event-stream", "default-src 'none'")
        if self.command == "HEAD":
            return
        told = ""
        self.wfile.write(b"retry: 500\n\n")
        while (version := self.server.wait(self.connection, told)) is not None:
            self.wfile.write(b": still here\n\n" if version == told else f"data: {version}\n\n".encode())
            self.wfile.flush()
            told = version

    def _refuse(self, status: HTTPStatus, words: str) -> None:
        self._send(f"{words}\n".encode(), "text/plain; charset=utf-8", "default-src 'none'", status)

    def _send(self, content: bytes, kind: str, policy: str, status: HTTPStatus = HTTPStatus.OK) -> None:
        self._head(status, kind, policy, len(content))
        if self.command != "HEAD":
            self.wfile.write(content)

    def _head(self, status: HTTPStatus, kind: str, policy: str, length: int | None = None) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        if length is not None:
            self.send_header("Content-Length", str(length))
        for name, value in {**HEADERS, "Content-Security-Policy": policy}.items():
            self.send_header(name, value)
        self.end_headers()

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002
        """Nothing is logged: what is asked for is nobody's business."""
