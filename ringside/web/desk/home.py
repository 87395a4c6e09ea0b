"""The desk's first page: the dogs, what waits for a decision, and what changed last."""

from __future__ import annotations

from functools import cache
from typing import Any

from flask import Blueprint, render_template

from ringside.book.devices import Devices
from ringside.book.keeping import Notices
from ringside.book.store import Book
from ringside.knowledge import Knowledge
from ringside.web.desk.latest import latest
from ringside.web.library import Library

RECENT = 60


def make_home(book: Book, library: Library, notices: Notices) -> Blueprint:
    """Return the route of the first page."""
    routes = Blueprint("home", __name__)

    @routes.get("")
    def page() -> str:
        knowledge = library.knowledge
        with book.session():
            dogs = book.records("dog")
            notes = book.records("note")
            practice = book.records("practice")
            devices = {device.id: device.name for device in Devices(book).all()}
            return render_template(
                "desk/home.html",
                root=library.edition().build.root,
                place=book.place,
                notices=notices.all(book),
                left_out=knowledge.set_aside,
                dogs=_dogs(dogs, notes, practice, knowledge),
                apart=book.texts_apart(),
                contested=book.contested(),
                recent=latest(book.recent(RECENT), cache(book.record), devices, knowledge),
            )

    return routes


def _dogs(dogs: Any, notes: Any, practice: Any, knowledge: Knowledge) -> list[dict[str, Any]]:
    def about(records: Any, dog: str) -> list[Any]:
        return [
            {**item, "station_name": _station(knowledge, item.get("station"))}
            for item in records.values()
            if item.get("dog") == dog
        ]

    rows = [
        {
            **values,
            "id": dog,
            "breed_name": _breed(knowledge, values.get("breed")),
            "notes": about(notes, dog),
            "practice": sorted(about(practice, dog), key=lambda item: item.get("at") or ""),
        }
        for dog, values in dogs.items()
    ]
    return sorted(rows, key=lambda row: (row.get("name") or "").casefold())


def _breed(knowledge: Knowledge, key: str | None) -> str:
    breed = knowledge.breeds.profiles.get(key or "")
    return breed.name if breed else key or ""


def _station(knowledge: Knowledge, key: str | None) -> str:
    station = knowledge.stations.get(key or "")
    return station.name if station else key or ""
