"""The ring clock's quantiles are scipy's, its collisions are integrated with it, and its range is
where the truth is; the phone is asked the same by tests/browser/test_vectors.py."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringside.domain.ringclock import HIGH, LOW, Seen, Stand, Tap, Turn, f_quantile, replay, turn
from tests.benchmarks.ring import A, B, Truth, coverage
from tests.ringclock_vectors import (
    VECTORS,
    collision_of,
    collisions,
    follow_of,
    follows,
    quantiles,
    shown,
    turn_of,
    turns,
)

NEAR = 1e-6
RINGS = 600
DATA: dict[str, list[dict[str, Any]]] = json.loads(
    (VECTORS / "ringclock.json").read_text(encoding="utf-8")
)


def test_the_vectors_are_what_scipy_gives() -> None:
    for name, made in (("quantiles", quantiles()), ("collisions", collisions())):
        assert len(DATA[name]) == len(made)
        for kept, wanted in zip(DATA[name], made, strict=True):
            assert kept["is"] == pytest.approx(wanted.pop("is"), abs=NEAR)
            assert kept.items() >= wanted.items()
    for name, made in (("turns", turns()), ("follows", follows())):
        assert [case["why"] for case in DATA[name]] == [case["why"] for case in made]


def test_quantiles_are_within_one_percent_of_scipy_stats_f() -> None:
    assert len(DATA["quantiles"]) == 455
    off = {
        case["why"]: abs(f_quantile(case["p"], case["k"], case["a"]) / case["is"] - 1)
        for case in DATA["quantiles"]
    }
    assert max(off.values()) < 0.01


def test_collisions_are_within_half_a_percent_of_integration() -> None:
    assert len(DATA["collisions"]) == 100
    off = {case["why"]: abs(collision_of(case) - case["is"]) for case in DATA["collisions"]}
    assert max(off.values()) <= 0.005


def test_turns_are_those_the_phone_is_held_to() -> None:
    for case in DATA["turns"]:
        assert shown(turn_of(case)) == pytest.approx(case["is"], abs=NEAR), case["why"]
    for case in DATA["follows"]:
        assert follow_of(case) == case["is"], case["why"]


@pytest.mark.parametrize("truth", [A, B], ids=["own model", "pauses"])
def test_four_turns_in_five_fall_into_the_range(truth: Truth) -> None:
    share, widths = coverage(truth, RINGS)
    assert 0.76 <= share <= 0.84
    assert widths == sorted(widths, reverse=True)


# --- what holds of every ring

PACES = st.sampled_from([1.6, 2.2, 3.0, 4.5])
STANDS = st.builds(
    Stand, st.lists(st.integers(0, 9), max_size=6).map(tuple), before=st.integers(0, 9)
)
WHATS = st.sampled_from(
    ["judged"] * 6 + ["absent", "paused", "goes on", "lunch", "begun", "posted"]
)
STEPS = st.lists(st.tuples(WHATS, st.floats(0, 40)), max_size=40)


def tapped(steps: list[tuple[Any, float]]) -> list[Tap]:
    at, taps = 600.0, []
    for what, wait in steps:
        at += wait
        taps.append(Tap(what, at, until=at + 10 if what == "posted" else None))
    return taps


@given(STANDS, PACES, STEPS, st.floats(0, 90), st.booleans())
def test_the_range_is_never_before_the_present(
    stand: Stand, pace: float, steps: list[tuple[Any, float]], wait: float, has_lunch: bool
) -> None:
    taps = tapped(steps)
    now = (taps[-1].at if taps else 590.0) + wait
    seen = replay(taps, stand.ends, now, (660.0, 700.0) if has_lunch else None)
    found = turn(stand, seen, pace, now, 600.0)
    low, high = found.quantile(LOW), found.quantile(HIGH)
    assert now <= low <= high < math.inf
    assert found.pace.unit > 0
    if found.left > 0 or (found.left == 0 and found.closings and found.pace.closing):
        assert low < high


@given(STANDS, PACES, st.lists(st.floats(0.2, 12), max_size=30), st.lists(st.floats(0, 3)))
def test_while_nobody_taps_the_range_does_not_go_back_in_time(
    stand: Stand, pace: float, dogs: list[float], waits: list[float]
) -> None:
    taps = [Tap("begun", 600.0), *tapped([("judged", wait) for wait in dogs])]
    seen, now, before = replay(taps, stand.ends, taps[-1].at), taps[-1].at, 0.0
    for wait in waits:
        now += wait
        low = turn(stand, seen, pace, now).quantile(LOW)
        assert low > before - 0.1  # minutes
        before = low


@given(STANDS, PACES, st.lists(st.floats(0.3, 1.4), max_size=40))
def test_the_range_narrows_with_each_dog_that_takes_no_longer_than_usual(
    stand: Stand, pace: float, speeds: list[float]
) -> None:
    seen, at = Seen(), 600.0
    seen.take(Tap("begun", at), stand.ends)
    found = turn(stand, seen, pace, at)
    for speed in speeds:
        closed = sum(seen.mark <= end <= seen.dogs for end in stand.ends)
        at += speed * found.pace.unit * (1 + closed * found.pace.closing)
        seen.take(Tap("judged", at), stand.ends)
        after = turn(stand, seen, pace, at)
        assert width(after) <= width(found) + NEAR
        found = after


def width(found: Turn) -> float:
    return found.quantile(HIGH) - found.quantile(LOW)


@given(STANDS, PACES, STEPS)
def test_undo_is_as_if_it_was_never_tapped(
    stand: Stand, pace: float, steps: list[tuple[Any, float]]
) -> None:
    """Taps are replayed, in whichever order they arrive."""
    taps = tapped(steps)
    for kept in (taps, taps[:-1]):
        one = replay(kept, stand.ends, 3_000.0)
        assert one == replay(list(reversed(kept)), stand.ends, 3_000.0) or ties(kept)


def ties(taps: list[Tap]) -> bool:
    return len({tap.at for tap in taps}) < len(taps)


# --- single cases


def test_a_class_list_and_a_count_alone_tell_of_the_same_number_of_dogs() -> None:
    listed, alone = Stand((4, 4, 4), 2), Stand((), 14)
    for stand in (listed, alone):
        found = turn(stand, Seen(has_begun=True), 3.0, 600.0)
        assert found.left == 14
        assert found.quantile(0.5) == pytest.approx(600 + 14 * 0.92 * 3, abs=5)


def test_lunch_is_added_once_and_is_no_slow_dog() -> None:
    stand = Stand((), 10)
    taps = [Tap("begun", 600.0), Tap("judged", 603.0), Tap("lunch", 604.0), Tap("goes on", 650.0)]
    seen = replay(taps, stand.ends, 652.0, (605.0, 645.0))
    assert (seen.lunch, seen.out, seen.rest) == (None, None, 46.0)
    seen = replay([*taps, Tap("judged", 652.0)], stand.ends, 652.0)
    assert [minutes for minutes, _ in seen.spans] == [3.0, 3.0]
    planned = turn(stand, replay(taps[:2], (), 603.0, (620.0, 660.0)), 3.0, 603.0)
    plain = turn(stand, replay(taps[:2], (), 603.0), 3.0, 603.0)
    assert planned.quantile(HIGH) == pytest.approx(plain.quantile(HIGH) + 40)


def test_a_printed_time_is_never_early_and_what_comes_after_is_added() -> None:
    stand = Stand((2, 3), 2, floors=((2, 700.0),))
    found = turn(stand, Seen(has_begun=True), 2.0, 600.0)
    assert found.quantile(LOW) > 700
    late = replay([Tap("judged", 699.0, dogs=2), Tap("judged", 705.0)], stand.ends, 705.0)
    assert turn(stand, late, 2.0, 705.0).quantile(LOW) > 705


def test_an_entry_that_was_in_has_nothing_ahead() -> None:
    seen = replay([Tap("judged", 600.0, dogs=3)], (), 601.0)
    found = turn(Stand((), 2), seen, 2.0, 601.0)
    assert (found.left, found.quantile(HIGH)) == (-1, 601.0)
