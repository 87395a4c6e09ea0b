"""A bad network, between a browser and the real server."""

from __future__ import annotations

import collections
import contextlib
import gzip
import json
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, ClassVar

from tests.support import PATIENCE, Server


class Proxy:
    """The way to a server, and what can go wrong on it.

    `faults` holds what befalls the next requests for the sync, in turn:
    `unsent` (cut before it got there), `lost` (cut before the answer), `cut` (in the middle of
    the answer), `twice` (it arrives twice), `straggler` (cut, and it arrives after all when
    `late` is let go), `slow` (the answer comes in drops); `befalls` says of what is asked whether
    a fault may befall it.
    `altered` holds, by path, a function of an answer (status, type, body) that gives another.
    """

    def __init__(self, server: Server) -> None:
        self.server = server
        self.faults: collections.deque[str] = collections.deque()
        self.befalls: Callable[[dict[str, Any]], bool] = lambda _: True
        self.altered: dict[str, Callable[[int, str, bytes], tuple[int, str, bytes]]] = {}
        self.late = threading.Event()
        self.open = threading.Event()
        self.open.set()
        self.paths: list[str] = []
        self.bodies: list[dict[str, Any]] = []
        self.at_once = 0
        self.most_at_once = 0
        self.stragglers: list[threading.Thread] = []
        self._count = threading.Lock()
        self._http = _Http(("127.0.0.1", 0), type("Handler", (_Handler,), {"proxy": self}))
        if server.is_secure:
            self._http.tls = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
            self._http.tls.load_cert_chain(server.keys / "server.pem", server.keys / "server.key")
        self.port = self._http.server_port
        self.url = server.url.replace(str(server.port), str(self.port))
        self._thread = threading.Thread(target=self._http.serve_forever, args=(0.05,))
        self._thread.start()

    @contextlib.contextmanager
    def counted(self) -> Iterator[None]:
        with self._count:
            self.at_once += 1
            self.most_at_once = max(self.most_at_once, self.at_once)
        try:
            yield
        finally:
            with self._count:
                self.at_once -= 1

    def let_stragglers_go(self) -> None:
        self.late.set()
        for thread in self.stragglers:
            thread.join(PATIENCE)

    def close(self) -> None:
        self.open.set()
        self.let_stragglers_go()
        self._http.shutdown()
        self._thread.join()
        self._http.server_close()


class _Http(ThreadingHTTPServer):
    daemon_threads = True
    tls: ssl.SSLContext | None = None

    def get_request(self) -> tuple[socket.socket, Any]:
        """Take a call; TLS, if we speak it, begins in the thread that answers it."""
        call, address = super().get_request()
        if self.tls is None:
            return call, address
        return self.tls.wrap_socket(call, True, do_handshake_on_connect=False), address

    def handle_error(self, *_: Any) -> None:
        """A browser that hangs up is nothing to talk about."""


class _Handler(BaseHTTPRequestHandler):
    proxy: ClassVar[Proxy]

    def do_GET(self) -> None:
        self._pass_on(b"")

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if self.path != "/api/sync":
            return self._pass_on(body)
        squeezed = self.headers.get("Content-Encoding") == "gzip"
        asked = json.loads(gzip.decompress(body) if squeezed else body)
        self.proxy.bodies.append(asked)
        with self.proxy.counted():
            self.proxy.open.wait(PATIENCE)
            is_due = self.proxy.faults and self.proxy.befalls(asked)
            self._pass_on(body, self.proxy.faults.popleft() if is_due else "")

    def _pass_on(self, body: bytes, fault: str = "") -> None:
        self.proxy.paths.append(self.path)
        if fault == "unsent":
            return
        if fault == "straggler":
            thread = threading.Thread(target=self._late, args=(body,))
            self.proxy.stragglers.append(thread)
            return thread.start()
        if fault == "twice":
            self._asked(body)
        status, kind, answer, cookies = self._asked(body)
        if fault == "lost":
            return
        alter = self.proxy.altered.get(self.path)
        if alter:
            status, kind, answer = alter(status, kind, answer)
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(answer)))
        self.send_header("Cache-Control", "no-cache")
        for cookie in cookies:
            self.send_header("Set-Cookie", cookie)
        self.end_headers()
        if fault == "cut":
            self.wfile.write(answer[: len(answer) // 2])
        elif fault == "slow":
            size = len(answer) // 10 + 1
            for start in range(0, len(answer), size):
                time.sleep(0.3)
                self.wfile.write(answer[start : start + size])
                self.wfile.flush()
        else:
            self.wfile.write(answer)

    def _late(self, body: bytes) -> None:
        self.proxy.late.wait(PATIENCE)
        self._asked(body)

    def _asked(self, body: bytes) -> tuple[int, str, bytes, list[str]]:
        """Ask the server, under the name and port that it knows itself by."""
        here, there = (f"localhost:{port}" for port in (self.proxy.port, self.proxy.server.port))
        kept = {
            name: words.replace(here, there)
            for name, words in self.headers.items()
            if name not in ("Connection", "Accept-Encoding")
        }
        with contextlib.closing(self.proxy.server.connect(PATIENCE)) as way:
            way.request(self.command, self.path, body or None, kept)
            answer = way.getresponse()
            cookies = answer.headers.get_all("Set-Cookie") or []
            kind = answer.headers.get("Content-Type", "")
            return answer.status, kind, answer.read(), cookies

    def log_message(self, *_: Any) -> None:
        pass
