"""Make the vectors of the ring clock anew: quantiles, turns as taps come in, and collisions.

    python -m tests.ringclock_vectors

Both ends are held to them: ringside/domain/ringclock.py by tests/unit/test_ringclock.py, the
phone's core/ringclock.js by tests/browser/test_vectors.py. Quantiles are scipy.stats.f's, and
collisions are integrated with it; turns are what the Python gives, for the phone to give too.
"""

from __future__ import annotations

import json
import random
from dataclasses import asdict
from typing import Any

import numpy as np
from scipy.stats import f as fisher

from ringside.domain.ringclock import (
    HIGH,
    LOW,
    MIDDLE,
    Pace,
    Stand,
    Tap,
    Turn,
    Work,
    collide,
    follow,
    replay,
    turn,
)
from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
SHAPES = (1, 1.5, 2, 2.5, 3, 4, 6, 10, 25, 60, 150, 400, 800)
KNOWN = (8, 12, 16, 25, 50, 120, 400)
SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)
TURNS = 200
COLLISIONS = 100
EXACT = 4_000  # points of an integral
Case = dict[str, Any]


def quantiles() -> list[Case]:
    """The grid of the daybook: shapes of the work, of what is known, and shares."""
    return [
        {"why": f"F {k} {a} {p}", "k": k, "a": a, "p": p, "is": round(float(value), 10)}
        for k in SHAPES
        for a in KNOWN
        for p, value in zip(SHARES, fisher.ppf(SHARES, 2 * k, 2 * a), strict=True)
    ]


def taps_of(chance: random.Random, dogs: int, begins: float) -> list[Case]:
    """A ring as somebody may tap it: judged, now and then something else, a slip among them."""
    at = begins + chance.uniform(-5, 15)
    taps: list[Case] = [{"what": "begun", "at": round(at, 2)}] if chance.random() < 0.7 else []
    for _ in range(dogs):
        at += chance.expovariate(1 / 2.5)
        what = chance.choices(
            ("judged", "absent", "paused", "goes on", "lunch", "posted"), (20, 2, 1, 2, 0.4, 0.6)
        )[0]
        tap: Case = {"what": what, "at": round(at, 2)}
        if what == "posted":
            tap["until"] = round(at + chance.uniform(-5, 30), 2)
        if what == "judged" and chance.random() < 0.03:
            tap["dogs"] = chance.randrange(2, 6)
        taps.append(tap)
    return taps


def turns() -> list[Case]:
    """Random rings, asked about at a moment after the last tap."""
    chance = random.Random(11)
    cases = []
    for number in range(TURNS):
        ahead = [chance.randrange(9) for _ in range(chance.randrange(6))]
        before = chance.randrange(6)
        begins = 540.0
        place, when = chance.randrange(sum(ahead) + before + 1), chance.uniform(530, 700)
        taps = taps_of(chance, chance.randrange(sum(ahead) + before + 3), begins)
        last = max((tap["at"] for tap in taps), default=begins - 40)
        case = {
            "why": f"turn {number}",
            "stand": {
                "ahead": ahead,
                "before": before,
                "floors": [[place, round(when, 1)]] if chance.random() < 0.3 else [],
            },
            "pace": chance.choice((1.6, 2.4, 3, 4.5)),
            "begins": begins if chance.random() < 0.8 else None,
            "lunch": [610.0, 655.0] if chance.random() < 0.5 else None,
            "taps": taps,
            "now": round(last + chance.expovariate(1 / 3), 2),
        }
        cases.append({**case, "is": shown(turn_of(case))})
    return cases


def stand_of(told: Case) -> Stand:
    return Stand(tuple(told["ahead"]), told["before"], tuple(map(tuple, told["floors"])))


def turn_of(case: Case) -> Turn:
    stand = stand_of(case["stand"])
    lunch = tuple(case["lunch"]) if case["lunch"] else None
    seen = replay([Tap(**tap) for tap in case["taps"]], stand.ends, case["now"], lunch)
    return turn(stand, seen, case["pace"], case["now"], case["begins"])


def shown(found: Turn) -> Case:
    numbers = {
        "low": found.quantile(LOW),
        "middle": found.quantile(MIDDLE),
        "high": found.quantile(HIGH),
        **asdict(found.pace),
    }
    rounded = {name: round(value, 9) for name, value in numbers.items()}
    return {**rounded, "left": found.left, "closings": found.closings}


def work(chance: random.Random) -> Case:
    k, a = round(chance.uniform(1, 80), 2), round(chance.uniform(9, 120), 2)
    at, mean = round(chance.uniform(0, 40), 1), round(chance.uniform(1, 90), 1)
    return {"at": at, "mean": mean, "k": k, "a": a}


def collisions() -> list[Case]:
    """Pairs of turns, and the chance that they collide, by integration."""
    chance = random.Random(12)
    cases = []
    for number in range(COLLISIONS):
        one, other = work(chance), work(chance)
        in_ring = [round(chance.uniform(2, 12), 1) for _ in "12"]
        way = round(chance.uniform(0, 6), 1)
        exact = integrated(one, other, in_ring, way)
        case = {"why": f"two rings {number}", "one": one, "other": other, "in_ring": in_ring}
        cases.append({**case, "way": way, "is": round(exact, 6)})
    return cases


def integrated(one: Case, other: Case, in_ring: list[float], way: float) -> float:
    """P(T1 < T2 + d2 + w and T2 < T1 + d1 + w), over the quantiles of T1."""
    shares = (np.arange(EXACT) + 0.5) / EXACT
    first = one["at"] + scale(one) * fisher.ppf(shares, 2 * one["k"], 2 * one["a"])

    def before(moment: Any) -> Any:
        return fisher.cdf((moment - other["at"]) / scale(other), 2 * other["k"], 2 * other["a"])

    inside = before(first + in_ring[0] + way) - before(first - in_ring[1] - way)
    return float(np.mean(inside))


def scale(told: Case) -> float:
    return float(told["mean"] * (told["a"] - 1) / told["a"])


def collision_of(case: Case) -> float:
    def turn_at(told: Case) -> Turn:
        start = (told["at"], Work(told["mean"], told["k"], told["a"]))
        return Turn(0.0, (start,), None, 1, 0, Pace(1.0, 0.36, 1.5, 10.0))

    first, second = case["in_ring"]
    return collide(turn_at(case["one"]), turn_at(case["other"]), (first, second), case["way"])


def follows() -> list[Case]:
    """Two dogs in one ring, and the chance that the second is called too soon."""
    cases = []
    for number, case in enumerate(turns()[: TURNS // 4]):
        second = {**case["stand"], "ahead": [*case["stand"]["ahead"], 2 + number % 5]}
        told = {"why": f"one ring {number}", "second": second, "in_ring": 6.0, "way": 3.0}
        told |= {name: case[name] for name in ("stand", "pace", "taps", "now")}
        cases.append({**told, "is": follow_of(told)})
    return cases


def follow_of(case: Case) -> float:
    first, second = stand_of(case["stand"]), stand_of(case["second"])
    seen = replay([Tap(**tap) for tap in case["taps"]], second.ends, case["now"])
    return follow(first, second, seen, case["pace"], case["in_ring"], case["way"])


def main() -> None:
    """Write the file."""
    made = {
        "quantiles": quantiles(),
        "turns": turns(),
        "collisions": collisions(),
        "follows": follows(),
    }
    parts = (
        f'"{name}":[\n'
        + ",\n".join(json.dumps(one, separators=(",", ":")) for one in cases)
        + "\n]"
        for name, cases in made.items()
    )
    (VECTORS / "ringclock.json").write_text("{" + ",\n".join(parts) + "}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
