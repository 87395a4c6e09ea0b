"""What a person does with the app in any engine, by roles and parts: words may be written anew."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.browser.engines.driver import Clock, Driver, Stale
from tests.browser.phone import READ, asked, newest

# Longer than a second tap on the same button counts as a slip.
GUARD = 0.45

IS_SEEN = """const found = document.querySelector(arguments[0]);
return Boolean(found && found.checkVisibility()) === arguments[1];"""

PICK = """const field = document.querySelector(arguments[0]);
field.value = arguments[1];
for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));"""


class Hand:
    def __init__(self, driver: Driver, clock: Clock, url: str) -> None:
        self.driver = driver
        self.clock = clock
        self.url = url

    def open(self, path: str = "") -> None:
        """Open the app from nothing, as from its icon."""
        self.driver.go("about:blank")
        self.driver.go(f"{self.url}#/{path}")
        self.see("#main h1")

    def show(self, path: str, css: str) -> None:
        """Go to another screen, which is there when `css` is seen."""
        self.driver.run("location.hash = `#/${arguments[0]}`;", path)
        self.see(css)

    def see(self, css: str, *, is_there: bool = True) -> None:
        what = f"{self.driver.name} {'shows' if is_there else 'no longer shows'} {css}"
        self.clock.until(lambda: self.driver.run(IS_SEEN, css, is_there), what)

    def tap(self, css: str) -> None:
        self._touch(css, lambda: self.driver.tap(css))

    def tap_again(self, css: str) -> None:
        time.sleep(GUARD)
        self.tap(css)

    def type(self, css: str, words: str) -> None:
        self._touch(css, lambda: self.driver.type(css, words))

    def _touch(self, css: str, act: Callable[[], None]) -> None:
        """What is drawn anew at the very moment is touched again."""

        def is_touched() -> bool:
            self.see(css)
            try:
                act()
            except Stale:
                return False
            return True

        self.clock.until(is_touched, f"{css} is touched")

    def date(self, css: str, day: str) -> None:
        """Pick a day: how its parts are typed is each engine's own, and each language's."""
        self.see(css)
        self.driver.run(PICK, css, day)

    def words(self, css: str) -> str:
        return str(self.driver.run("return document.querySelector(arguments[0]).innerText;", css))

    @property
    def address(self) -> list[str]:
        """What is open: ["dog", its id]."""
        return str(self.driver.run("return location.hash;")).removeprefix("#/").split("/")

    # --- what the phone holds

    def rows(self, store: str) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self.driver.run(
            f"return ({READ})([arguments[0], 'getAll']);", store
        )
        return found

    def records(self, kind: str, **values: Any) -> list[dict[str, Any]]:
        found = [row for row in self.rows("rows") if row["kind"] == kind]
        return [row for row in found if values.items() <= row["values"].items()]

    def await_record(self, kind: str, **values: Any) -> dict[str, Any]:
        what = f"{self.driver.name} keeps {kind} {values}"
        return self.clock.until(lambda: self.records(kind, **values), what)[0]

    def await_count(self, count: int, kind: str, **values: Any) -> None:
        what = f"{self.driver.name} keeps {count} of {kind} {values}"
        self.clock.until(lambda: len(self.records(kind, **values)) == count, what)

    def ready_offline(self) -> None:
        """Wait until the worker has the build and the book was met."""
        state = "return (await navigator.serviceWorker.getRegistration())?.active?.state;"
        self.clock.until(lambda: self.driver.run(state) == "activated", "the worker is active")
        self.clock.until(lambda: self._meta("synced"), "the book was met")
        self.clock.until(lambda: self.rows("packs"), "packs came")

    def _meta(self, key: str) -> Any:
        return next((row["value"] for row in self.rows("meta") if row["key"] == key), None)

    def sync(self, data: Path) -> None:
        """Wait until all that was done here is in the book, once each."""

        def is_sent() -> bool:
            self.driver.run("dispatchEvent(new Event('online'));")
            time.sleep(0.5)
            return all(row["state"] == "sent" for row in self.rows("changes"))

        self.clock.until(is_sent, "the book has all")
        sql = "SELECT id FROM change WHERE device = ?"
        book = Counter(row[0] for row in asked(data, sql, self._meta("device")))
        assert book == Counter(row["id"] for row in self.rows("changes"))
        assert newest(data) >= len(book)
