"""One odd value closes no page of the desk, no export and no pack: a book that holds every odd and
half record there can be, taken in through the sync."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from ringside.app import Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.keeping.records_csv import export_csv
from ringside.book.kinds import KINDS
from ringside.book.packs import dog_pack
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.knowledge import Knowledge
from ringside.web.desk.latest import latest
from tests.known import shipped
from tests.odd import NEIGHBOUR, Kennel, changes
from tests.unit.phone import PORT, Phone

PAGES = (
    "/desk", "/desk/own", "/desk/devices", "/desk/calendar", "/desk/dogs/import", "/desk/sources",
    "/desk/season", "/desk/season/import",
)  # fmt: skip
FILES = (
    "/desk/own/asks.toml", "/desk/dogs/import/template.csv", "/desk/season/import/template.csv",
    "/desk/season/season.csv", "/api/calendar/all.ics",
)  # fmt: skip
FORMS = (
    "/desk/calendar/make", "/desk/calendar/stop",
    "/desk/devices/pair", "/desk/devices/rename", "/desk/devices/revoke", "/desk/own/breeds",
    "/desk/own/asks", "/desk/dogs/import/preview", "/desk/dogs/import/order",
    "/desk/dogs/import/write", "/desk/season/import/preview", "/desk/season/import/order",
    "/desk/season/import/write",
)  # fmt: skip
# What is no form: JSON of every shape, and what only says that it is.
SHAPES = (
    None, True, 7, "words", [], [1, 2], [["role"]], {}, {"role": 7}, {"device": [{"a": {}}]},
    {"file": {}, "text": None}, {"carried": [[]], "row": "x"}, b"{", b"\xff\xfe",
)  # fmt: skip
ALL = 1_000_000


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


@pytest.fixture(scope="module")
def kennel() -> Kennel:
    return Kennel()


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    return Place(tmp_path_factory.mktemp("odd"))


@pytest.fixture(scope="module")
def book(place: Place) -> Iterator[Book]:
    book = open_book(place)
    yield book
    book.close()


@pytest.fixture(scope="module")
def app(place: Place, book: Book, knowledge: Knowledge) -> Flask:
    return create_app(Settings(place.data, PORT), book, knowledge)


@pytest.fixture(scope="module")
def phone(app: Flask, book: Book, kennel: Kennel) -> Phone:
    """The phone that has written all that is odd."""
    phone = Phone(app)
    phone.let_in(book)
    made = changes(kennel.records, phone.device)
    for first in range(0, len(made), 1_000):
        answer = phone.sync(*made[first : first + 1_000], most=1)
        assert answer.status_code == 200, answer.text
        assert answer.get_json()["refused"] == []
    return phone


@pytest.mark.parametrize("path", [*PAGES, *FILES])
def test_every_page_of_the_desk_is_shown(phone: Phone, path: str) -> None:
    answer = phone.get(path)
    assert answer.status_code == 200, answer.text
    assert not re.search(r"\bNone\b(?! yet)", answer.text)


def test_the_page_of_every_dog_is_shown(phone: Phone, kennel: Kennel, book: Book) -> None:
    with book.session():
        dogs = list(book.records("dog"))
    assert kennel.dog in dogs
    for dog in dogs:
        for path in (f"/desk/dog/{dog}", f"/desk/dog/{dog}/card"):
            answer = phone.get(path)
            assert answer.status_code == 200, (path, kennel.why(dog))
            assert not re.search(r"\bNone\b(?! felt)", answer.text), (path, kennel.why(dog))
    assert phone.get(f"/desk/dog/{kennel.removed}").status_code == 404


def test_the_neighbours_are_still_shown(phone: Phone, kennel: Kennel) -> None:
    assert f'id="dog-{kennel.dog}"' in phone.get("/desk").text
    assert NEIGHBOUR in phone.get("/desk/own").text


def test_every_change_is_told_in_words(
    phone: Phone, kennel: Kennel, book: Book, knowledge: Knowledge
) -> None:
    with book.session():
        changed = book.recent(ALL)
        told = latest(changed, book.record, {}, knowledge)
    assert len(changed) > len(kennel.records)
    assert all(line["phrase"] or line["about"] is not None for line in told)


def test_every_record_is_exported(phone: Phone, place: Place, book: Book, tmp_path: Path) -> None:
    with book.session():
        here = sum(len(book.records(kind)) for kind in KINDS)
    assert export_csv(place, tmp_path / "out") == here
    for kind in KINDS:
        with open(tmp_path / "out" / f"{kind}.csv", encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
        assert {len(row) for row in rows} == {len(KINDS[kind].fields)}, kind


def test_every_dog_has_its_pack(
    phone: Phone, kennel: Kennel, book: Book, knowledge: Knowledge
) -> None:
    with book.session():
        for dog in book.records("dog"):
            assert dog_pack(knowledge, book, dog), kennel.why(dog)


@pytest.mark.parametrize("path", FORMS)
def test_what_is_no_form_is_refused_in_words(phone: Phone, path: str) -> None:
    shape: Any
    for shape in SHAPES:
        answer = phone.post(path, shape, **{"X-CSRFToken": phone.session()["csrf"]})
        assert answer.status_code == 400, (shape, answer.text)
        assert "form" in answer.get_json()["message"], shape
