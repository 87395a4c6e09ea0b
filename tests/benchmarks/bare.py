"""The least a server could do with a sync: read the JSON, insert the rows. `python -m` this.

python -m tests.benchmarks.bare PORT FILE   FILE holds an empty table `change`, made by the book
"""

from __future__ import annotations

import json
import sqlite3
import sys
import threading

from cheroot.wsgi import Server
from flask import Flask, request

INSERT = (
    "INSERT INTO change (id, kind, record, field, value, stamp, raw, base, device, received) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def make_app(path: str) -> Flask:
    app = Flask("bare", static_folder=None)
    kept = threading.local()

    def database() -> sqlite3.Connection:
        """This thread's connection, kept open: no faster way is known."""
        if not hasattr(kept, "db"):
            kept.db = sqlite3.connect(path, timeout=10)
            kept.db.execute("PRAGMA journal_mode = wal")
            kept.db.execute("PRAGMA synchronous = full")
        db: sqlite3.Connection = kept.db
        return db

    @app.get("/healthz")
    def healthz() -> dict[str, bool]:
        return {"ok": True}

    @app.post("/api/sync")
    def sync() -> dict[str, bool]:
        changes = json.loads(request.get_data())["changes"]
        rows = [
            (
                change["id"],
                change["kind"],
                change["record"],
                change["field"],
                json.dumps(change["value"]),
                change["stamp"],
                change["stamp"],
                change["base"],
                change["device"],
                0,
            )
            for change in changes
        ]
        with database() as db:
            db.executemany(INSERT, rows)
        return {"ok": True}

    return app


if __name__ == "__main__":
    server = Server(
        ("127.0.0.1", int(sys.argv[1])),
        make_app(sys.argv[2]).wsgi_app,
        numthreads=8,
        request_queue_size=1024,
    )
    server.keep_alive_conn_limit = 1024
    server.max_request_body_size = 17 * 1024 * 1024
    try:
        server.start()
    except KeyboardInterrupt:
        server.stop()
