"""WebKitGTK by WebDriver: JSON over HTTP, in a window without a screen (Xvfb)."""

from __future__ import annotations

import base64
import http.client
import json
import os
import shutil
import subprocess
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from tests.browser.engines.driver import (
    AS_ASYNC,
    ELEMENT,
    HEIGHT,
    WIDTH,
    Clock,
    end,
    error_of,
    spawn,
    value_of,
)
from tests.ports import free_port

DRIVER, SCREEN = shutil.which("WebKitWebDriver"), shutil.which("Xvfb")
PYTHON = "/usr/bin/python3"
WINDOW = Path(__file__).with_name("webkit_window.py")
BINDINGS = 'import gi; gi.require_version("Gtk", "3.0"); gi.require_version("WebKit2", "4.1")'

NO_SITE_DATA = ("--no-site-data",)

# Drawn by the processor, without a desktop's services.
ENVIRONMENT = {
    "GDK_BACKEND": "x11",
    "LIBGL_ALWAYS_SOFTWARE": "1",
    "NO_AT_BRIDGE": "1",
    "GTK_THEME": "Adwaita",
    "GSETTINGS_BACKEND": "memory",
}


@cache
def without() -> str:
    """What is missing for it, in words, or nothing."""
    packages = {
        "webkit2gtk-driver": DRIVER,
        "xvfb": SCREEN,
        "gir1.2-webkit2-4.1 python3-gi": _has_bindings(),
    }
    lacking = " ".join(name for name, found in packages.items() if not found)
    return lacking and f"there is no WebKitGTK to drive here (on Debian: apt-get install {lacking})"


def _has_bindings() -> bool:
    if not os.access(PYTHON, os.X_OK):
        return False
    words = [PYTHON, "-c", BINDINGS]
    return subprocess.run(words, capture_output=True, timeout=60, check=False).returncode == 0


class WebKit:
    name = "WebKitGTK"

    def __init__(
        self, folder: Path, clock: Clock, certificate: Path | None, options: Sequence[str] = ()
    ) -> None:
        self.folder = folder
        self.folder.mkdir(parents=True)
        self.log = folder / "webkit.log"
        self._more = [*options, *([str(certificate)] if certificate else [])]
        self._clock = clock
        self._driver: subprocess.Popen[bytes] | None = None
        self._screen: subprocess.Popen[bytes] | None = None
        self._port = 0
        self._session = ""

    def start(self) -> None:
        assert DRIVER
        self._port = free_port()
        env = {**ENVIRONMENT, "HOME": str(self.folder), "DISPLAY": self._display()}
        words = [DRIVER, f"--port={self._port}", "--host=127.0.0.1"]
        self._driver = spawn(words, self.log, env)
        self._clock.until(self._answers, "WebKitWebDriver starts")
        size = [str(WIDTH), str(HEIGHT)]
        window = [str(WINDOW), str(self.folder), *size, *self._more]
        options = {"webkitgtk:browserOptions": {"binary": PYTHON, "args": window}}
        made = self._ask("POST", "/session", {"capabilities": {"alwaysMatch": options}})
        self._session = f"/session/{made['sessionId']}"

    def _display(self) -> str:
        """A screen of our own; it picks its number itself."""
        assert SCREEN
        told, tell = os.pipe()
        with self.log.open("ab") as out:
            self._screen = subprocess.Popen(
                [
                    SCREEN,
                    "-displayfd",
                    str(tell),
                    "-screen",
                    "0",
                    "1024x1024x24",
                    "-nolisten",
                    "tcp",
                ],
                pass_fds=[tell],
                stdout=out,
                stderr=out,
                start_new_session=True,
            )
        os.close(tell)
        with os.fdopen(told) as number:
            return f":{number.readline().strip()}"

    def _answers(self) -> bool:
        try:
            return bool(self._ask("GET", "/status")["ready"])
        except OSError:
            return False

    def kill(self) -> None:
        end(self._driver)
        end(self._screen)
        self._driver = self._screen = None

    def go(self, url: str) -> None:
        self._ask("POST", f"{self._session}/url", {"url": url})

    def run(self, script: str, *given: Any) -> Any:
        asked = {"script": AS_ASYNC % script, "args": given}
        return value_of(self._ask("POST", f"{self._session}/execute/async", asked))

    def tap(self, css: str) -> None:
        self._ask("POST", f"{self._find(css)}/click", {})

    def type(self, css: str, words: str) -> None:
        self._ask("POST", f"{self._find(css)}/value", {"text": words})

    def picture(self) -> bytes:
        return base64.b64decode(self._ask("GET", f"{self._session}/screenshot"))

    def _find(self, css: str) -> str:
        asked = {"using": "css selector", "value": css}
        found = self._ask("POST", f"{self._session}/element", asked)
        return f"{self._session}/element/{found[ELEMENT]}"

    def _ask(self, method: str, path: str, body: Any = None) -> Any:
        left = self._clock.left(f"{method} {path}")
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=left)
        try:
            connection.request(method, path, None if body is None else json.dumps(body))
            answer = connection.getresponse()
            value = json.loads(answer.read())["value"]
        except TimeoutError:
            self._clock.left(f"{method} {path}")
            raise
        finally:
            connection.close()
        if answer.status != 200:
            raise error_of(value["error"], f"{method} {path}: {value['message']}")
        return value
