"""What strangers who drip cost a phone, and what a server holds while it has nothing to do."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from statistics import median

from ringside.book.keeping import open_book
from ringside.book.place import Place
from tests.benchmarks.registry import Row, benchmark, ms
from tests.benchmarks.sync import bare_server
from tests.crowd import Phone, gather, memory, peak_memory
from tests.strangers import NUMBER, dripping
from tests.support import Server

ROUNDS = 3
SYNCS = 100  # a round


@benchmark
def dripping_strangers() -> Iterator[Row]:
    """A paired phone connects and syncs, by the same address as a thousand who drip."""
    for what, arguments in (("http", ()), ("https", ("--lan",))):
        with (
            tempfile.TemporaryDirectory(prefix="ringside-bench-") as folder,
            Server(Path(folder) / "data", "serve", arguments=arguments) as server,
        ):
            (phone,) = gather([server], 1)
            alone: list[float] = []
            beset: list[float] = []
            syncs(phone)
            rested = peak_memory(server)
            for _ in range(ROUNDS):
                alone += syncs(phone)
                with dripping(server):
                    beset += syncs(phone)
            if phone.wrong:
                raise RuntimeError(f"{len(phone.wrong)} things went wrong: {phone.wrong[:3]}")
            grown = peak_memory(server) - rested
        yield Row(
            f"a phone connects and syncs; {NUMBER:,} strangers drip; {what}",
            ms(median(beset)),
            f"{ms(median(alone))} without them",
            median(beset) / median(alone),
            "1.5",
        )
        yield Row("... of twenty, the slowest", ms(worst(beset)), ms(worst(alone)))
        yield Row("... memory that they add at most", f"{grown / 1e6:.0f} MB")


def syncs(phone: Phone) -> list[float]:
    """The seconds that a new connection and a sync take, again and again."""
    taken = []
    for number in range(SYNCS):
        made = phone.batch(number)
        began = time.perf_counter()
        with closing(phone.server.connect()) as connection:
            phone.sync(connection, made)
        taken.append(time.perf_counter() - began)
    return taken


def worst(taken: Sequence[float]) -> float:
    """The time that one in twenty exceeds."""
    return sorted(taken)[len(taken) * 19 // 20]


@benchmark
def server_at_rest() -> Iterator[Row]:
    """What a server holds once it is started, beside a bare Flask app on the library's server."""
    with tempfile.TemporaryDirectory(prefix="ringside-bench-") as folder:
        place = Place(Path(folder) / "bare")
        open_book(place).close()
        with bare_server(place.file) as bare:
            floor = memory(bare.pid, "VmRSS")
        for what, arguments in (("serve", ()), ("serve --lan", ("--lan",))):
            with Server(Path(folder) / what, "serve", arguments=arguments) as server:
                held = memory(server.pid, "VmRSS")
            aim = "60 MB" if not arguments else ""
            yield Row(
                f"memory at rest; {what}",
                f"{held / 1e6:.0f} MB",
                f"{floor / 1e6:.0f} MB bare",
                held / floor if floor else None,
                aim,
            )
