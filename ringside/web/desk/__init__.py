"""The desk: pages for the laptop that keeps the book. A page reads the book and asks it to change;
no rule of the trade, no SQL and nothing that the phone needs may enter here.
"""

from __future__ import annotations

from flask import Blueprint, request
from flask.typing import ResponseReturnValue

from ringside.book.keeping import Notices
from ringside.web.desk.calendar import make_calendar
from ringside.web.desk.card import make_card
from ringside.web.desk.devices import make_devices
from ringside.web.desk.dog import make_dog
from ringside.web.desk.home import make_home
from ringside.web.desk.imports import make_imports
from ringside.web.desk.own import make_own
from ringside.web.desk.season import make_season
from ringside.web.desk.sources import make_sources
from ringside.web.door import Door, problem
from ringside.web.library import Library

__all__ = ["make_desk"]

FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


def make_desk(door: Door, library: Library, notices: Notices) -> Blueprint:
    """Return the desk's routes: a line a page."""
    routes = Blueprint("desk", __name__, url_prefix="/desk")
    routes.before_request(_forms_only)
    routes.register_blueprint(make_home(door.book, library, notices))
    routes.register_blueprint(make_devices(door, library))
    routes.register_blueprint(make_calendar(door, library))
    routes.register_blueprint(make_own(door.book, library))
    routes.register_blueprint(make_dog(door.book, library))
    routes.register_blueprint(make_card(door.book, library))
    for routes_in in make_imports(door.book, library):
        routes.register_blueprint(routes_in)
    routes.register_blueprint(make_season(door.book, library))
    routes.register_blueprint(make_sources(library))
    return routes


def _forms_only() -> ResponseReturnValue | None:
    """Refuse what no form of the desk sends, such as JSON; an empty body is an empty form."""
    if request.method != "POST" or request.mimetype in FORMS or not request.content_length:
        return None
    return problem(
        400, "no-form", "The desk accepts only its own forms. Send this from the desk's page."
    )
