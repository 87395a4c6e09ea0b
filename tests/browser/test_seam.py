"""The proposed topline, on rendered dogs before a ground that contrasts, whose outline is known."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from typing import Any

import numpy as np
from PIL import Image
from playwright.sync_api import Page

from tests.camera import DOG, Array, Camera
from tests.render_dog import PHOTOS, TAKEN, Scene, of_demo, render
from tests.support import ROOT

WIDE = 1024
SCRIPT = ROOT / "static" / "js" / "core" / "seam.js"
POINTS = 159
NEAR, SHARE = 3.0, 0.95  # pixels, and how many of the points are so near

PROPOSE = """
async ([source, pixels, width, height, from, to, count, through]) => {
    const { seam } = await import(URL.createObjectURL(
        new Blob([source], { type: "text/javascript" })));
    const data = Uint8ClampedArray.from(atob(pixels), (one) => one.charCodeAt(0));
    return seam({ data, width, height }, from, to)(count, through);
}
"""


def outline(camera: Camera) -> Array:
    """The true line from the withers to the tail set."""
    points = [DOG["points"]["withers"], *DOG["topline"], DOG["points"]["tail-set"]]
    return camera.project(np.array(points))


def propose(page: Page, picture: Image.Image, line: Array, count: int, through: Any = ()) -> Array:
    pixels = base64.b64encode(picture.convert("RGBA").tobytes()).decode()
    told = [SCRIPT.read_text(encoding="utf-8"), pixels, *picture.size]
    ends = [line[0].tolist(), line[-1].tolist()]
    return np.array(page.evaluate(PROPOSE, [*told, *ends, count, list(through)]))


def away(points: Array, line: Array) -> Array:
    """How many pixels each point is above or below the line."""
    order = np.argsort(line[:, 0])
    return np.abs(points[:, 1] - np.interp(points[:, 0], line[order, 0], line[order, 1]))


def test_nineteen_in_twenty_points_lie_on_the_outline(page: Callable[..., Page]) -> None:
    opened, found = page(), []
    for number, (_, yaw, along) in enumerate(TAKEN, 1):
        kept = Image.open(PHOTOS / f"sorrel-side-{number}.jpg")
        camera = of_demo(yaw, along)
        line = outline(camera) * WIDE / camera.width
        picture = kept.resize((WIDE, WIDE * kept.height // kept.width), Image.Resampling.LANCZOS)
        found.append(away(propose(opened, picture, line, POINTS), line))
    small = Camera(width=WIDE, height=768, focal35=78, high=0.42)
    white_on_grass = Scene((0.85, 0.82, 0.76), (0.25, 0.38, 0.18), (0.25, 0.38, 0.18), 0.05)
    for scene in (white_on_grass, Scene(coat=(0.06, 0.06, 0.07), uneven=0.05)):
        line = outline(small)
        found.append(away(propose(opened, render(small, scene), line, POINTS), line))
    told = [f"{np.percentile(one, 95):.1f}" for one in found]
    assert (np.concatenate(found) <= NEAR).mean() >= SHARE, f"95 % within {told} pixels"


def test_the_line_goes_through_what_somebody_set(page: Callable[..., Page]) -> None:
    camera = of_demo(*TAKEN[0][1:])
    line = outline(camera) * WIDE / camera.width
    picture = Image.open(PHOTOS / "sorrel-side-1.jpg").resize((WIDE, 768))
    opened = page()
    free = propose(opened, picture, line, 13)
    chord = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
    set_by_hand = free[6] + 25 * np.array([-chord[1], chord[0]])
    led = propose(opened, picture, line, 13, [set_by_hand.tolist()])
    assert np.linalg.norm(led[6] - set_by_hand) <= 3
    assert np.abs(led[[0, 12]] - free[[0, 12]]).max() < 1
    assert json.dumps(propose(opened, picture, line[[0, 0]], 13).tolist()) == "[]"
