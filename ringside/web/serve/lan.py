"""Serving phones on the local network: this machine's names and addresses, and TLS for them."""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import ifaddr

from ringside.web.log import LOGGER, trace
from ringside.web.serve.certificates import Address, Keyring, Pair, private_addresses
from ringside.web.serve.server import Server, everywhere
from ringside.web.serve.tls import Tls
from ringside.web.serve.trust import make_trust_app

KEYS = "keys"
LOOKED_AT = 60  # seconds: a laptop that joins another network is soon answered there
RENEWED_AT = timedelta(hours=6)
MOST_BODY = 4096


class Lan:
    """What a server on the local network stands on; `look` renews it as names and time go on."""

    def __init__(self, data: Path) -> None:
        """Keep the keys below the folder `data`."""
        self.ring = Keyring(data / KEYS)
        self.host = machine_name()
        self.names = [f"{self.host}.local", "localhost"]
        self.addresses: list[Address] = []
        self.authority: Pair
        # Whether phones that trusted this installation before have to trust it anew.
        self.is_anew = False
        self.looked: datetime
        self.look()

    def look(self) -> bool:
        """See which addresses this machine has, and renew what they or the date make stale.

        Returns whether the server's certificate is a new one.
        """
        self.looked = now = datetime.now(UTC)
        before = self.ring.known_authority()
        self.addresses = private_addresses(own_addresses())
        self.authority = self.ring.authority(self.host, self.names, now)
        self.is_anew = before not in (None, self.authority.certificate_pem)
        return self.ring.renew(self.authority, self.names, self.addresses, now)

    def hosts(self, port: int) -> frozenset[str]:
        """Return every name and address (with port) that a phone may call this server by."""
        shown = [f"[{one}]" if one.version == 6 else str(one) for one in self.addresses]
        return frozenset(f"{name}:{port}" for name in [*self.names, *shown])

    def links(self, port: int) -> list[str]:
        """Return the addresses to offer, the one to be kept to first."""
        reachable = [one for one in self.addresses if one.version == 4 and not one.is_loopback]
        names = [self.names[0], *(str(one) for one in reachable)]
        return [f"https://{name}:{port}/" for name in names]

    def tls(self, changed: Callable[[], None] = lambda: None) -> Tls:
        """Return what makes the server speak TLS, and keep its certificate fresh meanwhile.

        `changed` is called when this machine's addresses are others than before.
        """
        tls = Tls(str(self.ring.chain), str(self.ring.key))

        def freshen() -> None:
            found = private_addresses(own_addresses())
            is_same = found == self.addresses
            if is_same and datetime.now(UTC) < self.looked + RENEWED_AT:
                return
            if self.look():
                tls.renew()
            if not is_same:
                changed()

        _every(LOOKED_AT, freshen)
        return tls

    def trust_server(self, port: int, https_port: int) -> Server:
        """Return the server of the page that walks a phone through trusting us."""
        app = make_trust_app(
            lambda: self.authority, lambda: self.hosts(port), lambda: self.links(https_port)
        )
        return Server(everywhere(), port, app.wsgi_app, MOST_BODY, workers=4)


def machine_name() -> str:
    """Return this machine's short name, as its .local name begins."""
    short = socket.gethostname().partition(".")[0].lower()
    # A certificate takes no other signs, and programs that announce the name leave them out too.
    return re.sub(r"[^a-z0-9-]+", "-", short).strip("-")[:63] or "ringside"


def own_addresses() -> list[str]:
    """Return every address of every network card, as text."""
    return [
        address.ip if isinstance(address.ip, str) else address.ip[0]
        for adapter in ifaddr.get_adapters()
        for address in adapter.ips
    ]


def _every(seconds: float, act: Callable[[], None]) -> None:
    def run() -> None:
        try:
            act()
        except Exception as error:
            # The next look may well succeed: a full disk is emptied, a network card comes up.
            LOGGER.error(
                "Looking at the network failed.", extra={"data": {"traceback": trace(error)}}
            )
        finally:
            _every(seconds, act)

    timer = threading.Timer(seconds, run)
    timer.daemon = True
    timer.start()
