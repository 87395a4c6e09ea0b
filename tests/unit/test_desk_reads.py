"""What a dog has behind it costs the desk nothing: no row, no line and no shape; and what is told
of it is what all of it comes to."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from ringside.app import Settings, create_app
from ringside.book import clock
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.domain.practice import Mark, readiness, ready_words, sums_of
from ringside.web.desk.dog import LISTED, MOST
from tests.known import shipped
from tests.unit.phone import PORT, Phone

Data = dict[str, Any]
DOG = "018f0000-0000-7000-8000-000000000001"
NOW = datetime.now(UTC).replace(hour=0, minute=0, second=1)
GRADES = ("easy", "needs work", "not yet")
STATIONS = ("bite", "ears", "head")


class Desk:
    """A book with one dog, seen at the desk, and how many rows its pages take from the book."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.book: Book = open_book(Place(folder))
        self.phone = Phone(create_app(Settings(folder, PORT), self.book, shipped()))
        self.phone.let_in(self.book)
        self.read = 0
        asked = self.book.rows

        def counted(sql: str, *values: Any) -> list[tuple[Any, ...]]:
            rows = asked(sql, *values)
            self.read += len(rows)
            return rows

        monkeypatch.setattr(self.book, "rows", counted)
        with self.book.session():
            self.book.revise("dog", {DOG: {"name": "Bramble", "born": "2015-05-17"}}, clock.wall())

    def write(self, kind: str, rows: list[Data]) -> None:
        with self.book.session():
            made = [{"dog": DOG, **row} for row in rows]
            assert not self.book.write_down(kind, made, clock.wall()).refused

    def page(self, path: str = f"/dog/{DOG}") -> tuple[str, int]:
        """The page as text, and how many rows it took."""
        self.phone.get(f"/desk{path}")
        self.read = 0
        answer = self.phone.get(f"/desk{path}")
        assert answer.status_code == 200
        return answer.text, self.read


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    made = Desk(tmp_path, monkeypatch)
    yield made
    made.book.close()


def mark(days: int, number: int = 0) -> Data:
    at = f"{NOW - timedelta(days=days):%Y-%m-%dT%H:%M:%S}.{number:03}Z"
    station, grade = STATIONS[days % 3], GRADES[(days // 3 + number) % 3]
    return {"station": station, "grade": grade, "at": at}


def shapes(text: str) -> int:
    chart = re.findall(r'<svg class="chart".*?</svg>', text, re.DOTALL)[-1]
    return len(re.findall(r'class="chart-(?:dot|ring)"', chart))


def ready(text: str) -> dict[str, tuple[str, str]]:
    """How ready each station is told to be, and for a stranger's hands."""
    rows = re.findall(r'<th scope="row">([^<]+)</th>(.*?)</tr>', text)
    cells = {name.lower(): re.findall(r"<td>([^<]*)</td>", row) for name, row in rows}
    return {name: (found[2], found[3]) for name, found in cells.items() if len(found) == 4}


def of_all(marks: list[Data]) -> dict[str, tuple[str, str]]:
    """The same, of all marks that there are."""

    def days(at: str) -> float:
        return datetime.fromisoformat(at).timestamp() / 86_400

    now, told = datetime.now(UTC).timestamp() / 86_400, {}
    for station in STATIONS:
        own = [one for one in marks if one["station"] == station]
        sums = sums_of(Mark(days(one["at"]), one["grade"]) for one in own)
        told[station] = (
            ready_words(readiness(sums, now)),
            ready_words(readiness(sums, now, stranger=True)),
        )
    return told


def test_old_marks_are_neither_read_nor_drawn_and_nothing_told_is_another(desk: Desk) -> None:
    of_late = [mark(days) for days in range(180)]
    desk.write("practice", of_late)
    text, read = desk.page()
    assert shapes(text) == 180
    assert "180 marks at 3 stations in the half year to " in text
    assert ready(text) == of_all(of_late)
    # Older than half a year, and still weighed; then such as weigh nothing.
    before = [mark(days) for days in range(190, 250)]
    desk.write("practice", before)
    text, more = desk.page()
    assert (shapes(text), more) == (180, read + 60)
    assert ready(text) == of_all(of_late + before)
    years = [mark(days) for days in range(620, 2_000, 4)]
    desk.write("practice", years)
    assert desk.page() == (text, more)
    assert ready(text) == of_all(of_late + before + years)


def test_marks_that_lie_on_one_another_are_drawn_as_one(desk: Desk) -> None:
    desk.write("practice", [{**mark(3, number), "grade": "easy"} for number in range(40)])
    text, _ = desk.page()
    assert shapes(text) == 1
    assert "<td>40 easy</td>" in text


def test_a_mark_dated_years_ahead_hides_none_that_was_given(desk: Desk) -> None:
    desk.write("practice", [mark(3)])
    text, _ = desk.page()
    desk.write("practice", [{**mark(0), "at": "2099-01-01T10:00:00.000Z"}, {"station": "bite"}])
    assert desk.page()[0] == text
    assert "1 mark at 1 station in" in text


def test_a_first_mark_from_the_first_year_there_is(desk: Desk) -> None:
    desk.write("practice", [{**mark(0), "at": "0001-01-01T00:00:00.000Z"}])
    assert "in the half year to 1 January 1" in desk.page()[0]


def test_of_weighings_and_scores_the_newest_are_read_and_fewer_listed(desk: Desk) -> None:
    def weighed(days: int) -> Data:
        day = (NOW - timedelta(days=days)).date().isoformat()
        return {"what": "weight", "value": 7 + days % 5 / 10, "unit": "kg", "day": day}

    def scored(days: int) -> Data:
        return {"score": "5", "day": weighed(days)["day"]}

    desk.write("measure", [weighed(days) for days in range(LISTED)])
    desk.write("score", [scored(days) for days in range(LISTED)])
    text, read = desk.page()
    assert text.count(" kg</td>") == text.count("5 of 9</td>") == LISTED
    assert "are listed" not in text
    desk.write("measure", [weighed(days) for days in range(LISTED, MOST)])
    desk.write("score", [scored(days) for days in range(LISTED, MOST)])
    text, read = desk.page()
    assert text.count(" kg</td>") == text.count("5 of 9</td>") == LISTED
    assert f"The newest {LISTED} are listed." in text
    desk.write("measure", [weighed(days) for days in range(MOST, MOST + 50)])
    desk.write("score", [scored(days) for days in range(MOST, MOST + 50)])
    assert desk.page() == (text, read)


def test_what_was_said_last_on_a_day_counts(desk: Desk) -> None:
    day = NOW.date().isoformat()
    for state, is_ill in (("well", False), ("ill", True), ("well", False)):
        desk.write("measure", [{"what": "weight", "value": 7, "unit": "kg", "day": day}])
        desk.write("state", [{"state": state, "day": day}])
        assert ("While a dog is ill" in desk.page()[0]) == is_ill


def test_the_first_page_reads_the_newest_notes_of_a_dog(desk: Desk) -> None:
    def told(first: int) -> tuple[str, int]:
        # More than the latest changes that are looked at.
        notes = [{"station": "bite", "text": f"Note {first + number}"} for number in range(120)]
        desk.write("note", notes)
        return desk.page("")

    text, read = told(0)
    assert re.findall(r">Note (\d+)<", text) == [str(number) for number in range(119, 107, -1)]
    text, more = told(120)
    assert ">Note 239<" in text
    assert more == read
