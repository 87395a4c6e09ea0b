"""What years of shows cost on the phone: 300 with 3,000 results beside ten."""

from __future__ import annotations

from collections.abc import Iterator

from playwright.sync_api import Browser, CDPSession, sync_playwright

from tests.benchmarks.history import OPEN, dogs_served, opened
from tests.benchmarks.registry import Row, benchmark
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
