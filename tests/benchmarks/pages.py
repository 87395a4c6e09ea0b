"""Pages that are all that a browser has to open: what our start is measured against."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

ROWS = 25

# What ours is measured against: no app at all, and a page that is nothing but its list, as it reads
# that from a store of its own.
EMPTY = '<p class="dog-row">Empty</p>'
LIST = (
    '<ul id="list"></ul><script>'
    f"const DOGS = {ROWS};"
    """
const opening = indexedDB.open("list");
opening.onupgradeneeded = () => {
  const store = opening.result.createObjectStore("dogs", { autoIncrement: true });
  for (let at = 0; at < DOGS; at += 1) store.put({ name: `Number ${at}`, breed: "Borzoi" });
};
opening.onsuccess = () => {
  const asked = opening.result.transaction(["dogs"]).objectStore("dogs").getAll();
  asked.onsuccess = () => document.getElementById("list").append(...asked.result.map((dog) => {
    const row = document.createElement("li");
    row.className = "dog-row";
    row.textContent = `${dog.name} ${dog.breed}`;
    return row;
  }));
};
</script>"""
)
PAGE = '<!doctype html><meta charset="utf-8"><title>-</title><link rel="icon" href="data:,">'
WORKER = """
self.addEventListener("install", (event) => event.waitUntil(
  caches.open("page").then((cache) => cache.add("/"))));
self.addEventListener("fetch", (event) => event.respondWith(caches.match(event.request.url)));
"""


def page_server(body: str) -> AbstractContextManager[str]:
    """Serve one page with its own precaching worker, on an origin of its own."""
    files = {"/sw.js": ("text/javascript", WORKER)}
    return files_served(lambda path: files.get(path, ("text/html", PAGE + body)))


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
