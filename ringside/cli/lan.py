"""What is told at the terminal of a server on the local network."""

from __future__ import annotations

from ringside.web.serve.announce import Announcer
from ringside.web.serve.certificates import fingerprint
from ringside.web.serve.lan import Lan
from ringside.web.serve.server import Server


class Neighbourhood:
    """Makes this machine found on the local network, and tells of each new address once."""

    def __init__(self, lan: Lan, port: int) -> None:
        """Begin to announce the `port` of this machine."""
        self.lan, self.port = lan, port
        self.told = set(lan.links(port))
        self.announcer = Announcer(lan.names[0], port, lambda: lan.addresses, self._taken)
        self.announcer.start()

    def changed(self) -> None:
        """See what there is to tell."""
        for link in self.lan.links(self.port):
            if link not in self.told:
                self.told.add(link)
                print(f"New address: {link}", flush=True)
        self.announcer.start()

    def _taken(self) -> None:
        print(
            f"Another machine on this network is called {self.lan.names[0]} too: rename one "
            "of them, or phones may not find this one by its name.",
            flush=True,
        )


def serve_trust_page(lan: Lan, port: int) -> Server:
    """Say where the way to trust us is, with what a phone must compare; return its server."""
    if lan.is_anew:
        print("The authority is new: the old one expired, or cannot vouch for this")
        print("machine's present name. Every phone has to trust it again.")
    print("On each phone on this network, open one of these first and follow it:")
    for link in lan.links(port + 1):
        print(f"  {link.replace('https:', 'http:', 1)}")
    print(f"Fingerprint to compare: {fingerprint(lan.authority.certificate)}")
    return lan.trust_server(port + 1, port)
