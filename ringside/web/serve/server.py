"""The server that carries the app: what one client may hold of it, and a stop that ends.

cheroot gives each connection a thread until its request is answered. So what a client may cost is
bounded here: who says nothing waits without a thread, who sends or takes slowly has an end, and
there are only so many connections.
"""

from __future__ import annotations

import contextlib
import errno
import logging
import socket
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from cheroot.errors import FatalSSLAlert
from cheroot.makefile import MakeFile
from cheroot.server import HTTPConnection
from cheroot.wsgi import Server as WsgiServer

from ringside.web.log import LOGGER, trace
from ringside.web.serve.strict import MOST_HEADERS, StrictRequest

THIS_COMPUTER = "127.0.0.1"
# What an app answers at most at once. A book on PostgreSQL has connections for half of them.
WORKERS = 24
MOST_CONNECTIONS = 200  # fewer than the files that any system lets a process have open
BACKLOG = 128

# All in seconds. Our app on a phone gives up after eight without progress.
IDLE = 10  # for a connection on which nothing moves
RECEIVED_IN = 30  # for a request, from its first byte to its last
TAKEN_IN = 120  # for an answer
CROWDED = 1  # for a connection without a request, when there is room for no other
STOPPED_IN = 10  # for the requests that are open when we are asked to stop
CUT_IN = 2  # for telling the others


class Server(WsgiServer):
    """Serves an app until it is asked to stop."""

    def __init__(self, host: str, port: int, app: Any, most_body: int, workers: int = WORKERS):
        """Serve the WSGI app `app`, which takes bodies of up to `most_body` bytes."""
        super().__init__(
            (host, port),
            app,
            numthreads=workers,
            server_name="ringside",
            request_queue_size=BACKLOG,
            timeout=IDLE,
            shutdown_timeout=STOPPED_IN,
        )
        self.ConnectionClass = Connection
        self.max_request_header_size = MOST_HEADERS
        self.max_request_body_size = most_body + 1024
        # The bound on all connections holds for these too.
        self.keep_alive_conn_limit = MOST_CONNECTIONS
        self.open: set[Connection] = set()
        self.busy: set[Connection] = set()
        self._failure: BaseException | None = None

    # --- connections

    def process_conn(self, conn: Connection) -> None:
        """Give a connection a thread once it has something to say.

        cheroot gives one to a new connection at once, and it waits there for the first byte:
        some silent ones, as browsers open them in advance, then keep everybody waiting, and a stop.
        """
        if conn.last_used is not None:
            super().process_conn(conn)
        elif self._has_room():
            self.put_conn(conn)
        else:
            conn.close()

    def _has_room(self) -> bool:
        if len(self.open) > MOST_CONNECTIONS:
            self._connections._expire(time.time() - CROWDED)  # type: ignore[attr-defined]
        return len(self.open) <= MOST_CONNECTIONS

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
        """Log what cheroot says, without the words of an exception: they may quote a request."""
        error = sys.exception() if traceback else None
        if isinstance(error, OSError):  # a phone that lost its signal
            LOGGER.info("A connection was lost: %s", error)
        elif error:
            found = {"traceback": trace(error)}
            LOGGER.log(level, "A connection failed.", extra={"data": found})
        else:
            LOGGER.log(level, "%s", msg)

    # --- beginning and end

    def begin(self) -> None:
        """Serve, in threads that cannot keep the process from ending."""
        threading.Thread(target=self._serve, daemon=True).start()

    def check(self) -> None:
        """Raise what kept the server from beginning, or ended it."""
        if self._failure:
            raise self._failure

    def end(self) -> int:
        """Take no more, and finish what is open; return how many requests were cut off.

        It takes little more than STOPPED_IN, whatever the clients do.
        """
        # cheroot waits without an end for a thread that it cannot wake.
        stopping = threading.Thread(target=self.stop, daemon=True)
        stopping.start()
        stopping.join(STOPPED_IN)
        left = len(self.busy)
        stopping.join(CUT_IN if left else None)
        return left

    def _serve(self) -> None:
        try:
            self.start()
        except BaseException as error:
            self._failure = error


class Connection(HTTPConnection):
    """A connection whose requests must come, and whose answers must be taken, in good time."""

    def __init__(self, server: Server, sock: socket.socket, makefile: Any = MakeFile) -> None:
        self.receiving, self.sending = Timed(sock, RECEIVED_IN), Timed(sock, TAKEN_IN)
        streams = {"rb": self.receiving, "wb": self.sending}
        super().__init__(server, sock, lambda _, mode, size: makefile(streams[mode], mode, size))
        self.RequestHandlerClass = Request
        server.open.add(self)

    def communicate(self) -> bool:
        """Answer one request; whether the connection is fit for another."""
        if self._only_greets():
            return True
        self.receiving.until = self.sending.until = 0.0
        self.server.busy.add(self)
        try:
            return bool(super().communicate())  # type: ignore[no-untyped-call]
        finally:
            self.server.busy.discard(self)

    def _only_greets(self) -> bool:
        """Whether TLS was begun just now and no request came with it, as browsers connect in
        advance: then it waits without a thread again."""
        if getattr(self.socket, "is_begun", True):
            return False
        with contextlib.suppress(FatalSSLAlert):
            self.socket.greet()
            return bool(self.socket.is_silent)
        return False

    def close(self) -> None:
        """Close, and make room for another."""
        self.server.open.discard(self)
        super().close()


class Request(StrictRequest):
    """A request; what was not sent in time is not waited for a second time."""

    def send_headers(self) -> None:
        """Begin the answer."""
        self.close_connection = self.close_connection or self.conn.receiving.is_late
        super().send_headers()


class Timed:
    """One direction of a socket, with an end that dripping bytes do not put off."""

    def __init__(self, sock: socket.socket, seconds: float) -> None:
        """Allow `seconds` from the first use after `until` was put to 0."""
        self._sock = sock
        self._seconds = seconds
        self.until = 0.0
        self.is_late = False

    def recv_into(self, *into: Any) -> int:
        """Receive, or raise TimeoutError."""
        return self._in_time(self._sock.recv_into, *into)

    def send(self, data: bytes) -> int:
        """Send, or raise TimeoutError."""
        return self._in_time(self._sock.send, data)

    def _in_time(self, act: Callable[..., int], *given: Any) -> int:
        now = time.monotonic()
        self.until = self.until or now + self._seconds
        try:
            if now >= self.until:
                raise TimeoutError("timed out")
            self._sock.settimeout(min(IDLE, self.until - now))
            return act(*given)
        except TimeoutError:
            self.is_late = True
            raise

    def __getattr__(self, name: str) -> Any:
        return getattr(self._sock, name)


def everywhere() -> str:
    """Return the address that stands for all of this machine's: with IPv6, where it has that."""
    return "::" if socket.has_dualstack_ipv6() else "0.0.0.0"


def why_not(host: str, port: int) -> int:
    """Return the error number with which listening at `host` would fail, 0 if it would not."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Some systems let a program listen everywhere where another listens at one address.
    with socket.socket() as probe:
        probe.settimeout(1)
        if probe.connect_ex((THIS_COMPUTER, port)) == 0:
            return errno.EADDRINUSE
    sock = Server.prepare_socket((host, port), family, socket.SOCK_STREAM, 0, False, None)
    with contextlib.closing(sock):
        try:
            sock.bind((host, port))
        except OSError as error:
            return error.errno or errno.EADDRNOTAVAIL
    return 0
