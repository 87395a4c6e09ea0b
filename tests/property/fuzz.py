"""Requests for the fuzz: valid ones, what is done to them, and the judge of the answers.

The judge knows of the server only what a visitor could know too: which codes are open, whose tokens
are good, and what the book holds. It never asks the code that it judges.
"""

from __future__ import annotations

import copy
import json
import re
import sqlite3
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import uuid6
from flask import Flask
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from ringside.book.devices import (
    HELPER,
    MINUTE,
    MOST_BY_ADDRESS,
    MOST_IN_ALL,
    OWNER,
    Devices,
    Paired,
)
from ringside.book.kinds import KINDS
from ringside.book.store import Book

PORT = 8470
HOME = f"http://localhost:{PORT}"
TOKEN = f"ringside-device-{PORT}"
SECRET = "Left hock turns out when he is tired"  # in a note: for owners alone
NAME = "Marrowby Juniper"  # in a dog: for devices that were let in

Json = Any
Step = str | int

# --- What a visitor may be: the name of an actor says which cookies it has

NOBODY, OWNERS, HELPERS, REVOKED = "nobody", "owner", "helper", "revoked"
ACTORS = (NOBODY, OWNERS, HELPERS, REVOKED)


@dataclass
class Actor:
    """A browser: its device, its token, and the session with the key that belongs to it."""

    device: str = field(default_factory=lambda: str(uuid6.uuid7()))
    token: str = ""
    session: str = ""
    csrf: str = ""


@dataclass(frozen=True)
class Request:
    """One request as it will be sent; `sent` is the code in it, where it asks to be let in."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes = b""
    address: str = "192.168.1.20"


WATCHED = {
    "change": "SELECT MAX(seq), COUNT(*), SUM(kind = 'note') FROM change",
    "device": "SELECT id, name, role, token, paired, revoked FROM device ORDER BY id",
    "code": "SELECT link, role, used FROM code ORDER BY link",
    "meta": "SELECT key, value FROM meta WHERE key NOT IN ('packed', 'strange') ORDER BY key",
    "contested": "SELECT COUNT(*) FROM contested",
    "blob": "SELECT COUNT(*) FROM blob",
}
WRITTEN = {"change": 0, "contested": 0}  # what a device that was let in may add to


class Kennel:
    """A served book with devices of every sort in it, and a clock that the fuzz moves."""

    def __init__(self, app: Flask, book: Book, now: int) -> None:
        self.app, self.book, self.now = app, book, now
        self.door = Devices(book)
        self.client = app.test_client(use_cookies=False)
        self.reader = sqlite3.connect(book.place.file)
        self._read: tuple[int, dict[str, list[Any]]] = -1, {}
        self.actors = {name: Actor() for name in ACTORS}
        self.good: dict[str, tuple[str, str]] = {}  # token: device, role
        self.codes: dict[str, str] = {}  # open code: role
        self.dead: list[str] = []  # codes that were used, or are over
        self.records = [str(uuid6.uuid7()) for _ in range(6)]
        self.seen: Counter[str] = Counter()  # what became of the requests
        self.fault = ""
        self.cursor = ""
        with book.session():
            for name, role in ((OWNERS, OWNER), (HELPERS, HELPER), (REVOKED, OWNER)):
                self._let_in(self.actors[name], role)
            self._write("note", "text", SECRET)
            self._write("dog", "name", NAME)
            self._revoke()
        for actor in self.actors.values():
            self._meet(actor)

    def _let_in(self, actor: Actor, role: str) -> None:
        paired = self.door.pair(
            self.door.offer(role, self.now).link, actor.device, "A phone", "10.0.0.1", self.now
        )
        assert isinstance(paired, Paired)
        actor.token = paired.token
        self.good[paired.token] = (actor.device, role)

    def _revoke(self) -> None:
        lost = self.actors[REVOKED]
        with self.book.session():
            self.door.revoke(lost.device, self.now)
        self.good.pop(lost.token, None)

    def _write(self, kind: str, name: str, value: Json) -> None:
        made = change(self.actors[OWNERS].device, kind, self.records[0], name, value)
        assert self.book.append([made], self.now).taken

    def _meet(self, actor: Actor) -> None:
        answer = self.client.get("/api/session", base_url=HOME, headers=cookies(actor))
        actor.csrf = answer.get_json()["csrf"]
        for line in answer.headers.getlist("Set-Cookie"):
            name, _, value = line.partition(";")[0].partition("=")
            if name == f"ringside-{PORT}":
                actor.session = value

    def offer(self, role: str, way: str) -> str:
        """Return a code that is open now."""
        with self.book.session():
            made = self.door.offer(role, self.now)
        self.codes |= {made.typed: role, made.link: role}
        return str(getattr(made, way))

    def rows(self) -> dict[str, list[Any]]:
        """Return what a stranger must not change: read past the server's own code, and anew
        whenever SQLite says that anybody else has written."""
        (version,) = self.reader.execute("PRAGMA data_version").fetchone()
        if version != self._read[0]:
            found = {name: self.reader.execute(sql).fetchall() for name, sql in WATCHED.items()}
            self._read = version, found
        return self._read[1]

    def send(self, request: Request) -> TestResponse:
        """Send a request as its bytes say, whatever they say."""
        return self.client.open(
            request.path,
            method=request.method,
            base_url=HOME,
            headers=[(key, value) for key, value in request.headers.items() if key != "Host"],
            data=request.body,
            environ_overrides={
                "HTTP_HOST": request.headers.get("Host", f"localhost:{PORT}"),
                "REMOTE_ADDR": request.address,
            },
        )

    # --- the judge

    def __enter__(self) -> Kennel:
        return self

    def __exit__(self, *_: object) -> None:
        self.reader.close()

    def judge(self, request: Request) -> str:
        """Send a request and hold the answer, and what became of the book, to the rules.

        Returns what became of it in a word; the first `fault` is kept, as hypothesis tries again.
        """
        try:
            word = self._judge(request)
        except AssertionError as error:
            self.fault = self.fault or str(error) or repr(request)
            raise
        self.seen[word] += 1
        return word

    def _judge(self, request: Request) -> str:
        asks = self._who(request)
        before = self.rows()
        answer = self.send(request)
        after = self.rows()
        assert answer.status_code < 500, f"{answer.status_code} {answer.text}"
        asked_for = (request.method.upper(), request.path)
        was_let_in = asked_for == ("POST", "/api/pair") and answer.status_code == 200
        if was_let_in:
            self._judge_entry(request, answer, before, after)
        elif asks is None:
            assert before == after, "a stranger changed the book"
        else:
            assert before | WRITTEN == after | WRITTEN, "a device changed what is not for it"
        if request.method == "POST" and answer.status_code == 200:
            self._judge_origin(request)
        self._judge_content(answer, asks)
        if asks and asks[1] == HELPER:
            assert before["change"][0][2] == after["change"][0][2], "a helper wrote a note"
        word = judge_shape(request, answer, is_in=asks is not None)
        if word in ("taken", "refused", "synced"):
            self.cursor = answer.get_json()["cursor"]
        return word

    def _who(self, request: Request) -> tuple[str, str] | None:
        """The device and role whose token this request shows, None if it shows no good one."""
        # A cookie's value may stand in quotes (RFC 6265, section 4.1.1).
        shown = re.search(rf'{TOKEN}="?([^;"]*)', request.headers.get("Cookie", ""))
        return self.good.get(shown[1]) if shown else None

    def _judge_entry(
        self, request: Request, answer: TestResponse, before: dict[str, Any], after: dict[str, Any]
    ) -> None:
        asked = json.loads(request.body)
        code = as_typed(asked["code"])
        assert code in self.codes, "somebody was let in without a code"
        role = self.codes[code]
        assert answer.get_json()["role"] == role
        spent = set(before["code"]) ^ set(after["code"])
        assert len(spent) == 2, "one code was not spent"
        assert before["change"] == after["change"]
        (token,) = (
            line.partition(";")[0].partition("=")[2]
            for line in answer.headers.getlist("Set-Cookie")
            if line.startswith(f"{TOKEN}=")
        )
        device = asked["device"]
        self.good = {key: who for key, who in self.good.items() if who[0] != device}
        self.good[token] = (device, role)
        for actor in self.actors.values():
            if actor.device == device:
                actor.token = token
        self._spend(code)

    def _spend(self, code: str) -> None:
        keys = list(self.codes)
        # A code to type and its link are made together, and end together.
        place = keys.index(code) // 2 * 2
        for key in keys[place : place + 2]:
            self.dead.append(key)
            del self.codes[key]

    def _judge_origin(self, request: Request) -> None:
        """What changes something came from our own page, with the key of its own session."""
        sent = request.headers
        assert sent["Origin"] == HOME, "another site was obeyed"
        assert sent["Sec-Fetch-Site"] == "same-origin", "another site was obeyed"
        assert sent.get("Host", f"localhost:{PORT}") == f"localhost:{PORT}"
        session = re.search(rf"ringside-{PORT}=([^;]*)", sent["Cookie"])
        assert session, "no session, no key"
        keys = {actor.session: actor.csrf for actor in self.actors.values()}
        assert sent["X-CSRFToken"] == keys[session[1]], "the key of another session was taken"

    def _judge_content(self, answer: TestResponse, asks: tuple[str, str] | None) -> None:
        text = answer.get_data(as_text=True)
        if asks is None or asks[1] == HELPER:
            assert SECRET not in text, "a private note was given out"
        if asks is None:
            assert NAME not in text, "a record was given out"

    def pass_time(self, ms: int) -> None:
        """Move the clock on by nothing, or by more than a code lives."""
        self.now += ms
        if ms:
            self.dead = [*self.dead, *self.codes][-50:]
            self.codes = {}
            self._revoke()

    def judge_room(self) -> None:
        """Wrong codes are counted, but the counting has an end."""
        attempts = self.reader.execute(
            "SELECT COUNT(*), SUM(was_typed) FROM attempt GROUP BY address"
        )
        counted = attempts.fetchall()
        assert max((total for total, _ in counted), default=0) <= MOST_BY_ADDRESS
        assert sum(typed for _, typed in counted) <= MOST_IN_ALL


SYNC_KEYS = {
    *("protocol", "version", "book", "now", "taken", "refused", "restamped", "cursor", "more"),
    *("anew", "changes", "records"),
}


def judge_shape(request: Request, answer: TestResponse, is_in: bool) -> str:
    """Hold an answer to one of the few shapes there are; tell in a word which it is."""
    if request.method in ("HEAD", "OPTIONS") or answer.status_code in (303, 308):
        return request.method
    if answer.status_code == 421:
        assert answer.text.startswith("This server does not answer to that name.")
        return "another name"
    assert answer.mimetype == "application/json", answer.headers
    assert answer.headers["Cache-Control"] == "no-store"
    said = json.loads(answer.data)
    if answer.status_code >= 400:
        assert said.keys() - {"wait"} == {"code", "message"}, said
        assert 0 < len(said["message"]) < 300, said
        assert ("Retry-After" in answer.headers) == (answer.status_code == 429)
        return str(said["code"])
    if request.path == "/api/sync":
        assert is_in, "a stranger was answered"
        assert said.keys() - {"packs"} == SYNC_KEYS
        assert all(one.keys() == {"id", "reason"} for one in said["refused"])
        return "taken" if said["taken"] else "refused" if said["refused"] else "synced"
    if request.path == "/api/pair":
        assert said.keys() == {"role", "book"}
        return "paired"
    more = {"book", "device", "role"} if is_in else {"code", "message"}
    assert said.keys() == {"csrf", "now"} | more
    return "session"


def as_typed(code: str) -> str:
    """Return a code without what people put into it, by a reading of our own."""
    plain = "".join(sign for sign in code.upper() if sign.isalnum())
    return re.sub("[IL]", "1", plain.replace("O", "0"))


# --- Requests that are as they should be


def as_body(body: Json) -> bytes:
    """Return a body as the app sends it."""
    return json.dumps(body).encode()


def change(device: str, kind: str, record: str, name: str, value: Json) -> dict[str, Any]:
    """Return a change as a phone makes it."""
    key = str(uuid6.uuid7())
    stamp = f"{key[:8]}{key[9:13]}-0000-{device[-12:]}"
    made = {"id": key, "kind": kind, "record": record, "field": name, "value": value}
    return {**made, "stamp": stamp, "base": "", "device": device}


def cookies(actor: Actor) -> dict[str, str]:
    """Return the header of a browser's cookies."""
    jar = {f"ringside-{PORT}": actor.session, TOKEN: actor.token}
    sent = "; ".join(f"{name}={value}" for name, value in jar.items() if value)
    return {"Cookie": sent} if sent else {}


def headers_of(actor: Actor) -> dict[str, str]:
    """Return what the app sends beside a body."""
    return {
        "Content-Type": "application/json",
        "X-CSRFToken": actor.csrf,
        "Sec-Fetch-Site": "same-origin",
        "Origin": HOME,
        **cookies(actor),
    }


# --- What is done to them

DAYS = ("2024-02-29", "2026-03-14", "0001-01-01", "0002-12-31", "9998-01-31", "9999-12-31")
WORDS = ("", "table", "Juniper", "pug", "GB", "cacib", "a\nb", "\0", "\ud800", "é" * 41, "'; --")
LONG = "x" * 65_537
DEEP: Json = json.loads("[" * 200 + "]" * 200)
WEIRD: tuple[Json, ...] = (
    *(None, True, False, 0, -1, 1, 2**31, 2**63, 2**64, -(2**63) - 1, 10**300, 0.1, -0.0, 1e308),
    *(float("nan"), float("inf"), float("-inf"), "", "0", " ", "\0", "\ud800", "\udfff", "\u202e"),
    *("null", "note", "dog", "true", "../../etc/passwd", "%00", "${7*7}", "{{7*7}}", "<b>", "é"),
    *("a" * 129, LONG, "9" * 400, [], {}, [[]], [None], {"": None}, {"$ne": 1}, {"__proto__": {}}),
    *([0] * 300, {"id": "x"}, {str(n): n for n in range(300)}, DEEP, *DAYS),
)
BOXES: tuple[Json, ...] = ([], {}, [[]], {"a": []})
HOSTS = ("elsewhere.example", "localhost", f"localhost:{PORT}.elsewhere.example", "", "[::1", "\0")
SITES = ("cross-site", "same-site", "none", "", "same-origin, cross-site")
TYPES = (
    *("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""),
    *("application/json; charset=utf-16", "application/JSON", "application/json\t", "a/b; c"),
)
PATHS = (
    *("/api/sync", "/api/pair", "/api/session", "/api", "/api/sync/", "//api/sync", "/api/%00"),
    f"/api/photos/{'0' * 64}",
)
METHODS = ("GET", "PUT", "PATCH", "DELETE", "HEAD", "OPTIONS", "TRACE", "BREW", "post")


def places(body: Json, at: tuple[Step, ...] = ()) -> Iterator[tuple[Step, ...]]:
    """Every place in a body, itself included."""
    yield at
    if isinstance(body, dict | list):
        for step, inner in body.items() if isinstance(body, dict) else enumerate(body):
            yield from places(inner, (*at, step))


def put(body: Json, at: tuple[Step, ...], value: Json) -> Json:
    """Return the body with another value in one place."""
    if not at:
        return value
    body = copy.copy(body)
    body[at[0]] = put(body[at[0]], at[1:], value)
    return body


def without(body: Json, at: tuple[Step, ...]) -> Json:
    """Return the body without what is in one place."""
    if len(at) > 1:
        return put(body, at[:1], without(body[at[0]], at[1:]))
    kept = copy.copy(body)
    if at:
        del kept[at[0]]
    return kept if at else None


def doubled(text: str) -> str:
    """Say the first key of an object twice, with two values: parsers differ in which they take."""
    return text.replace("{", '{"device":"' + "0" * 36 + '","code":7,"changes":7,"kind":"dog",', 1)


# Every kind of record with each of its fields.
FIELDS = [(kind, name) for kind, known in KINDS.items() for name in known.fields]


def valid_value(kind: str, name: str, pick: int) -> Json:
    """Return one of the values that a field may take: of its choices, sizes or ends."""
    declared = KINDS[kind].fields[name].declare()
    values: dict[str, tuple[Json, ...]] = {
        "choice": tuple(declared.get("of", ())),
        "day": DAYS,
        "instant": ("2026-03-14T09:30:00.000Z", "0001-01-01T00:00:00.000Z"),
        "flag": (True, False),
        "number": (0, -0.0, 0.5, 1, 1e-320, declared.get("most")),
        "list": ([], ["eyes", "bite"], ["a\nb"] * 60),
        "ref": (str(uuid6.uuid7()),),
        "text": ("", "a\nb", "x" * 65_536, "{{7*7}}"),
    }
    found = (*values.get(declared["type"], WORDS), None)
    return found[pick % len(found)]


# What is drawn from, made once: to make it takes longer than to draw from it.
# To choose by its remainder: of a small range hypothesis draws the ends too often.
picks = st.integers(0, 2**64)
some_picks = st.lists(picks, max_size=3)
an_actor = st.sampled_from(ACTORS)
a_target = st.sampled_from(("sync", "sync", "sync", "pair", "pair", "session"))
a_number_of_faults = st.integers(0, 2)
a_wait = st.integers(0, 500)
a_network = st.integers(-10, 30)
a_code = st.sampled_from(
    ("guess", "guess", "link", "dead", "dead", "open", "older", "older", "text")
)
mutations = st.lists(st.sampled_from(("put", "change", "change", "drop", "add")), max_size=2)
either = st.booleans()
a_key = st.text(max_size=5)
an_encoding = st.sampled_from(("plain",) * 12 + ("raw", "utf-16", "bom", "cut", "twice", "noise"))
noise = st.binary(max_size=20)
a_fault = st.sampled_from(
    ("key", "cookie", "cookie", "session", "origin", "site", "host", "type", "path",
     "method", "address", "forwarded")
)  # fmt: skip
# Seldom, so that wrong codes add up to their limits, and codes are used while they live.
WAITS = {100: 11 * MINUTE, 200: 11 * MINUTE, 300: 11 * MINUTE, 400: 61 * MINUTE}


@st.composite
def requests(draw: st.DrawFn, kennel: Kennel) -> tuple[Request, int]:
    """A request, mostly wrong in one way or several, and how long (ms) to wait before it."""
    actor = kennel.actors[draw(an_actor)]
    target = draw(a_target)
    made = _valid(draw, kennel, actor, target)
    for _ in range(draw(a_number_of_faults)):
        made = _spoilt(draw, kennel, made, actor)
    return made, WAITS.get(draw(a_wait), 0)


def _valid(draw: st.DrawFn, kennel: Kennel, actor: Actor, target: str) -> Request:
    address = f"10.0.{max(0, draw(a_network))}.1"
    if target == "session":
        return Request("GET", "/api/session", cookies(actor), address=address)
    body = _pair(draw, kennel, actor) if target == "pair" else _sync(draw, kennel, actor)
    body = _mutated(draw, body)
    return Request("POST", f"/api/{target}", headers_of(actor), _bytes(draw, body), address)


def _sync(draw: st.DrawFn, kennel: Kennel, actor: Actor) -> Json:
    made = []
    for pick in draw(some_picks):
        kind, name = FIELDS[pick % len(FIELDS)]
        record = kennel.records[pick % len(kennel.records)]
        made.append(change(actor.device, kind, record, name, valid_value(kind, name, pick // 7)))
    pick = draw(picks)
    return {
        "protocol": 1,
        "device": actor.device,
        "book": str(uuid6.uuid7()) if pick % 20 == 0 else kennel.book.id,
        "cursor": "" if pick % 3 == 0 else kennel.cursor,
        "changes": made,
        "packs": ("", None, {})[pick % 3],
        "most": 20,
        "records": pick % 2 == 0,
    }


def _pair(draw: st.DrawFn, kennel: Kennel, actor: Actor) -> Json:
    # An older one may be worn out by guesses since.
    kind = draw(a_code)
    pick = draw(picks)
    code = {
        "guess": f"{pick % 10**8:08d}",
        "link": f"{pick:028d}",
        "text": str(WEIRD[pick % len(WEIRD)]),
    }
    if kind == "dead" and kennel.dead:
        said = kennel.dead[-1 - pick % min(8, len(kennel.dead))]
    elif kind == "older" and kennel.codes:
        said = next(iter(kennel.codes))
    elif kind == "open":
        said = kennel.offer((OWNER, HELPER)[pick % 2], ("typed", "link")[pick // 2 % 2])
    else:
        said = code.get(kind, code["guess"])
    return {"code": said, "device": actor.device, "name": LONG if pick % 25 == 0 else "A phone"}


def _mutated(draw: st.DrawFn, body: Json) -> Json:
    for how in draw(mutations):
        found = list(places(body))
        inner = [at for at in found if len(at) == 3] if how == "change" else []
        at = (inner or found)[draw(picks) % len(inner or found)]
        if how == "drop":
            body = without(body, at)
        elif how in ("put", "change"):
            # What holds others cannot be looked up, compared or joined as words can.
            known = BOXES if how == "change" and draw(either) else WEIRD
            body = put(body, at, known[draw(picks) % len(known)])
        elif isinstance(body, dict):
            body = {**body, draw(a_key): WEIRD[draw(picks) % len(WEIRD)]}
    return body


def _bytes(draw: st.DrawFn, body: Json) -> bytes:
    text = json.dumps(body)
    how = draw(an_encoding)
    if how == "raw":
        return json.dumps(body, ensure_ascii=False).encode(errors="surrogatepass")
    if how == "utf-16":
        return text.encode("utf-16")
    if how == "bom":
        return b"\xef\xbb\xbf" + text.encode()
    if how == "cut":
        return text.encode()[: draw(picks) % (len(text) + 1)]
    if how == "twice":
        return doubled(text).encode()
    if how == "noise":
        return text.encode() + draw(noise)
    return text.encode()


def _spoilt(draw: st.DrawFn, kennel: Kennel, made: Request, actor: Actor) -> Request:
    how = draw(a_fault)
    other = kennel.actors[draw(an_actor)]
    pick = draw(picks)
    changed: dict[str, str] = {}
    if how == "key":
        changed["X-CSRFToken"] = ("", "x", other.csrf, other.csrf[:-1], "\xff")[pick % 5]
    elif how == "cookie":
        changed["Cookie"] = cookies(replace(actor, token=_forged(actor, other, pick))).get(
            "Cookie", ""
        )
    elif how == "session":
        changed["Cookie"] = cookies(replace(actor, session=other.session)).get("Cookie", "")
    elif how == "origin":
        origins = ("null", "http://elsewhere.example", f"http://localhost:{PORT + 1}", "\xff", "")
        changed["Origin"] = origins[pick % 5]
    elif how == "site":
        changed["Sec-Fetch-Site"] = SITES[pick % len(SITES)]
    elif how == "host":
        changed["Host"] = HOSTS[pick % len(HOSTS)]
    elif how == "type":
        changed["Content-Type"] = TYPES[pick % len(TYPES)]
    elif how == "forwarded":
        changed |= {"X-Forwarded-For": f"203.0.113.{pick % 250}", "X-Forwarded-Proto": "https"}
    elif how == "path":
        return replace(made, path=PATHS[pick % len(PATHS)])
    elif how == "method":
        return replace(made, method=METHODS[pick % len(METHODS)])
    else:
        return replace(made, address=("", "::1", "fe80::1%eth0", "a socket", "1.2.3.4")[pick % 5])
    return replace(made, headers=made.headers | changed)


def _forged(actor: Actor, other: Actor, pick: int) -> str:
    """Return a token that is not this browser's, or no token at all."""
    mine, theirs = actor.token or "x", other.token
    tokens = (
        *("", theirs, mine[:-1], mine + "x", mine.upper(), f"{other.device}.", other.device),
        *(f"{other.device}.{mine.partition('.')[2]}", ".", "\xff", "x" * 4000, f'"{mine}"'),
    )
    return tokens[pick % len(tokens)]
