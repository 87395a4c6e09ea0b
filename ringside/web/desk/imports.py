"""What is taken in from tables at the desk: dogs, and a season of shows, entries and results."""

from __future__ import annotations

from datetime import date

from flask import Blueprint

from ringside.book.store import Book
from ringside.book.tables.cells import Order, Reading
from ringside.book.tables.dogs import DOGS
from ringside.book.tables.season import SEASON
from ringside.knowledge import Knowledge
from ringside.web.desk.table_import import Taken, make_import
from ringside.web.library import Library

OF_DOGS = Taken(
    "dogs", DOGS, "dog", "dogs",
    "microchip, registration number, registered name, or call name and date of birth",
    "Call name", "/desk#dog-",
)  # fmt: skip
OF_SEASON = Taken(
    "season", SEASON, "entry", "entries", "dog, show and day", "Dog", "/desk/season?row="
)


def make_imports(book: Book, library: Library) -> list[Blueprint]:
    """Return the routes of all imports."""
    return [
        make_import(book, library, OF_DOGS, lambda order: dogs_reading(library.knowledge, order)),
        make_import(
            book, library, OF_SEASON, lambda order: season_reading(library.knowledge, order)
        ),
    ]


def dogs_reading(knowledge: Knowledge, order: Order) -> Reading:
    """Return how cells about dogs are read: breeds by any of their names."""
    breeds = knowledge.breeds.profiles
    return Reading(
        {"breed": {key: breed.name for key, breed in breeds.items()}},
        date.today(),
        order,
        {"breed": {key: breed.also for key, breed in breeds.items()}},
    )


def season_reading(knowledge: Knowledge, order: Order) -> Reading:
    """Return how cells of a season are read: grades, and the classes of each body, by name."""
    names = {"grade": {grade.id: grade.name for grade in knowledge.results.grade}}
    for body, regulation in knowledge.regulations.items():
        named = {one.id: one.name for one in regulation.named}
        classes = {one.id: one.name for one in regulation.classes}
        names[f"klass {body.upper()}"] = named | classes
    return Reading(names, date.today(), order)
