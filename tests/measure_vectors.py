"""Make the vectors of measuring photos anew: markings by chance, and what Python says of them.

    python -m tests.measure_vectors

Both ends are held to them: ringside/domain/measure.py by tests/unit/test_measure.py, the phone's
core/measure.js by tests/browser/test_vectors.py, and by a thousand markings more that it makes when
it runs.
"""

from __future__ import annotations

import json
import math
import random
from functools import cache
from typing import Any

from ringside.domain.agreement import least_change, technical_error
from ringside.domain.measure import (
    combined,
    is_puppy,
    own_finding,
    readings,
    stance,
    verdict,
    withheld,
)
from ringside.domain.photo import photo_book
from ringside.knowledge import load
from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
FEW = 12
LENSES = ((26, 1), (52, 1), (26, 2), (None, None), (77, 1), (13, 1))
Case = dict[str, Any]


@cache
def atlas() -> Case:
    """The atlas as the phone gets it."""
    told: Case = json.loads(json.dumps(photo_book(load())))
    return told


def photo_by(chance: random.Random, view: str) -> Case:
    """A photo of the view, of some size, through some lens."""
    width, height = chance.choice(((2048, 1536), (1536, 2048), (1600, 1200), (1024, 683)))
    focal35, zoom = chance.choice(LENSES)
    kinds = {"view": view, "facing": chance.choice(("left", "right", None))}
    size = {"width": width, "height": height, "focal35": focal35, "zoom": zoom}
    return {**kinds, **size, "hides": chance.random() < 0.2, "stickers": chance.random() < 0.5}


def marks_by(chance: random.Random, photo: Case, unseen: float = 0.04) -> Case:
    """Marks about where the atlas expects them, of a dog that faces as the photo says."""
    marks: Case = {}
    rolled = chance.uniform(-0.1, 0.1)
    builds: dict[str, int] = {}
    for mark in atlas()["views"][photo["view"]]["marks"]:
        places = atlas()["marks"][mark].get("at", {}).get(photo["view"])
        if not places:
            continue
        build = builds.setdefault("build", chance.randrange(len(places)))
        x, y = list(places.values())[build]
        x, y = x + chance.gauss(0, 0.01), y + chance.gauss(0, 0.01)
        x = 1 - x if photo["facing"] == "right" else x
        x, y = x + rolled * (y - 0.5), y - rolled * (x - 0.5)
        how = chance.choice(("eye", "eye", "sticker"))
        seen = chance.random() >= unseen
        marks[mark] = [round(x, 5), round(y, 5), how] if seen else None
    ends = marks.get("withers"), marks.get("tail-set")
    if all(ends):
        marks["topline"] = topline_by(chance, *ends)
    return marks


def topline_by(chance: random.Random, start: list[Any], end: list[Any]) -> list[Any]:
    """Thirteen points of an outline between two marks."""
    bow = chance.uniform(-0.02, 0.03)
    parts = [(at + 1) / 14 for at in range(13)]
    line = []
    for s in parts:
        rise = bow * math.sin(math.pi * s) + chance.gauss(0, 0.001)
        x, y = (a + s * (b - a) for a, b in zip(start[:2], end[:2], strict=True))
        line.append([round(x, 5), round(y - rise, 5), chance.choice(("seam", "eye"))])
    return line


def marking_by(chance: random.Random) -> Case:
    """A photo with its marks, perhaps a height, perhaps how the person finds marks."""
    photo = photo_by(chance, chance.choice(("side", "side", "side", *atlas()["views"])))
    marks = marks_by(chance, photo)
    tem = {mark: round(chance.uniform(0.5, 9), 2) for mark in marks if chance.random() < 0.3}
    height = chance.choice((None, 25, 60, 78))
    return {"photo": photo, "marks": marks, "height": height, "tem": tem or None}


def readings_of(case: Case) -> list[Case]:
    """What Python says of a marking."""
    return readings(atlas(), case["photo"], case["marks"], case["height"], case["tem"])


def ask_by(chance: random.Random, value: float | None) -> Case:
    """Something that may be asked of a value."""
    about = value or 1.0
    low, high = sorted(round(about * chance.uniform(0.9, 1.1), 3) for _ in range(2))
    return chance.choice(
        ({"low": low, "high": high}, {"low": low}, {"high": high}, {"low": low, "high": low})
    )


def series_by(chance: random.Random) -> Case:
    """Three photos of one dog, with what is asked of it."""
    first = marking_by(chance)
    taken = [{**first, "marks": marks_by(chance, first["photo"], 0.1)} for _ in range(3)]
    one = combined([readings_of(case) for case in taken])
    months = chance.choice((None, 7, 12, 40))
    asks = [ask_by(chance, reading["value"]) for reading in one]
    words = [verdict(reading, ask, months) for reading, ask in zip(one, asks, strict=True)]
    told = {"taken": taken, "months": months, "asks": asks}
    return {**told, "is": one, "words": words, "stand": stance(atlas(), readings_of(taken[0]))}


def twice_by(chance: random.Random) -> Case:
    """A person who marks some photos twice."""
    photo = photo_by(chance, chance.choice(("side", "head-side")))
    rounds = [
        [photo, marks_by(chance, photo), marks_by(chance, photo)]
        for _ in range(chance.choice((4, 5, 7)))
    ]
    pairs = [[chance.uniform(0.9, 1.1), chance.uniform(0.9, 1.1)] for _ in range(6)]
    tem = technical_error([(one, other) for one, other in pairs])
    found = own_finding(atlas(), [(one, two, three) for one, two, three in rounds])
    return {
        **{"rounds": rounds, "pairs": pairs, "finding": dict(sorted(found.items()))},
        **{"tem": tem, "least": least_change(tem)},
    }


def face_by(chance: random.Random, about: float, u: float) -> Case:
    """Readings of a head whose muzzle to skull is `about` so much, and what is said of them."""

    def reading(measure: str, value: float | None) -> Case:
        return {"measure": measure, "class": 1, "value": value, "u": u, "why": None}

    is_seen = chance.random() < 0.9
    values = {"muzzle-skull": about, "muzzle-head": round(about / (1 + about), 4), "ear-lean": 20.0}
    told = [
        reading(name, None if name == "muzzle-skull" and not is_seen else value)
        for name, value in values.items()
    ]
    months = chance.choice((None, 7, 11.5, 12, 40))
    asks = [ask_by(chance, one["value"]) for one in told]
    aside = withheld(atlas(), told)
    words = [verdict(one, ask, months, aside) for one, ask in zip(told, asks, strict=True)]
    case = {"readings": told, "asks": asks, "months": months, "puppy": is_puppy(months)}
    return {**case, "withheld": aside, "words": words}


def faces() -> list[Case]:
    """Heads about the share of the skull from which a word is said, and far from it."""
    chance = random.Random(50)
    return [
        face_by(chance, round(0.5 + 2 * u + off, 4), u)
        for u in (0.01, 0.04)
        for off in (-0.3, -0.02, -0.001, 0.001, 0.02, 0.3)
        for _ in range(2)
    ]


def made() -> dict[str, list[Case]]:
    """All parts of the file."""
    chance = random.Random(14)
    markings = [marking_by(chance) for _ in range(FEW)]
    parts = {
        "markings": [{**case, "is": readings_of(case)} for case in markings],
        "series": [series_by(chance) for _ in range(FEW // 2)],
        "twice": [twice_by(chance) for _ in range(3)],
        "faces": faces(),
    }
    return {
        name: [{"why": f"{name} {at}", **case} for at, case in enumerate(cases)]
        for name, cases in parts.items()
    }


def main() -> None:
    """Write the file."""
    parts = (
        f'"{name}":[\n'
        + ",\n".join(json.dumps(one, separators=(",", ":")) for one in cases)
        + "\n]"
        for name, cases in made().items()
    )
    (VECTORS / "measure.json").write_text("{" + ",\n".join(parts) + "}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
