"""TLS that begins in the thread which reads the request, and refuses plain HTTP in words."""

from __future__ import annotations

import contextlib
import select
import socket
import ssl
from typing import Any

from cheroot.errors import FatalSSLAlert
from cheroot.ssl.builtin import BuiltinSSLAdapter

NOT_TLS = (
    b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\n\r\n"
    b"This port speaks https: begin the address with https:// in place of http://.\n"
)
MOST_UNREAD = 64  # pieces of 4 KiB


class Tls(BuiltinSSLAdapter):
    """TLS that begins in the thread which reads the request.

    cheroot would begin it in the one that accepts everybody: a phone that loses its signal after
    it connected would keep all the others waiting.
    """

    def __init__(self, chain: str, key: str) -> None:
        """Show the certificate in the file `chain`, whose key is in the file `key`."""
        super().__init__(chain, key)
        self.context.sslsocket_class = _Connection

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, str]]:
        """Return the connection, which is not yet begun, and what a request by it is told."""
        begun = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        return begun, {"wsgi.url_scheme": "https", "HTTPS": "on"}


class _Connection(ssl.SSLSocket):
    is_begun = False

    def recv_into(self, *into: Any, **options: Any) -> int:
        if not self.is_begun:
            self.greet()
        return super().recv_into(*into, **options)

    @property
    def is_silent(self) -> bool:
        """Whether nothing waits to be read."""
        return not self.pending() and not select.select([self], [], [], 0)[0]

    def shutdown(self, how: int) -> None:
        """End the connection, but never the encryption, as the library does: a thread that still
        answers would go on in clear."""
        socket.socket.shutdown(self, how)

    def greet(self) -> None:
        """Begin TLS. Raises FatalSSLAlert if the other side does not."""
        try:
            self.do_handshake()
        except OSError as error:
            if isinstance(error, ssl.SSLError) and error.reason == "HTTP_REQUEST":
                self._refuse_plain()
            raise FatalSSLAlert(*error.args) from error
        self.is_begun = True

    def _refuse_plain(self) -> None:
        self._sslobj = None
        with contextlib.suppress(OSError):
            self.sendall(NOT_TLS)
            # Closing with something unread would take the answer back.
            self.shutdown(socket.SHUT_WR)
            for _ in range(MOST_UNREAD):
                if not self.recv(4096):
                    break
