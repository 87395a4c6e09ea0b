"""What years of shows cost: 300 with 3,000 results beside ten."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import partial
from typing import Any

import uuid6
from playwright.sync_api import Browser, CDPSession, sync_playwright

from ringside.book.ids import id_of
from ringside.book.keeping import open_book
from ringside.domain.results import judge_key
from tests.benchmarks.history import OPEN, book_served, compared, dogs_served, opened
from tests.benchmarks.registry import Row, benchmark, in_turn, ms
from tests.benchmarks.sync import Change, Client, Phone, Writer
from tests.browser import phone as browser_phone
from tests.support import Server, launch_options, pair_page

SHOWS, SHOWN = 300, 10  # ten dogs at each
FEW = 10
JUDGES = ("A Wren", "B Larch", "C Heron", "D Alder", "E Finch")
AIM = "<= 1.5"

# Fill the phone as its store would, through core/rows.js. The last show is today; the others lie a
# week apart before it. Gives the ids of that show and of its first entry.
FILL = """async ([dogs, shows, judges]) => {
    const main = document.querySelector("script[type=module]").src;
    const { blank, foldInto } = await import(new URL("../js/core/rows.js", main));
    const { resultId, judgeKey } = await import(new URL("../js/core/results.js", main));
    const { kinds } = await import(new URL("../js/shipped.js", main));
    const declared = await kinds();
    const opening = indexedDB.open("ringside");
    const db = await new Promise((done) => { opening.onsuccess = () => done(opening.result); });
    const tx = db.transaction(["rows", "sums"], "readwrite", { durability: "relaxed" });
    const sums = tx.objectStore("sums");
    for (const owner of dogs) sums.put({ kind: "result", owner, count: shows - 1 });
    const put = (kind, id, values) => {
        const row = blank(kind, id);
        for (const [field, value] of Object.entries(values)) {
            const stamp = "0199c82cc000-0000-0000000000aa";
            foldInto(declared[kind], row, { field, value, stamp, base: "" });
        }
        tx.objectStore("rows").put(row);
        return id;
    };
    let last = null;
    for (let week = shows - 1; week >= 0; week -= 1) {
        const day = new Date(Date.now() - week * 7 * 86_400_000).toISOString().slice(0, 10);
        const name = `Field ${week} Open Show`;
        const show = put("show", crypto.randomUUID(), { name, body: "KC", level: "open", day });
        const judge = judges[week % judges.length];
        const entries = dogs.map((dog) => {
            const known = { dog, show, klass: "open", judge };
            const entry = put("entry", crypto.randomUUID(), { ...known, ring: "1", time: "10:00" });
            if (week === 0) return entry;
            const result = put("result", resultId(entry), {
                ...known, entry, day, placing: "2", competing: 5, judge_key: judgeKey(judge),
                critique: "Good head and eye, topline a little soft, moved well.",
            });
            put("lesson", crypto.randomUUID(), {
                result, dog, station: "topline", says: "named", day, judge_key: judgeKey(judge),
            });
            return entry;
        });
        last = { show, entry: entries[0], judge: encodeURIComponent(judgeKey(judges[1])) };
    }
    await new Promise((done, fail) => {
        tx.oncomplete = done;
        tx.onabort = () => fail(tx.error);
    });
    db.close();
    return last;
}"""

SCREENS = {
    "home": "",
    "shows": "shows",
    "a show": "show/{show}",
    "dog's page": "dog/{dog}",
    "gate": "gate/{entry}",
    "result": "entry/{entry}/result",
    "record": "dog/{dog}/record",
    "judge": "judge/{judge}",
}


class Pocket:
    """A phone with ten dogs that were at so many shows."""

    def __init__(self, browser: Browser, server: Server, shows: int) -> None:
        context = browser.new_context(**browser_phone.POCKET)
        page = context.new_page()
        self.phone = browser_phone.Phone(page, server.url)
        pair_page(page, server)
        self.phone.until(lambda: len(self.phone.records("dog")) >= SHOWN, "the dogs are here")
        ids = [row["id"] for row in self.phone.records("dog")][:SHOWN]
        self.names = {"dog": ids[0], **page.evaluate(FILL, [ids, shows + 1, JUDGES])}
        self.cdp: CDPSession = context.new_cdp_session(page)

    def open(self, screen: str) -> float:
        """Open a screen from the settings; how long that took (ms)."""
        self.phone.show("settings")
        return float(self.phone.page.evaluate(OPEN, screen.format(**self.names)))


@benchmark
def season_on_the_phone() -> Iterator[Row]:
    """Open screens on two phones in turn, that differ in nothing but the shows behind."""
    with dogs_served() as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options())
        few, many = (Pocket(browser, server, shows) for shows in (FEW, SHOWS))
        behind = f"{SHOWS} shows, {SHOWS * SHOWN:,} results"
        yield from opened(few, many, SCREENS, behind, f"{FEW} shows", AIM)
        browser.close()


# --- At the desk, and in a sync


def _show(writer: Writer, dogs: list[str], day: str) -> list[Change]:
    """A show of one day with an entry and a result of each dog."""
    show = str(uuid6.uuid7())
    made = {("show", show): {"name": f"Field {day}", "body": "KC", "level": "open", "day": day}}
    for dog in dogs:
        entry, known = str(uuid6.uuid7()), {"dog": dog, "show": show, "klass": "open"}
        made["entry", entry] = {**known, "ring": "1", "time": "10:00", "judge": JUDGES[0]}
        made["result", id_of(f"result {entry}")] = _result(entry, {**known, "day": day})
    return [
        writer.change(kind, record, field, value)
        for (kind, record), values in made.items()
        for field, value in values.items()
    ]


def _result(entry: str, known: dict[str, Any]) -> dict[str, Any]:
    said = {"placing": "2", "competing": 5, "judge": JUDGES[0], "judge_key": judge_key(JUDGES[0])}
    return {**known, **said, "entry": entry, "critique": "Good head and eye, moved well."}


def _shows(count: int) -> Any:
    """What fills a book: ten shows of this year, the others in the years before it."""
    this = date.today().year

    def fill(writer: Writer, dogs: list[str]) -> Iterator[list[Change]]:
        for number in range(count):
            year, month = this - number // SHOWN, number % SHOWN + 1
            yield _show(writer, dogs[:SHOWN], f"{year}-{month:02}-14")

    return fill


@benchmark
def season_at_the_desk() -> Iterator[Row]:
    """Open the season of this year in two books in turn, that differ in the years before it."""
    with book_served(_shows(FEW)) as few, book_served(_shows(SHOWS)) as many:
        clients = [
            Phone(Client(server.port), open_book(server.place)).client for server, _ in (few, many)
        ]
        for page in ("/desk/season", "/desk"):
            runs = [partial(client.get, page) for client in clients]
            floor, here = in_turn(60, *runs)
            what = f"{page} behind {SHOWS} shows, {SHOWS * SHOWN:,} results"
            yield Row(what, ms(here), f"{ms(floor)} behind {FEW} shows", here / floor, AIM)


@benchmark
def season_in_a_sync() -> Iterator[Row]:
    """Sync with two books in turn, that differ in the shows behind."""

    def one(writer: Writer, dog: str) -> list[Change]:
        entry, known = str(uuid6.uuid7()), {"dog": dog, "klass": "open", "day": "2026-03-14"}
        values = _result(entry, known)
        record = id_of(f"result {entry}")
        return [writer.change("result", record, name, value) for name, value in values.items()]

    few, many = compared(60, one, book_served(_shows(FEW)), book_served(_shows(SHOWS)))
    what = f"sync of one result behind {SHOWS} shows, {SHOWS * SHOWN:,} results"
    yield Row(what, ms(many), f"{ms(few)} behind {FEW} shows", many / few, AIM)
