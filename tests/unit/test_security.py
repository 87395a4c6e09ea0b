"""Who may do what, on every route there is; what every answer carries; and what no source does."""

from __future__ import annotations

import ast
import html
import json
import ssl
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

from ringside.app import MOST_BODY, Settings, create_app
from ringside.book.devices import HELPER, OWNER, Devices
from ringside.book.keeping import open_book
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book
from ringside.knowledge import Knowledge
from ringside.web import security
from ringside.web.serve.certificates import Keyring
from ringside.web.serve.tls import Tls
from tests.known import shipped
from tests.property import wire
from tests.property.fuzz import (
    ACTORS,
    HELPERS,
    HOME,
    NOBODY,
    OWNERS,
    PORT,
    REVOKED,
    SECRET,
    TOKEN,
    Kennel,
    Request,
    as_body,
    change,
    cookies,
    headers_of,
)
from tests.support import ROOT, Server

ALL, MEMBERS, OWNERS_ALONE = frozenset(ACTORS), frozenset({OWNERS, HELPERS}), frozenset({OWNERS})

# Who may use each route. A new one has to be written down here.
ACCESS = {
    "health.healthz": ALL,
    "pairing.who": ALL,
    "pairing.pair": ALL,
    "pocket.page": ALL,
    "pocket.web_manifest": ALL,
    "pocket.service_worker": ALL,
    "pocket.static_file": ALL,
    "pocket.screenshot": ALL,
    "sync.sync": MEMBERS,
    "photos.give": MEMBERS,
    "photos.take": OWNERS_ALONE,
    "calendar.feed": ALL,  # whoever has its address
    "calendar.everything": MEMBERS,
    "calendar.one": MEMBERS,
    "desk.home.page": OWNERS_ALONE,
    "desk.dog.page": OWNERS_ALONE,
    "desk.sources.page": OWNERS_ALONE,
    "desk.own.page": OWNERS_ALONE,
    "desk.own.take_breed": OWNERS_ALONE,
    "desk.own.give_pattern": OWNERS_ALONE,
    "desk.own.give_breed": OWNERS_ALONE,
    "desk.own.remove_breed": OWNERS_ALONE,
    "desk.own.give_asks": OWNERS_ALONE,
    "desk.own.take_asks": OWNERS_ALONE,
    "desk.card.page": OWNERS_ALONE,
    "desk.year.page": OWNERS_ALONE,
    "desk.year.give_csv": OWNERS_ALONE,
    "desk.season.page": OWNERS_ALONE,
    "desk.season.give_template": OWNERS_ALONE,
    "desk.season.take": OWNERS_ALONE,
    "desk.season.reorder": OWNERS_ALONE,
    "desk.season.write": OWNERS_ALONE,
    "desk.season.to_page": OWNERS_ALONE,
    "desk.dogs.page": OWNERS_ALONE,
    "desk.dogs.give_template": OWNERS_ALONE,
    "desk.dogs.take": OWNERS_ALONE,
    "desk.dogs.reorder": OWNERS_ALONE,
    "desk.dogs.write": OWNERS_ALONE,
    "desk.dogs.to_page": OWNERS_ALONE,
    "desk.calendar.listed": OWNERS_ALONE,
    "desk.calendar.make": OWNERS_ALONE,
    "desk.calendar.stop": OWNERS_ALONE,
    "desk.devices.listed": OWNERS_ALONE,
    "desk.devices.offer": OWNERS_ALONE,
    "desk.devices.rename": OWNERS_ALONE,
    "desk.devices.revoke": OWNERS_ALONE,
}
CHANGING = {"POST", "PUT", "PATCH", "DELETE"}
FORM = "application/x-www-form-urlencoded"


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


@pytest.fixture
def kennel(tmp_path: Path, knowledge: Knowledge) -> Iterator[Kennel]:
    book = open_book(Place(tmp_path))
    app = create_app(Settings(tmp_path, PORT), book, knowledge)
    with Kennel(app, book, time.time_ns() // 1_000_000) as kennel:
        yield kennel
    book.close()


def routes(kennel: Kennel) -> list[tuple[Rule, str]]:
    """Every route of the application with each of its methods."""
    return [
        (rule, method)
        for rule in kennel.app.url_map.iter_rules()
        for method in sorted(rule.methods or ())
    ]


def path(rule: Rule, filled: str = "x") -> str:
    """The path of a route, with something in each of its gaps."""
    built: str = rule.rule
    for name in rule.arguments:
        built = built.replace(f"<path:{name}>", filled).replace(f"<{name}>", filled)
    return built


def ask(
    kennel: Kennel, who: str, method: str, target: str, body: Any = None, **more: str
) -> TestResponse:
    """Ask as one of the actors, as our own page would."""
    headers = headers_of(kennel.actors[who]) | {
        name.replace("_", "-"): value for name, value in more.items()
    }
    return kennel.send(Request(method, target, headers, as_body({} if body is None else body)))


# --- Every route


def test_every_route_says_who_may_use_it(kennel: Kennel) -> None:
    assert {rule.endpoint for rule, _ in routes(kennel)} == ACCESS.keys()


@pytest.mark.parametrize("who", ACTORS)
def test_everybody_gets_what_is_theirs_and_nothing_else(kennel: Kennel, who: str) -> None:
    before = kennel.rows()
    for rule, method in routes(kennel):
        # A form that is not filled in, so that owners change nothing.
        answer = ask(kennel, who, method, path(rule))
        turned_away = answer.status_code in (401, 403) or answer.location == "/#/pair"
        may = who in ACCESS[rule.endpoint]
        assert turned_away != may, (rule, method, answer.status_code)
    assert kennel.rows() == before


def test_whatever_changes_something_wants_the_key(kennel: Kennel) -> None:
    before, other = kennel.rows(), kennel.actors[HELPERS].csrf
    asked = [(rule, method) for rule, method in routes(kennel) if method in CHANGING]
    assert len(asked) > 7
    for rule, method in asked:
        for key in ("", "wrong", other):
            answer = ask(kennel, OWNERS, method, path(rule), X_CSRFToken=key)
            assert (answer.status_code, answer.get_json()["code"]) == (400, "csrf"), rule
        for said in ({"Origin": "https://elsewhere.example"}, {"Sec_Fetch_Site": "cross-site"}):
            answer = ask(kennel, OWNERS, method, path(rule), **said)
            assert answer.get_json()["code"] == "foreign", rule
        # Nor is the key taken from where a link could put it.
        target = f"{path(rule)}?csrf_token={kennel.actors[OWNERS].csrf}"
        assert ask(kennel, OWNERS, method, target, X_CSRFToken="").status_code == 400
    assert kennel.rows() == before


def test_what_is_only_read_changes_nothing(kennel: Kennel) -> None:
    before = kennel.rows()
    for rule, method in routes(kennel):
        if method not in CHANGING:
            ask(kennel, OWNERS, method, path(rule))
    assert kennel.rows() == before


@pytest.mark.parametrize("method", ["TRACE", "CONNECT", "BREW", "PROPFIND"])
def test_a_method_that_a_route_does_not_know_is_refused(kennel: Kennel, method: str) -> None:
    for rule in kennel.app.url_map.iter_rules():
        assert ask(kennel, OWNERS, method, path(rule)).status_code == 405


HOSTILE = [
    *("../../book.db", "..%2f..%2fbook.db", "%2e%2e/%2e%2e/book.db", "..\\..\\book.db"),
    *("/etc/passwd", "....//....//book.db", "book.db%00.toml", "file:///etc/passwd", "."),
]


@pytest.mark.parametrize("filled", HOSTILE)
def test_no_path_leads_out_of_what_is_served(kennel: Kennel, tmp_path: Path, filled: str) -> None:
    (tmp_path / "breeds").mkdir()
    for rule, method in routes(kennel):
        if not rule.arguments or method not in ("GET", "POST"):
            continue
        # The desk looks at forms alone, so it is sent an empty one.
        sent = b"" if rule.rule.startswith("/desk") else b"{}"
        told = headers_of(kennel.actors[OWNERS])
        answer = kennel.send(Request(method, path(rule, filled), told, sent))
        assert answer.status_code in (308, 404, 405), rule
        assert b"SQLite" not in answer.data
        assert b"root:" not in answer.data
    assert (tmp_path / FILE_NAME).exists()


@pytest.mark.parametrize("who", [NOBODY, HELPERS, OWNERS])
@pytest.mark.parametrize(
    "hostile",
    ["?next=https://elsewhere.example", "?url=//elsewhere.example", "/..//elsewhere.example"],
)
def test_no_route_sends_on_to_elsewhere(kennel: Kennel, who: str, hostile: str) -> None:
    said = {"X_Forwarded_Host": "elsewhere.example", "Referer": "https://elsewhere.example/"}
    for rule, method in routes(kennel):
        answer = ask(kennel, who, method, path(rule) + hostile, **said)
        target = answer.headers.get("Location", "/")
        assert target.startswith((f"{HOME}/", "/")), rule
        assert not target.startswith("//"), rule


# --- What every answer carries


def all_answers(kennel: Kennel, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestResponse]:
    """An answer of every route to everybody, and of every error."""
    for who in ACTORS:
        for rule, method in routes(kennel):
            yield ask(kennel, who, method, path(rule))
    yield ask(kennel, OWNERS, "GET", "/no/such/page")
    yield ask(kennel, OWNERS, "GET", "/api/sync")
    yield ask(kennel, OWNERS, "POST", "/api/sync", X_CSRFToken="")
    yield ask(kennel, OWNERS, "POST", "/api/sync", Origin="null")
    yield kennel.send(
        Request("POST", "/api/sync", headers_of(kennel.actors[OWNERS]), b" " * (MOST_BODY + 1))
    )
    monkeypatch.setattr(Book, "seen", lambda *_: 1 / 0)
    device = kennel.actors[OWNERS].device
    failed = ask(kennel, OWNERS, "POST", "/api/sync", {"device": device})
    assert failed.status_code == 500
    yield failed


def test_every_answer_carries_the_headers(kennel: Kennel, monkeypatch: pytest.MonkeyPatch) -> None:
    for answer in all_answers(kennel, monkeypatch):
        headers = answer.headers
        policy = headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'; "), answer.request.path
        assert "unsafe" not in policy
        if answer.mimetype in ("text/html", "image/svg+xml"):
            assert policy == security.PAGE_POLICY
            assert "camera=()" in headers["Permissions-Policy"]
        if answer.request.path != "/sw.js":
            assert "base-uri 'none'" in policy
            assert "frame-ancestors 'none'" in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
        assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert not [name for name, _ in headers if name.startswith("Access-Control-")]
        assert "Strict-Transport-Security" not in headers
        assert len(headers.getlist("Cache-Control")) == 1
        if answer.data:
            assert headers["Content-Type"], answer.request.path
            if answer.mimetype.startswith("text/"):
                assert answer.mimetype_params == {"charset": "utf-8"}, answer.request.path


def test_only_what_is_the_same_for_all_is_kept_by_a_cache(
    kennel: Kennel, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = [
        answer.request.path
        for answer in all_answers(kennel, monkeypatch)
        if answer.headers["Cache-Control"] != "no-store"
    ]
    assert set(kept) == {"/", "/manifest.webmanifest", "/sw.js"}


@pytest.mark.parametrize(
    ("origin", "is_secure"), [("", False), ("https://ring.example/", True)], ids=["http", "https"]
)
def test_cookies_are_for_our_own_pages_alone(
    tmp_path: Path, knowledge: Knowledge, origin: str, is_secure: bool
) -> None:
    book = open_book(Place(tmp_path))
    app = create_app(Settings(tmp_path, PORT, origin=origin), book, knowledge)
    base = HOME.replace("http:", "https:") if is_secure else HOME
    given = app.test_client().get("/api/session", base_url=base).headers.getlist("Set-Cookie")
    (session,) = [line.split("; ") for line in given]
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(session)
    assert ("Secure" in session) == is_secure
    assert not [part for part in session if part.startswith("Domain")]
    book.close()


# --- Sessions and tokens


def test_who_planted_a_session_knows_no_key_afterwards(kennel: Kennel) -> None:
    stranger = kennel.actors[NOBODY]
    code = kennel.offer(OWNER, "typed")
    body = {"code": code, "device": stranger.device, "name": ""}
    answer = ask(kennel, NOBODY, "POST", "/api/pair", body)
    given = dict(
        line.partition(";")[0].split("=", 1) for line in answer.headers.getlist("Set-Cookie")
    )
    assert given[f"ringside-{PORT}"] == "", "the old session lives on"
    paired = replace(stranger, token=given[TOKEN], session="")
    met = kennel.send(Request("GET", "/api/session", cookies(paired)))
    (session,) = [
        line.partition(";")[0].partition("=")[2]
        for line in met.headers.getlist("Set-Cookie")
        if line.startswith(f"ringside-{PORT}=")
    ]
    now = replace(paired, session=session)
    old_key = headers_of(now) | {"X-CSRFToken": stranger.csrf}
    asked = as_body({"device": stranger.device})
    refused = kennel.send(Request("POST", "/api/sync", old_key, asked))
    assert refused.get_json()["code"] == "csrf"
    new_key = headers_of(now) | {"X-CSRFToken": met.get_json()["csrf"]}
    assert kennel.send(Request("POST", "/api/sync", new_key, asked)).status_code == 200


def test_a_session_that_was_tampered_with_is_none(kennel: Kennel) -> None:
    owner = kennel.actors[OWNERS]
    data, time_, seal = owner.session.split(".")
    for session in (f"{data}.{time_}.{seal[::-1]}", f"{data}.{time_}.", data, f"x{owner.session}"):
        forged = headers_of(replace(owner, session=session))
        answer = kennel.send(
            Request("POST", "/api/sync", forged, as_body({"device": owner.device}))
        )
        assert answer.get_json()["code"] == "csrf"


def test_if_the_token_cannot_be_looked_up_nobody_is_let_in(
    kennel: Kennel, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any) -> None:
        raise RuntimeError("SELECT secret FROM meta")

    monkeypatch.setattr(Devices, "holder", fail)
    for rule, method in routes(kennel):
        if ACCESS[rule.endpoint] == OWNERS_ALONE:
            answer = ask(kennel, OWNERS, method, path(rule))
            assert answer.status_code == 500, rule
            assert SECRET not in answer.text
            assert "SELECT" not in answer.text
            assert "Traceback" not in answer.text


# --- Said twice, or said elsewhere


def test_what_is_said_twice_has_one_meaning(kennel: Kennel) -> None:
    helper = kennel.actors[HELPERS]
    made = change(helper.device, "note", kennel.records[0], "text", "Mine")
    note_last = json.dumps(made).replace('"kind": "note"', '"kind": "dog", "kind": "note"')
    body = f'{{"device": "{helper.device}", "changes": [{note_last}]}}'.encode()
    answer = kennel.send(Request("POST", "/api/sync", headers_of(helper), body)).get_json()
    assert answer["taken"] == []
    assert "A helper cannot write a note" in answer["refused"][0]["reason"]
    # Read as it will be kept: as of a dog.
    dog_last = json.dumps(made).replace('"kind": "note"', '"kind": "note", "kind": "dog"')
    body = f'{{"device": "{helper.device}", "changes": [{dog_last}]}}'.encode()
    answer = kennel.send(Request("POST", "/api/sync", headers_of(helper), body)).get_json()
    assert "A helper cannot write a dog" in answer["refused"][0]["reason"]


def test_two_tokens_are_not_better_than_one(kennel: Kennel) -> None:
    revoked, owner = kennel.actors[REVOKED], kennel.actors[OWNERS]
    both = f"ringside-{PORT}={owner.session}; {TOKEN}={revoked.token}; {TOKEN}={owner.token}"
    headers = headers_of(owner) | {"Cookie": both}
    answer = kennel.send(Request("POST", "/api/sync", headers, as_body({"device": owner.device})))
    assert answer.get_json()["code"] == "revoked"


def test_forms_are_read_from_the_body_alone(kennel: Kennel) -> None:
    before, helper = kennel.rows(), kennel.actors[HELPERS].device
    for form in ("revoke", "rename"):
        target = f"/desk/devices/{form}?device={helper}&name=Mine"
        assert ask(kennel, OWNERS, "POST", target, Content_Type=FORM).status_code == 400
    assert kennel.rows() == before


def test_what_is_not_asked_for_is_not_given(kennel: Kennel) -> None:
    stranger = kennel.actors[NOBODY]
    body = {"code": kennel.offer(HELPER, "typed"), "device": stranger.device, "name": ""}
    more = {"role": OWNER, "revoked": None, "token": "mine", "__proto__": {"role": OWNER}}
    answer = ask(kennel, NOBODY, "POST", "/api/pair", body | more)
    assert answer.get_json()["role"] == HELPER


# --- Words stay words

MARKUP = "<script>alert(1)</script>{{7*7}}'\"); DROP TABLE change; --"


def test_what_was_written_is_shown_and_kept_as_it_was_written(kennel: Kennel) -> None:
    owner = kennel.actors[OWNERS]
    made = [
        change(owner.device, "dog", kennel.records[1], "pedigree", MARKUP),
        change(owner.device, "dog", kennel.records[1], "name", MARKUP[:40]),
        change(owner.device, "note", kennel.records[2], "text", MARKUP),
        change(owner.device, "note", kennel.records[2], "dog", kennel.records[1]),
    ]
    body = {"device": owner.device, "changes": made}
    assert len(ask(kennel, OWNERS, "POST", "/api/sync", body).get_json()["taken"]) == 4
    page = ask(kennel, OWNERS, "GET", "/desk").text
    assert "<script>alert" not in page
    assert "49" not in html.unescape(page).split("{{7*7}}")[0][-20:]
    assert html.escape(MARKUP[:40], quote=False)[:20] in page
    pulled = ask(kennel, HELPERS, "POST", "/api/sync", {"device": kennel.actors[HELPERS].device})
    assert MARKUP in [one["value"] for one in pulled.get_json()["changes"]]


# --- What no source of ours does

# Code from data, other programs, other machines, parsers that can be made to do either, and
# randomness that can be guessed.
NO_IMPORTS = {
    *("pickle", "marshal", "shelve", "subprocess", "ctypes", "random", "xml", "smtplib", "ftplib"),
    *("http.client", "urllib.request", "requests", "httpx", "yaml", "telnetlib"),
}
NO_CALLS = {"eval", "exec", "compile", "__import__"}
NO_NAMES = {"md5", "sha1", "system", "popen", "render_template_string", "from_string"}


def misdeeds(source: str) -> set[str]:
    """What a source imports, calls or names that none of ours should."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names} & NO_IMPORTS
        elif isinstance(node, ast.ImportFrom):
            names = {node.module or "", *(f"{node.module}.{name.name}" for name in node.names)}
            found |= names & NO_IMPORTS
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            found |= {node.func.id} & NO_CALLS
        elif isinstance(node, ast.Attribute):
            found |= {node.attr} & NO_NAMES
    return found


def test_no_source_runs_what_it_is_given_or_calls_elsewhere() -> None:
    sources = sorted((ROOT / "ringside").rglob("*.py"))
    assert len(sources) > 30
    found = {str(source): misdeeds(source.read_text(encoding="utf-8")) for source in sources}
    assert {name: what for name, what in found.items() if what} == {}


@pytest.mark.parametrize(
    "source",
    [
        *("import pickle", "from urllib import request", "import urllib.request as web"),
        *("eval('1')", "os.system('ls')", "hashlib.md5(b'')", "from xml import sax"),
    ],
)
def test_the_check_sees_what_is_forbidden(source: str) -> None:
    assert misdeeds(source)


def test_nothing_is_there_for_developers_alone(kennel: Kennel) -> None:
    assert not kennel.app.debug
    assert not kennel.app.testing
    for target in (
        "/console",
        "/.git/config",
        "/static/",
        "/screens/",
        "/static",
        "/desk/",
        "/api",
    ):
        answer = ask(kennel, OWNERS, "GET", target)
        assert answer.status_code == 404, target
        assert answer.get_json()["code"] == "not-found"


# --- Requests with one meaning

CHUNKED = b"Transfer-Encoding: chunked\r\n\r\n"
ATTACKS = {
    "hidden in a chunk": CHUNKED + b"%x; / HTTP/1.1\r\n%s\r\n0\r\n\r\n",
    "behind both lengths": b"Content-Length: 5\r\n" + CHUNKED + b"0\r\n\r\n%.0d%s",
    "behind a length below nothing": b"Content-Length: -1\r\n\r\n%.0d%s",
    "behind a length with a sign": b"Content-Length: +0\r\n\r\n%.0d%s",
    "behind two lengths": b"Content-Length: 0\r\nContent-Length: 9\r\n\r\n%.0d%s",
    "behind a length with a blank": b"Content-Length : 9\r\n\r\n%.0d%s",
    "behind a folded length": b"Content-Length: 9\r\n 0\r\n\r\n%.0d%s",
}


@pytest.fixture(scope="module")
def proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    words = ["--behind-proxy", "https://ring.example"]
    server = Server(tmp_path_factory.mktemp("proxied") / "data", "serve", arguments=words)
    yield server
    server.kill()


@pytest.mark.parametrize("attack", ATTACKS)
@pytest.mark.parametrize("version", [b"1.0", b"1.1"])
def test_no_request_hides_behind_another(proxied: Server, attack: str, version: bytes) -> None:
    host = b"Host: localhost:%d\r\n" % proxied.port
    hidden = b"GET /healthz HTTP/1.1\r\n" + host + b"\r\n"
    inner = host + b"\r\n" + hidden if "chunk" in attack else hidden
    begin = b"POST /api/sync HTTP/%s\r\n%sConnection: Keep-Alive\r\n" % (version, host)
    got = wire.ask(proxied.port, begin + ATTACKS[attack] % (len(inner), inner))
    # One in chunks can be read, and is for those who were let in.
    assert wire.statuses(got) == [401 if CHUNKED in ATTACKS[attack] else 400]
    assert b'"ok"' not in got
    # Without anything wrong, both are answered.
    fair = begin + b"Content-Length: 0\r\n\r\n" + hidden
    assert wire.statuses(wire.ask(proxied.port, fair)) == [401, 200]


def test_nobody_speaks_for_the_proxy_with_an_underscore(proxied: Server) -> None:
    def status(*headers: str) -> list[int]:
        lines = ["GET /healthz HTTP/1.1", *headers, "", ""]
        return wire.statuses(wire.ask(proxied.port, "\r\n".join(lines).encode()))

    ours, theirs = "X-Forwarded-Host: ring.example", "X_Forwarded_Host: elsewhere.example"
    host = f"Host: localhost:{proxied.port}"
    assert status(host, ours) == [200]
    assert status(host, ours, theirs) == status(host, theirs, ours) == [200]
    assert status("Host: elsewhere.example", "X_Forwarded_Host: ring.example") == [421]
    assert status(host, host) == [400]


@pytest.mark.parametrize(
    "lines",
    [
        (b"GET http://[ HTTP/1.1",),
        (b"GET /healthz HTTP/1.1", b" folded"),
        (b"GET /healthz HTTP/1.1", b"X: a", b"\tb"),
    ],
)
def test_what_cannot_be_read_is_no_fault_of_ours(proxied: Server, lines: tuple[bytes]) -> None:
    host = b"Host: localhost:%d" % proxied.port
    got = wire.ask(proxied.port, b"\r\n".join([*lines, host, b"", b""]))
    assert wire.statuses(got) == [400]
    assert "Traceback" not in proxied.output


# --- TLS


def test_only_ciphers_with_forward_secrecy_are_offered(tmp_path: Path) -> None:
    ring = Keyring(tmp_path / "keys")
    now = datetime.now(UTC)
    ring.renew(ring.authority("van", ["localhost"], now), ["localhost"], [], now)
    context: ssl.SSLContext = Tls(str(ring.chain), str(ring.key)).context
    assert context.minimum_version >= ssl.TLSVersion.TLSv1_2
    offered = [cipher["name"] for cipher in context.get_ciphers()]
    assert offered
    assert {name.split("-")[0].split("_")[0] for name in offered} <= {"TLS", "ECDHE", "DHE"}
    weak = ("RC4", "3DES", "DES-", "MD5", "NULL", "EXP", "anon", "PSK")
    assert not [name for name in offered if any(part in name for part in weak)]
