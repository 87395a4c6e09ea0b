"""Tables from a spreadsheet, at the desk: one comes in, each row shows what it will do, and only
what was shown is written.

The server keeps nothing in between: the table travels with the preview, signed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
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
from ringside.book.tables.columns import Column, Columns
from ringside.book.tables.days import in_words
from ringside.book.tables.importing import Done, TableImport
from ringside.book.tables.plan import Line, Plan
from ringside.book.tables.sheets import MOST_BYTES, MOST_ROWS, SheetError, decoded
from ringside.web.library import Library

MOST_MB = MOST_BYTES // 1024 // 1024
TOO_LARGE = f"That is more than {MOST_MB} MB; send it in parts."
BYTE_ORDER_MARK = "\ufeff"
MOST_NAMED = 8
# Fields of a form that are no files have half a megabyte as a rule; a table may be longer.
MOST_FORM = 16 * 1024 * 1024

CHANGED = (
    "The book has changed since you looked, so nothing was written. "
    "This is what each row would do now."
)

# How cells are read at the moment, 03/04/2024 in this order.
Readings = Callable[[Order], Reading]


@dataclass(frozen=True)
class Taken:
    """A kind of table that is taken in: its `name` in routes and cookies, what a person calls `one`
    of its rows and `many`, what a row is `found_by`, which `column` names it, and where what was
    added is `shown`."""

    name: str
    tables: TableImport
    one: str
    many: str
    found_by: str
    column: str
    shown: str

    @property
    def purpose(self) -> str:
        """What a table is signed for, and where the summary waits for the page that shows it."""
        return f"{self.name}-import"


Reply = str | Answer | tuple[str, int]


class TableForm(FlaskForm):  # type: ignore[misc]  # Flask-WTF has no types
    """A table as a file, or as text."""

    file = FileField(validators=[FileSize(MOST_BYTES, message=TOO_LARGE)])
    text = StringField()


class CarriedForm(FlaskForm):  # type: ignore[misc]
    """A table that was previewed."""

    carried = HiddenField()
    order = StringField(validators=[AnyOf(("", "day", "month"))])


def make_import(book: Book, library: Library, taken: Taken, reading: Readings) -> Blueprint:
    """Return the routes of the import of a kind of table."""
    tables = taken.tables
    routes = Blueprint(taken.name, __name__, url_prefix=f"/{taken.name}/import")

    @routes.url_value_preprocessor
    def make_room(_endpoint: str | None, _values: dict[str, Any] | None) -> None:
        request.max_form_memory_size = MOST_FORM

    def begin(problem: str = "", text: str = "") -> str:
        return render_template(
            "desk/table_import.html",
            root=library.edition().build.root,
            of=taken,
            done=session.pop(taken.purpose, None),
            problem=problem,
            text=text,
            columns=tables.columns.columns,
            most_mb=MOST_MB,
            most_rows=MOST_ROWS,
        )

    def preview(table: Carried, plan: Plan, word: str = "") -> str:
        shown = Carried(table.text, table.is_guessed, table.order, plan.digest)
        names = reading("")
        return render_template(
            "desk/table_preview.html",
            root=library.edition().build.root,
            of=taken,
            word=word,
            is_guessed=table.is_guessed,
            carried=shown.signed(_key(), taken.purpose),
            plan=plan,
            lines=[_shown(line, tables.columns, names) for line in plan.lines],
        )

    def planned(table: Carried) -> Reply:
        try:
            with book.session():
                known = tables.known(book)
            return preview(table, tables.plan(table.text, known, reading(table.order)))
        except SheetError as error:
            return begin(str(error), table.text), 422

    @routes.get("")
    def page() -> str:
        return begin()

    @routes.get("/template.csv")
    def give_template() -> Response:
        # With the mark by which spreadsheets know UTF-8.
        text = BYTE_ORDER_MARK + tables.columns.template()
        response = Response(text.encode(), content_type="text/csv; charset=utf-8")
        response.headers["Content-Disposition"] = f'attachment; filename="{taken.name}.csv"'
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
            table = Carried.unsigned(form.carried.data or "", _key(), taken.purpose)
        except SheetError as error:
            return begin(str(error)), 422
        order: Order = form.order.data if form.validate_on_submit() else ""
        return planned(Carried(table.text, table.is_guessed, order))

    @routes.post("/write")
    def write() -> Reply:
        form = CarriedForm()
        now = clock.wall()
        try:
            table = Carried.unsigned(form.carried.data or "", _key(), taken.purpose)
            rows = set(request.form.getlist("row", type=int))
            with book.session():
                made = tables.write(book, table.text, reading(table.order), table.digest, rows, now)
        except SheetError as error:
            return begin(str(error)), 422
        if isinstance(made, Plan):
            return preview(table, made, CHANGED), 409
        session[taken.purpose] = _summary(made)
        return to_page()

    @routes.get("/preview")
    @routes.get("/order")
    @routes.get("/write")
    def to_page() -> Answer:
        return redirect(url_for(f"desk.{taken.name}.page"), 303)

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


def _shown(line: Line, columns: Columns, reading: Reading) -> dict[str, Any]:
    """Put a row into words."""
    edits = [
        {
            "title": columns.by_field[name].title,
            "old": _in_words(columns.by_field[name], old, reading),
            "new": _in_words(columns.by_field[name], new, reading),
        }
        for name, old, new in line.edits
    ]
    return {"line": line, "edits": edits}


def _in_words(column: Column, value: Any, reading: Reading) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column.is_day:
        return in_words(value)
    return str(reading.names.get(column.field, {}).get(value, value))


def _summary(done: Done) -> dict[str, Any]:
    """Return what was done, small enough for a cookie."""
    named = [*done.added.items(), *done.changed.items()]
    return {
        "added": len(done.added),
        "changed": len(done.changed),
        "same": done.left["same"],
        "refused": done.left["refused"],
        "unticked": done.left["add"] + done.left["change"],
        "named": named[:MOST_NAMED],
        "more": max(0, len(named) - MOST_NAMED),
    }
