"""The calendar: a file for who is let in, and a feed for who has its address."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from flask import Blueprint, Response, abort

from ringside.book.agenda import Agenda
from ringside.book.devices import OWNER
from ringside.book.feeds import Feeds
from ringside.domain.calendar import Happening, calendar_file
from ringside.knowledge import Knowledge
from ringside.web.door import Door

TYPE = "text/calendar; charset=utf-8"


def make_calendar(door: Door, knowledge: Callable[[], Knowledge]) -> Blueprint:
    """Return the routes that give calendars."""
    book, feeds = door.book, Feeds(door.book)
    routes = Blueprint("calendar", __name__)

    @routes.get("/calendar/<secret>.ics")
    def feed(secret: str) -> Response:
        with book.session():
            role = feeds.role_of(secret)
            if role is None:
                abort(404)
            book.refuse_if_anothers()  # the door lets everybody ask for a feed
            return _answer(_agenda(role).of_all())

    @routes.get("/api/calendar/all.ics")
    def everything() -> Response:
        with book.session():
            return _answer(_agenda(door.visitor().role).of_all(), "ringside.ics")

    @routes.get("/api/calendar/<show>.ics")
    def one(show: str) -> Response:
        with book.session():
            agenda = _agenda(door.visitor().role, show)
            if show not in agenda.shows:
                abort(404)
            return _answer(agenda.of_show(show), "show.ics")

    def _agenda(role: str, show: str = "") -> Agenda:
        return Agenda(book, knowledge(), datetime.now(UTC), role == OWNER, show)

    return routes


def _answer(happenings: list[Happening], file: str = "") -> Response:
    """Return a calendar: with a name to be saved under where it is a `file`."""
    now = datetime.now(UTC).replace(microsecond=0)
    response = Response(calendar_file(happenings, "Ringside", now), content_type=TYPE)
    if file:
        response.headers["Content-Disposition"] = f'attachment; filename="{file}"'
    return response
