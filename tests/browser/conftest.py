"""Fixtures for tests in a real Chromium. A page that complains in the console fails its test."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Error,
    Page,
    Playwright,
    WebError,
    sync_playwright,
)

from tests.support import failed_key, launch_options, output_file


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what lies here, so that `-m "not browser"` leaves it out."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


class Watch:
    """The contexts that a test opened, and what their pages and workers complained about."""

    def __init__(self) -> None:
        self.allowed_errors: list[str] = []
        self.errors: list[str] = []
        self.contexts: list[BrowserContext] = []

    def add(self, context: BrowserContext) -> BrowserContext:
        self.contexts.append(context)
        context.on("console", self._console)
        context.on("weberror", self._weberror)
        context.on("close", self._closed)
        return context

    def unexpected(self) -> list[str]:
        """The errors that contain none of the allowed texts."""
        for context in self.contexts:
            with contextlib.suppress(Error):
                context.cookies()  # A round trip, so that messages on their way arrive.
        return [error for error in self.errors if not any(x in error for x in self.allowed_errors)]

    def photograph(self, node: pytest.Item) -> None:
        pages = [page for context in self.contexts for page in context.pages]
        for number, page in enumerate(pages):
            with contextlib.suppress(Error):
                page.screenshot(path=output_file(node, f"page-{number}.png"), timeout=5000)

    def close(self) -> None:
        for context in tuple(self.contexts):
            with contextlib.suppress(Error):
                context.close()

    def _closed(self, context: BrowserContext) -> None:
        self.contexts.remove(context)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.errors.append(f"{message.text} ({message.location['url']})")

    def _weberror(self, error: WebError) -> None:
        self.errors.append(error.error.stack or str(error.error))


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    browser = playwright.chromium.launch(**launch_options())
    yield browser
    browser.close()


@pytest.fixture
def watch(request: pytest.FixtureRequest, start_server: Callable[..., object]) -> Iterator[Watch]:
    """Fails the test on errors it did not allow. Needs start_server so that servers end later:
    a page whose server has gone would complain of that."""
    watch = Watch()
    yield watch
    unexpected = watch.unexpected()
    if unexpected:
        request.node.stash[failed_key] = True
    if request.node.stash.get(failed_key, False):
        watch.photograph(request.node)
    watch.close()
    if unexpected:
        pytest.fail("The page complained:\n" + "\n".join(unexpected), pytrace=False)


@pytest.fixture
def allowed_errors(watch: Watch) -> list[str]:
    """Texts of console errors that the test provokes; also an attribute of each factory below."""
    return watch.allowed_errors


@pytest.fixture
def context(browser: Browser, watch: Watch) -> Callable[..., BrowserContext]:
    """A factory of browser contexts: `context(viewport=..., locale=...)`."""

    def open_context(**options: Any) -> BrowserContext:
        return watch.add(browser.new_context(**options))

    open_context.allowed_errors = watch.allowed_errors
    return open_context


@pytest.fixture
def page(context: Callable[..., BrowserContext], watch: Watch) -> Callable[..., Page]:
    """A factory of pages, each in a context of its own: `page(viewport=..., locale=...)`."""

    def open_page(**options: Any) -> Page:
        return context(**options).new_page()

    open_page.allowed_errors = watch.allowed_errors
    return open_page


@pytest.fixture
def persistent_context(playwright: Playwright, watch: Watch) -> Callable[..., BrowserContext]:
    """A factory of whole browsers that keep their data in a folder: close one and call again
    with the same folder to restart it."""

    def open_browser(user_data_dir: Path, **options: Any) -> BrowserContext:
        launched = playwright.chromium.launch_persistent_context(
            user_data_dir, **launch_options(), **options
        )
        return watch.add(launched)

    open_browser.allowed_errors = watch.allowed_errors
    return open_browser
