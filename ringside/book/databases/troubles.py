"""What an error of a database means: Peewee and both drivers name their errors alike."""

from __future__ import annotations

# What is wrong in us, not in the database (PEP 249's names).
FAULTS = {"IntegrityError", "ProgrammingError", "DataError", "NotSupportedError"}
# PostgreSQL files these under what is wrong in us, but whoever keeps the server mends them.
DAMAGED = {"DataCorrupted", "IndexCorrupted"}
BARRED = {"InsufficientPrivilege", "InvalidSchemaName"}


def is_trouble(error: BaseException) -> bool:
    """Whether it is the database that cannot, rather than we who asked for nonsense."""
    kinds = _kinds(error)
    return not FAULTS & kinds or bool(BARRED & kinds)


def is_full(error: BaseException) -> bool:
    """Whether the disk was full."""
    return "DiskFull" in _kinds(error) or "disk is full" in str(error)


def is_read_only(error: BaseException) -> bool:
    """Whether the database takes no writes, as a standby."""
    return "ReadOnlySqlTransaction" in _kinds(error) or "readonly database" in str(error)


def is_damaged(error: BaseException) -> bool:
    """Whether what the database keeps is no longer as it was written."""
    said = str(error)
    return bool(DAMAGED & _kinds(error)) or "malformed" in said or "file is not a database" in said


def _kinds(error: BaseException) -> set[str]:
    """Return the names of what an error is: Peewee and the drivers share those of PEP 249."""
    kinds = {kind.__name__ for kind in type(error).__mro__}
    first = getattr(error, "orig", None)  # what the driver raised, where Peewee wraps it
    return kinds | _kinds(first) if first else kinds
