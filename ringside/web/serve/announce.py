"""The name of this machine on the local network, as in van.local (multicast DNS, RFC 6762).

macOS, Windows and most desktops announce it themselves, and two who announce one name disturb each
other. So we ask first, and announce it only where nobody does.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterable
from ipaddress import ip_address

from zeroconf import (  # type: ignore[attr-defined]  # __all__ leaves AddressResolver out
    AddressResolver,
    Error,
    InterfaceChoice,
    ServiceInfo,
    Zeroconf,
)

from ringside.web.log import LOGGER
from ringside.web.serve.certificates import Address

KIND = "_https._tcp.local."
ASKED_FOR = 3000  # ms
Interfaces = InterfaceChoice | list[str]


class Announcer:
    """Sees to it that phones find this machine by its name."""

    def __init__(
        self,
        name: str,
        port: int,
        addresses: Callable[[], Iterable[Address]],
        taken: Callable[[], None],
        interfaces: Interfaces = InterfaceChoice.All,
    ) -> None:
        """Look after the name `name` (it ends in .local) of the https server at `port`.

        `addresses` gives this machine's own; `taken` is called when another machine has the name.
        """
        self.name, self.port = name, port
        self.addresses, self.taken = addresses, taken
        self.interfaces = interfaces
        self.is_ours = False
        self._zeroconf: Zeroconf | None = None
        self._one = threading.Lock()

    def start(self) -> None:
        """Begin in the background: asking takes some seconds. Anew, after the network changed."""
        threading.Thread(target=self.announce, daemon=True).start()

    def announce(self) -> None:
        """Announce the name, if nobody answers to it."""
        with self._one:
            self._end()
            try:
                # Made anew each time, as it keeps to the network cards that it finds.
                self._zeroconf = Zeroconf(interfaces=self.interfaces)
                self._ask_and_announce(self._zeroconf)
            except (OSError, Error) as error:
                LOGGER.info("%s is not announced: %s", self.name, error)

    def end(self) -> None:
        """Take the name back."""
        with self._one:
            self._end()

    def _ask_and_announce(self, zeroconf: Zeroconf) -> None:
        own = set(self.addresses())
        asked = AddressResolver(f"{self.name}.")
        if asked.request(zeroconf, ASKED_FOR):
            if not own & {ip_address(one.partition("%")[0]) for one in asked.parsed_addresses()}:
                self.taken()
            return
        host = self.name.partition(".")[0]
        info = ServiceInfo(
            KIND,
            f"Ringside on {host}.{KIND}",
            port=self.port,
            server=f"{self.name}.",
            parsed_addresses=[str(one) for one in own if not one.is_loopback],
        )
        zeroconf.register_service(info, allow_name_change=True)
        self.is_ours = True

    def _end(self) -> None:
        self.is_ours = False
        if self._zeroconf:
            with contextlib.suppress(OSError, Error):
                self._zeroconf.close()
            self._zeroconf = None
