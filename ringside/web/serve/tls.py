"""TLS, and what is told to whoever does not speak it."""

from __future__ import annotations

import socket
import ssl

HANDSHAKE = b"\x16"  # how a client begins TLS (RFC 8446, section 5.1)
NOT_TLS = (
    b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\n\r\n"
    b"This port speaks https: begin the address with https:// in place of http://.\n"
)


class Tls:
    """What a server shows to its clients, and speaks with them."""

    def __init__(self, chain: str, key: str) -> None:
        """Show the certificate in the file `chain`, whose key is in the file `key`."""
        self.chain, self.key = chain, key
        self.context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        self.context.options |= ssl.OP_NO_RENEGOTIATION
        self.renew()

    def renew(self) -> None:
        """Show what the files hold now. New connections see it; open ones go on."""
        self.context.load_cert_chain(self.chain, self.key)

    def begin(self, sock: socket.socket) -> ssl.SSLSocket:
        """Return the connection, by which nothing has been said yet."""
        return self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
