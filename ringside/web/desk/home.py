"""The desk's first page: the shows ahead, what waits for a person, the dogs, what changed last."""

from __future__ import annotations

from datetime import date
from functools import cache

from flask import Blueprint, render_template

from ringside.book import clock, season
from ringside.book.devices import Devices
from ringside.book.keeping import Notices
from ringside.book.store import Book
from ringside.web.desk import overview
from ringside.web.desk.coming import next_entries
from ringside.web.desk.latest import about, by_day, latest
from ringside.web.desk.moments import say_weekday
from ringside.web.library import Library

# Changes that are looked at, and lines that are shown of them.
RECENT = 300
LINES = 24


def make_home(book: Book, library: Library, notices: Notices) -> Blueprint:
    """Return the route of the first page."""
    routes = Blueprint("home", __name__)

    @routes.get("")
    def page() -> str:
        knowledge, today, now = library.knowledge, date.today(), clock.wall()
        with book.session():
            find, dogs = cache(book.record), book.records("dog")
            shows, entries = season.ahead(book, today)
            ahead = overview.shows_ahead(shows, entries, dogs, book.about, knowledge, today)
            coming = next_entries(shows, entries, today)
            devices = Devices(book).all()
            names = {device.id: device.name for device in devices}
            changes = latest(book.recent(RECENT), find, names, knowledge)
            return render_template(
                "desk/home.html",
                root=library.edition().build.root,
                place=book.place,
                notices=notices.all(book),
                today=say_weekday(today),
                ahead=ahead,
                waiting=overview.waiting(
                    book.texts_apart(),
                    lambda kind, record: about(kind, record, find),
                    book.contested(),
                    devices,
                    knowledge.set_aside,
                    now,
                ),
                dogs=overview.dog_rows(dogs, coming, book.about, knowledge, today),
                recent=by_day(changes, today, LINES),
            )

    return routes
