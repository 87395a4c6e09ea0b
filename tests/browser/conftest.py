"""Fixtures for tests in a real Chromium. A page that complains in the console fails its test."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Page,
    Playwright,
    sync_playwright,
)

from ringside.web.serve.lan import Lan
from tests.browser.phone import OUT_OF_REACH, POCKET, Phone
from tests.browser.tour import TourPhone, phones
from tests.browser.warm import CAN_FORK, Nursery, WarmServer
from tests.browser.watch import Watch
from tests.support import (
    CERTUTIL,
    ROOT,
    Server,
    environment_that_trusts,
    failed_key,
    launch_options,
    shell_path,
)

PARTS = ("ringside", "static", "templates", "demo_data")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what lies here, so that `-m "not browser"` leaves it out."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run the tests marked `plain_too` once more over plain http, if they do not anyway."""
    if metafunc.definition.get_closest_marker("plain_too") and over_https(metafunc.config):
        metafunc.parametrize("start_server", ["https", "http"], indirect=True)


def over_https(config: pytest.Config) -> bool:
    chosen: str = config.getoption("scheme")
    return chosen == "https"


@pytest.fixture(scope="session")
def keys(pytestconfig: pytest.Config, tmp_path_factory: pytest.TempPathFactory) -> Path | None:
    """One authority for all servers, with a certificate; nothing where they speak plain http."""
    if not over_https(pytestconfig):
        return None
    if CERTUTIL is None:
        pytest.skip("https needs certutil (Debian: libnss3-tools; elsewhere: NSS tools)")
    return Lan(tmp_path_factory.mktemp("authority")).ring.folder


@pytest.fixture(scope="session")
def nursery() -> Iterator[Nursery | None]:
    """What servers start from, where a system has forks."""
    if not CAN_FORK:
        yield None
        return
    with contextlib.closing(Nursery()) as nursery:
        yield nursery


@pytest.fixture(scope="session")
def make_server(keys: Path | None, nursery: Nursery | None) -> Callable[..., Server]:
    return (
        partial(WarmServer, nursery=nursery, keys=keys) if nursery else partial(Server, keys=keys)
    )


@pytest.fixture(scope="session")
def make_plain_server(nursery: Nursery | None) -> Callable[..., Server]:
    return partial(WarmServer, nursery=nursery) if nursery else Server


@pytest.fixture(scope="session")
def launch(keys: Path | None, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What to launch a browser with that trusts those servers."""
    if keys is None:
        return launch_options()
    home = tmp_path_factory.mktemp("home")
    return {**launch_options(), "env": environment_that_trusts(keys / "authority.pem", home)}


@pytest.fixture(scope="session")
def launch_shell(launch: dict[str, Any]) -> dict[str, Any]:
    """The same for what needs no more than a page."""
    return {**launch, "executable_path": shell_path()}


@pytest.fixture(scope="session")
def playwright(keys: Path | None) -> Iterator[Playwright]:
    with pytest.MonkeyPatch.context() as patch:
        if keys:  # Requests that Playwright makes itself are Node's, with a store of its own.
            patch.setenv("NODE_EXTRA_CA_CERTS", str(keys / "authority.pem"))
        with sync_playwright() as playwright:
            yield playwright


@pytest.fixture(scope="session")
def browser(playwright: Playwright, launch_shell: dict[str, Any]) -> Iterator[Browser]:
    """What pages are driven in; an app is installed, and its data outlive it, in whole Chromium."""
    browser = playwright.chromium.launch(**launch_shell)
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
def checkout(tmp_path: Path) -> Path:
    """A copy of the program that a test may change."""
    place = tmp_path / "checkout"
    for part in PARTS:
        ignored = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / part, place / part, ignore=ignored)
    return place


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


@pytest.fixture(scope="module")
def phone_for(
    browser: Browser,
    make_server: Callable[..., Server],
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Callable[[str, dict[str, int]], TourPhone]]:
    """A function that gives the phone for a screen of the tour, in a window of some size."""
    with phones(browser, make_server(tmp_path_factory.mktemp("tour") / "data")) as phone_for:
        yield phone_for


@pytest.fixture
def persistent_context(
    playwright: Playwright, launch: dict[str, Any], launch_shell: dict[str, Any], watch: Watch
) -> Callable[..., BrowserContext]:
    """A factory of browsers that keep their data in a folder: close one and call again with the
    same folder to restart it. Whole Chromium; with `shell`, what needs no more than a page."""

    def open_browser(profile: Path, *, shell: bool = False, **options: Any) -> BrowserContext:
        how = launch_shell if shell else launch
        return watch.add(playwright.chromium.launch_persistent_context(profile, **how, **options))

    open_browser.allowed_errors = watch.allowed_errors
    return open_browser


@pytest.fixture
def phone(server: Server, page: Callable[..., Page], allowed_errors: list[str]) -> Phone:
    """A phone with the demo, and no signal any more; several files have one of their own."""
    allowed_errors.append(OUT_OF_REACH)
    opened = Phone(page(**POCKET), server.url).open().ready_offline()
    opened.store("status()")  # the shipped app does not keep the module that this imports
    opened.page.context.set_offline(True)
    return opened
