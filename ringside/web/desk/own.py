"""Own knowledge at the desk: breed files and asks of one's own, taken in and given out again."""

from __future__ import annotations

import json
import re
import time
import unicodedata
from collections import Counter
from collections.abc import Iterable
from importlib.resources import files
from typing import Annotated, Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, url_for
from flask_wtf import FlaskForm
from flask_wtf.file import FileAllowed, FileField, FileRequired, FileSize
from pydantic import AfterValidator, StringConstraints
from werkzeug.wrappers import Response as Answer

from ringside.book.kinds import KINDS
from ringside.book.store import Book
from ringside.knowledge import foreign
from ringside.knowledge.own import MOST_OWN_NAME, MOST_OWN_SIZE
from ringside.knowledge.schema import Entry
from ringside.web.library import Library, OwnFile

ASKS_FILE = "own-asks.toml"
# A breed of ours to begin one's own from.
PATTERN = files("ringside.knowledge") / "breeds" / "whippet.toml"
MOST_FILE = MOST_OWN_SIZE
TOML = "application/toml; charset=utf-8"
BYTE_ORDER_MARK = b"\xef\xbb\xbf"
# What a browser adds to the name of a file it has saved before: "heath-terrier (1).toml".
COPY = re.compile(r"[ _]?\(\d+\)$")
# Of a file's name no more is looked at: putting accents in order takes its length squared.
LONGEST_NAME = 200
# Names of devices, under which Windows keeps no file.
RESERVED = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)")

Row = dict[str, str]
Reply = str | Answer | tuple[str, int]


class FileForm(FlaskForm):  # type: ignore[misc]  # Flask-WTF has no types
    """One TOML file."""

    file = FileField(
        validators=[
            FileRequired("Choose a file first."),
            FileAllowed(["toml"], "Choose a file whose name ends in .toml."),
            FileSize(MOST_FILE, message=f"A breed file has at most {MOST_FILE // 1024} kB."),
        ]
    )


def _kept(field: str) -> AfterValidator:
    """Let pass what the book takes for this field of an own ask."""

    def check(value: str) -> str:
        problem = KINDS["ask"].fields[field].problem(value)
        if problem:
            raise ValueError(problem)
        return value

    return AfterValidator(check)


Filled = StringConstraints(min_length=1)


class OwnAsk(Entry):
    """An ask of one's own: of which breed, at which station, in which words."""

    breed: Annotated[str, Filled, _kept("breed")]
    station: Annotated[str, Filled, _kept("station")]
    says: Annotated[str, Filled, _kept("says")]


class OwnAsks(Entry):
    """The file of own asks."""

    ask: tuple[OwnAsk, ...]


def make_own(book: Book, library: Library) -> Blueprint:
    """Return the routes of the desk's page for own knowledge."""
    routes = Blueprint("own", __name__, url_prefix="/own")

    def shown(refused: str = "", problems: Iterable[str] = (), file: str = "") -> str:
        with book.session():
            dogs = Counter(values.get("breed") for values in book.records("dog").values())
            asks = own_asks(book)
        own = library.own_files()
        told = {line for file in own for line in file.problems}
        return render_template(
            "desk/own.html",
            root=library.edition().build.root,
            folder=library.own,
            files=own,
            dogs=dogs,
            left_out=[line for line in library.knowledge.set_aside if line not in told],
            asks=[_in_words(ask, library) for ask in asks],
            most=MOST_FILE // 1024,
            refused=refused,
            problems=[problem.removeprefix(f"{file}: ") for problem in problems],
            problem_file=file,
        )

    def back(words: str) -> Answer:
        flash(words)
        return redirect(url_for("desk.own.page"), 303)

    def file_named(name: str) -> OwnFile:
        return next((file for file in library.own_files() if file.name == name), None) or abort(404)

    @routes.get("")
    def page() -> str:
        return shown()

    @routes.post("/breeds")
    def take_breed() -> Reply:
        form = FileForm()
        if not form.validate_on_submit():
            return shown("breed", form.file.errors), 422
        name = own_name(form.file.data.filename)
        problems = library.keep(name, _content(form))
        if problems:
            return shown("breed", problems, f"{name}.toml"), 422
        breed = next((file.breed for file in library.own_files() if file.name == name), None)
        return back(f"{breed.name if breed else name} is ready to use.")

    @routes.get("/pattern.toml")
    def give_pattern() -> Response:
        return _download(PATTERN.read_bytes(), "pattern.toml")

    @routes.get("/breeds/<name>.toml")
    def give_breed(name: str) -> Response:
        file = file_named(name)
        try:
            return _download(file.path.read_bytes(), file.path.name)
        except OSError:
            abort(404)

    @routes.post("/breeds/<name>/remove")
    def remove_breed(name: str) -> Reply:
        file = file_named(name)
        problems = library.remove(file)
        if problems:
            return shown("breed", problems), 422
        words = file.breed.name if file.breed else file.path.name
        return back(f"{words} was removed. Its file is still there, as .old.")

    @routes.get("/asks.toml")
    def give_asks() -> Response:
        with book.session():
            return _download(as_toml(own_asks(book)).encode(), ASKS_FILE)

    @routes.post("/asks")
    def take_asks() -> Reply:
        form = FileForm()
        if not form.validate_on_submit():
            return shown("ask", form.file.errors), 422
        asks, problems = read_asks(_content(form), set(library.knowledge.stations))
        if problems:
            return shown("ask", problems, ASKS_FILE), 422
        with book.session():
            added = add_asks(book, asks, int(time.time() * 1000))
        if not added:
            return back("That file has nothing new.")
        known = len(asks) - added
        return back(
            f"{added} own ask{'' if added == 1 else 's'} added."
            + (f" {known} more {'was' if known == 1 else 'were'} here already." if known else "")
        )

    return routes


def own_name(filename: str) -> str:
    """Return the name under which a file is kept, whatever it was called where it came from."""
    last = filename.replace("\\", "/").rpartition("/")[2][-LONGEST_NAME:]
    stem = COPY.sub("", re.sub(r"\.toml$", "", last, flags=re.IGNORECASE))
    plain = unicodedata.normalize("NFKD", stem).encode("ascii", "ignore").decode().lower()
    name = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:MOST_OWN_NAME].strip("-")
    return f"{name or 'own'}-breed" if not name or RESERVED.fullmatch(name) else name


# --- own asks


def own_asks(book: Book) -> list[Row]:
    """Return the own asks in the book, in the order of breed, station and words."""
    rows = (
        {name: values.get(name) or "" for name in OwnAsk.model_fields}
        for values in book.records("ask").values()
    )
    return sorted((row for row in rows if all(row.values())), key=lambda row: tuple(row.values()))


def as_toml(asks: Iterable[Row]) -> str:
    """Return a file of own asks that `read_asks` reads again."""
    parts = [
        "[[ask]]\n" + "".join(f"{name} = {_quoted(value)}\n" for name, value in ask.items())
        for ask in asks
    ]
    return "# Own asks, given out by Ringside.\n\n" + ("\n".join(parts) or "ask = []\n")


def _quoted(text: str) -> str:
    # TOML's basic strings are JSON's, but for the one character that JSON leaves as it is.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def read_asks(content: bytes, stations: set[str]) -> tuple[list[Row], list[str]]:
    """Return the asks in a file that was brought, or what is wrong with it."""
    problems: list[str] = []
    found = foreign.read(content, ASKS_FILE, OwnAsks, problems)
    asks = [ask.model_dump() for ask in found.ask] if found else []
    lost = [
        f"{ASKS_FILE}: ask, number {number} ({ask['says'][:60]}): "
        f"there is no station {ask['station']!r}; there are {', '.join(sorted(stations))}"
        for number, ask in enumerate(asks, start=1)
        if ask["station"] not in stations
    ]
    problems += foreign.few(lost, ASKS_FILE)
    return ([], problems) if problems else (asks, [])


def add_asks(book: Book, asks: Iterable[Row], now: int) -> int:
    """Write down those of `asks` that the book has not got; return how many."""
    with book.writing():
        known = {tuple(row.values()) for row in own_asks(book)}
        new = {tuple(row.values()): row for row in asks if tuple(row.values()) not in known}
        book.write_down("ask", new.values(), now)
    return len(new)


def _in_words(ask: Row, library: Library) -> dict[str, Any]:
    breed = library.knowledge.breeds.profiles.get(ask["breed"])
    station = library.knowledge.stations.get(ask["station"])
    return {
        "breed": breed.name if breed else ask["breed"],
        "station": station.name if station else ask["station"],
        "says": ask["says"],
    }


def _content(form: FileForm) -> bytes:
    content: bytes = form.file.data.read()
    return content.removeprefix(BYTE_ORDER_MARK)


def _download(content: bytes, name: str) -> Response:
    response = Response(content, content_type=TOML)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
