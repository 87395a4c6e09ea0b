"""What the standards ask of a breed that can be measured on photos.

Numbers of the breed files have names of many kinds; knowledge/photo/asks.toml says which measure
each is held against. Where a line does not name the end of the body it means, both readings stand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from ringside.domain.limits import told_of
from ringside.knowledge.photo_schema import Asked, PhotoFile
from ringside.knowledge.schema import Ask, Breed, Number

Data = dict[str, Any]

LENGTHS = ("cm", "in", "mm", "dm²")
_TURN: Mapping[str, Callable[[float], float]] = {
    "as it is": lambda x: x,
    "inverse": lambda x: 1 / x,
    "excess": lambda x: 1 + x,
    "share": lambda x: x / (1 + x),
    "other share": lambda x: 1 / (1 + x),
    "rest": lambda x: 1 - x,
    "off upright": lambda x: 90 - x,
}
_FALLS = ("inverse", "other share", "rest", "off upright")
_PLACES = 4


def proportions(file: PhotoFile, breed: Breed | None) -> list[Data]:
    """Return what is asked of a breed, of both sexes and all varieties.

    Each is {"measures", "low", "high", "of", "weight", "says", "source"}, in the measure's unit,
    without a bound that is open; with "read", "sex" and "variety" as limits have them.
    """
    if breed is None:
        return []
    of = {standard.id: standard for standard in breed.standard}
    return [
        {**_band(file, asked, ask, ask.number), **told_of(ask, ask.number, of[ask.standard])}
        for ask in breed.ask
        if ask.number and (asked := asked_by(file, ask.number))
    ]


def asked_by(file: PhotoFile, number: Number) -> Asked | None:
    """Return what a number of a breed file is held against; None if it cannot be measured."""
    if number.unit in LENGTHS:
        return None
    exact = f"{number.what} ({number.unit})"
    found = {what: asked for asked in file.asked for what in asked.what}
    return found.get(exact) or found.get(number.what)


def _band(file: PhotoFile, asked: Asked, ask: Ask, number: Number) -> Data:
    turn = _TURN[asked.turn]
    share = 0.01 if number.unit.startswith(("%", "per")) else 1
    bounds = [
        None if value is None else round(turn(value * share), _PLACES)
        for value in (number.low, number.high)
    ]
    if asked.turn in _FALLS:
        bounds.reverse()
    told = dict(zip(("low", "high"), bounds, strict=True))
    return {
        "measures": list(_measures(file, asked, ask)),
        **{name: value for name, value in told.items() if value is not None},
    }


def _measures(file: PhotoFile, asked: Asked, ask: Ask) -> tuple[str, ...]:
    """Return the measures that are meant: one, where the line names its end."""
    says = ask.says.casefold()
    named = [
        end.measure
        for end in file.end
        if end.measure in asked.measures and any(word in says for word in end.words)
    ]
    return (named[0],) if len(named) == 1 else asked.measures
