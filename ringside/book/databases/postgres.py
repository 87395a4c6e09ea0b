"""A book in PostgreSQL, which several processes may share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager, nullcontext
from functools import cache
from itertools import count
from typing import Any
from urllib.parse import quote

import peewee

from ringside.book.databases.connections import PooledDatabase, connected
from ringside.book.databases.database import WAIT, Errors, Row
from ringside.book.databases.locks import KeptLock, Lock

# A host that is gone without a word would else be waited for as long as the system pleases.
PATIENCE = {"keepalives_idle": 30, "keepalives_interval": 10, "keepalives_count": 3}
AT_ONCE = 2000  # rows
OURS = 0x52494E47  # the first half of the name of our locks; the other is the schema's

NO_ADDRESS = (
    "That is not the address of a database. Write it as postgresql://user@host/name; in a password "
    "write % as %25, / as %2F, : as %3A and @ as %40."
)


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
        self.db = PooledDatabase(self.conninfo)

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

    def lock(self, is_shared: bool) -> Lock | KeptLock | None:
        """Lock the whole book, alone or with others that share it. None if somebody is before us.

        The lock lasts until what is returned is closed. One that is shared is for long, so it is
        taken again where the server let it go.
        """
        held = self._locked(is_shared)
        return KeptLock(held, lambda: self._locked(True)) if held and is_shared else held

    def _locked(self, is_shared: bool) -> Lock | None:
        shared = "_shared" if is_shared else ""
        sql = f"SELECT pg_try_advisory_lock{shared}(%s, hashtext(current_schema()))"
        with ExitStack() as stack:
            connection = stack.enter_context(closing(connected(self.conninfo)))
            if connection.execute(sql, (OURS,)).fetchone() != (True,):
                return None
            stack.pop_all()
            return Lock(connection)

    def set_tables_aside(self, schema: str) -> None:
        """Copy every table to a new schema of the same database, within the open transaction."""
        taken = "SELECT 1 FROM information_schema.schemata WHERE schema_name = ?"
        names = (f"{schema}_{number}" if number > 1 else schema for number in count(1))
        free = next(name for name in names if not self.rows(taken, (name,)))
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

    def columns(self, table: str) -> set[str]:
        """Return the names of the columns of a table."""
        sql = """
            SELECT column_name FROM information_schema.columns
            WHERE table_schema = current_schema() AND table_name = ?
        """
        return {row[0] for row in self.rows(sql, (table,))}

    def rows(self, sql: str, values: Sequence[Any]) -> list[Row]:
        """Run one statement; its rows, if it gives any."""
        cursor = self._connection().execute(_with_percents(sql), values)
        return cursor.fetchall() if cursor.description else []

    def streamed(self, sql: str) -> Iterator[Row]:
        """Run one query and give its rows a few at a time; the server keeps its place."""
        with self._connection().cursor(name="streamed") as cursor:
            cursor.itersize = AT_ONCE
            yield from cursor.execute(sql)

    def many(self, sql: str, rows: Sequence[Row]) -> None:
        """Run one statement for each of `rows`."""
        if rows:
            with self._connection().cursor() as cursor:
                cursor.executemany(_with_percents(sql), rows)

    def _connection(self) -> Any:
        return self.db.connection()  # type: ignore[no-untyped-call]

    def strangers(self) -> list[str]:
        """Nothing: who may make triggers in a database of one's own keeps the database."""
        return []

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


def _is_address(said: dict[str, Any]) -> bool:
    """Whether an address says anything, and no part of a password is taken for something else."""
    place = "".join(str(said.get(key) or "") for key in ("host", "port", "dbname"))
    ports = str(said.get("port") or "").replace(",", "")
    return bool(said) and "@" not in place and (not ports or ports.isdecimal())


@cache
def _with_percents(sql: str) -> str:
    """Return a statement of ours as psycopg reads it; none holds these signs for anything else."""
    return sql.replace("?", "%s")
