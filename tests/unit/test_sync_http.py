"""The sync over HTTP, and the command line's answers to what a person can mend."""

from __future__ import annotations

import gzip
import json
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import brotli
import pytest
import uuid6
from flask import Flask
from werkzeug.test import TestResponse

from ringside import cli
from ringside.app import MOST_BODY, Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book
from ringside.knowledge import Knowledge
from ringside.knowledge import loader as knowledge_loader
from tests.known import shipped
from tests.support import ROOT, Server
from tests.unit.phone import HOME, PORT, Phone

PHONE, OTHER = str(uuid6.uuid7()), str(uuid6.uuid7())

Change = dict[str, Any]


def change(value: Any = "Juniper", device: str = PHONE, **given: Any) -> Change:
    key = str(uuid6.uuid7())
    return {
        "id": key,
        "kind": "dog",
        "record": str(uuid6.uuid7()),
        "field": "name",
        "value": value,
        "stamp": f"{key[:8]}{key[9:13]}-0000-{device[-12:]}",
        "base": "",
        "device": device,
        **given,
    }


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


def let_in(app: Flask, book: Book, device: str) -> Phone:
    phone = Phone(app, device)
    phone.let_in(book)
    return phone


@pytest.fixture
def phone(app: Flask, book: Book) -> Phone:
    return let_in(app, book, PHONE)


@pytest.fixture
def other(app: Flask, book: Book) -> Phone:
    return let_in(app, book, OTHER)


def synced(phone: Phone, *changes: Change, **more: Any) -> dict[str, Any]:
    answer = phone.sync(*changes, **more)
    assert answer.status_code == 200, answer.text
    return dict(answer.get_json())


def post(phone: Phone, body: Any, **headers: str) -> TestResponse:
    return phone.post("/api/sync", body, **headers)


@pytest.fixture(scope="module")
def old_book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """A book that the tests of refusals share, with a change in it."""
    book = open_book(Place(tmp_path_factory.mktemp("old")))
    book.append([change("Bramble")], 2**47)
    yield book
    book.close()


@pytest.fixture(scope="module")
def old_app(old_book: Book, knowledge: Knowledge) -> Flask:
    return create_app(Settings(old_book.place.data, PORT), old_book, knowledge)


@pytest.fixture
def stranger(old_app: Flask, old_book: Book) -> Iterator[Phone]:
    """A phone whose requests must leave the book as it is."""
    before = rows(old_book)
    yield let_in(old_app, old_book, PHONE)
    assert rows(old_book) == before


def rows(book: Book) -> list[Any]:
    with closing(sqlite3.connect(book.place.file)) as db:
        return db.execute("SELECT * FROM change").fetchall()


# --- what goes well


def test_two_phones_exchange_what_they_wrote(phone: Phone, other: Phone, book: Book) -> None:
    mine, yours = change(), change("Bramble", OTHER)
    answer = synced(phone, mine)
    assert answer["taken"] == [mine["id"]]
    assert answer["book"] == book.id == phone.session()["book"]
    assert not answer["more"]
    synced(other)
    assert synced(other, yours)["changes"] == []
    assert synced(phone)["changes"] == [yours]
    assert synced(phone)["changes"] == synced(other)["changes"] == []


def test_answers_are_never_kept_by_a_cache(phone: Phone) -> None:
    assert post(phone, {"device": PHONE}).headers["Cache-Control"] == "no-store"


def test_a_repeated_request_gets_the_same_receipt(phone: Phone, book: Book) -> None:
    made = [change(), change("x" * 41)]
    first, second = synced(phone, *made), synced(phone, *made)
    assert first["taken"] == second["taken"] == [made[0]["id"]]
    assert first["refused"] == second["refused"]
    assert len(rows(book)) == 1


def test_a_refusal_says_why(phone: Phone) -> None:
    bad = change("x" * 41)
    assert synced(phone, bad)["refused"] == [
        {"id": bad["id"], "reason": "The name of this dog has 41 characters; shorten it to 40."}
    ]


def test_pages_and_then_the_packs(phone: Phone, other: Phone) -> None:
    dog = str(uuid6.uuid7())
    fields = {"name": "Juniper", "breed": "pug", "sex": "bitch", "born": "2024-02-29"}
    synced(phone, *(change(value, record=dog, field=name) for name, value in fields.items()))
    first = synced(other, most=3, packs="")
    assert (first["more"], len(first["changes"]), "packs" in first) == (True, 3, False)
    last = synced(other, most=3, packs="")
    assert (last["more"], len(last["changes"])) == (False, 1)
    assert last["packs"] == {"wanted": True}
    offered = synced(other, packs={})["packs"]
    assert list(offered["packs"]) == [f"dog/{dog}"]
    assert synced(other, packs=offered["whole"])["packs"] == {}
    assert synced(other, packs=offered["hashes"])["packs"]["packs"] == {}


def test_an_unknown_cursor_means_anew(phone: Phone, other: Phone) -> None:
    made = change(device=OTHER)
    synced(other, made)
    phone.cursor = "40.1.aaaaaaaaaaaa"
    answer = synced(phone)
    assert answer["anew"]
    assert answer["changes"] == [made]


def test_an_app_of_another_age_may_push(phone: Phone) -> None:
    made = change()
    assert synced(phone, made, protocol=99, hats=["a"])["taken"] == [made["id"]]


def test_a_clock_that_leads_is_told(phone: Phone) -> None:
    made = change(stamp=f"{2**47:012x}-0000-{PHONE[-12:]}")
    answer = synced(phone, made)
    assert answer["taken"] == [made["id"]]
    stamp = answer["restamped"][made["id"]]
    assert abs(int(stamp[:12], 16) - answer["now"]) < 1000


# --- what does not

BODY = {"device": PHONE, "changes": [change()]}
MALFORMED: dict[str, Any] = {
    "not JSON": b"hello",
    "nothing": b"",
    "not UTF-8": b'{"device": "\xff\xfe"}',
    "cut off": json.dumps(BODY).encode()[:-9],
    "a list": [],
    "a number": 7,
    "no device": {"changes": []},
    "device not a UUID": {"device": "phone"},
    "device with a newline": {"device": PHONE + "\n"},
    "device in upper case": {"device": PHONE.upper()},
    "changes not a list": {"device": PHONE, "changes": {}},
    "more changes than fit": {"device": PHONE, "changes": [0] * 20_001},
    "cursor a number": {"device": PHONE, "cursor": 7},
    "cursor too long": {"device": PHONE, "cursor": "1" * 257},
    "no changes a page": {"device": PHONE, "most": 0},
    "too many a page": {"device": PHONE, "most": 1_000_000},
    "packs a number": {"device": PHONE, "packs": 7},
    "packs of half characters": {"device": PHONE, "packs": {"\ud800": 7}},
    "device of half characters": {"device": "\ud800"},
    "cursor of half characters": {"device": PHONE, "cursor": "\ud800"},
    "nested deeper than can be read": b'{"device":' + b"[" * 200_000,
    "a number longer than can be read": b'{"protocol":' + b"9" * 10_000 + b"}",
}


def is_sentence(text: str) -> bool:
    return len(text) < 300 and bool(re.fullmatch(r"[^{}<>]*[\w)][^{}<>]*", text))


@pytest.mark.parametrize("case", MALFORMED)
def test_a_malformed_request_is_refused_in_a_sentence(case: str, stranger: Phone) -> None:
    response = post(stranger, MALFORMED[case])
    assert response.status_code == 400
    answer = response.get_json()
    assert answer["code"] == "malformed"
    assert is_sentence(answer["message"]), answer


BAD_CHANGES: dict[str, Any] = {
    "not an object": 7,
    "nothing": None,
    "no id": {"kind": "dog"},
    "an id of half a character": {**change(), "id": "\ud800"},
    "a kind of half a character": change(kind="\ud800"),
    "a field of NUL": change(field="\0"),
    "a value nested to the limit": change(json.loads("[" * 900 + "]" * 900)),
    "a text of NUL": change("a\0b", kind="note", field="text"),
    "a text of half a character": change("\udc15", kind="note", field="text"),
    "a text of 64 kB and one": change("x" * 65_537, kind="note", field="text"),
    "a number for which there is no name": change(float("nan")),
}


@pytest.mark.parametrize("case", BAD_CHANGES)
def test_a_bad_change_is_refused_and_the_next_one_taken(
    case: str, old_app: Flask, old_book: Book
) -> None:
    good = change()
    before = len(rows(old_book))
    answer = synced(let_in(old_app, old_book, PHONE), BAD_CHANGES[case], good)
    assert answer["taken"] == [good["id"]]
    (refused,) = answer["refused"]
    assert refused["reason"].endswith(".")
    assert is_sentence(refused["reason"].replace("{", "").replace("}", ""))
    assert len(rows(old_book)) == before + 1


def refusal(response: TestResponse, status: int, code: str) -> str:
    assert response.status_code == status
    answer = response.get_json()
    assert answer["code"] == code
    assert is_sentence(answer["message"]), answer
    message: str = answer["message"]
    return message


def test_a_body_over_the_limit(stranger: Phone) -> None:
    message = refusal(post(stranger, b" " * (MOST_BODY + 1)), 413, "request-entity-too-large")
    assert "16 MB" in message


def test_not_sent_as_json(stranger: Phone) -> None:
    for kind in ("text/plain", "application/x-www-form-urlencoded", ""):
        refusal(post(stranger, BODY, **{"Content-Type": kind}), 415, "not-json")


@pytest.mark.parametrize("token", ["", "wrong"])
def test_without_the_token(token: str, stranger: Phone) -> None:
    message = refusal(post(stranger, BODY, **{"X-CSRFToken": token}), 400, "csrf")
    assert "Reload" in message


def test_with_the_token_of_another(stranger: Phone, other: Phone) -> None:
    headers = {"X-CSRFToken": other.csrf}
    refusal(post(stranger, BODY, **headers), 400, "csrf")


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": f"http://localhost:{PORT + 1}"},
        {"Origin": f"https://localhost:{PORT}"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none"},
        {"Sec-Fetch-Site": "cross-site", "Origin": HOME},
    ],
)
def test_from_another_site(headers: dict[str, str], stranger: Phone) -> None:
    refusal(post(stranger, BODY, **headers), 403, "foreign")


def test_from_our_own_page(phone: Phone) -> None:
    assert post(phone, BODY, Origin=HOME, **{"Sec-Fetch-Site": "same-origin"}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["elsewhere.example", f"elsewhere.example:{PORT}", "localhost", f"localhost:{PORT + 1}",
     f"localhost.elsewhere.example:{PORT}", f"localhost:{PORT}@elsewhere.example", ""],
)  # fmt: skip
def test_under_another_name(host: str, stranger: Phone) -> None:
    for path in ("/", "/api/session", "/healthz", "/no/such/page"):
        response = stranger.client.get(path, base_url=HOME, environ_overrides={"HTTP_HOST": host})
        assert response.status_code == 421
        assert "Use the address it printed" in response.text
    posted = stranger.client.post(
        "/api/sync", base_url=HOME, json=BODY, environ_overrides={"HTTP_HOST": host}
    )
    assert posted.status_code == 421


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"])
def test_under_each_of_our_names(host: str, old_app: Flask) -> None:
    client = old_app.test_client()
    assert client.get("/healthz", base_url=f"http://{host}").status_code == 200


def test_a_phone_that_was_not_let_in(old_app: Flask, stranger: Phone) -> None:
    client = old_app.test_client()
    token = client.get("/api/session", base_url=HOME).get_json()["csrf"]
    headers = {"X-CSRFToken": token}
    refusal(client.post("/api/sync", base_url=HOME, json=BODY, headers=headers), 401, "not-paired")
    refusal(post(stranger, {**BODY, "device": OTHER}), 401, "not-paired")


def test_a_change_of_another_device(stranger: Phone) -> None:
    made = change(device=OTHER)
    (refused,) = synced(stranger, made)["refused"]
    assert refused["id"] == made["id"]
    assert "Only that one can send it" in refused["reason"]


def test_with_another_book(stranger: Phone, old_book: Book) -> None:
    body = {**BODY, "book": str(uuid6.uuid7())}
    assert "different book" in refusal(post(stranger, body), 409, "other-book")
    assert post(stranger, {"device": PHONE, "book": old_book.id}).status_code == 200


def test_a_wrong_method_and_a_wrong_address(stranger: Phone) -> None:
    refusal(stranger.client.get("/api/sync", base_url=HOME), 405, "method-not-allowed")
    refusal(stranger.client.get("/api/nothing", base_url=HOME), 404, "not-found")


# --- the command line


def words_of(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    assert cli.main([str(word) for word in arguments]) == 2
    return capsys.readouterr().err


def test_a_port_in_use(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        words = words_of(capsys, "serve", "--no-browser", "--data", tmp_path / "a", "--port", port)
    assert f"Port {port} is in use" in words
    assert "--port" in words
    assert not (tmp_path / "a").exists()


@pytest.mark.parametrize("port", ["0", "-1", "65536", "99999999999"])
def test_a_port_out_of_range(port: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    words = words_of(capsys, "serve", "--no-browser", "--data", tmp_path / "a", f"--port={port}")
    assert "from 1 to 65535" in words
    assert not (tmp_path / "a").exists()


def test_the_programs_exit_code(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "ringside", "serve", "--no-browser", "--port", "0"]
    done = subprocess.run(
        [*command, "--data", str(tmp_path)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "ringside: The port must be a number from 1 to 65535.\n"


def test_a_stopped_server_leaves_the_book_in_one_file(start_server: Callable[..., Server]) -> None:
    server = start_server("serve")
    with urllib.request.urlopen(f"{server.url}api/session", timeout=10) as answer:
        assert json.load(answer)["csrf"]
    server.stop()
    assert FILE_NAME in {entry.name for entry in server.data.iterdir()}
    assert not list(server.data.glob(f"{FILE_NAME}-*"))


def test_a_port_that_is_no_number(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(["serve", "--port", "many"])
    assert ended.value.code == 2
    assert "invalid int value: 'many'" in capsys.readouterr().err


def test_a_breed_without_a_source(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "knowledge"
    shutil.copytree(ROOT / "ringside" / "knowledge", folder)
    pug = folder / "breeds" / "pug.toml"
    lines = pug.read_text(encoding="utf-8").splitlines()
    first = next(place for place, line in enumerate(lines) if line.startswith("standard = "))
    pug.write_text("\n".join([*lines[:first], *lines[first + 1 :]]), encoding="utf-8")
    monkeypatch.setattr(knowledge_loader, "files", lambda _: folder)
    words = words_of(capsys, "check")
    assert "knowledge files cannot be used" in words
    assert re.search(r"pug\.toml: ask, number 1 \(.+\), standard: is missing", words), words


def test_checking_a_folder_without_a_book(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert "There is no book in" in words_of(capsys, "check", "--data", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_checking_a_broken_book(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / FILE_NAME
    path.write_bytes(b"no book" * 1000)
    assert "not a book, or is damaged" in words_of(capsys, "check", "--data", tmp_path)
    assert path.read_bytes() == b"no book" * 1000


def test_checking_a_good_book(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, book: Book
) -> None:
    book.append([change()], 2**47)
    assert cli.main(["check", "--data", str(tmp_path)]) == 0
    assert "1 changes, 1 dogs" in capsys.readouterr().out


# --- squeezed on the way


def test_a_body_may_come_squeezed(phone: Phone) -> None:
    made = change()
    body = gzip.compress(json.dumps({"device": PHONE, "changes": [made]}).encode())
    answer = post(phone, body, **{"Content-Encoding": "gzip"})
    assert answer.get_json()["taken"] == [made["id"]]


def bomb() -> bytes:
    """A hundred kilobytes that say they are a hundred megabytes."""
    return gzip.compress(b" " * 100_000_000)


@pytest.mark.parametrize(
    "made",
    [
        lambda: b"",
        lambda: b"{}",
        lambda: gzip.compress(b"{}")[:-9],
        lambda: gzip.compress(b"{") + b"}",
        bomb,  # takes a second, which no other test shall wait
        lambda: b"\x1f\x8b" * 99,
    ],
    ids=["nothing", "plain", "cut off", "more behind", "a bomb", "noise"],
)
def test_what_cannot_be_unpacked_is_refused(phone: Phone, made: Callable[[], bytes]) -> None:
    answer = post(phone, made(), **{"Content-Encoding": "gzip"})
    assert (answer.status_code, answer.get_json()["code"]) == (400, "malformed")


@pytest.mark.parametrize(
    ("accepted", "encoding", "unpack"),
    [
        ("gzip, br", "br", brotli.decompress),
        ("gzip;q=1.0", "gzip", gzip.decompress),
        ("", None, bytes),
        ("identity", None, bytes),
    ],
)
def test_an_answer_is_squeezed_as_who_asks_can_read(
    phone: Phone, other: Phone, accepted: str, encoding: str | None, unpack: Any
) -> None:
    other.sync(*(change(f"Dog {number}", device=OTHER) for number in range(50)))
    answer = post(phone, {"device": PHONE}, **{"Accept-Encoding": accepted})
    assert answer.headers.get("Content-Encoding") == encoding
    assert "Accept-Encoding" in answer.headers["Vary"]
    assert len(json.loads(unpack(answer.data))["changes"]) == 50


def test_a_short_answer_is_left_as_it_is(phone: Phone) -> None:
    answer = post(phone, {"device": PHONE}, **{"Accept-Encoding": "br"})
    assert "Content-Encoding" not in answer.headers
