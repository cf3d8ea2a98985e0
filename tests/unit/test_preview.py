"""The preview without a browser: what it shows at every state of the sources, and to whom."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

import http.client
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from liningbook.cli import main, preview
from liningbook.preview.server import MOST_CONNECTIONS, Server
from liningbook.preview.watch import look, watch
from liningbook.preview.workshop import Showing, Workshop

SMALLEST = Path(__file__).parent.parent / "protocols" / "pass" / "smallest"
FAULTY = Path(__file__).parent.parent.parent / "guidelines" / "faulty"
DAY = date(2026, 11, 25)
SOON = 120.0
"""Seconds after which something is taken never to happen."""


def workshop(folder: Path) -> Workshop:
    return Workshop(folder, lambda: DAY)


def page(showing: Showing) -> str:
    return showing.page.decode()


def article(text: str, rule: str) -> str:
    """What stands in the article of a rule."""
    found = [part for part in re.findall(r"<article.*?</article>", text, re.DOTALL) if f'id="rule-{rule}"' in part]
    assert len(found) == 1
    return found[0]


def words(text: str) -> str:
    """The text of a piece of HTML."""
    return " ".join(unescape(re.sub("<[^>]*>", "", text)).split())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A protocol that may be changed."""
    return Path(shutil.copytree(SMALLEST, tmp_path / "protocol"))


def a_rule(folder: Path) -> Path:
    return sorted((folder / "rules").glob("*.md"))[0]


# --- what is shown ----------------------------------------------------------------------------------------------------


def test_a_finding_stands_beside_its_rule_on_its_line() -> None:
    showing = workshop(FAULTY / "conflict").make()
    beside = article(page(showing), "line-a-deep-cavity")
    assert "<mark" in beside
    assert "rules/line-a-deep-cavity.md, line 4<" in beside
    assert "Must be settled" in words(beside)
    assert "Ways out change the conditions" in words(beside)
    other = article(page(showing), "no-liner-needed")
    link = re.search(r'<a href="#(finding-\d+)">', other)
    assert link is not None
    assert f'id="{link[1]}"' in beside


def test_the_top_counts_and_links_what_was_found() -> None:
    text = page(workshop(FAULTY / "conflict").make())
    top = text[text.index('id="findings"') : text.index('class="page-head"')]
    assert "Preview: 1 must be settled" in words(top)
    for anchor in re.findall(r'href="#([^"]*)"', top):
        assert f'id="{anchor}"' in text


def test_what_stands_in_no_rule_stands_under_its_file() -> None:
    text = page(workshop(FAULTY / "gap").make())
    top = text[text.index('id="findings"') : text.index('class="page-head"')]
    assert "protocol.yaml, line 13<" in top
    assert "(gap)" in top


def test_the_wrong_text_of_a_line_is_set_apart(folder: Path) -> None:
    rule = a_rule(folder)
    rule.write_text(rule.read_text(encoding="utf-8").replace("advise:", "advice:"), encoding="utf-8")
    text = page(workshop(folder).make())
    assert '<mark class="wrong">advice' in text


def test_sources_that_cannot_be_read_are_shown_beside_the_last_page(folder: Path) -> None:
    works, rule = workshop(folder), a_rule(folder)
    good = page(works.make())
    assert 'class="stale"' not in good
    source = rule.read_text(encoding="utf-8")
    rule.write_text(source.replace("advise:", "advice:"), encoding="utf-8")
    bad = works.make()
    assert 'class="stale"' in page(bad)
    assert "Out of date" in page(bad)
    assert 'id="bundle"' in page(bad)
    assert 'class="wrong">advice' in article(page(bad), rule.stem)
    rule.write_text(source, encoding="utf-8")
    assert page(works.make()) == good


def test_without_a_last_page_the_findings_are_shown_alone() -> None:
    showing = workshop(FAULTY / "unreadable").make()
    assert 'id="findings"' in page(showing)
    assert 'id="bundle"' not in page(showing)
    assert "<mark" in page(showing)


@pytest.mark.parametrize("what", ["the folder", "protocol.yaml", "rules", "half a file", "an empty file", "no text"])
def test_there_is_always_something_to_show(what: str, folder: Path) -> None:
    works = workshop(folder)
    good = works.make()
    source = (folder / "protocol.yaml").read_bytes()
    if what == "the folder":
        folder.rename(folder.with_name("elsewhere"))
    elif what == "protocol.yaml":
        (folder / what).unlink()
    elif what == "rules":
        shutil.rmtree(folder / what)
    else:
        cut = {"half a file": source[: len(source) // 2], "an empty file": b"", "no text": b"\xff\xfe\x00"}[what]
        (folder / "protocol.yaml").write_bytes(cut)
    bad = works.make()
    assert bad.version != good.version
    assert 'class="stale"' in page(bad)


def test_author_text_in_a_finding_stays_text(folder: Path) -> None:
    rule = a_rule(folder)
    nasty = "<img src=x onerror=alert(1)></pre><script>alert(1)</script>"
    rule.write_text(rule.read_text(encoding="utf-8").replace("advise:", f"'{nasty}': a\nadvise:"), encoding="utf-8")
    for works in (workshop(folder), _with_a_last_page(folder, rule)):
        text = page(works.make())
        assert "<script>alert" not in text
        assert "<img" not in text
        assert "&lt;script&gt;alert(1)" in text


def _with_a_last_page(folder: Path, rule: Path) -> Workshop:
    bad = rule.read_bytes()
    shutil.copy(SMALLEST / "rules" / rule.name, rule)
    works = workshop(folder)
    works.make()
    rule.write_bytes(bad)
    return works


def test_the_same_sources_are_shown_the_same(folder: Path) -> None:
    assert workshop(folder).make() == workshop(folder).make()


def test_the_page_is_not_kept_for_later_by_the_browser(folder: Path) -> None:
    assert 'data-offline="no"' in page(workshop(folder).make())


# --- to whom ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def server() -> Iterator[Server]:
    """Serves two words on a port of its own."""
    serving = Server(0, Showing(b"the page", "one", "nothing found"))
    thread = threading.Thread(target=serving.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    yield serving
    if not serving.ended:
        serving.end()
    thread.join(SOON)
    assert not thread.is_alive()


def ask(server: Server, path: str = "/page", method: str = "GET", **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=SOON)
    connection.request(method, path, headers={name.replace("_", "-"): value for name, value in headers.items()})
    return connection.getresponse()


def test_it_listens_on_this_machine_alone(server: Server) -> None:
    assert server.server_address[0] == "127.0.0.1"
    assert server.address == f"http://127.0.0.1:{server.server_port}/"


def test_it_answers_under_its_own_names_only(server: Server) -> None:
    port = server.server_port
    for host in (f"127.0.0.1:{port}", f"localhost:{port}", f"LOCALHOST:{port}"):
        assert ask(server, Host=host).status == 200
    for host in ("evil.example", f"evil.example:{port}", "127.0.0.1", f"127.0.0.1:{port + 1}", f"127.0.0.1.evil.example:{port}", ""):  # fmt: skip # noqa: E501
        answer = ask(server, Host=host)
        assert answer.status == 421
        assert b"the page" not in answer.read()


@pytest.mark.parametrize("path", ["/", "/page", "/events"])
@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_reads_nothing(path: str, site: str, server: Server) -> None:
    answer = ask(server, path, Sec_Fetch_Site=site, Sec_Fetch_Dest="iframe")
    assert answer.status == 403
    assert b"the page" not in answer.read()


def test_a_link_to_the_preview_may_be_followed(server: Server) -> None:
    assert ask(server, "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Dest="document").status == 200
    assert ask(server, "/page", Sec_Fetch_Site="same-origin", Sec_Fetch_Dest="iframe").status == 200


def test_nothing_but_reading_is_possible(server: Server) -> None:
    assert ask(server, method="POST").status == 501
    assert ask(server, "/../../etc/passwd").status == 404
    assert ask(server, "/sw.js").status == 404
    assert ask(server, method="HEAD").read() == b""


def test_nobody_else_may_frame_or_keep_it(server: Server) -> None:
    window, shown = ask(server, "/"), ask(server)
    assert "frame-ancestors 'none'" in str(window.getheader("Content-Security-Policy"))
    assert "frame-ancestors 'self'" in str(shown.getheader("Content-Security-Policy"))
    for answer in (window, shown):
        assert answer.getheader("Cache-Control") == "no-store"
        assert answer.getheader("Access-Control-Allow-Origin") is None


def test_the_window_may_ask_only_here(server: Server) -> None:
    policy = str(ask(server, "/").getheader("Content-Security-Policy"))
    rules = dict(part.split(" ", 1) for part in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["connect-src"] == rules["frame-src"] == "'self'"
    assert "unsafe" not in policy


def events(answer: http.client.HTTPResponse) -> Iterator[str]:
    """The versions that are told."""
    for line in answer:
        if line.startswith(b"data: "):
            yield line[6:].decode().strip()


def test_a_change_is_told_to_every_browser_that_waits(server: Server) -> None:
    waiting = [events(ask(server, "/events")) for _ in range(3)]
    assert [next(versions) for versions in waiting] == ["one"] * 3
    server.show(Showing(b"another page", "two", "nothing found"))
    assert [next(versions) for versions in waiting] == ["two"] * 3
    assert ask(server).read() == b"another page"


def test_the_end_lets_every_browser_go_and_frees_the_port(server: Server) -> None:
    waiting = events(ask(server, "/events"))
    next(waiting)
    server.end()
    assert list(waiting) == []
    Server(server.server_port, server.showing).server_close()


@pytest.mark.parametrize(
    ("fault", "told"), [(ValueError("wrong"), ["ValueError: wrong"]), (ConnectionResetError(), [])]
)
def test_a_fault_while_serving_is_told_to_whoever_serves_and_a_browser_that_left_is_not(
    fault: Exception,
    told: list[str],
    server: Server,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    traces: list[str] = []
    server.tell_fault = traces.append

    def fails(*_: object) -> None:
        raise fault

    monkeypatch.setattr(server, "finish_request", fails)
    server.process_request_thread(socket.socket(), ("127.0.0.1", 1))
    assert [trace.splitlines()[-1] for trace in traces] == told
    assert capsys.readouterr() == ("", "")


def test_a_browser_that_goes_away_is_no_error(server: Server, capsys: pytest.CaptureFixture[str]) -> None:
    for _ in range(3):
        with socket.create_connection(("127.0.0.1", server.server_port)) as stream:
            stream.sendall(f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{server.server_port}\r\n\r\n".encode())
            stream.recv(10)
        server.show(Showing(b"", str(time.monotonic()), ""))
    assert ask(server).status == 200
    assert capsys.readouterr().err == ""


def test_of_too_many_connections_the_oldest_are_let_go(server: Server) -> None:
    silent = [socket.create_connection(("127.0.0.1", server.server_port), SOON) for _ in range(MOST_CONNECTIONS)]
    waiting = events(ask(server, "/events"))
    assert next(waiting) == "one"
    assert silent[0].recv(1) == b"", "the oldest is let go"
    more = [socket.create_connection(("127.0.0.1", server.server_port), SOON) for _ in range(MOST_CONNECTIONS)]
    assert list(waiting) == [], "one that waits for changes too"
    assert ask(server).read() == b"the page", "whoever comes is served all the same"
    for stream in (*silent, *more):
        stream.close()


def test_a_connection_that_says_nothing_is_ended(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server.RequestHandlerClass, "timeout", 0.1)
    with socket.create_connection(("127.0.0.1", server.server_port), SOON) as stream:
        stream.sendall(b"GET /pa")
        assert stream.recv(1) == b""


# --- hearing of changes -----------------------------------------------------------------------------------------------


class Watching:
    """Watches a folder in a thread and counts what it is told."""

    def __init__(self, folder: Path) -> None:
        self.told, self.stop = threading.Semaphore(0), threading.Event()
        self.thread = threading.Thread(target=watch, args=(folder, look(folder), self.told.release, self.stop))

    def __enter__(self) -> Watching:
        self.thread.start()
        time.sleep(0.3)  # until the system listens; what comes before is found by looking
        return self

    def __exit__(self, *_: object) -> None:
        self.stop.set()
        self.thread.join(SOON)
        assert not self.thread.is_alive()

    def hears(self) -> bool:
        """Whether it is told of a change; then waits until it is quiet."""
        heard = self.told.acquire(timeout=SOON)
        while self.told.acquire(timeout=0.6):
            pass
        return heard


def save_in_place(folder: Path) -> None:
    with a_rule(folder).open("a", encoding="utf-8") as stream:
        stream.write("More.\n")


def save_beside(folder: Path) -> None:
    rule = a_rule(folder)
    new = rule.with_name(".new")
    new.write_bytes(rule.read_bytes() + b"More.\n")
    new.replace(rule)


def add_a_rule(folder: Path) -> None:
    shutil.copy(a_rule(folder), folder / "rules" / "another.md")


def rename_a_rule(folder: Path) -> None:
    a_rule(folder).rename(folder / "rules" / "renamed.md")


def make_the_rules_anew(folder: Path) -> None:
    shutil.copytree(folder / "rules", folder / "rules-new")
    shutil.rmtree(folder / "rules")
    (folder / "rules-new").rename(folder / "rules")


@pytest.mark.parametrize("how", [save_in_place, save_beside, add_a_rule, rename_a_rule, make_the_rules_anew])
def test_every_way_to_save_is_heard(how: Callable[[Path], None], folder: Path) -> None:
    with Watching(folder) as watching:
        how(folder)
        assert watching.hears()
        save_in_place(folder)
        assert watching.hears()


def test_a_folder_may_be_gone_for_a_moment(folder: Path, tmp_path: Path) -> None:
    with Watching(folder) as watching:
        folder.rename(tmp_path / "elsewhere")
        assert watching.hears()
        shutil.copytree(tmp_path / "elsewhere", folder)
        assert watching.hears()
        save_in_place(folder)
        assert watching.hears()


def test_where_the_system_tells_nothing_the_folder_is_looked_at(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def deaf(*_: object, **__: object) -> Iterator[set[object]]:
        raise OSError(28, "OS file watch limit reached")

    monkeypatch.setattr("watchfiles.watch", deaf)
    with Watching(folder) as watching:
        save_in_place(folder)
        assert watching.hears()


def test_what_was_saved_before_it_listened_is_heard(folder: Path) -> None:
    told, stop, seen = threading.Event(), threading.Event(), look(folder)
    save_in_place(folder)
    thread = threading.Thread(target=watch, args=(folder, seen, told.set, stop))
    thread.start()
    assert told.wait(SOON)
    stop.set()
    thread.join(SOON)


def test_nothing_is_told_while_nothing_changes(folder: Path) -> None:
    with Watching(folder) as watching:
        assert not watching.told.acquire(timeout=1.2)


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("nowhere",), 2, "there is no folder nowhere"),
        ((str(SMALLEST), "--port", "0"), 2, "'0' is not a port"),
        ((str(SMALLEST), "--port", "65536"), 2, "'65536' is not a port"),
        ((str(SMALLEST), "--port", "many"), 2, "'many' is not a port"),
        ((str(SMALLEST), "--on", "tomorrow"), 2, "'tomorrow' is not a day"),
    ],
)
def test_a_wrong_call_is_told_in_one_line(
    arguments: tuple[str, ...], code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["preview", "--no-browser", *arguments]) == code
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1


def test_a_port_that_is_taken_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert main(["preview", str(SMALLEST), "--no-browser", "--port", str(port)]) == 1
    assert (
        capsys.readouterr().err == f"liningbook: port {port} is taken by another program; choose another with --port\n"
    )


def test_the_usual_port_may_be_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        monkeypatch.setattr(preview, "PORT", other.getsockname()[1])
        server = preview._server(None, Showing(b"", "", ""))
        server.server_close()
        assert server.server_port != preview.PORT


def test_a_missing_watcher_is_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setitem(sys.modules, "watchfiles", None)
    assert main(["preview", str(SMALLEST), "--no-browser"]) == 2
    assert "pip install 'liningbook[preview]'" in capsys.readouterr().err


def test_a_fault_of_the_program_is_printed_and_the_page_stays(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    works = workshop(SMALLEST)
    last = works.make()
    monkeypatch.setattr(works, "make", lambda: json.loads("{"))
    assert preview._made(works, last) is last
    assert "this is a fault of Liningbook" in capsys.readouterr().err


def test_it_shows_a_save_and_ctrl_c_ends_it(folder: Path, repository: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", "liningbook", "preview", str(folder), "--no-browser", "--port", str(port)],
        env={**os.environ, "PYTHONPATH": str(repository / "builder")},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    try:
        assert process.stdout.readline() == f"http://127.0.0.1:{port}/\n"
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=SOON)
        connection.request("GET", "/events")
        versions = events(connection.getresponse())
        next(versions)
        edited = (folder / "protocol.yaml").read_text(encoding="utf-8").replace("title: ", "title: Edited ")
        (folder / "protocol.yaml").write_text(edited, encoding="utf-8")
        next(versions)
        other = http.client.HTTPConnection("127.0.0.1", port, timeout=SOON)
        other.request("GET", "/page")
        assert "Edited " in other.getresponse().read().decode()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=SOON)
    finally:
        process.kill()
    assert (process.returncode, out) == (0, "")
    assert err.endswith("the preview has ended\n")
    assert "Traceback" not in err
