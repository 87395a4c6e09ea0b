"""`ringside serve --lan` and `--behind-proxy` as real processes: who is answered, and over what."""

from __future__ import annotations

import contextlib
import html
import http.client
import json
import os
import re
import socket
import ssl
import stat
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from email.message import Message
from http.cookiejar import CookieJar
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest
import uuid6
from cryptography import x509
from werkzeug.test import Client

from ringside.app import create_app
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.cli.command import parser
from ringside.cli.lan import Neighbourhood, serve_trust_page
from ringside.cli.options import Trouble
from ringside.cli.serve import settings_of
from ringside.web.serve import bounds, lan
from ringside.web.serve import server as serving
from ringside.web.serve.announce import Announcer
from ringside.web.serve.certificates import fingerprint
from ringside.web.serve.lan import Lan, machine_name
from ringside.web.serve.tls import Tls
from tests.known import shipped
from tests.ports import free_pair, free_port
from tests.support import PATIENCE, ROOT, Server, offer, until

PUBLIC = "ring.example"
NEVER = 3600  # seconds

posix_only = pytest.mark.skipif(os.name != "posix", reason="only POSIX has these modes")


class LanServer(Server):
    """The real server with --lan: over https, in whose authority these tests trust."""

    def __init__(self, data: Path, **options: Any) -> None:
        super().__init__(data, "serve", arguments=["--lan"], **options)
        self.trust_url = f"http://localhost:{self.port + 1}/"


@dataclass
class Answer:
    status: int
    headers: Message
    body: str


def ask(
    server: LanServer,
    path: str,
    *,
    base: str = "",
    body: Any = None,
    headers: dict[str, str] | None = None,
    jar: CookieJar | None = None,
) -> Answer:
    """Ask as a phone does that trusts our authority and no other."""
    trust = ssl.create_default_context(cafile=server.authority)
    opener = urllib.request.build_opener(
        urllib.request.ProxyHandler({}),
        urllib.request.HTTPSHandler(context=trust),
        urllib.request.HTTPCookieProcessor(jar),
    )
    request = urllib.request.Request(
        (base or server.url) + path,
        data=None if body is None else json.dumps(body).encode(),
        headers={"Content-Type": "application/json", **(headers or {})},
    )
    try:
        with opener.open(request, timeout=PATIENCE) as response:
            return Answer(response.status, response.headers, response.read().decode())
    except urllib.error.HTTPError as error:
        with error:
            return Answer(error.code, error.headers, error.read().decode())


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LanServer]:
    server = LanServer(tmp_path_factory.mktemp("lan") / "data")
    yield server
    server.kill()


# --- The local network


def test_a_phone_that_trusts_the_authority_is_answered(server: LanServer) -> None:
    for name in ("localhost", "127.0.0.1"):
        answer = ask(server, "healthz", base=f"https://{name}:{server.port}/")
        assert (answer.status, json.loads(answer.body)) == (200, {"ok": True})


def test_every_address_of_this_machine_is_in_the_certificate(server: LanServer) -> None:
    trust = ssl.create_default_context(cafile=server.authority)
    names = [machine_name() + ".local", *map(str, Lan(server.data).addresses)]
    assert len(names) > 1
    for name in names:
        with (
            socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE) as plain,
            trust.wrap_socket(plain, server_hostname=name) as tls,
        ):
            assert tls.version() in ("TLSv1.2", "TLSv1.3")


def test_a_phone_that_does_not_trust_it_goes_no_further(server: LanServer) -> None:
    with (
        socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE) as plain,
        pytest.raises(ssl.SSLCertVerificationError),
    ):
        ssl.create_default_context().wrap_socket(plain, server_hostname="localhost")
    # The next one is answered all the same.
    assert ask(server, "healthz").status == 200


@pytest.mark.filterwarnings("ignore:.*TLSv1:DeprecationWarning")
def test_old_tls_is_refused(server: LanServer) -> None:
    old = ssl.create_default_context(cafile=server.authority)
    old.set_ciphers("ALL:@SECLEVEL=0")
    old.minimum_version = ssl.TLSVersion.TLSv1
    old.maximum_version = ssl.TLSVersion.TLSv1_1
    with (
        socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE) as plain,
        pytest.raises(ssl.SSLError),
    ):
        old.wrap_socket(plain, server_hostname="localhost")


def plain_http(port: int, host: str, path: str = "/", method: str = "GET") -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    try:
        connection.request(method, path, headers={"Host": host})
        response = connection.getresponse()
        return response.status, response.read().decode()
    finally:
        connection.close()


@pytest.mark.parametrize("path", ["/", "/healthz", f"/?{'x' * 30_000}"])
def test_plain_http_on_the_https_port_is_refused_in_words(server: LanServer, path: str) -> None:
    status, body = plain_http(server.port, f"localhost:{server.port}", path)
    assert status == 400
    assert "https://" in body
    assert "Traceback" not in server.output


@pytest.mark.parametrize(
    "sent", [b"", b"\0" * 500, b"\x16\x03\x01\xff\xff" + b"\0" * 50, b"SSH-2.0-x\r\n"]
)
def test_what_is_neither_is_dropped_and_harms_nobody(server: LanServer, sent: bytes) -> None:
    with socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE) as plain:
        plain.sendall(sent)
        with contextlib.suppress(OSError):  # it may have been dropped by now
            plain.shutdown(socket.SHUT_WR)
        with contextlib.suppress(ConnectionResetError):
            assert b"200" not in plain.recv(4096)
    assert ask(server, "healthz").status == 200
    assert "Traceback" not in server.output


def test_phones_that_lose_their_signal_after_connecting_keep_nobody_waiting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "IDLE", NEVER)
    with serving_tls(tmp_path) as (server, trust):
        silent = [socket.create_connection(server.bind_addr) for _ in range(50)]
        # One is lost in the middle of its greeting.
        silent[0].sendall(b"\x16\x03\x01")
        with greeted(server, trust) as phone:
            phone.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
            assert phone.recv(4096).startswith(b"HTTP/1.1 200 ")
        assert len(server.open) >= len(silent)
        for one in silent:
            one.close()


def test_phones_that_connect_in_advance_keep_nobody_waiting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Browsers greet before they have anything to ask."""
    monkeypatch.setattr(bounds, "IDLE", NEVER)
    with serving_tls(tmp_path) as (server, trust), contextlib.ExitStack() as stack:
        for _ in range(8):
            stack.enter_context(greeted(server, trust))
        phone = stack.enter_context(greeted(server, trust))
        for _ in range(2):
            phone.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
            assert phone.recv(4096).startswith(b"HTTP/1.1 200 ")
        assert server.end() == 0


@pytest.mark.parametrize("length", ["Content-Length: 9", "Transfer-Encoding: chunked"])
def test_who_is_cut_off_is_never_answered_in_clear(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    length: str,
) -> None:
    monkeypatch.setattr(bounds, "STOPPED_IN", 0.5)
    monkeypatch.setattr(bounds, "IDLE", NEVER)
    with serving_tls(tmp_path) as (server, trust), greeted(server, trust) as phone:
        phone.sendall(f"POST / HTTP/1.1\r\nHost: x\r\n{length}\r\n\r\n5\r\nhalf".encode())
        until(lambda: server.busy)
        assert server.end() == 1
        phone.suppress_ragged_eofs = False
        # It is told that there is no whole answer.
        with pytest.raises(ssl.SSLError, match=r"alert|EOF"):
            phone.recv(4096)
        with socket.socket(fileno=phone.detach()) as below:
            assert below.recv(4096) == b""
    assert not caplog.records  # nobody at the terminal can do anything about it


@contextlib.contextmanager
def serving_tls(folder: Path) -> Iterator[tuple[serving.Server, ssl.SSLContext]]:
    """A server over TLS in this process, with two workers, and what trusts it."""

    def app(environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
        environ["wsgi.input"].read()
        start("200 OK", [("Content-Length", "0")])
        return []

    keys = Lan(folder).ring
    server = serving.Server("127.0.0.1", free_port(), app, 100, workers=2)
    server.ssl_adapter = Tls(str(keys.chain), str(keys.key))
    server.begin()
    until(lambda: server.ready)
    try:
        yield server, ssl.create_default_context(cafile=keys.folder / "authority.pem")
    finally:
        server.end()


def greeted(server: serving.Server, trust: ssl.SSLContext) -> ssl.SSLSocket:
    plain = socket.create_connection(server.bind_addr, timeout=PATIENCE)
    return trust.wrap_socket(plain, server_hostname="localhost")


@pytest.mark.skipif(not socket.has_dualstack_ipv6(), reason="this machine has no IPv6")
def test_ipv6_is_listened_to_as_well(server: LanServer) -> None:
    for base in (f"https://[::1]:{server.port}/", f"http://[::1]:{server.port + 1}/"):
        assert ask(server, "", base=base).status == 200


@pytest.mark.parametrize("name", ["evil.example", "192.0.2.7", "localhost.evil.example", ""])
@pytest.mark.parametrize("page", [False, True], ids=["app", "trust-page"])
def test_it_answers_to_its_own_names_alone(server: LanServer, name: str, page: bool) -> None:
    port, base = (server.port + page, server.trust_url if page else server.url)
    for path in ("", "healthz", "authority.crt", "api/session"):
        answer = ask(server, path, base=base, headers={"Host": f"{name}:{port}"})
        assert answer.status == 421, path
        assert "the address it printed" in answer.body
    # Nor to its own name at another's port.
    assert ask(server, "", base=base, headers={"Host": "localhost:1"}).status == 421


def test_on_the_local_network_https_is_not_made_to_last(server: LanServer) -> None:
    for base, path in ((server.url, ""), (server.url, "healthz"), (server.trust_url, "")):
        assert "Strict-Transport-Security" not in ask(server, path, base=base).headers


def test_a_request_is_not_believed_about_where_it_came_by(server: LanServer) -> None:
    said = {"X-Forwarded-Host": "evil.example", "X-Forwarded-Proto": "http"}
    assert ask(server, "healthz", headers=said).status == 200
    wrong = {"Host": "evil.example", "X-Forwarded-Host": f"localhost:{server.port}"}
    assert ask(server, "healthz", headers=wrong).status == 421


def test_the_token_of_a_paired_phone_is_bound_to_https_and_to_the_host(server: LanServer) -> None:
    jar = CookieJar()
    key = json.loads(ask(server, "api/session", jar=jar).body)["csrf"]
    device = str(uuid6.uuid7())
    answer = ask(
        server,
        "api/pair",
        body={"code": offer(server.place).typed, "device": device, "name": "A phone"},
        headers={"X-CSRFToken": key, "Referer": server.url, "Origin": server.url.rstrip("/")},
        jar=jar,
    )
    assert answer.status == 200, answer.body
    given = answer.headers.get_all("Set-Cookie", [])
    (token,) = [line for line in given if line.startswith("__Host-ringside-device=")]
    assert {"Secure", "HttpOnly", "Path=/", "SameSite=Strict"} <= set(token.split("; "))
    assert "domain" not in token.lower()
    session = json.loads(ask(server, "api/session", jar=jar).body)
    assert (session["device"], session["role"]) == (device, "owner")
    assert all(cookie.secure for cookie in jar)
    assert device not in ask(server, "api/session").body
    assert token.partition("=")[2].partition(";")[0] not in server.output


def test_a_change_that_another_site_asked_for_is_refused(server: LanServer) -> None:
    jar = CookieJar()
    key = json.loads(ask(server, "api/session", jar=jar).body)["csrf"]
    for origin in ("https://evil.example", server.trust_url.rstrip("/")):
        said = {"X-CSRFToken": key, "Referer": server.url, "Origin": origin}
        assert ask(server, "api/pair", body={}, headers=said, jar=jar).status == 403


# --- The page that walks a phone through trusting


def test_the_trust_page_shows_the_fingerprint_that_was_printed(server: LanServer) -> None:
    printed = re.search(r"^Fingerprint to compare: (\S+)$", server.output, re.MULTILINE)
    assert printed
    assert re.fullmatch(r"([0-9A-F]{2}:){31}[0-9A-F]{2}", printed[1])
    # In the words of an independent hash.
    pem = server.authority.read_text(encoding="ascii")
    digest = fingerprint(x509.load_pem_x509_certificate(pem.encode()))
    assert printed[1] == digest
    for base in (server.trust_url, f"http://127.0.0.1:{server.port + 1}/"):
        page = ask(server, "", base=base)
        assert page.status == 200
        shown = html.unescape(re.sub(r"<[^>]*>", "", page.body))
        assert printed[1] in shown
        assert f"https://{machine_name()}.local:{server.port}/" in shown
        assert "'unsafe-inline'" not in page.headers["Content-Security-Policy"]
        assert "default-src 'none'" in page.headers["Content-Security-Policy"]


def test_the_trust_page_hands_out_the_certificate_and_never_a_key(server: LanServer) -> None:
    answer = ask(server, "authority.crt", base=server.trust_url)
    assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert answer.body == server.authority.read_text(encoding="ascii")
    assert "PRIVATE" not in answer.body
    for style in ("tokens", "app", "desk"):
        assert ask(server, f"style/{style}.css", base=server.trust_url).status == 200
    for path in (
        *("authority.key", "server.key", "server.pem", "keys/server.key", "healthz", "desk"),
        *("api/session", "style/ring.css", "style/..%2f..%2fkeys.css", "static/js/app.js"),
    ):
        answer = ask(server, path, base=server.trust_url)
        assert answer.status == 404, path
        assert "PRIVATE" not in answer.body
    sent = ask(server, "", base=server.trust_url, body={"code": "x"})
    assert sent.status == 405


def test_the_links_of_the_trust_page_are_all_printed(server: LanServer) -> None:
    page = ask(server, "", base=server.trust_url).body
    for link in re.findall(r'href="https://([^":/]+):\d+/"', page):
        assert f"  http://{link}:{server.port + 1}/" in server.output
    assert f"Open:    https://{machine_name()}.local:{server.port}/" in server.output


@posix_only
def test_the_keys_are_the_owners_alone(server: LanServer) -> None:
    folder = server.data / "keys"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}
    assert set(modes) == {"authority.pem", "authority.key", "server.pem", "server.key"}
    assert set(modes.values()) == {0o600}


def test_phones_need_not_trust_again_after_a_restart(start_lan: Callable[[], LanServer]) -> None:
    server = start_lan()
    before = {path.name: path.read_bytes() for path in (server.data / "keys").iterdir()}
    server.restart()
    assert ask(server, "healthz").status == 200
    assert {path.name: path.read_bytes() for path in (server.data / "keys").iterdir()} == before
    assert len(set(re.findall(r"Fingerprint to compare: (\S+)", server.output))) == 1


@pytest.fixture
def start_lan(tmp_path: Path) -> Iterator[Callable[[], LanServer]]:
    servers: list[LanServer] = []

    def start() -> LanServer:
        servers.append(LanServer(tmp_path / f"data-{len(servers)}"))
        return servers[-1]

    yield start
    for one in servers:
        one.kill()


# --- What keeps it from starting


def refused(data: Path, *arguments: object) -> str:
    """What the command says when it does not start; a traceback is not a message."""
    done = subprocess.run(
        [sys.executable, "-m", "ringside", "serve", "--data", str(data), "--no-browser"]
        + [str(word) for word in arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        stdin=subprocess.DEVNULL,
    )
    assert done.returncode == 2, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("ringside: ")
    return done.stderr


@pytest.mark.parametrize("after", [0, 1], ids=["the-port", "the-next"])
def test_a_port_in_use_is_named(tmp_path: Path, after: int) -> None:
    port = free_pair()
    with socket.create_server(("127.0.0.1", port + after)):
        said = refused(tmp_path / "data", "--lan", "--port", port)
    assert f"Port {port + after} is in use" in said
    other = re.search(r"--port (\d+)", said)
    assert other
    assert int(other[1]) not in (port, port + 1)


@pytest.mark.parametrize("address", ["http://ring.example", "ring.example"])
def test_a_bad_public_address_stops_the_start(tmp_path: Path, address: str) -> None:
    said = refused(tmp_path / "data", "--behind-proxy", address, "--port", free_port())
    assert "https://ring.example" in said
    assert not (tmp_path / "data" / "keys").exists()


@pytest.mark.parametrize(
    "address",
    [
        *("http://ring.example", "ring.example", "https://", "https://ring.example/book"),
        *("ftp://ring.example", "https:ring.example", "//ring.example"),
        *(
            address
            for address in (
                *("", "https://[::1", "https://ring.example?book", "https://ring.example#book"),
                *("https://me@ring.example", "https://ring.example:port", "https://ring example"),
            )
        ),
    ],
)
def test_a_bad_public_address_is_explained(tmp_path: Path, address: str) -> None:
    options = parser().parse_args(["serve", "--behind-proxy", address])
    with pytest.raises(Trouble, match=r"https://ring\.example"):
        settings_of(options, tmp_path, is_demo=False, lan=None)


@pytest.mark.parametrize("hops", ["0", "-1"])
def test_a_bad_number_of_proxies_is_explained(tmp_path: Path, hops: str) -> None:
    address = f"https://{PUBLIC}"
    said = refused(
        tmp_path / "data", "--behind-proxy", address, "--port", free_port(), "--hops", hops
    )
    assert "--hops" in said


# --- Behind a proxy


class Proxied(Server):
    """The real server behind a proxy of ours, whose part these tests play."""

    def ask(self, path: str = "/healthz", **said: str) -> Answer:
        """Ask over the one hop there is, with what a proxy says of the request."""
        headers = {name.replace("_", "-"): value for name, value in said.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        try:
            connection.request("GET", path, headers={"Host": f"localhost:{self.port}", **headers})
            response = connection.getresponse()
            return Answer(response.status, response.headers, response.read().decode())
        finally:
            connection.close()


@pytest.fixture(scope="module")
def proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxied]:
    data = tmp_path_factory.mktemp("proxied") / "data"
    server = Proxied(data, "serve", arguments=["--behind-proxy", f"https://{PUBLIC}"])
    yield server
    server.kill()


@pytest.fixture(scope="module")
def twice_proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxied]:
    data = tmp_path_factory.mktemp("twice") / "data"
    words = ["--behind-proxy", f"https://{PUBLIC}/", "--hops", "2"]
    server = Proxied(data, "serve", arguments=words)
    yield server
    server.kill()


def test_the_public_name_is_answered_and_made_to_last(proxied: Proxied) -> None:
    assert f"Open:    https://{PUBLIC}/\n" in proxied.output
    for host in (PUBLIC, PUBLIC.upper()):
        answer = proxied.ask(X_Forwarded_Host=host, X_Forwarded_Proto="https")
        assert answer.status == 200
        lasting = re.fullmatch(r"max-age=(\d+)", answer.headers["Strict-Transport-Security"])
        assert lasting
        assert int(lasting[1]) >= 365 * 24 * 3600
    # A proxy may also pass the name itself on.
    assert proxied.ask(Host=PUBLIC, X_Forwarded_Proto="https").status == 200


@pytest.mark.parametrize(
    "host", ["evil.example", f"{PUBLIC}.evil.example", f"{PUBLIC}:8443", f"evil.{PUBLIC}"]
)
def test_another_forwarded_host_is_refused(proxied: Proxied, host: str) -> None:
    answer = proxied.ask(X_Forwarded_Host=host, X_Forwarded_Proto="https")
    assert answer.status == 421


def test_only_the_hop_that_is_ours_is_believed(proxied: Proxied) -> None:
    # A proxy appends what it saw: what stands before that was said by the one who asks.
    good = proxied.ask(X_Forwarded_Host=f"evil.example, {PUBLIC}", X_Forwarded_Proto="https")
    assert good.status == 200
    spoofed = proxied.ask(X_Forwarded_Host=f"{PUBLIC}, evil.example", X_Forwarded_Proto="https")
    assert spoofed.status == 421
    # No other way of saying it is believed at all.
    for name in ("Forwarded", "X_Original_Host", "X_Host", "X_Forwarded_Server"):
        value = f"host={PUBLIC}" if name == "Forwarded" else PUBLIC
        assert proxied.ask(Host="evil.example", **{name: value}).status == 421


def pair_via(server: Proxied, said: str, proto: str = "https", code: str = "00000000") -> Answer:
    """Try to pair, saying to have come from `said`."""
    first = server.ask("/api/session", X_Forwarded_Host=PUBLIC, X_Forwarded_Proto=proto)
    cookies = [line.partition(";")[0] for line in first.headers.get_all("Set-Cookie", [])]
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE)
    body = {"code": code, "device": str(uuid6.uuid7()), "name": ""}
    try:
        connection.request(
            "POST",
            "/api/pair",
            json.dumps(body),
            {
                "Host": f"localhost:{server.port}",
                "Content-Type": "application/json",
                "Cookie": "; ".join(cookies),
                "X-CSRFToken": json.loads(first.body)["csrf"],
                "Referer": f"https://{PUBLIC}/",
                "Origin": f"https://{PUBLIC}",
                "X-Forwarded-Host": PUBLIC,
                "X-Forwarded-Proto": proto,
                "X-Forwarded-For": said,
            },
        )
        response = connection.getresponse()
        return Answer(response.status, response.headers, response.read().decode())
    finally:
        connection.close()


def test_a_phone_pairs_over_the_proxy_with_a_token_bound_to_https(proxied: Proxied) -> None:
    answer = pair_via(proxied, "203.0.113.5", code=offer(proxied.place).typed)
    assert answer.status == 200, answer.body
    given = answer.headers.get_all("Set-Cookie", [])
    (token,) = [line for line in given if line.startswith("__Host-ringside-device=")]
    assert {"Secure", "HttpOnly", "Path=/", "SameSite=Strict"} <= set(token.split("; "))


def test_the_scheme_is_that_of_the_last_hop(proxied: Proxied) -> None:
    # "https" was said by the one who asks, "http" by our proxy: no token for https is given.
    code = offer(proxied.place).typed
    answer = pair_via(proxied, "203.0.113.5", proto="https, http", code=code)
    assert answer.status in (400, 403)
    assert "__Host-" not in str(answer.headers)
    # And the other way round.
    assert pair_via(proxied, "203.0.113.5", proto="http, https", code=code).status == 200


def tries_until_limited(server: Proxied, said: Callable[[int], str]) -> int:
    """How many wrong codes are heard before the address is told to wait."""
    for number in range(60):
        if pair_via(server, said(number)).status == 429:
            return number
    return 60


def test_who_guesses_codes_cannot_pass_for_many(tmp_path: Path) -> None:
    """The limit for one address holds whatever stands before our own hop's word."""
    words = ["--behind-proxy", f"https://{PUBLIC}"]
    server = Proxied(tmp_path / "data", "serve", arguments=words)
    try:
        spoofed = tries_until_limited(server, lambda number: f"198.51.{number}.1, 203.0.113.9")
        assert spoofed < 60
        # Another phone is still heard: it is the last hop's word that counts, not the proxy's own.
        assert pair_via(server, "203.0.114.10").status != 429
        server.stop()
        assert "cut off" not in server.output
    finally:
        server.kill()


def test_two_hops_are_believed_where_there_are_two(twice_proxied: Proxied) -> None:
    inner = "proxy.internal"
    good = f"{PUBLIC}, {inner}"
    both = "https, http"
    assert twice_proxied.ask(X_Forwarded_Host=good, X_Forwarded_Proto=both).status == 200
    extra = f"{PUBLIC}, evil.example, {inner}"
    assert twice_proxied.ask(X_Forwarded_Host=extra, X_Forwarded_Proto=both).status == 421


def test_behind_a_proxy_only_this_computer_is_listened_to(proxied: Proxied) -> None:
    for address in Lan(proxied.data).addresses:
        if address.is_loopback or address.is_link_local:
            continue
        with socket.socket(socket.AF_INET6 if address.version == 6 else socket.AF_INET) as probe:
            probe.settimeout(2)
            assert probe.connect_ex((str(address), proxied.port)) != 0


# --- The parts


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ("Van.lan", "van"),
        ("", "ringside"),
        (".", "ringside"),
        ("Ann's van", "ann-s-van"),
        ("küche", "k-che"),
        ("my_pc", "my-pc"),
        ("日本", "ringside"),
        ("x" * 80, "x" * 63),
    ],
)
def test_any_name_of_a_machine_becomes_one_for_a_certificate(
    given: str, name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: given)
    assert machine_name() == name
    assert Lan(tmp_path / "data").names == [f"{name}.local", "localhost"]


class Timers:
    """Clocks that ring when the test says so."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.waiting: list[Callable[[], None]] = []
        monkeypatch.setattr(threading, "Timer", self._timer)

    def _timer(self, seconds: float, act: Callable[[], None]) -> threading.Thread:
        assert 0 < seconds <= 24 * 3600
        self.waiting.append(act)
        return threading.Thread()

    def ring(self) -> None:
        self.waiting.pop(0)()


def greets_as(tls: Tls, name: str, authority: Path) -> bool:
    """Whether a phone that trusts `authority` alone takes what is shown for `name`."""
    trust = ssl.create_default_context(cafile=authority)
    near, far = socket.socketpair()

    def answer() -> None:
        with contextlib.suppress(OSError), tls.begin(far) as begun:
            begun.do_handshake()

    thread = threading.Thread(target=answer)
    thread.start()
    try:
        with trust.wrap_socket(near, server_hostname=name):
            return True
    except ssl.SSLCertVerificationError:
        return False
    finally:
        near.close()
        thread.join()


def test_a_new_address_is_seen_and_shown_without_a_restart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = ["127.0.0.1", "8.8.8.8", "192.168.1.20", "fe80::1%eth0"]
    monkeypatch.setattr(lan, "own_addresses", lambda: found)
    timers = Timers(monkeypatch)
    here = Lan(tmp_path / "data")
    assert here.hosts(9) == {
        f"{here.host}.local:9",
        *("localhost:9", "127.0.0.1:9", "192.168.1.20:9", "[fe80::1]:9"),
    }
    assert here.links(9) == [f"https://{here.host}.local:9/", "https://192.168.1.20:9/"]
    assert not here.look()
    told: list[list[str]] = []
    tls, trusted = here.tls(lambda: told.append(here.links(9))), here.ring.folder / "authority.pem"
    assert greets_as(tls, "192.168.1.20", trusted)
    assert not greets_as(tls, "10.0.0.7", trusted)
    body = trusted.read_bytes()
    timers.ring()
    assert told == []
    found.append("10.0.0.7")
    timers.ring()
    assert ip_address("10.0.0.7") in here.addresses
    assert greets_as(tls, "10.0.0.7", trusted)
    assert told == [here.links(9)]
    assert "https://10.0.0.7:9/" in told[0]
    assert trusted.read_bytes() == body
    assert timers.waiting


def test_a_new_address_is_answered_to_and_told_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found = ["127.0.0.1", "192.168.1.20"]
    monkeypatch.setattr(lan, "own_addresses", lambda: list(found))
    monkeypatch.setattr(Announcer, "start", lambda announcer: None)
    timers = Timers(monkeypatch)
    here = Lan(tmp_path / "data")
    options = parser().parse_args(["serve", "--lan", "--port", "9"])
    settings = settings_of(options, tmp_path / "data", is_demo=False, lan=here)
    book = open_book(Place(tmp_path / "data"))
    app = create_app(settings, book, shipped())
    page = here.trust_server(10, 9).wsgi_app
    here.tls(Neighbourhood(here, 9).changed)

    def status(address: str) -> list[int]:
        asked = [(app, f"https://{address}:9"), (page, f"http://{address}:10")]
        return [Client(one).get("/", base_url=base).status_code for one, base in asked]

    assert status("192.168.1.20") == [200, 200]
    assert status("10.0.0.7") == [421, 421]
    for addresses in (["10.0.0.7"], [], ["10.0.0.7"]):
        found[1:] = addresses
        timers.ring()
    assert status("10.0.0.7") == [200, 200]
    assert status("192.168.1.20") == [421, 421]
    assert capsys.readouterr().out == "New address: https://10.0.0.7:9/\n"
    book.close()


def test_a_certificate_is_renewed_though_the_addresses_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    timers = Timers(monkeypatch)
    here = Lan(tmp_path / "data")
    looks: list[bool] = []
    monkeypatch.setattr(here, "look", lambda: looks.append(True))
    here.tls()
    timers.ring()
    assert looks == []
    here.looked -= lan.RENEWED_AT
    timers.ring()
    assert looks == [True]


def test_a_new_authority_is_told_where_there_was_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def said(name: str) -> str:
        monkeypatch.setattr(socket, "gethostname", lambda: name)
        serve_trust_page(Lan(tmp_path / "data"), 9)
        return capsys.readouterr().out

    anew = "Every phone has to trust it again."
    first, again, other = said("van"), said("van"), said("kitchen")
    assert anew not in first + again
    assert anew in other
    prints = [re.search(r"Fingerprint to compare: (\S+)", one) for one in (first, again, other)]
    assert all(prints)
    assert len({one[1] for one in prints if one}) == 2
    assert anew not in said("kitchen")


def test_a_look_that_failed_is_not_the_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    timers = Timers(monkeypatch)
    here = Lan(tmp_path / "data")
    here.tls()

    def full() -> list[str]:
        raise OSError("The disk is full")

    monkeypatch.setattr(lan, "own_addresses", full)
    timers.ring()
    assert "Looking at the network failed." in caplog.text
    assert len(timers.waiting) == 1
