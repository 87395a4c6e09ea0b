"""The main job, as a person does it: everything written where there is no signal is kept, comes
to the book exactly once, and from there to the other phones."""

from __future__ import annotations

import collections
import contextlib
import http.client
import itertools
import json
import os
import re
import signal
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ClassVar

import pytest
from playwright.sync_api import BrowserContext, Page, Response, expect

from ringside.book.models import KINDS
from ringside.book.store import FILE_NAME, Book
from tests.support import Server

POCKET = {"viewport": {"width": 390, "height": 844}}
OUT_OF_REACH = "net::ERR_"
GUARD_MS = 420  # a little more than the Ring's own guard against a second tap
PATIENCE = 60.0

READ = """async (store) => {
    const opened = indexedDB.open("ringside");
    const db = await new Promise((resolve, reject) => {
        opened.onupgradeneeded = () => opened.transaction.abort();
        opened.onsuccess = () => resolve(opened.result);
        opened.onerror = () => reject(opened.error);
    });
    const asked = db.transaction(store).objectStore(store).getAll();
    const rows = await new Promise((resolve, reject) => {
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => reject(asked.error);
    });
    db.close();
    return rows;
}"""

# The clock of a phone that is off by so many ms, from before the app's first line.
CLOCK_OFF = """{
    const Right = Date;
    globalThis.Date = class Date extends Right {
        constructor(...given) { given.length ? super(...given) : super(Right.now() + OFF); }
        static now() { return Right.now() + OFF; }
    };
}"""


# --- a phone in somebody's hand


class Phone:
    """One window of the app, and what a person does with it."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url

    def open(self, path: str = "") -> Phone:
        """Open the app from nothing, as from its icon."""
        self.page.goto(f"{self.url}#/{path}")
        expect(self.page.locator("#main h1").first).to_be_visible()
        return self

    def go(self, path: str = "") -> None:
        """Go to a screen of the open app; its window comes to the front."""
        self.page.bring_to_front()
        self.page.evaluate("path => { location.hash = '#/' }", path)
        expect(self.page.locator(".brand")).to_be_visible()
        if path:
            self.page.evaluate("path => { location.hash = `#/${path}` }", path)
            expect(self.page.locator(".brand")).to_have_count(0)

    def until(self, check: Callable[[], Any], what: str) -> Any:
        """Wait for what no element of the page tells, and give it."""
        deadline = time.monotonic() + PATIENCE
        while not (found := check()):
            assert time.monotonic() < deadline, f"In vain: {what}."
            self.page.wait_for_timeout(40)
        return found

    # --- what the phone holds

    def rows(self, store: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = self.page.evaluate(READ, store)
        return rows

    def meta(self, key: str) -> Any:
        return next((row["value"] for row in self.rows("meta") if row["key"] == key), None)

    def records(self, kind: str, **values: Any) -> list[dict[str, Any]]:
        found = [row for row in self.rows("records") if row["kind"] == kind]
        return [row for row in found if values.items() <= row["values"].items()]

    def changes(self, state: str) -> list[dict[str, Any]]:
        return [row for row in self.rows("changes") if row["state"] == state]

    def ready_offline(self) -> Phone:
        """Wait until the worker has the build and the book was met, packs and all."""
        self.page.evaluate("navigator.serviceWorker.ready")
        state = "navigator.serviceWorker.ready.then(({ active }) => active.state)"
        self.until(lambda: self.page.evaluate(state) == "activated", "the worker is active")
        self.until(lambda: self.meta("synced"), "the book was met")
        return self

    def nudge(self) -> None:
        """What the phone does when its signal comes back."""
        self.page.evaluate("dispatchEvent(new Event('online'))")

    def sync(self, data: Path) -> Phone:
        """Wait until the book has all that is here, and this phone all that is in the book."""
        nudged = 0.0

        def level() -> bool:
            nonlocal nudged
            place = f"{newest(data)}."
            if not self.changes("unsent") and (self.meta("cursor") or "").startswith(place):
                return True
            if time.monotonic() > nudged + 1:
                self.nudge()
                nudged = time.monotonic()
            return False

        self.until(level, "phone and book are level")
        return self

    # --- what a person does

    def dog(self, name: str) -> str:
        """Open a dog's page from the kennel; gives its id."""
        self.go()
        self.page.get_by_role("link", name=re.compile(rf"^{name}\b")).click()
        expect(self.page.get_by_role("heading", level=1, name=name)).to_be_visible()
        return self.page.evaluate("location.hash").split("/")[2]

    def add_dog(self, name: str, breed: str, sex: str = "Bitch") -> str:
        self.go()
        self.page.get_by_role("link", name="Add a dog").click()
        self.page.get_by_label("Call name").fill(name)
        field = self.page.get_by_label("Breed", exact=True)
        field.press_sequentially(breed[:4])
        option = self.page.get_by_role("option", name=breed)
        if option.count():
            option.click()
        else:
            field.fill(breed)
        self.page.locator(".choices label", has_text=re.compile(f"^{sex}$")).click()
        self.page.get_by_label("Whelped on").fill("2024-05-17")
        self.page.get_by_role("button", name="Save").click()
        expect(self.page.get_by_role("heading", level=1, name=name)).to_be_visible()
        return self.page.evaluate("location.hash").split("/")[2]

    def station(self, dog: str, station: str) -> None:
        """Open one station of a dog's card, from the kennel."""
        self.dog(dog)
        self.page.get_by_role("link", name="Exam card").click()
        self.page.get_by_role("link", name=re.compile(rf"\b{station}\b")).first.click()
        expect(self.page.get_by_role("heading", level=1, name=station)).to_be_visible()

    def write_note(self, text: str) -> None:
        self.page.bring_to_front()
        if not self.page.get_by_label("Private note").is_visible():
            self.page.get_by_text("Write a note").click()
        self.page.get_by_label("Private note").fill(text)
        self.page.get_by_role("button", name="Keep note").click()
        expect(self.page.get_by_text("Kept.", exact=True).first).to_be_visible()
        expect(self.page.get_by_label("Private note")).to_have_value("")

    def change_note(self, text: str) -> None:
        """Change the only note of the open station."""
        self.page.get_by_role("button", name="Show note").click()
        self.page.get_by_role("button", name="Change").click()
        self.page.locator(".note-editor textarea").fill(text)
        self.page.get_by_role("button", name="Keep", exact=True).click()
        expect(self.page.locator(".note-editor")).to_have_count(0)

    def add_own(self, label: str, words: str) -> None:
        field = self.page.get_by_label(label)
        field.fill(words)
        field.press("Enter")
        expect(self.page.locator(".own-row", has_text=words)).to_be_visible()

    def rename(self, dog: str, name: str) -> None:
        self.dog(dog)
        self.page.get_by_role("link", name="Edit").click()
        self.page.get_by_label("Call name").fill(name)
        self.page.get_by_role("button", name="Save").click()
        expect(self.page.get_by_role("heading", level=1, name=name, exact=True)).to_be_visible()

    def go_in(self, dog: str) -> None:
        self.dog(dog)
        self.page.get_by_role("link", name="Ring", exact=True).click()
        self.page.get_by_role("button", name="Go in").click()
        expect(self.page.locator(".ring-done")).to_be_visible()

    def in_ring(self) -> list[str]:
        """What the Ring's screen says of where we are."""
        return self.page.locator(".ring-station, .ring-place").all_inner_texts()

    def tap_done(self) -> None:
        before = self.in_ring()
        self.page.wait_for_timeout(GUARD_MS)
        self.page.locator(".ring-done").click()
        self.until(lambda: self.in_ring() != before, "the tap was taken")

    def leave_card(self) -> None:
        self.page.bring_to_front()
        self.page.wait_for_timeout(GUARD_MS)
        self.page.get_by_role("button", name="Leave the card; it waits here for you").click()
        expect(self.page.locator(".ring-done")).to_have_count(0)

    def tick_states(self, walk: str) -> dict[str, str]:
        ticks = self.records("tick", walk=walk)
        return {row["values"]["station"]: row["values"]["state"] for row in ticks}

    def walk_to_the_end(self) -> None:
        last = self.page.get_by_text("This was the last look.")
        while not last.is_visible():
            self.tap_done()
        self.tap_done()
        expect(self.page.get_by_role("link", name="Ring", exact=True)).to_be_visible()


def newest(data: Path) -> int:
    """The number of the newest change in the book."""
    return int(asked(data, "SELECT COALESCE(MAX(seq), 0) FROM change")[0][0])


def asked(data: Path, sql: str, *values: Any) -> list[tuple[Any, ...]]:
    with contextlib.closing(sqlite3.connect(data / FILE_NAME)) as db:
        return db.execute(sql, values).fetchall()


def assert_level(phone: Phone, data: Path) -> None:
    """The book has each of the phone's changes exactly once, and both show the same."""
    sql = "SELECT id, kind, record, field, value FROM change WHERE device = ?"
    rows = asked(data, sql, phone.meta("device"))
    book = {row[0]: (*row[1:4], json.loads(row[4])) for row in rows}
    mine = {
        row["id"]: (row["kind"], row["record"], row["field"], row["value"])
        for row in phone.changes("sent")
    }
    assert phone.changes("unsent") == []
    assert len(rows) == len(book)
    assert book == mine
    read = Book(data / FILE_NAME)
    try:
        with read.session():
            for kind in KINDS:
                shown = {row["id"]: row["values"] for row in phone.records(kind)}
                assert read.records(kind, with_deleted=True) == shown, kind
            kept = {kind: read.records(kind) for kind in KINDS}
            read.rebuild()
            assert {kind: read.records(kind) for kind in KINDS} == kept
            assert read.contested() == 0
    finally:
        read.close()


def kill_browser(context: BrowserContext, profile: Path) -> None:
    """End a browser as a flat battery would. It is known by its profile's folder."""
    mark = f"--user-data-dir={profile}".encode()
    killed = 0
    for place in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            words = place.read_bytes().split(b"\0")
            if mark in words and not any(word.startswith(b"--type=") for word in words):
                os.kill(int(place.parent.name), signal.SIGKILL)
                killed += 1
    assert killed == 1
    with contextlib.suppress(Exception):
        context.pages[0].wait_for_event("close", timeout=10_000)


# --- a bad network


class Proxy:
    """The way to a server, and what can go wrong on it.

    `faults` holds what befalls the next requests for the sync, in turn:
    `unsent` (cut before it got there), `lost` (cut before the answer), `cut` (in the middle of
    the answer), `twice` (it arrives twice), `straggler` (cut, and it arrives after all when
    `late` is let go), `slow` (the answer comes in drops).
    `altered` holds, by path, a function of an answer (status, type, body) that gives another.
    """

    def __init__(self, server: Server) -> None:
        self.server = server
        self.faults: collections.deque[str] = collections.deque()
        self.altered: dict[str, Callable[[int, str, bytes], tuple[int, str, bytes]]] = {}
        self.late = threading.Event()
        self.open = threading.Event()
        self.open.set()
        self.paths: list[str] = []
        self.bodies: list[dict[str, Any]] = []
        self.at_once = 0
        self.most_at_once = 0
        self.stragglers: list[threading.Thread] = []
        self._count = threading.Lock()
        self._http = _Http(("127.0.0.1", 0), type("Handler", (_Handler,), {"proxy": self}))
        self.port = self._http.server_port
        self.url = f"http://localhost:{self.port}/"
        self._thread = threading.Thread(target=self._http.serve_forever, args=(0.05,))
        self._thread.start()

    @contextlib.contextmanager
    def counted(self) -> Iterator[None]:
        with self._count:
            self.at_once += 1
            self.most_at_once = max(self.most_at_once, self.at_once)
        try:
            yield
        finally:
            with self._count:
                self.at_once -= 1

    def let_stragglers_go(self) -> None:
        self.late.set()
        for thread in self.stragglers:
            thread.join(PATIENCE)

    def close(self) -> None:
        self.open.set()
        self.let_stragglers_go()
        self._http.shutdown()
        self._thread.join()
        self._http.server_close()


class _Http(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, *_: Any) -> None:
        """A browser that hangs up is nothing to talk about."""


class _Handler(BaseHTTPRequestHandler):
    proxy: ClassVar[Proxy]

    def do_GET(self) -> None:
        self._pass_on(b"")

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if self.path != "/api/sync":
            return self._pass_on(body)
        self.proxy.bodies.append(json.loads(body))
        with self.proxy.counted():
            self.proxy.open.wait(PATIENCE)
            self._pass_on(body, self.proxy.faults.popleft() if self.proxy.faults else "")

    def _pass_on(self, body: bytes, fault: str = "") -> None:
        self.proxy.paths.append(self.path)
        if fault == "unsent":
            return
        if fault == "straggler":
            thread = threading.Thread(target=self._late, args=(body,))
            self.proxy.stragglers.append(thread)
            return thread.start()
        if fault == "twice":
            self._asked(body)
        status, kind, answer, cookies = self._asked(body)
        if fault == "lost":
            return
        alter = self.proxy.altered.get(self.path)
        if alter:
            status, kind, answer = alter(status, kind, answer)
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(answer)))
        self.send_header("Cache-Control", "no-cache")
        for cookie in cookies:
            self.send_header("Set-Cookie", cookie)
        self.end_headers()
        if fault == "cut":
            self.wfile.write(answer[: len(answer) // 2])
        elif fault == "slow":
            size = len(answer) // 10 + 1
            for start in range(0, len(answer), size):
                time.sleep(0.3)
                self.wfile.write(answer[start : start + size])
                self.wfile.flush()
        else:
            self.wfile.write(answer)

    def _late(self, body: bytes) -> None:
        self.proxy.late.wait(PATIENCE)
        self._asked(body)

    def _asked(self, body: bytes) -> tuple[int, str, bytes, list[str]]:
        """Ask the server, under the name and port that it knows itself by."""
        here, there = (f"localhost:{port}" for port in (self.proxy.port, self.proxy.server.port))
        kept = {
            name: words.replace(here, there)
            for name, words in self.headers.items()
            if name not in ("Connection", "Accept-Encoding")
        }
        way = http.client.HTTPConnection("127.0.0.1", self.proxy.server.port, timeout=PATIENCE)
        try:
            way.request(self.command, self.path, body or None, kept)
            answer = way.getresponse()
            cookies = answer.headers.get_all("Set-Cookie") or []
            kind = answer.headers.get("Content-Type", "")
            return answer.status, kind, answer.read(), cookies
        finally:
            way.close()

    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture
def proxy(server: Server) -> Iterator[Proxy]:
    proxy = Proxy(server)
    yield proxy
    proxy.close()


@pytest.fixture
def phone(
    context: Callable[..., BrowserContext], server: Server, allowed_errors: list[str]
) -> Callable[..., Phone]:
    """A factory of phones that have been taken along to the server once."""
    allowed_errors.append(OUT_OF_REACH)

    def take(url: str = server.url, before: str = "", **options: Any) -> Phone:
        opened = context(**POCKET, **options)
        if before:
            opened.add_init_script(before)
        return Phone(opened.new_page(), url)

    return take


# --- the job


def test_the_app_can_be_installed(
    server: Server, persistent_context: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    context = persistent_context(tmp_path / "profile", **POCKET)
    phone = Phone(context.pages[0], server.url).open().ready_offline()
    cdp = context.new_cdp_session(phone.page)
    manifest = cdp.send("Page.getAppManifest")
    assert manifest["errors"] == []
    assert json.loads(manifest["data"])["id"] == "/"
    assert cdp.send("Page.getInstallabilityErrors")["installabilityErrors"] == []


def test_a_day_without_a_signal(
    server: Server,
    persistent_context: Callable[..., BrowserContext],
    phone: Callable[..., Phone],
    tmp_path: Path,
) -> None:
    profile = tmp_path / "profile"
    context = persistent_context(profile, **POCKET)
    Phone(context.pages[0], server.url).open().ready_offline()
    context.close()
    server.kill()

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    mine.go_in("Bramble")
    mine.walk_to_the_end()
    (row,) = mine.until(lambda: _ended(mine), "the walk's end was kept")
    assert mine.tick_states(row["id"]) == dict.fromkeys(row["values"]["stations"], "done")

    walk, graded = _rehearse(mine, "Drift")
    marks = [row["values"] for row in mine.records("practice", walk=walk)]
    assert {mark["station"]: mark["grade"] for mark in marks} == graded

    mine.add_dog("Juniper", "Beagle")
    mine.station("Juniper", "Bite")
    mine.write_note("Lets me lift the lip on the left first.")
    mine.add_own("Own cue, up to five words", "Thumb under, not over")
    mine.add_own("Own ask of the breed at this station", "Scissor bite, ours is tight")
    mine.add_dog("Sorrel", "Marrowby Barn Hound", sex="Dog")
    expect(mine.page.get_by_text("This breed is not in our library")).to_be_visible()
    mine.station("Sorrel", "Topline")
    mine.write_note("Roaches when he is cold.")
    mine.dog("Sorrel")
    _add_order(mine, "Starts at the bite", "Bite", up=3)

    mine.page.reload()
    mine.go()
    expect(mine.page.get_by_role("link", name=re.compile("wait for the book"))).to_be_visible()
    written = {row["id"] for row in mine.changes("unsent")}
    context.close()

    server.start()
    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open().sync(server.data)
    assert {row["id"] for row in mine.changes("sent")} == written
    assert_level(mine, server.data)

    other = phone().open().sync(server.data)
    for kind in KINDS:
        values = {row["id"]: row["values"] for row in mine.records(kind)}
        assert {row["id"]: row["values"] for row in other.records(kind)} == values
    other.station("Juniper", "Bite")
    expect(other.page.get_by_text("Scissor bite, ours is tight")).to_have_count(2)
    expect(other.page.locator(".lead")).to_have_text("Thumb under, not over")
    other.page.get_by_role("button", name="Show note").click()
    expect(other.page.get_by_text("Lets me lift the lip on the left first.")).to_be_visible()
    other.dog("Sorrel")
    other.page.get_by_role("link", name="Starts at the bite").click()
    expect(other.page.locator(".order-name").first).to_have_text("Bite")
    # By now the book has computed the new dog's own card.
    mine.until(lambda: any(row["dog"] in written_dogs(mine) for row in mine.rows("packs")), "pack")
    mine.dog("Juniper")
    expect(mine.page.get_by_text("The general card")).to_have_count(0)


def written_dogs(phone: Phone) -> set[str]:
    return {row["id"] for row in phone.records("dog", name="Juniper")}


def _ended(phone: Phone) -> list[dict[str, Any]]:
    walks = phone.records("walk", mode="ring")
    return walks if all(row["values"].get("ended") for row in walks) else []


def _rehearse(phone: Phone, dog: str) -> tuple[str, dict[str, str]]:
    """Rehearse a whole card, leaving out every fourth station; gives the walk and the marks."""
    page = phone.page
    phone.dog(dog)
    page.get_by_role("link", name="Rehearse", exact=True).click()
    page.get_by_role("button", name="Begin").click()
    place = page.locator(".rehearse-place")
    done = page.get_by_role("heading", name="Rehearsal done")
    graded = {}
    expect(place).to_be_visible()
    walk = page.evaluate("location.hash").split("/")[2]
    for grade in itertools.cycle(("easy", "needs work", "not yet", None)):
        expect(place.or_(done)).to_be_visible()
        if done.is_visible():
            break
        words = place.inner_text()
        here = next(row["values"]["place"] for row in phone.records("walk") if row["id"] == walk)
        if grade:
            page.locator(f"[data-grade='{grade}']").click()
            graded[here] = grade
        else:
            page.get_by_role("button", name="Leave out").click()
        expect(place.filter(has_text=words)).to_have_count(0)
    page.get_by_role("link", name="Finish").click()
    expect(page.get_by_role("heading", level=1, name=dog)).to_be_visible()
    return walk, graded


def _add_order(phone: Phone, label: str, station: str, up: int) -> None:
    page = phone.page
    page.get_by_role("link", name="Add an order").click()
    page.get_by_label("Name of this order").fill(label)
    for _ in range(up):
        page.get_by_role("button", name=f"{station} earlier").click()
    expect(page.locator(".order-name").first).to_have_text(station)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("link", name=label)).to_be_visible()


def test_killed_in_the_middle_of_a_card(
    server: Server,
    persistent_context: Callable[..., BrowserContext],
    tmp_path: Path,
    allowed_errors: list[str],
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    profile = tmp_path / "profile"
    context = persistent_context(profile, **POCKET)
    Phone(context.pages[0], server.url).open().ready_offline()
    context.close()
    server.kill()

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    mine.go_in("Teasel")
    for _ in range(6):
        mine.tap_done()
    walk = mine.page.evaluate("location.hash").split("/")[2]
    stations = mine.records("walk")[0]["values"]["stations"]

    def kept() -> bool:
        (row,) = mine.records("walk", mode="ring")
        return bool(row["values"]["place"] == stations[5])

    mine.until(kept, "the last tap was kept")
    ticks, shown = mine.tick_states(walk), mine.in_ring()
    kill_browser(context, profile)

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    assert mine.tick_states(walk) == ticks == dict.fromkeys(stations[:5], "done")
    mine.dog("Teasel")
    mine.page.get_by_role("link", name="Ring: take up again").click()
    mine.until(lambda: mine.in_ring() == shown, "the same station")
    # And at the very moment of a tap: with it or without it, but never half.
    mine.tap_done()
    kill_browser(context, profile)

    context = persistent_context(profile, **POCKET)
    mine = Phone(context.pages[0], server.url).open()
    (row,) = mine.records("walk", mode="ring")
    ticked = stations.index(row["values"]["place"])
    assert ticked in (5, 6)
    assert mine.tick_states(walk) == dict.fromkeys(stations[:ticked], "done")

    server.start()
    mine.sync(server.data)
    assert_level(mine, server.data)


FAULTS = ("lost", "unsent", "cut", "twice", "straggler", "lost", "cut", "straggler")


def test_answers_lost_on_the_way(proxy: Proxy, phone: Callable[..., Phone]) -> None:
    data = proxy.server.data
    other = phone().open().ready_offline()
    mine = phone(proxy.url).open().ready_offline()
    gustav = mine.dog("Gustav")
    mine.station("Gustav", "Bite")
    for number, fault in enumerate(FAULTS):
        proxy.faults.append(fault)
        mine.write_note(f"Note {number}, {fault}")
        mine.nudge()
        mine.until(lambda: not proxy.faults, "the fault happened")
        if number == 3:
            other.add_dog("Campion", "Pug")
            other.sync(data)
    mine.sync(data)
    proxy.let_stragglers_go()
    mine.sync(data)
    assert_level(mine, data)
    assert len(mine.records("note", dog=gustav, station="bite")) == len(FAULTS)
    assert len(mine.records("dog", name="Campion")) == 1
    other.sync(data)
    assert_level(other, data)


def test_a_slow_answer_is_awaited_and_a_stalled_one_is_not(
    proxy: Proxy, phone: Callable[..., Phone]
) -> None:
    mine = phone(proxy.url).open().ready_offline()
    ask = """async (limit) => {
        const main = document.querySelector("script[type=module]").src;
        const { post } = await import(new URL("api.js", main));
        const begun = performance.now();
        const sent = { protocol: 1, device: "00000000-0000-7000-8000-000000000001", changes: [] };
        const said = await post("/api/sync", sent, limit).catch((error) => error.name);
        return [said.ok ?? said, performance.now() - begun];
    }"""
    proxy.faults.append("slow")
    said, took = mine.page.evaluate(ask, 2_000)
    assert said is True
    assert took > 2_500
    proxy.open.clear()
    assert mine.page.evaluate(ask, 300)[0] == "AbortError"
    proxy.open.set()


@pytest.mark.parametrize(("hours", "words"), [(24, "24 hours fast"), (-24, "24 hours slow")])
def test_a_phone_whose_clock_is_a_day_off(
    server: Server, phone: Callable[..., Phone], hours: int, words: str
) -> None:
    right = phone().open().ready_offline()
    wrong = phone(before=CLOCK_OFF.replace("OFF", str(hours * 3_600_000)))
    wrong.page.route("**/api/**", lambda route: route.abort())
    wrong.open()
    # Before it has ever met the book it cannot know that its clock is off.
    wrong.add_dog("Yarrow", "Whippet")
    wrong.station("Yarrow", "Topline")
    wrong.write_note("First thought.")
    wrong.change_note("Second thought.")
    wrong.page.unroute("**/api/**")
    wrong.sync(server.data)
    assert_level(wrong, server.data)
    wrong.go()
    expect(wrong.page.get_by_text(f"This phone's clock is {words}")).to_be_visible()
    wrong.go("sync")
    expect(wrong.page.get_by_text(f"This phone's clock is {words}")).to_be_visible()

    # Whoever writes last is believed, whatever their clock says.
    for number, (one, then) in enumerate(((wrong, right), (right, wrong))):
        one.sync(server.data)
        one.rename("Yarrow", f"Yarrow {number}")
        one.sync(server.data)
        then.sync(server.data)
        then.rename(f"Yarrow {number}", "Yarrow")
        then.sync(server.data)
        one.sync(server.data)
        for each in (one, then):
            assert len(each.records("dog", name="Yarrow")) == 1
            assert_level(each, server.data)


def test_the_clock_is_told_though_nothing_else_is_new(
    server: Server, phone: Callable[..., Phone]
) -> None:
    mine = phone().open().ready_offline()
    mine.page.add_init_script(CLOCK_OFF.replace("OFF", "-10_800_000"))
    mine.page.reload()
    expect(mine.page.get_by_text("This phone's clock is 3 hours slow")).to_be_visible()
    # That the clock is still off is no news: it must not make the phone sync on and on.
    sent: list[str] = []
    mine.page.on("request", lambda request: sent.append(request.url))
    mine.page.wait_for_timeout(3_000)
    assert sum(url.endswith("/api/sync") for url in sent) <= 1


def test_notes_written_apart(server: Server, phone: Callable[..., Phone]) -> None:
    one, other = phone().open().ready_offline(), phone().open().ready_offline()
    texts = {one: "Show the right side first.", other: "She is fine on the left now."}
    server.stop()
    for each, text in texts.items():
        each.station("Bramble", "Bite")
        each.change_note(text)
    server.start()
    for each in (one, other, one):
        each.sync(server.data)
    for each in (one, other):
        each.go()
        expect(each.page.get_by_text("1 text was written apart on two phones")).to_be_visible()
        each.go("sync")
        each.page.get_by_role("link", name=re.compile("^A note")).click()
        assert not any(text in each.page.content() for text in texts.values())
        each.page.get_by_role("button", name="show both").click()
        for text in texts.values():
            expect(each.page.locator(".apart-text", has_text=text)).to_be_visible()
    kept = one.page.locator(".apart-text", has_text=texts[other])
    kept.get_by_role("button", name="Keep this one").click()
    expect(one.page.locator(".apart")).to_have_count(0)
    for each in (one, other):
        each.sync(server.data)
        each.station("Bramble", "Bite")
        expect(each.page.locator(".apart")).to_have_count(0)
        each.page.get_by_role("button", name="Show note").click()
        expect(each.page.locator(".note-text")).to_have_text(texts[other])
        assert_level(each, server.data)


def test_a_change_that_the_book_refuses(server: Server, phone: Callable[..., Phone]) -> None:
    mine = phone().open().ready_offline()
    dog = mine.add_dog("Tansy", "Papillon")
    # Past the form, which would say so at once: as an app older than the book's rules does.
    write = """async ([dog, values]) => {
        const main = document.querySelector("script[type=module]").src;
        const { declare, write } = await import(new URL("store.js", main));
        const { knowledge } = await import(new URL("cards.js", main));
        const fields = structuredClone((await knowledge()).fields);
        for (const name of Object.keys(values)) fields.dog[name].most = 1000;
        declare(fields);
        await write("dog", dog, values);
    }"""
    wrong = {"name": "Tansy " * 20, "pedigree": "Marrowby " * 20}
    mine.page.evaluate(write, [dog, wrong])
    mine.sync(server.data)
    assert {row["field"] for row in mine.changes("refused")} == {"name", "pedigree"}
    mine.go()
    expect(mine.page.get_by_text("2 changes were not taken by the book.")).to_be_visible()
    mine.page.reload()
    mine.go("sync")
    rows = mine.page.locator(".refused-row")
    name = rows.filter(has_text="The name of this dog has 120 characters; shorten it to 40.")
    pedigree = rows.filter(has_text="shorten it to 120.")
    expect(name).to_be_visible()
    pedigree.get_by_role("button", name="Let it be").click()
    expect(rows).to_have_count(1)
    name.get_by_role("link", name="Open it").click()
    mine.page.get_by_label("Call name").fill("Tansy")
    mine.page.get_by_label("Registered name").fill("")
    mine.page.get_by_role("button", name="Save").click()
    expect(mine.page.get_by_role("heading", level=1, name="Tansy", exact=True)).to_be_visible()
    mine.sync(server.data)
    mine.go("sync")
    expect(mine.page.locator(".refused-row")).to_have_count(0)
    assert_level(mine, server.data)


def test_another_book_at_the_same_address(
    start_server: Callable[..., Server],
    server: Server,
    phone: Callable[..., Phone],
    tmp_path: Path,
    allowed_errors: list[str],
) -> None:
    allowed_errors += ["409", "401", "400"]  # another book, its door, and its key for requests
    mine = phone().open().ready_offline()
    server.stop()
    mine.add_dog("Clover", "Samoyed")
    stranger = start_server("serve", port=server.port)
    way_in = re.search(r"#/(pair/\S+)", stranger.output)
    assert way_in
    mine.go(way_in[1])
    mine.page.get_by_role("button", name="Pair").click()
    expect(mine.page.get_by_text("Paired: this device shares the whole book.")).to_be_visible()
    sent: list[dict[str, Any]] = []

    def heard(answer: Response) -> None:
        if answer.url.endswith("/api/sync"):
            sent.append(answer.request.post_data_json)

    mine.page.on("response", heard)
    mine.go("sync")
    mine.nudge()
    expect(mine.page.get_by_text("The server at this address keeps another book")).to_be_visible()
    first = len(sent)
    mine.nudge()
    mine.until(lambda: len(sent) > first, "it was asked again")
    assert sent[-1]["changes"] == []
    # Meeting a stranger is no news the second time: it must not make the phone ask on and on.
    settled = len(sent)
    mine.page.wait_for_timeout(2_000)
    assert len(sent) <= settled + 1
    assert asked(stranger.data, "SELECT COUNT(*) FROM change") == [(0,)]
    mine.page.get_by_role("button", name="Join this book").click()
    mine.sync(stranger.data)
    assert len(asked(stranger.data, "SELECT 1 FROM change WHERE value = ?", '"Clover"')) == 1
    expect(mine.page.get_by_text("keeps another book")).to_have_count(0)
