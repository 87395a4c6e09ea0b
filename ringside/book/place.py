"""Where a book is, and what else stands there with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from ringside.book.databases import Postgres
from ringside.knowledge.own import OWN_BREEDS

FILE_NAME = "book.db"
COPIES = "copies"


@dataclass(frozen=True)
class Place:
    """Where a book is: in a file of the folder `data`, or in the PostgreSQL database at `url`.

    Its copies and the handler's own breed files stand in `data` either way. As text it is what may
    be shown to a person: `url` may hold a password.
    """

    data: Path
    url: str = field(default="", repr=False)
    name: str = FILE_NAME

    @classmethod
    def of_file(cls, file: Path) -> Place:
        """Return the place of a book in a file of whatever name, such as a copy."""
        return cls(file.parent, name=file.name)

    @property
    def file(self) -> Path:
        """The file of a book that is in one."""
        return self.data / self.name

    @property
    def copies(self) -> Path:
        """The folder with its copies."""
        return self.data / COPIES

    @property
    def own_breeds(self) -> Path:
        """The folder with own breed files."""
        return self.data / OWN_BREEDS

    def __str__(self) -> str:
        """Name the file, or the database without what is secret in its address."""
        return Postgres(self.url).shown if self.url else str(self.file)
