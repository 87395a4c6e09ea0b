"""The sizes that the standards name for one dog, and how a measure stands to them.

The phone compares in the same way, static/js/core/limits.js; tests/vectors/rules/limits.json holds
the two together. Measures are plain data as records hold them, {"what", "value", "unit", "day"},
newest first; a half record (no value, no day, a unit of another kind) is none.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from math import floor
from typing import Any

from ringside.domain.days import say_day
from ringside.domain.says import Saying
from ringside.domain.varieties import choices, holds
from ringside.knowledge.schema import Ask, Breed, Number, Sex, Standard

Data = dict[str, Any]

# The measures a handler can take at home, by what the breed files call them.
MEASURES = {"weight": "weight", "height at withers": "height"}
UNITS: Mapping[str, Sequence[str]] = {"weight": ("kg", "lb"), "height": ("cm", "in")}
# In kilograms and centimetres: the yard and pound of 1959.
_SCALE: Mapping[str, float] = {"kg": 1, "lb": 0.45359237, "cm": 1, "in": 2.54}
_SLACK = 1e-6


def limits(breed: Breed | None, sex: Sex | None, variety: str = "") -> list[Data]:
    """Return the weight and height limits of all bodies for a dog of this breed, sex and choice.

    Each is {"what", "low", "high", "unit", "of", "weight", "says", "source"}, with "read" where it
    was not read in a copy and, where no other body disqualifies by a measure, "only": true.
    Bounds and units are the standard's own; a missing bound is open. Limits of a variety hold for
    a dog that was chosen to be of it: which one a dog is entered as is the handler's to say.
    """
    names = choices(breed).get(variety, ()) if breed else ()
    return limits_of(all_limits(breed), sex, names)


def limits_of(every: Sequence[Data], sex: Sex | None, names: Collection[str]) -> list[Data]:
    """Return those of a breed's limits that hold for one sex and the varieties called `names`."""
    mine = [
        {name: value for name, value in one.items() if name not in ("sex", "variety")}
        for one in every
        if holds(one, sex) and ("variety" not in one or one["variety"] in names)
    ]
    barring = {one["of"] for one in mine if one["weight"] == "disqualifying"}
    for one in mine:
        if one["weight"] == "disqualifying" and barring == {one["of"]}:
            one["only"] = True
    return mine


def all_limits(breed: Breed | None) -> list[Data]:
    """Return the limits of both sexes and all varieties, with the "sex" or "variety" of each."""
    if breed is None:
        return []
    of = {standard.id: standard for standard in breed.standard}
    return [
        _limit(ask, ask.number, of[ask.standard])
        for ask in breed.ask
        if ask.number and ask.number.what in MEASURES
    ]


def _limit(ask: Ask, number: Number, standard: Standard) -> Data:
    return {
        "what": MEASURES[number.what],
        "unit": number.unit,
        **{
            bound: value
            for bound in ("low", "high")
            if (value := getattr(number, bound)) is not None
        },
        **told_of(ask, number, standard),
    }


def told_of(ask: Ask, number: Number, standard: Standard) -> Data:
    """Return what is told of a number that a standard asks for, and of which dogs it asks it."""
    date = f", {standard.date}" if standard.date else ""
    data: Data = {
        "of": standard.of,
        "weight": ask.weight,
        "says": ask.says,
        "source": f"{standard.body}: {standard.title}{date}",
    }
    if ask.read != "copy":
        data["read"] = ask.read
    if number.sex != "both":
        data["sex"] = number.sex
    if ask.variety:
        data["variety"] = ask.variety
    return data


def in_unit(value: float, given: str, wanted: str) -> float:
    """Return a measure in another unit of its kind."""
    return value * _SCALE[given] / _SCALE[wanted]


def beyond(limit: Data, value: float) -> float:
    """Return by how much a value is over a limit, or under it (less than 0); 0 within."""
    low, high = limit.get("low"), limit.get("high")
    if high is not None and value > high + _SLACK:
        return float(value - high)
    if low is not None and value < low - _SLACK:
        return float(value - low)
    return 0


def newest(measures: Sequence[Data], what: str) -> Data | None:
    """Return the newest whole measure of one kind."""
    whole = (
        one
        for one in measures
        if one.get("what") == what
        and one.get("value") is not None
        and one.get("day")
        and one.get("unit") in UNITS[what]
    )
    return next(whole, None)


def limit_state(limit: Data, measures: Sequence[Data]) -> Data:
    """Return how a limit stands: {"state", "words", "more"} (sayings).

    "wrong" is beyond a limit that disqualifies, "off" beyond another, else "right" or "unknown".
    """
    what, of, is_bar = limit["what"], limit["of"], limit["weight"] == "disqualifying"
    asked = [{"says": "limit", "of": of, "ask": limit["says"]}]
    if is_bar:
        asked.append({"says": "bars-only" if limit.get("only") else "bars", "of": of})
    last = newest(measures, what)
    if last is None:
        return {"state": "unknown", "words": {"says": f"{what}-unknown"}, "more": asked}
    value, unit = last["value"], last["unit"]
    day = say_day(date.fromisoformat(last["day"]))
    more = [{"says": "measured", "value": tidy(value), "unit": unit, "day": day}, *asked]
    off = beyond(limit, in_unit(value, unit, limit["unit"]))
    if off == 0:
        return {"state": "right", "words": {"says": f"{what}-right", "of": of}, "more": more}
    side = "over" if off > 0 else "under"
    by = {"by": tidy(in_unit(abs(off), limit["unit"], unit)), "unit": unit, "of": of}
    if is_bar:
        return {"state": "wrong", "words": {"says": f"{what}-{side}", **by}, "more": more}
    return {"state": "off", "words": {"says": side, **by}, "more": [*more, {"says": "no-bar"}]}


def limit_source(limit: Data) -> list[Saying]:
    """Return where a limit comes from (sayings)."""
    read = limit.get("read", "copy")
    caveat = [] if read == "copy" else [{"says": f"text-{read}"}]
    return [{"says": "source", "source": limit["source"]}, *caveat, {"says": "own-words"}]


def tidy(number: float) -> str:
    """Return a number to one place, or to two where one place would make it nothing."""
    places = 100 if number < 0.05 else 10
    shown = max(floor(number * places + 0.5) / places, 0.01)
    return str(int(shown)) if shown == int(shown) else str(shown)
