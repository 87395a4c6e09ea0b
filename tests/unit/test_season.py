"""The season at the desk: what is shown, and a table of it out of one book and into another."""

from __future__ import annotations

import csv
import html
import io
import re
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from ringside import demo
from ringside.app import Settings, create_app
from ringside.book import clock, season
from ringside.book.ids import id_of
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.book.season import Kept
from ringside.book.store import Book
from ringside.book.tables.importing import Done
from ringside.book.tables.plan import Plan
from ringside.book.tables.season import SEASON
from ringside.web.desk.imports import season_reading
from ringside.web.desk.season import as_csv, months, rows_of
from tests.known import shipped
from tests.unit.phone import PORT, Phone

KNOWLEDGE = shipped()
READING = season_reading(KNOWLEDGE, "")
DOG, OTHER, SHOW, ENTRY = (f"01900000-0000-7000-8000-00000000000{last}" for last in "abcd")
DOGS = {
    DOG: {"name": "Bramble", "pedigree": "Marrowby Bramble Path"},
    OTHER: {"name": "Gustav", "pedigree": "Marrowby Pocket Thunder"},
}
FIELD = {"name": "Lantern Field", "body": "FCI", "day": "2026-05-09", "until": "2026-05-10"}
IN = {"dog": DOG, "show": SHOW, "day": "2026-05-09", "klass": "open", "judge": "Ms N. Tallow"}
HEAD = "Dog,Show,Day,Rules of,Class,Judge,Placing,Competing,Critique\n"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(Place(tmp_path))
    with book.session():
        book.revise("dog", DOGS, clock.wall())
        book.revise("show", {SHOW: FIELD}, clock.wall())
        book.revise("entry", {ENTRY: IN}, clock.wall())
    yield book
    book.close()


def planned(book: Book, text: str) -> Plan:
    with book.session():
        return SEASON.plan(text, SEASON.known(book), READING)


def done(book: Book, text: str, rows: set[int] | None = None) -> Done:
    plan = planned(book, text)
    chosen = {line.number for line in plan.lines} if rows is None else rows
    with book.session():
        made = SEASON.write(book, text, READING, plan.digest, chosen, clock.wall())
    assert isinstance(made, Done)
    return made


def kept(book: Book) -> Kept:
    with book.session():
        return season.all_years(book)


def test_a_row_becomes_a_show_an_entry_and_a_result(book: Book) -> None:
    """Two rows of one new show add it once, and a result begins as the phone begins one."""
    text = (
        HEAD + "Bramble,Tarn Side,2026-06-06,KC,Open,Mr B. Thimble,2nd,7,Sound mover\n"
        "Marrowby Pocket Thunder,tarn side,6 June 2026,KC,,,,,\n"
    )
    made = done(book, text)
    assert (len(made.added), len(made.changed)) == (2, 0)
    now = kept(book)
    [(show, values)] = [one for one in now.shows.items() if one[0] != SHOW]
    assert values == {"name": "Tarn Side", "body": "KC", "day": "2026-06-06"}
    entries = {one["dog"]: (key, one) for key, one in now.entries.items() if one["show"] == show}
    key, entry = entries[DOG]
    assert entry == {"dog": DOG, "show": show, "klass": "open", "judge": "Mr B. Thimble"}
    assert now.results == {
        id_of(f"result {key}"): {
            "entry": key, "dog": DOG, "show": show, "day": "2026-06-06", "klass": "open",
            "judge": "Mr B. Thimble", "judge_key": "b thimble", "placing": "2", "competing": 7,
            "critique": "Sound mover",
        }
    }  # fmt: skip
    assert OTHER in entries


def test_nothing_is_overwritten_unseen_and_an_empty_cell_changes_nothing(book: Book) -> None:
    """An entry is found by dog, show and day; what would change is told before it is."""
    text = HEAD + "Bramble,Lantern Field,2026-05-09,FCI,,H. Rushlight,1,,\n"
    plan = planned(book, text)
    seen, [line] = plan.digest, plan.lines
    assert (line.action, line.record) == ("change", ENTRY)
    assert line.edits == (
        ("entry.judge", "Ms N. Tallow", "H. Rushlight"),
        ("result.placing", None, "1"),
    )
    with book.session():
        book.revise("entry", {ENTRY: {"judge": "A. Fennel"}}, clock.wall())
        made = SEASON.write(book, text, READING, seen, {2}, clock.wall())
    assert isinstance(made, Plan)
    assert kept(book).entries[ENTRY]["judge"] == "A. Fennel"
    done(book, text)
    assert kept(book).entries[ENTRY]["klass"] == "open"
    [line] = planned(book, text).lines
    assert line.action == "same"


REFUSED = {
    "Nobody,Lantern Field,2026-05-09,FCI,,,,,": "no dog called Nobody",
    "Bramble,Elsewhere,2026-05-09,,,,,,": "a new show needs: Rules of",
    "Bramble,,2026-05-09,FCI,,,,,": "Name the show",
    "Bramble,Elsewhere,,FCI,,,,,": "a new show needs: Day",
    ",Lantern Field,2026-05-09,FCI,,,1,,": "Name the dog",
    "Bramble,Lantern Field,2026-05-09,FCI,,,eleventh,,": "is not one of",
    "Bramble,Lantern Field,2026-05-09,FCI,,,1,many,": "not a number of dogs",
    "Bramble,Lantern Field,2026-05-32,FCI,,,,,": "There is no day",
    f"Bramble,Lantern Field,2026-05-09,FCI,{'x' * 41},,,,": "41 characters",
}


def test_a_row_that_cannot_be_used_says_why(book: Book) -> None:
    for row, why in REFUSED.items():
        [line] = planned(book, HEAD + row + "\n").lines
        assert line.action == "refused", row
        assert why in " ".join(line.problems), row
    twice = HEAD + "Bramble,Lantern Field,2026-05-10,FCI,,,,,\n" * 2
    assert {line.action for line in planned(book, twice).lines} == {"refused"}


BEYOND = {  # Day, First day, Last day, Time: the cell, and what to do
    ("1900-05-09", "", "", ""):
        "Day: It is read as 9 May 1900. That is too long ago. Check the year.",
    ("2062-05-09", "", "", ""):
        "Day: It is read as 9 May 2062. That is years ahead. Check the year.",
    ("2026-06-06", "1900-06-06", "", ""):
        "First day: It is read as 6 June 1900. That is too long ago. Check the year.",
    ("2026-06-06", "", "2026-06-05", ""):
        "Last day: The last day comes before the first. Correct one of them.",
    ("2026-06-06", "2026-06-06", "2027-06-06", ""):
        "Last day: A show has at most 31 days. Check the month and the year.",
    ("2026-06-08", "2026-06-06", "2026-06-07", ""):
        "Day: The show does not run on that day. Check its days.",
    ("2026-06-06", "", "", "25:99"): "Time: There is no such time as 25:99. Write it like 10:30.",
}  # fmt: skip


def test_what_no_form_of_the_phone_takes_no_table_brings(book: Book) -> None:
    """A row is told at its cell what to do, and costs no other row."""
    head = "Dog,Show,Day,First day,Last day,Time,Rules of\n"
    for row, why in BEYOND.items():
        text = f"{head}Bramble,Tarn Side,{','.join(row)},KC\nGustav,Tarn Side,2026-06-06,,,,KC\n"
        bad, good = planned(book, text).lines
        assert (bad.action, bad.problems) == ("refused", (why,)), row
        assert (good.action, good.remarks) == ("add", ()), row


def test_an_entry_is_moved_to_no_day_without_its_show(book: Book) -> None:
    """Named by its id, no show is looked for; a day that was there before is nobody's fault now."""
    head = f"Ringside ID,Dog,Show,Day\n{ENTRY},Bramble,Lantern Field,"
    [line] = planned(book, f"{head}2026-05-11\n").lines
    assert line.problems == ("Day: The show does not run on that day. Check its days.",)
    [line] = planned(book, f"{head}2026-05-10\n").lines
    assert line.action == "change"
    with book.session():
        book.revise("show", {SHOW: {"day": "2026-05-10"}}, clock.wall())
    [line] = planned(book, f"{head}2026-05-09\n").lines
    assert line.action == "same"


def test_what_was_removed_is_not_written_to(book: Book) -> None:
    row = HEAD + "Bramble,Lantern Field,2026-05-09,FCI,,,1,,\n"
    for kind, key in (("entry", ENTRY), ("show", SHOW)):
        with book.session():
            book.revise(kind, {key: {"deleted": True}}, clock.wall())
        [line] = planned(book, row).lines
        assert line.action == "refused"
        assert "was removed" in line.problems[0]


def test_a_season_goes_out_and_comes_back(book: Book) -> None:
    """Into the same book it changes nothing; into one with the dogs alone it gives the same."""
    foreign = "=HYPERLINK(1)\nsecond line, “quoted”"
    result = {"entry": ENTRY, "dog": DOG, "placing": "vhc", "grade": "very-good"}
    result |= {"critique": foreign, "day": "2026-05-09"}
    with book.session():
        book.revise("result", {id_of(f"result {ENTRY}"): result}, clock.wall())
        book.write_down("show", [{"name": "Bare", "body": "KC", "day": "2026-01-02"}], clock.wall())
    text = as_csv(rows_of(kept(book)))
    table = list(csv.reader(io.StringIO(text)))
    assert [row[1] for row in table] == ["Dog", "", "Bramble"]
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in table for cell in row)
    assert {line.action for line in planned(book, text).lines} == {"same"}
    with book.session():
        for kind in ("entry", "show", "result"):
            gone = {key: {"deleted": True} for key in book.records(kind)}
            book.revise(kind, gone, clock.wall())
        names = {key: {"name": f"{one['name']} of old"} for key, one in
                 book.records("show", with_deleted=True).items()}  # fmt: skip
        book.revise("show", names, clock.wall())
    without_ids = re.sub(ENTRY, "", text)
    done(book, without_ids)
    assert as_csv(rows_of(kept(book))).count("\n") == text.count("\n")
    [row] = rows_of(kept(book), DOG)
    assert (row.result["critique"], row.result["grade"]) == (foreign, "very-good")
    assert row.show["until"] == "2026-05-10"


def test_half_records_stand_in_table_calendar_and_csv() -> None:
    """Rows of people's phones may lack anything; a show of days stands on its entry's day."""
    rows = rows_of(
        Kept(
            {DOG: {}},
            {SHOW: {}, "s": {"name": "Odd", "day": "May"}},
            {ENTRY: {"dog": DOG, "show": SHOW}, "x": {"dog": "gone"}, "y": {}},
            {"r": {}, "q": {"entry": ENTRY, "placing": "1"}},
        )
    )
    assert len(rows) == 2
    assert as_csv(rows).count("\n") == 3
    year = list(months(2026, rows, date(2026, 2, 28)))
    assert [len(month["weeks"]) for month in year[:3]] == [5, 5, 6]
    today = [day for month in year for week in month["weeks"] for day in week
             if day and day["is_today"]]  # fmt: skip
    assert [day["number"] for day in today] == [28]


def test_the_page_links_each_row_and_filters_by_dog(book: Book, tmp_path: Path) -> None:
    with book.session():
        book.revise("entry", {OTHER[:-1] + "e": {**IN, "dog": OTHER}}, clock.wall())
    phone = Phone(create_app(Settings(tmp_path, PORT), book, KNOWLEDGE))
    phone.let_in(book)

    def page(query: str) -> str:
        answer = phone.get(f"/desk/season?{query}")
        assert answer.status_code == 200
        return html.unescape(answer.text)

    both = page("year=2026")
    for path in (f"/#/show/{SHOW}", f"/#/dog/{DOG}", f"/#/entry/{ENTRY}", "#day-2026-05-09"):
        assert f'href="{path}"' in both, path
    assert "9 May 2026: Lantern Field" in both
    assert f"/#/entry/{ENTRY}" not in page(f"year=2026&dog={OTHER}")
    for odd in ("year=x", "year=1999", "dog=nobody", "year=%00", "dog=%ff"):
        page(odd)
    over = {"name": "New Year", "body": "KC", "day": "2027-12-31", "until": "2028-01-01"}
    ever = {"name": "The last", "body": "KC", "day": "9999-12-31"}
    new, last = OTHER[:-1] + "7", OTHER[:-1] + "8"
    half = {"name": "No day yet", "body": "KC"}
    with book.session():
        shows = {new: over, last: ever, OTHER[:-1] + "9": half, OTHER[:-1] + "6": {"body": "KC"}}
        book.revise("show", shows, clock.wall())
        first, second = ({**IN, "show": new, "day": day} for day in ("2027-12-31", "2028-01-01"))
        stray = {**IN, "show": new, "day": "2019-01-01"}
        book.revise("entry", {new: first, last: second, OTHER[:-1] + "5": stray}, clock.wall())
        book.revise(
            "result", {id_of(f"result {last}"): {"entry": last, "placing": "3"}}, clock.wall()
        )
    assert "New Year" not in page("year=2026")
    for year, ours, others in ((2027, new, last), (2028, last, new)):
        text = page(f"year={year}")
        assert f'href="/#/entry/{ours}"' in text
        assert f'href="/#/entry/{others}"' not in text
        assert f'href="/#/entry/{OTHER[:-1]}5"' in text, "an odd day hides nothing"
        assert ("3rd" in text) == (year == 2028)
        assert "No day yet" in text
        assert "A show without a name" in text
    assert "The last" in page("year=9999")
    assert "9999" in page(f"year={'9' * 5000}")
    later = {"name": "Next Year", "body": "KC", "day": "2031-02-03"}
    with book.session():
        book.revise("show", {OTHER[:-1] + "f": later}, clock.wall())
    assert f'id="row-{OTHER[:-1]}f" aria-current' in page(f"row={OTHER[:-1]}f")
    answer = phone.get("/desk/season/season.csv")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="season.csv"'
    assert answer.data.startswith(b"\xef\xbb\xbfRingside ID,Dog,Show")


def test_a_last_day_that_is_a_slip_of_the_pen_makes_no_year(book: Book) -> None:
    """A year too late, it is over after 31 days: no year has it, and no row of a table means it."""
    slip = {"name": "Slip", "body": "KC", "day": "2027-12-20", "until": "2031-12-21"}
    with book.session():
        book.revise("show", {OTHER[:-1] + "7": slip}, clock.wall())
        assert season.years(book) == {2026, 2027, 2028}
        found = [len(season.of_year(book, year).shows) for year in (2027, 2028, 2029, 2031)]
    assert found == [1, 1, 0, 0]
    for day, action in (("2028-01-19", "add"), ("2028-01-20", "refused")):
        [line] = planned(book, HEAD + f"Bramble,Slip,{day},,Open,,,,\n").lines
        assert line.action == action


def test_the_shows_ahead_are_read_and_no_others(
    tmp_path: Path, new_database: Callable[[], str]
) -> None:
    """Those that have begun within 31 days, or begin later, and those without a day."""
    days = {"5": "2026-05-10", "6": "2026-05-11", "7": "2026-06-11", "8": "2031-06-11", "9": None}
    with closing(open_book(Place(tmp_path / "kept", new_database()))) as book, book.session():
        shows = {OTHER[:-1] + key: {"name": key, "day": day} for key, day in days.items()}
        book.revise("show", shows, clock.wall())
        book.revise("entry", {key: {"dog": DOG, "show": key} for key in shows}, clock.wall())
        for found in season.ahead(book, date(2026, 6, 11)):
            assert {key[-1] for key in found} == {"6", "7", "8", "9"}


def test_ids_of_results_are_the_phones(tmp_path: Path) -> None:
    """As static/js/core/ids.js makes them: the ids of the demo's results came from there."""
    book = open_book(Place(tmp_path))
    demo.fill(book)
    results = kept(book).results
    book.close()
    assert len(results) >= 5
    assert {key: id_of(f"result {one['entry']}") for key, one in results.items()} == {
        key: key for key in results
    }
