"""Strangers who drip: they say, or take, a little at a time and never come to an end.

python -m tests.strangers PORT NUMBER http|https   until its standard input ends

It says `there` once all of them have been; whoever is closed comes again. A process of its own, so
that they take no turns from the phones that a test or a benchmark plays.
"""

from __future__ import annotations

import contextlib
import itertools
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Iterator

from tests.support import PATIENCE, ROOT, Server

NUMBER = 1000
EACH = 5.0  # seconds from one drop of a stranger to its next
HELLO = 32  # bytes of a greeting that come at once

HEAD = b"GET / HTTP/1.1\r\nHost: localhost:%d\r\nX: "
GET = b"GET / HTTP/1.1\r\nHost: localhost:%d\r\n\r\n"
BODY = (
    b"POST /api/pair HTTP/1.1\r\nHost: localhost:%d\r\nContent-Type: application/json\r\n"
    b"Content-Length: 4000\r\n\r\n{"
)
CHUNKS = BODY.replace(b"Content-Length: 4000", b"Transfer-Encoding: chunked").replace(
    b"{", b"fff\r\n{"
)
FORM = BODY.replace(b"application/json", b"application/x-www-form-urlencoded").replace(
    b"4000", b"9000000"
)


class Stranger:
    """One that says `first`, then `drop` after `drop`, and takes a byte for each."""

    def __init__(self, port: int, first: bytes, drop: bytes, trust: ssl.SSLContext | None) -> None:
        self.port, self.first, self.drop, self.trust = port, first, drop, trust
        self.sock: socket.socket | None = None

    def go_on(self) -> None:
        """Say the next drop, or come anew."""
        try:
            if self.sock is None:
                self._come()
            elif not self._drip():
                self._leave()
        except (ssl.SSLWantReadError, BlockingIOError):
            pass
        except OSError:
            self._leave()

    def _come(self) -> None:
        self.sock = plain = socket.socket()
        plain.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        plain.settimeout(PATIENCE)
        plain.connect(("127.0.0.1", self.port))
        if self.trust:
            self.sock = self.trust.wrap_socket(plain)
        self.sock.sendall(self.first)
        self.sock.setblocking(False)

    def _drip(self) -> bool:
        assert self.sock
        if self.drop:
            self.sock.send(self.drop)
        return bool(self.sock.recv(1))

    def _leave(self) -> None:
        if self.sock:
            self.sock.close()
        self.sock = None


def strangers(port: int, is_secure: bool) -> Iterator[Stranger]:
    """One of each kind, again and again."""
    trust = None
    if is_secure:
        trust = ssl.create_default_context()
        trust.check_hostname, trust.verify_mode = False, ssl.CERT_NONE
    while True:
        for first, drop in (
            *((HEAD, b"x"), (BODY, b" "), (CHUNKS, b" "), (FORM, b"a"), (GET, GET % port)),
        ):
            yield Stranger(port, first % port, drop, trust)
        if trust:
            hello = greeting(trust)
            yield Stranger(port, hello[:HELLO], b"", None)
            yield Stranger(port, hello[:-1], b"", None)
            yield Stranger(port, hello, b"", None)


def greeting(trust: ssl.SSLContext) -> bytes:
    """What a client of TLS says first."""
    heard, said = ssl.MemoryBIO(), ssl.MemoryBIO()
    with contextlib.suppress(ssl.SSLWantReadError):
        trust.wrap_bio(heard, said, server_hostname="localhost").do_handshake()
    return said.read()


def main(port: int, number: int, scheme: str) -> None:
    ended = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), ended.set()), daemon=True).start()
    crowd = list(itertools.islice(strangers(port, scheme == "https"), number))
    for one in crowd:
        one.go_on()
    print("there", flush=True)
    while not ended.is_set():
        for one in crowd:
            one.go_on()
            if ended.wait(EACH / number):
                return


@contextlib.contextmanager
def dripping(server: Server, number: int = NUMBER) -> Iterator[None]:
    """Have so many strangers at a server."""
    words = ["-m", "tests.strangers", server.port, number, "https" if server.is_secure else "http"]
    process = subprocess.Popen(
        [sys.executable, *map(str, words)], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    with process:
        assert process.stdin
        assert process.stdout
        try:
            assert process.stdout.readline() == b"there\n"
            time.sleep(EACH)  # until each has dripped
            yield
        finally:
            process.stdin.close()
            process.wait(PATIENCE)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
