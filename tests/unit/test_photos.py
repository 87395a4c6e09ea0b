"""Photos on their way to the book and back: who may send and see them, what is taken, what goes."""

from __future__ import annotations

import http.client
import io
import json
import shutil
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import uuid6
from flask import Flask
from werkzeug.test import TestResponse

from ringside import demo
from ringside.app import Settings, create_app
from ringside.book import clock, keeping
from ringside.book.blobs import DAY, MOST_BYTES, PUT_BACK, Blobs
from ringside.book.devices import HELPER, OWNER, Devices
from ringside.book.jpeg import BadPicture
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.web.photos import AT_ONCE
from tests import pictures
from tests.known import shipped
from tests.support import PATIENCE, Server
from tests.unit.phone import PORT, Phone
from tests.unit.test_former_books import BOOKS

PHOTO = pictures.jpeg()
NAME = pictures.name(PHOTO)
OTHER = pictures.jpeg(shade=90)
DOG = str(uuid6.uuid7())
NOW = 1_760_000_000_000

Record = dict[str, Any]


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(Place(tmp_path))
    yield book
    book.close()


@pytest.fixture(scope="module")
def knowledge() -> Any:
    return shipped()


@pytest.fixture
def app(tmp_path: Path, book: Book, knowledge: Any) -> Flask:
    return create_app(Settings(tmp_path, PORT), book, knowledge)


def let_in(app: Flask, book: Book, role: str = OWNER) -> Phone:
    phone = Phone(app)
    phone.let_in(book, role)
    return phone


@pytest.fixture
def owner(app: Flask, book: Book) -> Phone:
    return let_in(app, book)


@pytest.fixture
def helper(app: Flask, book: Book) -> Phone:
    return let_in(app, book, HELPER)


def write(book: Book, kind: str, key: str = "", at: int = 0, **values: Any) -> str:
    """Set fields of a record, a new one without `key`."""
    key = key or str(uuid6.uuid7())
    with book.session():
        assert not book.revise(kind, {key: values}, at or clock.wall()).refused
    return key


def photo(book: Book, data: bytes = PHOTO, **more: Any) -> str:
    """Have the record of a photo that is to be copied to the book."""
    about = {"dog": DOG, "day": "2026-03-14", "view": "side", "sha256": pictures.name(data)}
    return write(book, "photo", **{**about, "copy": True, **more})


def put(phone: Phone, data: bytes = PHOTO, name: str = "", **headers: str) -> TestResponse:
    sent = {"Content-Type": "image/jpeg", "X-CSRFToken": phone.csrf} | headers
    return phone.ask("PUT", f"/api/photos/{name or pictures.name(data)}", data=data, headers=sent)


def get(phone: Phone, name: str = NAME) -> TestResponse:
    return phone.get(f"/api/photos/{name}")


def names(book: Book) -> list[str]:
    with book.session():
        return [row[0] for row in book.rows("SELECT sha256 FROM blob ORDER BY sha256")]


def keep(book: Book, *photos: bytes, at: int = NOW) -> None:
    with book.session():
        Blobs(book).put(*((pictures.name(data), data, at) for data in photos))


def said(answer: TestResponse) -> tuple[int, str]:
    return answer.status_code, answer.get_json()["code"]


# --- there and back


def test_a_photo_is_kept_and_given_back_as_it_was(owner: Phone, app: Flask, book: Book) -> None:
    photo(book, width=64, height=48)
    for _ in range(2):  # an answer that was lost is asked for again
        answer = put(owner)
        assert answer.status_code == 200, answer.text
        assert answer.get_json() == {"sha256": NAME, "bytes": len(PHOTO)}
    assert names(book) == [NAME]
    given = get(let_in(app, book))
    assert given.data == PHOTO
    assert given.content_type == "image/jpeg"
    headers = given.headers
    assert headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "Content-Disposition" not in headers
    again = owner.get(f"/api/photos/{NAME}", **{"If-None-Match": headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    there = owner.ask("HEAD", f"/api/photos/{NAME}")
    assert (there.status_code, there.data) == (200, b"")


def test_nothing_is_taken_that_no_photo_of_the_book_is(owner: Phone, book: Book) -> None:
    def refused() -> None:
        assert said(put(owner)) == (409, "no-photo")
        assert names(book) == []

    refused()
    photo(book, OTHER)
    refused()
    key = photo(book, copy=False)
    refused()
    write(book, "photo", key, copy=True, deleted=True)
    refused()
    write(book, "dog", DOG, portrait=NAME)
    refused()
    write(book, "photo", key, deleted=False)
    assert put(owner).status_code == 200


def test_what_is_no_such_photo_is_refused_in_a_sentence(owner: Phone, book: Book) -> None:
    noted = pictures.jpeg(exif=pictures.exif())
    assert b"Exif" in noted
    commented = pictures.jpeg(comment=pictures.PLACE)
    huge = PHOTO[:-2] + bytes(MOST_BYTES) + PHOTO[-2:]
    cases = {
        "another photo": (put(owner, OTHER, NAME), 400, "other-photo"),
        "cut off": (put(owner, PHOTO[:-9], NAME), 400, "other-photo"),
        "nothing": (put(owner, b"", NAME), 400, "other-photo"),
    }
    for data in (noted, commented, PHOTO[:-9], b"%PDF-1.7", huge):
        photo(book, data)
    cases |= {
        "position, camera, time": (put(owner, noted), 400, "tells-more"),
        "a comment": (put(owner, commented), 400, "tells-more"),
        "a torn one": (put(owner, PHOTO[:-9]), 400, "not-a-picture"),
        "no picture": (put(owner, b"%PDF-1.7"), 400, "not-a-picture"),
        "a huge one": (put(owner, huge), 413, "too-large"),
        "another type": (put(owner, **{"Content-Type": "image/png"}), 415, "not-jpeg"),
        "JSON": (put(owner, **{"Content-Type": "application/json"}), 415, "not-jpeg"),
    }
    for what, (answer, status, code) in cases.items():
        assert said(answer) == (status, code), what
        assert answer.get_json()["message"].endswith("."), what
    assert names(book) == []


def test_the_size_is_that_of_its_record(owner: Phone, book: Book) -> None:
    key = photo(book, width=48, height=64)
    assert said(put(owner)) == (400, "other-size")
    write(book, "photo", key, width=None, height=48)
    assert put(owner).status_code == 200


def test_a_name_that_is_none_is_nothing(owner: Phone, book: Book) -> None:
    for name in (NAME.upper(), NAME[:-1], "x" * 64, "%25", f"{NAME}0"):
        assert put(owner, PHOTO, name).status_code == 404, name
        assert get(owner, name).status_code == 404, name


def test_no_more_is_read_than_a_photo_may_have(owner: Phone, book: Book) -> None:
    """One in chunks says no length, and may have no end."""

    class Endless:
        def __init__(self) -> None:
            self.read_so_far = 0

        def read(self, most: int = -1) -> bytes:
            assert most > 0, "all of it was asked for"
            self.read_so_far += most
            return bytes(most)

        def readinto(self, room: bytearray) -> int:
            self.read_so_far += len(room)
            return len(room)

    endless = Endless()
    headers = {"Content-Type": "image/jpeg", "X-CSRFToken": owner.csrf}
    answer = owner.client.open(
        f"/api/photos/{NAME}",
        method="PUT",
        base_url=owner.base,
        headers=headers | {"Transfer-Encoding": "chunked"},
        environ_overrides={"wsgi.input": endless, "wsgi.input_terminated": True},
    )
    assert said(answer) == (413, "too-large")
    assert MOST_BYTES < endless.read_so_far < 1.2 * MOST_BYTES


def test_few_photos_are_read_at_once(app: Flask, book: Book) -> None:
    """Those of slow links leave room for syncs, and whoever is turned away may come again."""
    photo(book)
    begun, goes_on = threading.Semaphore(0), threading.Event()

    class Slow(io.BytesIO):
        def readinto(self, room: Any) -> int:
            begun.release()
            assert goes_on.wait(PATIENCE)
            return super().readinto(room)

    phones = [let_in(app, book) for _ in range(AT_ONCE + 1)]

    def send(phone: Phone) -> TestResponse:
        return phone.client.open(
            f"/api/photos/{NAME}",
            method="PUT",
            base_url=phone.base,
            headers={"Content-Type": "image/jpeg", "X-CSRFToken": phone.csrf},
            environ_overrides={"wsgi.input": Slow(PHOTO), "CONTENT_LENGTH": str(len(PHOTO))},
        )

    with ThreadPoolExecutor() as threads:
        sent = [threads.submit(send, phone) for phone in phones[1:]]
        for _ in sent:
            assert begun.acquire(timeout=PATIENCE)
        turned_away = put(phones[0])
        assert said(turned_away) == (429, "too-many")
        assert turned_away.headers["Retry-After"] == "5"
        assert phones[0].sync().status_code == 200
        goes_on.set()
        assert [job.result(PATIENCE).status_code for job in sent] == [200] * AT_ONCE
    assert put(phones[0]).status_code == 200


# --- who may


def test_a_helper_sees_the_portraits_of_dogs_alone(owner: Phone, helper: Phone, book: Book) -> None:
    write(book, "dog", DOG, name="Juniper")
    photo(book)
    photo(book, OTHER)
    assert put(owner).status_code == put(owner, OTHER).status_code == 200
    unknown = get(helper, "0" * 64)
    for name in (NAME, pictures.name(OTHER)):
        hidden = get(helper, name)
        assert (
            (hidden.status_code, hidden.data)
            == (unknown.status_code, unknown.data)
            == (
                404,
                unknown.data,
            )
        )
    write(book, "dog", DOG, portrait=NAME)
    assert get(helper).data == PHOTO
    assert get(helper, pictures.name(OTHER)).status_code == 404
    write(book, "dog", DOG, deleted=True)
    assert get(helper).status_code == 404
    assert get(owner).data == PHOTO
    assert said(put(helper)) == (403, "owners-only")


def test_who_was_not_let_in_or_is_no_more_gets_and_brings_nothing(
    app: Flask, owner: Phone, book: Book
) -> None:
    photo(book)
    stranger = Phone(app)
    stranger.session()
    assert said(put(stranger)) == said(get(stranger)) == (401, "not-paired")
    assert put(owner).status_code == 200
    lost = let_in(app, book)
    with book.session():
        Devices(book).revoke(lost.device, clock.wall())
    assert said(put(lost)) == said(get(lost)) == (401, "revoked")


def test_who_is_shut_out_while_sending_brings_nothing(
    app: Flask, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    photo(book)
    lost = let_in(app, book)

    def shut_out(*_: Any) -> tuple[int, int]:
        with book.session():
            Devices(book).revoke(lost.device, clock.wall())
        return 64, 48

    monkeypatch.setattr("ringside.book.blobs.looked_at", shut_out)
    assert said(put(lost)) == (401, "revoked")
    assert names(book) == []


def test_a_photo_comes_from_our_own_pages_alone(owner: Phone, book: Book) -> None:
    photo(book)
    for headers, code in (
        ({"X-CSRFToken": ""}, "csrf"),
        ({"Origin": "https://elsewhere.example"}, "foreign"),
        ({"Sec-Fetch-Site": "cross-site"}, "foreign"),
    ):
        assert put(owner, **headers).get_json()["code"] == code
    assert names(book) == []


# --- the desk and the demo


def test_the_desk_shows_a_portrait_that_the_book_has(owner: Phone, book: Book) -> None:
    write(book, "dog", DOG, name="Juniper <3", breed="whippet", portrait=NAME)
    photo(book)
    shown = f'src="/api/photos/{NAME}" alt="Photo of Juniper &lt;3"'
    assert shown not in owner.get(f"/desk/dog/{DOG}").text
    assert put(owner).status_code == 200
    assert shown in owner.get(f"/desk/dog/{DOG}").text
    write(book, "dog", DOG, portrait='"><script>')
    assert "desk-portrait" not in owner.get(f"/desk/dog/{DOG}").text


def test_the_demo_takes_the_photos_that_its_records_name(book: Book, tmp_path: Path) -> None:
    demo.fill(book)
    before = names(book)
    for name, data in (("named.jpg", PHOTO), ("unknown.jpg", OTHER)):
        (tmp_path / name).write_bytes(data)
    photo(book)
    with book.session():
        for _ in range(2):
            demo.put_photos(book, tmp_path)
    assert names(book) == sorted([*before, NAME])
    noted = pictures.jpeg(exif=pictures.exif())
    photo(book, noted)
    (tmp_path / "noted.jpg").write_bytes(noted)
    with book.session(), pytest.raises(BadPicture):
        demo.put_photos(book, tmp_path)


# --- what nothing names goes


def collected(book: Book, now: int) -> list[str]:
    with book.session():
        Blobs(book).collect(now)
    return names(book)


def test_what_nothing_names_goes_after_a_day(
    tmp_path: Path, new_database: Callable[[], str]
) -> None:
    with closing(open_book(Place(tmp_path, new_database()))) as book:
        keep(book, PHOTO)
        assert collected(book, NOW + DAY - 1) == [NAME]
        assert collected(book, NOW + DAY) == []
        keep(book, PHOTO, at=NOW + DAY)
        assert collected(book, NOW) == [], "it came before the clock was set back"


def test_what_is_named_stays_and_can_be_put_back_for_a_month(
    tmp_path: Path, new_database: Callable[[], str]
) -> None:
    later = NOW + 400 * DAY
    with closing(open_book(Place(tmp_path, new_database()))) as book:
        keep(book, PHOTO, OTHER)
        both = sorted([NAME, pictures.name(OTHER)])
        key = photo(book, at=NOW)
        write(book, "dog", DOG, NOW, portrait=pictures.name(OTHER))
        assert collected(book, later) == both
        write(book, "photo", key, later, deleted=True)
        write(book, "dog", DOG, later, deleted=True)
        assert collected(book, later + PUT_BACK - 1) == both
        write(book, "photo", key, later + 9, deleted=False)
        assert collected(book, later + 2 * PUT_BACK) == [NAME]
        write(book, "photo", key, later + 10, copy=False)
        assert collected(book, later + 11) == []


def test_what_a_newer_version_may_have_named_stays(book: Book) -> None:
    keep(book, PHOTO)
    with book.session():
        book.revise("poster", {DOG: {"sha256": NAME}}, NOW)
    assert collected(book, NOW + 400 * DAY) == [NAME]


def test_it_goes_as_the_book_is_opened_and_after_the_daily_copy(
    tmp_path: Path, new_database: Callable[[], str]
) -> None:
    place = Place(tmp_path, new_database())
    with closing(open_book(place)) as book:
        photo(book, OTHER)
        keep(book, PHOTO, OTHER)
        both = names(book)
        today = date(2026, 11, 25)
        copy = keeping.daily(place, today)
        assert copy is not None
        assert keeping.photos_in(copy) == len(both), "the copy has what goes behind it"
        assert names(book) == [pictures.name(OTHER)]
        keep(book, PHOTO)
        assert keeping.daily(place, today) is None
        assert names(book) == both
    with closing(open_book(place)) as book:
        assert names(book) == [pictures.name(OTHER)]


# --- books from before


def test_a_book_of_an_earlier_version_takes_photos(tmp_path: Path, knowledge: Any) -> None:
    place = Place(tmp_path)
    shutil.copy(BOOKS / "format-1.book", place.file)
    for _ in range(2):
        with closing(open_book(place)) as book:
            photo(book)
            phone = let_in(create_app(Settings(tmp_path, PORT), book, knowledge), book)
            assert put(phone).status_code == 200
            assert names(book) == [NAME]


# --- over the wire


def test_a_photo_goes_over_the_wire(start_server: Callable[..., Server]) -> None:
    """With the server's own reading of bodies: whole, in chunks, and too long."""
    server = start_server("demo")
    host = server.url.removeprefix("http://").removeprefix("https://").rstrip("/")
    assert server.url.startswith("http://")
    with closing(http.client.HTTPConnection(host, timeout=30)) as line:
        line.request("GET", "/api/session")
        met = line.getresponse()
        session = json.loads(met.read())
        cookie = (met.getheader("Set-Cookie") or "").partition(";")[0]
        sent = {"X-CSRFToken": session["csrf"], "Cookie": cookie, "Content-Type": "image/jpeg"}

        def answered(data: Any, **more: Any) -> tuple[int, str]:
            line.request("PUT", f"/api/photos/{NAME}", data, sent, **more)
            answer = line.getresponse()
            return answer.status, json.loads(answer.read())["code"]

        assert answered(PHOTO) == (409, "no-photo")
        assert answered(iter([PHOTO[:500], PHOTO[500:]]), encode_chunked=True) == (409, "no-photo")
        assert answered(iter([bytes(MOST_BYTES), b"\0"]), encode_chunked=True) == (
            413,
            "too-large",
        )
        assert answered(bytes(MOST_BYTES + 1)) == (413, "too-large")
