"""What an error of a database means: Peewee and both drivers name their errors alike."""

from __future__ import annotations

# What is wrong in us, not in the database (PEP 249's names).
FAULTS = {"IntegrityError", "ProgrammingError", "DataError", "NotSupportedError"}
# PostgreSQL files these under what is wrong in us, but whoever keeps the server mends them.
BARRED = {"InsufficientPrivilege", "InvalidSchemaName"}


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
