"""Fixtures for every test: real servers, and their output kept where a test failed."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.support import Server, failed_key, output_file


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Note a failure on the test, for the fixtures that tidy up after it."""
    report = yield
    if report.failed:
        item.stash[failed_key] = True
    return report


@pytest.fixture
def start_server(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[..., Server]]:
    """A factory of servers: `start_server("serve", data=..., arguments=[...])`; see Server."""
    servers: list[Server] = []

    def start(command: str = "demo", *, data: Path | None = None, **options: Any) -> Server:
        folder = data or tmp_path / f"data-{len(servers)}"
        servers.append(Server(folder, command, **options))
        return servers[-1]

    yield start
    for number, server in enumerate(servers):
        if request.node.stash.get(failed_key, False):
            kept = output_file(request.node, f"server-{number}.log")
            kept.write_text(server.output, encoding="utf-8")
        server.kill()


@pytest.fixture
def server(start_server: Callable[..., Server]) -> Server:
    """The demo, on data of its own."""
    return start_server("demo")
