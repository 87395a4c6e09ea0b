"""No screen reads more than it shows: what a dog has behind it costs no screen a row."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.phone import OUT_OF_REACH, POCKET, Phone
from tests.browser.test_taking_in import address, patterns
from tests.support import Server

# In the page, before the app's first line: count the rows of records that the app is given, and
# what it has asked for and not been given yet, of any store.
COUNT = """{
    globalThis.rowsRead = 0;
    globalThis.awaited = 0;
    const ways = ["get", "getKey", "getAll", "getAllKeys", "openCursor", "openKeyCursor"];
    for (const { prototype } of [IDBObjectStore, IDBIndex]) {
        for (const way of ways) {
            const asked = prototype[way];
            prototype[way] = function (...given) {
                const request = asked.apply(this, given);
                awaited += 1;
                request.addEventListener("success", () => { awaited -= 1; }, { once: true });
                request.addEventListener("error", () => { awaited -= 1; }, { once: true });
                const counted = ({ target: { result } }) => {
                    rowsRead += Array.isArray(result) ? result.length : Number(Boolean(result));
                };
                if ((this.objectStore ?? this).name === "rows") {
                    request.addEventListener("success", counted);
                }
                return request;
            };
        }
    }
}"""
STATIONS = ("bite", "head", "ears", "topline")


def write_marks(phone: Phone, dog: str, rehearsals: int) -> None:
    """Rehearsals of a dog, each with a mark of every one of the STATIONS, and as many things that
    were learned of it and are due."""
    phone.store(
        """writeAll(it.walks.flatMap((walk) => [
            { kind: "walk", id: walk, values: {
                dog: it.dog, mode: "rehearse", stations: it.stations, began: it.at, ended: it.at,
            } },
            ...it.stations.map((station) => ({ kind: "practice", id: null, values: {
                dog: it.dog, walk, station, grade: "easy", at: it.at,
            } })),
            ...it.stations.map((station) => ({ kind: "drill", id: null, values: {
                dog: it.dog, item: `of old:${station}`, answer: "right", stability: 9,
                difficulty: 5, at: it.at, due: it.at.slice(0, 10),
            } })),
        ]))""",
        {
            "dog": dog,
            "at": "2025-05-17T10:00:00.000Z",
            "stations": STATIONS,
            "walks": phone.page.evaluate(
                "(many) => Array.from({ length: many }, () => crypto.randomUUID())", rehearsals
            ),
        },
    )


def write_shows(phone: Phone, dogs: list[str], shows: int) -> None:
    """Shows of the past, with an entry of each of these dogs; every other has a day of its own."""
    phone.store(
        """writeAll(it.shows.flatMap((show, place) => [
            { kind: "show", id: show, values: { name: "Gone By", body: "KC", day: it.day } },
            ...it.dogs.map((dog) => ({ kind: "entry", id: null, values: {
                dog, show, klass: "open", ...(place % 2 ? { day: it.day } : {}),
            } })),
        ]))""",
        {
            "dogs": dogs,
            "day": "2025-05-17",
            "shows": phone.page.evaluate(
                "(many) => Array.from({ length: many }, () => crypto.randomUUID())", shows
            ),
        },
    )


# Until the app waits for no row, and has asked for no more for so many ms.
QUIET = """async (ms) => {
    for (let last = -1; rowsRead !== last || awaited > 0; ) {
        last = rowsRead;
        await new Promise((done) => setTimeout(done, ms));
    }
    return rowsRead;
}"""


# These show what was, and so much of it at most.
OF_THE_PAST = {"shows", "dog/:id/awards"}
A_SCREEN = 250
WHAT_WAS_WRITTEN = 400  # Longer than the app puts off drawing it (static/js/router.js).


def watched(page: Callable[..., Page], server: Server, script: str) -> Phone:
    """A phone that counts, by `script`, from before the app's first line."""
    opened = page(**POCKET)
    opened.add_init_script(script)
    return Phone(opened, server.url).open().ready_offline()


def rows_of_each(phone: Phone, paths: dict[str, str]) -> dict[str, int]:
    """How many rows each screen reads, once what was written just now is drawn."""
    phone.go("settings")
    phone.page.evaluate(QUIET, WHAT_WAS_WRITTEN)
    return {pattern: rows_read(phone, path) for pattern, path in paths.items()}


def rows_read(phone: Phone, path: str) -> int:
    """How many rows the app reads to show a screen: shown twice, since news may draw it anew."""
    found = []
    for _ in range(2):
        phone.page.evaluate("rowsRead = 0")
        phone.show(path)
        found.append(int(phone.page.evaluate(QUIET, A_SCREEN)))
    return min(found)


def write_photos(phone: Phone, dog: str, count: int) -> None:
    """Photos of a dog, each marked once by one person."""
    phone.store(
        """writeAll(it.photos.flatMap((photo) => [
            { kind: "photo", id: photo, values: { dog: it.dog, day: "2025-05-17", view: "side" } },
            { kind: "marking", id: null, values: {
                photo, dog: it.dog, round: 1, by: "Anna", atlas: 1, marks: "{}",
            } },
        ]))""",
        {
            "dog": dog,
            "photos": phone.page.evaluate(
                "(many) => Array.from({ length: many }, () => crypto.randomUUID())", count
            ),
        },
    )


def test_proportions_read_of_other_dogs_as_much_however_many_were_photographed(
    server: Server, page: Callable[..., Page], allowed_errors: list[str]
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    phone = watched(page, server, COUNT)
    opened = phone.page
    own, other = phone.dogs["Bramble"], phone.dogs["Drift"]
    write_photos(phone, own, 1)
    server.stop()  # so that no row is read to be sent
    counted = []
    for photos in (70, 70):
        write_photos(phone, other, photos)
        opened.evaluate(QUIET, WHAT_WAS_WRITTEN)
        veiled = rows_read(phone, f"dog/{own}/proportions")
        opened.get_by_role("button", name="Show proportions").click()
        counted.append((veiled, int(opened.evaluate(QUIET, A_SCREEN))))
    few, many = counted
    assert many == few
    assert few[1] - few[0] < 140, "of those marked once no photo is read"


def test_a_screen_reads_as_many_rows_whatever_lies_behind(
    server: Server, page: Callable[..., Page], allowed_errors: list[str]
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    phone = watched(page, server, COUNT)
    paths = {pattern: address(pattern, server.data) for pattern in patterns()}
    # Before the signal goes: the shipped app does not keep the module that this imports.
    walks = {mode: phone.put_walk(mode, "Bramble", "bite", {}) for mode in ("ring", "rehearse")}
    server.stop()
    paths |= {
        "ring/:id": f"ring/{walks['ring']}",
        "rehearsal/:id": f"rehearsal/{walks['rehearse']}",
    }
    dogs = sorted(phone.dogs.values())
    counted = []
    for rehearsals in (1, 50):
        for dog in dogs:
            write_marks(phone, dog, rehearsals)
        counted.append(rows_of_each(phone, paths))
    few, many = counted
    assert min(few[path] for path in ("", "dog/:id", "ring/:id", "rehearsal/:id")) > 0
    assert many == few

    write_shows(phone, dogs, 30)
    after = rows_of_each(phone, paths)
    assert {path for path in paths if after[path] != few[path]} == OF_THE_PAST

    phone.page.evaluate("rowsRead = 0")
    phone.store("everything()")
    assert phone.page.evaluate("rowsRead") > 50 * len(STATIONS) * len(dogs), "it does count"


# In the page, before the app's first line: the most keys given at once, and how often a write asks
# for what the book refused.
ASKED = """{
    globalThis.mostKeys = 0;
    globalThis.refusedAsked = 0;
    const { getAll, getAllKeys } = IDBIndex.prototype;
    IDBIndex.prototype.getAllKeys = function (...given) {
        const request = getAllKeys.apply(this, given);
        request.addEventListener("success", () => {
            mostKeys = Math.max(mostKeys, request.result.length);
        });
        return request;
    };
    IDBIndex.prototype.getAll = function (...given) {
        const isWrite = this.objectStore.transaction.mode === "readwrite";
        refusedAsked += isWrite && given[0] === "refused";
        return getAll.apply(this, given);
    };
}"""
MOST_COUNTED = 1_000


def test_what_waits_is_counted_so_far_and_no_further(
    server: Server, page: Callable[..., Page], allowed_errors: list[str]
) -> None:
    """As behind a restored copy, to which a phone sends all that it ever wrote."""
    allowed_errors.append(OUT_OF_REACH)
    phone = watched(page, server, ASKED)
    opened = phone.page
    phone.store("status()")  # the shipped app does not keep the module that this imports
    server.stop()

    def write(many: int) -> int:
        ticks = [{"kind": "tick", "id": None, "values": {"state": "done"}}] * many
        phone.store("writeAll(it)", ticks)
        return int(phone.store("status()")["waiting"])

    assert write(MOST_COUNTED) == 1, "what is written in one moment is one thing"
    assert write(1) > MOST_COUNTED
    assert write(2 * MOST_COUNTED) > MOST_COUNTED
    assert phone.store("status()")["since"] is not None
    for path, words in (
        ("", "More than 1,000 changes to send; saved on this phone"),
        ("sync", "More than 1,000 changes to send; saved on this phone."),
        ("settings", "The book: more than 1,000 to send"),
    ):
        phone.go(path)
        expect(opened.locator("#main")).to_contain_text(words)
    assert opened.evaluate("mostKeys") == MOST_COUNTED + 1


def test_a_write_asks_once_for_what_was_refused(server: Server, page: Callable[..., Page]) -> None:
    phone = watched(page, server, ASKED)
    opened = phone.page
    walks = [{"kind": "walk", "id": None, "values": {"place": "bite", "where": "barn"}}] * 3
    opened.evaluate("refusedAsked = 0")
    phone.store("writeAll(it)", walks)
    assert opened.evaluate("refusedAsked") == 1
