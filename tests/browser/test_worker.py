"""What a hand-written worker and store must stand: bad builds, a full disk, a dead connection, a
server that is gone, changed, or back from a copy. And an update that waits for the person."""

from __future__ import annotations

import contextlib
import re
import shutil
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from ringside.book.place import FILE_NAME
from ringside.demo import DEVICE
from tests.browser.phone import CLOCK_OFF, HELD, OUT_OF_REACH, POCKET, Phone, asked, assert_level
from tests.browser.proxy import Proxy
from tests.support import Server

# Look for a new build, and wait until the worker that comes is what it can become by itself.
UPDATE = """async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    await registration.update().catch(() => {});
    const coming = registration.installing;
    if (!coming) return registration.waiting?.state ?? "none";
    return new Promise((resolve) => {
        coming.addEventListener("statechange", () => resolve(coming.state));
    });
}"""
STATE = """async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    return {
        caches: await caches.keys(),
        controlled: Boolean(navigator.serviceWorker.controller),
        registered: Boolean(registration),
        waiting: Boolean(registration?.waiting),
    };
}"""


@pytest.fixture
def changing(start_server: Callable[..., Server], checkout: Path) -> Server:
    """A server of that copy."""
    return start_server("demo", cwd=checkout, env={"PYTHONPATH": str(checkout)})


@pytest.fixture
def proxy(server: Server) -> Iterator[Proxy]:
    proxy = Proxy(server)
    yield proxy
    proxy.close()


@pytest.fixture
def phone(
    context: Callable[..., BrowserContext], allowed_errors: list[str]
) -> Callable[..., Phone]:
    """A factory of phones: `phone(url, before=script)`."""
    allowed_errors.append(OUT_OF_REACH)

    def take(url: str, before: str = "", **options: Any) -> Phone:
        opened = context(**POCKET, **options)
        if before:
            opened.add_init_script(before)
        return Phone(opened.new_page(), url)

    return take


def change(checkout: Path) -> None:
    """Make another build of it."""
    with (checkout / "static" / "css" / "app.css").open("a") as sheet:
        sheet.write("\n/* another build */\n")


def build_of(page: Page, url: str) -> str:
    """The build that the server at `url` serves."""
    found = re.search(r'BUILD = "(\w+)"', page.request.get(f"{url}sw.js").text())
    assert found
    return found[1]


def build_run_by(phone: Phone) -> str:
    """The build that this window runs, as its settings say."""
    phone.go("settings")
    return phone.page.get_by_text(re.compile(r"^Build \w+$")).inner_text().removeprefix("Build ")


def another_window(phone: Phone) -> Phone:
    return Phone(phone.page.context.new_page(), phone.url).open()


# --- no server


@pytest.mark.plain_too
@pytest.mark.parametrize("is_stalled", [False, True], ids=["gone", "stalled"])
def test_after_one_visit_no_server_is_needed(
    server: Server, phone: Callable[..., Phone], is_stalled: bool
) -> None:
    mine = phone(server.url).open().ready_offline()
    server.kill()
    with contextlib.ExitStack() as stack:
        if is_stalled:  # It takes the call and says nothing: worse than no server.
            deaf = stack.enter_context(socket.socket())
            deaf.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            deaf.bind(("127.0.0.1", server.port))
            deaf.listen()
        # Without a reload too, for what the first screens had no need of.
        mine.go("sources")
        expect(mine.page.get_by_role("heading", level=1)).to_have_text("Sources")
        mine.page.reload()
        mine.station("Bramble", "Bite")
        expect(another_window(mine).page.locator(".dog-row", has_text="Gustav")).to_be_visible()


BREAK_OFF = """async () => {
    for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        for (const { url } of await cache.keys())
            if (/\\/(words|sources)\\.json$|\\/(athome|byphoto)/.test(url)) await cache.delete(url);
    }
}"""


def test_a_first_visit_that_broke_off_has_what_a_show_needs(
    server: Server, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    """The screens for home come last: without them it says so, and the next visit brings them."""
    allowed_errors += [OUT_OF_REACH, "not reached this phone", "Failed to fetch"]
    mine = phone(server.url).open().ready_offline()
    mine.page.evaluate(BREAK_OFF)
    mine.page.context.new_cdp_session(mine.page).send("Network.clearBrowserCache")
    mine.page.context.set_offline(True)
    mine.page.reload()
    mine.station("Bramble", "Bite")
    expect(mine.page.locator(".term")).to_have_count(0)
    mine.page.goto(f"{server.url}#/learn")
    expect(mine.page.get_by_text("This screen has not reached this phone yet.")).to_be_visible()
    mine.page.context.set_offline(False)
    mine.page.reload()
    mine.await_worker()
    mine.page.context.set_offline(True)
    mine.page.reload()
    expect(mine.page.get_by_role("heading", level=1, name="Learn")).to_be_visible()


def test_a_missing_file_is_never_answered_with_the_shell(
    server: Server, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    allowed_errors.append("404")
    page = phone(server.url).open().ready_offline().page
    page.reload()
    build = build_of(page, server.url)
    paths = [f"static/{build}/js/gone.js", "static/0123456789ab/js/main.js", "index.html", "api/x"]
    # Both past the worker and through it.
    for path in paths:
        answer = page.request.get(server.url + path)
        assert (answer.status, answer.headers["cache-control"]) == (404, "no-store")
        assert "<html" not in answer.text()
    seen = page.evaluate(
        "paths => Promise.all(paths.map(async (path) => (await fetch(`/${path}`)).status))", paths
    )
    assert seen == [404] * len(paths)


def test_a_hard_reload_works_from_the_network(server: Server, phone: Callable[..., Phone]) -> None:
    mine = phone(server.url).open().ready_offline()
    cdp = mine.page.context.new_cdp_session(mine.page)
    with mine.page.expect_event("load"):
        cdp.send("Page.reload", {"ignoreCache": True})
    mine.station("Bramble", "Bite")
    assert not mine.page.evaluate(STATE)["controlled"]
    mine.write_note("Written past the worker.")
    mine.sync(server.data)
    mine.page.reload()
    mine.station("Bramble", "Bite")
    assert mine.page.evaluate(STATE)["controlled"]
    assert_level(mine, server.data)


# --- another build


@pytest.mark.plain_too
def test_an_update_waits_for_the_person(
    changing: Server, checkout: Path, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    mine = phone(changing.url).open().ready_offline()
    old = build_of(mine.page, changing.url)
    change(checkout)
    changing.restart()
    new = build_of(mine.page, changing.url)
    assert new != old

    # Opening the app once more makes it look, and leaves the old build at work in both windows.
    other = another_window(mine)
    other.until(lambda: other.page.evaluate(STATE)["waiting"], "the new build is here")
    assert build_run_by(other) == old
    mine.page.reload()
    assert build_run_by(mine) == old
    mine.add_dog("Willow", "Boxer")
    mine.station("Willow", "Bite")
    mine.write_note("Still the old build.")
    mine.sync(changing.data)

    take_up = other.page.get_by_role("button", name="Update now")
    build_run_by(other)
    mine.go_in("Willow")
    mine.tap_done()
    shown = mine.in_ring()
    other.page.bring_to_front()
    take_up.click()
    expect(other.page.get_by_text("A card is open. Finish or leave it")).to_be_visible()
    assert other.page.evaluate(STATE)["waiting"]
    assert mine.in_ring() == shown

    mine.leave_card()
    other.await_no_card()
    other.page.bring_to_front()
    with other.page.expect_event("load"):
        take_up.click()
    assert build_run_by(other) == new
    # The first window was not asked, so it goes on with the old build until it is opened anew.
    # What it has not yet read of that build is still there.
    mine.go("sources")
    expect(mine.page.get_by_role("heading", level=1)).to_have_text("Sources")
    assert len(mine.page.evaluate(STATE)["caches"]) == 2
    mine.station("Willow", "Bite")
    mine.write_note("And still.")
    mine.dog("Willow")
    mine.page.get_by_role("link", name="Ring: go on").click()
    mine.until(lambda: mine.in_ring() == shown, "the same station")
    mine.page.reload()
    mine.until(lambda: mine.in_ring() == shown, "the same station in the new build")
    assert build_run_by(mine) == new
    mine.sync(changing.data)
    assert_level(mine, changing.data)
    context = mine.page.context
    for window in context.pages:
        window.close()
    mine = Phone(context.new_page(), changing.url).open()
    mine.until(lambda: mine.page.evaluate(STATE)["caches"] == [f"app-{new}"], "the old one went")


def test_a_card_opened_while_the_update_is_taken_up_is_left_alone(
    changing: Server, checkout: Path, phone: Callable[..., Phone]
) -> None:
    mine = phone(changing.url).open().ready_offline()
    change(checkout)
    changing.restart()
    assert mine.page.evaluate(UPDATE) == "installed"
    mine.go("settings")
    # The last moment in which a card can be opened: here, by its lock.
    mine.page.evaluate("""async () => {
        const { waiting } = await navigator.serviceWorker.getRegistration();
        waiting.addEventListener("statechange", () => {
            if (waiting.state !== "activated") return;
            navigator.locks.request("ringside-card", { mode: "shared" }, () =>
                new Promise((resolve) => { globalThis.leave = resolve; }));
        });
    }""")
    mine.page.get_by_role("button", name="Update now").click()
    query = "navigator.locks.query().then(({ pending }) => pending.map(({ name }) => name))"
    waiting = lambda: "ringside-card" in mine.page.evaluate(query)  # noqa: E731
    mine.until(waiting, "the reload waits for the card")
    with mine.page.expect_event("load"):
        mine.page.evaluate("leave()")
    assert build_run_by(mine) == build_of(mine.page, changing.url)


def broken(status: int, kind: str, body: bytes) -> tuple[int, str, bytes]:
    return 500, kind, body


def gone(status: int, kind: str, body: bytes) -> tuple[int, str, bytes]:
    return 404, "text/plain", b"There is nothing at this address."


def html(status: int, kind: str, body: bytes) -> tuple[int, str, bytes]:
    return 200, "text/html; charset=utf-8", b"<!doctype html><title>Please log in</title>"


def altered(status: int, kind: str, body: bytes) -> tuple[int, str, bytes]:
    return status, kind, body + b"\n// and a bit more\n"


def full(status: int, kind: str, body: bytes) -> tuple[int, str, bytes]:
    refuse = (
        b"Cache.prototype.put = async () => { throw new DOMException('', 'QuotaExceededError') };"
    )
    return status, kind, refuse + body


def test_a_build_with_a_flaw_is_not_taken(
    changing: Server, checkout: Path, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    allowed_errors += ["css/app.css", "QuotaExceededError"]
    with contextlib.closing(Proxy(changing)) as proxy:
        mine = phone(proxy.url).open().ready_offline()
        mine.page.reload()
        old = build_of(mine.page, changing.url)
        # The browser looks for a new build by itself too: it may not have this one whole.
        proxy.altered = {"/sw.js": broken}
        change(checkout)
        changing.restart()
        # One that differs: what is the same is taken over from the build before.
        asset = f"/static/{build_of(mine.page, changing.url)}/css/app.css"
        # The worker's own first: what the browser fetches of it meanwhile must not be good later.
        for path, flaw in [("/sw.js", full), *((asset, f) for f in (broken, gone, html, altered))]:
            proxy.altered = {path: flaw}
            assert mine.page.evaluate(UPDATE) in ("redundant", "none"), flaw
            mine.until(lambda: mine.page.evaluate(STATE)["caches"] == [f"app-{old}"], "tidied")
            assert not mine.page.evaluate(STATE)["waiting"], flaw
            mine.page.reload()
            assert mine.page.evaluate(STATE)["controlled"], flaw
            assert build_run_by(mine) == old, flaw
        proxy.altered = {}
        mine.until(lambda: mine.page.evaluate(UPDATE) == "installed", "the whole build is taken")
        assert build_run_by(mine) == old


@pytest.mark.parametrize("flaw", [broken, full])
def test_without_a_worker_the_app_runs_from_the_network(
    proxy: Proxy, phone: Callable[..., Phone], flaw: Any, allowed_errors: list[str]
) -> None:
    allowed_errors += ["icon.svg", "QuotaExceededError"]
    mine = phone(proxy.url)
    build = build_of(mine.page, proxy.server.url)
    path = "/sw.js" if flaw is full else f"/static/{build}/icons/icon.svg"
    proxy.altered = {path: flaw}
    mine.open()
    mine.until(lambda: not mine.page.evaluate(STATE)["registered"], "the worker was given up")
    mine.station("Bramble", "Bite")
    mine.write_note("Kept without a worker.")
    mine.sync(proxy.server.data)
    assert_level(mine, proxy.server.data)
    assert mine.page.evaluate(STATE)["caches"] == []
    proxy.altered = {}
    mine.page.reload()
    mine.ready_offline()


def test_a_hole_in_the_build_is_mended(server: Server, phone: Callable[..., Phone]) -> None:
    mine = phone(server.url).open().ready_offline()
    build = build_of(mine.page, server.url)
    hole = f"/static/{build}/js/early.js"
    mine.page.evaluate(
        "async ([cache, path]) => (await caches.open(cache)).delete(path)", [f"app-{build}", hole]
    )
    mine.page.reload()
    mine.station("Bramble", "Bite")
    assert mine.page.evaluate("async path => Boolean(await caches.match(path))", hole)
    server.kill()
    mine.page.reload()
    expect(mine.page.get_by_role("heading", level=1, name="Bite")).to_be_visible()


def test_a_dead_worker_goes(
    proxy: Proxy, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    allowed_errors.append("404")
    mine = phone(proxy.url).open().ready_offline()
    # Another program at our address: no reason to give the app up.
    proxy.altered = {"/sw.js": gone, "/api/session": gone, "/api/sync": gone}
    asked_before = proxy.paths.count("/api/session")
    mine.page.reload()
    mine.until(lambda: proxy.paths.count("/api/session") > asked_before + 1, "it looked twice")
    assert mine.page.evaluate(STATE)["registered"]
    # Our own server, which has none any more.
    proxy.altered = {"/sw.js": gone}
    mine.page.reload()
    mine.until(lambda: not mine.page.evaluate(STATE)["registered"], "the worker went")

    # A window that opens while it is still leaving may have it once more.
    def opens_without() -> bool:
        mine.page.reload()
        return not mine.page.evaluate(STATE)["controlled"]

    mine.until(opens_without, "the next window has none")
    mine.station("Bramble", "Bite")
    assert not mine.page.evaluate(STATE)["controlled"]
    mine.write_note("Kept from the network.")
    mine.sync(proxy.server.data)
    assert_level(mine, proxy.server.data)


# --- two windows


def test_two_windows(proxy: Proxy, phone: Callable[..., Phone]) -> None:
    one = phone(proxy.url).open().ready_offline()
    other = another_window(one)
    one.add_dog("Bilberry", "Shiba")
    expect(other.page.locator(".dog-row", has_text="Bilberry")).to_be_visible()
    one.sync(proxy.server.data)

    for each in (one, other):
        each.station("Bilberry", "Bite")
        each.sync(proxy.server.data)
    proxy.open.clear()
    proxy.most_at_once = 0
    one.until(lambda: proxy.at_once == 1 or one.nudge(), "one window is at it")
    for number, each in enumerate((one, other)):
        each.write_note(f"Note {number}")
        each.nudge()
    assert other.page.evaluate(HELD).count("ringside-sync") == 1
    assert proxy.most_at_once == 1
    proxy.open.set()
    # What was written meanwhile goes at once, not with the next regular sync.
    one.until(lambda: not one.changes("unsent"), "all was sent")
    other.sync(proxy.server.data)
    assert_level(other, proxy.server.data)
    notes = {row["values"]["text"] for row in one.records("note", station="bite")}
    assert {"Note 0", "Note 1"} <= notes


# --- the store


# The store as a version with other declarations left it.
OTHER_KINDS = """async () => {
    const opened = indexedDB.open("ringside");
    const db = await new Promise((resolve) => { opened.onsuccess = () => resolve(opened.result); });
    const tx = db.transaction("meta", "readwrite");
    tx.objectStore("meta").put({ key: "kinds", value: "others" });
    await new Promise((done) => { tx.oncomplete = done; });
    db.close();
}"""

# What can befall a transaction that writes: the connection is lost "before" or "under" it, once, as
# on phones while the app is in the background; or the phone is "full", until it is not.
MISHAP = """{
    const begin = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (...given) {
        const how = given[1] === "readwrite" ? globalThis.mishap : "";
        if (how !== "full" && how) globalThis.mishap = "";
        if (how === "before") this.close();
        const made = begin.apply(this, given);
        if (how === "under" || how === "full") queueMicrotask(() => made.abort());
        if (how === "under") this.close();
        if (how === "full") {
            const error = new DOMException("No space.", "QuotaExceededError");
            Object.defineProperty(made, "error", { value: error });
        }
        return made;
    };
}"""


def test_no_room_left(
    server: Server, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    allowed_errors.append("phone is full")  # which a draft tells the console alone
    mine = phone(server.url, before=MISHAP).open().ready_offline()
    mine.station("Bramble", "Bite")
    mine.page.get_by_text("Write a note").click()
    mine.page.evaluate("globalThis.mishap = 'full'")
    field = mine.page.get_by_label("Private note")
    field.fill("There must be room for this.")
    mine.page.get_by_role("button", name="Save note").click()
    words = "Not saved: This phone is full. Free some space and try again. Your text is still here"
    expect(mine.page.get_by_text(words)).to_be_visible()
    expect(field).to_have_value("There must be room for this.")
    assert mine.changes("unsent") == []
    mine.page.evaluate("globalThis.mishap = ''")
    mine.page.get_by_role("button", name="Save note").click()
    expect(field).to_have_value("")
    mine.sync(server.data)
    assert len(mine.records("note", text="There must be room for this.")) == 1
    assert_level(mine, server.data)


def test_no_room_left_in_the_ring(
    server: Server, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    allowed_errors.append("phone is full")
    mine = phone(server.url, before=MISHAP).open().ready_offline()
    walk = mine.go_in("Bramble")
    mine.page.evaluate("globalThis.mishap = 'full'")
    for _ in range(3):
        mine.tap_done()
    expect(mine.page.locator(".ring-sync")).to_have_text("not saved")
    assert mine.tick_states(walk) == {}
    mine.page.evaluate("globalThis.mishap = ''")
    mine.until(lambda: len(mine.tick_states(walk)) == 3, "the taps were kept")
    mine.sync(server.data)
    assert_level(mine, server.data)


def test_a_full_phone_reads_what_the_version_before_left(
    server: Server, phone: Callable[..., Phone], allowed_errors: list[str]
) -> None:
    allowed_errors.append("phone is full")
    mine = phone(server.url, before=MISHAP).open().ready_offline()
    mine.page.evaluate(OTHER_KINDS)
    mine.page.add_init_script("globalThis.mishap = 'full'")
    mine.page.reload()
    mine.station("Bramble", "Bite")
    assert mine.meta("kinds") == "others"
    mine.page.evaluate("globalThis.mishap = ''")
    mine.write_note("There is room again.")
    assert mine.meta("kinds") != "others"


@pytest.mark.parametrize("how", ["before", "under"])
def test_a_lost_connection_is_opened_again(
    server: Server, phone: Callable[..., Phone], how: str
) -> None:
    mine = phone(server.url, before=MISHAP).open().ready_offline()
    mine.station("Bramble", "Bite")
    for number in range(3):
        mine.page.evaluate("how => { globalThis.mishap = how; }", how)
        mine.write_note(f"Note {number}")
        assert mine.page.evaluate("globalThis.mishap") == ""
    mine.sync(server.data)
    assert [len(mine.records("note", text=f"Note {number}")) for number in range(3)] == [1, 1, 1]
    assert_level(mine, server.data)


REFUSALS = {
    "forbidden": """IDBFactory.prototype.open = () => {
        throw new DOMException("The operation is insecure.", "SecurityError");
    };""",
    "private": """IDBFactory.prototype.open = () => {
        const request = new EventTarget();
        request.error = new DOMException("A mutation was attempted.", "InvalidStateError");
        setTimeout(() => request.onerror());
        return request;
    };""",
    "missing": "delete Window.prototype.indexedDB; delete globalThis.indexedDB;",
}


@pytest.mark.parametrize("how", REFUSALS)
def test_a_browser_that_refuses_to_keep_anything(
    server: Server, phone: Callable[..., Phone], allowed_errors: list[str], how: str
) -> None:
    allowed_errors.append("does not let Ringside save")
    page = phone(server.url, before=REFUSALS[how]).open().page
    expect(page.get_by_text("This browser does not let Ringside save anything")).to_be_visible()
    expect(page.get_by_text("Leave private browsing, or allow site data")).to_be_visible()


# --- a server back from a copy


def test_a_server_restored_from_an_older_copy(
    server: Server, phone: Callable[..., Phone], tmp_path: Path
) -> None:
    book, copy = server.data / FILE_NAME, tmp_path / "copy.db"
    one, other = phone(server.url).open().ready_offline(), phone(server.url).open().ready_offline()
    server.stop()
    shutil.copy(book, copy)
    server.start()
    one.add_dog("Hazel", "Pekingese")
    one.sync(server.data)
    other.sync(server.data)
    other.station("Hazel", "Head")
    other.write_note("After the copy was made.")
    other.sync(server.data)
    # The demo dates its own day anew at each start: a minute later it has other times.
    written = "SELECT COUNT(*) FROM change WHERE device <> ?"
    before = asked(server.data, written, DEVICE)

    server.stop()
    for name in (FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"):
        (server.data / name).unlink(missing_ok=True)
    shutil.copy(copy, book)
    server.start()
    one.dog("Hazel")
    for each in (one, other, one):
        each.sync(server.data)
    assert asked(server.data, written, DEVICE) == before
    for each in (one, other):
        assert_level(each, server.data)
        assert len(each.records("note", text="After the copy was made.")) == 1


def test_a_copy_restored_after_a_clock_was_put_right(
    server: Server, phone: Callable[..., Phone], tmp_path: Path
) -> None:
    book, copy = server.data / FILE_NAME, tmp_path / "copy.db"
    mine = phone(server.url, before=CLOCK_OFF.replace("OFF", "86_400_000"))
    mine.page.route("**/api/**", lambda route: route.abort())
    mine.open()
    mine.add_dog("Fern", "Poodle")  # stamped a day ahead, as the phone does not know better yet
    mine.rename("Fern", "Fennel")
    server.stop()
    shutil.copy(book, copy)
    server.start()
    mine.page.unroute("**/api/**")
    mine.sync(server.data)
    mine.rename("Fennel", "Sedge")
    mine.sync(server.data)
    server.stop()
    for name in (FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"):
        (server.data / name).unlink(missing_ok=True)
    shutil.copy(copy, book)
    server.start()
    mine.sync(server.data)
    mine.dog("Sedge")
    assert_level(mine, server.data)


# In the page: count what one transaction writes of the changes, and let writing fail for so long
# after it has written so many.
FAILING = """(many) => {
    const put = IDBObjectStore.prototype.put;
    const counts = new Map();
    Object.assign(globalThis, { isBroken: true, mostPut: 0, allPut: 0 });
    IDBObjectStore.prototype.put = function (...given) {
        if (this.name === "changes") {
            if (isBroken && allPut >= many) throw new TypeError("A planted fault");
            counts.set(this.transaction, (counts.get(this.transaction) ?? 0) + 1);
            allPut += 1;
            mostPut = Math.max(mostPut, counts.get(this.transaction));
        }
        return put.apply(this, given);
    };
}"""
AT_ONCE = 1_000  # as static/js/store/exchange.js marks them


def test_a_restored_copy_gets_years_of_changes_back_though_that_is_cut_off(
    server: Server, phone: Callable[..., Phone], tmp_path: Path, allowed_errors: list[str]
) -> None:
    allowed_errors.append("A planted fault")
    book, copy = server.data / FILE_NAME, tmp_path / "copy.db"
    mine = phone(server.url).open().ready_offline()
    server.stop()
    shutil.copy(book, copy)
    server.start()
    marks = [{"station": f"of old {number}"} for number in range(2 * AT_ONCE + 500)]
    ticks = [{"kind": "tick", "id": None, "values": values} for values in marks]
    mine.store("writeAll(it)", ticks)
    mine.sync(server.data)
    assert len(mine.changes("sent")) == len(ticks)
    mine.page.evaluate(FAILING, AT_ONCE + 500)

    server.stop()
    for name in (FILE_NAME, f"{FILE_NAME}-wal", f"{FILE_NAME}-shm"):
        (server.data / name).unlink(missing_ok=True)
    shutil.copy(copy, book)
    server.start()
    mine.nudge()
    mine.until(lambda: mine.page.evaluate("allPut") == AT_ONCE + 500, "it was cut off")
    mine.until(lambda: len(mine.changes("unsent")) == AT_ONCE, "half a step is none")
    assert len(mine.changes("sent")) == len(ticks) - AT_ONCE
    assert mine.page.evaluate("mostPut") == AT_ONCE
    assert mine.store("status()")["waiting"] > 0
    mine.page.evaluate("isBroken = false")
    mine.station("Bramble", "Head")
    mine.write_note("While it was cut off.")
    mine.sync(server.data)
    assert_level(mine, server.data)
    kept = asked(server.data, "SELECT COUNT(*) FROM change WHERE value LIKE '%of old%'")
    assert kept == [(len(ticks),)]
    assert len(mine.records("tick")) >= len(ticks)
    assert len(mine.records("note", text="While it was cut off.")) == 1
