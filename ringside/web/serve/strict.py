"""Reading a request strictly where the library is lenient, so that nobody can fill the memory, hide
a second request behind the first (RFC 9112, sections 5, 6.1 and 6.3) or pass for a proxy."""

from __future__ import annotations

import re
from typing import Any

from cheroot.server import HeaderReader, HTTPRequest

ONCE = frozenset({b"Content-Length", b"Host"})
TOKEN = re.compile(rb"[!#$%&'*+.^_`|~0-9A-Za-z-]+")


class _Headers(dict[bytes, bytes]):
    def __setitem__(self, name: bytes, value: bytes) -> None:
        if name in ONCE and name in self:
            raise ValueError(f"{name.decode()} was given twice.")
        super().__setitem__(name, value)


class _Lines:
    def __init__(self, inner: Any) -> None:
        self.inner = inner

    def readline(self) -> bytes:
        line: bytes = self.inner.readline()
        if line.startswith((b" ", b"\t")):
            raise ValueError("A header must stand in one line.")
        return line


class _Reader(HeaderReader):
    def __call__(self, rfile: Any, hdict: Any = None) -> Any:
        return super().__call__(_Lines(rfile), hdict)

    def _allow_header(self, key_name: bytes) -> bool:
        # WSGI could not tell X_Forwarded_For from what a proxy of ours says. Whoever asks first
        # whether to send the body was told already.
        return b"_" not in key_name and key_name != b"Expect"

    def _transform_key(self, key_name: bytes) -> bytes:
        if not TOKEN.fullmatch(key_name):
            raise ValueError("Malformed header name.")
        name: bytes = super()._transform_key(key_name)  # type: ignore[misc]  # not in its stubs
        return name


class StrictRequest(HTTPRequest):
    """A request that has one meaning only."""

    header_reader = _Reader()

    def __init__(self, *given: Any, **options: Any) -> None:
        super().__init__(*given, **options)
        self.inheaders = _Headers()

    def read_request_line(self) -> bool:
        """Read the request line; whether it can be used."""
        try:
            return bool(super().read_request_line())  # type: ignore[no-untyped-call]
        except ValueError:  # of an address such as "http://[", which the library lets pass
            self.simple_response("400 Bad Request", "Malformed Request-URI.")
            return False

    def read_request_headers(self) -> bool:
        """Read the headers; whether they can be used."""
        if not super().read_request_headers():  # type: ignore[no-untyped-call]
            return False
        if not self.inheaders.get(b"Content-Length", b"0").isdigit():
            self.simple_response("400 Bad Request", "Malformed Content-Length.")
            return False
        if b"Transfer-Encoding" in self.inheaders:
            # What the application leaves unread of it must not be taken for the next request.
            self.close_connection = True
        return True

    def send_headers(self) -> None:
        """Begin the answer. What has not come by now of a body is not waited for."""
        if getattr(self.rfile, "remaining", 0) > len(self.conn.rfile):
            self.close_connection = True
        super().send_headers()
