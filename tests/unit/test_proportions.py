"""Numbers of the breed files are held against what is measured on photos, by one table."""

from __future__ import annotations

from collections import Counter

import pytest

from ringside.domain.proportions import LENGTHS, asked_by, proportions
from ringside.knowledge.loader import Knowledge
from tests.known import shipped_whole

SIZES = ("weight", "height at withers")
MEASURED = 678  # of 1,356 numbers beside sizes; of the others 227 are lengths alone


@pytest.fixture(scope="module")
def known() -> Knowledge:
    return shipped_whole()


def test_every_number_is_measured_or_has_a_reason_why_not(known: Knowledge) -> None:
    why = {what: one.why for one in known.photo.not_asked for what in one.what}
    found: Counter[str] = Counter()
    unexplained = set()
    for breed in known.breeds.values():
        for ask in breed.ask:
            if ask.number is None or ask.number.what in SIZES:
                continue
            if asked_by(known.photo, ask.number):
                found["measured"] += 1
            elif ask.number.unit in LENGTHS:
                found["length alone"] += 1
            elif ask.number.what in why:
                found["neither"] += 1
            else:
                unexplained.add((ask.number.what, ask.number.unit))
    assert not unexplained, f"name them in knowledge/photo/asks.toml: {sorted(unexplained)}"
    assert found["measured"] >= MEASURED


def test_the_table_names_nothing_that_no_breed_asks(known: Knowledge) -> None:
    used = {
        name
        for breed in known.breeds.values()
        for ask in breed.ask
        if ask.number
        for name in (ask.number.what, f"{ask.number.what} ({ask.number.unit})")
    }
    named = {what for one in (*known.photo.asked, *known.photo.not_asked) for what in one.what}
    assert named - used == set()


@pytest.mark.parametrize(
    ("breed", "says", "measures", "low", "high"),
    [
        ("leonberger", "Height to body length as 9 to 10.", 2, 1.1111, 1.1111),
        ("german-shepherd-dog", "Body is 10 to 17 percent", 2, 1.10, 1.17),
        ("golden-retriever", "Length from breastbone to buttock", 1, 1.091, 1.091),
        ("australian-cattle-dog", "Length to height as 10 to 9", 1, 1.11, 1.11),
        ("borzoi", "Elbow height slightly more than half", 1, 0.5, None),
        ("deutsch-stichelhaar", "Elbow to ground slightly more than elbow", 1, 0.5, None),
        ("portuguese-water-dog", "Height is twice the depth", 1, 0.5, 0.5),
        ("hokkaido", "Skull to nose bridge as 3 to 2.", 1, 0.6667, 0.6667),
        ("portuguese-pointing-dog", "Skull at most six tenths of the head", 1, 0.4, None),
        ("yugoslavian-shepherd-dog-sharplanina", "Skull to muzzle as 57 to 43.", 1, 0.43, 0.43),
        ("xoloitzcuintle", "Axis 50 to 80 degrees", 1, 10, 40),
        ("majorca-shepherd-dog", "Croup over 3 percent higher", 1, None, 1.03),
    ],
)
def test_a_number_becomes_the_measures_own(
    known: Knowledge, breed: str, says: str, measures: int, low: float | None, high: float | None
) -> None:
    asks = proportions(known.photo, known.breeds[breed])
    found = next(ask for ask in asks if ask["says"].startswith(says))
    assert len(found["measures"]) == measures
    assert (found.get("low"), found.get("high")) == pytest.approx((low, high), abs=2e-3)


def test_two_readings_stand_only_where_the_line_names_no_end(known: Knowledge) -> None:
    for breed in known.breeds.values():
        for ask in proportions(known.photo, breed):
            names_end = any(
                word in ask["says"].casefold() for end in known.photo.end for word in end.words
            )
            assert len(ask["measures"]) == 1 or not names_end, ask


def test_a_dog_of_no_breed_is_asked_nothing(known: Knowledge) -> None:
    assert proportions(known.photo, None) == []
