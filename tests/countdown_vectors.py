"""Make the vectors of the countdown again: random steps and touches, laid out by Python.

    python -m tests.countdown_vectors

tests/unit/test_countdown.py holds Python to the laws behind them, tests/browser/test_vectors.py the
phone to the vectors.
"""

from __future__ import annotations

import json
import random
from datetime import date, timedelta
from typing import Any

from ringside.domain.countdown import Step, Touch, laid_out, own_step
from tests.support import ROOT

FILE = ROOT / "tests" / "vectors" / "countdown.json"
CASES = 60
Case = dict[str, Any]


def cases() -> list[Case]:
    """Random countdowns, and all that is due in them."""
    chance = random.Random(13)
    found = []
    for number in range(CASES):
        show = date(2027, 1, 1) + timedelta(chance.randrange(800))
        steps = [step(chance, place) for place in range(4)]
        own = own_task(chance, show)
        whole = [*steps, own_step("own", own["day"], own["every"], show)]
        touched = {
            due.key: touch(chance, show)
            for due in laid_out(whole, {}, show)
            if chance.random() < 0.3
        }
        due = laid_out(whole, touched, show)
        found.append(
            {
                "why": f"case {number}",
                "show": show.isoformat(),
                "steps": [vars(one) for one in steps],
                "own": {**own, "day": own["day"] and own["day"].isoformat()},
                "touched": {
                    key: {"state": one.state, "day": one.day and one.day.isoformat()}
                    for key, one in touched.items()
                },
                "due": [
                    [one.key, one.step, one.day.isoformat(), one.last.isoformat(), one.state]
                    for one in due
                ],
            }
        )
    return found


def step(chance: random.Random, place: int) -> Step:
    begin = chance.randrange(61)
    every = chance.choice([0, 0, 5, 7, 14])
    return Step(f"task-{place}", begin, chance.randrange(begin + 1), every)


def own_task(chance: random.Random, show: date) -> Case:
    away = chance.choice([None, -20, 0, 5, 30, 200, 5_000])
    return {
        "day": None if away is None else show - timedelta(away),
        "every": chance.choice([None, 0, 0.3, 8.9, 14]),
    }


def touch(chance: random.Random, show: date) -> Touch:
    moved = show - timedelta(chance.randrange(-5, 40)) if chance.random() < 0.5 else None
    return Touch(chance.choice(["open", "done", "skipped"]), moved)


if __name__ == "__main__":
    lines = ",\n".join(json.dumps(case) for case in cases())
    FILE.write_text(f'{{"cases": [\n{lines}\n]}}\n', encoding="utf-8")
