"""What puppies are looked over for: due by age, and what was felt last is what counts."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest

from ringside.domain.care import care_book
from ringside.domain.puppies import due, felt
from tests.known import shipped
from tests.support import ROOT

DATA = json.loads((ROOT / "tests" / "vectors" / "puppies.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", DATA["due"], ids=lambda case: case["why"])
def test_what_is_due(case: dict[str, Any]) -> None:
    about = {name: case[name] for name in ("born", "sex", "records", "today")}
    assert due(DATA["checks"], DATA["looks"], **about) == case["is"]


@pytest.mark.parametrize("case", DATA["felt"], ids=lambda case: case["why"])
def test_what_was_felt_last(case: dict[str, Any]) -> None:
    assert felt(case["dog"], case["last"]) == case["is"]


def test_a_male_is_felt_at_eight_weeks_and_a_vet_feels_at_six_months() -> None:
    """By the published ages: two months, and rarely after six."""
    care = care_book(shipped())
    born = date(2026, 1, 1)

    def testes_at(weeks: int) -> dict[str, Any]:
        today = (born + timedelta(weeks=weeks)).isoformat()
        rows = due(
            care["checks"], care["looks"], born=str(born), sex="dog", records=[], today=today
        )
        return next(row for row in rows if row["check"] == "testes")

    assert testes_at(7)["state"] == "coming"
    assert testes_at(8) == testes_at(11) | {"day": "2026-02-26"}
    assert [testes_at(weeks)["look"] for weeks in (8, 12, 26)] == [
        "testes-first", "testes-second", "testes-last",
    ]  # fmt: skip
    (last,) = [look for look in care["looks"] if look["id"] == "testes-last"]
    assert "vet" in last["says"]
