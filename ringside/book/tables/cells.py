"""Cells: what people write in them, and what a field keeps of it."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Literal

from ringside.domain.bounds import country_problem

Order = Literal["", "day", "month"]
# No longer cell is looked into: a field takes less, and putting accents in order takes the square.
LONGEST_CELL = 300
_WORD = re.compile(r"[^\W_]+")
_BRACKETED = re.compile(r"\([^()]*\)")
Bag = tuple[str, ...]  # the words of a name, whatever their order


class CellError(ValueError):
    """A cell that cannot be kept; the message says why and what to do."""


class OrderError(CellError):
    """A date that can be read in two ways."""


@dataclass(frozen=True)
class Reading:
    """What cells are read by: {field: {id: name}}, the order of 03/04/2024, and the present day.

    A field of `names` may be written by the id or by the name of what it means, or by another name
    of it: `also` is {field: {id: other names}}.
    """

    names: Mapping[str, Mapping[str, str]]
    today: date
    order: Order = ""
    also: Mapping[str, Mapping[str, Sequence[str]]] = field(default_factory=dict)

    def meant(self, of: str, cell: str) -> frozenset[str]:
        """Return the ids that a cell of the field `of` can mean.

        A name of its own goes before another name. Words count in any order: "Retriever (Labrador)"
        is a Labrador Retriever.
        """
        if cell in self.names[of]:
            return frozenset({cell})
        words = _bag(cell)
        return next((known[words] for known in self._ids[of] if words in known), frozenset())

    @cached_property
    def _ids(self) -> Mapping[str, Sequence[Mapping[Bag, frozenset[str]]]]:
        """{field: (ids by the words of their own names, ids by the words of other names)}."""
        return {
            of: (
                _by_words((key, _own(key, name)) for key, name in names.items()),
                _by_words(self.also.get(of, {}).items()),
            )
            for of, names in self.names.items()
        }


def folded(words: str) -> str:
    """Return `words` without accents, signs and capitals: what two spellings of one name share."""
    plain = words.casefold()
    if not plain.isascii():
        apart = unicodedata.normalize("NFKD", plain)
        plain = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return " ".join(_WORD.findall(plain))


def _bag(name: str) -> Bag:
    return tuple(sorted(folded(name).split()))


def _own(key: str, name: str) -> Iterator[str]:
    """Yield the id, the name, and the name without what it says in brackets."""
    yield from (key, name, _BRACKETED.sub("", name))


def _by_words(named: Iterable[tuple[str, Iterable[str]]]) -> Mapping[Bag, frozenset[str]]:
    found: dict[Bag, set[str]] = defaultdict(set)
    for key, names in named:
        for name in names:
            found[_bag(name)].add(key)
    return {words: frozenset(keys) for words, keys in found.items()}


def words(cell: str, _: Reading) -> str:
    """Return what was written."""
    return cell


def one_of(**choices: str) -> Callable[[str, Reading], str]:
    """Return a reader for one of some words, each with other ways to write it: "male|m"."""
    known = {folded(way): key for key, ways in choices.items() for way in (key, *ways.split("|"))}
    known.pop("", None)

    def read(cell: str, _: Reading) -> str:
        if folded(cell) in known:
            return known[folded(cell)]
        raise CellError(f"“{cell}” is not one of: {', '.join(choices)}.")

    return read


def flag(yes: str = "", no: str = "") -> Callable[[str, Reading], bool]:
    """Return a reader for yes or no, with further ways to write each."""
    known = one_of(yes=f"y|true|1|x|{yes}", no=f"n|false|0|{no}")

    def read(cell: str, reading: Reading) -> bool:
        return known(cell, reading) == "yes"

    return read


body = one_of(
    FCI="Fédération Cynologique Internationale",
    AKC="American Kennel Club",
    KC="The Kennel Club",
    CKC="Canadian Kennel Club",
    DA="Dogs Australia",
)


def country(cell: str, _: Reading) -> str:
    """Return a country's two letters."""
    if not re.fullmatch("[A-Za-z]{2}", cell):
        raise CellError(f"“{cell}” is not a country code; write two letters, such as GB.")
    if problem := country_problem(cell.upper()):
        raise CellError(f"{problem}")
    return cell.upper()


NUMBER_CUT = re.compile(r"[0-9](?:[.,][0-9]+)?E\+?[0-9]+|[0-9]{9,}[.,]0+", re.IGNORECASE)


def number(cell: str, _: Reading) -> str:
    """Return a number that is a name, such as a microchip's, unless a spreadsheet cut it."""
    if NUMBER_CUT.fullmatch(cell):
        raise CellError(
            f"A spreadsheet read it as a quantity and cut it to {cell}. Format the column as "
            "text, type the number again, with spaces if you like, and save."
        )
    return cell
