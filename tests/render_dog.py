"""Render the 3-D dog as a camera sees it: for the demo's photos, and for tests of the outline.

    python -m tests.render_dog

writes demo_data/photos anew, and prints the records for demo_data/kennel.toml. The skin is half of
the dog of the package dm-control 1.0.50 (dog3d.json says whose), in 1/20,000 m, mirrored.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from PIL import Image, ImageFilter

from tests.camera import DOG, Array, Camera, dog_points, marks_at
from tests.measure_vectors import atlas
from tests.support import ROOT

SKIN = ROOT / "tests" / "published" / "dog3d_skin.npz"
PHOTOS = ROOT / "demo_data" / "photos"
FINER = 2  # each pixel is drawn as so many squared
EYE, NOSE = (0.358, 0.033, 0.705), (0.462, 0.0, 0.672)
LIGHT = np.array([0.35, 0.75, 0.85]) / np.linalg.norm([0.35, 0.75, 0.85])
MOST_BYTES = 200_000


@dataclass(frozen=True)
class Scene:
    """Colours, 0 to 1, and by how much the ground and the coat are uneven."""

    coat: tuple[float, float, float] = (0.42, 0.26, 0.15)
    wall: tuple[float, float, float] = (0.80, 0.84, 0.86)
    ground: tuple[float, float, float] = (0.62, 0.60, 0.56)
    uneven: float = 0.02


@cache
def skin() -> tuple[Array, Any, Array]:
    """The points, faces and normals of the whole skin."""
    with np.load(SKIN) as kept:
        half, faces = kept["points"] / 20_000, kept["faces"].astype(int)
    points = np.vstack([half, half * (1, -1, 1)])
    whole = np.vstack([faces, faces[:, ::-1] + len(half)])
    sides = points[whole]
    across = np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0])
    normals = np.zeros_like(points)
    for corner in range(3):
        np.add.at(normals, whole[:, corner], across)
    middle = half[:, 1] == 0  # both halves meet here
    both = normals[: len(half)][middle] + normals[len(half) :][middle]
    normals[: len(half)][middle] = normals[len(half) :][middle] = both
    return points, whole, normals / np.linalg.norm(normals, axis=1, keepdims=True)


def colours(scene: Scene, chance: np.random.Generator) -> Array:
    """The colour of each point of the skin in the light: coat, dark nose and eye."""
    points, _, normals = skin()
    coat = np.array(scene.coat) * (1 + chance.normal(0, scene.uneven, (len(points), 1)))
    for place, size in ((EYE, 0.009), (NOSE, 0.016)):
        near = np.linalg.norm(np.abs(points) - np.array(place), axis=1) < size
        coat[near] = 0.05
    lit = 0.5 + 0.62 * np.clip(normals @ LIGHT, 0, 1)
    return np.asarray(coat * lit[:, None])


def render(camera: Camera, scene: Scene, seed: int = 1) -> Image.Image:
    """The picture that `camera` takes of the dog."""
    chance = np.random.default_rng(seed)
    fine = replace(camera, width=camera.width * FINER, height=camera.height * FINER)
    picture = behind(fine, scene, chance)
    draw(picture, fine, colours(scene, chance))
    levels = (np.clip(picture, 0, 1) * 255).round().astype(np.uint8)
    whole = Image.fromarray(levels)
    return whole.resize((camera.width, camera.height), Image.Resampling.LANCZOS)


def behind(camera: Camera, scene: Scene, chance: np.random.Generator) -> Array:
    """Wall and ground, with the dog's shade on it."""
    edge = camera.project(np.array([[0.0, -1.2, 0.0]]))[0][1]
    rows = np.arange(camera.height)[:, None, None]
    wall = np.array(scene.wall) * (1 - 0.12 * rows / camera.height)
    ground = np.array(scene.ground) * (0.9 + 0.15 * rows / camera.height)
    picture = np.where(rows < edge, wall, ground) * np.ones((1, camera.width, 1))
    rough = chance.normal(0, scene.uneven, (camera.height // 4, camera.width // 4))
    picture *= 1 + np.kron(rough, np.ones((4, 4)))[:, :, None]
    flat = skin()[0] * (1, 1, 0) - skin()[0][:, 2:] * LIGHT * (1, 1, 0) / LIGHT[2] * 0.5
    shade = np.zeros((camera.height, camera.width), np.uint8)
    x, y = camera.project(flat).round().astype(int).T
    within = (x >= 0) & (x < camera.width) & (y >= 0) & (y < camera.height)
    shade[y[within], x[within]] = 255
    soft = Image.fromarray(shade).filter(ImageFilter.MaxFilter(13))
    dark = np.asarray(soft.filter(ImageFilter.GaussianBlur(14))) / 255
    return np.asarray(picture * (1 - 0.35 * dark[:, :, None]))


def draw(picture: Array, camera: Camera, colour: Array) -> None:
    """Draw the skin into the picture, nearest last, by barycentric coordinates and a depth."""
    points, faces, _ = skin()
    pixels, far = camera.project(points), camera.seen(points)[:, 2]
    corners = pixels[faces]
    one, other = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    facing = area > 0 if np.median(area[far[faces].mean(1) < np.median(far)]) > 0 else area < 0
    depth = np.full(picture.shape[:2], np.inf)
    for face, (a, b, c), size in zip(faces[facing], corners[facing], area[facing], strict=True):
        low = np.maximum(np.floor(np.minimum(np.minimum(a, b), c)).astype(int), 0)
        high = np.ceil(np.maximum(np.maximum(a, b), c)).astype(int) + 1
        x, y = np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1]))
        u = ((x - a[0]) * (c[1] - a[1]) - (y - a[1]) * (c[0] - a[0])) / size
        v = ((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / size
        inside = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1 + 1e-9)
        inside &= (x < picture.shape[1]) & (y < picture.shape[0])
        if not inside.any():
            continue
        x, y, u, v = x[inside], y[inside], u[inside], v[inside]
        at = far[face[0]] * (1 - u - v) + far[face[1]] * u + far[face[2]] * v
        nearer = at < depth[y, x]
        x, y, u, v = x[nearer], y[nearer], u[nearer, None], v[nearer, None]
        depth[y, x] = at[nearer]
        picture[y, x] = colour[face[0]] * (1 - u - v) + colour[face[1]] * u + colour[face[2]] * v


def jpeg(picture: Image.Image) -> bytes:
    """The picture as a JPEG without a word about it."""
    for quality in (80, 70, 60):
        made = io.BytesIO()
        picture.save(made, "JPEG", quality=quality, optimize=True)
        if made.tell() <= MOST_BYTES:
            break
    return made.getvalue()


# The demo's dog, shorter in the body than the model, so that its length is 1.04 of its height. Four
# photos: three of one day, restacked between, and one of a year before, by days ago.
STRETCH = 0.9445
SEED = 41
SEEN_AT_EASE = 0.7  # of what marks are off by eye
UNMARKED = ("stop", "scapula-top", "ilium", "hip", "stifle", "ankle", "fore-fetlock")
TAKEN = ((24, 1.5, 0.05), (24, -2.0, -0.06), (24, 0.5, 0.02), (391, -1.0, 0.08))


def of_demo(yaw: float, along: float) -> Camera:
    """The camera of one of the demo's photos: the main lens at three times, 4 m away."""
    place = {"away": 4.0, "high": 0.42, "along": along - 0.04, "yaw": yaw, "roll": yaw / 3}
    return Camera(width=1600, height=1200, focal35=78, stretch=STRETCH, **place)


def marked_by_hand(camera: Camera, seed: int) -> dict[str, Any]:
    """The marks of a person who knows the dog."""
    chance, (names, points) = random.Random(seed), dog_points()
    share = camera.focal / camera.away * DOG["height"] / 600 * SEEN_AT_EASE
    pixels = camera.project(points)
    for name, at in zip(names, pixels, strict=True):
        at += [chance.gauss(0, atlas()["marks"][name]["find"] * share) for _ in (0, 1)]
    marks = marks_at(camera, pixels, names)
    marks["topline"] = [[x, y, "seam"] for x, y, _ in marks["topline"]]
    return {name: rounded(at) for name, at in marks.items() if name not in UNMARKED}


def rounded(at: list[Any]) -> list[Any]:
    """A mark, or a list of such, to five places."""
    parts = {list: rounded, float: lambda one: round(one, 5), str: str}
    return [parts[type(one)](one) for one in at]


def main() -> None:
    """Write the photos, and print their records."""
    PHOTOS.mkdir(exist_ok=True)
    for number, (days, yaw, along) in enumerate(TAKEN, 1):
        camera, key = of_demo(yaw, along), f"sorrel-side-{number}"
        wall = (0.80, 0.84, 0.86) if days < 100 else (0.86, 0.84, 0.78)
        made = jpeg(render(camera, Scene(coat=(0.62, 0.34, 0.17), wall=wall, uneven=0.004), number))
        (PHOTOS / f"{key}.jpg").write_bytes(made)
        size = f"width = {camera.width}\nheight = {camera.height}\nfocal35 = 26\nzoom = 3\n"
        told = f'sha256 = "{hashlib.sha256(made).hexdigest()}"\nbytes = {len(made)}\ncopy = true\n'
        marks = json.dumps(marked_by_hand(camera, number + SEED), separators=(",", ":"))
        print(
            f'[[photo]]\nkey = "{key}"\ndog = "sorrel"\ndays_ago = {days}\nview = "side"\n'
            f'facing = "left"\n{size}{told}\n[[marking]]\nkey = "{key}-marks"\nphoto = "{key}"\n'
            f'dog = "sorrel"\nround = 1\nby = "Marrowby Lane"\natlas = {atlas()["atlas"]}\n'
            f"marks = '{marks}'\n"
        )


if __name__ == "__main__":
    main()
