"""Ringside can be used by everybody: axe finds nothing on any screen in any mode, the keyboard does
all that a finger does, and a screen reader is told what happens.

The tour of all screens (SCREENS) is used by test_looks.py as well.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from tests.browser.conftest import Watch
from tests.support import Server

PHONE = {"width": 360, "height": 800}
DESK = {"width": 1280, "height": 800}

LONG_VEIL = 600  # Seconds; the notes shall not veil themselves while they are looked at.
SET_LOOK = f"""if (!localStorage.getItem("ringside-look"))
  localStorage.setItem("ringside-look", JSON.stringify({{ veil: "{LONG_VEIL}" }}));"""

OTHER_NODE = "another1"


# --- The phones ------------------------------------------------------------------------------


@dataclass
class Phone:
    """A page of the app, its store within reach, and the demo's dogs by name."""

    page: Page
    url: str
    dogs: dict[str, str] = field(default_factory=dict)

    def start(self) -> None:
        """Open the app, and wait until the kennel stands."""
        self.page.goto(self.url)
        expect(self.page.locator(".sync-line")).to_be_visible()

    def meet(self) -> None:
        """Wait until the phone has what the book has."""
        expect(self.page.locator(".sync-line")).to_contain_text("All kept in the book")
        rows = self.store("byKind('dog')")
        self.dogs = {row["values"]["name"]: row["id"] for row in rows}

    def store(self, call: str, argument: Any = None) -> Any:
        """What a call of the app's own store gives; `it` stands for the argument."""
        return self.page.evaluate(
            """async ([call, it]) => {
              const root = document.querySelector('script[type=module]').src;
              const store = await import(new URL('store.js', root));
              return Function('store', 'it', `return store.${call}`)(store, it);
            }""",
            [call, argument],
        )

    def go(self, path: str) -> None:
        """Open a screen and wait until it is the one that is shown."""
        self.page.evaluate(
            """async (path) => {
              const main = document.getElementById('main');
              const shown = new Promise((done) =>
                new MutationObserver((_, watch) => { watch.disconnect(); done(); })
                  .observe(main, { childList: true }));
              if (location.hash === `#/${path}`) dispatchEvent(new HashChangeEvent('hashchange'));
              else location.hash = `#/${path}`;
              await shown;
            }""",
            path,
        )
