"""What a kind of record declares, in one place; book and phone derive all else from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import Any

from ringside.book.kinds.fields import Field, Flag


class Seen(Enum):
    """Who may see the records of a kind."""

    BY_ALL = "by all"
    BY_OWNERS = "by owners"


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of record.

    `name` is what changes call it, `words` what people do. `seen` has no default: nobody forgets
    to think of it. `about` names the field that leads to its owner, `also` further fields it is
    looked up by (the book by the first of them); `newest` the field that orders its records (else
    their ids, which grow with time); `by` a field by whose values the newest is wanted apart.
    `packs` are the kinds whose packs are made from it: its own, or that of the field of the same
    name; `packs_where` a field and the value it must have for that, `beside_packs` the fields that
    none of them is made from. `listed` tells whether it stands under latest changes and removed
    things.
    """

    name: str
    words: str
    seen: Seen
    fields: Mapping[str, Field]
    about: str | None = None
    also: tuple[str, ...] = ()
    newest: str | None = None
    by: str | None = None
    packs: tuple[str, ...] = ()
    packs_where: tuple[str, str] | None = None
    beside_packs: tuple[str, ...] = ()
    listed: bool = True

    def __post_init__(self) -> None:
        """Refuse a declaration that names fields it does not have. Raises ValueError."""
        object.__setattr__(self, "fields", {"deleted": Flag(), **self.fields})
        lists = (*self.also, *self.packs, *(self.packs_where or ())[:1], *self.beside_packs)
        named = (self.about, self.newest, self.by, *lists)
        missing = {name for name in named if name and name != self.name} - self.fields.keys()
        if missing:
            raise ValueError(f"{self.name} has no field {', '.join(sorted(missing))}")

    @cached_property
    def texts(self) -> frozenset[str]:
        """The fields that keep every text which was written apart."""
        return frozenset(name for name, field in self.fields.items() if field.is_text)

    def shape(self) -> dict[str, Any]:
        """Return what the rows of this kind depend on, as JSON: another shape, other rows."""
        return {
            "about": self.about,
            "also": list(self.also),
            "newest": self.newest,
            "by": self.by,
            "fields": {name: field.declare() for name, field in self.fields.items()},
        }

    def declare(self) -> dict[str, Any]:
        """Return the declaration as the phone receives it."""
        return {
            **self.shape(),
            "words": self.words,
            "listed": self.listed,
            "packs": list(self.packs),
            "packs_where": list(self.packs_where) if self.packs_where else None,
            "beside_packs": list(self.beside_packs),
        }
