"""Fixtures for every test: real servers, and their output kept where a test failed."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests import quick
from tests.compiled import remembered
from tests.postgres import Cluster, cluster, programs
from tests.support import CERTUTIL, Server, failed_key, output_file


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--scheme",
        choices=("https", "http"),
        default="https" if CERTUTIL else "http",
        help="how browsers reach the servers that they test; without certutil (of "
        "libnss3-tools) they cannot be told to trust one, and the default is http",
    )
    parser.addoption(
        "--quick", action="store_true", help="run what tests/quick.py chooses, until its time is up"
    )


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("quick"):
        items[:], left_out = quick.chosen(items)
        config.hook.pytest_deselected(items=left_out)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.config.getoption("quick") and quick.is_over():
        pytest.skip("the time for --quick is up")


def pytest_report_header(config: pytest.Config) -> str:
    told = "" if CERTUTIL else "; there is no certutil to make a browser trust a server"
    return f"browsers: over {config.getoption('scheme')}{told}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Note a failure on the test, for the fixtures that tidy up after it."""
    report = yield
    if report.failed:
        item.stash[failed_key] = True
    return report


@pytest.fixture(scope="session", autouse=True)
def work_out_once() -> Iterator[None]:
    """Work out once, for all apps of this process, what follows from the text of a file alone."""
    with pytest.MonkeyPatch.context() as patch:
        for whose, name, what in remembered():
            patch.setattr(whose, name, what)
        yield


@pytest.fixture(scope="session")
def make_server() -> Callable[..., Server]:
    """Server itself; for browsers, one with the scheme they are tested over."""
    return Server


@pytest.fixture(scope="session")
def make_plain_server() -> Callable[..., Server]:
    """One that speaks plain http, for tests that run over both."""
    return Server


@pytest.fixture
def start_server(
    request: pytest.FixtureRequest,
    tmp_path: Path,
    make_server: Callable[..., Server],
    make_plain_server: Callable[..., Server],
) -> Iterator[Callable[..., Server]]:
    """A factory of servers: `start_server("serve", data=..., arguments=[...])`; see Server."""
    make = make_plain_server if getattr(request, "param", "") == "http" else make_server
    servers: list[Server] = []

    def start(command: str = "demo", *, data: Path | None = None, **options: Any) -> Server:
        folder = data or tmp_path / f"data-{len(servers)}"
        servers.append(make(folder, command, **options))
        return servers[-1]

    yield start
    for number, server in enumerate(servers):
        if request.node.stash.get(failed_key, False):
            kept = output_file(request.node, f"server-{number}.log")
            kept.write_text(server.output, encoding="utf-8")
        server.kill()


@pytest.fixture(scope="session")
def postgres() -> Iterator[Cluster]:
    """A PostgreSQL server of our own; made once a run, when the first test asks for it."""
    folder = programs()
    if folder is None:
        pytest.skip("there is no PostgreSQL here; python3 tests/run.py looks for one or gets it")
    with cluster(folder) as made:
        yield made


@pytest.fixture(params=["sqlite", "postgres"])
def new_database(request: pytest.FixtureRequest) -> Iterator[Callable[[], str]]:
    """A factory of what books are opened with: "" for SQLite, or an empty database's URL."""
    made: list[str] = []

    def make() -> str:
        if request.param == "postgres":
            made.append(request.getfixturevalue("postgres").database())
            return made[-1]
        return ""

    yield make
    for url in made:
        request.getfixturevalue("postgres").give_back(url)


@pytest.fixture
def server(start_server: Callable[..., Server]) -> Server:
    """The demo, on data of its own."""
    return start_server("demo")


@pytest.fixture(scope="module")
def same_demo(
    make_server: Callable[..., Server], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Server]:
    """One demo for all tests of a file that change nothing in its book."""
    with make_server(tmp_path_factory.mktemp("demo") / "data") as server:
        yield server
