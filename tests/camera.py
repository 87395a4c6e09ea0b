"""A pinhole camera beside a dog, for tests of what is measured on photos.

The dog's frame: x forward, y to the side of the camera, z up from the ground, metres. The camera
stands at y = `away` and looks across the dog, which faces left on the picture.
"""

from __future__ import annotations

import json
import random
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.support import ROOT

Array = NDArray[np.float64]
DOG: dict[str, Any] = json.loads(
    (ROOT / "tests" / "published" / "dog3d.json").read_text(encoding="utf-8")
)
FILM = float(np.hypot(36, 24))


@dataclass(frozen=True)
class Camera:
    """Angles in degrees; `bend` is the share by which the corner of the picture is drawn in, and
    `stretch` makes the dog so many times as long."""

    away: float = 4.0
    high: float = 0.45
    along: float = 0.0
    focal35: float = 52.0
    width: int = 2048
    height: int = 1536
    yaw: float = 0.0
    pitch: float = 0.0
    roll: float = 0.0
    bend: float = 0.0
    stretch: float = 1.0

    @property
    def focal(self) -> float:
        """The focal length in pixels."""
        return float(self.focal35 * np.hypot(self.width, self.height) / FILM)

    @property
    def matrix(self) -> Array:
        """What makes pixels of the way from the lens."""
        middle = (self.width / 2, self.height / 2)
        return np.array([[self.focal, 0, middle[0]], [0, self.focal, middle[1]], [0, 0, 1]])

    @property
    def axes(self) -> Array:
        """Right, down and ahead of the camera, as rows."""
        level = np.array([[-1.0, 0, 0], [0, 0, -1], [0, -1, 0]])
        pitch, roll = np.radians((self.pitch, self.roll))
        tip = [[1, 0, 0], [0, np.cos(pitch), -np.sin(pitch)], [0, np.sin(pitch), np.cos(pitch)]]
        turn = [[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]]
        return np.array(turn) @ np.array(tip) @ level

    @property
    def place(self) -> Array:
        """Where the lens is."""
        return np.array([self.along, self.away, self.high])

    def turned(self, points: Array) -> Array:
        """The dog, turned by the yaw about the upright through the middle of it."""
        yaw = np.radians(self.yaw)
        about = np.array([[np.cos(yaw), -np.sin(yaw), 0], [np.sin(yaw), np.cos(yaw), 0], [0, 0, 1]])
        return np.asarray(points, float) * (self.stretch, 1, 1) @ about.T

    def seen(self, points: Array) -> Array:
        """The points from the lens: right, down, ahead."""
        return (self.turned(points) - self.place) @ self.axes.T

    def project(self, points: Array) -> Array:
        """Pixels from the upper left."""
        ways = self.seen(points)
        flat = ways[:, :2] / ways[:, 2:]
        corner = np.hypot(self.width, self.height) / 2 / self.focal
        far = (flat**2).sum(1, keepdims=True) / corner**2
        return np.asarray(flat * (1 - self.bend * far) * self.focal + self.matrix[:2, 2])

    def photo(self) -> dict[str, Any]:
        """The record of a photo that it takes."""
        told = {"view": "side", "facing": "left", "focal35": self.focal35, "zoom": 1}
        return {**told, "width": self.width, "height": self.height, "stickers": True}


def as_people_stand(chance: random.Random, camera: Camera) -> Camera:
    """The camera as somebody holds it, and a dog not quite square to it."""
    return replace(
        camera,
        yaw=chance.uniform(-5, 5),
        pitch=chance.uniform(-2, 2),
        roll=chance.uniform(-1, 1),
        along=camera.along + chance.gauss(0, 0.15),
        bend=0.01 * chance.choice((-1, 1)),
    )


def dog_points() -> tuple[list[str], Array]:
    """The names of the marks of the dog, topline last thirteen, and the points."""
    names = [*DOG["points"], *["topline"] * len(DOG["topline"])]
    return names, np.array([*DOG["points"].values(), *DOG["topline"]])


def marks_at(camera: Camera, pixels: Array, names: list[str], how: str = "eye") -> dict[str, Any]:
    """The marks of a marking, from pixels in the order of `names`."""
    marks: dict[str, Any] = {"topline": []}
    for name, (x, y) in zip(names, pixels, strict=True):
        mark = [float(x) / camera.width, float(y) / camera.height, how]
        if name == "topline":
            marks["topline"].append(mark)
        else:
            marks[name] = mark
    return marks
