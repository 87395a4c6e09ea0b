"""In a real Chromium: a start without the server, and what the first visit costs on the wire."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import time_ns
from typing import Any, NamedTuple

from cheroot.wsgi import Server as WsgiServer
from playwright.sync_api import Page, Playwright, sync_playwright
from uuid6 import uuid7

from ringside import demo
from ringside.app import Settings, create_app
from ringside.book.keeping import open_book
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.knowledge import Knowledge, load
from tests.benchmarks.pages import EMPTY, LIST, ROWS, page_server
from tests.benchmarks.registry import Row, benchmark, ms
from tests.benchmarks.sync import Writer
from tests.ports import free_port
from tests.support import Server, launch_options, pair_page

RUNS = 9
SLOWER = 4
PHONE = {"width": 360, "height": 800}
DOGS = ROWS
RECORDS = DOGS * 20

# The same moments of every page, from the start of the navigation: when its first row is painted,
# and when ours has filled in what only the store can tell, as the true list does.
MARK = """
const seen = (is, name) => {
  const look = () => requestAnimationFrame(is() ? () => performance.mark(name) : look);
  look();
};
seen(() => document.querySelector(".dog-row"), "drawn");
seen(() => document.querySelector(".sync-line")?.textContent, "true");
"""
MARKED = """
(name) => new Promise((resolve) => {
  new PerformanceObserver((list) => {
    const [mark] = list.getEntriesByName(name);
    if (mark) resolve(mark.startTime);
  }).observe({ type: "mark", buffered: true });
})
"""
PAINTED = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0"
READY = "async () => { await navigator.serviceWorker.ready; }"
UPDATED = """
async () => {
  const registration = await navigator.serviceWorker.ready;
  await registration.update();
  while (!registration.waiting) await new Promise((resolve) => setTimeout(resolve, 50));
}
"""
KEPT = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("ringside");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const tx = opening.result.transaction(["rows", "packs"]);
    const counts = ["rows", "packs"].map((store) => tx.objectStore(store).count());
    tx.oncomplete = () => {
      opening.result.close();
      resolve(counts.map((count) => count.result));
    };
  };
})
"""


# --- a start without the server


@benchmark
def offline_start() -> Iterator[Row]:
    """Compare our start with those of precached pages, an empty one and one that is nothing but
    its list: servers gone, a new browser each time."""
    with TemporaryDirectory(prefix="ringside-bench-") as folder, sync_playwright() as playwright:
        profile = Path(folder, "profile")
        ours, listed, empty = install_all(playwright, profile, Path(folder, "book"))
        for slower in (1, SLOWER):
            times: dict[str, list[Start]] = {ours: [], listed: [], empty: []}
            for _ in range(RUNS):
                for url, taken in times.items():
                    taken.append(start(playwright, profile, url, slower, url == ours))
            # A worker has a thread of its own, which is not slowed.
            pace = f", its main thread {slower}x slower" if slower > 1 else ""
            for what, part, floor, beside, aim in (
                (
                    f"offline start to the true list ({RECORDS} records)",
                    "true",
                    listed,
                    "a page that reads its list from IndexedDB",
                    "<= 1.5" if slower > 1 else "<= 1.4",
                ),
                ("... to the list as it was", "drawn", empty, "an empty page", ""),
                ("... first paint", "painted", empty, "an empty page", "<= 1.2"),
            ):
                here, least = (
                    median(getattr(one, part) for one in times[of]) for of in (ours, floor)
                )
                beside = f"{ms(least / 1000)} for {beside}"
                yield Row(f"{what}{pace}", ms(here / 1000), beside, here / least, aim)


def install_all(playwright: Playwright, profile: Path, data: Path) -> tuple[str, str, str]:
    """Visit each page while it is served, until its worker and its records are kept."""
    fill(data, load())
    with (
        Server(data, "serve") as server,
        page_server(LIST) as listed,
        page_server(EMPTY) as empty,
        browser(playwright, profile) as page,
    ):
        for url in (listed, empty):
            page.goto(url)
            page.evaluate("() => navigator.serviceWorker.register('/sw.js')")
            page.evaluate(READY)
        pair_page(page, server)
        page.evaluate(READY)
        while page.evaluate(KEPT) != [RECORDS, DOGS]:
            page.wait_for_timeout(100)
        # Once more, from the worker: a start is not measured on the day of the installation.
        for url in (server.url, listed, empty):
            page.goto(url)
            page.evaluate(MARKED, "drawn")
            page.wait_for_timeout(1000)
        return server.url, listed, empty


class Start(NamedTuple):
    """How long a start took (ms): until the first row was drawn, until the true list was, which is
    the first where nothing is remembered, and until anything was painted."""

    drawn: float
    true: float
    painted: float


def start(
    playwright: Playwright, profile: Path, url: str, slower: int, remembers: bool = False
) -> Start:
    """Start the browser anew and open `url`, which draws first what it `remembers`."""
    with browser(playwright, profile) as page:
        cdp = page.context.new_cdp_session(page)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        page.goto(url, wait_until="commit")
        drawn = float(page.evaluate(MARKED, "drawn"))
        true = float(page.evaluate(MARKED, "true")) if remembers else drawn
        while not (painted := float(page.evaluate(PAINTED))):
            page.wait_for_timeout(20)
        return Start(drawn, true, painted)


@contextmanager
def browser(playwright: Playwright, profile: Path) -> Iterator[Page]:
    with playwright.chromium.launch_persistent_context(
        profile, **launch_options(), viewport=PHONE
    ) as context:
        context.add_init_script(MARK)
        yield context.pages[0]


def fill(data: Path, knowledge: Knowledge) -> None:
    """Make a book of RECORDS records of every kind that a card shows."""
    book = open_book(Place(data))
    with book.session():
        receipt = book.append(changes(knowledge), time_ns() // 1_000_000)
    book.close()
    if receipt.refused:
        raise ValueError(f"The benchmark's records do not fit the book: {receipt.refused}")


def changes(knowledge: Knowledge) -> Iterator[dict[str, Any]]:
    writer = Writer()
    for kind, record, values in records(sorted(knowledge.breeds), sorted(knowledge.stations)):
        for name, value in values.items():
            yield writer.change(kind, record, name, value)


def records(breeds: list[str], stations: list[str]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    moment = "2026-01-02T03:04:05.000Z"
    for number in range(DOGS):
        dog, walk = str(uuid7()), str(uuid7())
        breed = breeds[number % len(breeds)]
        named = {"name": f"Number {number}", "breed": breed, "born": f"2024-03-{number + 1:02}"}
        yield "dog", dog, {**named, "sex": ("dog", "bitch")[number % 2]}
        began = {"mode": "ring", "stations": stations, "began": moment}
        yield "walk", walk, {"dog": dog, **began}
        yield "order", str(uuid7()), {"dog": dog, "label": "At the bite", "stations": stations}
        said = "Show the right side first, and do not linger there. " * 3
        for kind, count, values in (
            ("note", 4, {"dog": dog, "text": said}),
            ("cue", 2, {"dog": dog, "line": "Let her sniff, then still"}),
            ("ask", 1, {"breed": breed, "says": "A level back that holds on the move."}),
            ("tick", 4, {"walk": walk, "state": "done", "at": moment}),
            ("practice", 6, {"dog": dog, "grade": "needs work", "at": moment}),
        ):
            for station in stations[:count]:
                yield kind, str(uuid7()), {**values, "station": station}


# --- the first visit


@benchmark
def first_visit() -> Iterator[Row]:
    """Count what page and worker fetch, as it goes over the wire, until the app is kept: what a
    show needs, and what comes after it; of an empty book, and of the demo's with all headers."""
    visited = visit()
    every, sent = visited.sent, visited.for_a_show
    scripts = [one.body for one in sent if one.kind == "text/javascript"]
    repeated = len(sent) - len({one.path for one in sent})
    beside = f"{len(sent)} answers, {repeated} repeated"
    yield Row("first visit, for a show", bodies(sent), beside, aim="<= 120 kB")
    yield Row("first visit, all", bodies(every), f"{len(every)} answers", aim="<= 150 kB")
    yield Row(
        "first visit, JavaScript",
        kilobytes(sum(scripts)),
        f"{len(scripts)} answers",
        aim="<= 45 kB",
    )
    shown = visit(demo.fill).for_a_show
    synced = [one for one in shown if one.path == "/api/sync"]
    whole = kilobytes(sum(one.body + one.head for one in shown))
    beside = f"{len(shown)} answers, {bodies(synced)} of it records and packs"
    yield Row("first visit to the demo, for a show, headers too", whole, beside, aim="<= 120 kB")


@benchmark
def update() -> Iterator[Row]:
    """Count what a phone fetches of a build in which one word of a cue is another."""
    visited = visit(updated=of_another_word)
    files = [one for one in visited.updated if not one.path.startswith("/api/")]
    whole = visited.sent
    beside = f"{bodies(whole)} in {len(whole)} answers for a new phone"
    fetched = ", ".join(sorted({one.path.rpartition("/")[2] or "the page" for one in files}))
    yield Row(f"update of one word: {fetched}", bodies(files), beside)


def of_another_word(knowledge: Knowledge) -> Knowledge:
    first, *others = knowledge.cues
    changed = first.model_copy(update={"do": f"{first.do} Gently."})
    return replace(knowledge, cues=(changed, *others), digest="another")


class Answer(NamedTuple):
    """One answer as it was sent: bytes of its body, and of its head but for the status line."""

    path: str
    kind: str
    body: int
    head: int


def bodies(sent: list[Answer]) -> str:
    return kilobytes(sum(one.body for one in sent))


def kilobytes(size: int) -> str:
    return f"{size / 1000:.1f} kB"


class Counter:
    """Passes a WSGI application on and notes what it sends."""

    def __init__(self, inner: Callable[..., Iterable[bytes]]) -> None:
        self.inner = inner
        self.sent: list[Answer] = []
        self.later: set[str] = set()
        self.updated: list[Answer] = []

    @property
    def for_a_show(self) -> list[Answer]:
        return [one for one in self.sent if one.path not in self.later]

    def __call__(
        self, environ: dict[str, Any], start_response: Callable[..., Any]
    ) -> Iterable[bytes]:
        told: list[tuple[str, str]] = []

        def started(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
            told[:] = headers
            return start_response(status, headers, *rest)

        body = b"".join(self.inner(environ, started))
        kind = dict(told).get("Content-Type", "").partition(";")[0]
        head = sum(len(f"{name}: {value}\r\n") for name, value in told)
        self.sent.append(Answer(environ["PATH_INFO"], kind, len(body), head))
        return [body]


def visit(
    filled: Callable[[Book], None] = lambda _: None,
    updated: Callable[[Knowledge], Knowledge] | None = None,
) -> Counter:
    """Let a new browser visit a book, empty but for what `filled` puts in, until the worker has
    kept the app; then, where one is `updated`, the build of another knowledge."""
    with TemporaryDirectory(prefix="ringside-bench-") as folder, sync_playwright() as playwright:
        settings = Settings(Path(folder), free_port(), is_open=True)
        book = open_book(Place(Path(folder)))
        filled(book)
        app = create_app(settings, book, load())
        counter = Counter(app.wsgi_app)
        worker = (
            app.test_client().get("/sw.js", headers={"Host": f"localhost:{settings.port}"}).text
        )
        (files,) = re.findall(r"^const FILES = (\[.*?\]);$", worker, re.MULTILINE | re.DOTALL)
        counter.later = {file["url"] for file in json.loads(files) if file["later"]}
        server = WsgiServer(("127.0.0.1", settings.port), counter)
        server.prepare()
        thread = threading.Thread(target=server.serve)
        thread.start()
        try:
            with browser(playwright, Path(folder, "profile")) as page:
                page.goto(f"http://localhost:{settings.port}/")
                page.evaluate(READY)
                page.wait_for_timeout(4_000)  # what comes after, too
                if updated:
                    before = len(counter.sent)
                    counter.inner = create_app(settings, book, updated(load())).wsgi_app
                    page.reload()
                    page.evaluate(UPDATED)
                    counter.sent, counter.updated = counter.sent[:before], counter.sent[before:]
        finally:
            server.stop()
            thread.join()
        return counter
