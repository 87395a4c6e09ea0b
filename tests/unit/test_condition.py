"""The forecast of a weight: figures as numpy and scipy have them, words as vectors by hand."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest

from ringside.domain.condition import fit, half_width, outlook, t_of
from ringside.domain.condition_words import CONDITION
from ringside.domain.says import sentence
from tests.condition_vectors import CASES, FILE, foretold, quantiles, weighed

NEAR = 1e-6
DATA = json.loads(FILE.read_text(encoding="utf-8"))
OUTLOOKS = json.loads(FILE.with_name("outlook.json").read_text(encoding="utf-8"))["cases"]


def test_the_plain_formula_is_that_of_numpy_and_scipy() -> None:
    assert len(DATA["cases"]) == len(weighed()) == CASES
    for case in DATA["cases"]:
        assert case["is"] == pytest.approx(foretold(case), rel=NEAR), case["why"]
        line = fit([(day, weight) for day, weight in case["points"]])
        found = {
            "slope": line.slope,
            "at": line.at(case["day"]),
            "half": half_width(line, case["day"], case["share"]),
        }
        assert found == pytest.approx(case["is"], rel=NEAR, abs=1e-12), case["why"]


def test_the_quantiles_are_those_of_scipy() -> None:
    for case, fresh in zip(DATA["quantiles"], quantiles(), strict=True):
        assert case["t"] == pytest.approx(fresh["t"], rel=NEAR)
        assert t_of(case["share"], case["freedom"]) == pytest.approx(case["t"], rel=NEAR)


@pytest.mark.parametrize("case", OUTLOOKS, ids=lambda case: case["why"])
def test_what_is_told_of_a_dog(case: dict[str, Any]) -> None:
    names = ("show", "born", "state", "score", "limits")
    found = outlook(case["weighings"], **{name: case[name] for name in names})
    assert near(found) == case["is"]


def near(told: Any) -> Any:
    """What is told, with numbers that equal others of six places."""
    if isinstance(told, dict):
        return {name: near(value) for name, value in told.items()}
    return pytest.approx(told, rel=NEAR) if isinstance(told, float) else told


def test_every_saying_can_be_said_and_every_refusal_is_met() -> None:
    met = set()
    for case in OUTLOOKS:
        told = case["is"]
        target = told["target"] or {}
        for saying in filter(None, [told["why"], *told["flags"], target.get("words")]):
            assert "{" not in sentence(CONDITION, saying)
            met.add(saying["says"])
    about_the_range = {"will-weigh", "will-weigh-about", "how-sure"}
    assert met | about_the_range | {"within", "over", "under", "open"} == set(CONDITION)


def test_the_range_is_wider_and_the_slope_slower_than_the_formula_says() -> None:
    """By hand: weights on a line and an even scatter about it, ten days ahead."""
    off = (0.02, -0.02, -0.02, 0.02)
    weights = [10 - 0.01 * 7 * week + off[week] for week in range(4)]
    first = date(2026, 3, 1)
    weighings = [
        {"what": "weight", "value": value, "unit": "kg", "day": str(first + timedelta(7 * week))}
        for week, value in enumerate(weights)
    ]
    found = outlook(weighings, show=str(first + timedelta(31)))["forecast"]
    # 28·(1 − e^(−10/28)) = 8.4089 days' worth of 10 g a day off the line's 9.79 kg.
    assert found["kg"] == pytest.approx(9.79 - 0.084089, abs=1e-5)
    # t of 0.8 with 2 degrees: 1.8856; s = √(0.0016/2); (31 − 10.5)²/245 away.
    plain = 1.885618 * 0.0008**0.5 * (1 + 0.25 + 20.5**2 / 245) ** 0.5
    assert found["half"] == pytest.approx(1.25 * plain, rel=1e-5)
