"""What pages complain of while a test has them open."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

import pytest
from playwright.sync_api import BrowserContext, ConsoleMessage, Error, WebError

from tests.browser.phone import PATIENT
from tests.support import Server, output_file


class Watch:
    """The contexts that a test opened, and what their pages and workers complained about."""

    def __init__(self) -> None:
        self.allowed_errors: list[str] = []
        self.errors: list[str] = []
        self.contexts: list[BrowserContext] = []

    def add(self, context: BrowserContext) -> BrowserContext:
        self.contexts.append(context)
        context.set_default_timeout(PATIENT)
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


@contextlib.contextmanager
def watched(server: Server, *allowed: str) -> Iterator[Watch]:
    """A watch for what several tests share, with the server that they share: pages end first, or
    they would complain of it; how a server stops is looked at elsewhere."""
    watch = Watch()
    watch.allowed_errors += allowed
    try:
        yield watch
        unexpected = watch.unexpected()
    finally:
        watch.close()
        server.kill()
    assert not unexpected, "\n".join(unexpected)
