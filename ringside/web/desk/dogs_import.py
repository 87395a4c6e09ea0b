"""Dogs from a spreadsheet, at the desk: a table comes in, each row shows what it will do, and only
what was shown is written.

The server keeps nothing in between: the table travels with the preview, signed.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import (
    Blueprint,
    Response,
    current_app,
    redirect,
    render_template,
    request,
    session,
    url_for,
)
from flask_wtf import FlaskForm
from flask_wtf.file import FileField, FileSize
from werkzeug.wrappers import Response as Answer
from wtforms import HiddenField, StringField  # type: ignore[import-untyped]
from wtforms.validators import AnyOf  # type: ignore[import-untyped]

from ringside.book import clock
from ringside.book.store import Book
from ringside.book.tables.carrying import Carried
from ringside.book.tables.cells import Order, Reading
from ringside.book.tables.days import in_words
from ringside.book.tables.dogs import DOGS
from ringside.book.tables.importing import Done
from ringside.book.tables.plan import Line, Plan
from ringside.book.tables.sheets import MOST_BYTES, MOST_ROWS, SheetError, decoded
from ringside.web.library import Library

MOST_MB = MOST_BYTES // 1024 // 1024
TOO_LARGE = f"That is more than {MOST_MB} MB; send it in parts."
BYTE_ORDER_MARK = "\ufeff"
# What a table is signed for.
PURPOSE = "dogs-import"
# Where the summary waits for the page that shows it; a cookie holds few names.
SUMMARY = "dogs-import"
MOST_NAMED = 8
# Fields of a form that are no files have half a megabyte as a rule; a table may be longer.
MOST_FORM = 16 * 1024 * 1024

CHANGED = (
    "The book has changed since you looked, so nothing was written. "
    "This is what each row would do now."
)

Reply = str | Answer | tuple[str, int]


class TableForm(FlaskForm):  # type: ignore[misc]  # Flask-WTF has no types
    """A table as a file, or as text."""

    file = FileField(validators=[FileSize(MOST_BYTES, message=TOO_LARGE)])
    text = StringField()


class CarriedForm(FlaskForm):  # type: ignore[misc]
    """A table that was previewed."""

    carried = HiddenField()
    order = StringField(validators=[AnyOf(("", "day", "month"))])


def make_dogs(book: Book, library: Library) -> Blueprint:
    """Return the routes of the import of dogs."""
    routes = Blueprint("dogs", __name__, url_prefix="/dogs/import")

    @routes.url_value_preprocessor
    def make_room(_endpoint: str | None, _values: dict[str, Any] | None) -> None:
        request.max_form_memory_size = MOST_FORM

    def reading(order: Order) -> Reading:
        breeds = library.knowledge.breeds.profiles
        return Reading(
            {"breed": {key: breed.name for key, breed in breeds.items()}},
            date.today(),
            order,
            {"breed": {key: breed.also for key, breed in breeds.items()}},
        )

    def begin(problem: str = "", text: str = "") -> str:
        return render_template(
            "desk/dogs_import.html",
            root=library.edition().build.root,
            done=session.pop(SUMMARY, None),
            problem=problem,
            text=text,
            columns=DOGS.columns.columns,
            most_mb=MOST_MB,
            most_rows=MOST_ROWS,
        )

    def preview(table: Carried, plan: Plan, word: str = "") -> str:
        shown = Carried(table.text, table.is_guessed, table.order, plan.digest)
        names = reading("")
        return render_template(
            "desk/dogs_preview.html",
            root=library.edition().build.root,
            word=word,
            is_guessed=table.is_guessed,
            carried=shown.signed(_key(), PURPOSE),
            plan=plan,
            lines=[_shown(line, names) for line in plan.lines],
        )

    def planned(table: Carried) -> Reply:
        try:
            with book.session():
                dogs = book.records("dog", with_deleted=True)
            return preview(table, DOGS.plan(table.text, dogs, reading(table.order)))
        except SheetError as error:
            return begin(str(error), table.text), 422

    @routes.get("")
    def page() -> str:
        return begin()

    @routes.get("/template.csv")
    def give_template() -> Response:
        # With the mark by which spreadsheets know UTF-8.
        text = BYTE_ORDER_MARK + DOGS.columns.template()
        response = Response(text.encode(), content_type="text/csv; charset=utf-8")
        response.headers["Content-Disposition"] = 'attachment; filename="dogs.csv"'
        return response

    @routes.post("/preview")
    def take() -> Reply:
        form = TableForm()
        if not form.validate_on_submit():
            return begin(" ".join(form.file.errors), form.text.data or ""), 422
        try:
            table = _brought(form)
        except SheetError as error:
            return begin(str(error), form.text.data or ""), 422
        return planned(table)

    @routes.post("/order")
    def reorder() -> Reply:
        form = CarriedForm()
        try:
            table = Carried.unsigned(form.carried.data or "", _key(), PURPOSE)
        except SheetError as error:
            return begin(str(error)), 422
        order: Order = form.order.data if form.validate_on_submit() else ""
        return planned(Carried(table.text, table.is_guessed, order))

    @routes.post("/write")
    def write() -> Reply:
        form = CarriedForm()
        now = clock.wall()
        try:
            table = Carried.unsigned(form.carried.data or "", _key(), PURPOSE)
            rows = set(request.form.getlist("row", type=int))
            with book.session():
                made = DOGS.write(book, table.text, reading(table.order), table.digest, rows, now)
        except SheetError as error:
            return begin(str(error)), 422
        if isinstance(made, Plan):
            return preview(table, made, CHANGED), 409
        session[SUMMARY] = _summary(made)
        return to_page()

    @routes.get("/preview")
    @routes.get("/order")
    @routes.get("/write")
    def to_page() -> Answer:
        return redirect(url_for("desk.dogs.page"), 303)

    return routes


def _brought(form: TableForm) -> Carried:
    """Return the table that was sent. Raises SheetError."""
    file, text = form.file.data, (form.text.data or "").removeprefix(BYTE_ORDER_MARK)
    if file and text.strip():
        raise SheetError("You sent a file and pasted cells. Send one of them.")
    if file:
        return Carried(*decoded(file.read()))
    if not text.strip():
        raise SheetError("Choose a file, or paste a table.")
    content = text.encode()
    if len(content) > MOST_BYTES:
        raise SheetError(TOO_LARGE)
    return Carried(*decoded(content))


def _key() -> str:
    return str(current_app.secret_key or "")


def _shown(line: Line, reading: Reading) -> dict[str, Any]:
    """Put a row into words."""
    edits = [
        {
            "title": DOGS.columns.by_field[name].title,
            "old": _in_words(name, old, reading),
            "new": _in_words(name, new, reading),
        }
        for name, old, new in line.edits
    ]
    return {"line": line, "edits": edits}


def _in_words(name: str, value: Any, reading: Reading) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if DOGS.columns.by_field[name].is_day:
        return in_words(value)
    return str(reading.names.get(name, {}).get(value, value))


def _summary(done: Done) -> dict[str, Any]:
    """Return what was done, small enough for a cookie."""
    named = [*done.added.items(), *done.changed.items()]
    return {
        "added": len(done.added),
        "changed": len(done.changed),
        "same": done.left["same"],
        "refused": done.left["refused"],
        "unticked": done.left["add"] + done.left["change"],
        "dogs": named[:MOST_NAMED],
        "more": max(0, len(named) - MOST_NAMED),
    }
