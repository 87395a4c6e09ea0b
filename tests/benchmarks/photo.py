"""On a phone as slow as a quarter of this machine: to propose a topline, and to measure a photo."""

from __future__ import annotations

import base64
import random
from collections.abc import Iterator

from PIL import Image
from playwright.sync_api import sync_playwright

from tests.benchmarks.registry import Row, benchmark, ms
from tests.measure_vectors import atlas, marks_by, photo_by
from tests.render_dog import PHOTOS
from tests.support import ROOT, launch_options

CORE = ROOT / "static" / "js" / "core"
SLOWER = 4
ROUNDS = 15

# [first, median] of each part; in turn, so that the machine's other work strikes all alike.
MEASURE = """
async ([seam, measure, pixels, width, height, atlas, photo, marks, rounds]) => {
    const load = (source) => import(URL.createObjectURL(
        new Blob([source], { type: "text/javascript" })));
    const parts = [await load(seam), await load(measure)];
    const data = Uint8ClampedArray.from(atob(pixels), (one) => one.charCodeAt(0));
    const [from, to] = [marks.withers, marks["tail-set"]].map(([x, y]) => [x * width, y * height]);
    const work = {
        seam: () => parts[0].seam({ data, width, height }, from, to)(),
        grey: () => {
            let sum = 0;
            for (let at = 0; at < data.length; at += 1) sum += data[at];
            return sum;
        },
        measure: () => parts[1].readings(atlas, photo, marks, { heightCm: 60 }),
        copy: () => JSON.parse(JSON.stringify([atlas.measures, marks])),
    };
    const taken = Object.fromEntries(Object.keys(work).map((name) => [name, []]));
    for (let round = 0; round < rounds; round += 1) {
        for (const [name, act] of Object.entries(work)) {
            const began = performance.now();
            act();
            taken[name].push(performance.now() - began);
        }
    }
    return Object.fromEntries(Object.entries(taken).map(([name, [first, ...times]]) =>
        [name, [first, times.sort((a, b) => a - b)[times.length >> 1]]]));
}
"""


@benchmark
def photo() -> Iterator[Row]:
    """The seam beside a sum over all pixels, the measures beside a copy of what they need."""
    chance = random.Random(1)
    told = {**photo_by(chance, "side"), "stickers": True, "hides": False}
    marks = marks_by(chance, told, 0)
    picture = Image.open(PHOTOS / "sorrel-side-1.jpg").resize((1024, 768)).convert("RGBA")
    pixels = base64.b64encode(picture.tobytes()).decode()
    sources = [(CORE / f"{name}.js").read_text(encoding="utf-8") for name in ("seam", "measure")]
    given = [*sources, pixels, *picture.size, atlas(), told, marks, ROUNDS]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(**launch_options())
        page = browser.new_page()
        cdp = page.context.new_cdp_session(page)
        cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        found = page.evaluate(MEASURE, given)
        browser.close()
    for name, floor, what, beside, aim in (
        ("seam", "grey", "topline proposed", "a sum over its picture", "60 ms"),
        ("measure", "copy", "all of the side measured", "a copy of its knowledge", "10 ms"),
    ):
        first, usual = found[name]
        yield Row(
            f"{what}, {SLOWER}x slower; first {ms(first / 1000)}",
            ms(usual / 1000),
            f"{beside} {ms(found[floor][1] / 1000)}",
            usual / found[floor][1],
            aim,
        )
