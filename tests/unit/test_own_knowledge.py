"""Own breeds and asks: what is taken in at the desk, what is refused, and that nothing is lost."""

from __future__ import annotations

import html
import io
import os
import re
import shutil
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import uuid6
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from ringside.app import Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book
from ringside.domain.breed_index import plain
from ringside.knowledge import Knowledge, KnowledgeError, load, load_whole
from ringside.knowledge.own import OWN_BREEDS
from ringside.web import library as library_module
from ringside.web.desk.own import MOST_FILE, add_asks, as_toml, own_asks, own_name, read_asks
from tests.known import shipped
from tests.support import Server

PORT = 8470
HOME = f"http://localhost:{PORT}"
SHIPPED = shipped()
STATIONS = set(SHIPPED.stations)
NOW = 1_790_000_000_000

BREED = """
name = "Fen Hound"
examined_on = "ground"
examined_on_source = "common practice"
short_faced = false
build = "square"

[[standard]]
id = "club"
of = "FCI"
body = "A club of our own"
title = "Breed standard, Fen Hound"
checked = 2026-01-01

[[ask]]
point = "head"
standard = "club"
weight = "required"
says = "Broad, not coarse."

[[ask]]
point = "size"
standard = "club"
weight = "required"
says = "Dogs stand 50 to 60 cm."
number = { what = "height at withers", low = 50, high = 60, unit = "cm", sex = "dog" }
"""
ASKS = """
[[ask]]
breed = "pug"
station = "head"
says = "Dry the wrinkles."

[[ask]]
breed = "A breed of nobody's"
station = "bite"
says = "Quick, and gentle."
"""


def spoil(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


# --- the loader


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / OWN_BREEDS
    made.mkdir()
    return made


def put(folder: Path, name: str, content: str | bytes = BREED) -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


# How a file can be of no use, and what is said of it.
USELESS: dict[str, tuple[str | bytes, str]] = {
    "not UTF-8": (BREED.encode() + b'# "\xff"\n', r"not readable as TOML: .*utf-8"),
    "bad TOML": (BREED + "[[ask\n", r"not readable as TOML: .*line \d+"),
    "empty": ("", r"name: is missing; every entry must have it"),
    "a fact without provenance": (
        BREED.replace('standard = "club"\n', "", 1),
        r"ask, number 1 \(Broad, not coarse\.\), standard: is missing",
    ),
    "an unknown key": (
        BREED + 'sayz = "x"\n',
        r"ask, number 2 \(.*\), sayz: is not a key we know",
    ),
    "an unknown standard": (
        spoil(BREED, 'id = "club"', 'id = "clubb"'),
        r"ask, number 1 \(.*\): there is no standard 'club' in this file",
    ),
    "a low above its high": (spoil(BREED, "low = 50", "low = 70"), r"low 70 is above high 60"),
    "a bound that is no number": (
        spoil(BREED, "low = 50", "low = nan"),
        r"ask, number 2 \(.*\): a bound is not a finite number",
    ),
    "a number too long to be read": ("fci_number = " + "9" * 5000 + BREED, r"a number in it"),
    "nested too deep": ("varieties = " + "[" * 9000 + "]" * 9000 + BREED, r"nested too deep|TOML"),
    "a program": (bytes(range(256)) * 4, r"not readable as TOML"),
}  # fmt: skip


@pytest.mark.parametrize("case", USELESS)
def test_a_useless_own_file_is_set_aside_and_the_good_ones_kept(case: str, folder: Path) -> None:
    content, problem = USELESS[case]
    put(folder, "bad-hound.toml", content)
    put(folder, "fen-hound.toml")
    known = load(own=folder)
    assert set(known.breeds) == {*SHIPPED.breeds, "own-fen-hound"}
    assert known.set_aside
    assert all(line.startswith("bad-hound.toml: ") for line in known.set_aside)
    assert any(re.search(problem, line) for line in known.set_aside), known.set_aside
    assert known.digest == load(own=good_only(folder)).digest


def good_only(folder: Path) -> Path:
    (folder / "bad-hound.toml").unlink()
    return folder


@pytest.mark.parametrize(
    "name",
    ["Fen Hound.toml", "fen_hound.toml", "FEN.toml", "-fen.toml", ".toml", f"{'x' * 51}.toml"],
)
def test_a_name_that_can_be_no_id_is_set_aside(name: str, folder: Path) -> None:
    put(folder, name)
    known = load(own=folder)
    assert known.breeds.keys() == SHIPPED.breeds.keys()
    assert len(known.set_aside) == 1
    assert "use small letters" in known.set_aside[0]


@pytest.mark.skipif(os.name == "nt", reason="names are text there")
def test_a_name_that_is_no_text_can_be_told(folder: Path) -> None:
    put(folder, os.fsdecode(b"fen\xff.toml"))
    (line,) = load(own=folder).set_aside
    line.encode()


def test_what_is_no_file_is_set_aside(folder: Path) -> None:
    (folder / "fen-hound.toml").mkdir()
    (line,) = load(own=folder).set_aside
    assert line.startswith("fen-hound.toml: cannot be read: ")


def test_no_folder_and_an_empty_one_are_the_same(folder: Path) -> None:
    assert load(own=folder).digest == load(own=folder / "none").digest == SHIPPED.digest
    assert load(own=folder).set_aside == ()


def test_a_shipped_file_that_cannot_be_used_is_still_refused(folder: Path, tmp_path: Path) -> None:
    shipped = tmp_path / "knowledge"
    shutil.copytree(Path(library_module.__file__).parents[1] / "knowledge", shipped)
    put(shipped / "breeds", "fen-hound.toml", BREED + 'sayz = "x"\n')
    with pytest.raises(KnowledgeError, match="sayz"):
        load_whole(shipped, own=folder)


def test_the_server_starts_with_what_is_good_and_says_what_is_not(
    start_server: Callable[..., Server], tmp_path: Path
) -> None:
    data = tmp_path / "data"
    (data / OWN_BREEDS).mkdir(parents=True)
    put(data / OWN_BREEDS, "fen-hound.toml")
    put(
        data / OWN_BREEDS,
        "bad-hound.toml",
        spoil(BREED, '"required"\nsays = "Broad', '"so-so"\nsays = "Broad'),
    )
    server = start_server("serve", data=data)
    assert server.running
    assert re.search(r"Left out.*\n +bad-hound\.toml: ask, number 1 \(Broad", server.output)
    assert "fen-hound" not in server.output


# --- the desk


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(Place(tmp_path))
    yield book
    book.close()


class Desk:
    """A browser at the desk."""

    def __init__(self, app: Flask, data: Path) -> None:
        self.client: FlaskClient = app.test_client()
        self.folder = data / OWN_BREEDS

    def get(self, path: str) -> TestResponse:
        return self.client.get(path, base_url=HOME)

    def token(self) -> str:
        found = re.search(r'name="csrf_token" value="([^"]+)"', self.get("/desk/own").text)
        assert found
        return found[1]

    def post(self, path: str, token: str | None = None, **data: Any) -> TestResponse:
        sent = {"csrf_token": self.token() if token is None else token, **data}
        return self.client.post(path, base_url=HOME, data=sent)

    def bring(
        self, kind: str, name: str, content: str | bytes, token: str | None = None
    ) -> TestResponse:
        body = content if isinstance(content, bytes) else content.encode()
        file = FileStorage(io.BytesIO(body), name)
        sent = {"csrf_token": self.token() if token is None else token, "file": file}
        # By hand: the test client would leave a file open for a great body.
        boundary, data = encode_multipart(sent)
        return self.client.post(
            f"/desk/own/{kind}",
            base_url=HOME,
            data=data,
            content_type=f"multipart/form-data; boundary={boundary}",
        )

    def build(self) -> str:
        found = re.search(r"/static/(\w+)/", self.get("/").text)
        assert found
        return found[1]

    def breeds(self) -> set[str]:
        book = self.get(f"/static/{self.build()}/knowledge.json").get_json()
        names, ids = book["breeds"]["names"], book["breeds"]["ids"]
        return {
            ids.get(str(place)) or plain(name).replace(" ", "-") for place, name in enumerate(names)
        }

    def files(self) -> list[str]:
        return sorted(path.name for path in self.folder.iterdir()) if self.folder.exists() else []


@pytest.fixture
def desk(tmp_path: Path, book: Book) -> Desk:
    return Desk(create_app(Settings(tmp_path, PORT, is_open=True), book, SHIPPED), tmp_path)


def taken(response: TestResponse) -> None:
    assert (response.status_code, response.location) == (303, "/desk/own"), response.text


def refused(response: TestResponse) -> str:
    assert response.status_code == 422, response.text
    found = re.search(r'role="alert">(.*?)</div>', response.text, re.DOTALL)
    assert found
    assert "Nothing was changed." in found[1]
    return found[1]


def test_a_breed_is_taken_in_and_the_app_goes_on_with_it_at_once(desk: Desk) -> None:
    before = desk.build()
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    assert desk.files() == ["fen-hound.toml"]
    assert desk.build() != before
    assert desk.breeds() == {*SHIPPED.breeds, "own-fen-hound"}
    page = desk.get("/desk/own").text
    assert "Fen Hound is ready to use." in page
    assert "fen-hound.toml" in page
    assert "A club of our own" in desk.get("/desk/sources").text


def test_a_build_made_at_the_desk_is_the_one_that_a_start_makes(
    desk: Desk, tmp_path: Path, book: Book
) -> None:
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    settings = Settings(tmp_path, PORT, is_open=True)
    again = Desk(create_app(settings, book, load(own=desk.folder)), tmp_path)
    assert again.build() == desk.build()


def test_a_breed_comes_out_as_it_went_in(desk: Desk) -> None:
    content = BREED.replace("\n", "\r\n") + "# é, and a remark\r\n"
    taken(desk.bring("breeds", "fen-hound.toml", content))
    given_out = desk.get("/desk/own/breeds/fen-hound.toml")
    assert given_out.data == content.encode()
    assert given_out.headers["Content-Disposition"] == 'attachment; filename="fen-hound.toml"'
    build = desk.build()
    taken(desk.bring("breeds", "fen-hound (1).toml", given_out.data))
    assert desk.build() == build
    assert [name for name in desk.files() if name.endswith(".toml")] == ["fen-hound.toml"]


def test_the_pattern_is_a_breed_that_can_be_taken_in(desk: Desk) -> None:
    taken(desk.bring("breeds", "pattern.toml", desk.get("/desk/own/pattern.toml").data))


def test_an_editors_byte_order_mark_does_no_harm(desk: Desk) -> None:
    taken(desk.bring("breeds", "fen-hound.toml", b"\xef\xbb\xbf" + BREED.encode()))


def test_an_older_file_of_that_name_is_kept_beside(desk: Desk) -> None:
    newer = BREED.replace("Fen Hound", "Fen Harrier")
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    taken(desk.bring("breeds", "fen-hound.toml", newer))
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    *old, now = sorted(desk.files(), key=lambda name: name.endswith(".toml"))
    assert now == "fen-hound.toml"
    assert all(re.fullmatch(r"fen-hound\.\d{4}-\d\d-\d\d-\d{6}(-\d)?\.toml\.old", it) for it in old)
    contents = {(desk.folder / name).read_text(encoding="utf-8") for name in old}
    assert contents == {BREED, newer}
    assert "own-fen-hound" in desk.breeds()


def test_a_breed_is_removed_and_kept_as_old(desk: Desk) -> None:
    before = desk.build()
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    taken(desk.post("/desk/own/breeds/fen-hound/remove"))
    (name,) = desk.files()
    assert name.endswith(".toml.old")
    assert desk.build() == before
    assert desk.breeds() == SHIPPED.breeds.keys()
    assert desk.get("/desk/own/breeds/fen-hound.toml").status_code == 404
    assert desk.post("/desk/own/breeds/fen-hound/remove").status_code == 404


@pytest.mark.parametrize("case", USELESS)
def test_what_is_useless_is_refused_and_changes_nothing(case: str, desk: Desk) -> None:
    content, problem = USELESS[case]
    build = desk.build()
    words = refused(desk.bring("breeds", "fen-hound.toml", content))
    told = re.sub(r"&#(\d+);", lambda code: chr(int(code[1])), words)
    assert re.search(problem.replace("'", "['’]"), told), words
    assert desk.build() == build
    assert desk.files() == []


def test_a_refused_newer_file_leaves_the_older_one(desk: Desk) -> None:
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    build = desk.build()
    words = refused(desk.bring("breeds", "fen-hound.toml", BREED + 'sayz = "x"\n'))
    assert "in fen-hound.toml" in words
    assert "sayz: is not a key we know" in words
    assert desk.build() == build
    assert desk.files() == ["fen-hound.toml"]
    assert (desk.folder / "fen-hound.toml").read_text(encoding="utf-8") == BREED


def test_every_problem_of_a_file_is_told(desk: Desk) -> None:
    twice = spoil(spoil(BREED, "low = 50", "low = 70"), '"head"', '"whiskers"')
    words = refused(desk.bring("breeds", "fen-hound.toml", twice))
    assert "number 1 (Broad, not coarse.), point: " in words
    assert "number 2 (Dogs stand 50 to 60 cm.), number: " in words


@pytest.mark.parametrize("size", [MOST_FILE + 1, 3 * 1024 * 1024])
def test_a_huge_file_is_refused(size: int, desk: Desk) -> None:
    build = desk.build()
    words = refused(desk.bring("breeds", "fen-hound.toml", BREED + "#" * (size - len(BREED))))
    assert "at most 256 kB" in words
    assert (desk.build(), desk.files()) == (build, [])


def test_a_file_over_the_servers_limit_is_refused(desk: Desk) -> None:
    response = desk.bring("breeds", "fen-hound.toml", b"#" * (17 * 1024 * 1024))
    assert response.status_code == 413
    assert desk.files() == []


def test_a_file_of_just_the_limit_is_taken(desk: Desk) -> None:
    taken(desk.bring("breeds", "fen-hound.toml", BREED + "#" * (MOST_FILE - len(BREED))))


def test_no_file_and_one_of_another_kind_are_refused(desk: Desk) -> None:
    for kind in ("breeds", "asks"):
        assert "Choose a file first." in refused(desk.post(f"/desk/own/{kind}"))
        assert "ends in .toml" in refused(desk.bring(kind, "fen-hound.exe", BREED))
    assert desk.files() == []


HOSTILE = {
    "../../../etc/fen.toml": "fen",
    "..\\..\\fen.toml": "fen",
    "/etc/cron.d/fen.toml": "fen",
    "C:\\Windows\\fen.toml": "fen",
    "...toml": "own-breed",
    ".toml": "own-breed",
    "con.toml": "con-breed",
    "COM1.TOML": "com1-breed",
    "fen\x00.toml": "fen",
    "fen\r\nSet-Cookie: a=b.toml": "fen-set-cookie-a-b",
    "<script>alert(1)<.toml": "script-alert-1",
    "Fén Höund.toml": "fen-hound",
    "犬.toml": "own-breed",
    "fen.hound.toml": "fen-hound",
    "fen-hound (12).toml": "fen-hound",
    "x" * 300 + ".toml": "x" * 50,
    "own-fen.toml": "own-fen",
}


@pytest.mark.parametrize(("name", "kept"), HOSTILE.items())
def test_a_hostile_name_becomes_a_harmless_one(name: str, kept: str) -> None:
    assert own_name(name) == kept


@pytest.mark.parametrize("name", ["../../book.toml", "..\\up.toml", "><b>x.toml", "/etc/x.toml"])
def test_a_hostile_name_stays_in_the_folder(name: str, desk: Desk, tmp_path: Path) -> None:
    taken(desk.bring("breeds", name, BREED))
    assert desk.files() == [f"{own_name(name)}.toml"]
    assert {path.name for path in tmp_path.iterdir()} <= {
        OWN_BREEDS, FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"
    }  # fmt: skip
    assert "<b>x" not in desk.get("/desk/own").text


@pytest.mark.parametrize(
    "path", ["..%2F..%2Fbook.db", "../book", "%2e%2e/book", "fen-hound.2026-01-01-000000.toml.old"]
)
def test_nothing_else_is_given_out(path: str, desk: Desk, tmp_path: Path) -> None:
    put(tmp_path, "book.toml")
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    for address in (f"/desk/own/breeds/{path}", f"/desk/own/breeds/{path}.toml"):
        assert desk.get(address).status_code == 404
    assert desk.post(f"/desk/own/breeds/{path}/remove").status_code == 404
    assert desk.files() == ["fen-hound.toml"]


@pytest.mark.parametrize("token", ["", "wrong"])
@pytest.mark.parametrize("path", ["breeds", "asks", "breeds/fen-hound/remove"])
def test_without_the_token(path: str, token: str, desk: Desk, book: Book) -> None:
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    build = desk.build()
    for content in (BREED + "#", ASKS):
        sent = (io.BytesIO(content.encode()), "other.toml")
        response = desk.post(f"/desk/own/{path}", token, file=sent)
        assert (response.status_code, response.get_json()["code"]) == (400, "csrf")
    assert (desk.build(), desk.files()) == (build, ["fen-hound.toml"])
    with book.session():
        assert book.newest() == 0


def test_who_is_not_paired_sees_and_changes_nothing(tmp_path: Path, book: Book) -> None:
    closed = Desk(create_app(Settings(tmp_path, PORT), book, SHIPPED), tmp_path)
    for path in ("/desk/own", "/desk/sources", "/desk/own/asks.toml"):
        assert closed.get(path).status_code == 303
    token = closed.get("/api/session").get_json()["csrf"]
    assert closed.bring("breeds", "fen-hound.toml", BREED, token=token).status_code == 401
    assert closed.files() == []


def test_a_file_put_there_by_hand_is_shown_with_what_is_wrong(
    tmp_path: Path, book: Book, folder: Path
) -> None:
    put(folder, "bad-hound.toml", BREED + 'sayz = "x"\n')
    put(folder, "Fen Hound.toml")
    known = load(own=folder)
    desk = Desk(create_app(Settings(tmp_path, PORT, is_open=True), book, known), tmp_path)
    page = desk.get("/desk/own").text
    assert "sayz: is not a key we know" in page
    assert "use small letters" in page
    assert "was left out" in desk.get("/desk").text
    taken(desk.post("/desk/own/breeds/bad-hound/remove"))
    assert "sayz" not in desk.get("/desk/own").text


def test_what_one_process_takes_in_another_serves(tmp_path: Path, desk: Desk, book: Book) -> None:
    """Two processes on one book share its folder: so does whoever copies a file into it."""
    other = Desk(create_app(Settings(tmp_path, PORT, is_open=True), book, SHIPPED), tmp_path)
    before = other.build()
    taken(desk.bring("breeds", "fen-hound.toml", BREED))
    assert "own-fen-hound" in other.breeds()
    assert other.build() == desk.build() != before
    (tmp_path / OWN_BREEDS / "fen-hound.toml").unlink()
    assert "own-fen-hound" not in desk.breeds() | other.breeds()
    assert other.build() == desk.build() == before


@pytest.mark.parametrize("fault", [KnowledgeError(["cues.toml: gone"]), RuntimeError("a bug")])
@pytest.mark.parametrize("has_older", [False, True])
def test_if_the_app_cannot_go_on_with_it_everything_is_as_before(
    fault: Exception, has_older: bool, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    if has_older:
        taken(desk.bring("breeds", "fen-hound.toml", BREED))
    before = desk.build(), desk.files()

    def failing(**_: Any) -> Knowledge:
        raise fault

    monkeypatch.setattr(library_module, "load", failing)
    expected = 422 if isinstance(fault, KnowledgeError) else 500
    response = desk.bring("breeds", "fen-hound.toml", BREED + "# newer\n")
    assert response.status_code == expected
    if has_older:
        assert desk.post("/desk/own/breeds/fen-hound/remove").status_code == expected
        kept = [desk.folder / name for name in desk.files()]
        assert BREED in [path.read_text(encoding="utf-8") for path in kept]
    assert (desk.build(), desk.files()) == before


# --- own asks


def rows(text: str) -> list[dict[str, str]]:
    asks: list[dict[str, str]] = tomllib.loads(text)["ask"]
    return sorted(asks, key=lambda ask: tuple(ask.values()))


def test_asks_are_taken_in_once_and_given_out_again(desk: Desk, book: Book) -> None:
    taken(desk.bring("asks", "mine.toml", ASKS))
    assert "2 own asks added." in desk.get("/desk/own").text
    given_out = desk.get("/desk/own/asks.toml")
    assert rows(given_out.text) == rows(ASKS)
    with book.session():
        newest = book.newest()
    taken(desk.bring("asks", "mine.toml", ASKS))
    taken(desk.bring("asks", "own-asks.toml", given_out.data))
    assert "That file has nothing new." in desk.get("/desk/own").text
    taken(desk.bring("asks", "more.toml", ASKS + ASKS + ASKS.replace("pug", "boxer")))
    assert "Dry the wrinkles." in desk.get("/desk/own").text
    with book.session():
        assert len(own_asks(book)) == 3
        assert newest == 6
        assert book.newest() == 9


def test_asks_of_the_desk_reach_a_phone_and_are_changes_of_one_device(book: Book) -> None:
    with book.session():
        add_asks(book, rows(ASKS), NOW)
        add_asks(book, rows(ASKS.replace("pug", "boxer")), NOW - 60_000)  # a clock set back
        changes = book.page("").changes
        assert {change["kind"] for change in changes} == {"ask"}
        assert len({change["device"] for change in changes}) == 1
        stamps = [change["stamp"] for change in changes]
        assert stamps == sorted(set(stamps))
        assert len({change["record"] for change in changes}) == 4 - 1
        before = own_asks(book)
        book.rebuild()
        assert own_asks(book) == before


def test_an_ask_that_was_removed_can_be_taken_in_again(book: Book) -> None:
    with book.session():
        add_asks(book, rows(ASKS), NOW)
        record = next(iter(book.records("ask")))
        device = str(uuid6.uuid7())
        gone = {
            "id": str(uuid6.uuid7()), "kind": "ask", "record": record, "field": "deleted",
            "value": True, "stamp": f"{NOW + 1:012x}-0000-{device[-12:]}", "base": "",
            "device": device,
        }  # fmt: skip
        assert book.append([gone], NOW + 1).taken
        assert len(own_asks(book)) == 1
        assert add_asks(book, rows(ASKS), NOW + 2) == 1
        assert own_asks(book) == rows(ASKS)


BAD_ASKS = {
    "an unknown station": (spoil(ASKS, '"head"', '"nostril"'), "there is no station"),
    "an unknown key": (ASKS + 'weight = "required"\n', "weight: is not a key we know"),
    "no words": (spoil(ASKS, 'says = "Dry the wrinkles."', ""), "says: is missing"),
    "empty words": (spoil(ASKS, "Dry the wrinkles.", ""), "at least 1 character"),
    "a breed of 61 characters": (spoil(ASKS, '"pug"', f'"{"x" * 61}"'), "shorten it to 60"),
    "a breed of two lines": (spoil(ASKS, '"pug"', '"pu\\ng"'), "keep it to one line"),
    "words of 64 kB and one": (spoil(ASKS, "Dry the wrinkles.", "x" * 65_537), "the limit is"),
    "a number for words": (spoil(ASKS, '"Dry the wrinkles."', "7"), "valid string"),
    "a file of nothing": ("", "ask: is missing"),
    "a breed": (BREED, "is not a key we know"),
    "bad TOML": (ASKS + "[[", "not readable as TOML"),
    "not UTF-8": (ASKS.encode() + b"\xff", "not readable as TOML"),
}


@pytest.mark.parametrize("case", BAD_ASKS)
def test_asks_that_cannot_be_kept_are_refused_together(case: str, desk: Desk, book: Book) -> None:
    content, problem = BAD_ASKS[case]
    assert problem in refused(desk.bring("asks", "mine.toml", content))
    with book.session():
        assert book.newest() == 0


def test_a_book_without_asks_gives_out_a_file_that_can_be_taken_in(desk: Desk) -> None:
    given_out = desk.get("/desk/own/asks.toml")
    assert rows(given_out.text) == []
    taken(desk.bring("asks", "own-asks.toml", given_out.data))


WORDS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), min_size=1)
LINES = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=60)


@settings(deadline=None)  # a busy machine is no finding
@given(
    st.lists(
        st.fixed_dictionaries(
            {"breed": LINES, "station": st.sampled_from(sorted(STATIONS)), "says": WORDS}
        )
    )
)
def test_any_asks_survive_the_file(asks: list[dict[str, str]]) -> None:
    assert read_asks(as_toml(asks).encode(), STATIONS) == (asks, [])


def test_marks_of_the_markup_are_words(desk: Desk) -> None:
    taken(desk.bring("asks", "mine.toml", spoil(ASKS, "Dry the", "<b onclick=x>Dry</b> the")))
    page = desk.get("/desk/own").text
    assert "<b onclick" not in page
    assert "&lt;b onclick" in page


# --- the sources


def test_the_sources_are_listed_by_body_with_all_that_is_known(desk: Desk) -> None:
    page = desk.get("/desk/sources").text
    data = desk.get(f"/static/{desk.build()}/sources.json").get_json()
    headings = re.findall(r'<h2 id="([^"]+)"[^>]*>([^<]+)</h2>', page)
    names = [name.replace("&amp;", "&") for _, name in headings]
    assert names == sorted({row["body"] for row in data["sources"]}, key=str.casefold)
    assert page.count("<h3>") == len(data["sources"])
    assert len({anchor for anchor, _ in headings}) == len(headings)
    assert all(f'href="#{anchor}"' in page for anchor, _ in headings)
    for count in (len(data["sources"]), data["common"], data["memory"]):
        assert f"<dd>{count}</dd>" in page
    for row in data["sources"]:
        assert not row.get("address") or f'href="{row["address"].replace("&", "&amp;")}"' in page
    assert 'href="/desk/sources"' in desk.get("/desk").text


def test_what_changed_in_the_rules_is_told_with_its_clause(desk: Desk) -> None:
    page = desk.get("/desk/sources").text
    changes = [row for rules in SHIPPED.regulations.values() for row in rules.change]
    assert len(changes) > 10
    for row in changes:
        assert row.says in html.unescape(page)
        assert row.clause in html.unescape(page)
    assert page.index("A second way to Champion") < page.index("A new scale for the Junior Warrant")


def test_a_body_of_many_names_has_an_anchor(tmp_path: Path, book: Book) -> None:
    standard = SHIPPED.sources[next(iter(SHIPPED.sources))]
    odd = {name: standard.model_copy(update={"body": name}) for name in ("Ω & Söhne <b>", "犬")}
    known = replace(SHIPPED, sources=odd)
    desk = Desk(create_app(Settings(tmp_path, PORT, is_open=True), book, known), tmp_path)
    page = desk.get("/desk/sources").text
    assert "<b>" not in page
    assert 'id="犬"' in page
