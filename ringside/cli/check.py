"""Checking the knowledge files, and a book if one is named."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from ringside.book import keeping
from ringside.cli.options import Commands, place_of
from ringside.knowledge import load
from ringside.knowledge.review import OLD_YEARS, review


def add(commands: Commands) -> None:
    """Add the command that checks."""
    check = commands.add_parser("check", help="check the knowledge files, and a book if named")
    check.add_argument("--data", type=Path, help="also open the book in this folder")
    check.add_argument("--database", metavar="URL", default="", help="also open this book")
    check.add_argument("--all", action="store_true", help="name every old or undated text")
    check.set_defaults(run=_check)


def _check(options: argparse.Namespace) -> int:
    place = place_of(options)
    knowledge = load(own=place.own_breeds if options.data else None)
    found = review(knowledge, date.today())
    wrong = [*knowledge.set_aside, *found.contradictions]
    print(
        f"Knowledge: {len(knowledge.breeds)} breeds, {len(knowledge.cues)} cues, "
        f"{len(knowledge.sources)} sources; {len(wrong) or 'nothing'} wrong found."
    )
    print("\nErrors")
    if options.data:
        _list("Own files left out", knowledge.set_aside)
    _list("Facts without a source", ())
    _list("Contradictions within a standard", found.contradictions)
    print("\nNotes")
    _count_texts(f"Texts more than {OLD_YEARS} years old", found.old, options.all)
    _count_texts("Texts without a date", found.undated, options.all)
    from_memory = [f"{breed}: {number}" for breed, number in found.memory.items()]
    _list("Asks from memory", from_memory, sum(found.memory.values()))
    if options.data or options.database:
        keeping.need(place)
        book = keeping.open_book(place)
        with book.session():
            newest, dogs = book.newest(), len(book.records("dog"))
        print(f"\nBook: {book.place} opens; {newest} changes, {dogs} dogs.")
    return 1 if wrong else 0


def _list(what: str, lines: Sequence[str], number: int | None = None) -> None:
    print(f"  {what}: {(len(lines) if number is None else number) or 'none'}")
    print(*(f"    {line}\n" for line in lines), sep="", end="")


def _count_texts(what: str, by_body: Mapping[str, Sequence[str]], names: bool) -> None:
    lines = [
        f"{body}: {len(texts)}" + "".join(f"\n      {text}" for text in texts if names)
        for body, texts in by_body.items()
    ]
    _list(what, lines, sum(map(len, by_body.values())))
