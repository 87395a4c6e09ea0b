"""Phones that speak the protocol from Python, each in a thread, with a person who writes on it."""

from __future__ import annotations

import copy
import http.client
import json
import queue
import random
import threading
import traceback
from collections.abc import Callable
from typing import Any

from ringside.book import clock
from ringside.book.devices import VIEWS
from ringside.book.kinds import KINDS
from tests.property.phone import Change, Phone, Place, new_id
from tests.support import PATIENCE
from tests.torture.journal import Account, Journal, shown_by
from tests.torture.tally import Tally
from tests.torture.world import World, now

MOST = 200
IMPATIENCE = 20.0  # seconds that a phone waits for an answer
SPELL = 0.15  # the longest that a person thinks between two writings (s)

# Few records, so that phones meet at them.
DOGS = tuple(f"0d000000-0000-7000-8000-{number:012x}" for number in (1, 2))
NOTES = tuple(f"0e000000-0000-7000-8000-{number:012x}" for number in (1, 2, 3))
SHARED: tuple[Place, ...] = (
    *(("dog", dog, name) for dog in DOGS for name in ("name", "pedigree", "deleted")),
    *(("note", note, name) for note in NOTES for name in ("text", "text", "station", "deleted")),
    ("ask", "0a000000-0000-7000-8000-000000000001", "says"),
)


class Refusal(Exception):
    """The server answered with something else than it should."""


class Way:
    """One server as one phone knows it: its name, the wire to it, cookies and key."""

    def __init__(self, port: int, wire: int) -> None:
        self.port = port
        self.wire = wire
        self.jar: dict[str, str] = {}
        self.key = ""

    def ask(self, method: str, path: str, body: Any = None) -> tuple[int, Any]:
        """Raises OSError, HTTPException or ValueError where there is no whole answer."""
        said = {
            "Host": f"localhost:{self.port}",
            "Content-Type": "application/json",
            "Cookie": "; ".join(f"{name}={value}" for name, value in self.jar.items()),
            "X-CSRFToken": self.key,
        }
        way = http.client.HTTPConnection("127.0.0.1", self.wire, timeout=IMPATIENCE)
        try:
            way.request(method, path, json.dumps(body) if body is not None else None, said)
            answer = way.getresponse()
            for line in answer.headers.get_all("Set-Cookie", []):
                name, _, value = line.partition(";")[0].partition("=")
                self.jar[name] = value
            return answer.status, json.loads(answer.read())
        finally:
            way.close()

    def post(self, path: str, body: Any) -> tuple[int, Any]:
        """As api.js does it: a key is asked for when there is none, and once more if it is old."""
        for _ in range(2):
            if not self.key:
                status, said = self.ask("GET", "/api/session")
                if status != 200:
                    return status, said
                self.key = said["csrf"]
            status, said = self.ask("POST", path, body)
            if (status, said.get("code")) != (400, "csrf"):
                break
            self.key = ""
        return status, said


class Client(threading.Thread):
    """A phone and its person: writes now and then, syncs now and then, until told to stop."""

    def __init__(self, name: str, role: str, world: World, seed: int) -> None:
        super().__init__(name=name, daemon=True)
        self.role = role
        self.chance = random.Random(seed)
        self.tally: Tally = world.tally
        self.phone = Phone(0)
        self.protocol = 1
        self.journal = Journal(name, VIEWS[role])
        self.places = [place for place in SHARED if self.journal.may_see(place[0], place[2])]
        self._world = world
        self._ways: list[Way] = []
        self._orders: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._is_over = threading.Event()
        self._words = 0
        self.pair()

    # --- being let in

    def pair(self) -> None:
        """Join the book, past all that may befall the wires."""
        way = Way(self._world.hosts[0].port, self._world.hosts[0].port)
        device = self.phone.device
        said = {"code": self._world.code(self.role), "device": device, "name": self.name}
        status, answer = way.post("/api/pair", said)
        assert status == 200, answer
        token = way.jar[f"ringside-device-{way.port}"]
        self._ways = [Way(host.port, host.wire.port) for host in self._world.hosts]
        for way in self._ways:
            # The token is the book's, whichever server it is shown to; the cookie is the port's.
            way.jar[f"ringside-device-{way.port}"] = token

    # --- writing

    def write(self) -> None:
        kind, record, name = self.chance.choice(self.places)
        if self.chance.random() < 0.3:
            record = new_id()
        self.write_at((kind, record, name))

    def write_at(self, place: Place) -> str:
        """Write something new; its id."""
        if place[2] == "deleted":
            value: Any = not self.phone.shown(place)
        else:
            value = self._new_words()
        change = self.phone.write(place, value, now())
        assert change
        self.journal.wrote(change)
        return str(change["id"])

    def write_as_another_version(self, kind: str, name: str, **more: Any) -> str:
        """Write what this book's version does not know; its id."""
        phone = self.phone
        at = now() + phone.error + phone.skew
        phone.clock = clock.tick(phone.clock, at, clock.node_of(phone.device))
        change: Change = {
            "id": new_id(),
            "kind": kind,
            "record": new_id(),
            "field": name,
            "value": self._new_words(),
            "stamp": phone.clock,
            "base": "",
            "device": phone.device,
            **more,
        }
        phone.changes[phone.clock] = {**change, "state": "unsent"}
        self.journal.wrote(change)
        return str(change["id"])

    def _new_words(self) -> str:
        self._words += 1
        return f"{self.name}, words {self._words}"

    # --- syncing

    def exchange(self) -> bool | None:
        """One request and its answer; whether anything moved, None if it did not come through."""
        way = self.chance.choice(self._ways)
        asked = self.phone.outgoing(MOST)
        body = {"protocol": self.protocol, **asked}
        if self.protocol != 1:
            body["weather"] = "of a newer app"
        try:
            status, answer = way.post("/api/sync", body)
        except (OSError, http.client.HTTPException, ValueError):
            return None
        if status >= 500:
            self.journal.failures.append(answer)
            return None
        if status != 200:
            raise Refusal(f"{status}: {answer}")
        if self.chance.random() < 0.2:
            self.write()  # while the answer was on its way
        return self.take(asked, answer)

    def take(self, asked: dict[str, Any], answer: dict[str, Any]) -> bool:
        refused = {row["id"]: row["reason"] for row in answer["refused"]}
        self.phone.incoming({**answer, "refused": refused}, now())
        self.journal.heard(answer, bool(asked["cursor"]))
        return bool(answer["changes"] or answer["taken"] or answer["more"])

    def sync_to_the_end(self) -> bool:
        """Exchange until nothing moves; whether anything moved at all. Nothing is written."""
        moved = False
        while True:
            asked = self.phone.outgoing(MOST)
            status, answer = self._ways[0].post("/api/sync", {"protocol": 1, **asked})
            if status != 200:
                raise Refusal(f"{status}: {answer}")
            if not self.take(asked, answer):
                return moved
            moved = True

    # --- what befalls a phone

    def lose_storage(self) -> None:
        """The browser has thrown everything away: the person pairs anew, as another device."""
        self.journal.storage_lost(self._only_here())
        self.phone = Phone(self.phone.error, self.phone.kinds)
        self.pair()

    def copy_storage(self) -> tuple[dict[str, Any], set[str]]:
        return copy.deepcopy(vars(self.phone)), set(self.journal.held)

    def restore_storage(self, kept: tuple[dict[str, Any], set[str]]) -> None:
        """The phone is as it was when it was copied, its clock's last tick and all."""
        values, held = kept
        before = self._only_here()
        vars(self.phone).update(copy.deepcopy(values))
        waiting = {row["id"] for row in self.phone.in_state("unsent")}
        self.journal.storage_lost(before - self._only_here(), held)
        self.journal.taken -= waiting
        self.journal.refused -= waiting

    def _only_here(self) -> set[str]:
        rows = [*self.phone.in_state("unsent"), *self.phone.in_state("refused")]
        return {row["id"] for row in rows}

    # --- living

    def ask(self, what: Callable[[], Any]) -> Any:
        """Have the phone's own thread do something between two exchanges; what it gave."""
        done: queue.SimpleQueue[tuple[Any, BaseException | None]] = queue.SimpleQueue()

        def do() -> None:
            try:
                done.put((what(), None))
            except BaseException as error:
                done.put((None, error))

        self._orders.put(do)
        given, error = done.get(timeout=PATIENCE)
        if error:
            raise error
        return given

    def run(self) -> None:
        try:
            while not self._is_over.wait(self.chance.random() * SPELL):
                while not self._orders.empty():
                    self._orders.get()()
                for _ in range(self.chance.randrange(3)):
                    self.write()
                self.exchange()
        except Exception:
            self.journal.trouble.append(traceback.format_exc())

    def stop(self) -> None:
        self._is_over.set()
        self.join(PATIENCE)
        assert not self.is_alive()

    def account(self) -> Account:
        """What the phone holds now, beside what its person remembers."""
        phone = self.phone
        values: dict[str, dict[str, dict[str, Any]]] = {kind: {} for kind in KINDS}
        for kind, record, name in phone.cells:
            if kind not in KINDS:  # of a newer build
                continue
            values[kind].setdefault(record, {})[name] = phone.shown((kind, record, name))
        return Account(
            journal=self.journal,
            unsent={row["id"] for row in phone.in_state("unsent")},
            refused={row["id"] for row in phone.in_state("refused")},
            shown=shown_by(values),
        )
