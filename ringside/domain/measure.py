"""Proportions of a dog from the marks on a photo, each with its uncertainty, and what can be said.

Of the side, the ground line through the means of near and far feet gives the axes, which removes
roll, and the height at the withers is 1. What stands nearer to the camera than the middle of the
dog looks larger: by depth times the height in pixels over the focal length in pixels, so no size
is needed but the one on the picture. Each mark is drawn back by its own typical depth.

The uncertainty is of the first order (JCGM 100:2008): what each axis of each mark does to the
value when it slips by its SD, by central differences, with what the camera and the stance add
(knowledge/photo, from our simulation). A value is judged only where all within two of it lies on
one side of what is asked. Marks of two people are never put together.

Data are plain, as the atlas (domain/photo.py) and the records hold them: marks {mark: [x, y, how
it was found] or None}, parts of the picture from its upper left, the topline a list of such. The
phone does the same, static/js/core/measure.js; tests/vectors/measure.json and a thousand random
markings hold both to the same answers.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ringside.domain.agreement import technical_error
from ringside.domain.formulas import FORMULAS, Point, Points, apart, dot, middle, minus, muzzle

Data = dict[str, Any]
FILM = math.hypot(36, 24)  # mm, the diagonal that focal lengths are told for
USUAL, UNSURE = 26.0, 0.15  # mm, the main lens of a phone; of it, where the camera did not tell
TAP = 2 / 2048  # of the longer side
FIND_AT = 600.0  # mm: the height of the dog that `find` is told for
NEAR = 2.0  # m; nearer, the errors that we know do not hold
NEAREST = 2.5  # heights at the withers, where no height is known
SHORT = 0.7  # muzzle to skull: below, no angle is laid on the head
POINT = 0.05  # of a number that is asked alone (ours)
YEAR = 12  # months
PAIRS = 5  # of marks set twice, before they tell how a person finds them

# The marks that the axes of a view go through, from one end to the other.
AXES: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "side": (("hind-near", "hind-far"), ("fore-near", "fore-far")),
    "head-side": (("occiput",), ("nose",)),
    "head-front": (("eye-left",), ("eye-right",)),
    "front": (("front-foot-left",), ("front-foot-right",)),
    "above": (("above-hip-left",), ("above-hip-right",)),
}


def frame_marks(view: str) -> tuple[str, ...]:
    """Return the marks that decide on the frame of a view."""
    start, end = AXES[view]
    return (*start, *end, *(("withers",) if view == "side" else ()))


@dataclass(frozen=True)
class Frame:
    """Axes of a view: `e` forward, `n` up (where y goes down), from `zero`; `scale` is the height
    at the withers in pixels, `unit` what is 1, `share` of a depth that is drawn back."""

    zero: Point
    e: Point
    n: Point
    scale: float
    unit: float
    share: float

    def placed(self, at: Point, depth: float) -> tuple[float, float]:
        """Return a point (pixels from the middle of the picture) as x forward and y up."""
        way = minus([part * (1 - self.share * depth) for part in at], self.zero)
        return dot(way, self.e) / self.unit, dot(way, self.n) / self.unit


def frame_of(atlas: Data, view: str, points: Points, focal: float) -> Frame:
    """Return the frame of points in pixels from the middle, through a lens of `focal` pixels."""
    size = atlas["views"][view].get("size")
    share = 0.0
    for _ in range(1 if size else 3):
        drawn = {
            mark: [part * (1 - share * atlas["marks"][mark]["depth"]) for part in points[mark]]
            for mark in frame_marks(view)
        }
        start, end = (middle(drawn[ids[0]], drawn[ids[-1]]) for ids in AXES[view])
        way = minus(end, start)
        e = [part / math.hypot(*way) for part in way]
        n = (e[1], -e[0]) if e[0] > 0 else (-e[1], e[0])
        if size:
            scale = apart(drawn[size["from"]], drawn[size["to"]]) / size["share"]
        else:
            scale = dot(minus(drawn["withers"], start), n)
        zero = middle(start, end) if view == "head-front" else start
        frame = Frame(zero, e, n, scale, 1.0 if size else scale, share)
        share = scale / focal
    return frame


@dataclass(frozen=True)
class Marked:
    """The marks of one photo that can be seen, in pixels from the middle of the picture."""

    atlas: Data
    view: str
    points: Points

    def frame(self, focal: float) -> Frame:
        """Return the frame through a lens of `focal` pixels."""
        return frame_of(self.atlas, self.view, self.points, focal)

    def place(self, frame: Frame, mark: str) -> Any:
        """Return the place of a mark in a frame; of the topline a list."""
        if mark == "topline":
            return [frame.placed(one, 0) for one in self.points[mark]]
        return frame.placed(self.points[mark], self.atlas["marks"][mark]["depth"])

    def places(self, frame: Frame) -> Data:
        """Return the places of all marks in a frame."""
        return {mark: self.place(frame, mark) for mark in self.points}


def marked(atlas: Data, photo: Data, marks: Data) -> Marked:
    """Return the marks of a photo that can be seen."""

    def place(at: Sequence[Any]) -> list[float]:
        return [(at[0] - 0.5) * photo["width"], (at[1] - 0.5) * photo["height"]]

    known = [mark for mark in atlas["views"][photo["view"]]["marks"] if marks.get(mark)]
    points = {
        mark: [place(one) for one in marks[mark]] if mark == "topline" else place(marks[mark])
        for mark in known
    }
    return Marked(atlas, photo["view"], points)


def lens(photo: Data) -> tuple[float, float]:
    """Return the focal length in pixels, and how unsure it is (a share of it)."""
    diagonal = math.hypot(photo["width"], photo["height"])
    if (focal35 := photo.get("focal35") or 0) > 0:
        return focal35 * (photo.get("zoom") or 1) * diagonal / FILM, 0.0
    return USUAL * diagonal / FILM, UNSURE


def readings(
    atlas: Data,
    photo: Data,
    marks: Data,
    height_cm: float | None = None,
    tem: Mapping[str, float] | None = None,
) -> list[Data]:
    """Return a reading of each measure of the photo's view: {"measure", "class", "value", "u",
    "why"}. `u` is one standard uncertainty; where `value` is None, or not judged, `why` is the
    line of the atlas that says why. `tem` is {mark: mm}, `own_finding` of the person.
    """
    mine = {name: one for name, one in atlas["measures"].items() if one["view"] == photo["view"]}
    seen = marked(atlas, photo, marks)
    whole = [name for name, one in mine.items() if all(n in seen.points for n in one["needs"])]
    if not whole:
        return [_none(name, one, "unseen") for name, one in mine.items()]
    focal, unsure = lens(photo)
    frame = seen.frame(focal)
    known = seen.places(frame)
    squares = {n: mine[n].get("pose", 0) ** 2 + mine[n].get("stance", 0) ** 2 for n in whole}

    def add(over: Data, under: Data, only: str | None = None) -> None:
        for name in whole:
            if only is None or only in mine[name]["needs"]:
                squares[name] += ((FORMULAS[name](over) - FORMULAS[name](under)) / 2) ** 2

    def move(point: list[float], axis: int, to: float, mark: str) -> Data:
        point[axis] = to
        if mark in leads:
            return seen.places(seen.frame(focal))
        return known | {mark: seen.place(frame, mark)}

    tap = TAP * max(photo["width"], photo["height"])
    leads = frame_marks(photo["view"])
    for point, mark, how in _each(seen.points, marks):
        sigma = _slip(atlas["marks"][mark], how, (tem or {}).get(mark), tap, frame.scale)
        for axis in (0, 1):
            at = point[axis]
            over, under = (move(point, axis, to, mark) for to in (at + sigma, at - sigma))
            point[axis] = at
            add(over, under, None if mark in leads else mark)
    if unsure:
        off = 1 + unsure / math.sqrt(3)
        over, under = (seen.places(seen.frame(f)) for f in (focal * off, focal / off))
        add(over, under)
    near = "near" if _is_near(photo, focal, frame.scale, height_cm, unsure) else None
    found = {name: (FORMULAS[name](known), math.sqrt(squares[name])) for name in whole}
    return [_reading(name, one, found.get(name), photo, known, near) for name, one in mine.items()]


def _none(name: str, one: Data, why: str) -> Data:
    return {"measure": name, "class": one["class"], "value": None, "u": None, "why": why}


def _reading(
    name: str,
    one: Data,
    found: tuple[float, float] | None,
    photo: Data,
    known: Data,
    near: str | None,
) -> Data:
    if found is None or not math.isfinite(found[0]):
        return _none(name, one, "unseen")
    if one["class"] == 3 and not photo.get("stickers"):
        return _none(name, one, "stickers")
    if name == "planes" and muzzle(known) < SHORT:
        return _none(name, one, "short-head")
    why = near or ("coat" if one.get("coat") and photo.get("hides") else None)
    return {**_none(name, one, ""), "value": found[0], "u": found[1], "why": why}


def _each(points: Points, marks: Data) -> Iterator[tuple[list[float], str, str]]:
    for mark, at in points.items():
        if mark == "topline":
            for one, told in zip(at, marks[mark], strict=True):
                yield one, mark, told[2]
        else:
            yield at, mark, marks[mark][2]


def _slip(mark: Data, how: str, own: float | None, tap: float, scale: float) -> float:
    if own is not None:
        return max(own * scale / FIND_AT, tap)
    find = mark["find"] / 2 if how == "sticker" else mark["find"]
    return math.hypot(tap, find * scale / FIND_AT)


def _is_near(
    photo: Data, focal: float, scale: float, height_cm: float | None, unsure: float
) -> bool:
    if photo["view"] != "side":
        return False
    heights = focal / scale * (1 + unsure)
    return heights * height_cm / 100 < NEAR if height_cm else heights < NEAREST


def combined(lists: Sequence[Sequence[Data]]) -> list[Data]:
    """Return the readings of several photos of one dog, marked by one person, as one: with "n"."""
    flat = [one for readings in lists for one in readings]
    return [_combine([one for one in flat if one["measure"] == name]) for name in _names(flat)]


def _names(readings: Sequence[Data]) -> list[str]:
    return list(dict.fromkeys(one["measure"] for one in readings))


def _combine(every: Sequence[Data]) -> Data:
    told = [one for one in every if one["value"] is not None]
    n = len(told)
    same = {"measure": every[0]["measure"], "class": every[0]["class"], "n": n}
    if not n or (same["class"] == 3 and n < 3):
        return {**same, "value": None, "u": None, "why": "three" if n else every[0]["why"]}
    return {
        **same,
        "value": sum(one["value"] for one in told) / n,
        "u": math.sqrt(sum(one["u"] ** 2 for one in told)) / n,
        "why": next((one["why"] for one in told if one["why"]), None),
    }


def withheld(atlas: Data, readings: Sequence[Data]) -> list[str]:
    """Return the measures of a dog on which no word is said, by what its readings are."""
    least = {
        one["measure"]: one["value"] - 2 * one["u"] for one in readings if one["value"] is not None
    }
    return [
        name
        for rule in atlas["withheld"]
        if least.get(rule["measure"], math.inf) < rule["below"]
        for name in rule["measures"]
    ]


def is_puppy(months: float | None) -> bool:
    """Whether a dog of so many months is still growing: it is recorded, not judged."""
    return months is not None and months < YEAR


def verdict(reading: Data, ask: Data, months: float | None, aside: Collection[str] = ()) -> Data:
    """Return {"word", "low", "high"}: how a reading stands to what is asked of it.

    The word is "meets", "over", "under" or "cannot tell", None where it is only recorded. A bound
    that is None is open. `months` is the dog's age on the day, None where it is not known; `aside`
    are the measures that are `withheld`.
    """
    low, high = ask.get("low"), ask.get("high")
    if low is not None and low == high:
        low, high = low * (1 - POINT), low * (1 + POINT)
    is_told = reading["class"] == 1 and reading["value"] is not None and not reading["why"]
    is_judged = is_told and not is_puppy(months) and reading["measure"] not in aside
    word = _word(reading, low, high) if is_judged else None
    return {"word": word, "low": low, "high": high}


def _word(reading: Data, low: float | None, high: float | None) -> str:
    least, most = reading["value"] - 2 * reading["u"], reading["value"] + 2 * reading["u"]
    if low is not None and most < low:
        return "under"
    if high is not None and least > high:
        return "over"
    return "meets" if _is_within(least, most, low, high) else "cannot tell"


def _is_within(least: float, most: float, low: float | None, high: float | None) -> bool:
    return (low is None or least > low) and (high is None or most < high)


def stance(atlas: Data, readings: Sequence[Data]) -> list[Data]:
    """Return the readings that say that the dog is to be stood again."""
    return [
        one
        for one in readings
        if one["value"] is not None
        and abs(one["value"]) > atlas["measures"][one["measure"]].get("stand", math.inf)
    ]


def own_finding(atlas: Data, twice: Sequence[tuple[Data, Data, Data]]) -> dict[str, float]:
    """Return {mark: mm} how a person finds each mark: the SD per axis, as on a dog of 60 cm.

    From (photo, marks, marks set once more); of marks that were set twice on five photos or more.
    """
    found: dict[str, list[tuple[float, float]]] = {}
    for photo, *rounds in twice:
        one, other = (marked(atlas, photo, marks) for marks in rounds)
        if not all(mark in one.points for mark in frame_marks(photo["view"])):
            continue
        scale = one.frame(lens(photo)[0]).scale
        for mark in one.points.keys() & other.points.keys() - {"topline"}:
            found.setdefault(mark, []).extend(
                (
                    one.points[mark][axis] * FIND_AT / scale,
                    other.points[mark][axis] * FIND_AT / scale,
                )
                for axis in (0, 1)
            )
    return {
        mark: technical_error(pairs) for mark, pairs in found.items() if len(pairs) >= 2 * PAIRS
    }
