"""The vectors of Learn are what `fsrs` and scipy give; the phone is asked by
tests/browser/test_vectors.py."""

from __future__ import annotations

import json
from itertools import combinations
from typing import Any

import pytest

from tests.learn_vectors import CASES, VECTORS, histories, orders, remembered, tau

NEAR = 1e-6


def cases(name: str) -> list[dict[str, Any]]:
    data: dict[str, list[dict[str, Any]]] = json.loads(
        (VECTORS / f"{name}.json").read_text(encoding="utf-8")
    )
    return data["cases"]


def test_what_is_remembered_is_what_fsrs_gives() -> None:
    found = cases("fsrs")
    assert len(found) == len(histories()) == CASES
    for case in found:
        wanted = remembered(case)
        assert case["is"] == pytest.approx(wanted, rel=NEAR), case["why"]
        assert case["is"]["interval"] == wanted["interval"], case["why"]


def test_an_order_is_scored_as_kendall_does() -> None:
    found = cases("pairs")
    assert len(found) == len(orders()) == CASES
    for case in found:
        given = case["given"]
        pairs = list(combinations(given, 2))
        right = sum(one < other for one, other in pairs)
        assert case["tau"] == pytest.approx(tau(given), abs=NEAR), case["why"]
        assert case["tau"] == pytest.approx(2 * right / len(pairs) - 1, abs=NEAR), case["why"]
