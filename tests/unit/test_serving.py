"""What one client may hold of the server, and a stop that ends whatever the clients do."""

from __future__ import annotations

import contextlib
import errno
import http.client
import json
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import pytest

from ringside.cli.serve import serve_until_stopped
from ringside.web.serve import bounds
from ringside.web.serve.server import Server, everywhere, why_not
from tests.ports import free_port
from tests.support import PATIENCE, until
from tests.support import Server as Process

NEVER = 3600  # seconds: what must not be waited for would last longer than the test may
MOST_BODY = 100_000
BIG = b"x" * 50_000_000

linux_only = pytest.mark.skipif(sys.platform != "linux", reason="has its way of sharing ports")


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing ends by waiting, but for what a test gives an end."""
    for name in ("IDLE", "RECEIVED_IN", "TAKEN_IN", "UNTAKEN", "LEFT_IN", "STOPPED_IN"):
        monkeypatch.setattr(bounds, name, NEVER)


class App:
    """Reads the whole body and says how long it was; some paths are slow or long."""

    def __init__(self) -> None:
        self.go_on = threading.Event()
        self.asked: list[str] = []

    def __call__(self, environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        size = int(environ.get("CONTENT_LENGTH") or 0)
        found = len(environ["wsgi.input"].read(size))
        self.asked.append(environ["PATH_INFO"])
        if environ["PATH_INFO"] == "/stuck":
            self.go_on.wait(PATIENCE)
        body = BIG if environ["PATH_INFO"] == "/big" else str(found).encode()
        start("200 OK", [("Content-Length", str(len(body)))])
        return [body]


@pytest.fixture
def app() -> Iterator[App]:
    app = App()
    yield app
    app.go_on.set()


@pytest.fixture
def serve(
    app: App, patient: None, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[..., Server]]:
    """Start a server of the App on this computer, with two workers."""
    servers = []

    def start(host: str = "127.0.0.1") -> Server:
        server = Server(host, free_port(), app, MOST_BODY, workers=2)
        server.begin()
        until(lambda: server.ready)
        servers.append(server)
        return server

    yield start
    app.go_on.set()
    for name in ("STOPPED_IN", "CUT_IN"):
        monkeypatch.setattr(bounds, name, 1)
    for server in servers:
        server.end()


Connect = Callable[..., socket.socket]


@pytest.fixture
def connect() -> Iterator[Connect]:
    """Make a client that says something; it is closed whatever comes of it."""
    with contextlib.ExitStack() as clients:

        def connect(address: tuple[str, int], sent: bytes = b"") -> socket.socket:
            client = socket.create_connection(address, timeout=PATIENCE)
            clients.enter_context(client)
            client.sendall(sent)
            return client

        yield connect


def answer(client: socket.socket) -> bytes:
    """All that the server sends, until it closes."""
    parts = []
    with contextlib.suppress(ConnectionResetError):
        while part := client.recv(65_536):
            parts.append(part)
    return b"".join(parts)


def ask(
    server: Server, path: str = "/", host: str = "127.0.0.1", **options: Any
) -> tuple[int, bytes]:
    connection = http.client.HTTPConnection(host, server.bind_addr[1], timeout=PATIENCE)
    with contextlib.closing(connection):
        connection.request("POST", path, **{"body": b"four", **options})
        response = connection.getresponse()
        return response.status, response.read()


def refuses(server: Server) -> bool:
    """Whether nobody listens any more."""
    with socket.socket() as client:
        return client.connect_ex(("127.0.0.1", server.bind_addr[1])) == errno.ECONNREFUSED


def end(server: Server) -> int:
    """How many requests a stop cuts off; it must not wait for ever."""
    left: list[int] = []
    stopping = threading.Thread(target=lambda: left.append(server.end()), daemon=True)
    stopping.start()
    stopping.join(PATIENCE)
    assert left, "It did not end."
    return left[0]


HALF = b"POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 10\r\n\r\n12345"
NO_END = b"GET / HTTP/1.1\r\nHost: x\r\n"
WHOLE = b"GET %s HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"


# --- Clients that hold us up


def test_clients_that_say_nothing_keep_nobody_waiting(
    serve: Callable[..., Server], connect: Connect
) -> None:
    server = serve()
    silent = [connect(server.bind_addr) for _ in range(50)]
    assert ask(server) == (200, b"4")
    until(lambda: len(server.open) == len(silent))


@pytest.mark.parametrize("begun", [b"G", NO_END, HALF], ids=["line", "headers", "body"])
def test_dripping_does_not_put_off_the_end_of_a_request(
    serve: Callable[..., Server],
    connect: Connect,
    monkeypatch: pytest.MonkeyPatch,
    begun: bytes,
) -> None:
    monkeypatch.setattr(bounds, "RECEIVED_IN", 0.5)
    server = serve()
    client = connect(server.bind_addr, begun)
    client.setblocking(False)
    said = b"?"
    with client, contextlib.suppress(ConnectionError):
        deadline = time.monotonic() + PATIENCE
        while said:
            assert time.monotonic() < deadline
            if begun is not HALF:
                client.send(b"x")
            time.sleep(0.02)
            with contextlib.suppress(BlockingIOError):
                said = client.recv(4096)
                assert b" 200 " not in said
    until(lambda: not server.busy and not server.open)
    assert ask(server) == (200, b"4")


def test_who_does_not_take_the_answer_is_not_waited_for(
    serve: Callable[..., Server], connect: Connect, app: App, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = serve()
    clients = [connect(server.bind_addr, WHOLE % b"/big") for _ in range(5)]
    until(lambda: app.asked == ["/big"] * 5)  # though there are two workers
    assert ask(server) == (200, b"4")
    monkeypatch.setattr(bounds, "UNTAKEN", 0)
    until(lambda: not server.busy and not server.open)
    for client in clients:
        assert len(answer(client)) < len(BIG)


def test_there_are_only_so_many_connections(
    serve: Callable[..., Server], connect: Connect, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "MOST_CONNECTIONS", 10)
    server = serve()
    first = connect(server.bind_addr)
    until(lambda: len(server.open) == 1)
    for _ in range(9):
        connect(server.bind_addr)
    until(lambda: len(server.open) == 10)
    # The one that is silent for longest gives way to who comes last.
    assert ask(server) == (200, b"4")
    assert answer(first) == b""
    assert len(server.open) <= 10


def test_long_headers_and_bodies_are_refused(
    serve: Callable[..., Server], connect: Connect
) -> None:
    server = serve()
    for sent in (
        WHOLE % (b"/" + b"x" * 100_000),
        NO_END + b"X: " + b"x" * 100_000 + b"\r\n\r\n",
        NO_END + b"X: x\r\n" * 20_000 + b"\r\n",
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 200000\r\n\r\n",
    ):
        client = connect(server.bind_addr)
        with client, contextlib.suppress(ConnectionError):
            client.sendall(sent)
            said = answer(client)
            assert not said or said.split()[1] in (b"413", b"414")
    assert ask(server) == (200, b"4")


def test_connections_are_kept_for_the_next_request(serve: Callable[..., Server]) -> None:
    server = serve()
    connection = http.client.HTTPConnection("127.0.0.1", server.bind_addr[1], timeout=PATIENCE)
    used = set()
    with contextlib.closing(connection):
        for _ in range(3):
            connection.request("POST", "/", body=b"four")
            used.add(connection.sock.getsockname()[1])
            assert connection.getresponse().read() == b"4"
    assert len(used) == 1


# --- A stop


def test_idle_connections_do_not_put_off_a_stop(
    serve: Callable[..., Server], connect: Connect
) -> None:
    server = serve()
    idle = [connect(server.bind_addr) for _ in range(20)]
    kept = http.client.HTTPConnection("127.0.0.1", server.bind_addr[1], timeout=PATIENCE)
    with contextlib.closing(kept):
        kept.request("POST", "/", body=b"four")
        assert kept.getresponse().read() == b"4"
        until(lambda: len(server.open) == 21)
        assert end(server) == 0
        assert all(answer(one) == b"" for one in idle)


def test_an_open_request_is_answered_whole_and_no_new_one_is_taken(
    serve: Callable[..., Server], connect: Connect
) -> None:
    server = serve()
    client = connect(server.bind_addr, HALF)
    until(lambda: server.busy)
    left: list[int] = []
    stopping = threading.Thread(target=lambda: left.append(server.end()))
    stopping.start()
    until(lambda: refuses(server))
    client.sendall(b"67890")
    with client:
        assert answer(client).endswith(b"\r\n\r\n10")
    stopping.join(PATIENCE)
    assert left == [0]


@pytest.mark.parametrize(
    "sent", [HALF, WHOLE % b"/stuck", WHOLE % b"/big"], ids=["no-end", "stuck", "not-taken"]
)
def test_nobody_holds_a_stop_beyond_its_bound(
    app: App,
    connect: Connect,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    sent: bytes,
) -> None:
    monkeypatch.setattr(bounds, "STOPPED_IN", 0.5)
    monkeypatch.setattr(bounds, "CUT_IN", 0.5)
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    server = Server("127.0.0.1", free_port(), app, MOST_BODY, workers=2)

    def meanwhile() -> None:
        until(lambda: server.ready)
        connect(server.bind_addr, sent)
        until(lambda: server.busy)
        os.kill(os.getpid(), signal.SIGTERM)

    client = threading.Thread(target=meanwhile)
    client.start()
    try:
        serve_until_stopped(server)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        client.join()
    said = capsys.readouterr().out
    assert said.startswith("Stopping: finishing open requests.\nRequests cut off")
    assert said.endswith(": 1.\n")


def test_the_command_finishes_what_is_open_when_it_is_asked_to_stop(
    start_server: Callable[..., Process], connect: Connect
) -> None:
    process = start_server("demo")
    headers = {"Host": f"localhost:{process.port}", "Content-Type": "application/json"}
    with contextlib.closing(process.connect()) as connection:
        connection.request("GET", "/api/session", headers=headers)
        first = connection.getresponse()
        headers["X-CSRFToken"] = json.load(first)["csrf"]
        headers["Cookie"] = first.headers["Set-Cookie"].partition(";")[0]
        body = json.dumps({"device": "01900000-0000-7000-8000-000000000001"}).encode()
        headers |= {"Content-Length": str(len(body)), "Expect": "100-continue"}
        lines = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
        here = ("127.0.0.1", process.port)
        for _ in range(20):
            connect(here)
        client = connect(here, f"POST /api/sync HTTP/1.1\r\n{lines}\r\n".encode())
        assert client.recv(4096).startswith(b"HTTP/1.1 100 ")  # now it is under way
        client.sendall(body[:20])
        stopping = threading.Thread(target=process.stop)
        stopping.start()
        until(lambda: "Stopping" in process.output)
        client.sendall(body[20:])
        said = answer(client)
    stopping.join(PATIENCE)
    assert said.startswith(b"HTTP/1.1 200 ")
    assert json.loads(said.partition(b"\r\n\r\n")[2])["more"] in (True, False)
    assert not process.running
    assert "cut off" not in process.output
    assert "Traceback" not in process.output


def test_a_server_that_cannot_begin_says_so(serve: Callable[..., Server], app: App) -> None:
    server = Server("127.0.0.1", serve().bind_addr[1], app, MOST_BODY)
    with pytest.raises(OSError, match="in use"):
        server.begin()
    assert not server.ready
    assert server.end() == 0


# --- Where it listens


def test_a_port_that_is_in_use_is_seen(serve: Callable[..., Server]) -> None:
    port = serve().bind_addr[1]
    assert why_not("127.0.0.1", port) == errno.EADDRINUSE
    assert why_not(everywhere(), port) == errno.EADDRINUSE
    assert why_not("127.0.0.1", free_port()) == 0
    assert why_not(everywhere(), free_port()) == 0


@linux_only
def test_a_port_that_is_in_use_at_another_address_is_seen() -> None:
    with socket.create_server(("127.0.0.2", 0)) as other:
        port = other.getsockname()[1]
        assert why_not("127.0.0.1", port) == 0
        assert why_not("0.0.0.0", port) == errno.EADDRINUSE
        assert why_not(everywhere(), port) == errno.EADDRINUSE


def test_an_address_that_is_not_ours_is_refused() -> None:
    assert why_not("192.0.2.77", free_port()) not in (0, errno.EADDRINUSE)


def test_with_ipv6_both_are_listened_to(serve: Callable[..., Server]) -> None:
    server = serve(everywhere())
    assert ask(server) == (200, b"4")
    if socket.has_dualstack_ipv6():
        assert ask(server, host="::1") == (200, b"4")


def test_without_ipv6_the_other_is_listened_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(socket, "has_dualstack_ipv6", lambda: False)
    assert everywhere() == "0.0.0.0"
