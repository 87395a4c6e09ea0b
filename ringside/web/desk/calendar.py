"""The addresses at which calendars can be subscribed, and the file to download."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template
from flask.typing import ResponseReturnValue
from flask_wtf import FlaskForm
from wtforms import StringField  # type: ignore[import-untyped]
from wtforms.validators import AnyOf  # type: ignore[import-untyped]

from ringside.book.devices import ROLES
from ringside.book.feeds import Feeds
from ringside.web.door import Door
from ringside.web.library import Library

WRONG = "Choose the owner's calendar or the helpers'."


class FeedForm(FlaskForm):  # type: ignore[misc]
    """Whose address."""

    role = StringField(validators=[AnyOf(ROLES)])


def make_calendar(door: Door, library: Library) -> Blueprint:
    """Return the routes of the page that makes and stops addresses."""
    routes = Blueprint("calendar", __name__, url_prefix="/calendar")
    book, feeds = door.book, Feeds(door.book)

    @routes.get("")
    def listed() -> str:
        return page()

    @routes.post("/make")
    def make() -> ResponseReturnValue:
        form = FeedForm()
        if not form.validate_on_submit():
            return page(wrong=WRONG), 400
        with book.session():
            secret = feeds.make(form.role.data)
        return page(form.role.data, f"{door.address}calendar/{secret}.ics")

    @routes.post("/stop")
    def stop() -> ResponseReturnValue:
        form = FeedForm()
        if not form.validate_on_submit():
            return page(wrong=WRONG), 400
        with book.session():
            feeds.revoke(form.role.data)
        return redirect("/desk/calendar", 303)

    def page(role: str = "", link: str = "", wrong: str = "") -> str:
        with book.session():
            made = feeds.made()
        return render_template(
            "desk/calendar.html",
            root=library.edition().build.root,
            roles=[{"id": one, "is_made": one in made} for one in ROLES],
            new={"role": role, "link": link},
            wrong=wrong,
        )

    return routes
