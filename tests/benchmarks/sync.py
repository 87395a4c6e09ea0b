"""How much a sync costs beside the least that any server must do with the same body."""

from __future__ import annotations

import contextlib
import http.client
import json
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import uuid6

from ringside.book import clock
from ringside.book.devices import Devices
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.book.store import Book
from tests.benchmarks.registry import Row, benchmark, in_turn, ms
from tests.ports import free_port
from tests.support import ROOT, Server

BATCH = 10_000
HISTORY = 100_000
PHONE = str(uuid6.uuid7())

Change = dict[str, Any]

# What a phone writes in a season: ticks and practice by the hundred, a note now and then.
RECORDS: list[tuple[str, dict[str, Any]]] = [
    ("tick", {"walk": PHONE, "station": "bite", "state": "done", "at": "2026-03-14T09:30:00.000Z"}),
    ("practice", {"dog": PHONE, "walk": PHONE, "station": "topline", "grade": "needs work",
                  "handler": "Robin", "at": "2026-03-14T09:30:00.000Z"}),
    ("note", {"dog": PHONE, "station": "ears", "text": "Turns his head away at first; wait."}),
]  # fmt: skip


class Writer:
    """Makes changes as a phone does, each with an id and a stamp of its own."""

    def __init__(self) -> None:
        self.device = str(uuid6.uuid7())
        self.stamp = ""

    def change(self, kind: str, record: str, field: str, value: Any, base: str = "") -> Change:
        now = time.time_ns() // 1_000_000
        self.stamp = clock.tick(self.stamp, now, clock.node_of(self.device))
        return {
            "id": str(uuid6.uuid7()),
            "kind": kind,
            "record": record,
            "field": field,
            "value": value,
            "stamp": self.stamp,
            "base": base,
            "device": self.device,
        }

    def season(self, length: int) -> list[Change]:
        """Whole records, one field after another."""
        made: list[Change] = []
        while len(made) < length:
            for kind, fields in RECORDS:
                record = str(uuid6.uuid7())
                made += [self.change(kind, record, name, fields[name]) for name in fields]
        return made[:length]


class Client:
    """One kept connection to a server, with what its sync asks for."""

    pid = 0

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.headers = {"Host": f"localhost:{port}", "Content-Type": "application/json"}
        self.cookies: dict[str, str] = {}

    def enter(self, code: str, device: str) -> None:
        """Be let in with a code, and fetch the session, as the app does."""
        self.meet()
        body = json.dumps({"code": code, "device": device, "name": "Benchmark"})
        self.connection.request("POST", "/api/pair", body, self.headers)
        self._keep_cookies(self.connection.getresponse())
        self.meet()

    def meet(self) -> None:
        """Fetch the session."""
        self.connection.request("GET", "/api/session", headers=self.headers)
        self.headers["X-CSRFToken"] = self._keep_cookies(self.connection.getresponse())["csrf"]

    def _keep_cookies(self, response: http.client.HTTPResponse) -> Any:
        for cookie in response.headers.get_all("Set-Cookie", ()):
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        self.headers["Cookie"] = "; ".join(
            f"{name}={value}" for name, value in self.cookies.items()
        )
        answer = json.load(response)
        if response.status != 200:
            raise RuntimeError(f"{response.status}: {answer}")
        return answer

    def post(self, body: bytes) -> Any:
        try:
            response = self._send(body)
        except ConnectionError:  # the server had closed it while it was idle
            self.connection.close()
            response = self._send(body)
        answer = json.load(response)
        if response.status != 200 or answer.get("refused"):
            raise RuntimeError(f"{response.status}: {str(answer)[:300]}")
        return answer

    def get(self, path: str) -> bytes:
        """Open a page."""
        self.connection.request("GET", path, headers=self.headers)
        response = self.connection.getresponse()
        page = response.read()
        if response.status != 200:
            raise RuntimeError(f"{path}: {response.status}")
        return page

    def _send(self, body: bytes) -> http.client.HTTPResponse:
        self.connection.request("POST", "/api/sync", body, self.headers)
        return self.connection.getresponse()


@contextlib.contextmanager
def bare_server(path: Path) -> Iterator[Client]:
    port = free_port()
    command = [sys.executable, "-m", "tests.benchmarks.bare", str(port), str(path)]
    with subprocess.Popen(command, cwd=ROOT) as process:
        try:
            client = Client(port)
            client.pid = process.pid
            for _ in range(200):
                with contextlib.suppress(OSError):
                    client.connection.connect()
                    break
                time.sleep(0.05)
            yield client
        finally:
            process.terminate()


@contextlib.contextmanager
def both(
    history: int, kept: tuple[str, ...] = ("change",)
) -> Iterator[tuple[Client, Client, Book]]:
    """Our server and the bare one, each with the same history in its file, and the book.

    Of our tables the bare one has those that are `kept`.
    """
    folder = Path(tempfile.mkdtemp(prefix="ringside-bench-"))
    try:
        book = open_book(Place(folder / "data"))
        writer = Writer()
        now = time.time_ns() // 1_000_000
        for _ in range(0, history, BATCH):
            receipt = book.append(writer.season(BATCH), now + 1_000_000)
            assert len(receipt.taken) == BATCH
        dog = {"name": "Juniper", "breed": "pug", "sex": "bitch", "born": "2024-02-29"}
        book.append([writer.change("dog", PHONE, name, dog[name]) for name in dog], now + 1_000_000)
        book.close()
        shutil.copy(book.place.file, folder / "bare.db")
        with closing(sqlite3.connect(folder / "bare.db")) as db:
            tables = db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
            for (name,) in tables:
                if name not in kept:
                    db.execute(f'DROP TABLE "{name}"')
        with Server(folder / "data", "serve") as server, bare_server(folder / "bare.db") as bare:
            yield Client(server.port), bare, book
    finally:
        shutil.rmtree(folder)


class Phone:
    """Keeps up with our server, so that a sync carries only what is new."""

    def __init__(self, client: Client, book: Book) -> None:
        self.client = client
        self.writer = Writer()
        with book.session():
            offer = Devices(book).offer("owner", time.time_ns() // 1_000_000)
        book.close()
        client.enter(offer.typed, self.writer.device)
        self.cursor, self.packs = "", ""
        more = True
        while more:
            more = self.sync([])["more"]
        hashes = self.sync([], {})["packs"]
        self.packs = hashes["whole"]

    def body(self, changes: list[Change], packs: Any = None) -> bytes:
        asked = {
            "protocol": 1,
            "device": self.writer.device,
            "cursor": self.cursor,
            "changes": changes,
            "packs": self.packs if packs is None else packs,
            "most": 2000,
        }
        return json.dumps(asked).encode()

    def sync(self, changes: list[Change], packs: Any = None) -> Any:
        return self.take(self.client.post(self.body(changes, packs)))

    def take(self, answer: Any) -> Any:
        self.cursor = answer["cursor"]
        return answer


def compare(history: int, rounds: int, make: Any) -> tuple[float, float]:
    """The median seconds of ours and of the bare one, each with bodies of its own."""
    with both(history) as (ours, bare, book):
        phone = Phone(ours, book)
        bodies: list[bytes] = []

        def prepare() -> None:
            bodies[:] = [phone.body(make(phone.writer)) for _ in range(2)]

        times = in_turn(
            rounds + 2,
            prepare,
            lambda: phone.take(ours.post(bodies[0])),
            lambda: bare.post(bodies[1]),
        )
        return times[1], times[2]


@benchmark
def sync_of_a_season() -> Iterator[Row]:
    """What the first sync after a long time offline costs."""
    here, bare = compare(0, 9, lambda writer: writer.season(BATCH))
    yield Row(f"sync of {BATCH:,} changes", ms(here), f"{ms(bare)} bare", here / bare, "<= 3")


@benchmark
def sync_of_one_field() -> Iterator[Row]:
    """What one edit costs in a book of many years."""

    def one(kind: str, name: str, value: str) -> Any:
        record = str(uuid6.uuid7()) if kind != "dog" else PHONE
        # As a phone does, each edit names the one that it replaces.
        return lambda writer: [
            writer.change(kind, record, name, f"{value} {writer.stamp}", base=writer.stamp)
        ]

    what = f"one changed field behind {HISTORY:,} changes"
    here, bare = compare(HISTORY, 300, one("note", "text", "Waits now."))
    yield Row(what, ms(here), f"{ms(bare)} bare", here / bare, "<= 1.5")
    here, bare = compare(HISTORY, 100, one("dog", "pedigree", "Invented"))
    yield Row("... of a dog, whose pack is made anew", ms(here), f"{ms(bare)} bare", here / bare)
