"""What years behind a dog cost: screens and syncs beside those of a book that has hardly begun."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from statistics import median
from tempfile import mkdtemp
from typing import Any, Protocol

import uuid6
from playwright.sync_api import Browser, CDPSession, sync_playwright

from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.knowledge import load
from tests.benchmarks.packs import AWARDS, BREED, awards_of, dog_of
from tests.benchmarks.registry import Row, benchmark, in_turn, ms
from tests.benchmarks.sync import BATCH, Change, Client, Phone, Writer
from tests.browser import phone as browser_phone
from tests.support import Server, launch_options, pair_page, until

DOGS = 20
MARKS = 5_000  # of each dog
DRILLS = 3_000  # things that were learned, half of them about a dog
FEW = 10  # in all, of marks and of things learned
AIM = "<= 1.25"
RUNS = 21
SLOWER = 4
STATIONS = ("bite", "head", "ears", "topline", "down_and_back")
MOMENT = "2026-03-14T09:30:00.000Z"

# Fill the phone as its store would: through core/rows.js, in the shape that it keeps.
FILL = """async ([dogs, marks, stations, drills]) => {
    const main = document.querySelector("script[type=module]").src;
    const { blank, foldInto } = await import(new URL("../js/core/rows.js", main));
    const { kinds } = await import(new URL("../js/shipped.js", main));
    const { drill, practice } = await kinds();
    const opening = indexedDB.open("ringside");
    const db = await new Promise((done) => { opening.onsuccess = () => done(opening.result); });
    // The newest is of now: none is so old that nobody need look at it.
    const day = Date.now() - marks * 3_600_000;
    for (const dog of dogs) {
        const tx = db.transaction(["rows", "sums"], "readwrite", { durability: "relaxed" });
        for (let number = 0; number < marks; number += 1) {
            const row = blank("practice", crypto.randomUUID());
            const station = stations[number % stations.length];
            const at = new Date(day + number * 3_600_000).toISOString();
            const values = { dog, station, grade: "easy", at };
            for (const [field, value] of Object.entries(values)) {
                const stamp = "0199c82cc000-0000-0000000000aa";
                foldInto(practice, row, { field, value, stamp, base: "" });
            }
            tx.objectStore("rows").put(row);
        }
        const sums = tx.objectStore("sums");
        sums.delete(IDBKeyRange.bound(["practice", dog], ["practice", `${dog}!`]));
        sums.put({ kind: "practice", owner: dog, count: marks });
        await new Promise((done, fail) => {
            tx.oncomplete = done;
            tx.onabort = () => fail(tx.error);
        });
    }
    const tx = db.transaction("rows", "readwrite", { durability: "relaxed" });
    for (let number = 0; number < drills; number += 1) {
        const row = blank("drill", crypto.randomUUID());
        const dog = number % 2 ? { dog: dogs[number % dogs.length] } : {};
        const values = {
            ...dog, item: `thing ${number}`, answer: "right", stability: 3, difficulty: 5,
            at: new Date(day).toISOString(), due: "2026-01-02",
        };
        for (const [field, value] of Object.entries(values)) {
            const stamp = "0199c82cc000-0000-0000000000aa";
            foldInto(drill, row, { field, value, stamp, base: "" });
        }
        tx.objectStore("rows").put(row);
    }
    await new Promise((done, fail) => {
        tx.oncomplete = done;
        tx.onabort = () => fail(tx.error);
    });
    db.close();
}"""
# From the tap until the other screen is in the page (ms); painting is the same for both.
OPEN = """async (path) => {
    const main = document.getElementById("main");
    const began = performance.now();
    await new Promise((done) => {
        new MutationObserver((_, watch) => {
            watch.disconnect();
            done();
        }).observe(main, { childList: true });
        location.hash = `#/${path}`;
    });
    return performance.now() - began;
}"""


def dogs_of(writer: Writer, count: int = DOGS) -> tuple[list[str], list[Change]]:
    """The ids of so many dogs, and the changes that make them."""
    ids = [str(uuid6.uuid7()) for _ in range(count)]
    values = {**dog_of(BREED), "testes": "both"}
    return ids, [writer.change("dog", dog, name, values[name]) for dog in ids for name in values]


def mark(writer: Writer, dog: str, number: int) -> list[Change]:
    record = str(uuid6.uuid7())
    station = STATIONS[number % len(STATIONS)]
    values = {"dog": dog, "station": station, "grade": "easy", "at": MOMENT}
    return [writer.change("practice", record, name, values[name]) for name in values]


# --- On the phone


class Pocket:
    """A phone with 20 dogs, and so many marks of each."""

    def __init__(self, browser: Browser, server: Server, marks: int) -> None:
        """`marks` of each dog; 0 for FEW in all."""
        context = browser.new_context(**browser_phone.POCKET)
        page = context.new_page()
        self.phone = browser_phone.Phone(page, server.url)
        pair_page(page, server)
        self.phone.until(lambda: len(self.phone.records("dog")) == DOGS, "the dogs are here")
        self.phone.until(lambda: self.phone.count("packs") == DOGS, "the packs are here")
        dogs = [row["id"] for row in self.phone.records("dog")]
        filled = [dogs, marks, STATIONS, DRILLS] if marks else [dogs[:1], FEW, STATIONS, FEW]
        page.evaluate(FILL, filled)
        walk = {"dog": dogs[0], "mode": "ring", "stations": [], "place": "bite", "began": MOMENT}
        self.walk: str = self.phone.store("write('walk', null, it)", walk)
        self.dog = dogs[0]
        self.cdp: CDPSession = context.new_cdp_session(page)

    def open(self, screen: str) -> float:
        """Open a screen from the settings; how long that took (ms)."""
        self.phone.show("settings")
        path = screen.format(dog=self.dog, walk=self.walk)
        return float(self.phone.page.evaluate(OPEN, path))


SCREENS = {
    "home": "",
    "dog's page": "dog/{dog}",
    "practice": "dog/{dog}/practice",
    "station": "dog/{dog}/station/bite",
    "Ring": "ring/{walk}",
    "Learn": "learn",
    "Learn of a dog": "dog/{dog}/learn",
}


class Opens(Protocol):
    """A phone whose screens are opened."""

    cdp: CDPSession

    def open(self, screen: str) -> float:
        """Open a screen; how long that took (ms)."""


def opened(
    few: Opens, many: Opens, screens: Mapping[str, str], behind: str, beside: str, aim: str
) -> Iterator[Row]:
    """Open screens {name: address} on two phones in turn, at this pace and at a quarter of it."""
    for slower in (1, SLOWER):
        for pocket in (few, many):
            pocket.cdp.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        pace = f", {slower}x slower" if slower > 1 else ""
        for name, screen in screens.items():
            times: dict[Opens, list[float]] = {few: [], many: []}
            for _ in range(RUNS):
                for pocket, taken in times.items():
                    taken.append(pocket.open(screen))
            floor, here = (median(taken) / 1000 for taken in times.values())
            what = f"{name} behind {behind}{pace}"
            yield Row(what, ms(here), f"{ms(floor)} behind {beside}", here / floor, aim)


@benchmark
def history_on_the_phone() -> Iterator[Row]:
    """Open screens on two phones in turn, that differ in nothing but the marks behind."""
    with dogs_served() as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options())
        few, many = (Pocket(browser, server, marks) for marks in (0, MARKS))
        behind = f"{DOGS} x {MARKS:,} marks"
        yield from opened(few, many, SCREENS, behind, str(FEW), AIM)
        browser.close()


@contextmanager
def dogs_served() -> Iterator[Server]:
    """A server of a book with nothing but the dogs."""
    with book_served(lambda writer, dogs: iter(())) as (server, _):
        yield server


# --- On the server


@contextmanager
def book_served(fill: Any, count: int = DOGS) -> Iterator[tuple[Server, list[str]]]:
    """A server of a book with so many dogs and what `fill(writer, dogs)` gives of changes."""
    folder = Path(mkdtemp(prefix="ringside-bench-"))
    try:
        writer = Writer()
        dogs, changes = dogs_of(writer, count)
        book = open_book(Place(folder / "data"))
        now = time.time_ns() // 1_000_000 + 1_000_000
        for made in fill(writer, dogs):
            changes += made
            if len(changes) >= BATCH:
                assert not book.append(changes, now).refused
                changes.clear()
        assert not book.append(changes, now).refused
        book.close()
        with Server(folder / "data", "serve") as server:
            # What it does first of a day takes longer the more there is, and is no part of a sync.
            until(lambda: [*server.place.copies.glob("daily-*.db")], "the copy of the day")
            yield server, dogs
    finally:
        shutil.rmtree(folder)


def compared(rounds: int, make: Any, *books: Any) -> list[float]:
    """The median seconds of a sync that brings what `make(writer, dog)` gives, in each book."""
    with ExitStack() as stack:
        runs = []
        for opened in books:
            server, dogs = stack.enter_context(opened)
            phone = Phone(Client(server.port), open_book(server.place))
            bodies: list[bytes] = []

            def prepare(phone: Phone = phone, dog: str = dogs[0], into: Any = bodies) -> None:
                into[:] = [phone.body(make(phone.writer, dog))]

            def sync(phone: Phone = phone, bodies: Any = bodies) -> None:
                phone.take(phone.client.post(bodies[0]))

            runs += [prepare, sync]
        return in_turn(rounds, *runs)[1::2]


def awards(per_dog: int) -> Any:
    made = [values for _, values in awards_of(load(), per_dog + 1)]

    def award(writer: Writer, dog: str, number: int = per_dog) -> list[Change]:
        record, values = str(uuid6.uuid7()), {"dog": dog, **made[number]}
        return [
            writer.change("award", record, name, value)
            for name, value in values.items()
            if value is not None
        ]

    return award


@benchmark
def history_on_the_server() -> Iterator[Row]:
    """Sync with two books in turn, that differ in what lies behind."""

    def marked(writer: Writer, dogs: list[str]) -> Iterator[list[Change]]:
        return (mark(writer, dog, number) for number in range(MARKS) for dog in dogs)

    def hardly(writer: Writer, dogs: list[str]) -> Iterator[list[Change]]:
        return (mark(writer, dogs[0], number) for number in range(FEW))

    few, many = compared(
        100, lambda writer, dog: mark(writer, dog, 0), book_served(hardly), book_served(marked)
    )
    what = f"sync of one mark behind {DOGS} x {MARKS:,} marks"
    yield Row(what, ms(many), f"{ms(few)} behind {FEW}", many / few, AIM)

    award = awards(AWARDS)

    def awarded(writer: Writer, dogs: list[str]) -> Iterator[list[Change]]:
        return (award(writer, dog, number) for number in range(AWARDS) for dog in dogs)

    few, many = compared(40, award, book_served(awarded, 1), book_served(awarded))
    what = f"sync of one award, {DOGS} dogs with {AWARDS} each"
    yield Row(what, ms(many), f"{ms(few)} with one such dog", many / few, AIM)
