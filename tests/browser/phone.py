"""A phone in somebody's hand: what a person does with the app, and what it holds then."""

from __future__ import annotations

import contextlib
import functools
import gzip
import json
import os
import re
import signal
import sqlite3
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Request, expect

from ringside.book.databases.sqlite import Sqlite
from ringside.book.devices import VIEWS
from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.pages import SEEN
from ringside.book.place import FILE_NAME, Place
from tests.support import PATIENCE

# A busy machine is slow; what must be quick is measured, not waited for.
PATIENT = PATIENCE * 1000  # ms
expect.set_options(timeout=PATIENT)

POCKET = {"viewport": {"width": 390, "height": 844}}
OUT_OF_REACH = "net::ERR_"
# The locks that windows hold.
HELD = "navigator.locks.query().then(({ held }) => held.map(({ name }) => name))"

# In the page, before the app's first line: a clock that a test can stop and put forward, so that
# nobody waits for the guard against a second tap, and a second tap of a slow machine comes in time;
# and an event that comes before the app hears of another address.
FIRST = """{
    const real = performance.now.bind(performance);
    let ahead = 0;
    let stopped = 0;
    performance.now = () => (stopped || real()) + ahead;
    Object.assign(globalThis, {
        realNow: real,
        hold() { stopped = real(); },
        go() { stopped = 0; },
        pass(ms) { ahead += ms; },
    });
    addEventListener("hashchange", () => dispatchEvent(new Event("before-hashchange")));
}"""

READ = """async ([store, how]) => {
    const opened = indexedDB.open("ringside");
    const db = await new Promise((resolve, reject) => {
        opened.onupgradeneeded = () => opened.transaction.abort();
        opened.onsuccess = () => resolve(opened.result);
        opened.onerror = () => reject(opened.error);
    });
    const asked = db.transaction(store).objectStore(store)[how]();
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

# Waits until the worker is active and has all of the build, also what it keeps last on a first
# visit; gives what was waited for in vain. It waits in the page: to be asked from here again and
# again would keep the page from its work. Not `ready`: where no worker can be had, that has no end.
HAS_BUILD = """async (patience) => {
    const end = Date.now() + patience;
    const until = async (holds) => {
        while (!(await holds())) {
            if (Date.now() > end) return false;
            await new Promise((again) => { setTimeout(again, 50); });
        }
        return true;
    };
    const state = () => navigator.serviceWorker.getRegistration().then((it) => it?.active?.state);
    if (!(await until(async () => (await state()) === "activated"))) return "the worker is active";
    const worker = await (await fetch("/sw.js")).text();
    const files = JSON.parse(worker.match(/^const FILES = (\\[[^]*?\\]);$/m)[1]);
    const whole = async () => {
        const opened = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
        const kept = (await Promise.all(opened.map((cache) => cache.keys()))).flat();
        const paths = new Set(kept.map(({ url }) => new URL(url).pathname));
        return files.every(({ url }) => paths.has(url));
    };
    return (await until(whole)) ? "" : "the worker has all of the build";
}"""


def told(page: Page, script: str, it: Any = None) -> Any:
    """What a function gives in the page for `it`, if both are plain data. They go as JSON: of
    thousands of values, Playwright looks at each several times, and takes seconds of a core."""
    program = f"""async (it) => {{
        const found = await ({script})(JSON.parse(it));
        return JSON.stringify(found, (_, value) => value ?? null);
    }}"""
    return json.loads(page.evaluate(program, json.dumps(it)))


class Phone:
    """One window of the app, and what a person does with it."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url
        page.set_default_timeout(PATIENT)
        page.add_init_script(FIRST)

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

    def show(self, path: str) -> None:
        """Open a screen of the open app (anew, if it is open) and wait until it is shown."""
        self.page.evaluate(
            """async (path) => {
              const main = document.getElementById("main");
              // What changes before the app hears of it is the screen before, drawn anew.
              const shown = new Promise((done) => {
                addEventListener("before-hashchange", () => {
                  new MutationObserver((_, watch) => {
                    watch.disconnect();
                    done();
                  }).observe(main, { childList: true });
                }, { once: true });
              });
              if (location.hash === `#/${path}`) dispatchEvent(new HashChangeEvent("hashchange"));
              else location.hash = `#/${path}`;
              await shown;
            }""",
            path,
        )

    def until(self, check: Callable[[], Any], what: str) -> Any:
        """Wait for what no element of the page tells, and give it."""
        deadline = time.monotonic() + PATIENCE
        while not (found := check()):
            assert time.monotonic() < deadline, f"In vain: {what}."
            self.page.wait_for_timeout(40)
        return found

    def wait_out_guard(self) -> None:
        """Be long after the last tap."""
        self.page.evaluate("pass(1000)")

    # --- what the phone holds

    def store(self, call: str, it: Any = None) -> Any:
        """What a call of the app's own store gives; `it` stands for the argument."""
        return told(
            self.page,
            f"""async (it) => {{
              const main = document.querySelector("script[type=module]").src;
              const store = await import(new URL("../js/store.js", main));
              return store.{call};
            }}""",
            it,
        )

    @functools.cached_property
    def dogs(self) -> dict[str, str]:
        """The ids of the dogs by name, as they are when first asked for."""
        return {row["values"]["name"]: row["id"] for row in self.records("dog")}

    def put_walk(
        self, mode: str, dog: str, place: str, ticks: dict[str, str], ago_ms: int = 0
    ) -> str:
        """Make a walk that stands at `place`, with `ticks` {station: state}; gives its id."""
        at = self.page.evaluate("(ago) => new Date(Date.now() - ago).toISOString()", ago_ms)
        values = {"dog": self.dogs[dog], "mode": mode, "stations": [], "place": place, "began": at}
        walk: str = self.store("write('walk', null, it)", values)
        marks = [
            {"walk": walk, "station": name, "state": how, "at": at} for name, how in ticks.items()
        ]
        self.store("writeAll(it)", [{"kind": "tick", "id": None, "values": mark} for mark in marks])
        return walk

    def rows(self, store: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = told(self.page, READ, [store, "getAll"])
        return rows

    def count(self, store: str) -> int:
        return int(self.page.evaluate(READ, [store, "count"]))

    def meta(self, key: str) -> Any:
        return next((row["value"] for row in self.rows("meta") if row["key"] == key), None)

    def records(self, kind: str, **values: Any) -> list[dict[str, Any]]:
        found = [row for row in self.rows("rows") if row["kind"] == kind]
        return [row for row in found if values.items() <= row["values"].items()]

    def changes(self, state: str) -> list[dict[str, Any]]:
        return [row for row in self.rows("changes") if row["state"] == state]

    def ready_offline(self) -> Phone:
        """Wait until the worker has the build and the book was met, packs and all."""
        self.await_worker()
        self.until(lambda: self.meta("synced"), "the book was met")
        return self

    def await_worker(self) -> None:
        """Wait until the worker has the build."""
        missed = self.page.evaluate(HAS_BUILD, PATIENT)
        assert missed == "", f"In vain: {missed}."

    def nudge(self) -> None:
        """What the phone does when its signal comes back."""
        self.page.evaluate("dispatchEvent(new Event('online'))")

    def sync(self, data: Path) -> Phone:
        """Wait until the book has all that is here, and this phone all that is in the book."""
        nudged = 0.0

        def level() -> bool:
            nonlocal nudged
            # The cursor first: a restored copy gives another one, and has all sent again with it.
            if (self.meta("cursor") or "") in places(data) and not self.changes("unsent"):
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
        listed = self.page.get_by_role("listbox", name="Breeds")
        option = listed.get_by_role("option", name=breed, exact=True)
        if option.count():
            option.click()
        else:
            field.fill(breed)
        self.page.locator(".choices label", has_text=re.compile(f"^{sex}$")).click()
        self.page.get_by_label("Date of birth").fill("2024-05-17")
        self.page.get_by_role("button", name="Save").click()
        expect(self.page.get_by_role("heading", level=1, name=name)).to_be_visible()
        return self.page.evaluate("location.hash").split("/")[2]

    def entry_to_come(self, dog: str) -> str:
        """The id of the one entry of a dog at a show of today, or to come."""
        days = {row["id"]: row["values"]["day"] for row in self.records("show")}
        rows = self.records("entry", dog=self.dogs[dog])
        today = date.today().isoformat()
        (found,) = (row["id"] for row in rows if days[row["values"]["show"]] >= today)
        return str(found)

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
        self.page.get_by_role("button", name="Save note").click()
        expect(self.page.get_by_text("Saved.", exact=True).first).to_be_visible()
        expect(self.page.get_by_label("Private note")).to_have_value("")

    def change_note(self, text: str) -> None:
        """Change the only note of the open station."""
        self.page.get_by_role("button", name="Show note").click()
        self.page.get_by_role("button", name="Change").click()
        self.page.locator(".note-editor textarea").fill(text)
        self.page.get_by_role("button", name="Save", exact=True).click()
        expect(self.page.locator(".note-editor")).to_have_count(0)

    def show_both(self, *texts: str) -> None:
        """Unveil the two texts of the open station's note that were written apart."""
        assert not any(text in self.page.content() for text in texts)
        rows = [self.page.locator(".apart-text", has_text=text) for text in texts]

        def both() -> bool:
            self._unveil()
            return all(row.is_visible() for row in rows)

        self.until(both, "both texts are shown")

    def _unveil(self) -> None:
        # What a sync brought is drawn a moment later, and veils anew what was shown.
        veiled = self.page.get_by_role("button", name="show both")
        if veiled.is_visible():
            veiled.click()

    def settle(self, text: str) -> None:
        """Keep one of the two texts that are shown, or were until the veil fell again."""
        self._unveil()
        row = self.page.locator(".apart-text", has_text=text)
        row.get_by_role("button", name="Use this one").click()
        expect(self.page.locator(".apart")).to_have_count(0)

    def assert_note(self, text: str) -> None:
        """The open station has one note, and it says this."""
        expect(self.page.locator(".apart")).to_have_count(0)
        self.page.get_by_role("button", name="Show note").click()
        expect(self.page.locator(".note-text")).to_have_text(text)

    def add_own(self, label: str, words: str) -> None:
        field = self.page.get_by_label(label)
        field.fill(words)
        field.press("Enter")
        expect(self.page.locator(".own-row", has_text=words)).to_be_visible()

    def rename(self, dog: str, name: str) -> None:
        self.edit(dog, "Call name", name)
        expect(self.page.get_by_role("heading", level=1, name=name, exact=True)).to_be_visible()

    def edit(self, dog: str, label: str, value: str) -> None:
        """Fill in one field of a dog's form."""
        self.dog(dog)

        def is_open() -> bool:
            # A notice that comes in between moves the page under the finger: one taps again.
            if "/edit" not in self.page.evaluate("location.hash"):
                self.page.get_by_role("link", name="Edit", exact=True).click()
            return self.page.get_by_label(label).is_visible()

        self.until(is_open, "the dog's form is open")
        self.page.get_by_label(label).fill(value)
        self.page.get_by_role("button", name="Save").click()
        expect(self.page.get_by_role("link", name="Edit")).to_be_visible()

    def type_code(self, code: str) -> None:
        """Type a code where the app asks for one."""
        self.page.get_by_label("Code").fill(code)
        self.page.get_by_role("button", name="Pair", exact=True).click()

    def go_in(self, dog: str) -> str:
        """Go into the ring; gives the walk's id."""
        self.dog(dog)
        self.page.get_by_role("link", name="Ring", exact=True).click()
        self.page.get_by_role("button", name="Go in").click()
        expect(self.page.locator(".ring-done")).to_be_visible()
        return self.page.evaluate("location.hash").split("/")[2]

    def in_ring(self) -> list[str]:
        """What the Ring's screen says of where we are."""
        return self.page.locator(".ring-station, .ring-place").all_inner_texts()

    def tap_done(self) -> None:
        before = self.in_ring()
        self.wait_out_guard()
        self.page.locator(".ring-done").click()
        self.until(lambda: self.in_ring() != before, "the tap was taken")

    def await_no_card(self) -> None:
        """Wait until no window holds a card: a browser lets go of it a moment after it is left."""
        self.until(lambda: "ringside-card" not in self.page.evaluate(HELD), "no card is open")

    def leave_card(self) -> None:
        self.page.bring_to_front()
        self.wait_out_guard()
        self.page.get_by_role("button", name="Leave the card; it is saved here").click()
        expect(self.page.locator(".ring-done")).to_have_count(0)

    def tick_states(self, walk: str) -> dict[str, str]:
        ticks = self.records("tick", walk=walk)
        return {row["values"]["station"]: row["values"]["state"] for row in ticks}

    def walk_to_the_end(self) -> None:
        last = self.page.get_by_text("That was the last look.")
        while not last.is_visible():
            self.tap_done()
        self.tap_done()
        # To the gate of what it was walked for, or to the dog.
        expect(self.page.locator(".ring-stage")).to_have_count(0)


def newest(data: Path) -> int:
    """The number of the newest change in the book."""
    return int(asked(data, "SELECT COALESCE(MAX(seq), 0) FROM change")[0][0])


def places(data: Path) -> set[str]:
    """The cursors of an owner's and of a helper's phone that has all it may see of the book."""
    found = set()
    for view in VIEWS.values():
        fields = view.fields
        seen = "" if fields is None else f"WHERE {SEEN.removeprefix('AND ')}"
        sql = f"SELECT id, received FROM change {seen} ORDER BY seq DESC LIMIT 1"
        own = [] if fields is None else [json.dumps(fields)]
        rows = asked(data, sql.replace("{listed}", Sqlite.listed), *own)
        found.add(".".join([*map(str, rows[0]), *filter(None, [view.mark])]) if rows else "")
    return found


def body_of(request: Request) -> Any:
    """The JSON that an app sent, which it may have squeezed."""
    body = request.post_data_buffer or b""
    return json.loads(gzip.decompress(body) if body.startswith(b"\x1f\x8b") else body)


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
    held = phone.rows("rows")
    read = open_book(Place(data))
    try:
        with read.session():
            for kind in KINDS:
                shown = {row["id"]: row["values"] for row in held if row["kind"] == kind}
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
