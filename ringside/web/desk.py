"""The desk: pages for the laptop that keeps the book."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from itertools import groupby
from typing import Any

from flask import Blueprint, render_template

from ringside.book.devices import Devices
from ringside.book.store import Book
from ringside.domain.pack import sources_book
from ringside.knowledge import Knowledge
from ringside.web.dogs import make_dogs
from ringside.web.latest import latest
from ringside.web.library import Library
from ringside.web.own import make_own

RECENT = 60
READ = {
    "": "a copy",
    "copy": "a copy",
    "secondary": "a second-hand account",
    "memory": "memory",
}


def make_desk(book: Book, library: Library) -> Blueprint:
    """Return the desk's routes."""
    routes = Blueprint("desk", __name__, url_prefix="/desk")

    @routes.get("")
    def home() -> str:
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
                left_out=knowledge.set_aside,
                dogs=_dogs(dogs, notes, practice, knowledge),
                apart=book.texts_apart(),
                contested=book.contested(),
                recent=latest(book.recent(RECENT), cache(book.record), devices, knowledge),
            )

    @routes.get("/sources")
    def sources() -> str:
        data = sources_book(library.knowledge)
        return render_template(
            "desk/sources.html",
            root=library.edition().build.root,
            bodies=_bodies(data["sources"]),
            total=len(data["sources"]),
            common=data["common"],
            memory=data["memory"],
        )

    routes.register_blueprint(make_own(book, library))
    routes.register_blueprint(make_dogs(book, library))
    return routes


def _bodies(rows: list[dict[str, str]]) -> list[dict[str, Any]]:
    """Return the bodies by name, each with an anchor and its texts."""
    named = sorted(rows, key=lambda row: (row["body"].casefold(), row["title"].casefold()))
    return [
        {
            "name": body,
            "anchor": re.sub(r"\W+", "-", body.casefold()).strip("-"),
            "texts": [_text(row) for row in texts],
        }
        for body, texts in groupby(named, key=lambda row: row["body"])
    ]


def _text(row: dict[str, str]) -> dict[str, str]:
    words = {"read": READ[row.get("read", "")], "checked": _day(row["checked"])}
    return {**row, **words, "date": _day(row.get("date", ""))}


def _day(written: str) -> str:
    """Put YYYY, YYYY-MM or YYYY-MM-DD into words."""
    if len(written) <= 4:
        return written
    day = date.fromisoformat(f"{written}-01"[:10])
    return f"{day.day} {day:%B %Y}" if len(written) == 10 else f"{day:%B %Y}"


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
