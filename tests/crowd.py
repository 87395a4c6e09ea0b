"""Two hundred phones that sync at once, with real servers and a connection for each phone."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from itertools import cycle, islice
from pathlib import Path
from typing import Any

import uuid6

from ringside.book import clock
from ringside.book.devices import OWNER, Devices
from ringside.book.keeping import open_book
from tests.support import PATIENCE, PairedPhone, Server, pair

PHONES = 200
ROUNDS = 3
EACH = 3  # changes that a phone sends in a round

Change = dict[str, Any]


@dataclass
class Phone:
    """A phone that was let in, with what it wrote and what it has seen of the others."""

    server: Server
    paired: PairedPhone
    cursor: str = ""
    stamp: str = ""
    wrote: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    seen: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def batch(self, number: int) -> list[Change]:
        """New dogs with a name each."""
        made = []
        for n in range(EACH):
            now = time.time_ns() // 1_000_000
            self.stamp = clock.tick(self.stamp, now, clock.node_of(self.paired.device))
            made.append(
                {
                    "id": str(uuid6.uuid7()),
                    "kind": "note",
                    "record": str(uuid6.uuid7()),
                    "field": "text",
                    "value": f"Round {number}, note {n}.",
                    "stamp": self.stamp,
                    "base": "",
                    "device": self.paired.device,
                }
            )
        self.wrote += [one["id"] for one in made]
        return made

    def sync(self, connection: http.client.HTTPConnection, made: list[Change]) -> bool:
        """Send changes, take what is new; whether there is more."""
        answer = self._ask(connection, made)
        if answer is None:
            return False
        self.taken += answer["taken"]
        self.wrong += [str(one) for one in answer["refused"]]
        self.seen += [one["id"] for one in answer["changes"]]
        if answer["anew"]:
            self.wrong.append("The cursor was not known.")
        self.cursor = answer["cursor"]
        return bool(answer["more"])

    def _ask(self, connection: http.client.HTTPConnection, made: list[Change]) -> Any:
        body = {"device": self.paired.device, "cursor": self.cursor, "changes": made}
        headers = {**self.paired.headers, "Content-Type": "application/json"}
        connection.request("POST", "/api/sync", json.dumps(body), headers)
        response = connection.getresponse()
        answer = json.load(response)
        if response.status != 200:
            self.wrong.append(f"{response.status}: {answer}")
            return None
        return answer


def gather(servers: Sequence[Server], number: int = PHONES) -> list[Phone]:
    """Let `number` phones in, shared out among the servers, which have one book.

    It is opened once for all their codes: to open it takes longer than to let a phone in.
    """
    book = open_book(servers[0].place)
    with closing(book), book.session():
        door = Devices(book)
        return [
            Phone(server, pair(server, code=door.offer(OWNER, clock.wall()).typed))
            for server in islice(cycle(servers), number)
        ]


def at_once(phones: Sequence[Any], act: Callable[[Any], None]) -> float:
    """Have all act in threads of their own, from one moment on; the seconds until the last."""
    start = threading.Barrier(len(phones) + 1)
    failures: list[BaseException] = []

    def run(phone: Any) -> None:
        start.wait(PATIENCE)
        try:
            act(phone)
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=run, args=(phone,), daemon=True) for phone in phones]
    for thread in threads:
        thread.start()
    start.wait(PATIENCE)
    began = time.perf_counter()
    for thread in threads:
        thread.join()
    if failures:
        raise failures[0]
    return time.perf_counter() - began


def write(phone: Phone) -> None:
    """A phone's busy hour: it writes and syncs, round after round."""
    connection = phone.server.connect(PATIENCE)
    try:
        for number in range(ROUNDS):
            phone.sync(connection, phone.batch(number))
    finally:
        connection.close()


def catch_up(phone: Phone) -> None:
    """Take all there is."""
    connection = phone.server.connect(PATIENCE)
    try:
        while phone.sync(connection, []):
            pass
    finally:
        connection.close()


def peak_memory(server: Server) -> int:
    """The most memory (bytes) that a server's process had so far; 0 where nobody tells."""
    return memory(server.pid, "VmHWM")


def memory(pid: int, what: str) -> int:
    """The bytes that Linux says a process has of something; 0 where nobody tells."""
    status = Path(f"/proc/{pid}/status")
    if not status.exists():
        return 0
    for line in status.read_text().splitlines():
        if line.startswith(f"{what}:"):
            return int(line.split()[1]) * 1024
    return 0
