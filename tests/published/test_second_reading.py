"""Forty breed files against a second reading of their texts (see the table's head)."""

from __future__ import annotations

import random
import re
import tomllib
from typing import Any

import pytest

from ringside.knowledge.schema import Ask, Breed
from tests.known import shipped
from tests.support import ROOT

TABLE = ROOT / "tests" / "published" / "second_reading.toml"
READ: dict[str, Any] = tomllib.loads(TABLE.read_text(encoding="utf-8"))
BREEDS = shipped().breeds
SEED, DRAWN = 20261128, 40
WEIGHTS = {"out": ("disqualifying",), "serious": ("serious",), "fault": ("fault",)}
POINTS = {"bite": ("bite",), "colour": ("colour", "coat")}
WANTED = ("required", "preferred")
WHAT = {"cm": "height at withers", "in": "height at withers", "kg": "weight"}


def asks_of(breed: Breed) -> list[Ask]:
    of_fci = {standard.id for standard in breed.standard if standard.of == "FCI"}
    return [ask for ask in breed.ask if ask.standard in of_fci]


def test_the_breeds_were_drawn_by_lot() -> None:
    names = [key for key, breed in sorted(BREEDS.profiles.items()) if breed.fci_number]
    assert list(READ) == random.Random(SEED).sample(names, DRAWN)


@pytest.mark.parametrize("key", READ)
def test_number_and_date(key: str) -> None:
    text = next(it for it in BREEDS[key].standard if it.of == "FCI")
    assert (text.number, text.date) == (READ[key]["number"], READ[key]["date"])


@pytest.mark.parametrize("key", READ)
def test_sizes(key: str) -> None:
    asks = [ask for ask in asks_of(BREEDS[key]) if ask.weight in WANTED]
    for sex, low, high, unit, *about in READ[key].get("size", []):
        held = [
            ask.number
            for ask in asks
            if ask.number
            and ask.number.what == WHAT[unit]
            and ask.number.unit == unit
            and ask.number.sex in (sex, "both")
        ]
        if about:
            assert not held
            spoken = [ask.says for ask in asks if str(low) in ask.says]
            assert spoken, (sex, low)
        else:
            told = [(number.low, number.high) for number in held]
            assert (low or None, high or None) in told, (sex, told)


@pytest.mark.parametrize("key", READ)
@pytest.mark.parametrize("kind", [*WEIGHTS, *POINTS])
def test_what_the_text_names_is_an_ask(key: str, kind: str) -> None:
    weights, points = WEIGHTS.get(kind, WANTED), POINTS.get(kind)
    lines = [
        f"{ask.point}: {ask.says}"
        for ask in asks_of(BREEDS[key])
        if ask.weight in weights and (points is None or ask.point in points)
    ]
    missing = [
        pattern
        for pattern in READ[key].get(kind, [])
        if not any(re.search(pattern, line, re.IGNORECASE) for line in lines)
    ]
    assert not missing, lines
