"""Cells: what people write in them, and what a field keeps of it."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

Order = Literal["", "day", "month"]
# No longer cell is looked into: a field takes less, and putting accents in order takes the square.
LONGEST_CELL = 300
_BRACKETED = re.compile(r"\([^()]*\)")


class CellError(ValueError):
    """A cell that cannot be kept; the message says why and what to do."""


class OrderError(CellError):
    """A date that can be read in two ways."""


@dataclass(frozen=True)
class Reading:
    """What cells are read by: {field: {id: name}}, the order of 03/04/2024, and the present day.

    A field of `names` may be written by the id or by the name of what it means.
    """

    names: Mapping[str, Mapping[str, str]]
    today: date
    order: Order = ""

    def meant(self, field: str, cell: str) -> frozenset[str]:
        """Return the ids of what a cell of `field` may mean, whatever the order of its words.

        What stands in brackets can be left out: "Retriever (Labrador)" is a Labrador Retriever.
        """
        return self._meanings[field].get(_bag(cell), frozenset())

    @cached_property
    def _meanings(self) -> dict[str, dict[tuple[str, ...], frozenset[str]]]:
        return {field: _by_words(names) for field, names in self.names.items()}


def folded(words: str) -> str:
    """Return `words` without accents, signs and capitals: what two spellings of one name share."""
    plain = unicodedata.normalize("NFKD", words.casefold())
    kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(re.findall(r"[^\W_]+", kept))


def _bag(words: str) -> tuple[str, ...]:
    return tuple(sorted(folded(words).split()))


def _by_words(names: Mapping[str, str]) -> dict[tuple[str, ...], frozenset[str]]:
    found: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for key, name in names.items():
        for words in (key, name, _BRACKETED.sub("", name)):
            found[_bag(words)].add(key)
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
        raise CellError(f"“{cell}” is none of: {', '.join(choices)}.")

    return read


def flag(yes: str = "", no: str = "") -> Callable[[str, Reading], bool]:
    """Return a reader for yes or no, with further ways to write each."""
    known = one_of(yes=f"y|true|1|x|{yes}", no=f"n|false|0|{no}")

    def read(cell: str, reading: Reading) -> bool:
        return known(cell, reading) == "yes"

    return read


def country(cell: str, _: Reading) -> str:
    """Return a country's two letters."""
    if re.fullmatch("[A-Za-z]{2}", cell):
        return cell.upper()
    raise CellError(f"“{cell}” is no country's code; write its two letters, such as GB.")


NUMBER_CUT = re.compile(r"[0-9](?:[.,][0-9]+)?E\+?[0-9]+|[0-9]{9,}[.,]0+", re.IGNORECASE)


def number(cell: str, _: Reading) -> str:
    """Return a number that is a name, such as a microchip's, unless a spreadsheet cut it."""
    if NUMBER_CUT.fullmatch(cell):
        raise CellError(
            f"A spreadsheet took it for a quantity and cut it to {cell}. Format the column as "
            "text, type the number anew, with spaces if you like, and save again."
        )
    return cell
