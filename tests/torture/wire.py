"""The way between the phones and one server, and what can befall a request on it.

It carries one request a connection, byte for byte, so that a cut is a cut. Clients call the server
by its own name and port; only the connection leads here.
"""

from __future__ import annotations

import contextlib
import functools
import random
import re
import socket
import socketserver
import struct
import threading
from collections.abc import Iterator

from tests.support import PATIENCE
from tests.torture.tally import Tally

# What befalls a sync request: cut before the server has it whole; the server takes it and its
# answer goes astray; half an answer; an answer that takes its time; a request that the client
# gives up and that arrives all the same, perhaps after the next one.
FAULTS = ("request cut", "answer lost", "answer cut", "answer delayed", "request late")

LONGEST_DELAY = 0.8
CONNECTION = re.compile(rb"(?im)^connection:.*\r\n")
LENGTH = re.compile(rb"(?im)^content-length: *(\d+)")


class Wire:
    """The way to the server at port `target` of this machine, by `port`.

    `rate` is the share of sync requests that something befalls.
    """

    def __init__(self, target: int, chance: random.Random, tally: Tally) -> None:
        self.target = target
        self.rate = 0.0
        self.waiting = 0  # sync requests that the server has whole and has not answered
        self.turned_away = 0  # requests that came while the network was cut
        self._tally = tally
        self._chance = chance
        self._lock = threading.Lock()
        self._is_cut = False
        self._open: set[socket.socket] = set()
        self._late: list[threading.Thread] = []
        self._listener = _Listener(("127.0.0.1", 0), functools.partial(_Handler, self))
        self.port = int(self._listener.server_address[1])
        self._thread = threading.Thread(target=self._listener.serve_forever, args=(0.05,))
        self._thread.start()

    def close(self) -> None:
        self._listener.shutdown()
        self._thread.join()
        self._end_all()
        self.settle()
        self._listener.server_close()

    def settle(self) -> None:
        """Wait until nothing is under way any more that a client has given up."""
        while self._late:
            self._late.pop().join(PATIENCE)

    # --- the network as a whole

    def cut(self) -> None:
        """End every connection, and let none through until `mend`."""
        self._is_cut = True
        self._end_all()

    def mend(self) -> None:
        self._is_cut = False

    def _end_all(self) -> None:
        with self._lock:
            for client in self._open:
                with contextlib.suppress(OSError):
                    client.shutdown(socket.SHUT_RDWR)

    # --- one request

    def carry(self, client: socket.socket) -> None:
        with self._known(client):
            try:
                request = _request(client)
                if request and self._is_cut:
                    self.turned_away += 1
                elif request:
                    self._carry(client, request, self._drawn(request))
            except OSError:
                pass
            _reset(client)

    def _carry(self, client: socket.socket, request: bytes, fault: str) -> None:
        some = self._chance.random()
        if fault == "request late":
            late = threading.Thread(target=self._arrive_late, args=(request, some))
            self._late.append(late)
            return late.start()
        if fault == "request cut":
            with self._server() as server:
                server.sendall(request[: 1 + int(some * (len(request) - 1))])
            return self._tally.count(fault)
        answer = self._answer(request)
        if _is_good(answer) and fault == "answer lost":
            return self._tally.count(fault)
        if _is_good(answer) and fault == "answer cut":
            client.sendall(answer[: 1 + int(some * (len(answer) - 1))])
            return self._tally.count(fault)
        if fault == "answer delayed":
            threading.Event().wait(some * LONGEST_DELAY)
            self._tally.count(fault)
        client.sendall(answer)
        # Read to the end, or our closing would be a reset that overtakes the answer.
        client.shutdown(socket.SHUT_WR)
        while client.recv(1024):
            pass

    def _arrive_late(self, request: bytes, some: float) -> None:
        threading.Event().wait(some * LONGEST_DELAY)
        with contextlib.suppress(OSError):
            if _is_good(self._answer(request)):
                self._tally.count("request late")

    def _answer(self, request: bytes) -> bytes:
        """Ask the server; nothing if it is gone before its answer is whole."""
        is_sync = _is_sync(request)
        with self._server() as server:
            server.sendall(request)
            with self._lock:
                self.waiting += is_sync
            try:
                return b"".join(iter(functools.partial(server.recv, 65536), b""))
            finally:
                with self._lock:
                    self.waiting -= is_sync

    def _server(self) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.target), timeout=PATIENCE)

    def _drawn(self, request: bytes) -> str:
        with self._lock:
            if _is_sync(request) and self._chance.random() < self.rate:
                return self._chance.choice(FAULTS)
            return ""

    @contextlib.contextmanager
    def _known(self, client: socket.socket) -> Iterator[None]:
        with self._lock:
            self._open.add(client)
        try:
            yield
        finally:
            with self._lock:
                self._open.discard(client)


def _request(client: socket.socket) -> bytes:
    """Read a whole request; nothing if the client thinks better of it."""
    read = b""
    while b"\r\n\r\n" not in read:
        if not (part := client.recv(65536)):
            return b""
        read += part
    head, _, body = read.partition(b"\r\n\r\n")
    length = int(found[1]) if (found := LENGTH.search(head)) else 0
    while len(body) < length:
        if not (part := client.recv(65536)):
            return b""
        body += part
    # One request a connection: then an answer ends where the connection does.
    head = CONNECTION.sub(b"", head + b"\r\n")
    return head + b"Connection: close\r\n\r\n" + body


def _is_sync(request: bytes) -> bool:
    return request.startswith(b"POST /api/sync ")


def _is_good(answer: bytes) -> bool:
    return answer.startswith(b"HTTP/1.1 200 ")


def _reset(client: socket.socket) -> None:
    """Make closing a reset, as of a network that goes away, and no polite end."""
    with contextlib.suppress(OSError):
        client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))


class _Listener(socketserver.ThreadingTCPServer):
    daemon_threads = True
    request_queue_size = 128

    def handle_error(self, *_: object) -> None:
        """A client that hangs up is nothing to talk about."""

    def shutdown_request(self, request: object) -> None:
        """Close without the polite shutdown that comes first otherwise."""
        self.close_request(request)  # type: ignore[arg-type]


class _Handler(socketserver.BaseRequestHandler):
    def __init__(self, wire: Wire, *given: object) -> None:
        self.wire = wire
        super().__init__(*given)  # type: ignore[arg-type]

    def handle(self) -> None:
        self.wire.carry(self.request)
