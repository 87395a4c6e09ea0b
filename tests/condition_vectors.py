"""Make the vectors of the weight forecast anew: the plain formula by numpy and scipy.

    python -m tests.condition_vectors

tests/unit/test_condition.py holds Python to them, tests/browser/test_vectors.py the phone. What is
said of a dog stands in tests/vectors/outlook.json, by hand.
"""

from __future__ import annotations

import json
import random
from typing import Any

import numpy as np
from scipy import stats

from tests.support import ROOT

FILE = ROOT / "tests" / "vectors" / "condition.json"
CASES = 1_000
Case = dict[str, Any]


def weighed() -> list[Case]:
    """Random weighings: days, weights, and a day to look ahead to."""
    chance = random.Random(12)
    found = []
    for number in range(CASES):
        count = chance.randrange(4, 15)
        days = sorted(chance.sample(range(43), count))
        start, slope = chance.uniform(2, 80), chance.uniform(-0.02, 0.02)
        scatter = chance.uniform(0.001, 0.03)
        weights = [
            round(start * (1 + slope * day / 7 + chance.gauss(0, scatter)), 3) for day in days
        ]
        ahead = days[-1] + chance.randrange(22)
        share = chance.choice([0.8, 0.9])
        found.append(
            {"why": f"case {number}", "points": list(zip(days, weights, strict=True)),
             "day": ahead, "share": share}
        )  # fmt: skip
    return found


def foretold(case: Case) -> Case:
    """What numpy's line and scipy's quantile make of it: slope, value on the day, half-width."""
    days, weights = (np.array(column, dtype=float) for column in zip(*case["points"], strict=True))
    (slope, begin) = np.polyfit(days, weights, 1)
    count = len(days)
    error = np.sqrt(np.sum((weights - begin - slope * days) ** 2) / (count - 2))
    away = (case["day"] - days.mean()) ** 2 / np.sum((days - days.mean()) ** 2)
    t = stats.t.ppf((1 + case["share"]) / 2, count - 2)
    half = t * error * np.sqrt(1 + 1 / count + away)
    return {"slope": float(slope), "at": float(begin + slope * case["day"]), "half": float(half)}


def quantiles() -> list[Case]:
    """Quantiles of Student's t for each number of degrees of freedom that can occur."""
    return [
        {"why": f"{share} of {freedom}", "share": share, "freedom": freedom,
         "t": float(stats.t.ppf((1 + share) / 2, freedom))}
        for share in (0.5, 0.8, 0.9, 0.99)
        for freedom in range(1, 61)
    ]  # fmt: skip


def main() -> None:
    """Write the file."""
    parts = {
        "cases": [{**case, "is": foretold(case)} for case in weighed()],
        "quantiles": quantiles(),
    }
    text = ",\n".join(
        f'"{name}":[\n' + ",\n".join(json.dumps(row, separators=(",", ":")) for row in rows) + "\n]"
        for name, rows in parts.items()
    )
    FILE.write_text(f"{{{text}}}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
