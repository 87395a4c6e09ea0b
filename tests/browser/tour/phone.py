"""The phone that goes on the tour, and where its stops are written down."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from tests.browser.phone import Phone


class TourPhone(Phone):
    """A phone that comes back from the desk by itself."""

    def start(self) -> None:
        """Open the app, and wait until the kennel stands."""
        self.page.goto(self.url)
        expect(self.page.locator(".sync-line")).to_be_visible()

    def meet(self) -> None:
        """Wait until the phone has what the book has."""
        expect(self.page.locator(".sync-line")).to_contain_text("All synced")

    def store(self, call: str, it: Any = None) -> Any:
        self._leave_desk()
        return super().store(call, it)

    def show(self, path: str) -> None:
        self._leave_desk()
        super().show(path)

    def first(self, kind: str) -> str:
        """The id of a record of this kind."""
        self._leave_desk()
        return min(row["id"] for row in self.records(kind))

    def _leave_desk(self) -> None:
        if "/desk" in self.page.url:
            self.start()


Open = Callable[[TourPhone], None]
SCREENS: dict[str, Open] = {}


def screen(act: Open) -> Open:
    """Add a stop to the tour, named as the function is."""
    SCREENS[act.__name__.replace("_", "-")] = act
    return act
