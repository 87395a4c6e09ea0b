"""All of it at once: two phones on different networks, one book, and what befalls them on a long
weekend. They pair, are apart, disagree, agree; one is lost; the book is put back from a copy."""

from __future__ import annotations

import ctypes
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Playwright, expect

from ringside.web.serve.lan import Lan
from tests.browser.phone import OUT_OF_REACH, POCKET, Phone, asked, assert_level, newest
from tests.browser.test_https import trust
from tests.browser.watch import Watch
from tests.support import PATIENCE, ROOT, Server, launch_options

SHUT_OUT = "status of 401"
RIGHT, LEFT = "Show the right side first.", "She is fine on the left now."

# Of RFC 1918: the two ends of a cable between two rooms in this machine.
HERE, THERE = "10.213.77.1", "10.213.77.2"
NETWORK = 0x40000000  # CLONE_NEWNET of setns(2)


@dataclass
class Place:
    """Where the second phone is: what it calls the server by, and how its signal goes. And which
    program is the browser, here beside the server and there."""

    host: str
    here: Path | None
    there: Path | None
    set_offline: Callable[[BrowserContext, bool], None]


def ip(*words: str) -> None:
    subprocess.run(["ip", *words], check=True, capture_output=True, timeout=PATIENCE)


@contextmanager
def another_network(folder: Path, chromium: str) -> Iterator[Place]:
    """Two network namespaces: machines of their own, as far as their network goes, and a cable.

    The server gets one too. A cable to this machine would change its network, and every browser
    on it, also those of other tests, would break off what it fetches just then.
    """
    here, there = (f"ringside-{os.getpid()}-{end}" for end in ("here", "there"))
    try:
        ip("netns", "add", here)
    except (OSError, subprocess.CalledProcessError) as error:
        pytest.skip(f"no network namespace can be made here ({error})")
    try:
        ip("netns", "add", there)
        ip("-n", here, "link", "add", "near", "type", "veth", "peer", "name", "far", "netns", there)
        for room, end, address in ((here, "near", HERE), (there, "far", THERE)):
            ip("-n", room, "address", "add", f"{address}/30", "dev", end)
            for one in ("lo", end):
                ip("-n", room, "link", "set", one, "up")

        def browser_in(room: str) -> Path:
            program = folder / f"chromium-in-{room}"
            program.write_text(f'#!/bin/sh\nexec ip netns exec {room} "{chromium}" "$@"\n')
            program.chmod(0o755)
            return program

        def pull(_: BrowserContext, is_offline: bool) -> None:
            ip("-n", there, "link", "set", "far", "down" if is_offline else "up")

        with inside(here):
            yield Place(HERE, browser_in(here), browser_in(there), pull)
    finally:
        for room in (here, there):
            with suppress(subprocess.CalledProcessError):
                ip("netns", "delete", room)


@contextmanager
def inside(room: str) -> Iterator[None]:
    """Have this thread, and all that it starts, use a room's network."""
    libc = ctypes.CDLL(None, use_errno=True)

    def enter(path: str) -> None:
        with open(path) as network:
            if libc.setns(network.fileno(), NETWORK) != 0:
                raise OSError(ctypes.get_errno(), f"setns to {path}")

    with open("/proc/thread-self/ns/net") as before:
        enter(f"/run/netns/{room}")
        try:
            yield
        finally:
            enter(f"/proc/thread-self/fd/{before.fileno()}")


@contextmanager
def another_address(folder: Path, _: str) -> Iterator[Place]:
    """This machine's own network, by an address in the place of its name."""
    found = [one for one in Lan(folder / "looked").addresses if one.version == 4]
    host = next((one for one in found if not one.is_loopback), found[0])
    yield Place(str(host), None, None, BrowserContext.set_offline)


@pytest.fixture(params=[another_network, another_address], ids=lambda way: way.__name__)
def place(
    request: pytest.FixtureRequest, playwright: Playwright, tmp_path: Path
) -> Iterator[Place]:
    chromium = launch_options()["executable_path"] or playwright.chromium.executable_path
    with request.param(tmp_path, chromium) as place:
        yield place


@pytest.fixture
def lan(place: Place, start_server: Callable[..., Server]) -> Server:
    """`ringside serve --lan`, with an authority of its own. Needs `place`, to be reached there."""
    return start_server("serve", arguments=["--lan"], keys=None)


@pytest.fixture
def phone(
    playwright: Playwright, watch: Watch, lan: Server, tmp_path: Path
) -> Callable[..., Phone]:
    """A factory of phones: whole browsers, each with its own profile and trust in the server."""

    def take(name: str, host: str, executable: Path | None = None) -> Phone:
        how = trust(lan, tmp_path / f"{name}-home")
        options: dict[str, Any] = {**launch_options(), **POCKET, "env": how.env or None}
        options["args"] = [*options["args"], *how.args]
        if executable:
            options["executable_path"] = executable
        launched = playwright.chromium.launch_persistent_context(tmp_path / name, **options)
        context = watch.add(launched)
        return Phone(context.pages[0], f"https://{host}:{lan.port}/")

    return take


def ringside(command: str, file: Path, data: Path) -> None:
    words = [sys.executable, "-m", "ringside", command, str(file), "--data", str(data)]
    subprocess.run(words, cwd=ROOT, check=True, timeout=PATIENCE)


def log(data: Path) -> list[tuple[Any, ...]]:
    """The whole book: every change, in the order in which it came."""
    return asked(data, "SELECT * FROM change ORDER BY seq")


def content(data: Path) -> list[tuple[Any, ...]]:
    """Every change as its phone made it, in the order in which they were written."""
    sql = "SELECT stamp, id, kind, record, field, value, base, device FROM change ORDER BY stamp"
    return asked(data, sql)


def pair(phone: Phone, code: str, name: str) -> None:
    page = phone.page
    page.goto(phone.url)
    expect(page.get_by_role("heading", name="Pair this device")).to_be_visible()
    page.get_by_label("Name of this device").fill(name)
    phone.type_code(code)
    expect(page.get_by_text("This device sees the whole book")).to_be_visible()
    page.get_by_role("link", name="To the kennel", exact=True).click()
    phone.ready_offline()


def code_from_the_desk(phone: Phone) -> str:
    phone.page.goto(f"{phone.url}desk/devices")
    phone.page.get_by_role("button", name="Make a code").click()
    code = phone.page.locator("#code").inner_text()
    phone.open()
    return code


def revoke(phone: Phone, name: str) -> None:
    phone.page.goto(f"{phone.url}desk/devices")
    row = phone.page.get_by_role("listitem").filter(has_text=name)
    row.get_by_text("Revoke", exact=True).click()
    row.get_by_role("button", name=f"Revoke {name}").click()
    expect(row.get_by_text("Revoked")).to_be_visible()
    phone.open()


def expect_no_signal(phone: Phone) -> None:
    """It has met the book before, tries to send what it has, and finds nobody."""
    phone.nudge()
    phone.go()
    kept = "2 changes to send; saved on this phone"
    expect(phone.page.locator(".sync-line")).to_contain_text(kept)


def expect_shut_out(phone: Phone) -> None:
    phone.nudge()
    phone.go()
    expect(phone.page.get_by_text("This phone was removed from the book.")).to_be_visible()
    expect(phone.page.locator(".sync-line")).to_contain_text("1 change saved on it")


def values(data: Path, field: str) -> set[str]:
    rows = asked(data, "SELECT value FROM change WHERE field = ?", field)
    return {json.loads(value) for (value,) in rows}


def test_two_phones_and_one_book(
    lan: Server,
    place: Place,
    phone: Callable[..., Phone],
    allowed_errors: list[str],
    tmp_path: Path,
) -> None:
    allowed_errors += [OUT_OF_REACH, SHUT_OUT]
    data, copy = lan.data, tmp_path / "copy.db"
    mine = phone("mine", "localhost", place.here)
    yours = phone("yours", place.host, place.there)
    both = (mine, yours)

    printed = re.search(r"^Code: +(\S+)", lan.output, re.MULTILINE)
    assert printed
    pair(mine, printed[1], "My phone")
    pair(yours, code_from_the_desk(mine), "Robin's phone")
    assert mine.meta("device") != yours.meta("device")
    dog = mine.add_dog("Juniper", "Pug")
    mine.station("Juniper", "Bite")
    mine.write_note("A first look at her teeth.")
    mine.sync(data)
    yours.sync(data)

    # Apart, the two write about the same dog: different fields of it, and the same note.
    known = newest(data)
    mine.page.context.set_offline(True)
    place.set_offline(yours.page.context, True)
    mine.rename("Juniper", "June")
    yours.edit("Juniper", "Registered name", "Marrowby Juniper Berry")
    for one, name, text in ((mine, "June", RIGHT), (yours, "Juniper", LEFT)):
        one.station(name, "Bite")
        one.change_note(text)
        expect_no_signal(one)
        # Opened anew without a server, it still has all of that.
        one.page.reload()
        one.station(name, "Bite")
        assert len(one.changes("unsent")) == 2
    assert newest(data) == known

    # Together again, nothing of it is lost: the fields are merged, and both texts are shown.
    mine.page.context.set_offline(False)
    place.set_offline(yours.page.context, False)
    for one in (mine, yours, mine):
        one.sync(data)
    for one in both:
        (row,) = one.records("dog")
        assert row["id"] == dog
        assert row["values"]["name"] == "June"
        assert row["values"]["pedigree"] == "Marrowby Juniper Berry"
        one.station("June", "Bite")
        one.show_both(RIGHT, LEFT)
        assert_level(one, data)

    # A copy is made while the server runs and the two phones look at their conflict.
    copied = log(data)
    ringside("backup", copy, data)
    assert log(data) == copied

    mine.settle(LEFT)
    mine.sync(data)
    yours.sync(data)
    yours.station("June", "Bite")
    yours.assert_note(LEFT)
    for one in both:
        assert_level(one, data)

    # One is lost. It says so, keeps what it holds, and gives it out; the book takes no more of it.
    revoke(mine, "Robin's phone")
    yours.rename("June", "Junebug")
    expect_shut_out(yours)
    yours.dog("Junebug")
    yours.go("sync")
    with yours.page.expect_download() as download:
        yours.page.get_by_role("button", name="Save a copy").click()
    download.value.save_as(tmp_path / "yours.json")
    held = json.loads((tmp_path / "yours.json").read_text(encoding="utf-8"))
    assert [row["values"]["name"] for row in held["records"] if row["kind"] == "dog"] == ["Junebug"]
    assert "Junebug" not in values(data, "name")
    mine.add_dog("Sorrel", "Whippet")
    mine.sync(data)
    whole = content(data)
    assert log(data)[: len(copied)] == copied
    assert len(whole) > len(copied)

    # The copy is put back: the book is what it was then, change for change.
    lan.stop()
    ringside("restore", copy, data)
    assert log(data) == copied
    assert "Sorrel" not in values(data, "name")

    # What came after it comes again from the phone that has it, and the lost one stays out.
    lan.start()
    mine.sync(data)
    assert_level(mine, data)
    assert content(data) == whole
    assert {row["values"]["name"] for row in mine.records("dog")} == {"June", "Sorrel"}
    mine.station("June", "Bite")
    mine.assert_note(LEFT)
    expect_shut_out(yours)
    yours.dog("Junebug")
    assert "Junebug" not in values(data, "name")
    revoked = asked(data, "SELECT name FROM device WHERE revoked IS NOT NULL")
    assert revoked == [("Robin's phone",)]
