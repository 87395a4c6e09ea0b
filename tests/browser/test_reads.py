"""No screen reads more than it shows: what a dog has behind it costs no screen a row."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

from tests.browser.phone import OUT_OF_REACH, POCKET, Phone
from tests.browser.test_taking_in import address, patterns
from tests.support import Server

# In the page, before the app's first line: count the rows of records that the app is given.
COUNT = """{
    globalThis.rowsRead = 0;
    const ways = ["get", "getKey", "getAll", "getAllKeys", "openCursor", "openKeyCursor"];
    for (const { prototype } of [IDBObjectStore, IDBIndex]) {
        for (const way of ways) {
            const asked = prototype[way];
            prototype[way] = function (...given) {
                const request = asked.apply(this, given);
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
    """Rehearsals of a dog, each with a mark of every one of the STATIONS."""
    phone.store(
        """writeAll(it.walks.flatMap((walk) => [
            { kind: "walk", id: walk, values: {
                dog: it.dog, mode: "rehearse", stations: it.stations, began: it.at, ended: it.at,
            } },
            ...it.stations.map((station) => ({ kind: "practice", id: null, values: {
                dog: it.dog, walk, station, grade: "easy", at: it.at,
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


# Until the app reads no more rows, as it does while what was written is still being drawn.
QUIET = """async () => {
    for (let last = -1; rowsRead !== last; ) {
        last = rowsRead;
        await new Promise((done) => setTimeout(done, 250));
    }
    return rowsRead;
}"""


def rows_read(phone: Phone, path: str) -> int:
    """How many rows the app reads to show a screen: shown twice, since news may draw it anew."""
    found = []
    for _ in range(2):
        phone.page.evaluate(QUIET)
        phone.page.evaluate("rowsRead = 0")
        phone.show(path)
        found.append(int(phone.page.evaluate(QUIET)))
    return min(found)


def test_a_screen_reads_as_many_rows_whatever_lies_behind(
    server: Server, page: Callable[..., Page], allowed_errors: list[str]
) -> None:
    allowed_errors.append(OUT_OF_REACH)
    opened = page(**POCKET)
    opened.add_init_script(COUNT)
    phone = Phone(opened, server.url).open().ready_offline()
    paths = {pattern: address(pattern, server.data) for pattern in patterns()}
    server.stop()
    walks = {mode: phone.put_walk(mode, "Bramble", "bite", {}) for mode in ("ring", "rehearse")}
    paths |= {
        "ring/:id": f"ring/{walks['ring']}",
        "rehearsal/:id": f"rehearsal/{walks['rehearse']}",
    }
    dogs = sorted(phone.dogs.values())
    counted = []
    for rehearsals in (1, 50):
        for dog in dogs:
            write_marks(phone, dog, rehearsals)
        phone.go("settings")
        counted.append({pattern: rows_read(phone, path) for pattern, path in paths.items()})
    few, many = counted
    assert min(few[path] for path in ("", "dog/:id", "ring/:id", "rehearsal/:id")) > 0
    assert many == few

    phone.page.evaluate("rowsRead = 0")
    phone.store("everything()")
    assert phone.page.evaluate("rowsRead") > 50 * len(STATIONS) * len(dogs), "it does count"
