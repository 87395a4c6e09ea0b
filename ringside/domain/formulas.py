"""What is worked out from places of marks in the frame of a view: x forward and y up, the side's in
heights at the withers. The phone has the same, static/js/core/measure.js.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

Point = Sequence[float]
Points = Mapping[str, Any]

# Degrees by which the tip of the elbow bone lies behind a leg that is plumb; of a 3-D model.
ELBOW_BEHIND = 10.0


def minus(a: Point, b: Point) -> tuple[float, float]:
    """Return the way from b to a."""
    return a[0] - b[0], a[1] - b[1]


def middle(a: Point, b: Point) -> tuple[float, float]:
    """Return the middle of two points."""
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def apart(a: Point, b: Point) -> float:
    """Return how far two points are apart."""
    return math.hypot(a[0] - b[0], a[1] - b[1])


def dot(a: Point, b: Point) -> float:
    """Return the scalar product of two ways."""
    return a[0] * b[0] + a[1] * b[1]


def _rise(a: Point, b: Point) -> float:
    """Return the angle of the way from a to b: from level, forward and up."""
    return math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))


def _lean(a: Point, b: Point) -> float:
    """Return the angle from upright of the way from a up to b: leaning back is more than 0."""
    return math.degrees(math.atan2(a[0] - b[0], b[1] - a[1]))


def _joint(a: Point, b: Point, c: Point) -> float:
    """Return the angle at b, between a and c."""
    one, other = minus(a, b), minus(c, b)
    return math.degrees(math.atan2(abs(one[0] * other[1] - one[1] * other[0]), dot(one, other)))


def _outward(a: Point, b: Point, out: int) -> float:
    """Return, of an ear, the angle from upright to the side `out`; hanging is 180 and beyond."""
    angle = math.degrees(math.atan2(out * (b[0] - a[0]), b[1] - a[1]))
    return angle + 360 if angle < -90 else angle


def _both(of: Callable[[str, int], float]) -> float:
    return (of("left", -1) + of("right", 1)) / 2


def _width(p: Points, name: str) -> float:
    return apart(p[f"{name}-left"], p[f"{name}-right"])


def _across(p: Points, name: str) -> float:
    return float(abs(p[f"{name}-left"][0] - p[f"{name}-right"][0]))


def bow(p: Points) -> float:
    """Return how much the outline rises over its chord, in per cent of it.

    Least squares on k·s(1 - s) + m·s(1 - s)(s - 1/2), s from withers to tail set; it is k/4.
    """
    start, end = p["withers"], p["tail-set"]
    chord = minus(end, start)
    square = dot(chord, chord)
    up = (chord[1], -chord[0]) if chord[0] < 0 else (-chord[1], chord[0])
    aa = ab = bb = ay = by = 0.0
    for point in p["topline"]:
        way = minus(point, start)
        s, y = dot(way, chord) / square, dot(way, up) / square
        a = s * (1 - s)
        b = a * (s - 0.5)
        aa, ab, bb = aa + a * a, ab + a * b, bb + b * b
        ay, by = ay + a * y, by + b * y
    return 25 * (ay * bb - by * ab) / (aa * bb - ab * ab)


def _depth(p: Points) -> float:
    return float(p["withers"][1] - p["brisket"][1])


def _head(p: Points) -> float:
    return apart(p["nose"], p["occiput"])


def _back(p: Points) -> float:
    return apart(p["withers"], p["tail-set"])


def muzzle(p: Points) -> float:
    """Return the muzzle over the skull, in length."""
    return apart(p["nose"], p["stop"]) / apart(p["stop"], p["occiput"])


# Of points in the frame of the view: x forward and y up, the side's in heights at the withers.
FORMULAS: Mapping[str, Callable[[Points], float]] = {
    "length-forechest": lambda p: p["forechest"][0] - p["buttock"][0],
    "length-shoulder": lambda p: p["shoulder-point"][0] - p["buttock"][0],
    "back": _back,
    "depth": _depth,
    "clearance": lambda p: p["brisket"][1],
    "elbow": lambda p: p["elbow"][1],
    "leg-depth": lambda p: p["elbow"][1] / _depth(p),
    "croup": lambda p: p["croup"][1],
    "head": _head,
    "head-back": lambda p: _head(p) / _back(p),
    "hock": lambda p: p["hock"][1],
    "topline-bow": bow,
    "topline-slope": lambda p: _rise(p["tail-set"], p["withers"]),
    "tuck-up": lambda p: 100 * (p["tuck-up"][1] - p["brisket"][1]) / _depth(p),
    "neck": lambda p: _rise(p["withers"], p["occiput"]),
    "rear-pastern": lambda p: _lean(p["hind-fetlock"], p["hock"]),
    "foreleg": lambda p: _lean(p["carpus"], p["elbow"]) - ELBOW_BEHIND,
    "layback": lambda p: _lean(p["shoulder-point"], p["scapula-top"]),
    "upper-arm": lambda p: _rise(p["elbow"], p["shoulder-point"]),
    "shoulder-angle": lambda p: _joint(p["scapula-top"], p["shoulder-point"], p["elbow"]),
    "stifle-angle": lambda p: _joint(p["hip"], p["stifle"], p["ankle"]),
    "hock-angle": lambda p: _joint(p["stifle"], p["ankle"], p["hind-fetlock"]),
    "pelvis": lambda p: _rise(p["buttock"], p["ilium"]),
    "fore-pastern": lambda p: _lean(p["fore-fetlock"], p["carpus"]),
    "muzzle-skull": muzzle,
    "muzzle-head": lambda p: apart(p["nose"], p["stop"]) / _head(p),
    "planes": lambda p: (
        _rise(p["bridge-back"], p["bridge-fore"]) - _rise(p["skull-back"], p["skull-fore"])
    ),
    "ear-lean": lambda p: _both(
        lambda at, out: _outward(p[f"ear-base-{at}"], p[f"ear-tip-{at}"], out)
    ),
    "ear-set": lambda p: _both(lambda at, out: _outward((0.0, 0.0), p[f"ear-base-{at}"], out)) / 30,
    "eye-spacing": lambda p: _width(p, "inner-corner") / _width(p, "cheek"),
    "feet-elbows": lambda p: _across(p, "front-foot") / _across(p, "front-elbow"),
    "feet-shoulders": lambda p: _across(p, "front-foot") / _across(p, "front-shoulder"),
    "leg-line": lambda p: _both(
        lambda at, out: out * _lean(p[f"front-foot-{at}"], p[f"front-elbow-{at}"])
    ),
    "waist-ribs": lambda p: _width(p, "waist") / _width(p, "ribs"),
    "hips-shoulders": lambda p: _width(p, "above-hip") / _width(p, "above-shoulder"),
}
