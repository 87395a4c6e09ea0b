"""The desk: pages for the laptop that keeps the book."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from flask import Blueprint, render_template

from ringside.book.store import Book
from ringside.knowledge import Knowledge
from ringside.web.library import Library

RECENT = 60


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
            return render_template(
                "desk/home.html",
                root=library.edition().build.root,
                place=book.path,
                dogs=_dogs(dogs, notes, practice, knowledge),
                apart=book.texts_apart(),
                contested=book.contested(),
                recent=[_line(change, dogs, knowledge) for change in book.recent(RECENT)],
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
            "breed_name": _breed(knowledge, values.get("breed")),
            "notes": about(notes, dog),
            "practice": sorted(about(practice, dog), key=lambda item: item.get("at") or ""),
        }
        for dog, values in dogs.items()
    ]
    return sorted(rows, key=lambda row: (row.get("name") or "").casefold())


def _line(change: dict[str, Any], dogs: Any, knowledge: Knowledge) -> dict[str, Any]:
    """Put a change into words. A note's text stays veiled here too."""
    value = change["value"]
    shown = "(private)" if (change["kind"], change["field"]) == ("note", "text") else value
    if change["field"] == "station":
        shown = _station(knowledge, value)
    elif change["field"] in ("dog",) and value in dogs:
        shown = dogs[value].get("name")
    elif change["field"] == "breed":
        shown = _breed(knowledge, value)
    elif isinstance(value, list):
        shown = f"{len(value)} stations"
    moment = datetime.fromtimestamp(change["received"] / 1000, UTC)
    return {**change, "shown": "nothing" if shown is None else shown, "when": moment}


def _breed(knowledge: Knowledge, key: str | None) -> str:
    breed = knowledge.breeds.get(key or "")
    return breed.name if breed else key or ""


def _station(knowledge: Knowledge, key: str | None) -> str:
    station = knowledge.stations.get(key or "")
    return station.name if station else key or ""
