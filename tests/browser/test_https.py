"""The app over HTTPS on the local network, in a browser that trusts the server's own authority."""

from __future__ import annotations

import base64
import hashlib
import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import BrowserContext, Error, Playwright, expect

from ringside.web.serve.certificates import Keyring, make_server
from tests.browser.phone import OUT_OF_REACH, POCKET, Phone, asked, assert_level
from tests.browser.watch import Watch
from tests.support import CERTUTIL, environment_that_trusts, launch_options, offer
from tests.unit.test_lan import LanServer

STRANGERS = "www.example.com"


@dataclass
class Trust:
    """How a browser comes to trust a server's authority, and which of the two ways it was."""

    way: str
    args: list[str] = field(default_factory=list)
    env: dict[str, str] = field(default_factory=dict)


def trust(server: LanServer, home: Path) -> Trust:
    """The authority itself, as people do it, where there is the tool for it; else the browser is
    told which key not to complain of, which proves HTTPS but not the trust."""
    if CERTUTIL is None:
        leaf = x509.load_pem_x509_certificate((server.data / "keys" / "server.pem").read_bytes())
        spki = leaf.public_key().public_bytes(
            serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
        )
        pin = base64.b64encode(hashlib.sha256(spki).digest()).decode()
        flag = f"--ignore-certificate-errors-spki-list={pin}"
        return Trust("the key named by --ignore-certificate-errors-spki-list", [flag])
    env = environment_that_trusts(server.authority, home)
    return Trust("the authority, put into the NSS store by certutil", env=env)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[LanServer]:
    server = LanServer(tmp_path / "data")
    yield server
    server.kill()


@pytest.fixture
def trusting(
    playwright: Playwright, watch: Watch, server: LanServer, tmp_path: Path
) -> Callable[..., BrowserContext]:
    """A factory of whole browsers that trust the server; the same profile each time."""
    how = trust(server, tmp_path / "home")
    print(f"Trusted by the browser: {how.way}.")

    def open_browser(*args: str) -> BrowserContext:
        options: dict[str, Any] = {**launch_options(), **POCKET}
        options["args"] = [*options["args"], *how.args, *args]
        if how.env:
            options["env"] = how.env
        return watch.add(
            playwright.chromium.launch_persistent_context(tmp_path / "profile", **options)
        )

    return open_browser


def test_a_phone_on_the_local_network_works_without_its_server(
    server: LanServer, trusting: Callable[..., BrowserContext], allowed_errors: list[str]
) -> None:
    allowed_errors += [OUT_OF_REACH, "status of 401"]
    context = trusting()
    phone = Phone(context.pages[0], server.url)
    page = phone.page
    page.goto(server.url)
    assert page.evaluate("[location.protocol, isSecureContext]") == ["https:", True]
    expect(page.get_by_role("heading", name="Pair this device")).to_be_visible()
    page.get_by_label("Code").fill(offer(server.place).typed)
    page.get_by_role("button", name="Pair", exact=True).click()
    page.get_by_role("link", name="To the kennel", exact=True).click()
    phone.ready_offline()
    (cookie,) = [one for one in context.cookies() if one["name"] == "__Host-ringside-device"]
    assert cookie["secure"]
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Strict"
    assert page.evaluate("document.cookie") == ""
    phone.add_dog("Juniper", "Pug")
    phone.sync(server.data)
    server.stop()
    page.reload()
    expect(page.locator("#main h1").first).to_be_visible()
    assert page.evaluate("navigator.serviceWorker.controller.state") == "activated"
    phone.rename("Juniper", "June")
    assert asked(server.data, "SELECT 1 FROM change WHERE value = ?", '"June"') == []
    # The browser is ended and begun again, still without a server.
    context.close()
    context = trusting()
    phone = Phone(context.pages[0], server.url).open()
    phone.dog("June")
    server.start()
    phone.sync(server.data)
    assert asked(server.data, "SELECT COUNT(*) FROM change WHERE value = ?", '"June"') == [(1,)]
    assert_level(phone, server.data)


def test_a_browser_that_was_not_told_to_trust_it_refuses(
    server: LanServer, context: Callable[..., BrowserContext]
) -> None:
    page = context().new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(server.url)


@pytest.mark.skipif(CERTUTIL is None, reason="certutil (libnss3-tools) is not installed")
def test_a_browser_that_trusts_it_trusts_it_for_no_public_name(
    server: LanServer, trusting: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    """Whoever steals the authority's key cannot pass for a site of the world with it."""
    stolen = Keyring(server.data / "keys")._load("authority")
    assert stolen
    for names in ([STRANGERS], ["localhost", STRANGERS]):
        pair = make_server(stolen, names, [], datetime.now(UTC))
        ring = Keyring(tmp_path / f"stolen-{len(names)}")
        ring._keep("server", pair)
        with listening(ring) as port:
            context = trusting(f"--host-resolver-rules=MAP {STRANGERS} 127.0.0.1")
            page = context.pages[0]
            with pytest.raises(Error, match=r"ERR_CERT_(INVALID|NAME_CONSTRAINT_VIOLATION)"):
                page.goto(f"https://{STRANGERS}:{port}/")
            trusted = context.new_page()
            trusted.goto(server.url)
            expect(trusted.get_by_role("heading", name="Pair this device")).to_be_visible()
            context.close()


@contextmanager
def listening(ring: Keyring) -> Iterator[int]:
    """A TLS server that shows what is in `ring` to whoever asks."""
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(ring.chain, ring.key)
    with socket.create_server(("127.0.0.1", 0)) as ear, ExitStack() as stack:
        port: int = ear.getsockname()[1]

        def listen() -> None:
            while True:
                try:
                    near, _ = ear.accept()
                except OSError:
                    return
                with suppress(OSError), context.wrap_socket(near, server_side=True) as begun:
                    begun.recv(4096)
                    begun.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n")

        thread = threading.Thread(target=listen, daemon=True)
        thread.start()
        stack.callback(thread.join, 10)
        stack.callback(ear.shutdown, socket.SHUT_RDWR)
        yield port
