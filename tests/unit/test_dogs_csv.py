"""Dogs from a table: what is read, what each row does, and that only what was shown is written."""

from __future__ import annotations

import csv
import io
import json
import re
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import uuid6
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import example, given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from ringside.app import Settings, create_app
from ringside.book import clock, keeping
from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.kinds.fields import CONTROL
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.book.tables import sheets
from ringside.book.tables.cells import Reading, folded
from ringside.book.tables.days import in_words
from ringside.book.tables.dog_columns import COLUMNS
from ringside.book.tables.dogs import DOGS
from ringside.book.tables.importing import Done, TableImport
from ringside.book.tables.plan import Line, Plan
from ringside.book.tables.sheets import (
    MOST_BYTES,
    MOST_ROWS,
    SheetError,
    decoded,
    guarded,
    unguarded,
)
from tests.known import shipped
from tests.support import PairedPhone, Server, pair

PORT = 8470
HOME = f"http://localhost:{PORT}"
PAGE = "/desk/dogs/import"
KNOWLEDGE = shipped()
BREEDS = {key: breed.name for key, breed in KNOWLEDGE.breeds.profiles.items()}
ALSO = {key: breed.also for key, breed in KNOWLEDGE.breeds.profiles.items()}
TODAY = date(2026, 11, 25)
NOW = 1_790_000_000_000
# Always the same, for they stand in the names of tests, which two workers must agree on.
A, B, C = (f"01900000-0000-7000-8000-00000000000{last}" for last in "abc")
BRAMBLE = {
    "name": "Bramble",
    "pedigree": "Marrowby Bramble Path",
    "breed": "border-terrier",
    "sex": "bitch",
    "born": "2024-03-14",
    "microchip": "999000000000001",
    "registration": "MB 0001",
}
GUSTAV = {
    "name": "Gustav",
    "breed": "french-bulldog",
    "sex": "dog",
    "born": "2025-04-01",
    "microchip": "999000000000002",
}
NEW = "Name,Breed,Sex,Born\nJuniper,Whippet,bitch,2024-03-14\n"


@cache
def reading(order: Any = "") -> Reading:
    return Reading({"breed": BREEDS}, TODAY, order, {"breed": ALSO})


def planned(text: str, order: Any = "", **dogs: dict[str, Any]) -> Plan:
    known = {{"a": A, "b": B, "c": C}[name]: dog for name, dog in dogs.items()}
    return DOGS.plan(text, known, reading(order))


def lines(text: str, order: Any = "", **dogs: dict[str, Any]) -> list[Line]:
    return list(planned(text, order, **dogs).lines)


def only(text: str, order: Any = "", **dogs: dict[str, Any]) -> Line:
    (line,) = lines(text, order, **dogs)
    return line


def cell(heading: str, value: str, order: Any = "") -> Line:
    """The row of a new dog with one more cell, which may take the place of a needed one."""
    row = {"Name": "Juniper", "Breed": "Whippet", "Sex": "dog", "Born": "2024-03-14"}
    row[heading] = value
    text = io.StringIO()
    csv.writer(text).writerows([row, row.values()])
    return only(text.getvalue(), order)


def new(line: Line) -> dict[str, Any]:
    return {name: value for name, _, value in line.edits}


# --- files


@pytest.mark.parametrize(
    ("content", "text", "is_guessed"),
    [
        ("Name\nZoë\n".encode(), "Name\nZoë\n", False),
        ("Name\r\nZoë\r\n".encode("utf-8-sig"), "Name\nZoë\n", False),
        ("Name\rZoë\r".encode("utf-16"), "Name\nZoë\n", False),
        (b"\xfe\xff" + "Zoë".encode("utf-16-be"), "Zoë", False),
        ("Name\nZoë – “Z”\n".encode("windows-1252"), "Name\nZoë – “Z”\n", True),
    ],
)
def test_every_usual_encoding_is_read(content: bytes, text: str, is_guessed: bool) -> None:
    assert decoded(content) == (text, is_guessed)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04" + bytes(40), "not CSV"),
        (b"\xd0\xcf\x11\xe0" + bytes(40), "not CSV"),
        (b"Name\nJu\0niper", "cannot be read"),
        ("Name\nJuniper".encode("utf-16-le"), "cannot be read"),
        (b"\xff\xfeN", "cannot be read"),
        (b"Name\n\x81\x8d", "cannot be read"),
    ],
)
def test_what_is_no_text_is_refused(content: bytes, words: str) -> None:
    with pytest.raises(SheetError, match=words):
        decoded(content)


MANY_SIGNS = "Remarks; a; b; c; d; e; f; g, h, i, j, k, l, m, n\to\tp\tq\tr\ts\tt\tu"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_separator_is_told_by_the_headings(separator: str) -> None:
    """Also where the cells, and a heading that nobody knows, hold many of the other signs."""
    rows = [
        ["Name", MANY_SIGNS, "Breed", "Sex", "Born"],
        ["Juniper, the; second", "a;b;c,d,e,f\tg", "Whippet", "dog", "2024-03-14"],
    ]
    text = io.StringIO()
    csv.writer(text, delimiter=separator).writerows(rows)
    made = planned(text.getvalue())
    assert made.separator == sheets.SEPARATORS[separator]
    assert new(made.lines[0])["name"] == "Juniper, the; second"
    assert made.left_out == (MANY_SIGNS,)


def test_a_named_separator_is_obeyed() -> None:
    assert planned("sep=;\n" + NEW.replace(",", ";")).separator == "semicolons"
    assert lines("sep=;\r\n" + NEW.replace(",", ";").replace("\n", "\r\n"))[0].number == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "table is empty"),
        (" \n;;;\n\n", "table is empty"),
        ("Name,Breed\n,,\n", "headings but no rows"),
        ("Juniper,Whippet,dog,2024-03-14\n", "first row must name the columns"),
        (NEW + 'Moss,"Whippet,dog,2024-03-14\n' + NEW, "quotes .* near row 3"),
        (NEW + 'Moss,"Whippet" x,dog,2024-03-14\n', "quotes .* near row 3"),
        ("Name,Breed,Call name\na,b,c\n", "Two columns hold the same: Name and Call name"),
        ("Name,Reg no,Registration\na,b,c\n", "Registration number can be in one column only"),
        ("Name" + ",x" * 300 + "\na\n", "301 columns"),
        (NEW + "Moss\n" * MOST_ROWS, f"{MOST_ROWS + 1} rows"),
        (NEW + "x" * 200_000, "near row 3"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_whole(text: str, words: str) -> None:
    with pytest.raises(SheetError, match=words):
        planned(text)


def test_empty_rows_and_columns_do_not_count_but_keep_the_numbers() -> None:
    text = "\n,,,,,,\nName,Breed,Sex,Born,,,\n\n,,,,,,\nJuniper,Whippet,bitch,2024-03-14,,,\n,,,\n"
    made = planned(text)
    assert [(line.number, line.action) for line in made.lines] == [(6, "add")]
    assert made.left_out == ()


def test_what_has_no_place_is_named() -> None:
    text = "Name,Breed,Sex,Born,Colour,,Vet\nJuniper,Whippet,bitch,2024-03-14,fawn,stray,\n"
    assert planned(text).left_out == ("Colour", "column 6, which has no heading", "Vet")


def test_a_row_longer_than_the_headings_is_refused() -> None:
    line = only("Name,Breed,Sex,Born\nJuniper, the second,Whippet,bitch,2024-03-14\n")
    assert line.action == "refused"
    assert "5 cells under 4 headings" in line.problems[0]
    assert only(NEW.replace("-14\n", "-14,,,\n")).action == "add"
    assert only("Name,Breed,Sex,Born,Chip\nJuniper,Whippet,bitch,2024-03-14\n").action == "add"


@given(st.text(alphabet="'=+-@＝ 1a\t\r\n", max_size=8) | st.text())
def test_the_apostrophe_of_an_export_comes_off_again_and_no_other(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).lstrip().startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize(
    ("written", "kept"),
    [("'=1+1", "=1+1"), ("'900", "900"), ("'Tis Herself", "'Tis Herself"), ("=1+1", "=1+1")],
)
def test_an_apostrophe_that_keeps_text_is_taken_off(written: str, kept: str) -> None:
    assert new(cell("Registered name", written))["pedigree"] == kept


# --- headings


def test_every_column_is_found_under_all_its_headings() -> None:
    known: dict[str, str] = {}
    for column in COLUMNS:
        for heading in (column.field, column.title, *column.also):
            assert known.setdefault(folded(heading), column.field) == column.field
            for way in (heading, heading.upper(), f" {heading}: "):
                assert sheets.read(f"{way};Colour\n1;2", lambda h: folded(h) in known)
    assert {column.field for column in COLUMNS} == KINDS["dog"].fields.keys() - {
        "deleted",
        "portrait",
    }


def test_headings_of_the_trade() -> None:
    text = (
        "CALL NAME;Pedigree Name;Breed;SEX;D.O.B.;Microchip #;Reg. No.;Spayed/Neutered\n"
        "Juniper;Marrowby Juniper Wine;whippet;F;14/03/2024;999 000 000 000 009;AB 12;Yes\n"
    )
    assert new(only(text)) == {
        "name": "Juniper",
        "pedigree": "Marrowby Juniper Wine",
        "breed": "whippet",
        "sex": "bitch",
        "born": "2024-03-14",
        "microchip": "999 000 000 000 009",
        "registration": "AB 12",
        "neutered": True,
    }


def test_the_template_is_a_table_of_one_new_dog() -> None:
    made = planned(DOGS.columns.template())
    assert [line.action for line in made.lines] == ["add"]
    assert made.left_out == ()
    assert {name for name, _, _ in made.lines[0].edits} >= {"name", "breed", "sex", "born"}


# --- cells

DAYS = {
    "2024-04-03": "2024-04-03",
    "2024/4/3": "2024-04-03",
    "2024.04.03": "2024-04-03",
    "20240403": "2024-04-03",
    "2024-04-03 00:00:00": "2024-04-03",
    "2024-04-03T00:00:00.000Z": "2024-04-03",
    "25/04/2024": "2024-04-25",
    "25.4.2024": "2024-04-25",
    "25. 4. 2024": "2024-04-25",
    "04-25-2024": "2024-04-25",
    "4/4/2024": "2024-04-04",
    "3 April 2024": "2024-04-03",
    "3rd Apr 2024": "2024-04-03",
    "03-Apr-2024": "2024-04-03",
    "3. sept. 2024": "2024-09-03",
    "April 3, 2024": "2024-04-03",
    "apr 3rd 2024": "2024-04-03",
    "29 Feb 2024": "2024-02-29",
    TODAY.isoformat(): TODAY.isoformat(),
}


@pytest.mark.parametrize("written", DAYS)
def test_a_day_is_read(written: str) -> None:
    assert new(cell("Born", written))["born"] == DAYS[written]


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("45231", "a spreadsheet's day number"),
        ("45231.0", "a spreadsheet's day number"),
        ("3/4/24", "does not say which century"),
        ("25-Apr-24", "does not say which century"),
        ("2023-02-29", "There is no day 2023-02-29"),
        ("31/04/2024", "There is no day 31/04/2024"),
        ("13/13/2024", "There is no day 13/13/2024"),
        ("3 Brumaire 2024", "no month “brumaire”"),
        ("2026-11-26", "in the future"),
        ("1985-01-01", "too long ago for a living dog"),
        ("spring 2024", "cannot be read as a date"),
        ("########", "cannot be read as a date"),
        ("2024", "cannot be read as a date"),
        ("٢٠٢٤-٠٤-٠٣", "cannot be read as a date"),
        ("2024-04-03 17:30", "cannot be read as a date"),
    ],
)
def test_a_day_that_cannot_be_known_is_refused(written: str, words: str) -> None:
    line = cell("Born", written)
    assert line.action == "refused"
    assert re.search(words, line.problems[0]), line.problems


def test_an_open_date_is_asked_about_and_never_guessed() -> None:
    text = (
        "Name,Breed,Sex,Born\nOne,Whippet,dog,03/04/2024\nTwo,Whippet,dog,25/04/2024\n"
        "Three,Whippet,dog,2024-04-03\n"
    )
    asked = planned(text)
    assert asked.asks_order
    assert asked.hint == (3, "25/04/2024", "day")
    assert [line.action for line in asked.lines] == ["refused", "add", "add"]
    day, month = planned(text, "day"), planned(text, "month")
    assert not day.asks_order
    assert [new(line)["born"] for line in day.lines] == ["2024-04-03", "2024-04-25", "2024-04-03"]
    assert new(month.lines[0])["born"] == "2024-03-04"
    assert "does not have its month first" in month.lines[1].problems[0]
    assert month.lines[2].action == "add"
    assert len({asked.digest, day.digest, month.digest}) == 3


@given(st.dates(date(1990, 1, 1), TODAY), st.sampled_from("/.-"), st.sampled_from(["day", "month"]))
def test_a_day_in_numbers_is_read_as_was_said(day: date, sign: str, order: str) -> None:
    written = day.strftime(sign.join(["%d", "%m"] if order == "day" else ["%m", "%d"]))
    written += f"{sign}{day.year}"
    assert new(cell("Born", written, order))["born"] == day.isoformat()


def test_a_day_in_words_is_read_again() -> None:
    for month in range(1, 13):
        day = f"2024-{month:02}-11"
        assert new(cell("Born", in_words(day)))["born"] == day


BREED_WAYS = {
    "whippet": "whippet",
    "WHIPPET ": "whippet",
    "border-terrier": "border-terrier",
    "Terrier, Border": "border-terrier",
    "Retriever (Labrador)": "labrador-retriever",
    "Cardigan Welsh Corgi": "cardigan-welsh-corgi",
    "Welsh Corgi Cardigan": "cardigan-welsh-corgi",
    "Pomeranian": "pomeranian",
    "Zwergspitz": "pomeranian",
    "Mittelspitz": "german-spitz",
    "Westie": "west-highland-white-terrier",
    "Chien de Montagne de l'Atlas": "atlas-mountain-dog",
    "Shih-Tzu": "shih-tzu",
    "Fen Hound": "Fen Hound",
    "Corgi": "Corgi",
}


@pytest.mark.parametrize("written", BREED_WAYS)
def test_a_breed_is_known_by_id_and_name_or_kept_as_written(written: str) -> None:
    line = cell("Breed", written)
    assert new(line)["breed"] == BREED_WAYS[written]
    assert bool(line.remarks) is (BREED_WAYS[written] not in BREEDS)


def test_every_breed_of_the_library_is_known_by_its_own_name_and_id() -> None:
    for key, name in BREEDS.items():
        assert new(cell("Breed", key))["breed"] == key
        assert new(cell("Breed", name.upper()))["breed"] == key


def test_every_breed_of_the_library_is_known_by_its_other_names_or_asked_which() -> None:
    for key, names in ALSO.items():
        for name in names:
            line = cell("Breed", name)
            meant = reading().meant("breed", name)
            assert key in meant or BREEDS[next(iter(meant))].startswith(name)
            if len(meant) == 1:
                assert new(line)["breed"] in meant
                assert not line.remarks


def test_a_name_of_two_breeds_is_kept_and_both_are_told() -> None:
    line = cell("Breed", "Corgi")
    assert new(line)["breed"] == "Corgi"
    told = "can mean Welsh Corgi (Cardigan) or Welsh Corgi (Pembroke): write which"
    assert told in line.remarks[0]


def test_a_breeds_own_name_goes_before_anothers_other_name() -> None:
    names = {"fen-hound": "Fen Hound", "moor-hound": "Moor Hound"}
    also = {"moor-hound": ["Fen Hound", "Mooring Hound"]}
    asked = Reading({"breed": names}, TODAY, "", {"breed": also})
    assert asked.meant("breed", "Hound, Fen") == {"fen-hound"}
    assert asked.meant("breed", "mooring hound") == {"moor-hound"}
    assert asked.meant("breed", "Bog Hound") == set()


def test_an_unknown_breed_names_what_is_near() -> None:
    assert "Did you mean Whippet" in cell("Breed", "Wippet").remarks[0]
    assert "Did you mean" not in cell("Breed", "Xyzzy").remarks[0]


@pytest.mark.parametrize(
    ("heading", "written", "value"),
    [
        *(("Sex", way, "dog") for way in ("Dog", "MALE", "m", "M.")),
        *(("Sex", way, "bitch") for way in ("bitch", "Female", "f", " F ")),
        *(("Neutered", way, True) for way in ("yes", "Y", "TRUE", "1", "x", "spayed")),
        *(("Neutered", way, False) for way in ("no", "N", "false", "0", "entire")),
        ("Examined on", "TABLE", "table"),
        ("Standard to read", "the kennel club", "KC"),
        ("Testes felt", "Both down", "both"),
        ("Country of birth", "gb", "GB"),
        ("Reg no", "'0012", "0012"),
    ],
)
def test_a_word_is_read(heading: str, written: str, value: Any) -> None:
    assert value in new(cell(heading, written)).values()


@pytest.mark.parametrize(
    ("heading", "written", "words"),
    [
        ("Sex", "neutered male", "is not one of: dog, bitch"),
        ("Neutered", "perhaps", "is not one of: yes, no"),
        ("Neutered", "-", "is not one of: yes, no"),
        ("Examined on", "-", "is not one of: table, ground, ramp"),
        ("Country of birth", "Scotland", "two letters"),
        ("Name", "x" * 41, "Call name: it has 41 characters; shorten it to 40"),
        ("Name", "Juni\nper", "Call name: it holds a line break"),
        ("Chip", "9.00085E+14", "cut it to 9.00085E.14"),
        ("Chip", "9,00085E+14", "cut it to 9,00085E.14"),
        ("Chip", "900085000000001.0", "read it as a quantity"),
        ("Reg no", "1.2E+10", "cut it"),
    ],
)
def test_a_word_that_cannot_be_kept_is_refused(heading: str, written: str, words: str) -> None:
    line = cell(heading, written)
    assert line.action == "refused"
    assert any(re.search(words, problem) for problem in line.problems), line.problems


def test_a_chip_is_advised_on_and_kept_as_written() -> None:
    line = cell("Chip", "99900000000001")
    assert (line.action, new(line)["microchip"]) == ("add", "99900000000001")
    assert "1 missing" in line.remarks[0]
    assert cell("Chip", "826 000 000 000 001").remarks == ()


def test_a_formula_is_kept_as_text() -> None:
    assert new(cell("Name", '=HYPERLINK("x")'))["name"] == '=HYPERLINK("x")'


def test_a_bitch_has_no_testes() -> None:
    text = "Name,Breed,Sex,Born,Testes\nJuniper,Whippet,bitch,2024-03-14,both\n"
    assert "A bitch has no testes" in only(text).problems[0]
    assert only(f"id,Testes\n{A},both\n", a=BRAMBLE).action == "refused"


def test_testes_felt_before_birth_are_asked_about() -> None:
    """A book may hold such a dog, whose export must come back: it is told, and taken."""
    line = cell("Testes felt on", "2024-03-13")
    told = "Testes checked on: The dog was born on 14 March 2024, after that day. "
    assert line.remarks == (f"{told}Saved as written; correct one of them.",)
    assert line.action == "add"
    assert cell("Testes felt on", "2024-03-14").remarks == ()


# --- whose row it is


@pytest.mark.parametrize(
    ("text", "by"),
    [
        (f"id,Name\n{A.upper()},Bracken\n", "id"),
        ("Chip,Name\n999 000-000.000 001,Bracken\n", "microchip"),
        ("Reg no,Name\nmb-0001,Bracken\n", "registration number"),
        (
            "Registered name,Born,Name\nMARROWBY  bramble path,14.3.2024,Bracken\n",
            "registered name and date of birth",
        ),
    ],
)
def test_a_dog_is_found(text: str, by: str) -> None:
    line = only(text, a=BRAMBLE, b=GUSTAV)
    assert (line.action, line.record, line.by) == ("change", A, by)
    assert ("name", "Bramble", "Bracken") in line.edits


def test_the_same_table_twice_adds_no_dog_twice() -> None:
    """A plain table has no numbers; the dog it made is known by its call name and its birthday."""
    juniper = new(only(NEW))
    assert only(NEW, a=juniper).action == "same"
    with_chip = "Name,Breed,Sex,Born,Chip\nJuniper,Whippet,bitch,2024-03-14,999000000000009\n"
    assert only(with_chip, a=juniper).edits == (("microchip", None, "999000000000009"),)
    # A littermate with the same call name and other numbers is another dog.
    other = {**juniper, "microchip": "999000000000008"}
    assert only(with_chip, a=other).action == "add"
    assert only(NEW.replace("bitch", "dog"), a=juniper).action == "add"


def test_what_is_spelled_otherwise_only_is_the_same() -> None:
    text = (
        "Chip,Breed,Sex,Born,Reg no\n"
        "999-000-000-000-001,BORDER TERRIER,Female,14 March 2024,MB 0001\n"
    )
    assert only(text, a=BRAMBLE).action == "same"
    # One system writes ë as one sign, another as two.
    assert only(f"id,Name\n{A},Zoe\u0308\n", a={**BRAMBLE, "name": "Zo\u00eb"}).action == "same"


def test_an_empty_cell_clears_nothing() -> None:
    text = f"id,Name,Breed,Sex,Born,Chip,Reg no,Neutered\n{A},Bracken,,,,,,\n"
    assert only(text, a=BRAMBLE).edits == (("name", "Bramble", "Bracken"),)


def test_the_first_key_decides_but_takes_no_number_of_another_dog() -> None:
    line = only(f"id,Chip\n{A},{GUSTAV['microchip']}\n", a=BRAMBLE, b=GUSTAV)
    assert line.action == "refused"
    assert "Gustav has this microchip already" in line.problems[0]


def test_a_row_that_fits_two_dogs_is_refused() -> None:
    twin = {**GUSTAV, "microchip": BRAMBLE["microchip"]}
    line = only(f"Chip,Name\n{BRAMBLE['microchip']},Moss\n", a=BRAMBLE, b=twin)
    assert line.action == "refused"
    assert "2 dogs of the book have this microchip: Bramble, Gustav" in line.problems[0]
    # Their ids tell them apart, even so.
    assert only(f"id,Chip\n{A},{BRAMBLE['microchip']}\n", a=BRAMBLE, b=twin).action == "same"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f"id,Name\n{A},One\n{A},Two\n", "Rows 2, 3 are for the same dog"),
        (f"id,Chip,Name\n{A},,One\n,999000000000001,Two\n", "Rows 2, 3 are for the same dog"),
        (NEW + "Juniper,Whippet,bitch,2024-03-14\n", "the same call name and date of birth"),
        (
            "Name,Breed,Sex,Born,Chip\nOne,Pug,dog,2024-03-14,999000000000009\n"
            "Two,Pug,dog,2024-03-14,999-000-000-000-009\n",
            "the same microchip",
        ),
        (
            f"id,Reg no\n{A},XY 1\n{B},xy1\n",
            "the same registration number",
        ),
    ],
)
def test_two_rows_for_one_dog_are_refused(text: str, words: str) -> None:
    found = lines(text, a=BRAMBLE, b=GUSTAV)
    assert [line.action for line in found] == ["refused", "refused"]
    assert all(words in line.problems[-1] for line in found)


def test_a_row_beside_two_for_one_dog_is_still_taken() -> None:
    text = f"id,Name\n{A},One\n{A},Two\n{B},Three\n"
    assert [line.action for line in lines(text, a=BRAMBLE, b=GUSTAV)] == [
        "refused", "refused", "change",
    ]  # fmt: skip


@pytest.mark.parametrize("text", [f"id,Name\n{A},x\n", f"Chip,Name\n{BRAMBLE['microchip']},x\n"])
def test_a_removed_dog_is_not_written_to_and_not_made_anew(text: str) -> None:
    line = only(text, a={**BRAMBLE, "deleted": True})
    assert line.action == "refused"
    assert "was removed" in line.problems[0]


def test_a_new_dog_needs_what_the_app_asks_for() -> None:
    line = only("Name,Breed\nJuniper,Whippet\n")
    assert line.action == "refused"
    assert "a new dog needs: Sex, Date of birth" in line.problems[0]


def test_an_id_of_somebody_elses_is_left_out() -> None:
    made = planned("ID,Name,Breed,Sex,Born\n17,Juniper,Whippet,bitch,2024-03-14\n")
    assert made.left_out == ("ID",)
    assert made.lines[0].action == "add"
    mixed = lines(f"ID,Name\n17,Juniper\n{A},Bracken\n", a=BRAMBLE)
    assert [line.action for line in mixed] == ["refused", "change"]
    assert "not one of Ringside's ids" in mixed[0].problems[0]


def test_all_that_is_wrong_with_a_row_is_said_at_once() -> None:
    line = only("Name,Breed,Sex,Born\nJuniper,Whippet,cat,45231\n")
    assert len(line.problems) == 2


# --- writing


@pytest.fixture
def book(tmp_path: Path, new_database: Callable[[], str]) -> Iterator[Book]:
    book = open_book(Place(tmp_path, new_database()))
    with book.session():
        book.revise("dog", {A: BRAMBLE, B: GUSTAV}, NOW)
    yield book
    book.close()


def digest(book: Book, text: str) -> str:
    with book.session():
        return DOGS.plan(text, book.records("dog", with_deleted=True), reading()).digest


def written(book: Book, text: str, rows: set[int], as_shown: str = "") -> Done | Plan:
    with book.session():
        return DOGS.write(book, text, reading(), as_shown or digest(book, text), rows, NOW + 1000)


TWO = f"id,Name,Breed,Sex,Born\n{A},Bracken,,,\n,Juniper,Whippet,bitch,2024-03-14\n"


def test_what_was_shown_is_written(book: Book) -> None:
    done = written(book, TWO, {2, 3})
    assert isinstance(done, Done)
    assert done.changed == {A: "Bracken"}
    assert list(done.added.values()) == ["Juniper"]
    dogs = book.records("dog")
    assert dogs[A] == {**BRAMBLE, "name": "Bracken"}
    assert dogs[B] == GUSTAV
    assert dogs[next(iter(done.added))] == new(only(NEW))
    book.rebuild()
    assert book.records("dog") == dogs


def test_rows_that_were_unticked_are_left(book: Book) -> None:
    done = written(book, TWO, {3})
    assert isinstance(done, Done)
    assert (len(done.added), done.changed, done.left["change"]) == (1, {}, 1)
    assert book.records("dog")[A] == BRAMBLE
    before = book.newest()
    assert written(book, TWO, set())
    assert book.newest() == before


def test_an_edit_names_what_it_replaces(book: Book) -> None:
    """Else the phone that wrote it would take the import for news from before its own."""
    before = {change["field"]: change for change in book.recent(20) if change["record"] == A}
    written(book, TWO, {2})
    change = book.recent(1)[0]
    assert (change["field"], change["value"]) == ("name", "Bracken")
    assert change["base"] == before["name"]["stamp"]
    assert change["stamp"] > change["base"]


def test_an_edit_wins_over_a_phone_whose_clock_is_ahead(book: Book) -> None:
    device = str(uuid6.uuid7())
    stamp = clock.tick("", NOW + 4 * 60_000, clock.node_of(device))
    change = {"id": str(uuid6.uuid7()), "kind": "dog", "record": A, "field": "name", "base": ""}
    with book.session():
        book.append([change | {"value": "Bee", "stamp": stamp, "device": device}], NOW)
    assert isinstance(written(book, TWO, {2}), Done)
    assert book.records("dog")[A]["name"] == "Bracken"


def test_nothing_is_written_if_the_book_changed_meanwhile(book: Book) -> None:
    shown = digest(book, TWO)
    with book.session():
        book.revise("dog", {A: {"name": "Bee"}}, NOW + 1)
    before = book.newest()
    made = written(book, TWO, {2, 3}, shown)
    assert isinstance(made, Plan)
    assert made.lines[0].edits == (("name", "Bee", "Bracken"),)
    assert book.newest() == before
    # What changed elsewhere in the book does not matter.
    with book.session():
        book.revise("dog", {B: {"neutered": True}}, NOW + 2)
    assert isinstance(written(book, TWO, {2, 3}, made.digest), Done)


def test_all_or_nothing(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    before, dogs = book.newest(), book.records("dog")
    real = book.projection.fold

    def fail(edits: Any) -> None:
        real(edits)
        raise OSError("the power went")

    monkeypatch.setattr(book.projection, "fold", fail)
    with pytest.raises(OSError, match="the power went"):
        written(book, TWO, {2, 3})
    assert (book.newest(), book.records("dog")) == (before, dogs)


def test_of_two_imports_at_once_one_is_shown_again(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The plan is made anew under the lock: two that were planned at once would both be done."""
    shown, found = digest(book, TWO), []
    meeting = threading.Barrier(2)
    plan = TableImport.plan

    def plan_and_wait(*given: Any) -> Plan:
        made = plan(*given)
        # In vain, as nobody else comes this far meanwhile.
        with suppress(threading.BrokenBarrierError):
            meeting.wait(timeout=1)
        return made

    monkeypatch.setattr(TableImport, "plan", plan_and_wait)

    def run() -> None:
        found.append(written(book, TWO, {2, 3}, shown))
        book.close()

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(isinstance(made, Done) for made in found) == 1
    assert len(book.records("dog")) == 3


# --- what an export wrote

LINE = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40).filter(
    lambda text: not CONTROL.search(text) and text == text.strip()
)
WILD = st.sampled_from(["=1+1", "'=1", "''x", "'12", "-", "a,b;c\td"[:5], '"', "＝x", "'"]) | LINE
BORN = st.dates(date(1990, 1, 1), date.today()).map(date.isoformat)
FREE_BREED = WILD.filter(lambda text: not set(folded(text).split()) & {"pug", "boxer", "shiba"})


def some(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | values


PLAIN = {
    "pedigree": some(WILD),
    "surface": some(st.sampled_from(["table", "ground", "ramp"])),
    "body": some(st.sampled_from(["FCI", "AKC", "KC", "CKC", "DA"])),
    "short_faced": some(st.booleans()),
    "neutered": some(st.booleans()),
    "microchip": some(WILD.filter(lambda text: not re.fullmatch(r"[\d.,eE+]+", text))),
    "registration": some(WILD.filter(lambda text: not re.fullmatch(r"[\d.,eE+]+", text))),
    "born_in": some(st.sampled_from(["GB", "US", "CA"])),
}
NEEDED = {"name": WILD, "breed": st.sampled_from(sorted(BREEDS)) | FREE_BREED, "born": BORN}
ANY_DOG = st.fixed_dictionaries({**NEEDED, **PLAIN, "sex": st.just("bitch")}) | (
    st.fixed_dictionaries(
        {
            **NEEDED,
            **PLAIN,
            "sex": st.just("dog"),
            "testes": some(st.sampled_from(["both", "one", "none"])),
            "testes_on": some(BORN),
        }
    )
)


def exported(book: Book, folder: Path) -> str:
    keeping.export_csv(book.place, folder)
    text, is_guessed = decoded((folder / "dog.csv").read_bytes())
    assert not is_guessed
    return text


def said(dogs: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {
        key: {name: value for name, value in dog.items() if value is not None}
        for key, dog in dogs.items()
    }


@settings(max_examples=40, deadline=None)
@given(st.lists(ANY_DOG, min_size=1, max_size=5))
def test_an_export_gives_the_same_dogs_to_an_empty_book_and_nothing_to_its_own(
    dogs: list[dict[str, Any]],
) -> None:
    today = Reading({"breed": BREEDS}, date.today())
    with tempfile.TemporaryDirectory() as name:
        one, other = open_book(Place(Path(name, "one"))), open_book(Place(Path(name, "other")))
        try:
            receipt = one.write_down("dog", dogs, NOW)
            assert not receipt.refused
            text = exported(one, Path(name, "csv"))
            own = DOGS.plan(text, one.records("dog", with_deleted=True), today)
            assert [line.action for line in own.lines] == ["same"] * len(dogs)
            made = DOGS.plan(text, {}, today)
            rows = {line.number for line in made.lines}
            assert isinstance(DOGS.write(other, text, today, made.digest, rows, NOW), Done)
            assert said(other.records("dog")) == said(one.records("dog"))
        finally:
            one.close()
            other.close()


@settings(deadline=None)
@given(
    st.dictionaries(
        st.uuids().map(str),
        st.fixed_dictionaries({}, optional={
            "name": st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
            "breed": LINE | st.sampled_from([*BREEDS, *BREEDS.values()]),
            "sex": st.sampled_from(["dog", "bitch"]),
            "born": BORN,
            "testes": st.sampled_from(["both", "one"]),
            "microchip": st.sampled_from(["999000000000001", " 999 000", "12"]),
            "pedigree": st.sampled_from(["A", " a ", "B"]),
        }),
        max_size=6,
    )
)  # fmt: skip
@example({A: {"name": "\n"}, B: {"name": " =1"}, C: {"name": "' 1"}})
def test_whatever_a_book_holds_its_own_rows_change_nothing(dogs: dict[str, Any]) -> None:
    """Dogs without a name, two with one chip, blanks around words: a phone may have sent them."""
    text = io.StringIO()
    rows = csv.writer(text)
    names = [column.field for column in COLUMNS]
    rows.writerow(["id", *names])
    for key, dog in dogs.items():
        rows.writerow([key, *(keeping.records_csv.cell(dog.get(name)) for name in names)])
    if dogs:
        made = DOGS.plan(text.getvalue(), dogs, Reading({"breed": BREEDS}, date.today()))
        assert not any(line.is_to_do for line in made.lines)


# --- the desk


class Desk:
    """A browser at the desk, which answers with the forms that a page gave it."""

    def __init__(self, app: Flask) -> None:
        self.client: FlaskClient = app.test_client()

    def get(self, path: str = "") -> TestResponse:
        return self.client.get(PAGE + path, base_url=HOME)

    def post(self, path: str, data: dict[str, Any], page: str) -> TestResponse:
        data = {"csrf_token": csrf(page), **data}
        return self.client.post(PAGE + path, base_url=HOME, data=data)

    def preview(self, content: bytes | str, name: str = "dogs.csv") -> TestResponse:
        if isinstance(content, str):
            return self.send({"text": content})
        return self.send({"file": FileStorage(io.BytesIO(content), name), "text": ""})

    def send(self, data: dict[str, Any]) -> TestResponse:
        # Not by the client: it puts what is large in a file, and leaves that open.
        boundary, body = encode_multipart({"csrf_token": csrf(self.get().text), **data})
        kind = f"multipart/form-data; boundary={boundary}"
        return self.client.post(f"{PAGE}/preview", base_url=HOME, data=body, content_type=kind)

    def answer(self, path: str, shown: TestResponse, **data: Any) -> TestResponse:
        return self.post(path, {"carried": carried(shown.text), **data}, shown.text)

    def write(self, shown: TestResponse, rows: list[int] | None = None) -> TestResponse:
        ticked = re.findall(r'name="row" value="(\d+)" checked', shown.text)
        return self.answer("/write", shown, row=ticked if rows is None else rows)


def hidden(page: str, name: str) -> str:
    found = re.search(f'name="{name}" value="([^"]*)"', page)
    assert found
    return unescape(found[1])


def csrf(page: str) -> str:
    return hidden(page, "csrf_token")


def carried(page: str) -> str:
    return hidden(page, "carried")


@pytest.fixture
def desk(tmp_path: Path, book: Book) -> Desk:
    return Desk(create_app(Settings(tmp_path, PORT, is_open=True), book, KNOWLEDGE))


def counts(response: TestResponse) -> list[int]:
    """How many are to add, to change, the same, and refused."""
    assert response.status_code in (200, 409), response.text
    return list(map(int, re.findall(r"</dt><dd>(\d+)</dd>", response.text)))


@pytest.mark.parametrize("content", [TWO, TWO.encode(), TWO.encode("utf-16")])
def test_a_table_is_shown_and_then_written(desk: Desk, book: Book, content: bytes | str) -> None:
    before = book.newest()
    shown = desk.preview(content)
    assert counts(shown) == [1, 1, 0, 0]
    assert book.newest() == before
    answer = desk.write(shown)
    assert (answer.status_code, answer.location) == (303, PAGE)
    page = desk.get().text
    assert "1 dog added, 1 changed." in page
    assert f"/desk#dog-{A}" in page
    assert f'id="dog-{A}"' in desk.client.get("/desk", base_url=HOME).text
    assert "1 dog added" not in desk.get().text
    assert {dog["name"] for dog in book.records("dog").values()} == {
        "Bracken", "Gustav", "Juniper",
    }  # fmt: skip
    # Sent once more, as a browser does that goes back: it is shown, not written.
    again = desk.write(shown)
    assert again.status_code == 409
    assert "nothing was written" in again.text
    assert counts(again) == [0, 0, 2, 0]
    assert len(book.records("dog")) == 3


def test_the_desk_knows_a_breed_by_its_other_names(desk: Desk) -> None:
    shown = desk.preview(NEW.replace("Whippet", "Zwergspitz"))
    assert "Pomeranian (German Toy Spitz)" in shown.text
    assert "not a breed we know" not in shown.text


def test_a_changed_book_shows_the_preview_again(desk: Desk, book: Book) -> None:
    shown = desk.preview(TWO)
    book.revise("dog", {A: {"name": "Bee"}}, NOW + 1)
    again = desk.write(shown)
    assert again.status_code == 409
    assert "The book has changed since you looked" in again.text
    assert "Bee" in again.text
    assert desk.write(again).status_code == 303
    assert book.records("dog")[A]["name"] == "Bracken"


def test_the_order_of_dates_is_asked_once(desk: Desk, book: Book) -> None:
    shown = desk.preview(NEW.replace("2024-03-14", "03/04/2024"))
    assert counts(shown) == [0, 0, 0, 1]
    assert "Which comes first in a date" in shown.text
    day = desk.answer("/order", shown, order="day")
    assert counts(day) == [1, 0, 0, 0]
    assert "3 April 2024" in day.text
    month = desk.answer("/order", day, order="month")
    assert "4 March 2024" in month.text
    assert desk.write(month).status_code == 303
    assert "2024-03-04" in {dog["born"] for dog in book.records("dog").values()}


def test_nothing_but_what_was_shown_can_be_sent(desk: Desk, book: Book) -> None:
    before = book.newest()
    shown = desk.preview(TWO)
    packed = carried(shown.text)
    for bad in ("", "x", packed[:-3] + "abc", json.dumps([TWO, False, "", ""])):
        answer = desk.post("/write", {"carried": bad, "row": [2, 3]}, shown.text)
        assert answer.status_code == 422
        assert "was cut off" in answer.text
    unasked = desk.post("/write", {"carried": packed, "csrf_token": "x", "row": [2]}, shown.text)
    assert unasked.status_code == 400
    assert book.newest() == before


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"x" * (MOST_BYTES + 1), "more than 1 MB"),
        ("x" * (MOST_BYTES + 1), "more than 1 MB"),
        (b"PK\x03\x04rest", "not CSV"),
        ("", "Choose a file, or paste a table"),
        ("a,b\n1,2\n", "first row must name the columns"),
        (NEW + "Moss,Pug,dog,2024-03-14\n" * MOST_ROWS, "2001 rows; 2000 is the most"),
    ],
)
def test_what_cannot_be_read_is_told(desk: Desk, content: bytes | str, words: str) -> None:
    answer = desk.preview(content)
    assert answer.status_code == 422
    assert words in answer.text
    assert 'role="alert"' in answer.text


def test_two_tables_at_once_are_refused(desk: Desk) -> None:
    answer = desk.send({"file": FileStorage(io.BytesIO(NEW.encode()), "x.csv"), "text": NEW})
    assert answer.status_code == 422
    assert "Send one of them" in answer.text


def test_a_guessed_encoding_is_said_to_the_end(desk: Desk) -> None:
    shown = desk.preview(NEW.replace("Juniper", "Zoë").encode("windows-1252"))
    assert "Windows-1252" in shown.text
    assert "Zoë" in shown.text
    assert "Windows-1252" in desk.answer("/order", shown, order="day").text


def test_what_is_in_a_cell_is_text_to_the_page(desk: Desk) -> None:
    shown = desk.preview(NEW.replace("Juniper", "<b>x</b>").replace("Whippet", "<script>"))
    assert "&lt;b&gt;x&lt;/b&gt;" in shown.text
    assert "<b>x</b>" not in shown.text
    assert "<script>" not in shown.text


def test_a_table_at_its_limits_is_carried_and_written(desk: Desk, book: Book) -> None:
    """Two thousand rows, near 1 MB, in a form larger than forms usually may be."""
    head = "Name,Breed,Sex,Born,Reg no,Remarks"
    rows = [
        f"Pup {n},Whippet,dog,2024-03-14,XY {n},{uuid6.uuid7().hex * 13}" for n in range(MOST_ROWS)
    ]
    text = "\n".join([head, *rows])
    assert MOST_BYTES * 0.8 < len(text) < MOST_BYTES
    shown = desk.preview(text.encode())
    assert counts(shown) == [MOST_ROWS, 0, 0, 0]
    assert desk.write(shown).status_code == 303
    page = desk.get().text
    assert f"{MOST_ROWS} dogs added, 0 changed." in page
    assert f"and {MOST_ROWS - 8} more" in page
    assert len(book.records("dog")) == MOST_ROWS + 2


def test_the_template_goes_out_and_comes_in(desk: Desk) -> None:
    answer = desk.get("/template.csv")
    assert answer.mimetype == "text/csv"
    assert answer.data.startswith(b"\xef\xbb\xbf")
    assert counts(desk.preview(answer.data)) == [1, 0, 0, 0]


def test_the_desk_leads_here_and_stray_addresses_lead_back(desk: Desk) -> None:
    assert PAGE in desk.client.get("/desk", base_url=HOME).text
    for path in ("/preview", "/order", "/write"):
        assert desk.get(path).location == PAGE


def test_only_an_owner_may_import(tmp_path: Path, book: Book) -> None:
    closed = create_app(Settings(tmp_path, PORT), book, KNOWLEDGE).test_client()
    for path in ("", "/template.csv"):
        assert closed.get(PAGE + path, base_url=HOME).status_code == 303
    key = closed.get("/api/session", base_url=HOME).get_json()["csrf"]
    data = {"csrf_token": key, "text": NEW}
    assert closed.post(f"{PAGE}/preview", base_url=HOME, data=data).status_code == 401


# --- a real server, and a phone


def synced(server: Server, phone: PairedPhone) -> dict[str, dict[str, Any]]:
    """All dogs that a phone receives, in as many pages as it takes."""
    import http.client

    dogs: dict[str, dict[str, Any]] = {}
    cursor, more = "", True
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    try:
        while more:
            body = {"protocol": 1, "device": phone.device, "book": phone.book, "cursor": cursor}
            headers = {**phone.headers, "Content-Type": "application/json"}
            connection.request("POST", "/api/sync", json.dumps({**body, "changes": []}), headers)
            response = connection.getresponse()
            answer = json.load(response)
            assert response.status == 200, answer
            for change in answer["changes"]:
                if change["kind"] == "dog":
                    dogs.setdefault(change["record"], {})[change["field"]] = change["value"]
            cursor, more = answer["cursor"], answer["more"]
    finally:
        connection.close()
    return dogs


def test_imported_dogs_reach_a_phone(start_server: Any) -> None:
    server = start_server("serve")
    mine = pair(server)
    yours = pair(server, role="helper")
    import http.client
    from urllib.parse import urlencode

    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)

    def send(path: str, **data: Any) -> tuple[int, str]:
        form = urlencode({"csrf_token": mine.headers["X-CSRFToken"], **data}, doseq=True)
        headers = {**mine.headers, "Content-Type": "application/x-www-form-urlencoded"}
        connection.request("POST", PAGE + path, form, headers)
        response = connection.getresponse()
        return response.status, response.read().decode()

    try:
        status, page = send("/preview", text=NEW)
        assert status == 200, page
        assert synced(server, yours) == {}
        status, page = send("/write", carried=carried(page), row=[2])
        assert status == 303, page
    finally:
        connection.close()
    (dog,) = synced(server, yours).values()
    assert dog == {"name": "Juniper", "breed": "whippet", "sex": "bitch", "born": "2024-03-14"}
    assert synced(server, mine) == synced(server, yours)
