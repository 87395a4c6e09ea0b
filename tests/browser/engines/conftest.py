"""Both engines, started for one journey, and ended with it whatever comes."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.engines import firefox, webkit
from tests.browser.engines.driver import Clock, Driver
from tests.browser.engines.hand import Hand
from tests.support import Server, failed_key, output_file


@pytest.fixture
def hand(
    request: pytest.FixtureRequest, start_server: Callable[..., Server], tmp_path: Path
) -> Iterator[Callable[..., Hand]]:
    """A factory: `hand("Firefox", server)` starts that engine and gives a person at it."""
    hands: list[Hand] = []

    def start(engine: str, server: Server, **options: Any) -> Hand:
        clock = Clock()
        folder = tmp_path / engine
        driver: Driver
        if engine == "Firefox":
            trusted = server.authority if server.is_secure else None
            driver = firefox.Firefox(folder, clock, trusted, **options)
        else:
            trusted = server.keys / "server.pem" if server.is_secure else None
            driver = webkit.WebKit(folder, clock, trusted, **options)
        hands.append(Hand(driver, clock, server.url))
        driver.start()
        return hands[-1]

    yield start
    for each in hands:
        if request.node.stash.get(failed_key, False):
            with contextlib.suppress(Exception):
                each.clock = Clock(10)
                output_file(request.node, "page.png").write_bytes(each.driver.picture())
        each.driver.kill()
