"""How much of a card is told in the texts of each body, and where one line of what is asked lacks.

Pure counting: that a line is there says nothing about whether it is right.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import get_args

from ringside.knowledge.schema import Body, Breed, GlanceStation, Point, Station

POINTS: tuple[Point, ...] = get_args(Point)
# All that move share one line and one point.
_MOVEMENT: tuple[Point, ...] = ("movement",)


def points_read(breed: Breed) -> Mapping[Body, int]:
    """Return how many points of the card have an ask that was read, for each body of the file.

    Read means in a copy of the body's text or in a second-hand account of it, not from memory.
    """
    of = {standard.id: standard.of for standard in breed.standard}
    read = {(of[ask.standard], ask.point) for ask in breed.ask if ask.read != "memory"}
    counts = Counter(body for body, _ in read)
    return {body: counts[body] for body in get_args(Body) if body in of.values()}


def without_glance(breeds: Iterable[Breed], stations: Mapping[str, Station]) -> Mapping[str, int]:
    """Return for each station the number of breeds that have asks there but no glance line.

    The FCI's line serves all bodies. Of a breed that the FCI has no standard of, any body's does.
    """
    missing = Counter(station for breed in breeds for station in _lacking(breed, stations))
    return {station: missing[station] for station in get_args(GlanceStation)}


def _lacking(breed: Breed, stations: Mapping[str, Station]) -> Iterator[str]:
    of = {standard.id: standard.of for standard in breed.standard}
    is_fci = "FCI" in of.values()
    asked = {ask.point for ask in breed.ask if not is_fci or of[ask.standard] == "FCI"}
    lines = [breed.glance.get("fci", {})] if is_fci else [*breed.glance.values()]
    told = {station for of_body in lines for station in of_body}
    for station in get_args(GlanceStation):
        points = stations[station].points if station in stations else _MOVEMENT
        if asked & set(points) and station not in told:
            yield station
