"""One client: what was heard of it, what it is to be sent, and for how long it is waited for."""

from __future__ import annotations

import contextlib
import socket
import ssl
import time
from ipaddress import IPv6Address, ip_address
from selectors import EVENT_READ, EVENT_WRITE
from typing import Any, NoReturn

from ringside.web.log import LOGGER, trace
from ringside.web.serve import bounds
from ringside.web.serve.streams import CONTINUE, Incoming, Outgoing
from ringside.web.serve.strict import StrictRequest
from ringside.web.serve.tls import HANDSHAKE, NOT_TLS

RECEIVED_AT_ONCE = 64 * 1024
HEARD_AT_ONCE = 16  # times that many, of a client that we no longer listen to

TLS_ENV = {"wsgi.url_scheme": "https", "HTTPS": "on"}


class Pace:
    """How fast something comes or goes, from now on."""

    def __init__(self) -> None:
        self.began = self.moved = time.monotonic()
        self.amount = 0

    def note(self, amount: int) -> None:
        """Note that some bytes moved."""
        self.moved = time.monotonic()
        self.amount += amount

    def end(self, still: float, whole: float) -> float:
        """Return when it has taken too long: `still` seconds without a byte, or `whole` seconds in
        all, and more for what did move at a weak link's rate."""
        return min(self.moved + still, self.began + whole + self.amount / bounds.LEAST_RATE)


class Connection:
    """One client. No thread waits for it: `advance` goes as far as it goes at the moment.

    Either the server's loop has it or the thread that answers its request, never both.
    """

    def __init__(self, server: Any, sock: socket.socket, address: str, port: int) -> None:
        """Serve the client at `address` for `server`, whose `tls` it speaks, if that has any."""
        sock.setblocking(False)
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, bounds.IN_KERNEL)
        sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.server = server
        self.socket: socket.socket = sock
        self.remote_addr, self.remote_port = address, port
        self.line = line_of(address)
        self.rfile = Incoming(self._wait_for_more)
        self.wfile = Outgoing()
        self.pace = Pace()
        self.waits_for = 0  # the event, while the loop waits for one
        self.is_answered = False  # a thread is at it
        self.is_leaving = False  # nothing further is heard
        self.has_greeted = server.ssl_adapter is None
        self.ssl_env = {} if self.has_greeted else TLS_ENV

    @property
    def is_busy(self) -> bool:
        """Whether a request is under way, from the end of its head to the end of its answer."""
        return self.is_answered or bool(self.wfile) or (self.rfile.size > 0)

    @property
    def until(self) -> float:
        """When it is no longer waited for."""
        if self.wfile:
            return self.pace.end(bounds.UNTAKEN, bounds.TAKEN_IN)
        if self.is_leaving:
            return self.pace.end(bounds.LEFT_IN, bounds.LEFT_IN)
        if len(self.rfile) or not self.has_greeted:
            return self.pace.end(bounds.IDLE, bounds.RECEIVED_IN)
        return self.pace.end(bounds.IDLE, bounds.IDLE)

    # --- in the loop

    def advance(self) -> int:
        """Go on without waiting. Return the event to wait for; 0 if a request is to be answered.

        Raises OSError when it is over.
        """
        try:
            self._send()
            if self.is_leaving:
                self._hear_out()
            self._greet()
            self._receive()
        except ssl.SSLWantReadError:
            return EVENT_READ
        except ssl.SSLWantWriteError:
            return EVENT_WRITE
        except BlockingIOError:
            return EVENT_WRITE if self.wfile else EVENT_READ
        self.is_answered = True
        return 0

    def _send(self) -> None:
        while self.wfile:
            self.pace.note(self.wfile.send_some(self.socket))

    def _hear_out(self) -> NoReturn:
        # Closing with something unread would take the answer back. Nor is the end told in the
        # library's own way, which ends the encryption and leaves the connection open.
        with contextlib.suppress(OSError):
            socket.socket.shutdown(self.socket, socket.SHUT_WR)
        for _ in range(HEARD_AT_ONCE):
            if not socket.socket.recv(self.socket, RECEIVED_AT_ONCE):
                raise ConnectionAbortedError("It has been heard out.")
        raise BlockingIOError

    def _greet(self) -> None:
        if self.has_greeted:
            return
        self.pace.note(0)
        self._tls_socket().do_handshake()
        self.has_greeted, self.pace = True, Pace()

    def _tls_socket(self) -> ssl.SSLSocket:
        if isinstance(self.socket, ssl.SSLSocket):
            return self.socket
        first = self.socket.recv(1, socket.MSG_PEEK)
        if first != HANDSHAKE:
            self._refuse_plain(first)
        begun: ssl.SSLSocket = self.server.ssl_adapter.begin(self.socket)
        self.socket = begun
        return begun

    def _refuse_plain(self, first: bytes) -> NoReturn:
        if not first.isupper():  # as the name of a method is
            raise ConnectionAbortedError("It speaks neither TLS nor HTTP.")
        self.wfile.write(NOT_TLS)
        self.is_leaving = True
        self._send()
        self._hear_out()

    def _receive(self) -> None:
        while not self._has_request():
            some = self.socket.recv(RECEIVED_AT_ONCE)
            if not some:
                raise ConnectionAbortedError("No whole request will come.")
            if not len(self.rfile):
                self.pace = Pace()
            self.pace.note(len(some))
            self.rfile.add(some)

    def _has_request(self) -> bool:
        is_whole = self.rfile.is_whole()
        if self.rfile.asks_first:
            self.rfile.asks_first = False
            self.wfile.write(CONTINUE)
            self._send()
        return is_whole

    # --- in a thread

    def answer(self) -> None:
        """Answer the request that has come. What is not taken at once, the loop will send."""
        request = StrictRequest(self.server, self)
        goes_on = False
        try:
            request.parse_request()
            if request.ready:
                request.respond()
            goes_on = request.ready and not request.close_connection
        except OSError as error:  # a phone that lost its signal
            LOGGER.info("A connection was lost: %s", error)
        except Exception as error:
            LOGGER.error("A connection failed.", extra={"data": {"traceback": trace(error)}})
            self.wfile.clear()
            request.simple_response("500 Internal Server Error")
        self.is_leaving = not goes_on
        self.rfile.expect_next()
        self.pace = Pace()
        with contextlib.suppress(OSError):  # the loop will see it too
            self._send()
        self.is_answered = False

    def _wait_for_more(self) -> bytes:
        left = self.until - time.monotonic()
        if left <= 0:
            raise TimeoutError("The rest of a request did not come in time.")
        self.socket.settimeout(left)
        try:
            some = self.socket.recv(RECEIVED_AT_ONCE)
        finally:
            self.socket.setblocking(False)
        if not some:
            raise ConnectionAbortedError("The rest of a request will not come.")
        self.pace.note(len(some))
        return some

    # --- the end

    def cut(self) -> None:
        """End it for the client. Whoever reads or writes here is told."""
        with contextlib.suppress(OSError):
            socket.socket.shutdown(self.socket, socket.SHUT_RDWR)

    def close(self) -> None:
        """End it."""
        self.cut()
        self.socket.close()


def line_of(address: str) -> bytes:
    """Return what addresses of one line have in common: with IPv6, it is given a whole network."""
    found = ip_address(address.partition("%")[0])
    mapped = found.ipv4_mapped if isinstance(found, IPv6Address) else None
    return (mapped or found).packed[:8]
