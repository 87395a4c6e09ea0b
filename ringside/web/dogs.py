"""Dogs from a spreadsheet, at the desk: a table comes in, each row shows what it will do, and only
what was shown is written.

The server keeps nothing in between: the table travels with the preview, signed.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
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
from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug.wrappers import Response as Answer
from wtforms import HiddenField, StringField  # type: ignore[import-untyped]
from wtforms.validators import AnyOf  # type: ignore[import-untyped]

from ringside.book import clock, dogs_csv
from ringside.book.dogs_csv import BY_FIELD, COLUMNS, Done, Line, Order, Plan, Reading
from ringside.book.sheets import MOST_BYTES, MOST_ROWS, SheetError, decoded
from ringside.book.store import Book
from ringside.web.library import Library

MOST_MB = MOST_BYTES // 1024 // 1024
TOO_LARGE = f"That is more than {MOST_MB} MB; send it in parts."
BYTE_ORDER_MARK = "\ufeff"
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


@dataclass(frozen=True)
class Table:
    """What travels with the preview: the text, and how it is read. `digest` is what was shown."""

    text: str
    is_guessed: bool = False
    order: Order = ""
    digest: str = ""

    def signed(self) -> str:
        """Return it as text that only this server can have made."""
        packed = (self.text, self.is_guessed, self.order, self.digest)
        signed = _signer().dumps(packed)
        return signed if isinstance(signed, str) else signed.decode()


def _signer() -> URLSafeSerializer:
    return URLSafeSerializer(
        current_app.secret_key or "",
        salt="dogs-import",
        signer_kwargs={"digest_method": hashlib.sha256},
    )


def _unsigned(carried: str) -> Table:
    """Return what `Table.signed` made. Raises SheetError."""
    try:
        return Table(*_signer().loads(carried))
    except BadSignature as error:
        raise SheetError("The table did not come back whole. Choose it once more.") from error


def make_dogs(book: Book, library: Library) -> Blueprint:
    """Return the routes of the import of dogs."""
    routes = Blueprint("dogs", __name__, url_prefix="/dogs/import")

    @routes.url_value_preprocessor
    def make_room(_endpoint: str | None, _values: dict[str, Any] | None) -> None:
        request.max_form_memory_size = MOST_FORM

    def reading(order: Order) -> Reading:
        breeds = {key: breed.name for key, breed in library.knowledge.breeds.profiles.items()}
        return Reading(breeds, date.today(), order)

    def begin(problem: str = "", text: str = "") -> str:
        return render_template(
            "desk/dogs_import.html",
            root=library.edition().build.root,
            done=session.pop(SUMMARY, None),
            problem=problem,
            text=text,
            columns=COLUMNS,
            most_mb=MOST_MB,
            most_rows=MOST_ROWS,
        )

    def preview(table: Table, plan: Plan, word: str = "") -> str:
        shown = Table(table.text, table.is_guessed, table.order, plan.digest)
        return render_template(
            "desk/dogs_preview.html",
            root=library.edition().build.root,
            word=word,
            is_guessed=table.is_guessed,
            carried=shown.signed(),
            plan=plan,
            lines=[_shown(line, reading("").breeds) for line in plan.lines],
        )

    def planned(table: Table) -> Reply:
        try:
            with book.session():
                dogs = book.records("dog", with_deleted=True)
            return preview(table, dogs_csv.plan(table.text, dogs, reading(table.order)))
        except SheetError as error:
            return begin(str(error), table.text), 422

    @routes.get("")
    def page() -> str:
        return begin()

    @routes.get("/template.csv")
    def give_template() -> Response:
        # With the mark by which spreadsheets know UTF-8.
        text = BYTE_ORDER_MARK + dogs_csv.template()
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
            table = _unsigned(form.carried.data or "")
        except SheetError as error:
            return begin(str(error)), 422
        order: Order = form.order.data if form.validate_on_submit() else ""
        return planned(Table(table.text, table.is_guessed, order))

    @routes.post("/write")
    def write() -> Reply:
        form = CarriedForm()
        now = clock.wall()
        try:
            table = _unsigned(form.carried.data or "")
            rows = set(request.form.getlist("row", type=int))
            with book.session():
                made = dogs_csv.write(
                    book, table.text, reading(table.order), table.digest, rows, now
                )
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


def _brought(form: TableForm) -> Table:
    """Return the table that was sent. Raises SheetError."""
    file, text = form.file.data, (form.text.data or "").removeprefix(BYTE_ORDER_MARK)
    if file and text.strip():
        raise SheetError("There are two tables, a file and a text. Send one of them.")
    if file:
        return Table(*decoded(file.read()))
    if not text.strip():
        raise SheetError("Choose a file, or paste a table.")
    content = text.encode()
    if len(content) > MOST_BYTES:
        raise SheetError(TOO_LARGE)
    return Table(*decoded(content))


def _shown(line: Line, breeds: Any) -> dict[str, Any]:
    """Put a row into words."""
    edits = [
        {
            "title": BY_FIELD[name].title,
            "old": _in_words(name, old, breeds),
            "new": _in_words(name, new, breeds),
        }
        for name, old, new in line.edits
    ]
    return {"line": line, "edits": edits}


def _in_words(name: str, value: Any, breeds: Any) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("born", "testes_on"):
        return dogs_csv.in_words(value)
    return str(breeds.get(value, value) if name == "breed" else value)


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
