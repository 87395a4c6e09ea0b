"""The calendar: what is in it and what is not, byte by byte, read back by another library, and an
address that opens nothing but itself."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from datetime import time as time_of_day
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import uuid6
from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event

from ringside.app import Settings, create_app
from ringside.book.agenda import Agenda
from ringside.book.devices import HELPER, OWNER
from ringside.book.feeds import Feeds
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.domain.calendar import (
    Happening,
    Stand,
    calendar_file,
    time_of,
    zone_named,
)
from ringside.knowledge import Knowledge
from tests.known import shipped
from tests.support import ROOT
from tests.unit.phone import HOME, PORT, Phone

NOW = datetime(2026, 9, 1, 12, tzinfo=UTC)
STAND = Stand(3, datetime(2026, 8, 30, 9, 30, tzinfo=UTC))
PRAGUE = ZoneInfo("Europe/Prague")
SECRET = "Left hock turns out"
OWN = "Ask Aunt Ida for the van"
DOG, SHOW, ENTRY = (str(uuid6.uuid7()) for _ in range(3))


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


def happening(**given: Any) -> Happening:
    return Happening(
        **{"key": "a.show", "title": "A show", "day": date(2026, 10, 24), "stand": STAND} | given
    )


def read(body: bytes) -> dict[str, Event]:
    """The events of a file by their UID, as the other library reads it."""
    calendar: Calendar = IcsCalendarStream.calendar_from_ics(body.decode())
    return {event.uid or "": event for event in calendar.events}


def lines_of(body: bytes) -> list[bytes]:
    assert body.endswith(b"\r\n")
    lines = body[:-2].split(b"\r\n")
    for line in lines:
        assert len(line) <= 75, line
        assert b"\r" not in line
        assert b"\n" not in line
        line.decode()  # no letter is cut in two
    return lines


# --- the format


def test_bytes_are_as_the_format_has_them() -> None:
    """Long lines are folded between letters, wherever a letter of several bytes may fall."""
    for length in range(60, 80):
        title = "x" * (length - len("SUMMARY:")) + "😀äöü, a; b\\c " + "Ünterströmung 🐕 " * 9
        body = calendar_file([happening(title=title, words="One\nTwo")], "Ringside", NOW)
        lines_of(body)
        (event,) = read(body).values()
        assert event.summary == title.strip() or event.summary == title
        assert event.description == "One\nTwo"


def test_a_whole_day_ends_the_day_after_and_keeps_nobody_busy() -> None:
    two = happening(until=date(2026, 10, 25), rings=(timedelta(hours=9),))
    body = calendar_file([two], "Ringside", NOW)
    lines = lines_of(body)
    assert b"DTSTART;VALUE=DATE:20261024" in lines
    assert b"DTEND;VALUE=DATE:20261026" in lines
    assert b"TRANSP:TRANSPARENT" in lines
    assert b"TRIGGER:PT9H" in lines
    assert b"METHOD:PUBLISH" in lines
    assert not any(line.startswith((b"ORGANIZER", b"ATTENDEE")) for line in lines)
    (event,) = read(body).values()
    assert (event.dtstart, event.dtend) == (date(2026, 10, 24), date(2026, 10, 26))


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/Prague", date(2026, 10, 24), 2),
        ("Europe/Prague", date(2026, 10, 25), 1),
        ("Europe/Prague", date(2027, 3, 27), 1),
        ("Europe/Prague", date(2027, 3, 28), 2),
        ("America/Chicago", date(2026, 10, 31), -5),
        ("America/Chicago", date(2026, 11, 1), -6),
        ("Australia/Sydney", date(2026, 10, 4), 11),
        ("Australia/Perth", date(2026, 10, 4), 8),
    ],
)
def test_ring_times_stand_in_the_zone_of_the_show(zone: str, day: date, hours: int) -> None:
    """On both sides of the changes of clocks, by the file's own rules and by the other reader."""
    at = time_of("9:45")
    body = calendar_file([happening(day=day, at=at, zone=zone_named(zone))], "Ringside", NOW)
    assert f"DTSTART;TZID={zone}:{day:%Y%m%d}T094500".encode() in lines_of(body)
    assert offset_in(body, datetime.combine(day, at or NOW.time())) == timedelta(hours=hours)
    (event,) = read(body).values()
    begins = event.dtstart
    assert isinstance(begins, datetime)
    assert begins.astimezone(UTC).replace(tzinfo=None) == datetime(
        day.year, day.month, day.day, 9, 45
    ) - timedelta(hours=hours)


def offset_in(body: bytes, local: datetime) -> timedelta:
    """The offset from UTC by the file's own VTIMEZONE, read by hand: its newest onset before."""
    text = body.decode().replace("\r\n ", "")
    onsets = []
    for part in re.findall(r"BEGIN:(?:STANDARD|DAYLIGHT).*?END:", text, re.DOTALL):
        sign, hours, minutes = re.findall(r"TZOFFSETTO:([+-])(\d\d)(\d\d)", part)[0]
        offset = timedelta(hours=int(hours), minutes=int(minutes)) * (1 if sign == "+" else -1)
        for moments in re.findall(r"(?:DTSTART|RDATE):([\dT,]+)", part):
            onsets += [(datetime.fromisoformat(one), offset) for one in moments.split(",")]
    return max(one for one in onsets if one[0] <= local)[1]


def test_a_clock_without_a_zone_is_told_as_it_is_and_does_not_ring() -> None:
    body = calendar_file([happening(at=time_of("9:45"))], "Ringside", NOW)
    assert b"DTSTART:20261024T094500" in lines_of(body)
    assert b"VTIMEZONE" not in body


def test_names_of_zones_and_times_that_are_none_are_none() -> None:
    for name in (
        None,
        "",
        "Atlantis",
        "../../etc/passwd",
        "/etc/localtime",
        "Europe",
        "a\0b",
        "😀",
    ):
        assert zone_named(name) is None
    for text in (None, "", "after the Beagles", "25:10", "10:75", "10:5"):
        assert time_of(text) is None
    assert (time_of("2:30 pm"), time_of("9.05")) == (time_of("14:30"), time_of("09:05"))


# --- what is in it


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(Place(tmp_path))
    yield book
    book.close()


def phone(book: Book, tmp_path: Path, knowledge: Knowledge) -> Phone:
    app = create_app(Settings(tmp_path, PORT), book, knowledge)
    return Phone(app)


def today(away: int) -> str:
    return (date.today() + timedelta(away)).isoformat()


def kennel(book: Book) -> None:
    """A dog with a note, entered at a show of two days in ten days, with a task of one's own."""
    now = time.time_ns() // 1_000_000
    with book.session():
        write = book.revise
        write("dog", {DOG: {"name": "Wisp", "breed": "samoyed"}}, now)
        show = {
            **{"name": "Hollow, Meadow; Show", "body": "KC", "place": "The barn"},
            **{"day": today(10), "until": today(11), "closing": today(2)},
        }
        write("show", {SHOW: {**show, "zone": "Europe/London"}}, now)
        entry = {"dog": DOG, "show": SHOW, "day": today(11), "time": "9:45", "ring": "3"}
        write("entry", {ENTRY: entry}, now)
        write("note", {str(uuid6.uuid7()): {"dog": DOG, "station": "rear", "text": SECRET}}, now)
        own = {"entry": ENTRY, "task": "own", "line": OWN, "day": today(4)}
        write("task", {str(uuid6.uuid7()): own}, now)


def agenda(book: Book, knowledge: Knowledge, with_own: bool = True) -> dict[str, Happening]:
    with book.session():
        told = Agenda(book, knowledge, datetime.now(UTC), with_own).of_all()
    assert len({one.key for one in told}) == len(told)
    return {one.key: one for one in told}


def test_shows_closings_ring_times_and_tasks_are_in_it(book: Book, knowledge: Knowledge) -> None:
    kennel(book)
    told = agenda(book, knowledge)
    show, closing, ring = (told[f"{SHOW}.show"], told[f"{SHOW}.closing"], told[f"{ENTRY}.ring"])
    assert (show.day.isoformat(), show.until and show.until.isoformat()) == (today(10), today(11))
    assert (closing.day.isoformat(), closing.zone) == (today(2), ZoneInfo("Europe/London"))
    assert closing.rings
    assert (ring.day.isoformat(), ring.at, ring.place) == (
        today(11),
        time_of("9:45"),
        "Ring 3, The barn",
    )
    kit = told[f"{ENTRY}.kit"]
    assert (kit.title, kit.day.isoformat()) == ("Pack the kit: Wisp", today(10))
    assert kit.at  # it must ring, so it has a time of day
    assert f"{ENTRY}.water-only" in told
    body = calendar_file(told.values(), "Ringside", NOW)
    lines_of(body)
    events = read(body)
    assert {f"{key}@ringside" for key in told} == events.keys()
    for key, one in told.items():
        event = events[f"{key}@ringside"]
        assert (event.summary, event.sequence) == (one.title, one.stand.changes)
        assert [alarm.trigger for alarm in event.alarm] == list(one.rings)


def test_nothing_private_is_in_it(book: Book, knowledge: Knowledge) -> None:
    kennel(book)
    owners = calendar_file(agenda(book, knowledge).values(), "Ringside", NOW).decode()
    helpers = calendar_file(agenda(book, knowledge, False).values(), "Ringside", NOW).decode()
    owners, helpers = owners.replace("\r\n ", ""), helpers.replace("\r\n ", "")
    assert SECRET not in owners + helpers
    assert OWN in owners
    assert OWN not in helpers


ICAL_JS = ROOT / ".venv/node/node_modules/ical.js/dist/ical.js"
NODE = shutil.which("node")


def moment(day: date, at: time_of_day, zone: ZoneInfo | None) -> str:
    """A moment as JavaScript writes it."""
    utc = datetime.combine(day, at, zone).astimezone(UTC)
    return f"{utc:%Y-%m-%dT%H:%M:%S.000Z}"


@pytest.mark.skipif(not (NODE and ICAL_JS.exists()), reason="Node or ical.js is not there")
def test_a_reader_of_another_family_reads_the_same(book: Book, knowledge: Knowledge) -> None:
    kennel(book)
    told = agenda(book, knowledge)
    changes = [
        (zone_named("Europe/Prague"), date(2026, 10, 25)),
        (zone_named("America/Chicago"), date(2027, 3, 14)),
        (zone_named("Australia/Sydney"), date(2027, 4, 4)),
    ]
    for zone, day in changes:
        for away in (-1, 0):
            key = f"{zone}.{away}"
            on = day + timedelta(away)
            told[key] = happening(
                key=key, title="Ä 😀, b; c\\d", day=on, at=time_of("9:45"), zone=zone
            )
    body = calendar_file(told.values(), "Ringside", NOW)
    script = ROOT / "tests" / "node" / "calendar.mjs"
    read = subprocess.run(
        [NODE or "", script, ICAL_JS], input=body, capture_output=True, check=True
    )
    found = {one["uid"].removesuffix("@ringside"): one for one in json.loads(read.stdout)}
    assert found.keys() == told.keys()
    for key, one in told.items():
        event = found[key]
        texts = (event["summary"], event["words"], event["place"], event["sequence"])
        assert texts == (one.title, one.words, one.place, one.stand.changes)
        assert event["rings"] == [ring.total_seconds() for ring in one.rings]
        assert event["whole"] == (one.at is None)
        if one.at is None:
            ends = (one.until or one.day) + timedelta(1)
            assert (event["begins"], event["ends"]) == (one.day.isoformat(), ends.isoformat())
        else:
            assert event["begins"] == moment(one.day, one.at, one.zone), key


def numbers(told: dict[str, Happening]) -> dict[str, int]:
    return {key: one.stand.changes for key, one in told.items()}


def test_a_number_grows_only_where_something_changed(book: Book, knowledge: Knowledge) -> None:
    kennel(book)
    before = numbers(agenda(book, knowledge))
    assert numbers(agenda(book, knowledge)) == before
    now = time.time_ns() // 1_000_000
    with book.session():
        book.revise("entry", {ENTRY: {"time": "10:15"}}, now)
        touch = {"entry": ENTRY, "task": "ears", "state": "done"}
        book.revise("task", {str(uuid6.uuid7()): touch}, now)
    after = numbers(agenda(book, knowledge))
    assert after.keys() == before.keys()
    grown = {key for key, number in after.items() if number != before[key]}
    assert grown == {f"{ENTRY}.ring", f"{ENTRY}.ears"}
    assert all(after[key] >= number for key, number in before.items())


def test_what_is_removed_or_skipped_is_told_as_cancelled(book: Book, knowledge: Knowledge) -> None:
    kennel(book)
    before = agenda(book, knowledge)
    now = time.time_ns() // 1_000_000
    with book.session():
        touch = {"entry": ENTRY, "task": "ears", "state": "skipped"}
        book.revise("task", {str(uuid6.uuid7()): touch}, now)
    skipped = agenda(book, knowledge)
    assert {key for key, one in skipped.items() if one.is_cancelled} == {f"{ENTRY}.ears"}
    with book.session():
        book.revise("entry", {ENTRY: {"deleted": True}}, now)
    gone = agenda(book, knowledge)
    assert gone.keys() == before.keys()
    assert {key for key, one in gone.items() if not one.is_cancelled} == {
        f"{SHOW}.show",
        f"{SHOW}.closing",
    }
    assert b"STATUS:CANCELLED" in calendar_file(gone.values(), "Ringside", NOW)
    # After a time it is told no more.
    with book.session():
        later = datetime.now(UTC) + timedelta(61)
        assert {one.key for one in Agenda(book, knowledge, later, True).of_all()} == {
            f"{SHOW}.show",
            f"{SHOW}.closing",
        }


def test_a_last_day_that_is_a_slip_of_the_pen_fills_no_year(
    book: Book, knowledge: Knowledge
) -> None:
    kennel(book)
    with book.session():
        book.revise("show", {SHOW: {"until": today(400)}}, time.time_ns() // 1_000_000)
    until = agenda(book, knowledge)[f"{SHOW}.show"].until
    assert until
    assert until.isoformat() == today(10 + 30)


def test_the_calendar_of_one_show_is_its_part_of_all(book: Book, knowledge: Knowledge) -> None:
    """Also of one that was removed, with what was removed of it."""
    kennel(book)
    write_others(book, 3, today(-30))
    for removed in ({}, {"task": [*tasks(book)]}, {"entry": [ENTRY]}, {"show": [SHOW]}):
        with book.session():
            for kind, ids in removed.items():
                gone = {key: {"deleted": True} for key in ids}
                book.revise(kind, gone, time.time_ns() // 1_000_000)
            one = Agenda(book, knowledge, NOW_HERE, True, SHOW)
            every = Agenda(book, knowledge, NOW_HERE, True)
            told = one.of_show(SHOW)
            assert told == every.of_show(SHOW)
            assert len(every.of_all()) > len(told)
        assert {bool(happening.is_cancelled) for happening in told} >= {bool(removed)}


def tasks(book: Book) -> list[str]:
    with book.session():
        return list(book.records("task"))


NOW_HERE = datetime.now(UTC)


def write_others(book: Book, number: int, day: str) -> None:
    """Shows of a day, each with an entry, a task of it, and a mark of practice."""
    made = [str(uuid6.uuid7()) for _ in range(number)]
    rows: dict[str, dict[str, Any]] = {
        "show": {"name": "Gone By", "body": "KC", "day": day},
        "entry": {"dog": DOG, "time": "10:00"},
        "task": {"task": "ears", "state": "done"},
        "practice": {"dog": DOG, "station": "bite", "grade": "easy", "at": f"{day}T10:00:00.000Z"},
    }
    with book.session():
        for kind, values in rows.items():
            of = {"entry": "show", "task": "entry"}.get(kind)
            written = {key: {**values, **({of: key} if of else {})} for key in made}
            assert not book.revise(kind, written, time.time_ns() // 1_000_000).refused


@pytest.mark.parametrize("show", ["", SHOW], ids=["of all", "of one show"])
def test_what_lies_behind_costs_a_calendar_nothing(
    show: str,
    tmp_path: Path,
    new_database: Callable[[], str],
    knowledge: Knowledge,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The rows that the database gives, in either; and SQLite tells that it goes through no more
    of them than it gives."""
    with closing(open_book(Place(tmp_path / "kept", new_database()))) as book:
        kennel(book)
        asked = book.database.rows
        given: list[int] = []
        plans: set[str] = set()

        def counted(sql: str, values: Sequence[Any]) -> list[Any]:
            found = asked(sql, values)
            given.append(len(found))
            if not book.place.url:
                plans.update(row[3] for row in asked(f"EXPLAIN QUERY PLAN {sql}", values))
            return found

        monkeypatch.setattr(book.database, "rows", counted)

        def cost() -> tuple[int, int]:
            given.clear()
            with book.session():
                told = Agenda(book, knowledge, datetime.now(UTC), True, show).of_all()
            return len(told), sum(given)

        before = cost()
        assert min(before) > 10
        for years in (2, 3, 4):
            write_others(book, 50, today(-366 * years))
        assert cost() == before
        through = {plan for plan in plans if re.search(r"SCAN (record|change)|\(kind=\?\)$", plan)}
        assert through == set()
        assert len(plans) > 4 or book.place.url
        write_others(book, 1, today(20))
        assert (cost() > before) == (show == "")


# --- who gets it


def address(book: Book, role: str) -> str:
    with book.session():
        return f"/calendar/{Feeds(book).make(role)}.ics"


def test_an_address_opens_its_feed_and_nothing_else(
    book: Book, knowledge: Knowledge, tmp_path: Path
) -> None:
    kennel(book)
    stranger = phone(book, tmp_path, knowledge)
    owners, helpers = address(book, OWNER), address(book, HELPER)
    assert OWN in stranger.get(owners).text.replace("\r\n ", "")
    told = stranger.get(helpers)
    assert told.content_type == "text/calendar; charset=utf-8"
    assert OWN not in told.text.replace("\r\n ", "")
    secret = owners.split("/")[2].removesuffix(".ics")
    assert len(secret) == 22  # 128 bits
    cookie = f"ringside-device-{PORT}={secret}"
    for path in ("/desk", "/desk/calendar", "/api/calendar/all.ics"):
        answer = stranger.get(path, Cookie=cookie)
        assert answer.status_code in (303, 401), path
    with book.session():
        assert secret not in str(book.rows("SELECT key, value FROM meta"))
    for wrong in ("", "x", secret[:-1], secret + "A", secret.swapcase(), "ü" * 22):
        assert stranger.get(f"/calendar/{wrong}.ics").status_code == 404
    assert stranger.get(owners).status_code == 200


def test_another_address_ends_the_old_one_and_none_ends_all(
    book: Book, knowledge: Knowledge, tmp_path: Path
) -> None:
    stranger = phone(book, tmp_path, knowledge)
    old, helpers = address(book, OWNER), address(book, HELPER)
    new = address(book, OWNER)
    assert [stranger.get(one).status_code for one in (old, new, helpers)] == [404, 200, 200]
    with book.session():
        Feeds(book).revoke(OWNER)
        assert Feeds(book).made() == [HELPER]
    assert [stranger.get(one).status_code for one in (new, helpers)] == [404, 200]


def test_the_desk_makes_shows_once_and_stops_an_address(
    book: Book, knowledge: Knowledge, tmp_path: Path
) -> None:
    owner = phone(book, tmp_path, knowledge)
    owner.let_in(book)
    made = owner.submit("/desk/calendar/make", role=OWNER)
    (link,) = re.findall(rf"{HOME}/calendar/[\w-]{{22}}\.ics", made.text)
    path = link.removeprefix(HOME)
    assert owner.get(path).status_code == 200
    assert path not in owner.get("/desk/calendar").text
    assert owner.submit("/desk/calendar/make", role="visitor").status_code == 400
    assert owner.submit("/desk/calendar/stop", role=OWNER).status_code == 303
    assert owner.get(path).status_code == 404


def test_a_file_is_for_who_is_let_in(book: Book, knowledge: Knowledge, tmp_path: Path) -> None:
    kennel(book)
    stranger = phone(book, tmp_path, knowledge)
    paths = ("/api/calendar/all.ics", f"/api/calendar/{SHOW}.ics")
    assert {stranger.get(path).status_code for path in paths} == {401}
    helper = phone(book, tmp_path, knowledge)
    helper.let_in(book, HELPER)
    for path in paths:
        answer = helper.get(path)
        assert answer.headers["Content-Disposition"].startswith("attachment")
        assert OWN not in answer.text.replace("\r\n ", "")
        assert read(answer.data)
    assert helper.get(f"/api/calendar/{ENTRY}.ics").status_code == 404
