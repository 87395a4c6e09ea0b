"""A fuzz of the sync and the pairing: no 500, no entry without a code, no note for a helper."""

from __future__ import annotations

import hmac
import random
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import uuid6
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Flaky

from ringside.app import Settings, create_app
from ringside.book import devices as rules
from ringside.book.devices import HOUR, MOST_BY_ADDRESS, MOST_IN_ALL, VIEWS
from ringside.book.keeping import open_book
from ringside.book.pages import View
from ringside.book.place import Place
from ringside.knowledge import Knowledge
from ringside.web import door, pairing, security, sync
from tests.known import shipped
from tests.property import fuzz, wire
from tests.property.fuzz import NOBODY, PORT, Kennel
from tests.support import PairedPhone, Server, pair

NOW = 1_800_000_000_000
REQUESTS = 10_000
AT_ONCE = 25
UNTIL_FOUND = 2 * REQUESTS  # most are found at once

# What the requests have to come to, so that a fuzz which is turned away at once does not pass.
REACHED = {
    *("taken", "refused", "synced", "session", "paired", "malformed", "not-json", "too-large"),
    *("csrf", "foreign", "another name", "not-paired", "revoked", "other-book", "owners-phone"),
    *("wrong-code", "used-code", "expired-code", "used-up-code", "too-many", "not-found"),
    "method-not-allowed",
}


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


@pytest.fixture
def kennel(
    tmp_path: Path, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Kennel]:
    # One who asks too often is sent away; here we want to see what stands behind that.
    monkeypatch.setattr(security.Throttle, "wait", lambda *_: 0.0)
    book = open_book(Place(tmp_path))
    app = create_app(Settings(tmp_path, PORT), book, knowledge)
    with Kennel(app, book, NOW) as kennel:
        monkeypatch.setattr(pairing, "clock", SimpleNamespace(wall=lambda: kennel.now))
        yield kennel
    book.close()


def run(kennel: Kennel, number: int) -> None:
    """Send `number` requests, many to an example: to begin one costs more than to answer it."""
    wanted = fuzz.requests(kennel)

    @settings(
        max_examples=number // AT_ONCE,
        deadline=None,
        database=None,
        # The book goes on from request to request, so none can be tried again or made smaller.
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def send(data: st.DataObject) -> None:
        for _ in range(AT_ONCE):
            request, wait = data.draw(wanted)
            kennel.pass_time(wait)
            kennel.judge(request)

    send()


def test_ten_thousand_requests(kennel: Kennel) -> None:
    run(kennel, REQUESTS)
    assert kennel.seen.total() >= REQUESTS
    # What is drawn is chance: one answer is so rare that ten thousand can miss it.
    if REACHED - kennel.seen.keys():
        run(kennel, REQUESTS)
    assert REACHED - kennel.seen.keys() == set(), kennel.seen
    kennel.judge_room()


# --- What the fuzz would find


def crash(monkeypatch: pytest.MonkeyPatch, kennel: Kennel) -> None:
    barred = sync._barred

    def hasty(change: Any, visitor: Any) -> str:
        # As it is easily written: a kind that is a list cannot be looked up in a set.
        seen = set(visitor.view.fields or ())
        if isinstance(change, dict) and change.get("kind") in {"note"} - seen:
            return "No."
        return barred(change, visitor)

    monkeypatch.setattr(sync, "_barred", hasty)


def skip_the_token(monkeypatch: pytest.MonkeyPatch, kennel: Kennel) -> None:
    lenient = SimpleNamespace(new=hmac.new, compare_digest=lambda one, other: True)
    monkeypatch.setattr(rules, "hmac", lenient)


def hide_nothing(monkeypatch: pytest.MonkeyPatch, kennel: Kennel) -> None:
    monkeypatch.setitem(VIEWS, rules.HELPER, View())


def let_codes_live(monkeypatch: pytest.MonkeyPatch, kennel: Kennel) -> None:
    monkeypatch.setattr(rules, "LIFE", 9 * HOUR)


def want_no_key(monkeypatch: pytest.MonkeyPatch, kennel: Kennel) -> None:
    kennel.app.config["WTF_CSRF_ENABLED"] = False


def say_too_much(monkeypatch: pytest.MonkeyPatch, kennel: Kennel) -> None:
    monkeypatch.setitem(door.WORDS, "not-paired", fuzz.NAME)


@pytest.mark.parametrize(
    ("plant", "found"),
    [
        (crash, "500"),
        (skip_the_token, ""),  # it breaks several rules; which one first is chance
        (hide_nothing, "note"),
        (let_codes_live, "without a code"),
        (want_no_key, "key"),
        (say_too_much, "a record was given out"),
    ],
)
def test_a_planted_fault_is_found(
    plant: Callable[[pytest.MonkeyPatch, Kennel], None],
    found: str,
    kennel: Kennel,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plant(monkeypatch, kennel)
    with suppress(AssertionError, Flaky):
        run(kennel, UNTIL_FOUND)
    assert kennel.fault, kennel.seen
    assert found in kennel.fault


# --- Guessing


def guesses(kennel: Kennel, number: int, forwarded: bool = False, addresses: int = 1) -> list[str]:
    """Guess codes to type; what became of each."""
    stranger = kennel.actors[NOBODY]
    found = []
    for guess in range(number):
        headers = fuzz.headers_of(stranger)
        if forwarded:
            headers |= {"X-Forwarded-For": f"198.51.100.{guess % 250}", "Forwarded": f"for={guess}"}
        body = {"code": f"{guess:08d}", "device": stranger.device, "name": ""}
        address = f"203.0.{guess % addresses}.1"
        request = fuzz.Request("POST", "/api/pair", headers, fuzz.as_body(body), address)
        found.append(kennel.judge(request))
    return found


@pytest.mark.parametrize("forwarded", [False, True])
def test_who_guesses_is_shut_out_whatever_they_say_of_themselves(
    kennel: Kennel, forwarded: bool
) -> None:
    kennel.offer(rules.OWNER, "typed")
    found = guesses(kennel, 300, forwarded)
    assert found == ["wrong-code"] * MOST_BY_ADDRESS + ["too-many"] * (300 - MOST_BY_ADDRESS)
    kennel.judge_room()


def test_many_who_guess_together_are_shut_out(kennel: Kennel) -> None:
    kennel.offer(rules.OWNER, "typed")
    found = guesses(kennel, 2_000, addresses=200)
    assert found == ["wrong-code"] * MOST_IN_ALL + ["too-many"] * (2_000 - MOST_IN_ALL)
    kennel.judge_room()


# --- The real server, by its bytes

WIRED = 3_000
NOT_OURS = {501, 505}  # a transfer coding, a version of HTTP that there is not
MB = 1024 * 1024
LARGE = 4 * MB
# What one object of JSON costs in Python, over what it costs on the wire: "{}," to 72 bytes.
MOST_TIMES = 32
ROOM = 8 * MB

linux_only = pytest.mark.skipif(sys.platform != "linux", reason="memory is told by /proc")


def memory(server: Server, what: str = "VmRSS") -> int:
    """The bytes that the server holds now (VmRSS), or held at most (VmHWM)."""
    assert server._process
    status = Path(f"/proc/{server._process.pid}/status").read_text(encoding="ascii")
    lines = dict(line.split(":", 1) for line in status.splitlines())
    return int(lines[what].split()[0]) * 1024


def large_bodies(size: int) -> dict[str, bytes]:
    """Bodies of about `size` bytes that cost more to read than to send."""

    def many(piece: str, begin: str, end: str) -> bytes:
        return f"{begin}{','.join([piece] * (size // (len(piece) + 1)))}{end}".encode()

    hashes = ",".join(f'"{number:x}":1' for number in range(size // 11))
    return {
        "blanks": b" " * size,
        "lists": many("[]", '{"changes":[', "]}"),
        "objects": many("{}", "[", "]"),
        "wrong hashes": f'{{"device":"{uuid6.uuid7()}","packs":{{{hashes}}}}}'.encode(),
        "a number": b"9" * size,
        "depth": b"[" * size,
    }


def messages(server: Server, phone: PairedPhone) -> list[bytes]:
    """Requests as they should be, of a phone that was let in and of a stranger."""
    json_type = {"Content-Type": "application/json"}
    stranger = {"Host": phone.headers["Host"]}
    guess = {"code": "AAAA0000", "device": phone.device, "name": "x"}
    asked = {"device": phone.device, "changes": [], "packs": ""}
    made = [
        wire.message(b"POST", b"/api/sync", phone.headers | json_type, asked),
        wire.message(b"POST", b"/api/pair", phone.headers | json_type, guess),
        wire.message(b"POST", b"/api/sync", stranger | json_type, asked),
        wire.message(b"GET", b"/api/session", stranger),
        wire.message(b"GET", b"/healthz", stranger),
    ]
    for sound in made:
        assert wire.statuses(wire.ask(server.port, sound)) in ([200], [401], [403])
    return made


def devices(server: Server) -> list[Any]:
    book = open_book(Place(server.data))
    with book.session():
        found = [(one.id, one.role, one.token, one.revoked) for one in rules.Devices(book).all()]
    book.close()
    return found


@linux_only
def test_malformed_http_does_no_harm(start_server: Callable[..., Server]) -> None:
    server = start_server("serve")
    sound = messages(server, pair(server))
    before, half = devices(server), 0
    dice = random.Random(20261125)
    for number in range(WIRED):
        sent = wire.spoilt(dice, dice.choice(sound))
        got = wire.ask(server.port, sent)
        assert {status for status in wire.statuses(got) if status >= 500} <= NOT_OURS, sent
        half = memory(server) if number == WIRED // 2 else half
    assert memory(server) < half + ROOM
    assert "Traceback" not in server.output
    assert devices(server) == before
    assert wire.statuses(wire.ask(server.port, sound[0])) == [200]


@linux_only
@pytest.mark.parametrize("name", large_bodies(100))
def test_no_body_fills_the_memory(name: str, start_server: Callable[..., Server]) -> None:
    server = start_server("serve")
    phone = pair(server)
    headers = phone.headers | {"Content-Type": "application/json"}
    session = [one for one in headers["Cookie"].split("; ") if "device" not in one]
    stranger = headers | {"Cookie": "; ".join(session)}
    body = large_bodies(LARGE)[name]
    before = memory(server)
    for sent, told, most in ((stranger, 401, 4), (headers, 400, MOST_TIMES)):
        message = wire.message(b"POST", b"/api/sync", sent | {"Content-Length": str(len(body))})
        assert wire.statuses(wire.ask(server.port, message + body)) == [told]
        assert memory(server, "VmHWM") < before + most * LARGE


@linux_only
@pytest.mark.parametrize("begin", [b"GET /", b"GET / HTTP/1.1\r\nX: ", b"GET / HTTP/1.1\r\n"])
def test_no_header_fills_the_memory(begin: bytes, start_server: Callable[..., Server]) -> None:
    server = start_server("serve")
    before = memory(server)
    more = b"X: x\r\n" if begin.endswith(b"1\r\n") else b"x"
    got = wire.ask(server.port, begin + more * (64 * MB // len(more)))
    assert set(wire.statuses(got)) <= {400, 413, 414}
    assert memory(server, "VmHWM") < before + ROOM
