"""In a real Chromium: a start without the server, and what the first visit costs on the wire."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
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
from tests.benchmarks.registry import Row, benchmark, ms
from tests.benchmarks.sync import Writer
from tests.ports import free_port
from tests.support import Server, launch_options, pair_page

RUNS = 9
SLOWER = 4
PHONE = {"width": 360, "height": 800}
DOGS = 25
RECORDS = DOGS * 20

# The same moment of every page: from the start of the navigation until its first row is painted.
MARK = """
const look = () => requestAnimationFrame(
  document.querySelector(".dog-row") ? () => performance.mark("drawn") : look,
);
look();
"""
DRAWN = """
() => new Promise((resolve) => {
  new PerformanceObserver((list) => resolve(list.getEntriesByName("drawn")[0].startTime))
    .observe({ type: "mark", buffered: true });
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

# What ours is measured against: no app at all, and the least that one can consist of.
PAGES = {
    "empty": '<p class="dog-row">Empty</p>',
    "one sheet, one script": '<link rel="stylesheet" href="/a.css"><script src="/a.js"></script>'
    '<p class="dog-row">Empty</p>',
}
PAGE = '<!doctype html><meta charset="utf-8"><title>-</title><link rel="icon" href="data:,">'
FILES = {
    "/a.css": ("text/css", "p { margin: 1em }"),
    "/a.js": ("text/javascript", "document.title = 'Empty';"),
    "/sw.js": (
        "text/javascript",
        """
self.addEventListener("install", (event) => event.waitUntil(
  caches.open("page").then((cache) => cache.addAll(["/", "/a.css", "/a.js"]))));
self.addEventListener("fetch", (event) => event.respondWith(caches.match(event.request.url)));
""",
    ),
}


# --- a start without the server


@benchmark
def offline_start() -> Iterator[Row]:
    """Compare our start with an empty precached page's: servers gone, a new browser each time."""
    with TemporaryDirectory(prefix="ringside-bench-") as folder, sync_playwright() as playwright:
        profile = Path(folder, "profile")
        ours, empty, least = install_all(playwright, profile, Path(folder, "book"))
        for slower in (1, SLOWER):
            times: dict[str, list[Start]] = {empty: [], ours: [], least: []}
            for _ in range(RUNS):
                for url, taken in times.items():
                    taken.append(start(playwright, profile, url, slower))
            # A worker has a thread of its own, which is not slowed.
            pace = f", its main thread {slower}x slower" if slower > 1 else ""
            most = "<= 1.5" if slower > 1 else "<= 1.4"
            for what, url, part, aim in (
                (f"offline start to the kennel ({RECORDS} records){pace}", ours, "drawn", most),
                (f"... first paint{pace}", ours, "painted", "<= 1.2"),
                (f"offline start to a page with {list(PAGES)[1]}{pace}", least, "drawn", ""),
            ):
                floor, here = (
                    median(getattr(one, part) for one in times[of]) for of in (empty, url)
                )
                beside = f"{ms(floor / 1000)} for an empty precached page"
                yield Row(what, ms(here / 1000), beside, here / floor, aim)


def install_all(playwright: Playwright, profile: Path, data: Path) -> tuple[str, str, str]:
    """Visit each page while it is served, until its worker and its records are kept."""
    fill(data, load())
    with (
        Server(data, "serve") as server,
        page_server(PAGES["empty"]) as empty,
        page_server(PAGES["one sheet, one script"]) as least,
        browser(playwright, profile) as page,
    ):
        for url in (empty, least):
            page.goto(url)
            page.evaluate("() => navigator.serviceWorker.register('/sw.js')")
            page.evaluate(READY)
        pair_page(page, server)
        page.evaluate(READY)
        while page.evaluate(KEPT) != [RECORDS, DOGS]:
            page.wait_for_timeout(100)
        # Once more, from the worker: a start is not measured on the day of the installation.
        for url in (server.url, empty, least):
            page.goto(url)
            page.evaluate(DRAWN)
            page.wait_for_timeout(1000)
        return server.url, empty, least


class Start(NamedTuple):
    """How long a start took until the first row was drawn, and anything was painted (ms)."""

    drawn: float
    painted: float


def start(playwright: Playwright, profile: Path, url: str, slower: int) -> Start:
    """Start the browser anew and open `url`."""
    with browser(playwright, profile) as page:
        cdp = page.context.new_cdp_session(page)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        page.goto(url, wait_until="commit")
        drawn = float(page.evaluate(DRAWN))
        while not (painted := float(page.evaluate(PAINTED))):
            page.wait_for_timeout(20)
        return Start(drawn, painted)


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


def page_server(body: str) -> AbstractContextManager[str]:
    """Serve one page with its own precaching worker, on an origin of its own."""
    return files_served(lambda path: FILES.get(path, ("text/html", PAGE + body)))


@contextmanager
def files_served(file: Callable[[str], tuple[str, str]]) -> Iterator[str]:
    """Serve what `file` gives for a path, its type and text; the address of "/"."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            kind, text = file(self.path)
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.end_headers()
            self.wfile.write(text.encode())

        def log_message(self, *_: object) -> None:
            """Keep quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://localhost:{server.server_port}/"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


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
    whole = visit().sent
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
                    counter.updated = counter.sent[before:]
        finally:
            server.stop()
            thread.join()
        return counter
