"""Tables of strangers: every cell is looked through once, and no row costs more than its length."""

from __future__ import annotations

import csv
import inspect
import io
import itertools
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from ringside.book.keeping.records_csv import cell as exported_cell
from ringside.book.tables import cells, days, sheets
from ringside.book.tables.cells import CellError, Reading
from ringside.book.tables.columns import is_id
from ringside.book.tables.dog_columns import COLUMNS, DOG_COLUMNS
from ringside.book.tables.dogs import DOGS
from ringside.book.tables.plan import Plan
from ringside.book.tables.sheets import MOST_BYTES, SheetError
from ringside.web.desk.own import own_name
from tests.confined import few

LONG = 40_000  # signs: a spreadsheet's largest cell, of which the square is seconds
BREEDS = {f"breed-{number}": f"Fen Hound {number} (of {number % 7})" for number in range(400)}
READING = Reading({"breed": BREEDS}, date(2026, 11, 25))

# Near misses: what is well formed up to a sign said ten thousand times, and goes on as it should.
STARTS = [
    "", "2024-03-14", "2024-03-14T", "14", "14 ", "14 March", "14th", "March ", "14/3/", "1",
    "12345", "0", "'", "=", "(", "x;", "a,", "{", "http://",
]  # fmt: skip
PUMPED = [
    " ", "T", "T ", "0", "00:", " 0", ":00", "-", "- ", " -", "/", ".", ". ", "a", "march", "th",
    "9", "9,", "1E", "'", "''", '"', "=", "'=", "\t", "\n", ";", ";=", "; =", "(", "()", "(a", ")",
    "_", "|", "\u0301", "\u0323\u0301", "ﷺ", "Å", "\u2028", "\r", ",", "x,", "\\",
]  # fmt: skip
ENDS = ["", "!", "2024", "0:00", "=", "x", "Z", ")"]


def near_misses(length: int) -> Iterator[str]:
    for start, pumped, end in itertools.product(STARTS, PUMPED, ENDS):
        yield start + pumped * (length // len(pumped)) + end


def patterns_are_linear() -> None:
    """What looks for a pattern in a cell, given more than any cell may have.

    What puts accents in order takes the square of its length, so it stands behind a bound: those
    are tried by `any_table`.
    """
    looks: list[Callable[[str], Any]] = [
        lambda cell: days.read_day(cell, ""),
        days.order_in,
        sheets.guarded,
        sheets.unguarded,
        lambda cell: cells.number(cell, READING),
        lambda cell: cells.country(cell, READING),
        is_id,
        lambda cell: own_name(f"{cell}.toml"),
        exported_cell,
    ]
    for text in itertools.islice(near_misses(LONG), 0, None, 13):  # meets each start, sign, end
        for look in looks:
            with suppress(CellError):
                look(text)


@few
@given(st.lists(st.sampled_from([*PUMPED, *STARTS, *ENDS, "+", "@", "\v", "\x85"])).map("".join))
def no_cell_begins_a_formula_and_all_comes_back(text: str) -> None:
    """Whatever a spreadsheet takes for a separator, and whether or not it minds quotes."""
    written = sheets.guarded(text)
    assert sheets.unguarded(written) == text
    for cell in re.split(r"[,;|\t\n\v\f\r\x1c-\x1e\x85\u2028\u2029]", written):
        assert not cell.lstrip().lstrip('"').lstrip().startswith(tuple("=+-@＝＋－＠")), written


def with_column(column: str, text: str) -> str:
    rows = io.StringIO()
    given = {"Name": "Juniper", "Breed": "Fen Hound 1", "Sex": "dog", "Born": "2024-03-14"}
    csv.writer(rows).writerows([[*given, column], [*given.values(), text]])
    return rows.getvalue()


def every_column_takes_any_cell() -> None:
    """Each reader, by the way that a table takes to it."""
    for column in COLUMNS:
        for text in itertools.islice(near_misses(LONG), 0, None, 29):
            with suppress(SheetError):
                assert isinstance(DOGS.plan(with_column(column.title, text), {}, READING), Plan)


filler = st.sampled_from([*PUMPED, "Rex", "Whippet", "2024-03-14", "dog", "900", "Fen Hound"])
shapes = st.builds(
    lambda head, row, more: (head + "\n" + (row + more) * MOST_BYTES)[:MOST_BYTES],
    st.sampled_from([
        "Name,Breed,Sex,Born", "Name;Breed;Sex;Born;Reg no", "Name", "id,Name", "Born\tName",
        "Name,Name", "x", "", '"', "Name" + "," * 5000, "sep=;\nName;Born",
    ]),
    st.lists(filler | st.sampled_from([",", ";", "\n", '"']), min_size=1, max_size=8).map("".join),
    st.sampled_from(["\n", ",", "", '"', '\n"', "\u0301"]),
)  # fmt: skip


@few
@given(shapes)
def any_table(text: str) -> None:
    with suppress(SheetError):
        made = DOGS.plan(text, {}, READING)
        told = sum(len(word) for line in made.lines for word in (*line.problems, *line.remarks))
        assert told < 8 * MOST_BYTES


@few
@given(st.lists(filler, min_size=1, max_size=4).map("".join), st.integers(1, 6))
def a_full_table_against_a_full_book(word: str, same: int) -> None:
    """Two thousand rows that are as like each other and the book's dogs as they can be."""
    dogs = {
        f"00000000-0000-7000-8000-{number:012}": {
            "name": "Rex", "born": "2024-03-14", "breed": f"{word[:20]}{number}", "sex": "dog",
            "registration": f"R{number // same}", "pedigree": "Rex",
        }
        for number in range(2000)
    }  # fmt: skip
    rows = io.StringIO()
    writer = csv.writer(rows)
    writer.writerow(["Name", "Breed", "Sex", "Born", "Reg no", "Reg name"])
    for number in range(2000):
        breed = f"{word[:20]}{number}x"
        writer.writerow(["Rex", breed, "dog", "2024-03-14", f"S{number // same}", f"Rex {number}"])
    with suppress(SheetError):
        made = DOGS.plan(rows.getvalue(), dogs, READING)
        assert sum(len(word) for line in made.lines for word in line.problems) < 2 * MOST_BYTES


def a_heading_row_without_end() -> None:
    for sign in (",", ";", "\t"):
        for word in ("", "a", "Name", "\u0323\u0301"):
            with suppress(SheetError):
                DOGS.plan((f"{word}{sign}" * MOST_BYTES)[:MOST_BYTES] + "\nx", {}, READING)


def nothing_in_the_columns_reads_a_cell_unseen() -> None:
    """A reader that is added is tried above: each is a function of cell and reading."""
    for column in DOG_COLUMNS.columns:
        assert list(inspect.signature(column.read).parameters)[:1] == ["cell"], column.field
