"""The server that carries the app, and a stop that ends.

One thread, the loop, greets clients, gathers requests and sends answers, and waits for nobody. A
thread of its own has only a request that has come, while the app answers it. So whoever sends or
takes slowly, or says nothing, costs a place and some memory; and places go to who comes last.
"""

from __future__ import annotations

import errno
import socket
import threading
from collections.abc import Collection
from typing import Any

from cheroot.wsgi import Gateway_10

from ringside.web.serve import bounds
from ringside.web.serve.connection import Connection
from ringside.web.serve.loop import Loop
from ringside.web.serve.tls import Tls

THIS_COMPUTER = "127.0.0.1"


class Server:
    """Serves an app until it is asked to stop."""

    # What the library's requests want to know of their server.
    gateway = Gateway_10
    protocol = "HTTP/1.1"
    server_name = software = "ringside"
    max_request_header_size = bounds.MOST_HEADERS
    timeout = bounds.IDLE

    def __init__(
        self, host: str, port: int, app: Any, most_body: int, workers: int = bounds.WORKERS
    ) -> None:
        """Serve the WSGI app `app`, which takes bodies of up to `most_body` bytes."""
        self.bind_addr = (host, port)
        self.wsgi_app = app
        self.max_request_body_size = most_body + 1024
        self.most_workers = workers
        self.ssl_adapter: Tls | None = None
        self._loop: Loop | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._left = 0
        self._failure: BaseException | None = None

    def begin(self) -> None:
        """Serve, in threads that cannot keep the process from ending.

        Raises OSError if it cannot listen there.
        """
        self._loop = Loop(self, listening(*self.bind_addr), self.most_workers)
        self._thread.start()

    def check(self) -> None:
        """Raise what ended the server."""
        if self._failure:
            raise self._failure

    def end(self) -> int:
        """Take no more, and finish what is open; return how many requests were cut off.

        It takes little more than STOPPED_IN, whatever the clients do.
        """
        if self._loop:
            self._loop.stop()
            self._thread.join(bounds.STOPPED_IN + bounds.CUT_IN)
        return self._left

    def _run(self) -> None:
        assert self._loop
        try:
            self._left = self._loop.run()
        except BaseException as error:
            self._failure = error

    @property
    def ready(self) -> bool:
        """Whether clients are taken."""
        return self._loop is not None and not self._loop.is_stopping

    # Asked by requests, as is `ssl_adapter`.
    can_add_keepalive_connection = ready

    @property
    def open(self) -> Collection[Connection]:
        """The connections there are."""
        return tuple(self._loop.open) if self._loop else ()

    @property
    def busy(self) -> Collection[Connection]:
        """The connections with a request under way, from the end of its head."""
        return self._loop.busy if self._loop else ()


def everywhere() -> str:
    """Return the address that stands for all of this machine's: with IPv6, where it has that."""
    return "::" if socket.has_dualstack_ipv6() else "0.0.0.0"


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens there. Raises OSError."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    return socket.create_server(
        (host, port),
        family=family,
        backlog=bounds.BACKLOG,
        dualstack_ipv6=host == everywhere() == "::",
    )


def why_not(host: str, port: int) -> int:
    """Return the error number with which listening at `host` would fail, 0 if it would not."""
    # Some systems let a program listen everywhere where another listens at one address.
    with socket.socket() as probe:
        probe.settimeout(1)
        if probe.connect_ex((THIS_COMPUTER, port)) == 0:
            return errno.EADDRINUSE
    try:
        listening(host, port).close()
    except OSError as error:
        return error.errno or errno.EADDRNOTAVAIL
    return 0
