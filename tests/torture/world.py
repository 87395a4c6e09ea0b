"""A book, its real servers in processes of their own, and the wires that lead to them."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing, suppress
from pathlib import Path
from typing import IO, Any

from ringside.book import keeping
from ringside.book.devices import Devices
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book
from tests.support import PATIENCE, ROOT, Server, until
from tests.torture.forks import started
from tests.torture.tally import Tally
from tests.torture.wire import Wire

HOST = ROOT / "tests" / "torture" / "host.py"
DISK_SIZE = "64m"


def now() -> int:
    """The true time (ms): what befalls clocks befalls them in other places."""
    return time.time_ns() // 1_000_000


class HostServer(Server):
    """Starts at once, unless it is to be of the newer build, whose modules read otherwise."""

    def _spawn(self, log: IO[bytes]) -> Any:
        if (Path(self.env["TORTURE_ORDERS"]) / "newer").exists():
            return super()._spawn(log)
        return started(self.command[1:], self.log, self.cwd, self.env)


class Host:
    """One server: its process, the wire before it, and the folder with its orders."""

    def __init__(
        self, data: Path, arguments: tuple[str, ...], cwd: Path, chance: random.Random, tally: Tally
    ) -> None:
        self.orders = data.parent / f"orders-{chance.getrandbits(32):08x}"
        self.orders.mkdir(parents=True)
        self.server = HostServer(
            data,
            "serve",
            program=(sys.executable, HOST),
            arguments=arguments,
            cwd=cwd,
            env={"TORTURE_ORDERS": str(self.orders), "PYTHONPATH": str(cwd)},
        )
        self.wire = Wire(self.server.port, chance, tally)

    @property
    def port(self) -> int:
        """The port that the server knows itself by; what clients name."""
        return self.server.port

    @property
    def process(self) -> subprocess.Popen[bytes]:
        assert self.server._process
        return self.server._process

    def rise_again(self) -> None:
        """Wait until the server has killed itself, and start it again."""
        process = self.process
        until(lambda: not self.server.running, "the server died")
        assert process.returncode == -signal.SIGKILL, self.server.output[-3000:]
        self.server.start()

    def order(self, name: str, content: str = "") -> None:
        coming = self.orders / f"{name}.new"
        coming.write_text(content, encoding="ascii")
        coming.rename(self.orders / name)

    def withdraw(self, name: str) -> None:
        (self.orders / name).unlink(missing_ok=True)

    def close(self) -> None:
        self.wire.close()
        self.server.kill()


class World:
    """All that is no phone. `database` is "" for SQLite, or the URL of an empty PostgreSQL."""

    def __init__(
        self,
        folder: Path,
        chance: random.Random,
        tally: Tally,
        database: str = "",
        hosts: int = 1,
        cwd: Path = ROOT,
    ) -> None:
        self.database = database
        self.tally = tally
        self.has_own_disk = not database and _mount(folder / "disk")
        self.data = folder / "disk" / "data"
        self.arguments = ("--database", database) if database else ()
        self.hosts: list[Host] = []
        try:
            for _ in range(hosts):
                one = random.Random(chance.getrandbits(64))
                self.hosts.append(Host(self.data, self.arguments, cwd, one, tally))
        except BaseException:
            self.close()
            raise

    @property
    def disk(self) -> Path:
        return self.data.parent

    def set_faults(self, rate: float) -> None:
        for host in self.hosts:
            host.wire.rate = rate

    def open_book(self) -> Book:
        return keeping.open_book(Place(self.data, self.database))

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """Ask the database itself, past the product."""
        if not self.database:
            with closing(sqlite3.connect(self.data / FILE_NAME)) as db:
                return db.execute(sql).fetchall()
        import psycopg

        with psycopg.connect(self.database, autocommit=True) as db:
            return db.execute(sql.encode()).fetchall()

    def code(self, role: str) -> str:
        """An invitation to the book, as `ringside pair` makes it."""
        book = self.open_book()
        try:
            with book.session():
                return Devices(book).offer(role, now()).typed
        finally:
            book.close()

    def check(self) -> str:
        """What `ringside check` finds wrong with the book; "" for nothing."""
        words = ["-m", "ringside", "check", "--data", str(self.data), *self.arguments]
        with tempfile.TemporaryDirectory() as folder:
            said = Path(folder, "said")
            done = started(words, said, ROOT, os.environ)
            done.wait(PATIENCE)
            return "" if done.returncode == 0 else said.read_text(encoding="utf-8")

    def close(self) -> None:
        for host in self.hosts:
            host.close()
        if self.has_own_disk:
            subprocess.run(["umount", "--lazy", self.disk], check=True)


def _mount(place: Path) -> bool:
    """Make a small disk, where we may; elsewhere a plain folder."""
    place.mkdir(parents=True)
    if sys.platform != "linux" or not shutil.which("mount"):
        return False
    words = ["mount", "-t", "tmpfs", "-o", f"size={DISK_SIZE},mode=700", "torture", place]
    with suppress(OSError):
        return subprocess.run(words, capture_output=True).returncode == 0
    return False
