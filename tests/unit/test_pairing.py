"""The door of a closed book: codes, tokens, roles, and who gets nothing at all."""

from __future__ import annotations

import hmac
import html
import ipaddress
import json
import logging
import os
import re
import sqlite3
import stat
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import uuid6
from flask import Flask
from werkzeug.test import TestResponse

from ringside import cli
from ringside.app import Settings, create_app
from ringside.book import devices as rules
from ringside.book.devices import (
    ALPHABET,
    HELPER,
    HOUR,
    LIFE,
    MINUTE,
    MOST_BY_ADDRESS,
    MOST_IN_ALL,
    MOST_TRIES,
    OWNER,
    Devices,
    Holder,
    Offer,
    Paired,
    Refused,
    as_name,
    network,
)
from ringside.book.keeping import open_book
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book
from ringside.cli.pair import show_link
from ringside.cli.serve import open_in_browser
from ringside.demo import fill
from ringside.knowledge import Knowledge
from ringside.web import library, pairing
from ringside.web.pocket import Edition, publish
from tests.known import shipped
from tests.unit.phone import HOME, PORT, Phone

NOW = 1_800_000_000_000
HERE, THERE = "192.168.1.20", "192.168.1.21"
PHONE, OTHER = str(uuid6.uuid7()), str(uuid6.uuid7())
in_a_file = pytest.mark.parametrize("new_database", ["sqlite"], indirect=True)
SECRET_NOTE = "Left hock turns out when he is tired"


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


@pytest.fixture
def book(tmp_path: Path, new_database: Callable[[], str]) -> Iterator[Book]:
    book = open_book(Place(tmp_path / "data", new_database()))
    with book.session():
        yield book
    book.close()


@pytest.fixture
def door(book: Book) -> Devices:
    return Devices(book)


def let_in(door: Devices, device: str = PHONE, role: str = OWNER, now: int = NOW) -> str:
    """Pair a device; gives its token."""
    answer = door.pair(door.offer(role, now).typed, device, "A phone", HERE, now)
    assert isinstance(answer, Paired)
    assert answer.role == role
    return answer.token


def why_not(
    door: Devices, code: str, address: str = HERE, now: int = NOW, device: str = PHONE
) -> Refused:
    answer = door.pair(code, device, "A phone", address, now)
    assert isinstance(answer, Refused), "it was let in"
    return answer


def wrong(number: int = 0) -> str:
    """A code to type that nobody was given: they are drawn, and this one would be a wonder."""
    return f"{number:0>8}"


# --- Codes


def test_codes_are_drawn_from_signs_that_cannot_be_taken_for_others(door: Devices) -> None:
    assert len(set(ALPHABET)) == 32
    assert not set(ALPHABET) & set("OILU")
    offers = [door.offer(OWNER, NOW) for _ in range(50)]
    assert {len(offer.typed) for offer in offers} == {8}
    assert min(len(offer.link) for offer in offers) * 5 >= 128
    assert set("".join(offer.typed + offer.link for offer in offers)) <= set(ALPHABET)
    assert len({offer.typed for offer in offers} | {offer.link for offer in offers}) == 100


@pytest.mark.parametrize("first", ["typed", "link"])
@pytest.mark.parametrize("second", ["typed", "link"])
def test_a_code_works_once_by_whichever_way(door: Devices, first: str, second: str) -> None:
    offer = door.offer(OWNER, NOW)
    assert isinstance(door.pair(getattr(offer, first), PHONE, "", HERE, NOW), Paired)
    assert why_not(door, getattr(offer, second), device=OTHER).code == "used-code"
    assert len(door.all()) == 1


@pytest.mark.parametrize("way", ["typed", "link"])
def test_a_code_lives_ten_minutes(door: Devices, way: str) -> None:
    offer = door.offer(OWNER, NOW)
    assert offer.ends == NOW + 10 * MINUTE == NOW + LIFE
    late = why_not(door, getattr(offer, way), now=NOW + LIFE)
    assert late.code == "expired-code"
    in_time = door.pair(getattr(offer, way), PHONE, "", HERE, NOW + LIFE - 1)
    assert isinstance(in_time, Paired)


def test_a_code_is_read_as_people_type_it(door: Devices) -> None:
    made = "10AB-0CD1"
    for typed in ("10ab0cd1", " 10AB 0CD1 ", "lOab-oCDi", "IoAB0cdL", made):
        assert rules.as_code(typed) == "10AB0CD1"
    offer = door.offer(OWNER, NOW)
    assert isinstance(door.pair(f" {offer.shown.lower()}\n", PHONE, "", HERE, NOW), Paired)


def test_the_same_moment_lets_one_in(door: Devices, book: Book) -> None:
    code = door.offer(OWNER, NOW).typed
    start, answers = threading.Barrier(6), []

    def hurry(device: str) -> None:
        with book.session():
            start.wait()
            answers.append(door.pair(code, device, "", HERE, NOW))
        book.close()

    threads = [threading.Thread(target=hurry, args=(str(uuid6.uuid7()),)) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(isinstance(answer, Paired) for answer in answers) == 1
    assert len(door.all()) == 1


# --- How often one may try


def test_five_wrong_codes_wear_out_what_is_typed_but_not_the_link(door: Devices) -> None:
    offer = door.offer(OWNER, NOW)
    for number in range(MOST_TRIES):
        assert why_not(door, wrong(number)).code == "wrong-code"
    assert why_not(door, offer.typed).code == "used-up-code"
    assert isinstance(door.pair(offer.link, PHONE, "", HERE, NOW), Paired)


def test_four_wrong_codes_do_not(door: Devices) -> None:
    offer = door.offer(OWNER, NOW)
    for number in range(MOST_TRIES - 1):
        why_not(door, wrong(number))
    assert isinstance(door.pair(offer.typed, PHONE, "", HERE, NOW), Paired)


@pytest.mark.parametrize("guess", [wrong(), "W" * 28])
def test_an_address_may_be_wrong_twenty_times_an_hour(door: Devices, guess: str) -> None:
    for number in range(MOST_BY_ADDRESS):
        assert why_not(door, guess, now=NOW + number).code == "wrong-code"
    later = NOW + 20 * MINUTE
    offer = door.offer(OWNER, later)
    for code in (offer.typed, offer.link, guess):
        refused = why_not(door, code, now=later)
        assert refused.code == "too-many"
        assert refused.wait == NOW + HOUR - later
        assert refused.message == "Too many wrong codes. Try again in 40 minutes."
    elsewhere = door.pair(offer.link, PHONE, "", THERE, later)
    assert isinstance(elsewhere, Paired)
    # What was refused unread does not count, so the wait ends when it was said to end.
    again = NOW + HOUR
    assert isinstance(door.pair(door.offer(OWNER, again).typed, PHONE, "", HERE, again), Paired)


def test_codes_typed_are_limited_in_all(door: Devices, book: Book) -> None:
    for number in range(MOST_IN_ALL):
        address = f"10.0.{number}.1"
        assert why_not(door, wrong(number), address=address).code == "wrong-code"
    offer = door.offer(OWNER, NOW + 1)
    refused = why_not(door, offer.typed, address=THERE, now=NOW + 1)
    assert refused.code == "too-many"
    assert refused.wait == HOUR - 1
    # Guessers cannot fill the book either.
    assert book.rows("SELECT COUNT(*) FROM attempt") == [(MOST_IN_ALL,)]
    # And they do not shut the door to a link, which nobody can guess.
    assert isinstance(door.pair(offer.link, PHONE, "", THERE, NOW + 1), Paired)


def test_one_line_with_many_addresses_counts_as_one(door: Devices) -> None:
    for number in range(MOST_BY_ADDRESS):
        why_not(door, wrong(number), address=f"2001:db8:1:2::{number:x}")
    code = door.offer(OWNER, NOW).link
    assert why_not(door, code, address="2001:db8:1:2:ffff::1").code == "too-many"
    assert isinstance(door.pair(code, PHONE, "", "2001:db8:1:3::1", NOW), Paired)


@pytest.mark.parametrize(
    ("address", "counted"),
    [
        (HERE, HERE),
        (f"::ffff:{HERE}", HERE),
        ("fe80::1%eth0", "fe80::/64"),
        ("::1", "::/64"),
        ("", "unknown"),
        ("a socket", "unknown"),
    ],
)
def test_what_counts_as_one_address(address: str, counted: str) -> None:
    assert network(address) == counted


def test_a_clock_set_back_shuts_nobody_out(door: Devices) -> None:
    for number in range(MOST_BY_ADDRESS):
        why_not(door, wrong(number), now=NOW + 9 * HOUR)
    assert let_in(door)


# --- Tokens


def test_a_token_is_256_random_bits_and_new_each_time(door: Devices) -> None:
    first = let_in(door)
    second = let_in(door)
    assert first != second
    assert {len(token.partition(".")[2]) for token in (first, second)} == {43}  # 256 bits
    assert door.holder(first) is None
    assert door.holder(second) == Holder(PHONE, OWNER, is_revoked=False)
    assert len(door.all()) == 1


def test_a_token_belongs_to_one_device(door: Devices) -> None:
    mine, yours = let_in(door), let_in(door, OTHER)
    assert door.holder(f"{OTHER}.{mine.partition('.')[2]}") is None
    near = (mine[:-1], mine + "x", mine.upper(), f"{PHONE}.", PHONE)
    for token in (*near, "", ".", "\ud800.\ud800"):
        assert door.holder(token) is None
    assert door.holder(yours) == Holder(OTHER, OWNER, is_revoked=False)


def test_tokens_are_compared_in_constant_time(
    door: Devices, monkeypatch: pytest.MonkeyPatch
) -> None:
    token = let_in(door)
    compared = []

    def compare(one: str, other: str) -> bool:
        compared.append((one, other))
        return False

    monkeypatch.setattr(hmac, "compare_digest", compare)
    assert door.holder(token) is None
    assert len(compared) == 1


@in_a_file
def test_no_code_and_no_token_is_in_the_book_in_clear(door: Devices, book: Book) -> None:
    offers = [door.offer(role, NOW) for role in (OWNER, HELPER) for _ in range(3)]
    tokens = [let_in(door), let_in(door, OTHER, HELPER)]
    why_not(door, "SECRETGUESS")
    secrets = [text for offer in offers for text in (offer.typed, offer.link, offer.shown)]
    secrets += [part for token in tokens for part in (token, token.partition(".")[2])]
    files = [path.read_bytes() for path in book.place.data.iterdir()]
    assert len(files) == 3  # the book, its log and what the log's readers share
    for text in [*secrets, "SECRETGUESS"]:
        assert not any(text.encode() in body for body in files)


def test_the_hash_needs_the_books_own_secret(tmp_path: Path) -> None:
    hashes = set()
    for name in ("one", "other"):
        book = open_book(Place(tmp_path / name))
        with book.session():
            hashes.add(Devices(book)._hash("code", "AAAA0000"))
            assert Devices(book)._hash("token", "AAAA0000") not in hashes
        book.close()
    assert len(hashes) == 2


# --- Who is on the list


def test_a_revoked_device_is_told_so_and_may_be_paired_again(door: Devices) -> None:
    token = let_in(door)
    door.revoke(PHONE, NOW + 5)
    assert door.holder(token) == Holder(PHONE, OWNER, is_revoked=True)
    assert [device.revoked for device in door.all()] == [NOW + 5]
    door.revoke(PHONE, NOW + 9)
    assert [device.revoked for device in door.all()] == [NOW + 5]
    again = let_in(door, role=HELPER, now=NOW + 10)
    assert door.holder(token) is None
    assert door.holder(again) == Holder(PHONE, HELPER, is_revoked=False)


def test_codes_that_a_revoked_device_may_know_are_void(door: Devices) -> None:
    let_in(door)
    known = door.offer(OWNER, NOW)
    door.revoke(PHONE, NOW)
    assert why_not(door, known.typed).code == "used-code"
    assert why_not(door, known.link).code == "used-code"


def test_a_helpers_code_does_not_take_an_owners_place(door: Devices) -> None:
    owners = let_in(door)
    code = door.offer(HELPER, NOW)
    assert why_not(door, code.typed, device=PHONE).code == "owners-phone"
    assert door.holder(owners) == Holder(PHONE, OWNER, is_revoked=False)
    assert isinstance(door.pair(code.typed, OTHER, "", HERE, NOW), Paired)
    assert let_in(door, OTHER, OWNER)  # the other way round it is what an owner wants


def test_when_a_device_was_seen_is_noted_now_and_then(door: Devices) -> None:
    let_in(door)
    for passed, seen in ((1, 0), (4, 0), (5, 5), (6, 5), (60, 60)):
        door.saw(PHONE, NOW + passed * MINUTE)
        assert door.all()[0].seen == NOW + seen * MINUTE


def test_a_wrong_clock_leaves_no_device_seen_in_the_future(door: Devices) -> None:
    let_in(door, now=NOW + 90 * MINUTE)
    door.saw(PHONE, NOW)
    assert door.all()[0].seen == NOW


@pytest.mark.parametrize("role", [OWNER, HELPER])
def test_a_code_sent_with_anothers_id_voids_nobodys_token(door: Devices, role: str) -> None:
    """Everybody in the book can read a phone's id; only that phone knows its key."""
    code = door.offer(role, NOW).typed
    theirs = door.pair(code, PHONE, "Theirs", HERE, NOW, "their-key")
    assert isinstance(theirs, Paired)
    for key in ("", "another-key"):
        code = door.offer(role, NOW).typed
        answer = door.pair(code, PHONE, "Mine", HERE, NOW, key)
        assert isinstance(answer, Refused)
        assert answer.code == "anothers-id"
        holder = door.holder(theirs.token)
        assert holder is not None
        assert not holder.is_revoked
        # The code is not spent: with an id of its own the phone is let in.
        assert isinstance(door.pair(code, OTHER, "Mine", HERE, NOW, key or "k"), Paired)
        door.revoke(OTHER, NOW)
        door.book.rows("DELETE FROM device WHERE id = ?", OTHER)
    again = door.pair(door.offer(role, NOW).typed, PHONE, "Theirs", HERE, NOW, "their-key")
    assert isinstance(again, Paired)


def test_a_phone_of_an_older_app_gives_its_key_when_it_pairs_anew(door: Devices) -> None:
    let_in(door)  # without one
    assert isinstance(door.pair(door.offer(OWNER, NOW).typed, PHONE, "", HERE, NOW, "key"), Paired)
    answer = door.pair(door.offer(OWNER, NOW).typed, PHONE, "", HERE, NOW, "other")
    assert isinstance(answer, Refused)


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("  Robin's\tphone \n", "Robin's phone"),
        ("", "A phone with no name"),
        ("\u202e\x00\ud800", "A phone with no name"),
        ("<b>x</b>", "<b>x</b>"),
        ("é" * 90, "é" * 40),
    ],
)
def test_names_are_one_line_that_can_be_shown(given: str, shown: str) -> None:
    assert as_name(given) == shown


def test_a_book_from_before_gets_the_tables(tmp_path: Path) -> None:
    open_book(Place(tmp_path)).close()
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as db:
        for table in rules.TABLES:
            db.execute(f"DROP TABLE {table._meta.table_name}")
        db.commit()
    book = open_book(Place(tmp_path))
    with book.session():
        assert let_in(Devices(book))
    book.close()


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps files apart by user folders")
def test_nobody_else_on_the_machine_can_read_the_book(tmp_path: Path) -> None:
    def modes(folder: Path) -> dict[str, int]:
        return {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}

    before = os.umask(0)
    try:
        book = open_book(Place(tmp_path / "new"))
        with book.session():
            let_in(Devices(book))
            kept = modes(tmp_path / "new")
            assert set(kept.values()) == {0o600}
            assert len(kept) == 3
            assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o700
        book.close()
        book.place.file.chmod(0o644)  # as a careless copy leaves it
        again = open_book(book.place)
        with again.session():
            assert set(modes(tmp_path / "new").values()) == {0o600}
        again.close()
    finally:
        os.umask(before)


# --- Over HTTP


@pytest.fixture(scope="module")
def make_edition() -> Callable[[Flask, Knowledge], Edition]:
    """Build the app for the pocket once for all tests: it is the same for everybody."""
    made: list[Edition] = []

    def make(app: Flask, knowledge: Knowledge) -> Edition:
        if not made:
            made.append(publish(app, knowledge))
        return made[0]

    return make


@pytest.fixture
def app(
    book: Book,
    knowledge: Knowledge,
    make_edition: Callable[[Flask, Knowledge], Edition],
    monkeypatch: pytest.MonkeyPatch,
) -> Flask:
    monkeypatch.setattr(library, "publish", make_edition)
    return create_app(Settings(book.place.data, PORT), book, knowledge)


@pytest.fixture
def stranger(app: Flask) -> Phone:
    return Phone(app)


@pytest.fixture
def paired(app: Flask, door: Devices) -> Callable[..., Phone]:
    def make(device: str = PHONE, role: str = OWNER, base: str = HOME) -> Phone:
        phone = Phone(app, device, base)
        answer = phone.pair(door.offer(role, time.time_ns() // 1_000_000).typed)
        assert answer.status_code == 200, answer.text
        assert answer.get_json() == {"role": role, "book": door.book.id}
        return phone

    return make


def refusal(response: TestResponse, status: int, code: str) -> dict[str, Any]:
    assert response.status_code == status, response.text
    answer: dict[str, Any] = response.get_json()
    assert answer["code"] == code
    assert re.fullmatch(r"[^{}<>]{5,200}\.", answer["message"])
    return answer


def clock(monkeypatch: pytest.MonkeyPatch, now: int) -> None:
    monkeypatch.setattr(pairing, "clock", SimpleNamespace(wall=lambda: now))


def test_the_session_says_who_asks(
    paired: Callable[..., Phone], stranger: Phone, door: Devices
) -> None:
    unknown = stranger.session()
    assert unknown.keys() == {"csrf", "now", "code", "message"}
    assert unknown["code"] == "not-paired"
    phone = paired(role=HELPER)
    known = phone.session()
    assert known.keys() == {"csrf", "now", "book", "device", "role"}
    assert (known["book"], known["device"], known["role"]) == (door.book.id, PHONE, HELPER)
    door.revoke(PHONE, NOW)
    revoked = phone.session()
    assert revoked.keys() == unknown.keys()
    assert revoked["code"] == "revoked"


def test_the_token_is_where_no_script_finds_it(paired: Callable[..., Phone]) -> None:
    phone = paired()
    given = phone.get("/api/session").headers.getlist("Set-Cookie")
    (cookie,) = [line for line in given if line.startswith(f"ringside-device-{PORT}={PHONE}.")]
    parts = {part.strip().partition("=")[0] for part in cookie.split(";")[1:]}
    assert {"HttpOnly", "SameSite", "Path", "Max-Age"} <= parts
    assert "SameSite=Strict" in cookie
    assert "Path=/" in cookie
    assert not {"Secure", "Domain"} & parts


def test_over_https_the_cookie_is_bound_to_the_host(app: Flask, door: Devices) -> None:
    phone = Phone(app, PHONE, base=f"https://localhost:{PORT}")
    answer = phone.pair(door.offer(OWNER, time.time_ns() // 1_000_000).link)
    (cookie,) = [
        line for line in answer.headers.getlist("Set-Cookie") if line.startswith("__Host-")
    ]
    for part in ("Secure", "HttpOnly", "Path=/", "SameSite=Strict"):
        assert part in cookie.split("; ")
    assert "Domain" not in cookie
    assert phone.session()["device"] == PHONE
    # A page without https cannot use it, whoever plants it there.
    phone.base = HOME
    assert phone.session()["code"] == "not-paired"


def test_what_was_planted_before_is_replaced(app: Flask, door: Devices) -> None:
    attackers = let_in(door, OTHER, now=time.time_ns() // 1_000_000)
    victim = Phone(app, PHONE)
    name = f"ringside-device-{PORT}"
    victim.client.set_cookie(name, attackers, domain="localhost")
    assert victim.session()["device"] == OTHER
    sessions = victim.client.get_cookie(f"ringside-{PORT}")
    assert sessions
    code = door.offer(OWNER, time.time_ns() // 1_000_000).typed
    assert victim.pair(code).status_code == 200
    mine = victim.client.get_cookie(name)
    assert mine
    assert mine.value.startswith(PHONE)
    assert attackers not in mine.value
    assert victim.session()["device"] == PHONE
    after = victim.client.get_cookie(f"ringside-{PORT}")
    assert after
    assert after.value != sessions.value
    assert door.holder(attackers) == Holder(OTHER, OWNER, is_revoked=False)


def test_a_wrong_a_used_and_a_late_code_are_told_apart(
    stranger: Phone, door: Devices, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock(monkeypatch, NOW)
    offer = door.offer(OWNER, NOW)
    refusal(stranger.pair(wrong()), 403, "wrong-code")
    assert stranger.pair(offer.typed).status_code == 200
    refusal(stranger.pair(offer.typed), 403, "used-code")
    late = door.offer(OWNER, NOW)
    clock(monkeypatch, NOW + LIFE)
    refusal(stranger.pair(late.link), 403, "expired-code")


def test_too_many_tries_are_told_when_to_come_back(
    stranger: Phone, door: Devices, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock(monkeypatch, NOW)
    for number in range(MOST_BY_ADDRESS):
        refusal(stranger.pair(wrong(number)), 403, "wrong-code")
    clock(monkeypatch, NOW + 59 * MINUTE)
    answer = stranger.pair(door.offer(OWNER, NOW).typed)
    assert refusal(answer, 429, "too-many")["wait"] == 60
    assert answer.headers["Retry-After"] == "60"
    assert "in a minute" in answer.get_json()["message"]
    assert stranger.session()["code"] == "not-paired"


MALFORMED: dict[str, Any] = {
    "not JSON": b"hello",
    "not UTF-8": b"\xff",
    "a list": [],
    "nothing": {},
    "no device": {"code": "x"},
    "device no UUID": {"code": "x", "device": "phone"},
    "device in upper case": {"code": "x", "device": PHONE.upper()},
    "no code": {"device": PHONE},
    "an empty code": {"code": "", "device": PHONE},
    "a code of numbers": {"code": 7, "device": PHONE},
    "a long code": {"code": "x" * 81, "device": PHONE},
    "half a character": {"code": "\ud800", "device": PHONE},
    "a long name": {"code": "x", "device": PHONE, "name": "x" * 201},
    "deeper than can be read": b"[" * 4000,
}


@pytest.mark.parametrize("case", MALFORMED)
def test_a_malformed_request_is_refused_in_a_sentence(case: str, stranger: Phone) -> None:
    answer = stranger.post("/api/pair", MALFORMED[case])
    assert answer.status_code == 400
    assert answer.get_json()["code"] == "malformed"


def test_a_long_body_is_not_read(stranger: Phone) -> None:
    refusal(stranger.post("/api/pair", b" " * 5000), 413, "too-large")


def test_pairing_carries_a_key_and_comes_from_our_own_page(stranger: Phone, door: Devices) -> None:
    code = door.offer(OWNER, time.time_ns() // 1_000_000).typed
    body = {"code": code, "device": PHONE, "name": ""}
    for key in ("", "wrong"):
        refusal(stranger.post("/api/pair", body, **{"X-CSRFToken": key}), 400, "csrf")
    foreign = {"Origin": "http://elsewhere.example"}
    refusal(stranger.post("/api/pair", body, **foreign), 403, "foreign")
    assert door.all() == []
    plain = stranger.client.post(
        "/api/pair",
        base_url=HOME,
        data=json.dumps(body),
        content_type="text/plain",
        headers={"X-CSRFToken": stranger.session()["csrf"]},
    )
    refusal(plain, 415, "not-json")
    assert stranger.pair(code).status_code == 200


# --- What a closed book gives out


def test_the_sync_wants_the_token_of_the_device_that_asks(
    paired: Callable[..., Phone], stranger: Phone, app: Flask, door: Devices
) -> None:
    refusal(stranger.sync(), 401, "not-paired")
    mine = paired()
    assert mine.sync().status_code == 200
    refusal(mine.sync(device=OTHER), 401, "not-paired")
    door.revoke(PHONE, NOW)
    made = mine.change("dog", str(uuid6.uuid7()), "name", "Juniper")
    refusal(mine.sync(made), 401, "revoked")
    assert door.book.newest() == 0


def test_nobody_writes_in_another_devices_name(paired: Callable[..., Phone], door: Devices) -> None:
    mine = paired(role=HELPER)
    forged = Phone(mine.client.application, OTHER).change(
        "dog", str(uuid6.uuid7()), "name", "Juniper"
    )
    (refused,) = mine.sync(forged).get_json()["refused"]
    assert refused["id"] == forged["id"]
    assert "Another device" in refused["reason"]
    assert door.book.newest() == 0


def paths(app: Flask) -> Iterator[tuple[str, str, str]]:
    """Every (endpoint, method, path) of the application, with something in each gap."""
    for rule in app.url_map.iter_rules():
        path = re.sub(r"<[^>]+>", "x", rule.rule)
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            yield rule.endpoint, method, path


# What the world may see: the app's own files, which hold nobody's data, the door, and a feed by its
# address (test_calendar.py).
OPEN = {"health.healthz", "pairing.who", "pairing.pair", "sync.sync", "calendar.feed"}
# What helpers may have too: the calendar without what is private (test_calendar.py), and the photos
# on the pages of dogs (test_photos.py).
HELPERS = {"calendar.everything", "calendar.one", "photos.give"}


@pytest.mark.parametrize("role", ["stranger", "helper", "revoked"])
def test_everything_else_is_closed(
    role: str, app: Flask, stranger: Phone, paired: Callable[..., Phone], door: Devices
) -> None:
    visitor = stranger if role == "stranger" else paired(role=HELPER)
    if role == "revoked":
        door.revoke(visitor.device, NOW)
    closed = [
        (method, path)
        for endpoint, method, path in paths(app)
        if endpoint not in OPEN | (HELPERS if role == "helper" else set())
        and not endpoint.startswith("pocket.")
    ]
    assert {("GET", "/desk"), ("GET", "/desk/devices"), ("POST", "/desk/devices/pair")} <= set(
        closed
    )
    for method, path in closed:
        if method == "GET":
            answer = visitor.get(path)
            if path.startswith("/api/"):
                assert answer.status_code == 401, path
                continue
            assert (answer.status_code, answer.headers["Location"]) == (303, "/#/pair"), path
        else:
            answer = visitor.submit(path, method)
            assert answer.status_code == (403 if role == "helper" else 401), path
    assert door.book.rows("SELECT COUNT(*) FROM code WHERE used IS NULL") == [(0,)]


def test_an_owner_sees_the_desk(paired: Callable[..., Phone]) -> None:
    owner = paired()
    assert owner.get("/desk").status_code == 200
    assert owner.get("/desk/devices").status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/desk?next=https://elsewhere.example/",
        "/desk/devices?next=//elsewhere.example",
        "/desk//elsewhere.example",
        "//elsewhere.example/desk",
        "/desk/..//elsewhere.example",
        "/desk/devices/\\elsewhere.example",
        "/desk/devices/%0d%0aLocation:%20https://elsewhere.example",
    ],
)
def test_nobody_is_sent_on_to_elsewhere(
    path: str, stranger: Phone, paired: Callable[..., Phone]
) -> None:
    for visitor in (stranger, paired()):
        answer = visitor.get(path)
        target = answer.headers.get("Location", "/#/pair")
        assert target == "/#/pair" or target.startswith((f"{HOME}/", "/desk"))
        assert not target.startswith("//")
        assert len(answer.headers.getlist("Location")) <= 1
    for form in ("rename", "revoke"):
        owner = paired()
        fields = {"device": OTHER, "name": "x", "next": "https://elsewhere.example/"}
        answer = owner.submit(f"/desk/devices/{form}?next=https://elsewhere.example/", **fields)
        assert answer.headers["Location"] == "/desk/devices"


# --- A helper


def test_a_helper_never_receives_a_note(paired: Callable[..., Phone], book: Book) -> None:
    owner, helper = paired(OTHER), paired(role=HELPER)
    dog, note = str(uuid6.uuid7()), str(uuid6.uuid7())
    made = []
    for number in range(4):
        made += [
            owner.change("dog", dog, "pedigree", f"Marrowby {number}"),
            owner.change("note", note, "text", f"{SECRET_NOTE} {number}"),
        ]
    made += [owner.change("note", note, "dog", dog), owner.change("note", note, "station", "knees")]
    assert len(owner.sync(*made).get_json()["taken"]) == len(made)

    hidden = [SECRET_NOTE, note, *(it["id"] for it in made if it["kind"] == "note")]

    def pull(**asked: Any) -> list[dict[str, Any]]:
        got, more = [], True
        while more:
            answer = helper.sync(**asked)
            assert not [part for part in hidden if part in answer.text]
            got += answer.get_json()["changes"]
            more = answer.get_json()["more"]
        return got

    assert [change["value"] for change in pull(most=1)] == [f"Marrowby {n}" for n in range(4)]
    # Nor does the cursor tell that there is something, or when it changes.
    assert pull() == []
    before = helper.cursor
    owner.sync(owner.change("note", note, "text", f"{SECRET_NOTE} again"))
    assert pull() == []
    assert helper.cursor == before
    helper.cursor = unknown_place = f"{uuid6.uuid7()}.1"
    assert helper.sync().get_json()["anew"]
    helper.cursor = unknown_place
    assert len(pull(packs={})) == 4
    for path in ("/desk", "/desk/devices"):
        assert SECRET_NOTE not in helper.get(path).text


def test_a_helpers_note_is_refused_with_a_reason(paired: Callable[..., Phone], book: Book) -> None:
    helper = paired(role=HELPER)
    record = str(uuid6.uuid7())
    note = helper.change("note", record, "text", "Mine")
    dog = helper.change("dog", record, "name", "Juniper")
    answer = helper.sync(note, dog, 7, {"kind": ["note"]}).get_json()
    assert answer["taken"] == [dog["id"]]
    reasons = {refused["id"]: refused["reason"] for refused in answer["refused"]}
    assert reasons[note["id"]] == "A helper cannot write a note; ask an owner of the book."
    assert book.records("note", with_deleted=True) == {}


def test_made_an_owner_the_helper_gets_what_was_hidden(
    paired: Callable[..., Phone], door: Devices
) -> None:
    owner, helper = paired(OTHER), paired(role=HELPER)
    owner.sync(owner.change("note", str(uuid6.uuid7()), "text", SECRET_NOTE))
    helper.sync()
    promoted = paired()
    promoted.cursor = ""  # as the app begins after each pairing
    assert SECRET_NOTE in promoted.sync().text


# --- The devices page


def shown(response: TestResponse) -> Offer:
    """The invitation on a page of the desk."""
    assert response.status_code == 200
    code = re.search(r'id="code">([^<]+)<', response.text)
    link = re.search(r'id="link">([^<]+)<', response.text)
    assert code
    assert link
    place, _, long = html.unescape(link[1]).partition("#/pair/")
    assert place == f"{HOME}/"
    return Offer(code[1].replace("-", ""), long, "", 0)


@pytest.mark.parametrize("role", [OWNER, HELPER])
@pytest.mark.parametrize("way", ["typed", "link"])
def test_the_desk_makes_a_code(
    role: str, way: str, paired: Callable[..., Phone], stranger: Phone
) -> None:
    owner = paired()
    answer = owner.submit("/desk/devices/pair", role=role)
    assert answer.headers["Cache-Control"] == "no-store"
    offer = shown(answer)
    picture = re.search(r"<svg.*?</svg>", answer.text, re.DOTALL)
    assert picture
    assert "style" not in picture[0]
    assert stranger.pair(getattr(offer, way), "Robin's phone").status_code == 200
    assert stranger.session()["role"] == role
    listed = owner.get("/desk/devices").text
    assert "Robin&#39;s phone" in listed
    assert offer.typed not in listed
    assert offer.link not in listed


def test_renaming_and_revoking(paired: Callable[..., Phone], door: Devices) -> None:
    owner, other = paired(), paired(OTHER)
    answer = owner.submit("/desk/devices/rename", device=OTHER, name="<script>alert(1)</script>")
    assert answer.status_code == 303
    assert "&lt;script&gt;" in owner.get("/desk/devices").text
    assert owner.submit("/desk/devices/revoke", device=OTHER).status_code == 303
    assert "Revoked" in owner.get("/desk/devices").text
    refusal(other.sync(), 401, "revoked")
    assert other.get("/desk").headers["Location"] == "/#/pair"
    assert owner.submit("/desk/devices/revoke", device=PHONE).status_code == 303
    assert owner.get("/desk").headers["Location"] == "/#/pair"


@pytest.mark.parametrize("form", ["pair", "rename", "revoke"])
def test_the_desks_forms_carry_a_key(
    form: str, paired: Callable[..., Phone], door: Devices
) -> None:
    owner = paired()
    fields = {"role": OWNER, "device": PHONE, "name": "New"}
    answer = owner.submit(f"/desk/devices/{form}", csrf_token="wrong", **fields)
    refusal(answer, 400, "csrf")
    foreign = owner.client.post(
        f"/desk/devices/{form}",
        base_url=HOME,
        data={"csrf_token": owner.session()["csrf"], **fields},
        headers={"Sec-Fetch-Site": "cross-site"},
    )
    refusal(foreign, 403, "foreign")
    assert [(device.name, device.revoked) for device in door.all()] == [("A phone", None)]


@pytest.mark.parametrize(
    ("form", "fields"),
    [
        ("pair", {"role": "king"}),
        ("pair", {}),
        ("rename", {"device": PHONE, "name": ""}),
        ("rename", {"device": PHONE, "name": "x" * 41}),
        ("rename", {"name": "x"}),
        ("revoke", {"device": "x"}),
        ("revoke", {}),
    ],
)
def test_a_form_filled_in_wrong_changes_nothing(
    form: str, fields: dict[str, str], paired: Callable[..., Phone], door: Devices
) -> None:
    answer = paired().submit(f"/desk/devices/{form}", **fields)
    assert answer.status_code == 400
    assert [(device.name, device.revoked) for device in door.all()] == [("A phone", None)]
    assert 'id="code"' not in answer.text


# --- What is written down


def test_no_code_and_no_token_is_logged(
    app: Flask,
    paired: Callable[..., Phone],
    caplog: pytest.LogCaptureFixture,
    capfd: pytest.CaptureFixture[str],
) -> None:
    caplog.set_level(logging.DEBUG)
    owner = paired()
    offer = shown(owner.submit("/desk/devices/pair", role=OWNER))
    guest = Phone(app, OTHER)
    guest.pair("WRONGGUESS")
    guest.pair(offer.link)
    guest.sync()
    token = guest.client.get_cookie(f"ringside-device-{PORT}")
    assert token
    printed = capfd.readouterr()
    written = caplog.text + printed.out + printed.err
    for secret in (offer.typed, offer.link, "WRONGGUESS", token.value.partition(".")[2]):
        assert secret not in written


# --- The demo, and the command line


def test_an_open_book_pairs_nobody_and_asks_for_nothing(book: Book, knowledge: Knowledge) -> None:
    fill(book)
    app = create_app(Settings(book.place.data, PORT, is_open=True), book, knowledge)
    phone = Phone(app, PHONE)
    session = phone.session()
    assert (session["book"], session["role"], session["device"]) == (book.id, OWNER, "")
    assert phone.sync().get_json()["changes"]
    assert phone.get("/desk").status_code == 200
    assert "need not pair anything" in phone.get("/desk/devices").text
    refusal(phone.pair("AAAA0000"), 409, "open")
    refusal(phone.submit("/desk/devices/pair", role=OWNER), 409, "open")


def test_settings_are_closed_unless_told() -> None:
    assert not Settings(Path(), PORT).is_open


@in_a_file
def test_the_demo_keeps_away_from_somebodys_book(
    book: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    phone = Phone(Flask("x"), PHONE)
    book.append([phone.change("dog", str(uuid6.uuid7()), "name", "Juniper")], NOW)
    mine = book.id
    book.close()
    assert cli.main(["demo", "--no-browser", "--data", str(book.place.data), "--port", "9"]) == 2
    assert "is not the demo's book" in capsys.readouterr().err
    with book.session():
        assert open_book(book.place).id == mine


@in_a_file
@pytest.mark.parametrize("role", [OWNER, HELPER])
def test_the_command_line_makes_a_code(
    role: str, door: Devices, book: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    door.served_at("https://kennel.local:8471/")
    assert cli.main(["pair", "--role", role, "--data", str(book.place.data)]) == 0
    printed = capsys.readouterr().out
    code = re.search(r"Code:\s+(\S{4}-\S{4})\s", printed)
    link = re.search(r"Pair:\s+https://kennel\.local:8471/#/pair/(\S+)\n", printed)
    assert code
    assert link
    assert "▄" in printed
    now = time.time_ns() // 1_000_000
    assert door.pair(code[1], PHONE, "", HERE, now) != rules.WRONG
    assert why_not(door, link[1], now=now).code == "used-code"
    assert [device.role for device in door.all()] == [role]


@in_a_file
def test_the_command_line_needs_a_book_that_is_served(
    tmp_path: Path, book: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["pair", "--data", str(tmp_path / "none")]) == 2
    assert "There is no book in" in capsys.readouterr().err
    assert not (tmp_path / "none").exists()
    assert cli.main(["pair", "--data", str(book.place.data)]) == 2
    assert "never been served" in capsys.readouterr().err


def test_limits_are_those_of_the_design() -> None:
    assert (MOST_TRIES, MOST_BY_ADDRESS, LIFE) == (5, 20, 600_000)
    assert MOST_IN_ALL * 24 * 365 < 2**40 / 1_000_000  # a year of guessing: one in a million
    assert ipaddress.ip_address(HERE).is_private


def test_the_link_stands_on_no_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a browser is started with is seen by everybody on the computer."""
    opened: list[str] = []
    monkeypatch.setattr("webbrowser.open", opened.append)
    for code in ("first", "second"):
        open_in_browser(f"http://localhost:1/#/pair/{code}", tmp_path)
        way = tmp_path / "way-in.html"
        assert opened.pop() == way.as_uri()
        assert f'url=http://localhost:1/#/pair/{code}"' in way.read_text(encoding="utf-8")
        assert os.name == "nt" or way.stat().st_mode & 0o777 == 0o600
    open_in_browser("http://localhost:1/", tmp_path)
    assert opened == ["http://localhost:1/"]


@in_a_file
def test_no_code_where_no_phone_can_be(
    door: Devices, book: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    """Served to this computer alone, its browser gets a link; a code would let no phone in."""
    offered = door.offer(OWNER, time.time_ns() // 1_000_000)
    link = show_link(offered, "http://localhost:8470/")
    assert link == f"http://localhost:8470/#/pair/{offered.link}"
    printed = capsys.readouterr().out
    assert f"Pair:    {link}  " in printed
    assert offered.shown not in printed
    assert "Code:" not in printed
