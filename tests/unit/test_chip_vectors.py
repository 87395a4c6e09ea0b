"""The advice on microchip numbers in Python; tests/browser/test_rules.py has the phone's."""

from __future__ import annotations

import json
from typing import Any

import pytest

from ringside.domain.microchip import check, tidy_registration
from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors" / "rules" / "chip.json"
CASES = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["why"])
def test_advice(case: Any) -> None:
    found = check(case["number"])
    assert (found.fine, found.message) == (case["fine"], case["message"])
    assert found.fine is (found.problem == "")


def test_the_cases_meet_every_problem() -> None:
    problems = {check(case["number"]).problem for case in CASES}
    assert problems == {"", "empty", "letters", "length", "code", "test", "number"}


def test_digits_are_grouped_as_readers_show_them() -> None:
    assert check("276-098102345678").grouped == "276 098 102 345 678"


def test_a_registration_number_is_the_bodys_affair() -> None:
    assert tidy_registration("  VZ 12/345 \n") == "VZ 12/345"
