"""The two databases a book may live in: an SQLite file, or a PostgreSQL server that several share.

Each says in its own way how a connection is had, how one writer holds up the others, and how a list
is given to a query. All other SQL of the book is the same for both, written with `?`.
"""

from __future__ import annotations

import logging
import sqlite3
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager, nullcontext, suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol
from urllib.parse import quote

import peewee
from peewee import PostgresqlDatabase, SqliteDatabase

if TYPE_CHECKING:
    import psycopg
    from psycopg_pool import ConnectionPool

Row = tuple[Any, ...]
Errors = tuple[type[Exception], ...]

WAIT = 10  # seconds for a lock or a connection
LOOK_EVERY = 5  # seconds, whether a lock is still held
# A process that was stopped in the middle of a write must not hold up the others for ever.
# Said to each connection: among libpq's options it would push aside those of a service.
SETTINGS = (
    f"SET lock_timeout = '{WAIT}s'; SET idle_in_transaction_session_timeout = '60s'; "
    "SET default_transaction_isolation = 'read committed'"
)
# A host that is gone without a word would else be waited for as long as the system pleases.
PATIENCE = {"keepalives_idle": 30, "keepalives_interval": 10, "keepalives_count": 3}
MOST_CONNECTIONS = 10  # of one process
OURS = 0x52494E47  # the first half of the name of our locks; the other is the schema's

# What is wrong in us, not in the database (PEP 249's names).
FAULTS = {"IntegrityError", "ProgrammingError", "DataError", "NotSupportedError"}
# PostgreSQL files these under what is wrong in us, but whoever keeps the server mends them.
BARRED = {"InsufficientPrivilege", "InvalidSchemaName"}

# What it says of a connection is told by whoever asked for one.
logging.getLogger("psycopg.pool").addHandler(logging.NullHandler())

NO_ADDRESS = (
    "That is no address of a database. Write it as postgresql://user@host/name; in a password "
    "write % as %25, / as %2F, : as %3A and @ as %40."
)


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
    kinds = _kinds(error)
    return not FAULTS & kinds or bool(BARRED & kinds)


def is_full(error: Exception) -> bool:
    """Whether the disk was full."""
    return "DiskFull" in _kinds(error) or "disk is full" in str(error)


def is_read_only(error: Exception) -> bool:
    """Whether the database takes no writes, as a standby."""
    return "ReadOnlySqlTransaction" in _kinds(error) or "readonly database" in str(error)


def _kinds(error: Exception) -> set[str]:
    """Return the names of what an error is: Peewee and the drivers share those of PEP 249."""
    kinds = {kind.__name__ for kind in type(error).__mro__}
    first = getattr(error, "orig", None)  # what the driver raised, where Peewee wraps it
    return kinds | _kinds(first) if first else kinds


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
        self._line = threading.RLock()

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

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Lock the file at once: a lock taken later may find that another was faster.

        Writers of this process wait for each other before that. Who waits for SQLite looks again
        and again, up to ten times a second, and among many somebody always comes too late.
        """
        if not self._line.acquire(timeout=WAIT):
            raise sqlite3.OperationalError("database is locked")
        try:
            with self.db.atomic("IMMEDIATE"):
                yield
        finally:
            self._line.release()

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
        except psycopg.ProgrammingError:  # whose words repeat the password
            said = {}
        if not _is_address(said):
            raise ValueError(NO_ADDRESS)
        self._said = {
            "connect_timeout": WAIT,
            "fallback_application_name": "ringside",
            "tcp_user_timeout": 1000 * WAIT,
            **PATIENCE,
            **said,
            "client_encoding": "UTF8",
        }
        self.conninfo = psycopg.conninfo.make_conninfo("", **self._said)
        self.db = _PooledDatabase(self.conninfo)

    @property
    def shown(self) -> str:
        """The address without what is secret in it."""
        user, host, port, name, service = (
            quote(str(self._said.get(key) or ""), safe=",:")
            for key in ("user", "host", "port", "dbname", "service")
        )
        place = f"{user}@{host}" if user else host
        rest = f"?service={service}" if service else ""
        return f"postgresql://{place}{':' + port if port.strip(',') else ''}/{name}{rest}"

    def lock(self, is_shared: bool) -> psycopg.Connection | KeptLock | None:
        """Lock the whole book, alone or with others that share it. None if somebody is before us.

        The lock lasts until what is returned is closed. One that is shared is for long, so it is
        taken again where the server let it go.
        """
        held = self._locked(is_shared)
        return KeptLock(held, lambda: self._locked(True)) if held and is_shared else held

    def _locked(self, is_shared: bool) -> psycopg.Connection | None:
        shared = "_shared" if is_shared else ""
        sql = f"SELECT pg_try_advisory_lock{shared}(%s, hashtext(current_schema()))"
        with ExitStack() as stack:
            connection = stack.enter_context(closing(_connected(self.conninfo)))
            if connection.execute(sql, (OURS,)).fetchone() != (True,):
                return None
            stack.pop_all()
            return connection

    def set_tables_aside(self, schema: str) -> None:
        """Copy every table to a new schema of the same database, within the open transaction."""
        free = schema
        while self.rows("SELECT 1 FROM information_schema.schemata WHERE schema_name = ?", (free,)):
            free = f"{free}_again"
        self.rows(f'CREATE SCHEMA "{free}"', ())
        for table in self.db.get_tables():
            self.rows(f'CREATE TABLE "{free}"."{table}" AS TABLE "{table}"', ())

    def renumber(self) -> None:
        """Set each counter behind the greatest number of its column.

        Never back: it would stay there though the transaction were undone.
        """
        for table, column in (("change", "seq"), ("contested", "key")):
            self.rows(
                f"""
                SELECT setval(counter, GREATEST(nextval(counter), newest + 1), false) FROM (
                    SELECT CAST(pg_get_serial_sequence('{table}', '{column}') AS regclass)
                    AS counter, COALESCE(MAX("{column}"), 0) AS newest FROM "{table}"
                ) AS present
                """,
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
        sql = "SELECT value FROM meta WHERE key = 'id' FOR UPDATE"
        with self.db.atomic():
            # A restore puts another row in its place: who waited for the old one locked nothing.
            if not (self.rows(sql, ()) or self.rows(sql, ())):
                raise peewee.OperationalError("The book's row is gone.")
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


class KeptLock:
    """A lock that is taken again where its connection was cut, as by a restart of the server."""

    def __init__(
        self, held: psycopg.Connection, take: Callable[[], psycopg.Connection | None]
    ) -> None:
        """Keep what is `held`; `take` gives it anew, None while somebody else has it."""
        self._held: psycopg.Connection | None = held
        self._take = take
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._keep, name="lock of the book", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Let it go."""
        self._closing.set()
        self._thread.join(WAIT)

    def _keep(self) -> None:
        import psycopg

        while not self._closing.wait(LOOK_EVERY):
            with suppress(psycopg.Error):  # it is away still
                if self._held is None or self._held.closed:
                    self._held = self._take()
                else:
                    self._held.execute("SELECT 1")
        if self._held:
            self._held.close()


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
            self._lent.connection = self._borrowed()
        opened: bool = super().connect(reuse_if_open)
        return opened

    def _connect(self) -> psycopg.Connection:
        connection: psycopg.Connection = self._lent.__dict__.pop("connection")
        return connection

    def _borrowed(self) -> psycopg.Connection:
        from psycopg_pool import PoolTimeout

        pool = self._pool_now()
        try:
            return pool.getconn()
        except PoolTimeout:
            self._refuse_if_away(pool)
            raise  # all are in use

    def _refuse_if_away(self, pool: ConnectionPool) -> None:
        """Let a pool go whose server is away: it would try again ever more seldom.

        Until the next one can be begun, those who ask learn at once that it cannot.
        """
        import psycopg

        try:
            _connected(self._conninfo).close()
        except psycopg.Error:
            with self._making:
                if self._pool is pool:
                    self._pool = None
            pool.close(timeout=1)
            raise

    def _pool_now(self) -> ConnectionPool:
        from psycopg_pool import ConnectionPool

        if self._pool is None:
            # A pool that cannot connect would try for long, and not say why.
            _connected(self._conninfo).close()
        with self._making:
            if self._pool is None:
                self._pool = ConnectionPool(
                    self._conninfo,
                    kwargs={"autocommit": True},
                    configure=_set_up,
                    min_size=0,
                    max_size=MOST_CONNECTIONS,
                    timeout=WAIT,
                    reconnect_timeout=WAIT,
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


def _is_address(said: dict[str, Any]) -> bool:
    """Whether an address says anything, and no part of a password is taken for something else."""
    place = "".join(str(said.get(key) or "") for key in ("host", "port", "dbname"))
    ports = str(said.get("port") or "").replace(",", "")
    return bool(said) and "@" not in place and (not ports or ports.isdecimal())


def _connected(conninfo: str) -> psycopg.Connection:
    """Connect outside of a pool. Raises psycopg.Error, also where no book could be kept."""
    import psycopg

    with ExitStack() as stack:
        connection = stack.enter_context(closing(psycopg.connect(conninfo, autocommit=True)))
        sql = "SELECT current_setting('server_encoding'), current_schema()"
        encoding, schema = connection.execute(sql).fetchone() or ("", None)
        if encoding != "UTF8":
            raise psycopg.OperationalError(
                f"its encoding is {encoding}; make one with CREATE DATABASE book ENCODING 'UTF8' "
                "TEMPLATE template0"
            )
        if schema is None:
            raise psycopg.OperationalError("there is no schema in its search_path")
        stack.pop_all()
        return connection


def _set_up(connection: psycopg.Connection) -> None:
    connection.execute(SETTINGS)


@cache
def _with_percents(sql: str) -> str:
    """Return a statement of ours as psycopg reads it; none holds these signs for anything else."""
    return sql.replace("?", "%s")
