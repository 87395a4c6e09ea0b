"""Make the vectors of practice anew: what marks come to, and which session is next.

    python -m tests.practice_vectors

Both ends are held to them: ringside/domain/practice.py by tests/unit/test_practice.py, the phone's
core/practice.js by tests/browser/test_vectors.py. The answers are scipy's and numpy's.
"""

from __future__ import annotations

import json
import random
from typing import Any

import numpy as np
from scipy.stats import beta

from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
CASES = 1_000
SESSIONS = 200
GRADES = {"easy": 1.0, "needs work": 0.5, "not yet": 0.0}
HANDS = {"own": 0.25, "known": 0.5, "stranger": 1.0, None: 0.25}
HALF_LIFE = 30
Case = dict[str, Any]


def short(numbers: dict[str, float]) -> Case:
    """The same to ten places, of which six are looked at."""
    return {name: round(float(number), 10) for name, number in numbers.items()}


def shares() -> list[Case]:
    """Random beta distributions, narrow and wide, and a place on each."""
    chance = random.Random(30)
    cases = []
    for number in range(CASES):
        a, b = (1 + round(chance.expovariate(1 / chance.choice((1, 10, 200))), 3) for _ in "ab")
        x = round(chance.random(), 4)
        low, high = beta.ppf((0.05, 0.95), a, b)
        case = {"why": f"beta {number}", "a": a, "b": b, "x": x}
        cases.append({**case, **short({"share": beta.cdf(x, a, b), "low": low, "high": high})})
    return cases


def marks_of(chance: random.Random, most: int) -> list[list[Any]]:
    """Random marks [day, grade, hands], in any order, a few of them years old."""
    reach = chance.choice((3, 30, 400))
    return [
        [
            round(chance.uniform(-reach, 0), 2),
            chance.choices(list(GRADES), chance.choice(((1, 1, 1), (8, 1, 1))))[0],
            chance.choice(list(HANDS)),
        ]
        for _ in range(chance.randrange(most + 1))
    ]


def ready(marks: list[list[Any]], now: float, stranger: bool) -> Case:
    """Readiness as the daybook has it, summed mark by mark."""
    days = np.array([now - day for day, _, _ in marks])
    told = np.array([HANDS[hands] if stranger else 1.0 for *_, hands in marks])
    worth = np.array([GRADES[grade] for _, grade, _ in marks])
    weight = 0.5 ** (days / HALF_LIFE) * told
    a, b = 1 + np.dot(weight, worth), 1 + np.dot(weight, 1 - worth)
    low, high = beta.ppf((0.05, 0.95), a, b)
    n, lacking = float(weight.sum()), beta.cdf(0.8, a, b)
    return short({"mean": a / (a + b), "low": low, "high": high, "marks": n, "lacking": lacking})


def said(found: Case) -> Case:
    """How a station stands, and in which words: never close to where either turns."""
    mean, marks = found["mean"], found["marks"]
    state = "ready" if mean >= 0.8 else "work" if mean >= 0.4 else "notyet"
    numbers = [int(np.floor(10 * found[part] + 0.5)) for part in ("mean", "low", "high")]
    words = "easy {} in 10 ({} to {})".format(*numbers)
    is_none = marks < 0.01
    return {"state": "none" if is_none else state, "words": "no marks yet" if is_none else words}


def edges() -> list[Case]:
    """How a station stands where that turns, by hand; a half is rounded up."""
    by_hand: list[tuple[tuple[float, float, float, float], str, str]] = [
        ((0.8, 0.6, 0.9, 9), "ready", "easy 8 in 10 (6 to 9)"),
        ((0.7999, 0.6, 0.9, 9), "work", "easy 8 in 10 (6 to 9)"),
        ((0.4, 0.25, 0.75, 3), "work", "easy 4 in 10 (3 to 8)"),
        ((0.3999, 0.05, 0.95, 3), "notyet", "easy 4 in 10 (1 to 10)"),
        ((0.65, 0.349, 0.851, 3), "work", "easy 7 in 10 (3 to 9)"),
        ((0.05, 0.0, 0.04, 80), "notyet", "easy 1 in 10 (0 to 0)"),
        ((0.5, 0.05, 0.95, 0.01), "work", "easy 5 in 10 (1 to 10)"),
        ((0.5, 0.05, 0.95, 0.0099), "none", "no marks yet"),
        ((0.9, 0.8, 1.0, 0), "none", "no marks yet"),
    ]
    cases = []
    for found, state, words in by_hand:
        case = dict(zip(("mean", "low", "high", "marks"), found, strict=True))
        cases.append({"why": f"ready {found}", "found": case, "state": state, "words": words})
    return cases


def counted() -> list[Case]:
    """Marks that count and such that do not, by their days: by hand, and some by chance."""
    chance = random.Random(31)
    by_hand = [
        ("today", "easy", 0, True),
        ("long ago", "not yet", -5000, True),
        ("a day ahead", "needs work", 1, True),
        ("more than a day ahead", "needs work", 1.001, False),
        ("next year", "easy", 365, False),
        ("without a grade", None, 0, False),
        ("of a grade that there is not", "well", 0, False),
        ("of a name that every object has", "constructor", 0, False),
    ]
    cases = [
        {"why": f"a mark {why}", "grade": grade, "at": at, "now": 0, "is": is_counted}
        for why, grade, at, is_counted in by_hand
    ]
    for number in range(40):
        now = round(chance.uniform(-500, 500), 2)
        ahead = round(chance.uniform(-3, 3), 2)
        case = {"why": f"a mark by chance {number}", "grade": "easy", "now": now}
        cases.append({**case, "at": round(now + ahead, 2), "is": ahead <= 1})
    return cases


def histories() -> list[Case]:
    """Random histories of marks of one station, asked about on a day."""
    chance = random.Random(60)
    cases = []
    for number in range(CASES):
        marks, now = marks_of(chance, 8), round(chance.uniform(0, 90), 2)
        case = {"why": f"marks {number}", "now": now, "marks": marks}
        found, stranger = ready(marks, now, False), ready(marks, now, True)
        cases.append({**case, "is": found, "stranger": stranger, **said(found)})
    return cases


def sessions() -> list[Case]:
    """Random dogs, and the session that comes next; stations without a mark are equals."""
    chance = random.Random(90)
    cases = []
    for number in range(SESSIONS):
        places = [
            {
                "id": station,
                "counts": chance.choice((1, 1, 1.25, 1.5)),
                "phase": chance.choice(("exam", "exam", "movement")),
                "marks": marks_of(chance, 4) if chance.random() < 0.8 else [],
                "named": chance.random() < 0.25,
            }
            for station in "abcdefghi"[: chance.randrange(1, 10)]
        ]
        cases.append({"why": f"session {number}", "places": places, **chosen(places)})
    return cases


def chosen(places: list[Case]) -> Case:
    """The session for `places` today, by way of sorting everything there is to know."""
    rows = [
        (
            -round(float(found["lacking"]) * place["counts"] * (1.5 if place["named"] else 1), 9),
            max((day for day, _, _ in place["marks"]), default=-float("inf")),
            order,
            place["id"],
            found,
        )
        for order, place in enumerate(places)
        for found in [ready(place["marks"], 0, False)]
    ]
    rows.sort(key=lambda row: row[:3])
    easy = [row for row in rows if row[4]["marks"] and row[4]["mean"] >= 0.8]
    phase = {place["id"]: place["phase"] for place in places}
    there = phase[rows[: min(2, len(rows))][-1][3]]
    near = [row for row in easy if phase[row[3]] == there] or easy
    end = min(near, key=lambda row: row[4]["lacking"])[3] if near else None
    work = [row for row in rows if row[3] != end][: 2 if end else 3]
    mean = min((row[4]["mean"] for row in work if row[4]["marks"]), default=0)
    hands = "stranger" if mean >= 0.75 else "known" if mean >= 0.5 else "own"
    return {"work": [row[3] for row in work], "end": end, "hands": hands}


def main() -> None:
    """Write the file."""
    made = {"shares": shares(), "marks": histories(), "sessions": sessions()}
    made |= {"edges": edges(), "counted": counted()}
    parts = (
        f'"{name}":[\n'
        + ",\n".join(json.dumps(one, separators=(",", ":")) for one in cases)
        + "\n]"
        for name, cases in made.items()
    )
    (VECTORS / "practice.json").write_text("{" + ",\n".join(parts) + "}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
