"""Dogs from a table: which dog of the book a row means, and what it changes of it."""

from __future__ import annotations

import difflib
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from itertools import chain, islice
from typing import Any

from ringside.book.tables.cells import Reading, folded
from ringside.book.tables.columns import ID
from ringside.book.tables.dog_columns import DOG_COLUMNS, breed
from ringside.book.tables.importing import TableImport
from ringside.book.tables.plan import Known, Line
from ringside.book.tables.rows import Row
from ringside.domain import microchip
from ringside.domain.bounds import day_problem

Dog = dict[str, Any]
MOST_NAMED = 4  # dogs that are told of together
Telling = tuple[str | None, ...]
# Ids by what a dog is known by; by the call name also with each of what else tells dogs apart.
Index = dict[Known | tuple[Known, int, str | None], list[str]]
MOST_GUESSED = 100  # breeds of a table that are looked for by their likeness: each takes its time


class Kennel:
    """The dogs that are there, to be found by what a row says of a dog."""

    def __init__(self, dogs: Mapping[str, Dog], reading: Reading) -> None:
        """Take the dogs by id, the removed ones among them."""
        self.reading = reading
        self.dogs = {
            key: {name: _tidy(name, value, reading) for name, value in dog.items()}
            for key, dog in dogs.items()
        }
        self.shown = dogs
        self.telling = {key: _telling(dog) for key, dog in self.dogs.items()}
        self.guessed: dict[str, str] = {}
        self.order = {key: place for place, key in enumerate(self.dogs)}
        self.live: Index = defaultdict(list)
        self.removed: Index = defaultdict(list)
        for key, dog in self.dogs.items():
            by_key = self.removed if dog.get("deleted") else self.live
            for known in _keys(dog):
                by_key[known].append(key)
                if known[0] == BY_CALL_NAME:
                    for at, words in enumerate(self.telling[key]):
                        by_key[known, at, words].append(key)

    def line(self, row: Row) -> Line:
        """Return what a row does."""
        found, by = self._find(row)
        name = row.values.get("name") or (self._name(found[0]) if len(found) == 1 else "")
        start = Line(row.number, name or row.values.get("pedigree", ""), by=by)
        if row.problems:
            return start.refused(*row.problems)
        if len(found) > 1:
            names = ", ".join(self._name(key) for key in found[:MOST_NAMED])
            return start.refused(
                f"{len(found)} dogs of the book have this {by}: {names}. Correct that in the "
                "app, or name the dog by Ringside's id, which an export has."
            )
        if not found:
            return self._added(start, row)
        if self.dogs[found[0]].get("deleted"):
            return start.refused(
                f"The book's dog with this {by} was removed. Bring it back in the app (Settings, "
                "Removed), or delete the row."
            )
        return self._changed(replace(start, record=found[0]), row)

    def claims(self, line: Line) -> Iterable[Known]:
        """Return what no other row may have: the dog itself, or what it is surely known by."""
        if line.record:
            yield ID, line.record
        keys = _keys(line.values)
        sure = [known for known in keys if known[0] != BY_CALL_NAME]
        yield from sure if sure or line.action != "add" else keys

    def _find(self, row: Row) -> tuple[list[str], str]:
        """Return the dogs that a row means, and by what; those that are removed come last."""
        if row.id in self.dogs:
            return [row.id], "id"
        said = [(at, words) for at, words in enumerate(_telling(row.values)) if words is not None]
        keys = _keys(row.values)
        for by_key in (self.live, self.removed):
            for known in keys:
                found = by_key.get(known, [])
                if known[0] == BY_CALL_NAME:
                    found = self._fitting(by_key, known, said)
                if found:
                    return found, known[0]
        return [], ""

    def _fitting(self, by_key: Index, known: Known, said: list[tuple[int, str]]) -> list[str]:
        """Return the dogs of this call name and birthday that a row does not contradict.

        Of a whole book of one name and birthday, none is looked at whom any word rules out.
        """
        found = by_key.get(known, [])
        for at, words in said:
            narrower = by_key.get((known, at, words), []) + by_key.get((known, at, None), [])
            found = min(found, narrower, key=len)
        fitting = [key for key in found if _fits(said, self.telling[key])]
        return sorted(fitting, key=self.order.__getitem__)

    def _name(self, key: str) -> str:
        return self.dogs[key].get("name") or self.dogs[key].get("pedigree") or "a dog with no name"

    def _added(self, start: Line, row: Row) -> Line:
        missing = [column.title for column in DOG_COLUMNS.needed if column.field not in row.values]
        line = replace(start, record=row.id, edits=_in_columns(row.values, {}))
        if missing:
            return replace(line, edits=()).refused(
                f"The book has no such dog, and a new dog needs: {', '.join(missing)}."
            )
        return self._looked_at(line, row.values)

    def _changed(self, start: Line, row: Row) -> Line:
        was = self.dogs[start.record]
        new = {
            name: value
            for name, value in row.values.items()
            if _tidy(name, value, self.reading) != was.get(name)
        }
        if not new:
            return replace(start, action="same")
        line = replace(start, action="change", edits=_in_columns(new, self.shown[start.record]))
        taken = [
            f"{self._name(other)} has this {known[0]} already; one of the two is wrong."
            for known in _keys({**was, **new})
            if known not in _keys(was) and known[0] != BY_CALL_NAME
            for other in islice(self.live.get(known, []), MOST_NAMED)
        ]
        return line.refused(*taken) if taken else self._looked_at(line, {**was, **new})

    def _looked_at(self, line: Line, dog: Dog) -> Line:
        """Return the line with what a person should look at, or refused for what cannot be."""
        new = line.values
        if dog.get("sex") == "bitch" and {"testes", "testes_on"} & new.keys():
            return line.refused("A bitch has no testes: empty those cells, or correct the sex.")
        remarks = []
        if "breed" in new and new["breed"] not in self.reading.names["breed"]:
            remarks.append(self._unknown_breed(new["breed"]))
        if "microchip" in new:
            chip = microchip.check(new["microchip"])
            if not chip.fine:
                remarks.append(f"Microchip: {chip.message} Saved as written.")
        if {"testes_on", "born"} & new.keys() and (problem := self._felt_problem(dog)):
            remarks.append(f"Testes checked on: {problem} Saved as written; correct one of them.")
        return replace(line, remarks=tuple(remarks))

    def _felt_problem(self, dog: Dog) -> str:
        felt, born = dog.get("testes_on"), dog.get("born")
        if not (felt and born):
            return ""
        return day_problem(date.fromisoformat(felt), self.reading.today, date.fromisoformat(born))

    def _unknown_breed(self, written: str) -> str:
        if written not in self.guessed:
            may_guess = len(self.guessed) < MOST_GUESSED
            self.guessed[written] = _what_it_can_be(written, self.reading, may_guess)
        return self.guessed[written]


def _what_it_can_be(written: str, reading: Reading, may_guess: bool) -> str:
    names = reading.names["breed"]
    several = sorted(names[key] for key in reading.meant("breed", written))
    if several:
        return (
            f"{written} can mean {' or '.join(several)}: write which. As it is, the dog gets the "
            "general card."
        )
    mean = _guess(written, reading) if may_guess else ""
    return f"{written} is not a breed we know; the dog gets the general card.{mean}"


def _guess(written: str, reading: Reading) -> str:
    known = [*reading.names["breed"].values(), *chain(*reading.also.get("breed", {}).values())]
    near = difflib.get_close_matches(written.title(), dict.fromkeys(known), n=2, cutoff=0.5)
    return f" Did you mean {' or '.join(near)}?" if near else ""


def _tidy(name: str, value: Any, reading: Reading) -> Any:
    """Return a value in the form in which two spellings of the same are equal."""
    if not isinstance(value, str):
        return value
    if name == "breed":
        return breed(value.strip(), reading)
    if name == "microchip":
        return _digits(value)
    plain = unicodedata.normalize("NFC", value.strip())
    return plain.upper() if name == "born_in" else plain


def _digits(chip: str) -> str:
    return microchip.check(chip).digits


def _in_columns(values: Dog, was: Dog) -> tuple[tuple[str, Any, Any], ...]:
    names = [name for name in DOG_COLUMNS.by_field if name in values]
    return tuple((name, was.get(name), values[name]) for name in names)


BY_CALL_NAME = "call name and date of birth"
# What must not differ between dogs that only the call name and the birthday hold together.
_TELLING = ("microchip", "registration", "pedigree", "breed", "sex")


def _keys(dog: Dog) -> list[Known]:
    """Return what a dog is known by, the surest first: (what, in a form that can be compared)."""
    born = dog.get("born") or ""
    registered, called = folded(dog.get("pedigree") or ""), folded(dog.get("name") or "")
    keys = [
        ("microchip", _digits(dog.get("microchip") or "")),
        ("registration number", folded(dog.get("registration") or "").replace(" ", "")),
        ("registered name and date of birth", registered and born and f"{registered} {born}"),
        (BY_CALL_NAME, called and born and f"{called} {born}"),
    ]
    return [(what, key) for what, key in keys if key]


def _telling(dog: Dog) -> Telling:
    said = (dog.get(name) for name in _TELLING)
    return tuple([folded(value).replace(" ", "") if value else None for value in said])


def _fits(said: list[tuple[int, str]], telling: Telling) -> bool:
    return all(telling[at] in (None, words) for at, words in said)


DOGS = TableImport(DOG_COLUMNS, Kennel)
