"""Make the vectors of Learn anew: when a thing is asked again, and how an order is scored.

    python -m tests.learn_vectors

The phone's code is held to them by tests/browser/test_vectors.py, and they to the packages that
made them by tests/unit/test_learn_vectors.py.
"""

from __future__ import annotations

import json
import random
from datetime import UTC, datetime, timedelta
from typing import Any

from fsrs import Card, Rating, Scheduler
from scipy.stats import kendalltau

from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
CASES = 1_000
MOST_ANSWERS = 20
STATIONS = "abcdefghi"
BEGIN = datetime(2026, 1, 1, tzinfo=UTC)
Case = dict[str, Any]


def histories() -> list[Case]:
    """Random histories of answers: grades, and days before each answer."""
    chance = random.Random(6)
    return [
        {
            "why": f"history {number}",
            "grades": chance.choices((1, 2, 3, 4), (3, 3, 10, 1), k=answers),
            "days": [0, *(_gap(chance) for _ in range(answers - 1))],
        }
        for number, answers in enumerate(chance.choices(range(1, MOST_ANSWERS + 1), k=CASES))
    ]


def _gap(chance: random.Random) -> int:
    return chance.choice((0, 1, 2, 3, 7, 30, 365, chance.randrange(3_000)))


def remembered(case: Case) -> Case:
    """What the package `fsrs` makes of a history: stability, difficulty, days to the next time."""
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card, moment = Card(), BEGIN
    for grade, days in zip(case["grades"], case["days"], strict=True):
        moment += timedelta(days=days)
        card, _ = scheduler.review_card(card, Rating(grade), moment)
    interval = (card.due - moment).days
    return {"stability": card.stability, "difficulty": card.difficulty, "interval": interval}


def orders() -> list[Case]:
    """Random orders of up to nine stations, the first few from quite right to quite wrong."""
    chance = random.Random(36)
    found = [STATIONS, STATIONS[::-1], "ba", "ab", "bacdefghi"]
    while len(found) < CASES:
        many = STATIONS[: chance.randrange(2, len(STATIONS) + 1)]
        found.append("".join(chance.sample(many, len(many))))
    return [{"why": f"order {number}", "given": given} for number, given in enumerate(found)]


def tau(given: str) -> float:
    """Kendall's tau between an order and the right one, a to i."""
    return float(kendalltau(range(len(given)), [STATIONS.index(one) for one in given]).statistic)


def main() -> None:
    """Write both files."""
    _write("fsrs", [{**case, "is": remembered(case)} for case in histories()])
    _write("pairs", [{**case, "tau": tau(case["given"])} for case in orders()])


def _write(name: str, cases: list[Case]) -> None:
    rows = ",\n".join(json.dumps(case, separators=(",", ":")) for case in cases)
    (VECTORS / f"{name}.json").write_text(f'{{"cases":[\n{rows}\n]}}\n', encoding="utf-8")


if __name__ == "__main__":
    main()
