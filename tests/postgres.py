"""A PostgreSQL server of the tests' own: a cluster in a temporary folder, ended with the run."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import psycopg

from tests.ports import free_port

START_SECONDS = 60
# Debian keeps the server's programs out of the PATH, by version.
DEBIAN = "/usr/lib/postgresql/*/bin"
# Leaves a database as it was made: books make nothing but tables, in its schema or their own.
EMPTY = """
DO $$
DECLARE it record;
BEGIN
    FOR it IN SELECT nspname FROM pg_namespace
        WHERE nspname !~ '^pg_' AND nspname NOT IN ('public', 'information_schema')
    LOOP EXECUTE format('DROP SCHEMA %I CASCADE', it.nspname); END LOOP;
    FOR it IN SELECT tablename FROM pg_tables WHERE schemaname = 'public'
    LOOP EXECUTE format('DROP TABLE %I CASCADE', it.tablename); END LOOP;
    ASSERT NOT EXISTS (SELECT FROM pg_class WHERE relnamespace = 'public'::regnamespace);
END $$
"""


def programs() -> Path | None:
    """The folder with initdb and postgres: as RINGSIDE_POSTGRES names it, or where they are."""
    named = os.environ.get("RINGSIDE_POSTGRES")
    if named:
        return Path(named)
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    folders = [folder for folder in Path("/").glob(DEBIAN[1:]) if (folder / "initdb").exists()]
    return max(folders, default=None, key=lambda folder: int(folder.parent.name))


class Cluster:
    """A server in a folder of its own; `database()` makes a new, empty database in it."""

    def __init__(self, bin_folder: Path, folder: Path) -> None:
        self.folder = folder
        self.port = free_port()
        self.made = 0
        self.order = ""
        self._spare: list[str] = []
        self._program = bin_folder / "postgres"
        self._as_user = _other_user(folder)
        _call(
            [bin_folder / "initdb", "-D", folder / "data", "-U", "ringside", "-A", "trust",
             "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"],
            folder, self._as_user,
        )  # fmt: skip
        self.start()
        self._sort_as_people_do()

    def start(self) -> None:
        """Run it, and wait until it answers."""
        words = [
            self._program, "-D", self.folder / "data", "-p", self.port,
            "-c", "listen_addresses=127.0.0.1", "-k", self.folder, "-c", "fsync=off",
            "-c", "max_connections=200",
        ]  # fmt: skip
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [str(word) for word in words],
                stdout=log, stderr=log, cwd=self.folder, **self._as_user,
            )  # fmt: skip
        self._wait()

    def stop(self) -> None:
        """End it, and whatever is connected to it."""
        self._process.send_signal(signal.SIGTERM if os.name == "nt" else signal.SIGINT)
        try:
            self._process.wait(30)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    @contextmanager
    def stopped(self) -> Iterator[None]:
        """Have it away for a while."""
        self.stop()
        try:
            yield
        finally:
            self.start()

    def url(self, name: str) -> str:
        return f"postgresql://ringside@127.0.0.1:{self.port}/{name}"

    def database(self, more: str = "") -> str:
        """Make a database, or take an empty one that was given back, and return its URL."""
        if self._spare and not more:
            return self._spare.pop()
        name = self._new_name()
        self.run(f"CREATE DATABASE {name} TEMPLATE template0 {more or self.order}")
        return self.url(name)

    def _new_name(self) -> str:
        self.made += 1
        return f"book{self.made}"

    def _sort_as_people_do(self) -> None:
        """Let databases sort text as servers mostly do: not as stamps are meant to be sorted."""
        order = "LOCALE_PROVIDER icu ICU_LOCALE 'en-US' LOCALE 'C'"
        with suppress(psycopg.Error):  # it may be built without
            self.run(f"CREATE DATABASE sorted TEMPLATE template0 {order}")
            self.order = order

    def _wait(self) -> None:
        until = time.monotonic() + START_SECONDS
        while True:
            try:
                return self.run("SELECT 1")
            except psycopg.OperationalError as error:
                if self._process.poll() is not None or time.monotonic() > until:
                    self.stop()
                    said = (self.folder / "log").read_text(errors="replace")
                    raise RuntimeError(f"PostgreSQL did not start ({error}):\n{said}") from error
                time.sleep(0.05)

    def drop(self, url: str) -> None:
        self.run(f"DROP DATABASE IF EXISTS {url.rpartition('/')[2]} WITH (FORCE)")

    def give_back(self, url: str) -> None:
        """Empty a database of books for whoever wants the next: to make one takes longer by far.

        It gets another name, so that a server that should live on does not find it again.
        """
        old, new = url.rpartition("/")[2], self._new_name()
        self.run(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{old}'")
        try:
            self.run(f"ALTER DATABASE {old} RENAME TO {new}")
        except psycopg.errors.ObjectInUse:  # somebody came back at once
            return self.drop(url)
        with psycopg.connect(self.url(new), autocommit=True) as db:
            db.execute(EMPTY)
        self._spare.append(self.url(new))

    def run(self, sql: str) -> None:
        with psycopg.connect(self.url("postgres"), autocommit=True) as db:
            db.execute(sql)


@contextmanager
def cluster(bin_folder: Path) -> Iterator[Cluster]:
    """Make a cluster and run it until the end of the context."""
    # Not pytest's folder, which is root's alone: PostgreSQL refuses to run as root.
    with tempfile.TemporaryDirectory(prefix="ringside-postgres-") as name:
        made = Cluster(bin_folder, Path(name))
        try:
            yield made
        finally:
            made.stop()


def _other_user(folder: Path) -> dict[str, Any]:
    """How to start a program as somebody PostgreSQL runs for, who then owns the folder."""
    if os.name == "nt" or os.geteuid() != 0:
        return {}
    import pwd

    names = {entry.pw_name for entry in pwd.getpwall()}
    user = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
    os.chown(folder, user.pw_uid, user.pw_gid)
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


def _call(words: list[Any], folder: Path, as_user: dict[str, Any]) -> None:
    done = subprocess.run(
        [str(word) for word in words],
        capture_output=True, text=True, cwd=folder, timeout=300, **as_user,
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(f"{words[0]} failed:\n{done.stdout}{done.stderr}")
