"""Firefox by Marionette: each message is its length, a colon, and JSON."""

from __future__ import annotations

import base64
import json
import shutil
import socket
import subprocess
from pathlib import Path
from typing import Any

from tests.browser.engines.driver import (
    AS_ASYNC,
    ELEMENT,
    HEIGHT,
    WIDTH,
    Clock,
    EngineError,
    end,
    error_of,
    spawn,
    value_of,
)
from tests.support import CERTUTIL

PROGRAM = shutil.which("firefox-esr")
WITHOUT = "" if PROGRAM else "there is no Firefox ESR here (on Debian: apt-get install firefox-esr)"

# No start page, no look for updates, no reports: nothing that knows an address of its own.
PREFS: dict[str, Any] = {
    "marionette.port": 0,
    "app.update.disabledForTesting": True,
    "browser.aboutwelcome.enabled": False,
    "browser.startup.page": 0,
    "browser.startup.homepage_override.mstone": "ignore",
    "browser.safebrowsing.update.enabled": False,
    "browser.search.update": False,
    "browser.newtabpage.enabled": False,
    "browser.topsites.contile.enabled": False,
    "captivedetect.canonicalURL": "",
    "datareporting.policy.dataSubmissionEnabled": False,
    "extensions.update.enabled": False,
    "extensions.getAddons.cache.enabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "services.settings.server": "data:,#remote-settings-dummy/v1",
    "toolkit.startup.max_resumed_crashes": -1,
    "toolkit.telemetry.enabled": False,
}
# As in the settings' Custom: block all cookies and site data.
NO_SITE_DATA = {"network.cookie.cookieBehavior": 2}

# A window of Firefox is never narrower than its own controls; what shows the page can be.
NARROW = """const held = gBrowser.selectedBrowser.parentNode;
held.style.maxWidth = "{width}px"; held.style.maxHeight = "{height}px";"""


class Firefox:
    name = "Firefox"

    def __init__(
        self,
        folder: Path,
        clock: Clock,
        authority: Path | None,
        prefs: dict[str, Any] | None = None,
    ) -> None:
        self.profile = folder / "profile"
        self.profile.mkdir(parents=True)
        self.log = folder / "firefox.log"
        self._clock = clock
        self._process: subprocess.Popen[bytes] | None = None
        self._socket: socket.socket | None = None
        self._number = 0
        lines = {**PREFS, **(prefs or {})}.items()
        (self.profile / "user.js").write_text(
            "".join(f"user_pref({json.dumps(key)}, {json.dumps(to)});\n" for key, to in lines),
            encoding="utf-8",
        )
        if authority:
            self._trust(authority)

    def _trust(self, authority: Path) -> None:
        """Firefox has a store of its own in each profile."""
        assert CERTUTIL
        store = f"sql:{self.profile}"
        trust = ["-A", "-n", "ringside", "-t", "C,,", "-i", str(authority)]
        for words in (["-N", "--empty-password"], trust):
            subprocess.run([CERTUTIL, *words, "-d", store], check=True, timeout=30)

    def start(self) -> None:
        assert PROGRAM
        told = self.profile / "MarionetteActivePort"
        told.unlink(missing_ok=True)
        (self.profile / "lock").unlink(missing_ok=True)
        words = [PROGRAM, "--headless", "--no-remote", "--profile", self.profile]
        env = {"HOME": str(self.profile.parent), "MOZ_CRASHREPORTER_DISABLE": "1"}
        self._process = spawn(
            [*words, "--marionette", "--remote-allow-system-access"], self.log, env
        )
        port = self._clock.until(lambda: told.exists() and told.read_text(), "Firefox starts")
        self._socket = socket.create_connection(("127.0.0.1", int(port)), timeout=30)
        self._hear()  # It greets first.
        self._ask("WebDriver:NewSession", strictFileInteractability=False)
        self._ask("Marionette:SetContext", value="chrome")
        narrow = NARROW.format(width=WIDTH, height=HEIGHT)
        self._ask("WebDriver:SetWindowRect", width=WIDTH + 200, height=HEIGHT + 200)
        self._ask("WebDriver:ExecuteScript", script=narrow, args=[])
        self._ask("Marionette:SetContext", value="content")

    def kill(self) -> None:
        if self._socket:
            self._socket.close()
        end(self._process)
        self._process = self._socket = None

    def go(self, url: str) -> None:
        self._ask("WebDriver:Navigate", url=url)

    def run(self, script: str, *given: Any) -> Any:
        words = AS_ASYNC % script
        answer = self._ask("WebDriver:ExecuteAsyncScript", script=words, args=given, sandbox=None)
        return value_of(answer["value"])

    def tap(self, css: str) -> None:
        self._ask("WebDriver:ElementClick", id=self._find(css))

    def type(self, css: str, words: str) -> None:
        self._ask("WebDriver:ElementSendKeys", id=self._find(css), text=words)

    def picture(self) -> bytes:
        return base64.b64decode(self._ask("WebDriver:TakeScreenshot", full=False)["value"])

    def _find(self, css: str) -> str:
        found = self._ask("WebDriver:FindElement", using="css selector", value=css)
        return str(found["value"][ELEMENT])

    def _ask(self, command: str, **given: Any) -> Any:
        assert self._socket
        self._number += 1
        words = json.dumps([0, self._number, command, given]).encode()
        self._socket.settimeout(self._clock.left(command))
        self._socket.sendall(b"%d:%s" % (len(words), words))
        _, number, error, result = self._hear()
        assert number == self._number
        if error:
            raise error_of(error["error"], f"{command} {given}: {error['message']}")
        return result

    def _hear(self) -> Any:
        length = b""
        while (byte := self._read(1)) != b":":
            length += byte
        return json.loads(self._read(int(length)))

    def _read(self, count: int) -> bytes:
        assert self._socket
        found = b""
        while len(found) < count:
            try:
                more = self._socket.recv(count - len(found))
            except TimeoutError:
                self._clock.left("an answer of Firefox")
                raise
            if not more:
                raise EngineError("Firefox has gone.")
            found += more
        return found
