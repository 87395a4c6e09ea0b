"""The two databases a book may live in: an SQLite file, or a PostgreSQL server that several share.

Each says in its own way how a connection is had, how one writer holds up the others, and how a list
is given to a query. All other SQL of the book is the same for both, written with `?`.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import peewee
from peewee import PostgresqlDatabase, SqliteDatabase

if TYPE_CHECKING:
    import psycopg
    from psycopg_pool import ConnectionPool

Row = tuple[Any, ...]
Errors = tuple[type[Exception], ...]

WAIT = 10  # seconds for a lock or a connection
# A process that was stopped in the middle of a write must not hold up the others for ever.
SERVER_OPTIONS = (
    f"-c lock_timeout={WAIT}s -c idle_in_transaction_session_timeout=60s "
    r"-c default_transaction_isolation=read\ committed"
)
MOST_CONNECTIONS = 10  # of one process
OURS = 0x52494E47  # the first half of the name of our locks; the other is the schema's

# What is wrong in us, not in the database (PEP 249's names).
FAULTS = {"IntegrityError", "ProgrammingError", "DataError", "NotSupportedError"}


class Database(Protocol):
    """What the book needs to know of its database."""

    db: Any
    # A query that gives the members of the JSON list in its one parameter.
    listed: str
    # What Peewee and the driver raise.
    errors: Errors

    @property
    def shown(self) -> str:
        """Where the book is, fit to be shown."""

    def rows(self, sql: str, values: Sequence[Any]) -> list[Row]:
        """Run one statement; its rows, if it gives any."""

    def many(self, sql: str, rows: list[Row]) -> None:
        """Run one statement for each of `rows`."""

    def opening(self) -> Any:
        """Return a context in which the book is looked at and made by one process at a time."""

    def settle(self) -> None:
        """Prepare what was recognised as a book, or is empty."""

    def making(self) -> Any:
        """Return a context in which tables are made."""

    def writing(self) -> Any:
        """Return a context that holds the one writer's lock."""

    def snapshot(self) -> Any:
        """Return a context in which everything is read as of one moment."""

    def renumber(self) -> None:
        """Go on counting behind the rows that were put in with their numbers."""

    def release(self) -> None:
        """End a request's use of this thread's connection."""

    def close(self) -> None:
        """Let go of every connection there is to let go of."""


def is_trouble(error: Exception) -> bool:
    """Whether it is the database that cannot, rather than we who asked for nonsense."""
    return not any(name in FAULTS for name in _kinds(error))


def is_full(error: Exception) -> bool:
    """Whether the disk was full."""
    return "DiskFull" in _kinds(error) or "disk is full" in str(error)


def _kinds(error: Exception) -> list[str]:
    """Return the names of what an error is: Peewee and the drivers share those of PEP 249."""
    return [kind.__name__ for kind in type(error).__mro__]


class Connection(sqlite3.Connection):
    """A connection that its thread keeps, and that closes with the thread."""

    def __del__(self) -> None:
        """Close, and so let the last one of all fold the write-ahead log into the book."""
        with suppress(sqlite3.ProgrammingError):  # it could not be opened in the first place
            self.close()


class Sqlite:
    """A file of its own. Each thread keeps its connection."""

    listed = "SELECT value FROM json_each(?)"
    errors: Errors = (peewee.PeeweeException, sqlite3.Error)

    def __init__(self, path: Path) -> None:
        """Have the file at `path`, which is made if there is none. Raises OSError."""
        self.path = path
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():  # the files SQLite makes beside it take their mode from this one
            with suppress(OSError):
                path.touch(mode=0o600)
        self.db = SqliteDatabase(
            str(path),
            pragmas={"synchronous": "full", "foreign_keys": 1, "busy_timeout": WAIT * 1000},
            factory=Connection,
        )

    @property
    def shown(self) -> str:
        """The file."""
        return str(self.path)

    def rows(self, sql: str, values: Sequence[Any]) -> list[Row]:
        """Ask the connection itself: through Peewee a query takes half as long again."""
        return self._connection().execute(sql, values).fetchall()

    def many(self, sql: str, rows: list[Row]) -> None:
        """Run one statement for each of `rows`."""
        self._connection().executemany(sql, rows)

    def _connection(self) -> sqlite3.Connection:
        connection: sqlite3.Connection = self.db.connection()  # type: ignore[no-untyped-call]
        return connection

    def opening(self) -> Any:
        """Nothing to hold: SQLite has no lock that outlives a statement without a transaction."""
        return nullcontext()

    def settle(self) -> None:
        """Keep a write-ahead log, and the file to ourselves."""
        self.db.pragma("journal_mode", "wal")
        for file in (self.path, *(Path(f"{self.path}{end}") for end in ("-wal", "-shm"))):
            with suppress(OSError):  # there is none, or it is another user's
                file.chmod(0o600)

    def writing(self) -> Any:
        """Lock the file at once: a lock taken later may find that another was faster."""
        return self.db.atomic("IMMEDIATE")

    making = writing

    def snapshot(self) -> Any:
        """A transaction sees the file as it was at its first query."""
        return self.db.atomic()

    def renumber(self) -> None:
        """Nothing: SQLite counts on from what there is."""

    def release(self) -> None:
        """Nothing: opening the file anew for each request would cost more than it."""

    def close(self) -> None:
        """Close this thread's connection."""
        self.db.close()


class Postgres:
    """A PostgreSQL database, by a pool of connections; several processes may share it."""

    listed = "SELECT json_array_elements_text(?::json)"

    def __init__(self, url: str) -> None:
        """Name the database at `url` (a libpq connection URI). Raises ValueError for a bad one."""
        try:
            import psycopg
            import psycopg.conninfo
            import psycopg_pool  # noqa: F401  # to say at once that it is missing
        except ImportError as error:
            raise ValueError(
                "PostgreSQL needs a driver: install it with pip install 'ringside[postgres]'."
            ) from error
        self.errors: Errors = (peewee.PeeweeException, psycopg.Error)
        try:
            said = psycopg.conninfo.conninfo_to_dict(url)
        except psycopg.ProgrammingError as error:
            raise ValueError(f"That is no address of a database: {str(error).strip()}") from error
        options = f"{said.pop('options', None) or ''} {SERVER_OPTIONS}".strip()
        said = {"connect_timeout": WAIT, "application_name": "ringside", **said}
        self.conninfo = psycopg.conninfo.make_conninfo("", **said, options=options)
        self._said = said
        self.db = _PooledDatabase(self.conninfo)

    @property
    def shown(self) -> str:
        """The address without what is secret in it."""
        user, host, port, name = (
            str(self._said.get(key) or "") for key in ("user", "host", "port", "dbname")
        )
        place = f"{user}@{host}" if user else host
        return f"postgresql://{place}{':' + port if port else ''}/{name}"

    def lock(self, is_shared: bool) -> psycopg.Connection | None:
        """Lock the whole book, alone or with others that share it. None if somebody is before us.

        The lock lasts as long as the connection that is returned.
        """
        import psycopg

        shared = "_shared" if is_shared else ""
        sql = f"SELECT pg_try_advisory_lock{shared}(%s, hashtext(current_schema()))"
        connection = psycopg.connect(self.conninfo, autocommit=True)
        if connection.execute(sql, (OURS,)).fetchone() == (True,):
            return connection
        connection.close()
        return None

    def set_tables_aside(self, schema: str) -> None:
        """Copy every table to a new schema of the same database, within the open transaction."""
        free = schema
        while self.rows("SELECT 1 FROM information_schema.schemata WHERE schema_name = ?", (free,)):
            free = f"{free}_again"
        self.rows(f'CREATE SCHEMA "{free}"', ())
        for table in self.db.get_tables():
            self.rows(f'CREATE TABLE "{free}"."{table}" AS TABLE "{table}"', ())

    def renumber(self) -> None:
        """Set each counter behind the greatest number of its column."""
        for table, column in (("change", "seq"), ("contested", "key")):
            self.rows(
                f"SELECT setval(pg_get_serial_sequence('{table}', '{column}'), "
                f'(SELECT COALESCE(MAX("{column}"), 0) + 1 FROM "{table}"), false)',
                (),
            )

    def rows(self, sql: str, values: Sequence[Any]) -> list[Row]:
        """Run one statement; its rows, if it gives any."""
        cursor = self._connection().execute(_with_percents(sql), values)
        return cursor.fetchall() if cursor.description else []

    def many(self, sql: str, rows: list[Row]) -> None:
        """Run one statement for each of `rows`."""
        if rows:
            with self._connection().cursor() as cursor:
                cursor.executemany(_with_percents(sql), rows)

    def _connection(self) -> Any:
        return self.db.connection()  # type: ignore[no-untyped-call]

    @contextmanager
    def opening(self) -> Iterator[None]:
        """Let one process at a time look whether there is a book, and make it whole or not."""
        with self.db.atomic():
            self.rows("SELECT pg_advisory_xact_lock(?, hashtext(current_schema()))", (OURS + 1,))
            yield

    def settle(self) -> None:
        """Nothing to prepare."""

    def making(self) -> Any:
        """Nothing further to hold: there is no row to lock before there are tables."""
        return nullcontext()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Lock the book's row: numbers are then committed in the order they were given out.

        What is read behind it sees all that was committed before (READ COMMITTED).
        """
        with self.db.atomic():
            self.rows("SELECT value FROM meta WHERE key = 'id' FOR UPDATE", ())
            yield

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """See everything as it was at the first query."""
        with self.db.atomic():
            self.rows("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ", ())
            yield

    def release(self) -> None:
        """Give the connection back to the pool."""
        self.db.close()

    def close(self) -> None:
        """End the pool; the next use begins another."""
        self.db.close()
        self.db.close_pool()


class _PooledDatabase(PostgresqlDatabase):
    """Peewee's database over psycopg's own pool, which looks at a connection before it lends it."""

    # Peewee's FLOAT would round our numbers, SERIAL end at two milliards of changes, and text in
    # another order than the plain one would sort stamps otherwise than every phone does.
    field_types = {  # noqa: RUF012  # Peewee's way to say it
        **PostgresqlDatabase.field_types,
        "AUTO": "BIGSERIAL",
        "FLOAT": "DOUBLE PRECISION",
        "TEXT": 'TEXT COLLATE "C"',
    }

    def __init__(self, conninfo: str) -> None:
        self._conninfo = conninfo
        self._pool: ConnectionPool | None = None
        self._making = threading.Lock()
        self._lent = threading.local()
        super().__init__(conninfo, prefer_psycopg3=True)

    def connect(self, reuse_if_open: bool = False) -> bool:
        # Peewee connects under a lock that closing needs too: whoever waits for a connection in
        # there would wait for those who cannot give theirs back.
        if self.is_closed():
            self._lent.connection = self._pool_now().getconn()
        opened: bool = super().connect(reuse_if_open)
        return opened

    def _connect(self) -> psycopg.Connection:
        connection: psycopg.Connection = self._lent.__dict__.pop("connection")
        return connection

    def _pool_now(self) -> ConnectionPool:
        import psycopg
        from psycopg_pool import ConnectionPool

        with self._making:
            if self._pool is None:
                # A pool that cannot connect would try for long, and not say why.
                psycopg.connect(self._conninfo).close()
                self._pool = ConnectionPool(
                    self._conninfo,
                    kwargs={"autocommit": True},
                    min_size=0,
                    max_size=MOST_CONNECTIONS,
                    timeout=WAIT,
                    check=ConnectionPool.check_connection,
                    close_returns=True,  # to the pool it is of, which may be closed by now
                    open=True,
                )
            return self._pool

    def close_pool(self) -> None:
        with self._making:
            pool, self._pool = self._pool, None
        if pool:
            pool.close()


@cache
def _with_percents(sql: str) -> str:
    """Return a statement of ours as psycopg reads it; none holds these signs for anything else."""
    return sql.replace("?", "%s")
