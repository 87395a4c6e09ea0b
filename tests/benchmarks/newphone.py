"""How a new phone fills from a book of years, and what its daily taps cost then.

The floor is the least that any app of the same rows must do: one JSON with all of them, fetched and
put into one IndexedDB store, by the same browser in the same run.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from statistics import median
from typing import Any

import uuid6
from playwright.sync_api import Browser, CDPSession, Page, sync_playwright

from tests.benchmarks.history import DOGS, STATIONS, book_served
from tests.benchmarks.pages import files_served
from tests.benchmarks.registry import Row, benchmark, ms
from tests.benchmarks.sync import Change, Writer
from tests.benchmarks.taps import SLOWER, Day
from tests.browser import phone as browser_phone
from tests.support import Server, launch_options, offer

SIZES = (5_000, 40_000, 100_000)  # records in the book
AIMS = {100_000: "<= 30 s"}
FEW = 10
LOOK_EVERY = 200  # ms
MEGABYTE = 1_000_000

# From the tap on Pair until the list has all dogs, each with its link.
LISTED = """(dogs) => {
    const began = performance.now();
    globalThis.listed = new Promise((done) => {
        const look = () => {
            if (document.querySelectorAll("#main .dog-row").length >= dogs)
                done(performance.now() - began);
            else requestAnimationFrame(look);
        };
        look();
    });
}"""
FLOOR = """async () => {
    const began = performance.now();
    const rows = await (await fetch("/rows.json")).json();
    const opening = indexedDB.open("floor", 1);
    const db = await new Promise((done, fail) => {
        opening.onupgradeneeded = () => opening.result.createObjectStore("rows", { keyPath: "id" });
        opening.onsuccess = () => done(opening.result);
        opening.onerror = () => fail(opening.error);
    });
    const tx = db.transaction("rows", "readwrite", { durability: "relaxed" });
    for (const row of rows) tx.objectStore("rows").put(row);
    const used = performance.memory.usedJSHeapSize;
    await new Promise((done, fail) => {
        tx.oncomplete = done;
        tx.onabort = () => fail(tx.error);
    });
    return [performance.now() - began, used];
}"""
META = """async (key) => {
    const opening = indexedDB.open("ringside");
    const db = await new Promise((done) => { opening.onsuccess = () => done(opening.result); });
    const asked = db.transaction("meta").objectStore("meta").get(key);
    const row = await new Promise((done) => { asked.onsuccess = () => done(asked.result); });
    db.close();
    return row?.value;
}"""


def years(records: int) -> Any:
    """What makes so many records besides the dogs: marks, ticks, and a note now and then."""

    def made(writer: Writer, dogs: list[str]) -> Iterator[list[Change]]:
        walks = {dog: str(uuid6.uuid7()) for dog in dogs}
        for number in range(records):
            dog = dogs[number % DOGS]
            kind, values = _record(number // DOGS, dog, walks[dog])
            record = str(uuid6.uuid7())
            yield [writer.change(kind, record, name, value) for name, value in values.items()]

    return made


def _record(number: int, dog: str, walk: str) -> tuple[str, dict[str, Any]]:
    station = STATIONS[number % len(STATIONS)]
    month, day = number // 28 % 12 + 1, number % 28 + 1
    at = f"{2022 + number // 336 % 4}-{month:02}-{day:02}T09:30:00.000Z"
    if number % 10 == 9:
        return "note", {"dog": dog, "station": station, "text": f"Turns away at first, {number}."}
    if number % 10 >= 6:
        return "tick", {"walk": walk, "station": station, "state": "done", "at": at}
    said = {"grade": "needs work", "handler": "Robin", "hands": "known"}
    return "practice", {"dog": dog, "walk": walk, "station": station, **said, "at": at}


@dataclass
class Filled:
    """What was seen while a phone was filled: seconds, and bytes of JavaScript's heap."""

    seconds: float
    listed: float
    most: int
    after: int


def heap(cdp: CDPSession) -> int:
    return int(cdp.send("Runtime.getHeapUsage")["usedSize"])


def fill(page: Page, server: Server, most_seconds: float = 900) -> Filled:
    """Pair a new phone with the server, and wait until it has the whole book."""
    cdp = page.context.new_cdp_session(page)
    page.goto(f"{server.url}#/pair/{offer(server.place).link}")
    button = page.locator("#main").get_by_role("button", name="Pair", exact=True)
    button.wait_for()
    page.evaluate(LISTED, DOGS)
    button.click()
    begun = time.perf_counter()
    page.get_by_role("link", name="To the kennel", exact=True).click()
    most = 0
    while not page.evaluate(META, "synced"):
        if time.perf_counter() - begun > most_seconds:
            raise RuntimeError(f"Not filled after {most_seconds} s.")
        most = max(most, heap(cdp))
        page.wait_for_timeout(LOOK_EVERY)
    seconds = time.perf_counter() - begun
    listed = page.evaluate("globalThis.listed") / 1000
    cdp.send("HeapProfiler.collectGarbage")
    return Filled(seconds, listed, most, heap(cdp))


def floor_of(browser: Browser, rows: str) -> tuple[float, int]:
    """Seconds that a bare page takes for the rows, and its heap with all of them."""
    with rows_served(rows) as url:
        context = browser.new_context()
        page = context.new_page()
        page.goto(url)
        time_taken, used = page.evaluate(FLOOR)
        context.close()
        return time_taken / 1000, used


def rows_served(rows: str) -> AbstractContextManager[str]:
    """Serve a bare page, and the rows as one JSON."""
    page = ("text/html", "<!doctype html><title>-</title>")
    return files_served(lambda path: ("application/json", rows) if path == "/rows.json" else page)


@benchmark
def new_phone() -> Iterator[Row]:
    """Fill new phones from books of different sizes, each beside its floor; then tap on the fullest
    and on one that has hardly begun."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options())
        few, many = {}, {}
        for size in (FEW, *SIZES):
            with book_served(years(size)) as (server, _), phone_of(browser, server) as phone:
                filled = fill(phone.page, server)
                if size in SIZES:
                    rows = json.dumps(phone.rows("rows"))
                    yield from told(size, filled, *floor_of(browser, rows))
                if size == FEW:
                    few = Day(phone).measured()
                if size == SIZES[-1]:
                    many = Day(phone).measured()
        browser.close()
    for what, times in many.items():
        yield Row(
            f"{what}, {SIZES[-1]:,} records, {SLOWER}x slower",
            f"p95 {p95(times):.0f} ms, median {median(times):.0f}",
            f"p95 {p95(few[what]):.0f} ms, median {median(few[what]):.0f} with {FEW}",
            p95(times) / p95(few[what]),
            "<= 50 ms",
        )


@contextmanager
def phone_of(browser: Browser, server: Server) -> Iterator[browser_phone.Phone]:
    """A phone that was never used."""
    context = browser.new_context(**browser_phone.POCKET)
    try:
        yield browser_phone.Phone(context.new_page(), server.url)
    finally:
        context.close()


def told(size: int, filled: Filled, floor: float, used: int) -> Iterator[Row]:
    """The rows of one filling, beside the seconds and the heap of its floor."""
    what = f"new phone, {DOGS} dogs and {size:,} records"
    beside = f"{floor:.1f} s to fetch and put the same rows"
    ratio = filled.seconds / floor
    yield Row(what, f"{filled.seconds:.1f} s", beside, ratio, AIMS.get(size, ""))
    yield Row("... its list of dogs", ms(filled.listed), aim="<= 1000 ms")
    most, after, all_at_once = (it / MEGABYTE for it in (filled.most, filled.after, used))
    beside = f"{all_at_once:.0f} MB with all rows at once; {after:.0f} MB after"
    yield Row("... JavaScript's heap at most", f"{most:.0f} MB", beside)


def p95(times: list[float]) -> float:
    return sorted(times)[int(len(times) * 0.95) - 1]
