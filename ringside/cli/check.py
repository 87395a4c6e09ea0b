"""The `ringside check` command: what the knowledge files and a book are found to be.

It tells form and contradictions. Whether a line is true only a reader of its text can tell, and
`--text` helps whoever has the text.
"""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import get_args

from ringside.book import keeping
from ringside.book.store import Book
from ringside.cli.options import Commands, Trouble, place_of
from ringside.knowledge import Knowledge, load, load_whole
from ringside.knowledge.own import own_breed
from ringside.knowledge.review import Review, review
from ringside.knowledge.review.against_text import against_text
from ringside.knowledge.review.ages import OLD_YEARS
from ringside.knowledge.review.coverage import POINTS
from ringside.knowledge.schema import Body, Breed

WIDTH = 100
TABLE = 44  # signs for a breed's name


def add(commands: Commands) -> None:
    """Add the command that checks."""
    command = commands.add_parser("check", help="check the knowledge files, and a book if named")
    command.add_argument("--data", type=Path, help="also open the book in this folder")
    command.add_argument("--database", metavar="URL", default="", help="also open this book")
    command.add_argument("--all", action="store_true", help="list everything that is only counted")
    command.add_argument(
        "--text",
        nargs=2,
        metavar=("FILE", "BREED"),
        help="hold a breed, by its id or its .toml file, to a standard's text on your disk",
    )
    command.add_argument(
        "--standard", metavar="ID", default="fci", help="whose text it is (default: %(default)s)"
    )
    command.set_defaults(run=_check)


def _check(options: argparse.Namespace) -> int:
    if options.text:
        return _check_text(Path(options.text[0]), options.text[1], options.standard)
    place = place_of(options)
    result = _check_knowledge(place.own_breeds if options.data else None, options.all)
    if options.data or options.database:
        keeping.need(place)
        with keeping.opened_as_it_is(place) as book:
            _check_book(book)
    return result


def _check_knowledge(own: Path | None, names_all: bool) -> int:
    """Check all files, with those in the folder `own`, and print what was found.

    Returns 1 if something is wrong, else 0. Raises KnowledgeError if the files cannot be used.
    """
    knowledge = load_whole(own=own)
    found = review(knowledge, date.today())
    asks = sum(len(breed.ask) for breed in knowledge.breeds.values())
    print(
        f"Knowledge: {len(knowledge.breeds)} breeds with {asks} asks, {len(knowledge.cues)} cues, "
        f"{len(knowledge.sources)} sources."
    )
    print("\nErrors")
    if own:
        _list("Own files left out", knowledge.set_aside)
    _list("Contradictions between two asks of one body", found.contradictions)
    _tell_unread(found, names_all)
    _tell_coverage(found)
    print("\nTexts, for information")
    _tell_texts(f"More than {OLD_YEARS} years old", found.old, names_all)
    _tell_texts("Without a date", found.undated, names_all)
    _sum_up(knowledge, found)
    return 1 if knowledge.set_aside or found.contradictions else 0


def _check_text(file: Path, name: str, standard: str) -> int:
    """Hold the breed `name`, an id or a file, to the text in `file`; print where to look.

    Returns 1 if there is something to look at, else 0. Raises Trouble.
    """
    try:
        text = file.read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise Trouble(f"{file} cannot be read: {error.strerror}.") from error
    try:
        found = list(against_text(_breed(name), standard, text))
    except ValueError as error:
        raise Trouble(f"{name}: {error}; choose one of its standards with --standard.") from error
    print(*found, sep="\n", end="\n" if found else "")
    places = "1 place" if len(found) == 1 else f"{len(found) or 'no'} places"
    print(f"{name}, standard {standard}: {places} to look at.")
    return 1 if found else 0


def _check_book(book: Book) -> None:
    """Print what is in a book that was opened."""
    newest, dogs = book.newest(), len(book.records("dog"))
    print(f"\nBook: {book.place} opens; {newest} changes, {dogs} dogs.")


def _breed(name: str) -> Breed:
    if name.endswith(".toml"):
        problems: list[str] = []
        breed = own_breed(Path(name), problems)
        if breed is None:
            raise Trouble("\n".join(problems))
        return breed
    knowledge = load()
    found = knowledge.breeds.get(name)
    if found is None:
        raise Trouble(
            f"There is no breed {name!r}. Give the name of its file in the folder of breeds, "
            "without .toml, or the path of a file of yours."
        )
    return found


def _tell_unread(found: Review, names_all: bool) -> None:
    print("\nNot read in a text of the body")
    memory, secondary = found.barring["memory"], found.barring["secondary"]
    lines = [f"{breed}, {line}" for breed, lines in memory.items() for line in lines]
    _list("Disqualifications from memory", lines)
    lines = [f"{breed}, {line}" for breed, lines in secondary.items() for line in lines]
    _list("Disqualifications from a second-hand account", lines if names_all else (), len(lines))
    _row("Asks from memory", found.memory)


def _tell_coverage(found: Review) -> None:
    """Print how much of a card was read, as a table of breeds and bodies."""
    bodies = [
        body for body in get_args(Body) if any(body in row for row in found.coverage.values())
    ]
    print(f"\nPoints of the card, of {len(POINTS)}, with an ask that was read (. no standard)")
    print(f"  {'':{TABLE}}", *(f"{body:>4}" for body in bodies))
    for breed, row in found.coverage.items():
        print(f"  {breed[:TABLE]:{TABLE}}", *(f"{row.get(body, '.'):>4}" for body in bodies))
    sums = {body: [row[body] for row in found.coverage.values() if body in row] for body in bodies}
    for body, read in sums.items():
        share = sum(read) / len(read) / len(POINTS)
        print(f"  {body}: {len(read)} breeds, {share:.0%} of their points")
    _row("Glance lines missing where there are asks", found.without_glance)


def _tell_texts(what: str, by_body: Mapping[str, Sequence[str]], names_all: bool) -> None:
    if names_all:
        lines = [f"{body}: {text}" for body, texts in by_body.items() for text in texts]
        _list(what, lines)
    else:
        _row(what, {body: len(texts) for body, texts in by_body.items()})


def _sum_up(knowledge: Knowledge, found: Review) -> None:
    wrong = len(knowledge.set_aside) + len(found.contradictions)
    print(
        f"\n{wrong or 'No'} error{'s'[: wrong != 1]}. This checks the form of every file, and "
        "whether two asks of one body\ncontradict each other on sizes, bites, ears or colours. "
        "Only its text can say whether a line is true:\nhold a breed to one with "
        "`ringside check --text FILE BREED`."
    )


def _list(what: str, lines: Sequence[str], number: int | None = None) -> None:
    print(f"  {what}: {(len(lines) if number is None else number) or 'none'}")
    print(*(f"    {line}\n" for line in lines), sep="", end="")


def _row(what: str, counts: Mapping[str, int]) -> None:
    """Print a sum, and what it consists of in as few lines as it needs."""
    print(f"  {what}: {sum(counts.values()) or 'none'}")
    parts = ", ".join(f"{name} {number}" for name, number in counts.items() if number)
    print(*textwrap.wrap(parts, WIDTH, initial_indent="    ", subsequent_indent="    "), sep="\n")
