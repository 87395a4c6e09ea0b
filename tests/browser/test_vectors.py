"""The shared vectors in the browser: the phone's functions give what Python's do."""

from __future__ import annotations

import functools
import json
import threading
from collections.abc import Callable, Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
NAMES = sorted(path.stem for path in VECTORS.glob("*.json"))

# Each returns the reasons ("why") of the cases that came out differently, with what came out.
PROGRAMS = {
    "clock": """
        const { tick, later, ms, node, nodeOf, STAMP } = await import("/js/core/clock.js");
        for (const c of data.tick) check(c, tick(c.last, c.now, c.by), c.is);
        for (const c of data.later) check(c, later(c.one, c.other), c.is);
        for (const c of data.parts) check(c, [ms(c.stamp), node(c.stamp)], [c.ms, c.node]);
        for (const c of data.nodes) check(c, nodeOf(c.device), c.node);
        for (const c of data.order) check(c, [...c.stamps].reverse().sort(), c.stamps);
        for (const c of data.form) check(c, STAMP.test(c.stamp), c.fits);
    """,
    "merge": """
        const { fold, value, apart, winner, base, restamp } = await import("/js/core/merge.js");
        const folded = (changes, text) => changes.reduce(
            (cell, { stamp, base, value }) => fold(cell, stamp, base, value, text), undefined);
        for (const c of data.folds) {
            const cell = folded(c.changes, c.text);
            check(c, [value(cell), apart(cell), winner(cell), base(cell)],
                [c.shown, c.apart, c.winner, c.base]);
            if (c.any_order === false) continue;
            check(c, folded([...c.changes].reverse(), c.text), cell);
            check(c, folded([...c.changes, ...c.changes], c.text), cell);
        }
        for (const c of data.cells) check(c, folded(c.changes, c.text), c.cell);
        for (const c of data.restamps) check(c, restamp(c.cell, c.raw, c.stamp), c.is);
        for (const c of data.none) check(c, [apart(undefined), base(undefined)], [c.apart, c.base]);
    """,
    "check": """
        const { problem } = await import("/js/core/check.js");
        const spelt = (value) => {
            if (Array.isArray(value)) return value.map(spelt);
            if (Array.isArray(value?.repeat)) return value.repeat[0].repeat(value.repeat[1]);
            return value?.list ? Array(value.list[1]).fill(value.list[0]) : value;
        };
        for (const c of data.cases) check(c, problem(c.declared, spelt(c.value)), c.problem);
    """,
    "own_order": """
        const { personalise } = await import("/js/core/walk.js");
        for (const c of data.cases) {
            const { phases } = personalise(data.card, c.own);
            check(c, phases.map((phase) => phase.stations.map((one) => one.id)), c.stations);
            const all = phases.flatMap((phase) => phase.stations);
            for (const part of ["cues", "asks"]) {
                for (const [id, lines] of Object.entries(c[part] ?? {})) {
                    check(c, all.find((station) => station.id === id)[part], lines);
                }
            }
        }
    """,
    "breeds": """
        const breeds = await import("/js/core/breeds.js");
        const rows = breeds.withNames(breeds.breedsOf(data.told), data.named_too);
        for (const [place, row] of rows.entries()) check({ why: row.id }, row, data.rows[place]);
        check({ why: "as many" }, rows.length, data.rows.length);
        for (const c of data.plain) check(c, breeds.plain(c.words), c.is);
        const found = (typed) => breeds.findBreeds(rows, typed).map((row) => row.id);
        for (const c of data.find) check(c, found(c.typed), c.ids);
        for (const c of data.named) check(c, breeds.breedNamed(rows, c.typed)?.id ?? null, c.id);
    """,
}

AROUND = """
async (text) => {
    const data = JSON.parse(text);
    const failed = [];
    let checked = 0;
    const plain = (value) => JSON.stringify(value, (key, held) =>
        held && typeof held === "object" && !Array.isArray(held)
            ? Object.fromEntries(Object.entries(held).sort(([a], [b]) => (a < b ? -1 : 1)))
            : held);
    const check = (c, got, wanted) => {
        checked += 1;
        if (plain(got) !== plain(wanted)) failed.push(`${c.why}: ${plain(got)}`);
    };
    %s
    return { failed, checked };
}
"""


class Files(SimpleHTTPRequestHandler):
    """Serves static/ without a word; JavaScript under its own type on every system."""

    extensions_map = {**SimpleHTTPRequestHandler.extensions_map, ".js": "text/javascript"}  # noqa: RUF012

    def do_GET(self) -> None:
        if self.path in ("/", "/favicon.ico"):
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
        else:
            super().do_GET()

    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture(scope="module")
def files() -> Iterator[str]:
    handler = functools.partial(Files, directory=str(ROOT / "static"))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
        thread.join()


@pytest.mark.parametrize("name", NAMES)
def test_the_phone_agrees(name: str, files: str, page: Callable[..., Page]) -> None:
    path: Path = VECTORS / f"{name}.json"
    opened = page()
    opened.goto(files)
    result = opened.evaluate(AROUND % PROGRAMS[name], path.read_text(encoding="utf-8"))
    assert result["failed"] == []
    assert result["checked"] >= len(json.loads(path.read_text(encoding="utf-8")))
