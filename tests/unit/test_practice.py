"""What marks of practice come to is what scipy and numpy give; the phone is asked the same by
tests/browser/test_vectors.py."""

from __future__ import annotations

import json
import random
from dataclasses import asdict, astuple
from typing import Any, get_args

import pytest

from ringside.domain.practice import (
    FORGOTTEN,
    GRADES,
    HANDS,
    Mark,
    Place,
    Readiness,
    State,
    Sums,
    beta_quantile,
    beta_share,
    is_mark,
    next_session,
    pack_practice,
    readiness,
    ready_words,
    state_of,
    strictness,
    sums_of,
)
from ringside.knowledge.schema import FROM_MEMORY
from tests.known import shipped
from tests.practice_vectors import (
    CASES,
    SESSIONS,
    VECTORS,
    counted,
    edges,
    histories,
    sessions,
    shares,
)

NEAR = 1e-6
DATA: dict[str, list[dict[str, Any]]] = json.loads(
    (VECTORS / "practice.json").read_text(encoding="utf-8")
)


def sums(case: dict[str, Any]) -> Sums:
    return sums_of(Mark(*mark) for mark in case["marks"])


def test_the_vectors_are_what_scipy_gives() -> None:
    assert (DATA["edges"], DATA["counted"]) == (edges(), counted())
    for name, made in (("shares", shares()), ("marks", histories()), ("sessions", sessions())):
        assert len(DATA[name]) == len(made) == (SESSIONS if name == "sessions" else CASES)
        for kept, wanted in zip(DATA[name], made, strict=True):
            for part, value in wanted.items():
                close = isinstance(value, dict | float)
                assert kept[part] == (pytest.approx(value, abs=NEAR) if close else value)


def test_the_beta_distribution_is_scipys() -> None:
    for case in DATA["shares"]:
        a, b = case["a"], case["b"]
        assert beta_share(case["x"], a, b) == pytest.approx(case["share"], abs=NEAR), case["why"]
        assert beta_quantile(0.05, a, b) == pytest.approx(case["low"], abs=NEAR), case["why"]
        assert beta_quantile(0.95, a, b) == pytest.approx(case["high"], abs=NEAR), case["why"]
    assert (beta_share(0, 2, 2), beta_share(1, 2, 2)) == (0, 1)


def test_readiness_is_what_all_marks_come_to() -> None:
    for case in DATA["marks"]:
        for name, stranger in (("is", False), ("stranger", True)):
            found = readiness(sums(case), case["now"], stranger)
            assert asdict(found) == pytest.approx(case[name], abs=NEAR), case["why"]
            if not stranger:
                assert state_of(found) == case["state"], case["why"]
                assert ready_words(found) == case["words"], case["why"]


def test_how_a_station_stands_is_said_by_bars_that_both_languages_know() -> None:
    for case in DATA["edges"]:
        found = Readiness(**case["found"], lacking=0.5)
        assert (state_of(found), ready_words(found)) == (case["state"], case["words"]), case["why"]
    for cases in (DATA["marks"], DATA["edges"]):
        assert {case["state"] for case in cases} == {*get_args(State)}


def test_half_marks_and_such_as_are_to_come_do_not_count() -> None:
    for case in DATA["counted"]:
        assert is_mark(case["grade"], case["at"], case["now"]) is case["is"], case["why"]


def test_the_next_session_is_the_one_that_is_needed() -> None:
    for case in DATA["sessions"]:
        places = [
            Place(one["id"], one["counts"], sums(one), one["phase"], one["named"])
            for one in case["places"]
        ]
        found = next_session(places, 0)
        assert list(found.work) == case["work"], case["why"]
        assert (found.end, found.hands) == (case["end"], case["hands"]), case["why"]


def test_ten_years_of_marks_cost_one_decay_and_lose_nothing() -> None:
    """The sums of thousands of marks, in any order, are those of the marks weighed one by one."""
    chance = random.Random(10)
    marks = [
        Mark(day, chance.choice(list(GRADES)), chance.choice([*HANDS, None]))
        for day in range(-3_650, 0)
    ]
    shuffled = random.Random(11).sample(marks, len(marks))
    one, other = sums_of(marks), sums_of(shuffled)
    assert astuple(one) == pytest.approx(astuple(other), rel=1e-9)
    weights = [2 ** (mark.at / 30) for mark in marks]
    assert one.on(0).n == pytest.approx(sum(weights), rel=1e-9)
    assert one.on(0).y == pytest.approx(
        sum(w * GRADES[mark.grade] for w, mark in zip(weights, marks, strict=True)), rel=1e-9
    )


@pytest.mark.parametrize(("old", "new"), [("not yet", "easy"), ("easy", "not yet")])
def test_what_is_forgotten_would_change_nothing_that_anybody_sees(old: Any, new: Any) -> None:
    """Ten years of marks a day, the old ones all of one grade and the others of another."""
    days = range(-3_650, 1)
    marks = [Mark(day, new if day >= -FORGOTTEN else old) for day in days]
    whole, late = (
        readiness(sums_of(some), 0)
        for some in (marks, [mark for mark in marks if mark.at >= -FORGOTTEN])
    )
    assert len(marks) > 6 * FORGOTTEN
    assert asdict(late) == pytest.approx(asdict(whole), abs=1e-4)
    assert late.mean == pytest.approx(whole.mean, abs=1e-6)
    assert ready_words(late) == ready_words(whole)


def test_a_mark_of_the_morrow_weighs_no_more_than_one_of_today() -> None:
    """A phone whose clock was a day ahead."""
    assert readiness(sums_of([Mark(1, "easy")]), 0) == readiness(sums_of([Mark(0, "easy")]), 0)


def test_a_station_counts_by_its_weightiest_ask() -> None:
    assert strictness([]) == 1
    assert strictness(["preferred", "fault"]) == 1
    assert strictness(["fault", "serious", "required"]) == 1.25
    assert strictness(["serious", "disqualifying"]) == 1.5


def test_the_phone_is_given_a_call_for_each_station_and_a_pace_for_each_body() -> None:
    known = shipped()
    given = pack_practice(known)
    assert {call["station"] for call in given["call"]} == set(known.stations)
    assert {pace["body"] for pace in given["pace"]} == set(known.regulations and known.titles.kinds)
    assert FROM_MEMORY not in {line["source"] for part in given.values() for line in part}


def test_what_is_said_of_practice_promises_and_diagnoses_nothing() -> None:
    """Weak evidence says that it may help; where a dog can be hurt, a vet decides."""
    file = shipped().practice
    assert all("may help" in one.says for one in file.evidence if one.weak)
    hurt = [one.text for one in file.care if "break" in one.text or "guards" in one.text]
    assert hurt
    assert all("vet" in text for text in hurt)
