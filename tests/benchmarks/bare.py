"""The least a server could do with a sync: read the JSON, insert the rows; or read rows, send them.

python -m tests.benchmarks.bare PORT FILE   FILE holds the table `change`, made by the book, and for
                                            what is sent `record`
"""

from __future__ import annotations

import json
import sqlite3
import sys
import threading

import brotli
from cheroot.wsgi import Server
from flask import Flask, Response, request

INSERT = (
    "INSERT INTO change (id, kind, record, field, value, stamp, raw, base, device, received) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)
LOG = """
    SELECT id, kind, record, field, value, stamp, base, device FROM change
    WHERE seq > ? AND seq <= ? ORDER BY seq
"""
RECORDS = "SELECT kind, id, cells FROM record WHERE kind = ? AND id > ? ORDER BY id LIMIT ?"
CHANGE = (
    '{"id":"%s","kind":"%s","record":"%s","field":"%s","value":%s,'
    '"stamp":"%s","base":"%s","device":"%s"}'
)
EFFORT = 5  # Brotli's, as ours


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

    @app.post("/api/pull")
    def pull() -> Response:
        asked = json.loads(request.get_data())
        db = database()
        changes = [CHANGE % row for row in db.execute(LOG, asked["changes"])]
        runs = [db.execute(RECORDS, run) for run in asked["records"]]
        records = ['["%s","%s",%s]' % row for run in runs for row in run]  # noqa: UP031
        text = f'{{"changes":[{",".join(changes)}],"records":[{",".join(records)}]}}'
        body = brotli.compress(text.encode(), quality=EFFORT)
        response = Response(body, content_type="application/json")
        response.headers["Content-Encoding"] = "br"
        return response

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
