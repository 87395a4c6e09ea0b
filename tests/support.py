"""What the tests share: where the browser is, and a real server in a process of its own."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import shutil
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, TypeVar

import pytest
import uuid6

from ringside.book.devices import OWNER, Devices, Offer
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.web.serve.lan import KEYS
from tests.ports import free_pair

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROOT = Path(__file__).resolve().parent.parent
OUTPUT = ROOT / "test-output"

# Only on Linux does Chromium look into the store that it fills; on Windows it is another program.
CERTUTIL = shutil.which("certutil") if sys.platform == "linux" else None

# Seconds to wait for what takes one on an idle machine. Waiting ends as soon as there is an answer,
# so patience costs nothing, and a busy machine is no finding.
PATIENCE = 120.0

Found = TypeVar("Found")

# Chromium draws what its address bar suggests in renderers of their own: two for each window, a
# second of a core, and nobody here types an address. Nor does anybody need one that stands ready
# for the next page. The others are those that Playwright turns off; of this argument only the last
# one counts.
turned_off = (
    "WebUIOmniboxPopup", "WebUIOmniboxAimPopup",
    "AimEnabled", "AvoidCorsURLLoaderRestartOnRedirect", "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose", "HttpsFirstBalancedModeAutoEnable", "HttpsUpgrades",
    "LensOverlay", "MediaRouter", "NetworkTimeServiceQuerying", "OptimizationHints", "PaintHolding",
    "PreconnectToSearch", "SpareRendererForSitePerProcess", "TcpPortRandomizationWin",
    "ThirdPartyStoragePartitioning",
)  # fmt: skip

# --no-sandbox: Chromium refuses its sandbox to root, as which containers run.
# The others keep it from looking for hosts that a machine without internet cannot reach.
launch_args = [
    *("--no-sandbox", "--disable-quic", "--disable-background-networking"),
    f"--disable-features={','.join(turned_off)}",
]

# Set on a test's node by tests/conftest.py once a phase of it has failed.
failed_key = pytest.StashKey[bool]()


# What it is called on Debian.
SHELL = "chromium-headless-shell"


def chromium_path() -> str | None:
    """The browser to drive; None stands for the one that Playwright fetched itself."""
    named = os.environ.get("RINGSIDE_CHROMIUM")
    if named is None:
        return shutil.which("chromium")
    return named or None


def shell_path() -> str | None:
    """Chromium without all that surrounds a page, which pages are driven in with a third less work;
    where there is none, the browser itself. Who named a browser has that one alone."""
    named = os.environ.get("RINGSIDE_SHELL")
    if named is None and "RINGSIDE_CHROMIUM" not in os.environ:
        named = shutil.which(SHELL)
    return named or chromium_path()


def launch_options() -> dict[str, Any]:
    """Keyword arguments for Playwright's launch() and launch_persistent_context()."""
    return {
        "executable_path": chromium_path(),
        # Real Chromium without a window; Playwright's default is a shell that cannot install apps.
        "channel": "chromium",
        "headless": True,
        "args": launch_args,
    }


def environment_that_trusts(authority: Path, home: Path) -> dict[str, str]:
    """The environment of a browser that trusts `authority` (a PEM file), as people make it do:
    in the NSS store below its home. Needs certutil."""
    assert CERTUTIL
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    new = ["-N", "--empty-password"]
    trust = ["-A", "-n", "ringside", "-t", "C,,", "-i", str(authority)]
    for words in (new, trust):
        subprocess.run([CERTUTIL, *words, "-d", f"sql:{store}"], check=True, timeout=PATIENCE)
    return {**os.environ, "HOME": str(home)}


def until(holds: Callable[[], Found], what: str = "") -> Found:
    """Wait for `holds` to give something true, and give it."""
    deadline = time.monotonic() + PATIENCE
    while not (found := holds()):
        assert time.monotonic() < deadline, f"In vain: {what}"
        time.sleep(0.005)
    return found


def output_file(node: pytest.Item, name: str) -> Path:
    """A path under test-output/ that tells which test it belongs to."""
    OUTPUT.mkdir(exist_ok=True)
    test = re.sub(r"[^\w.-]+", "-", node.nodeid.removeprefix("tests/"))[:150]
    return OUTPUT / f"{test.strip('-')}-{name}"


class Server:
    """The real server, started as people start it, on a free port of this machine.

    It runs when the constructor returns. `program` is what comes before the subcommand,
    so that an installed copy can be started as well as this checkout. A book in PostgreSQL is
    named by the last of the `arguments`: "--database", url. It speaks https with --lan, or when it
    is given `keys`, a folder with an authority and a certificate of its.
    """

    def __init__(
        self,
        data: Path,
        command: str = "demo",
        *,
        port: int | None = None,
        program: Sequence[str | Path] = (sys.executable, "-m", "ringside"),
        arguments: Sequence[str] = (),
        cwd: Path = ROOT,
        env: Mapping[str, str] | None = None,
        keys: Path | None = None,
    ) -> None:
        self.data = data
        self.port = port or free_pair()
        if keys and not self.keys.exists():
            shutil.copytree(keys, self.keys)
        if keys and command == "demo":
            program = (sys.executable, ROOT / "tests" / "https_demo.py")
            env = {"PYTHONPATH": str(cwd), **(env or {})}
        elif keys:
            arguments = ("--lan", *arguments)
        self.database = arguments[-1] if "--database" in arguments[:-1] else ""
        self.is_secure = bool(keys) or "--lan" in arguments
        self.url = f"http{'s' if self.is_secure else ''}://localhost:{self.port}/"
        self.log = data.with_name(f"{data.name}-{self.port}.log")
        self.cwd = cwd
        words = [*program, command, "--port", self.port, "--data", data, "--no-browser"]
        self.command = [str(word) for word in (*words, *arguments)]
        self.env = _environment(env or {})
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    @property
    def pid(self) -> int:
        assert self._process
        return self._process.pid

    @property
    def running(self) -> bool:
        return self._process is not None and self._process.poll() is None

    @property
    def place(self) -> Place:
        """Where its book is."""
        return Place(self.data, self.database)

    @property
    def keys(self) -> Path:
        """Where an https server keeps its authority and its certificate."""
        return self.data / KEYS

    @property
    def authority(self) -> Path:
        """The certificate that its phones trust."""
        return self.keys / "authority.pem"

    def connect(self, timeout: float = PATIENCE) -> http.client.HTTPConnection:
        """A connection for tests that speak HTTP themselves; over https, it trusts us alone."""
        if not self.is_secure:
            return http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        trust = ssl.create_default_context(cafile=self.authority)
        return http.client.HTTPSConnection("127.0.0.1", self.port, timeout=timeout, context=trust)

    @property
    def output(self) -> str:
        """All that the server printed, over every restart."""
        return self.log.read_text(encoding="utf-8", errors="replace") if self.log.exists() else ""

    def start(self) -> None:
        """Start and wait until it answers; the port and the data stay the same each time."""
        if self.running:
            return
        self.log.parent.mkdir(parents=True, exist_ok=True)
        with self.log.open("ab") as log:
            self._process = self._spawn(log)
        try:
            self._wait_until_healthy()
        except BaseException:
            self.kill()
            raise

    def _spawn(self, log: IO[bytes]) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            self.command,
            cwd=self.cwd,
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
        )

    def stop(self) -> None:
        """Ask the server to end, and insist if it does not."""
        if self._process is None:
            return
        self._process.terminate()
        try:
            self._process.wait(timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            self.kill()
            raise RuntimeError(f"The server did not stop when asked.\n{self.output}") from None
        self._process = None

    def kill(self) -> None:
        """End the server as a power cut would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def restart(self) -> None:
        self.stop()
        self.start()

    def __enter__(self) -> Server:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def _wait_until_healthy(self) -> None:
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            if not self.running:
                raise RuntimeError(f"The server ended while starting.\n{self._report()}")
            if self._health() == 200:
                return
            time.sleep(0.05)
        raise RuntimeError(f"No health within {PATIENCE:.0f} s.\n{self._report()}")

    def _health(self) -> int | None:
        """The status of /healthz, asked for by the name that a browser will use."""
        try:
            with contextlib.closing(self.connect(timeout=10)) as connection:
                connection.request("GET", "/healthz", headers={"Host": f"localhost:{self.port}"})
                return connection.getresponse().status
        except (OSError, http.client.HTTPException):
            return None

    def _report(self) -> str:
        return f"$ {' '.join(self.command)}\n{self.output}"


def _environment(extra: Mapping[str, str]) -> dict[str, str]:
    """This process's environment without Ringside's own settings, which would change the test."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("RINGSIDE_")}
    return {**kept, "PYTHONUNBUFFERED": "1", **extra}


# --- Phones that a closed book lets in ---------------------------------------------------------


@dataclass
class PairedPhone:
    """A device that was let in, for tests that speak the protocol themselves.

    `headers` is all that a request must carry: the token, the session and its key.
    """

    device: str
    role: str
    book: str
    headers: dict[str, str]


def offer(place: Place, role: str = OWNER) -> Offer:
    """A code for the book at `place`, as `ringside pair` makes it."""
    book = open_book(place)
    try:
        with book.session():
            return Devices(book).offer(role, time.time_ns() // 1_000_000)
    finally:
        book.close()


def pair(
    server: Server,
    device: str | None = None,
    name: str = "A test's phone",
    role: str = OWNER,
    code: str = "",
) -> PairedPhone:
    """Let a phone in over HTTP, as the app does it, with a code of that role if there is one."""
    device = device or str(uuid6.uuid7())
    code = code or offer(server.place, role).typed
    jar: dict[str, str] = {}
    connection = server.connect()
    here = {"Host": f"localhost:{server.port}", "Referer": server.url}

    def ask(method: str, path: str, body: Any = None) -> Any:
        sent = {**here, "Content-Type": "application/json", **key}
        sent["Cookie"] = "; ".join(f"{cookie}={value}" for cookie, value in jar.items())
        connection.request(method, path, json.dumps(body) if body else None, sent)
        response = connection.getresponse()
        for line in response.headers.get_all("Set-Cookie", []):
            cookie, _, value = line.partition(";")[0].partition("=")
            jar[cookie] = value
        answer = json.load(response)
        assert response.status == 200, answer
        return answer

    key: dict[str, str] = {}
    try:
        key["X-CSRFToken"] = ask("GET", "/api/session")["csrf"]
        answer = ask("POST", "/api/pair", {"code": code, "device": device, "name": name})
        session = ask("GET", "/api/session")
    finally:
        connection.close()
    headers = {
        **here,
        "Cookie": "; ".join(f"{cookie}={value}" for cookie, value in jar.items()),
        "X-CSRFToken": session["csrf"],
    }
    return PairedPhone(device, answer["role"], answer["book"], headers)


def pair_page(page: Page, server: Server, role: str = OWNER, name: str = "") -> None:
    """Let the app in a browser in, by a link; it stands in the kennel afterwards."""
    page.goto(f"{server.url}#/pair/{offer(server.place, role).link}")
    if name:
        page.get_by_label("Name of this device").fill(name)
    page.locator("#main").get_by_role("button", name="Pair", exact=True).click()
    page.get_by_role("link", name="To the kennel", exact=True).click()
    page.locator(".brand").wait_for()
