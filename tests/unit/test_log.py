"""What the server tells of itself, and what it never tells: the log, errors, health and limits."""

from __future__ import annotations

import json
import logging
import os
import re
import sqlite3
import stat
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import uuid6
from flask import Flask
from werkzeug.test import TestResponse

from ringside.app import Settings, create_app
from ringside.book.devices import Devices
from ringside.book.keeping import open_book
from ringside.book.pages import MOST
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book, BookUnavailable
from ringside.knowledge import Knowledge
from ringside.web import log, security
from ringside.web.security import BURST, MOST_VISITORS, Throttle
from tests.known import shipped
from tests.support import Server as Process
from tests.support import offer, pair
from tests.unit.phone import HOME, PORT, Phone

NOTE = "Left hock turns out when he is tired"
GUESSED = "ZZZZ-9999"
NAME = "Grandmother's telephone"

posix_only = pytest.mark.skipif(os.name != "posix", reason="only POSIX has these modes")


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(Place(tmp_path))
    yield book
    book.close()


@pytest.fixture
def app(tmp_path: Path, book: Book, knowledge: Knowledge) -> Flask:
    return create_app(Settings(tmp_path, PORT), book, knowledge)


@pytest.fixture
def written(tmp_path: Path) -> Iterator[Path]:
    """The file that the log is written to."""
    before, level = LOGGER.handlers, LOGGER.level
    log.set_up(str(tmp_path / "log.jsonl"))
    yield tmp_path / "log.jsonl"
    for handler in LOGGER.handlers:
        handler.close()
    LOGGER.handlers = before
    LOGGER.setLevel(level)


LOGGER = logging.getLogger("ringside")


def show() -> None:
    """Have the terminal of this test shown what belongs there; pytest gives each phase another."""
    (shown,) = (one for one in LOGGER.handlers if type(one) is logging.StreamHandler)
    shown.setStream(sys.stderr)


def lines(written: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in written.read_text(encoding="utf-8").splitlines()]


ADDRESS = "192.168.1.20"


@pytest.fixture
def phone(app: Flask) -> Phone:
    phone = Phone(app, address=ADDRESS)
    phone.session()
    return phone


def noted(phone: Phone) -> TestResponse:
    """Have a note written; what the server says to it."""
    return phone.sync(phone.change("note", str(uuid6.uuid7()), "text", NOTE))


BROWSER = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}


# --- What is told


def test_every_request_has_a_line(written: Path, app: Flask, phone: Phone, book: Book) -> None:
    phone.let_in(book)
    answer = noted(phone)
    assert answer.status_code == 200
    last = lines(written)[-1]
    assert last.pop("ms") >= 0
    assert re.fullmatch(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}\+00:00", last.pop("time"))
    assert last == {
        "level": "info",
        "event": "request",
        "id": answer.headers["X-Request-ID"],
        "method": "POST",
        "route": "/api/sync",
        "status": 200,
        "bytes": len(answer.data),
        "device": phone.device,
        "address": "192.168.1.20",
    }
    phone.get("/nowhere")
    phone.client.get("/", base_url="http://evil.example", buffered=True)
    found = [(line["route"], line["status"]) for line in lines(written)[-2:]]
    assert found == [("", 404), ("", 421)]
    assert len({line["id"] for line in lines(written)}) == len(lines(written))


def test_only_a_device_that_was_let_in_is_named(written: Path, phone: Phone, book: Book) -> None:
    noted(phone)
    phone.let_in(book)
    with book.session():
        Devices(book).revoke(phone.device, time.time_ns() // 1_000_000)
    assert noted(phone).status_code == 401
    found = [(line["route"], line["device"]) for line in lines(written)]
    assert [device for route, device in found if route == "/api/sync"] == ["", ""]
    assert ("/api/session", phone.device) in found


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("::ffff:192.168.1.9", "192.168.1.9"),
        ("fe80::1%eth0", "fe80::1"),
        (f"{NOTE}, 1.2.3.4", "unknown"),
        ("", "unknown"),
    ],
)
def test_an_address_is_shown_as_one(said: str, shown: str) -> None:
    assert log.shown_address(said) == shown


# --- What is not


def test_no_secret_is_ever_written(
    written: Path,
    app: Flask,
    phone: Phone,
    book: Book,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    show()
    guess = {"code": GUESSED, "device": phone.device, "name": NAME}
    assert phone.post("/api/pair", guess).status_code == 403
    secrets = [NOTE, GUESSED, GUESSED.replace("-", ""), NAME, phone.csrf, *phone.cookies]
    secrets.append(phone.let_in(book, name=NAME))
    secrets += [phone.csrf, *phone.cookies]
    assert noted(phone).status_code == 200
    made = phone.submit("/desk/devices/pair", role="helper")
    code, link = re.search(r'id="code">([^<]+)<', made.text), re.search(r"#/pair/(\w+)", made.text)
    assert code
    assert link
    secrets += [code[1], code[1].replace("-", ""), link[1]]
    named = {"device": phone.device, "name": NOTE}
    assert phone.submit("/desk/devices/rename", **named).status_code == 303
    assert NOTE in phone.get("/desk/devices").text
    # What somebody puts where it does not belong is not repeated either.
    for path in (f"/pair/{link[1]}", f"/api/session?code={link[1]}", f"/static/{NOTE}/x.js"):
        phone.get(path, **{"User-Agent": NOTE, "Referer": f"{HOME}/{NOTE}", "X-Request-ID": NOTE})
    phone.client.open("/", method=NOTE.replace(" ", "").upper(), base_url=HOME)
    secrets.append(NOTE.replace(" ", "").upper())
    phone.client.get("/", base_url=f"http://{link[1]}.example")
    # Nor by an error of ours, nor by one of the database, which may quote what it was given.
    for error in (RuntimeError(NOTE), sqlite3.IntegrityError("UNIQUE"), KeyError(NOTE)):

        def fail(*_: Any, error: Exception = error, **__: Any) -> None:
            raise ValueError(f"cannot keep {NOTE!r}") from error

        with monkeypatch.context() as patch:
            patch.setattr(Book, "append", fail)
            assert noted(phone).status_code == 500
    told = written.read_bytes() + "".join(capsys.readouterr()).encode()
    assert told.count(b'"request"') > 10
    assert told.count(b"in sync") > 2  # there was a traceback
    for secret in secrets:
        assert len(secret) >= 8
        for form in (secret, json.dumps(secret)[1:-1], secret.replace(" ", "%20"), secret.lower()):
            assert form.encode() not in told, secret


def test_a_client_does_not_name_its_request(written: Path, phone: Phone) -> None:
    answer = phone.get("/healthz", **{"X-Request-ID": "chosen-by-a-client"})
    assert re.fullmatch(r"[0-9a-f]{10}", answer.headers["X-Request-ID"])
    assert "chosen" not in written.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("given", "is_taken"),
    [
        ("7f3a9c0d-2b1e-4c5d", True),
        ("short", False),
        ("x" * 65, False),
        ('12345678"}', False),
        ("12345678\u2028", False),
        ("two words here", False),
    ],
)
def test_a_proxy_of_ours_may_name_it(
    tmp_path: Path, book: Book, knowledge: Knowledge, given: str, is_taken: bool
) -> None:
    name = "ring.example"
    settings = Settings(
        tmp_path, PORT, origin=f"https://{name}/", names=lambda: frozenset({name}), hops=1
    )
    client = create_app(settings, book, knowledge).test_client()
    environ = {"HTTP_X_REQUEST_ID": given.encode().decode("latin-1")}
    answer = client.get("/healthz", base_url=f"https://{name}", environ_overrides=environ)
    assert (answer.headers["X-Request-ID"] == given) is is_taken
    assert answer.status_code == 200


# --- Where it goes


def test_a_log_that_cannot_be_written_quotes_nothing(
    written: Path,
    phone: Phone,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    book: Book,
) -> None:
    def fail(*_: Any) -> None:
        raise ValueError(NOTE)

    phone.let_in(book)
    monkeypatch.setattr(Book, "append", fail)
    for handler in LOGGER.handlers:
        monkeypatch.setattr(handler, "format", lambda record: 1 / 0)
    assert noted(phone).status_code == 500
    assert "".join(capsys.readouterr()) == ""


def test_a_terminal_is_left_alone_and_a_file_is_written(
    start_server: Callable[..., Process], tmp_path: Path
) -> None:
    file = tmp_path / "requests.jsonl"
    process = start_server("serve", arguments=["--log", str(file)])
    code = offer(process.place).typed
    token = pair(process).headers["Cookie"]
    process.stop()
    assert "/api/" not in process.output
    assert {"/healthz", "/api/session", "/api/pair"} <= {line["route"] for line in lines(file)}
    told = file.read_text(encoding="utf-8")
    assert not any(secret in told for secret in (code, *re.findall(r"=([^;]+)", token)))


def test_the_lines_can_go_to_the_terminal(start_server: Callable[..., Process]) -> None:
    process = start_server("demo", arguments=["--log", "-"])
    process.stop()
    found = [json.loads(line) for line in process.output.splitlines() if line.startswith("{")]
    assert {line["route"] for line in found} == {"/healthz"}


@posix_only
def test_the_file_is_its_owners_alone_and_does_not_grow_for_ever(
    written: Path, phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    (kept,) = (one for one in LOGGER.handlers if isinstance(one, log._Private))
    kept.maxBytes = 2000
    for _ in range(100):
        phone.get("/healthz")
    files = sorted(written.parent.glob("log.jsonl*"))
    assert len(files) == 1 + log.OLD_FILES
    assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
    assert all(file.stat().st_size <= 2000 for file in files)


def test_a_log_that_cannot_be_written_stops_the_start(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="nowhere"):
        log.set_up(str(tmp_path / "nowhere" / "log"))


# --- Errors


def test_an_error_of_ours_is_told_by_its_request(
    written: Path,
    phone: Phone,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    book: Book,
) -> None:
    show()

    def fail(*_: Any) -> None:
        raise FileNotFoundError(2, "No such file", "knowledge.toml")

    phone.let_in(book)
    monkeypatch.setattr(Book, "append", fail)
    answer = noted(phone)
    key = answer.headers["X-Request-ID"]
    assert (answer.status_code, answer.get_json()["code"]) == (500, "internal-server-error")
    assert answer.get_json()["message"].endswith(f"request {key}.")
    failed, line = lines(written)[-2:]
    assert (failed["id"], failed["level"], line["id"], line["status"]) == (key, "error", key, 500)
    assert "in append" not in failed["traceback"]
    assert "in sync" in failed["traceback"]
    assert failed["traceback"].endswith(
        "FileNotFoundError: [Errno 2] No such file: 'knowledge.toml'\n"
    )
    shown = capsys.readouterr().err
    assert f"Request {key} failed: POST /api/sync\n  File " in shown
    assert "in sync" in shown


def test_a_book_that_cannot_be_had_is_told_as_such(
    written: Path, phone: Phone, book: Book, tmp_path: Path
) -> None:
    phone.let_in(book)
    assert phone.get("/healthz").get_json() == {"ok": True}
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as other:
        other.execute("ALTER TABLE change RENAME TO gone")
    answer = noted(phone)
    said = answer.get_json()
    assert (answer.status_code, said["code"]) == (503, "book-unavailable")
    assert int(answer.headers["Retry-After"]) > 0
    assert said["message"]
    page = phone.get("/desk", **BROWSER)
    assert (page.status_code, page.mimetype) == (503, "text/html")
    health = phone.get("/healthz")
    assert (health.status_code, health.get_json()["ok"]) == (503, False)
    assert health.get_json()["reason"]
    assert str(tmp_path) not in health.text + answer.text
    assert [line["level"] for line in lines(written)].count("warning") == 2
    assert "no such table" in written.read_text(encoding="utf-8")
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as other:
        other.execute("ALTER TABLE gone RENAME TO change")
    assert noted(phone).status_code == 200
    assert phone.get("/healthz").status_code == 200


def test_the_app_itself_is_served_without_a_book(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any) -> None:
        raise BookUnavailable("The book cannot be reached.")

    monkeypatch.setattr(Book, "session", fail)
    assert phone.get("/healthz").status_code == 503
    assert phone.get("/api/session").status_code == 503
    for path in ("/", "/sw.js", "/manifest.webmanifest"):
        assert phone.get(path).status_code == 200


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [("GET", "/desk/nowhere", 404), ("POST", "/desk/devices/revoke", 400), ("PUT", "/desk", 405)],
)
def test_an_error_at_the_desk_is_a_page(
    phone: Phone, method: str, path: str, status: int, book: Book
) -> None:
    phone.let_in(book)
    answer = phone.ask(method, path, headers=BROWSER)
    assert (answer.status_code, answer.mimetype) == (status, "text/html")
    assert 'role="alert"' in answer.text
    assert 'href="/desk"' in answer.text
    assert answer.headers["Content-Security-Policy"] == security.PAGE_POLICY
    style = re.search(r'href="(/static/[^"]+/css/desk\.css)"', answer.text)
    assert style
    assert phone.get(style[1]).status_code == 200
    # A program that asks is answered as everywhere else.
    assert phone.ask(method, path).is_json


def test_an_error_elsewhere_is_none(phone: Phone) -> None:
    for path in ("/api/nowhere", "/desks", "/nowhere"):
        answer = phone.get(path, **BROWSER)
        assert (answer.status_code, answer.get_json()["code"]) == (404, "not-found")


def test_what_an_error_says_is_not_taken_for_markup(
    phone: Phone,
    monkeypatch: pytest.MonkeyPatch,
    book: Book,
) -> None:
    def fail(*_: Any) -> None:
        raise BookUnavailable("<script>alert(1)</script>")

    phone.let_in(book)
    monkeypatch.setattr(Book, "records", fail)
    assert "<script>alert" not in phone.get("/desk", **BROWSER).text


# --- Limits


def test_a_bucket_empties_and_fills() -> None:
    throttle = Throttle(burst=3, rate=0.5)
    assert [throttle.wait("a", 100.0) for _ in range(4)] == [0, 0, 0, 2.0]
    assert throttle.wait("b", 100.0) == 0
    assert throttle.wait("a", 101.0) == 1.0
    assert [throttle.wait("a", 102.0) for _ in range(2)] == [0, 2.0]
    # It is never fuller than it was at first.
    assert [throttle.wait("a", 1e6) for _ in range(4)] == [0, 0, 0, 2.0]


def test_asking_too_often_does_not_put_off_the_end_of_the_wait() -> None:
    throttle = Throttle(burst=1, rate=1)
    passed = sum(throttle.wait("a", number / 100) == 0 for number in range(1001))
    assert passed in (10, 11)


def test_only_so_many_visitors_are_remembered() -> None:
    throttle = Throttle(burst=1, rate=0.001, most=100)
    for number in range(1000):
        throttle.wait(f"visitor {number}", 0)
        assert throttle.wait("one who keeps asking", 0) >= 0
        assert len(throttle) <= 100
    assert throttle.wait("one who keeps asking", 0) > 0
    assert MOST_VISITORS >= 1000


def test_a_phone_that_catches_up_is_not_hurt() -> None:
    script = (Path(security.__file__).parents[2] / "static/js/link.js").read_text(encoding="utf-8")
    sent = re.search(r"^const MOST = ([\d_]+);", script, re.MULTILINE)
    assert sent
    throttle = Throttle()
    # Over a good link it sends so many characters at once, a change being some 300.
    requests = 100_000 * 300 // int(sent[1]) + 100_000 // MOST
    assert all(throttle.wait("phone", 0) == 0 for _ in range(requests))
    assert BURST >= 200 * 4  # as many phones behind one address ask before they are let in


@pytest.fixture
def strict_app(
    tmp_path: Path, book: Book, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> Flask:
    monkeypatch.setattr(security, "Throttle", lambda: Throttle(burst=8, rate=0.01))
    return create_app(Settings(tmp_path, PORT), book, knowledge)


def asked_until_limited(ask: Callable[[], TestResponse]) -> tuple[int, TestResponse]:
    for number in range(20):
        answer = ask()
        if answer.status_code == 429:
            return number, answer
    raise AssertionError("never limited")


def test_a_device_is_limited_by_itself_and_a_stranger_by_address(
    strict_app: Flask, book: Book
) -> None:
    one, other = (Phone(strict_app, address=ADDRESS) for _ in range(2))
    one.let_in(book)
    other.let_in(book)
    number, answer = asked_until_limited(lambda: noted(one))
    assert number == 7  # it asked once before, for its session
    assert answer.get_json()["code"] == "too-often"
    assert 1 <= int(answer.headers["Retry-After"]) <= 101
    assert one.get("/desk").status_code == 429
    assert noted(other).status_code == 200
    # What everybody may have is not counted, nor is who looks after the server.
    for path in ("/", "/sw.js", "/healthz", "/nowhere"):
        assert one.get(path).status_code in (200, 404)
    stranger = Phone(strict_app, address="192.168.1.30")
    stranger.session()
    guesses: Callable[[], TestResponse] = lambda: stranger.get("/api/session")  # noqa: E731
    assert asked_until_limited(guesses)[0] == 7
    assert Phone(strict_app, address="192.168.1.31").get("/api/session").status_code == 200
    # A false token makes nobody another.
    stranger.client.set_cookie(f"ringside-device-{PORT}", f"{uuid6.uuid7()}.x", domain="localhost")
    assert guesses().status_code == 429
