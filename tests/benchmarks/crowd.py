"""Two hundred phones that sync at once, beside a server that does the least with what they send."""

from __future__ import annotations

import json
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, closing
from pathlib import Path

from ringside.book.keeping import open_book
from ringside.book.place import Place
from tests import postgres
from tests.benchmarks.registry import Row, benchmark
from tests.benchmarks.sync import Client, bare_server
from tests.crowd import EACH, PHONES, ROUNDS, Phone, at_once, catch_up, gather, peak_memory, write
from tests.support import Server

SENT = PHONES * ROUNDS * EACH


def measured(folder: Path, url: str, processes: int) -> tuple[float, float, int, list[Phone]]:
    """The seconds to write, those to catch up, and the bytes of all processes at their most."""
    with ExitStack() as stack:
        words = ["--database", url] if url else []
        servers = [
            stack.enter_context(Server(folder / f"{n}", "serve", arguments=words))
            for n in range(processes)
        ]
        phones = gather(servers)
        wrote, caught_up = at_once(phones, write), at_once(phones, catch_up)
        wrong = [one for phone in phones for one in phone.wrong]
        if wrong:
            raise RuntimeError(f"{len(wrong)} things went wrong: {wrong[:3]}")
        return wrote, caught_up, sum(map(peak_memory, servers)), phones


def bare_seconds(folder: Path, phones: list[Phone]) -> float:
    """What the least takes: as many clients send as many changes, and hear nothing of others."""
    place = Place(folder / "bare")
    open_book(place).close()
    with closing(sqlite3.connect(place.file)) as db:
        db.execute("DROP TABLE meta")
    with bare_server(place.file) as first:

        def send(phone: Phone) -> None:
            client = Client(first.connection.port)
            for number in range(ROUNDS):
                client.post(json.dumps({"changes": phone.batch(number)}).encode())
            client.connection.close()

        return at_once(phones, send)


@benchmark
def crowd_of_two_hundred() -> Iterator[Row]:
    """No phone waits for ever, and the memory stays small."""
    kinds: list[tuple[str, str, int]] = [("one process, SQLite", "", 1)]
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="ringside-bench-")))
        programs = postgres.programs()
        if programs:
            cluster = stack.enter_context(postgres.cluster(programs))
            kinds.append(("two processes, PostgreSQL", cluster.database(), 2))
        for what, url, processes in kinds:
            yield from rows(folder / what, what, url, processes)


def rows(folder: Path, what: str, url: str, processes: int) -> Iterator[Row]:
    """The lines of one kind of server."""
    folder.mkdir()
    wrote, caught_up, memory, phones = measured(folder, url, processes)
    bare = bare_seconds(folder, phones)
    name = f"{PHONES} phones, {SENT:,} changes; {what}"
    yield Row(name, per_second(wrote), f"{per_second(bare)} bare", wrote / bare)
    yield Row("... all take what the others wrote", f"{caught_up:.1f} s")
    yield Row("... memory at its most", f"{memory / 1e6:.0f} MB", f"{processes} process(es)")


def per_second(seconds: float) -> str:
    """Changes a second."""
    return f"{SENT / seconds:,.0f}/s"
