"""Connections to PostgreSQL: one by itself, or one lent by a pool that looks at it before."""

from __future__ import annotations

import logging
import threading
from contextlib import ExitStack, closing
from typing import TYPE_CHECKING

from peewee import PostgresqlDatabase

from ringside.book.databases.database import WAIT
from ringside.book.databases.drivers import Adapter

if TYPE_CHECKING:
    import psycopg
    from psycopg_pool import ConnectionPool

# A process that was stopped in the middle of a write must not hold up the others for ever.
# Said to each connection: among libpq's options it would push aside those of a service.
SETTINGS = (
    f"SET lock_timeout = '{WAIT}s'; SET idle_in_transaction_session_timeout = '60s'; "
    "SET default_transaction_isolation = 'read committed'"
)
MOST_CONNECTIONS = 10  # of one process

# What it says of a connection is told by whoever asked for one.
logging.getLogger("psycopg.pool").addHandler(logging.NullHandler())


class PooledDatabase(PostgresqlDatabase):
    """Peewee's database over psycopg's own pool, which looks at a connection before it lends it."""

    # Peewee's FLOAT would round our numbers, SERIAL end at two milliards of changes, and text in
    # another order than the plain one would sort stamps otherwise than every phone does.
    field_types = {  # noqa: RUF012  # Peewee's way to say it
        **PostgresqlDatabase.field_types,
        "AUTO": "BIGSERIAL",
        "FLOAT": "DOUBLE PRECISION",
        "TEXT": 'TEXT COLLATE "C"',
    }

    # It takes the other one where it saw no driver at its import.
    psycopg2_adapter = psycopg3_adapter = Adapter

    def __init__(self, conninfo: str) -> None:
        self._conninfo = conninfo
        self._pool: ConnectionPool | None = None
        self._making = threading.Lock()
        self._lent = threading.local()
        super().__init__(conninfo, prefer_psycopg3=True)

    def connect(self, reuse_if_open: bool = False) -> bool:
        """Have a connection for this thread; whether it had none before."""
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
            connected(self._conninfo).close()
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
            connected(self._conninfo).close()
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
        """End the pool; the next use begins another."""
        with self._making:
            pool, self._pool = self._pool, None
        if pool:
            pool.close()


def connected(conninfo: str) -> psycopg.Connection:
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
