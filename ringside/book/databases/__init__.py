"""The two databases a book may live in: a file of SQLite's, or a PostgreSQL that several share.

What may not enter: what a book is. No table, field or rule of a record is known here.
"""

from ringside.book.databases import drivers  # noqa: F401  # before any other loads Peewee
from ringside.book.databases.database import Database
from ringside.book.databases.postgres import Postgres
from ringside.book.databases.sqlite import Sqlite
from ringside.book.databases.troubles import is_damaged, is_full, is_read_only, is_trouble

__all__ = ["Database", "Postgres", "Sqlite", "is_damaged", "is_full", "is_read_only", "is_trouble"]
