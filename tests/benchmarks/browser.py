"""In a real Chromium: a start without the server, and what the first visit costs on the wire."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import time_ns
from typing import Any

from cheroot.wsgi import Server as WsgiServer
from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright

from ringside import demo
from ringside.app import Settings, create_app
from ringside.book.store import FILE_NAME, Book
from ringside.knowledge import Knowledge, load
from tests.support import Server, free_port, launch_options

RUNS = 9
DOGS = 25
# Of each dog's other records; with the dog itself 20, so that the whole kennel has 500.
EACH = {"note": 4, "cue": 2, "ask": 1, "order": 1, "walk": 1, "tick": 4, "practice": 6}
RECORDS = DOGS * (1 + sum(EACH.values()))
PHONE = {"width": 360, "height": 800}
SLOWER = 4

# The measure of both pages: from the start of the navigation until the first row is painted.
MARK = """
const look = () => requestAnimationFrame(
  document.querySelector(".dog-row") ? () => performance.mark("drawn") : look,
);
look();
"""
DRAWN = """
() => new Promise((resolve) => {
  new PerformanceObserver((list) => resolve(list.getEntries()[0].startTime))
    .observe({ type: "mark", buffered: true });
})
"""
KEPT = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("ringside");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const tx = opening.result.transaction(["records", "packs"]);
    const counts = ["records", "packs"].map((store) => tx.objectStore(store).count());
    tx.oncomplete = () => {
      opening.result.close();
      resolve(counts.map((count) => count.result));
    };
  };
})
"""
READY = "async () => { await navigator.serviceWorker.ready; }"

EMPTY_PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Empty</title><link rel="icon" href="data:,">
<p class="dog-row">Empty</p>
"""
EMPTY_WORKER = """
self.addEventListener("install", (event) =>
  event.waitUntil(caches.open("page").then((cache) => cache.add("/"))));
self.addEventListener("fetch", (event) => {
  if (event.request.mode === "navigate") event.respondWith(caches.match("/"));
});
"""


def offline_start() -> Iterator[tuple[str, float]]:
    """Yield each ratio of our start to an empty precached page's, servers gone, worker kept."""
    with TemporaryDirectory(prefix="ringside-bench-") as folder, sync_playwright() as playwright:
        profile = Path(folder, "profile")
        with kennel_server(Path(folder, "book")) as ours, empty_server() as empty:
            install(playwright, profile, ours, empty)
        for name, slower in (("", 1), (f", page slowed {SLOWER}x", SLOWER)):
            times: dict[str, list[float]] = {ours: [], empty: []}
            for _ in range(RUNS):
                for url, taken in times.items():
                    taken.append(start(playwright, profile, url, slower))
            print(name, {url: sorted(map(round, taken)) for url, taken in times.items()})
            yield name, median(times[ours]) / median(times[empty])


def install(playwright: Playwright, profile: Path, ours: str, empty: str) -> None:
    """Visit both pages once, and wait until the worker and all records are kept."""
    with browser(playwright, profile) as page:
        page.goto(empty)
        page.evaluate("() => navigator.serviceWorker.register('/sw.js')")
        page.evaluate(READY)
        page.goto(ours)
        page.evaluate(READY)
        while page.evaluate(KEPT) != [RECORDS, DOGS]:
            page.wait_for_timeout(100)
        # A second start, as the worker serves it: what the browser learns from one is kept too.
        for url in (ours, empty):
            page.goto(url)
            page.evaluate(DRAWN)


def start(playwright: Playwright, profile: Path, url: str, slower: int) -> float:
    """Start the browser anew, open `url`, and return how long it took to be drawn (ms)."""
    with browser(playwright, profile) as page:
        # Slows the page's main thread; a worker has a thread of its own and keeps its pace.
        page.context.new_cdp_session(page).send(
            "Emulation.setCPUThrottlingRate", {"rate": slower}
        )
        page.goto(url, wait_until="commit")
        return float(page.evaluate(DRAWN))


@contextmanager
def browser(playwright: Playwright, profile: Path) -> Iterator[Page]:
    with playwright.chromium.launch_persistent_context(
        profile, **launch_options(), viewport=PHONE
    ) as context:
        context.add_init_script(MARK)
        yield context.pages[0]


@contextmanager
def kennel_server(data: Path) -> Iterator[str]:
    fill(data, load())
    with Server(data, "serve") as server:
        yield server.url


def fill(data: Path, knowledge: Knowledge) -> None:
    """Make a book of RECORDS records, of every kind, and close it."""
    breeds = sorted(knowledge.breeds)
    stations = sorted(knowledge.stations)
    made: dict[str, list[dict[str, Any]]] = {kind: [] for kind in ("dog", *EACH)}
    moment = "2026-01-02T03:04:05.000Z"
    for number in range(DOGS):
        breed = breeds[number % len(breeds)]
        own = {"dog": f"dog-{number}"}
        values: dict[str, dict[str, Any]] = {
            "note": {**own, "text": "Show the right side first, and do not linger there. " * 3},
            "cue": {**own, "line": "Let her sniff, then still"},
            "ask": {"breed": breed, "says": "A level back that holds on the move."},
            "order": {**own, "label": "Starts at the bite", "stations": stations},
            "walk": {**own, "mode": "ring", "stations": stations, "began": moment},
            "tick": {"walk": f"walk-{number}-0", "state": "done", "at": moment},
            "practice": {**own, "grade": "needs work", "days_ago": number},
        }
        made["dog"].append(
            {
                "key": f"dog-{number}",
                "name": f"Number {number}",
                "pedigree": f"Marrowby Number {number}",
                "breed": breed,
                "sex": ("dog", "bitch")[number % 2],
                "months_old": 6 + number,
            }
        )
        for kind, count in EACH.items():
            has_station = kind not in ("order", "walk")
            made[kind] += [
                {"key": f"{kind}-{number}-{place}", **values[kind]}
                | ({"station": stations[place]} if has_station else {})
                for place in range(count)
            ]
    book = Book(data / FILE_NAME)
    with book.session():
        receipt = book.append(demo.changes(made, demo.date.today()), time_ns() // 1_000_000)
    book.close()
    if receipt.refused:
        raise ValueError(f"The benchmark's records do not fit the book: {receipt.refused}")


class EmptyHandler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        is_worker = self.path == "/sw.js"
        self.send_response(200)
        self.send_header("Content-Type", "text/javascript" if is_worker else "text/html")
        self.end_headers()
        self.wfile.write((EMPTY_WORKER if is_worker else EMPTY_PAGE).encode())

    def log_message(self, *_: object) -> None:
        """Keep quiet."""


@contextmanager
def empty_server() -> Iterator[str]:
    server = ThreadingHTTPServer(("127.0.0.1", free_port()), EmptyHandler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://localhost:{server.server_port}/"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


# --- the first visit


class Counter:
    """Adds up what a WSGI application answers with: bytes as they go over the wire, by type."""

    def __init__(self, inner: Callable[..., Iterable[bytes]]) -> None:
        self.inner = inner
        self.sent: list[tuple[str, str, int]] = []

    def __call__(
        self, environ: dict[str, Any], start_response: Callable[..., Any]
    ) -> Iterable[bytes]:
        kind = ""

        def started(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
            nonlocal kind
            kind = dict(headers)["Content-Type"].partition(";")[0]
            return start_response(status, headers, *rest)

        body = b"".join(self.inner(environ, started))
        self.sent.append((environ["PATH_INFO"], kind, len(body)))
        return [body]

    def bytes_of(self, *kinds: str) -> int:
        """All bytes sent, or those of some content types."""
        return sum(size for _, kind, size in self.sent if not kinds or kind in kinds)


def first_visit() -> Counter:
    """Let a new browser visit an empty book until the app is kept; return what was sent."""
    with TemporaryDirectory(prefix="ringside-bench-") as folder, sync_playwright() as playwright:
        settings = Settings(Path(folder), free_port())
        app = create_app(settings, Book(Path(folder, FILE_NAME)), load())
        counter = Counter(app.wsgi_app)
        server = WsgiServer(("127.0.0.1", settings.port), counter)
        server.prepare()
        thread = threading.Thread(target=server.serve)
        thread.start()
        try:
            with browser(playwright, Path(folder, "profile")) as page:
                page.goto(f"http://localhost:{settings.port}/")
                page.evaluate(READY)
                page.wait_for_timeout(500)
        finally:
            server.stop()
            thread.join()
        return counter


def report() -> None:
    counter = first_visit()
    for line in sorted(counter.sent):
        print(*line)
    print(counter.bytes_of(), counter.bytes_of("text/javascript"))
    for name, ratio in offline_start():
        print(name, round(ratio, 2))


if __name__ == "__main__":
    report()
