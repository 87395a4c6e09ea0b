"""`create_app`: wires the rooms together, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from flask import Flask

from ringside.book.keeping import Notices
from ringside.book.store import Book
from ringside.files import folder
from ringside.knowledge import Knowledge
from ringside.web import security
from ringside.web.answers import MOST_BODY
from ringside.web.calendar import make_calendar
from ringside.web.desk import make_desk
from ringside.web.door import Door
from ringside.web.errors import make_errors
from ringside.web.health import make_health
from ringside.web.library import Library
from ringside.web.pairing import make_pairing
from ringside.web.photos import make_photos
from ringside.web.pocket import make_pocket
from ringside.web.sync import make_sync


@dataclass(frozen=True)
class Settings:
    """What a server is started with."""

    data: Path
    port: int
    # Whether everything on this computer may use the book, unasked: for the demo's alone.
    is_open: bool = False
    # Where phones find the app, if not on this computer alone, and the further names it has there.
    origin: str = ""
    names: Callable[[], frozenset[str]] = frozenset
    # How many proxies in front of us are ours, and so are believed in what they say of a request.
    hops: int = 0

    @property
    def address(self) -> str:
        """Where the app is: its origin is the identity of what a browser keeps."""
        return self.origin or f"http://localhost:{self.port}/"

    def hosts(self) -> frozenset[str]:
        """Return the names (with port) this server answers to, at the moment."""
        own = {f"{name}:{self.port}" for name in ("localhost", "127.0.0.1", "[::1]")}
        return self.names() | own


def create_app(
    settings: Settings, book: Book, knowledge: Knowledge, notices: Notices | None = None
) -> Flask:
    """Return the application that serves `book` with `knowledge`; the desk shows `notices`."""
    app = Flask("ringside", template_folder=str(folder("templates")), static_folder=None)
    with book.session():
        app.secret_key = book.secret
    app.config["MAX_CONTENT_LENGTH"] = MOST_BODY
    security.sessions(app, settings.address)
    door = Door(book, settings.address, settings.is_open)
    # First of all, before anything looks for a token in a body.
    security.limit(app, door.caller, security.Throttle())
    app.before_request(door.guard)
    security.guard(app, settings.hosts, settings.hops)
    library = Library(app, settings.data, knowledge)
    app.register_blueprint(make_pocket(library.edition))
    make_errors(app, MOST_BODY, lambda: library.edition().build.root)
    app.register_blueprint(make_pairing(door))
    app.register_blueprint(make_sync(door, lambda: library.shelf))
    app.register_blueprint(make_photos(door))
    app.register_blueprint(make_calendar(door, lambda: library.knowledge))
    app.register_blueprint(make_desk(door, library, notices or Notices(book.place)))
    app.register_blueprint(make_health(book))
    return app
