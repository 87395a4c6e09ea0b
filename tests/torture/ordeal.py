"""One run: a book, its servers, its phones, and all that can befall them, drawn from one seed."""

from __future__ import annotations

import random
from pathlib import Path

from playwright.sync_api import Playwright

from ringside.book.kinds import KINDS
from tests.support import ROOT, until
from tests.torture import faults, pocket
from tests.torture.clients import Client
from tests.torture.journal import Account, Ledger
from tests.torture.newer import WEATHER
from tests.torture.pocket import Hand
from tests.torture.tally import Tally
from tests.torture.wire import FAULTS
from tests.torture.world import Host, World

RATE = 0.3  # of sync requests that something befalls
MOST_ROUNDS = 8


class Ordeal:
    """What a run has: `world`, `clients`, and `chance`, which draws the order of the faults.

    The last client is a helper's, from whom the notes are hidden; all others are owners'.
    """

    def __init__(
        self,
        folder: Path,
        seed: int,
        phones: int = 6,
        database: str = "",
        hosts: int = 1,
        cwd: Path = ROOT,
    ) -> None:
        self.seed = seed
        self.chance = random.Random(seed)
        self.tally = Tally()
        self.world = World(folder, self.chance, self.tally, database, hosts, cwd)
        self.clients: list[Client] = []
        self.hands: list[Hand] = []
        self.found: list[str] = []  # what was wrong on the way
        try:
            for number in range(phones):
                role = "helper" if number == phones - 1 else "owner"
                draws = self.chance.getrandbits(64)
                client = Client(f"phone {number}", role, self.world, draws)
                client.phone.takes_records = number % 2 == 1
                if number % 3 == 0:  # its app is of the build that the servers come to know
                    client.phone.kinds = {**KINDS, WEATHER.name: WEATHER}
                self.clients.append(client)
        except BaseException:
            self.world.close()
            raise

    @property
    def hosts(self) -> list[Host]:
        return self.world.hosts

    def any_host(self) -> Host:
        return self.chance.choice(self.hosts)

    def any_client(self) -> Client:
        return self.chance.choice(self.clients)

    def failures(self) -> int:
        """How many requests the servers said they could not serve."""
        return sum(len(client.journal.failures) for client in self.clients)

    def taken(self) -> int:
        return sum(len(client.journal.taken) for client in self.clients)

    def hand_out(self, playwright: Playwright, folder: Path, browsers: int) -> None:
        """Give people the app in browsers, which keep their profiles in `folder`."""
        for number in range(browsers):
            profile = folder / f"profile-{number}"
            self.hands.append(Hand(playwright, self.world, f"hand {number}", profile))

    # --- the course of it

    def begin(self) -> None:
        self.world.set_faults(RATE)
        for client in self.clients:
            client.start()

    def everything_befalls(self) -> None:
        """Every fault there can be at least once, in an order of this seed's."""
        self.these_befall([*faults.ALL, *(pocket.ALL if self.hands else ())])
        until(lambda: all(self.tally.met[fault] for fault in FAULTS), "each cut was met")

    def these_befall(self, names: list[str]) -> None:
        """With everybody writing in between."""
        for name in self.chance.sample(names, len(names)):
            self.befall(name)
            self.look_into_outboxes()
            for hand in self.hands:
                hand.write()

    def befall(self, name: str) -> None:
        if name in pocket.ALL:
            pocket.ALL[name](self.chance.choice(self.hands))
        elif not faults.ALL[name](self):
            return
        self.tally.count(name)

    def look_into_outboxes(self) -> None:
        """In the midst of it all: whatever was not acknowledged is still on its phone."""
        for client in self.clients:
            if client.is_alive():  # else it tells why at the end
                self.found += client.ask(lambda one=client: list(one.account().outbox_problems()))

    def end(self) -> list[str]:
        """Let all come to rest; what is wrong then, or was on the way. Ends the servers."""
        for host in self.hosts:
            host.wire.cut()
        until(lambda: all(client.journal.waiting for client in self.clients), "something waits")
        for hand in self.hands:
            hand.write()
        for client in self.clients:
            client.stop()
            self.found += client.account().outbox_problems()
        for hand in self.hands:
            self.found += hand.problems()
        self.world.set_faults(0)
        for host in self.hosts:
            host.wire.mend()
            host.wire.settle()
        if not self.come_to_rest():
            self.found.append("the phones and the book do not come to rest")
        for host in self.hosts:
            host.server.stop()
        for hand in self.hands:
            self.found += hand.text_problems()
        return self.found + Ledger.of(self.world).problems(self.accounts())

    def come_to_rest(self) -> bool:
        """Sync every phone until a whole round has brought nobody anything."""
        for _ in range(MOST_ROUNDS):
            moved = [one.sync_to_the_end() for one in (*self.clients, *self.hands)]
            if not any(moved):
                return True
        return False

    def accounts(self) -> list[Account]:
        return [one.account() for one in (*self.clients, *self.hands)]

    def close(self) -> None:
        for hand in self.hands:
            hand.close()
        for client in self.clients:
            if client.is_alive():
                client.stop()
        self.world.close()
