"""Strangers who drip, at every stage: they hold no thread, little memory, and nobody's place."""

from __future__ import annotations

import contextlib
import http.client
import itertools
import json
import os
import random
import socket
import ssl
import sys
import threading
import tracemalloc
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from ringside.app import Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.web.serve import bounds
from ringside.web.serve.connection import Pace, line_of
from ringside.web.serve.lan import Lan
from ringside.web.serve.loop import who_gives_way
from ringside.web.serve.server import Server
from ringside.web.serve.tls import Tls
from tests.crowd import gather, peak_memory, write
from tests.known import shipped
from tests.ports import free_port
from tests.strangers import dripping
from tests.support import PATIENCE, until
from tests.support import Server as Process

NEVER = 3600  # seconds
BIG = b"x" * 20_000_000
WORKERS = 2

linux_only = pytest.mark.skipif(sys.platform != "linux", reason="has many addresses of its own")


def app(environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
    """Say what came."""
    size = int(environ.get("CONTENT_LENGTH") or 0)
    body = environ["wsgi.input"].read(size)
    said = BIG if environ["PATH_INFO"] == "/big" else b"[%s]" % body
    start("200 OK", [("Content-Length", str(len(said)))])
    return [said]


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody is let go for being slow."""
    for name in ("IDLE", "RECEIVED_IN", "TAKEN_IN", "UNTAKEN", "LEFT_IN"):
        monkeypatch.setattr(bounds, name, NEVER)
    monkeypatch.setattr(bounds, "STOPPED_IN", 0)


@pytest.fixture
def serve() -> Iterator[Callable[..., Server]]:
    servers = []

    def start(tls: Tls | None = None, app: Any = app, port: int = 0) -> Server:
        server = Server("127.0.0.1", port or free_port(), app, 100_000, workers=WORKERS)
        server.ssl_adapter = tls
        server.begin()
        until(lambda: server.ready)
        servers.append(server)
        return server

    yield start
    for server in servers:
        server.end()


@pytest.fixture(scope="module")
def keys(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return Lan(tmp_path_factory.mktemp("strangers") / "data").ring


class Client:
    """One that says what it has to say in pieces."""

    def __init__(self, server: Server, source: str = "127.0.0.1") -> None:
        self.sock = socket.create_connection(server.bind_addr, PATIENCE, source_address=(source, 0))

    def say(self, some: bytes) -> None:
        self.sock.sendall(some)

    def heard(self) -> bytes:
        """All until the server closes."""
        parts = []
        with contextlib.suppress(ConnectionResetError):
            while some := self.sock.recv(65_536):
                parts.append(some)
        return b"".join(parts)


@contextlib.contextmanager
def closing(clients: Iterable[Client]) -> Iterator[None]:
    try:
        yield
    finally:
        for client in clients:
            client.sock.close()


def post(body: bytes, *more: bytes) -> bytes:
    lines = (b"POST / HTTP/1.1", b"Host: x", b"Connection: close", *more, b"Content-Length: %d")
    return b"\r\n".join(lines) % len(body) + b"\r\n\r\n" + body


def ask(server: Server) -> bytes:
    with closing([client := Client(server)]):
        client.say(post(b"four"))
        return client.heard()


WHOLE = post(b"all", b"X: y")


# --- At every stage


def test_a_request_cut_at_any_byte_holds_no_thread_and_is_answered_in_the_end(
    serve: Callable[..., Server],
) -> None:
    server = serve()
    clients = [Client(server) for _ in range(1, len(WHOLE))]
    with closing(clients):
        before = threading.active_count()
        for cut, client in enumerate(clients, 1):
            client.say(WHOLE[:cut])
        until(lambda: len(server.open) == len(clients))
        for _ in range(WORKERS + 1):
            assert ask(server).endswith(b"[four]")
        assert threading.active_count() <= before + WORKERS
        # Those whose head has come are under way, and no others are.
        until(lambda: len(server.busy) == len(b"all"))
        for cut, client in reversed(list(enumerate(clients, 1))):
            client.say(WHOLE[cut:])
            assert client.heard().endswith(b"[all]")


def test_a_request_in_any_two_cuts_is_the_same_request(serve: Callable[..., Server]) -> None:
    server, chance = serve(), random.Random(7)
    for _ in range(60):
        sizes = chance.sample(range(0, 40_000), 2)
        body = bytes(chance.choices(b"\r\n\x00a:", k=chance.choice(sizes)))
        said = post(body)
        with closing([client := Client(server)]):
            first, second = sorted(chance.sample(range(1, len(said)), 2))
            for piece in (said[:first], said[first:second], said[second:]):
                client.say(piece)
            assert client.heard().endswith(b"\r\n\r\n[" + body + b"]")


def test_requests_that_come_at_once_are_answered_in_their_order(
    serve: Callable[..., Server],
) -> None:
    server = serve()
    kept = b"".join(post(b"%d" % n).replace(b"close", b"keep-alive") for n in range(50))
    with closing([client := Client(server)]):
        client.say(kept + post(b"end"))
        answers = [one.partition(b"\r\n\r\n")[2] for one in client.heard().split(b"HTTP/1.1 200")]
    assert answers[1:] == [*(b"[%d]" % n for n in range(50)), b"[end]"]


class Greeting(Client):
    """One that speaks TLS, and may be held up after any byte that it sends."""

    def __init__(self, server: Server, trust: ssl.SSLContext) -> None:
        super().__init__(server)
        self.heard_so_far, self.to_say = ssl.MemoryBIO(), ssl.MemoryBIO()
        self.tls = trust.wrap_bio(self.heard_so_far, self.to_say, server_hostname="localhost")
        self.said = 0

    def go_on(self, cut: float) -> bool:
        """Greet until `cut` bytes have been said; whether that was all of it."""
        while True:
            is_over = self._step()
            rest = self.to_say.read()
            if self.said + len(rest) >= cut:
                now = int(cut) - self.said
                self.say(rest[:now])
                self.left = rest[now:]
                return False
            self.say(rest)
            self.said += len(rest)
            if is_over:
                return True
            self.heard_so_far.write(self.sock.recv(65_536))

    def _step(self) -> bool:
        try:
            self.tls.do_handshake()
        except ssl.SSLWantReadError:
            return False
        return True

    def ask(self) -> bytes:
        self.say(self.left)
        self.said += 2 * NEVER  # of no more account
        self.go_on(float("inf"))
        self.tls.write(post(b"tls"))
        self.say(self.to_say.read())
        self.heard_so_far.write(self.heard())
        self.heard_so_far.write_eof()
        with contextlib.suppress(ssl.SSLError):
            return self.tls.read(65_536)
        return b""


def test_a_greeting_cut_at_any_byte_holds_no_thread_and_is_heard_in_the_end(
    serve: Callable[..., Server], keys: Any
) -> None:
    server = serve(Tls(str(keys.chain), str(keys.key)))
    trust = ssl.create_default_context(cafile=keys.folder / "authority.pem")
    with closing([whole := Greeting(server, trust)]):
        assert whole.go_on(float("inf"))
        length = whole.said
    cuts = range(1, length, 5)
    clients = [Greeting(server, trust) for _ in cuts]
    with closing(clients):
        before = threading.active_count()
        for cut, client in zip(cuts, clients, strict=True):
            assert not client.go_on(cut)
        until(lambda: len(server.open) == len(clients))
        assert not server.busy
        assert threading.active_count() == before
        for client in reversed(clients):
            assert client.ask().endswith(b"[tls]")


def test_answers_that_nobody_takes_hold_no_thread_and_are_kept_once(
    serve: Callable[..., Server],
) -> None:
    server = serve()
    ask(server)
    clients = [Client(server) for _ in range(100)]
    tracemalloc.start()
    try:
        with closing(clients):
            before = threading.active_count()
            for client in clients:
                client.say(post(b"").replace(b"POST /", b"POST /big"))
            until(lambda: len(server.busy) == len(clients))
            assert ask(server).endswith(b"[four]")
            assert threading.active_count() <= before + WORKERS
            assert tracemalloc.get_traced_memory()[1] < len(BIG)
            # Who takes it after all gets it whole.
            assert clients[50].heard().endswith(b"\r\n\r\n" + BIG)
    finally:
        tracemalloc.stop()


# --- Places


class Waiting:
    """A connection as who_gives_way sees it."""

    def __init__(self, line: bytes, began: float, waits_for: int = 1) -> None:
        self.line, self.waits_for, self.pace = line, waits_for, Pace()
        self.pace.began = began


@pytest.mark.parametrize("seed", range(20))
def test_a_stranger_takes_the_places_of_none_who_have_fewer(seed: int) -> None:
    chance = random.Random(seed)
    lines = [b"%d" % n for n in range(chance.randint(1, 9))]
    phones = [Waiting(line, n) for n, line in enumerate(lines) for _ in range(chance.randint(1, 5))]
    chance.shuffle(phones)
    held: list[Any] = [*phones]
    for now in range(100, 1000):
        held.append(Waiting(b"stranger", now))
        if len(held) > 60:
            given = who_gives_way(held)
            held.remove(given)
            assert given.line == b"stranger"
            assert given.pace.began < now  # the one that came last is taken
    assert Counter(one.line for one in held) - Counter(one.line for one in phones) == {
        b"stranger": 60 - len(phones)
    }


def test_who_is_being_answered_never_gives_way() -> None:
    asked: list[Any] = [Waiting(b"a", n, waits_for=0) for n in range(5)]
    assert who_gives_way(asked) is None
    assert who_gives_way([*asked, other := Waiting(b"b", 9)]) is other


@pytest.mark.parametrize(
    ("one", "other", "is_same"),
    [
        ("192.168.1.2", "192.168.1.2", True),
        ("192.168.1.2", "::ffff:192.168.1.2", True),
        ("192.168.1.2", "192.168.1.3", False),
        ("fe80::1%eth0", "fe80::2%eth0", True),
        ("2001:db8::1", "2001:db8::ffff:2", True),
        ("2001:db8::1", "2001:db8:0:1::1", False),
    ],
)
def test_a_network_of_ipv6_is_one_line(one: str, other: str, is_same: bool) -> None:
    assert (line_of(one) == line_of(other)) is is_same


@linux_only
def test_a_phone_keeps_its_place_whatever_a_stranger_opens(
    serve: Callable[..., Server], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "MOST_CONNECTIONS", 20)
    server = serve()
    with closing([phone := Client(server)]):
        phone.say(WHOLE[:30])
        until(lambda: len(server.open) == 1)
        strangers = [Client(server, "127.0.0.2") for _ in range(100)]
        with closing(strangers):
            until(lambda: len(server.open) == 20)
            assert ask(server).endswith(b"[four]")
            phone.say(WHOLE[30:])
            assert phone.heard().endswith(b"[all]")


def test_how_long_an_answer_may_take_grows_with_what_was_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pace = Pace()
    assert pace.end(60, 120) == pace.began + 60
    pace.moved += 1000
    assert pace.end(60, 120) == pace.began + 120
    pace.amount = 100 * bounds.LEAST_RATE
    assert pace.end(60, 120) == pace.began + 220


# --- The whole


SLOW = ("Content-Length: 90000", "Transfer-Encoding: chunked")
FORMS = (
    "Content-Type: application/json",
    "Content-Type: application/x-www-form-urlencoded",
    "Content-Type: multipart/form-data; boundary=x",
    "Content-Type: image/jpeg",
)


def test_no_body_of_a_stranger_is_waited_for(serve: Callable[..., Server], tmp_path: Path) -> None:
    book, port = open_book(Place(tmp_path)), free_port()
    server = serve(None, create_app(Settings(tmp_path, port), book, shipped()).wsgi_app, port)
    photo = f"/api/photos/{'0' * 64}"
    paths = ("/api/pair", "/api/sync", photo, "/desk/breeds", "/", "/healthz", "/nowhere")
    for path, method, length, form in itertools.product(paths, ("POST", "PUT", "GET"), SLOW, FORMS):
        lines = (f"{method} {path} HTTP/1.1", f"Host: localhost:{port}", length, form, "", "")
        with closing([client := Client(server)]):
            client.say("\r\n".join(lines).encode())
            # It would wait for ever.
            assert client.heard().startswith(b"HTTP/1.1 "), lines
    server.end()
    book.close()


@pytest.mark.parametrize("arguments", [[], ["--lan"]], ids=["http", "https"])
def test_a_thousand_strangers_keep_no_phone_from_its_sync(
    tmp_path: Path, arguments: list[str]
) -> None:
    with Process(tmp_path / "data", "serve", arguments=arguments) as process:
        (phone,) = gather([process], 1)
        write(phone)
        rested = peak_memory(process)
        with dripping(process):
            write(phone)
            assert health(process) == 200
            if sys.platform == "linux":
                assert files(process) <= bounds.MOST_CONNECTIONS + bounds.OWN_FILES
        assert not phone.wrong
        assert phone.taken == phone.wrote
        assert peak_memory(process) <= rested + 64 * 1024 * 1024
        process.stop()
        assert "cut off" not in process.output
        assert "Traceback" not in process.output


def health(process: Process) -> int:
    connection = process.connect()
    with contextlib.closing(connection):
        connection.request("GET", "/healthz", headers={"Host": f"localhost:{process.port}"})
        response: http.client.HTTPResponse = connection.getresponse()
        assert json.load(response)
        return response.status


def files(process: Process) -> int:
    return len(os.listdir(f"/proc/{process.pid}/fd"))
