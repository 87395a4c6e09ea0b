"""How ready a dog is at each station, and what to work on next: what marks of practice come to.

A mark is easy (1), needs work (1/2) or not yet (0). Its weight halves every thirty days, so a
station's readiness is a Beta distribution over the share of times at which the dog finds it easy:
a = 1 + sum(w y), b = 1 + sum(w (1 - y)). Half-life, weights and bar are ours. What is kept are
sums, which one decay brings to any other day: ten years of marks cost what ten marks cost.

The phone does the same with the marks it holds (static/js/core/practice.js); the cases of
tests/vectors/practice.json hold both to scipy and numpy.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Weight

Data = dict[str, Any]
Grade = Literal["easy", "needs work", "not yet"]
Hands = Literal["own", "known", "stranger"]
# How a station stands, as the phone names it; "none" where nothing tells.
State = Literal["ready", "work", "notyet", "none"]

HALF_LIFE = 30.0  # days
GRADES: Mapping[Grade, float] = {"easy": 1.0, "needs work": 0.5, "not yet": 0.0}
# What a mark tells of a stranger's hands. One that does not say was most likely the handler's own.
HANDS: Mapping[Hands, float] = {"stranger": 1.0, "known": 0.5, "own": 0.25}
READY = 0.8  # a station is easy often enough
SELDOM = 0.4  # below, it is easy too seldom to speak of work to be done
FAINT = 0.01  # what is left of marks so old that they say nothing
FORGOTTEN = 20 * HALF_LIFE  # days, after which a mark weighs less than a millionth
AHEAD = 1.0  # days by which a mark may be dated ahead: the clock of a phone, or a zone
SURE = 0.9  # the share of an interval
MOST = 3  # stations of a session
# A station counts more where the breed's standard is strict, by its weightiest ask.
STRICT: Mapping[Weight, float] = {"disqualifying": 1.5, "serious": 1.25}
# A station counts more where a judge named it lately, or the handler said so: half as much again,
# for eight weeks (days). Both are ours.
NAMED, LATELY = 1.5, 56
# From these means on, the next hands may be those of a person the dog knows, or a stranger's.
KNOWN_FROM, STRANGER_FROM = 0.5, 0.75
MINUTES = (2, 3)

_STEPS = 200  # of the continued fraction; a dozen will do, save for thousands of marks
_HALVINGS = 42


@dataclass(frozen=True)
class Mark:
    """How one station went: `at` in days, on any scale that the sums share."""

    at: float
    grade: Grade
    hands: Hands | None = None


@dataclass(frozen=True)
class Sums:
    """What marks of one station come to, weighed as of the day `at`.

    `n` and `y` are the sums of w and w y; `stranger_n` and `stranger_y` the same, with each mark
    weighed by whose hands they were too.
    """

    at: float = -math.inf
    n: float = 0.0
    y: float = 0.0
    stranger_n: float = 0.0
    stranger_y: float = 0.0

    def on(self, at: float) -> Sums:
        """Return the same as of another day: one decay, however many marks."""
        if self.n == 0:
            return Sums(at)
        by = _decay(at - self.at)
        sums = (self.n, self.y, self.stranger_n, self.stranger_y)
        return Sums(at, *(by * each for each in sums))

    def add(self, mark: Mark) -> Sums:
        """Return the sums with one mark more, of whichever day: the order does not matter."""
        here = self.on(max(self.at, mark.at))
        weight = _decay(here.at - mark.at)
        worth, told = GRADES[mark.grade], HANDS[mark.hands or "own"]
        return Sums(
            here.at,
            here.n + weight,
            here.y + weight * worth,
            here.stranger_n + weight * told,
            here.stranger_y + weight * told * worth,
        )


def is_mark(grade: str | None, at: float, now: float) -> bool:
    """Whether a mark tells anything: a half one does not, nor one of a day that is to come."""
    return grade in GRADES and at <= now + AHEAD


def _decay(days: float) -> float:
    return math.exp2(-days / HALF_LIFE)


def sums_of(marks: Iterable[Mark]) -> Sums:
    """Return what marks come to."""
    sums = Sums()
    for mark in marks:
        sums = sums.add(mark)
    return sums


@dataclass(frozen=True)
class Readiness:
    """How often the dog finds it easy: `mean`, the 90 % interval from `low` to `high`, from how
    many marks' worth, and `lacking`, the chance that it is less often than it should be.
    """

    mean: float
    low: float
    high: float
    marks: float
    lacking: float


def readiness(sums: Sums, now: float, stranger: bool = False) -> Readiness:
    """Return how ready a station is on the day `now`, or how ready for a stranger's hands."""
    here = sums.on(max(now, sums.at))
    n, y = (here.stranger_n, here.stranger_y) if stranger else (here.n, here.y)
    a, b = 1 + y, 1 + max(n - y, 0.0)
    tail = (1 - SURE) / 2
    return Readiness(
        mean=a / (a + b),
        low=beta_quantile(tail, a, b),
        high=beta_quantile(1 - tail, a, b),
        marks=n,
        lacking=beta_share(READY, a, b),
    )


def is_ready(ready: Readiness) -> bool:
    """Whether a station is easy often enough."""
    return ready.mean >= READY


def state_of(ready: Readiness) -> State:
    """Return how a station stands."""
    if ready.marks < FAINT:
        return "none"
    if is_ready(ready):
        return "ready"
    return "notyet" if ready.mean < SELDOM else "work"


def ready_words(ready: Readiness) -> str:
    """Say how often it is easy, and where the truth lies nine times out of ten."""
    if state_of(ready) == "none":
        return "no marks yet"
    mean, low, high = (_tenths(share) for share in (ready.mean, ready.low, ready.high))
    return f"easy {mean} in 10 ({low} to {high})"


def _tenths(share: float) -> int:
    return math.floor(share * 10 + 0.5)


def beta_share(x: float, a: float, b: float) -> float:
    """Return the regularised incomplete beta function: the chance that Beta(a, b) is below `x`."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    # The fraction is quick on this side of the mean; the other is its mirror.
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_share(1 - x, b, a)
    front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    front += a * math.log(x) + b * math.log1p(-x)
    return math.exp(front) / (a * _fraction(x, a, b))


def _fraction(x: float, a: float, b: float) -> float:
    """Evaluate the continued fraction 1 + d1/(1 + d2/(1 + ...)) from the front, until it settles.

    After Abramowitz and Stegun, Handbook of Mathematical Functions, 26.5.8 (from memory).
    """
    value = numerator = 1.0
    denominator = 0.0
    for step in range(1, _STEPS):
        m = step // 2
        if step % 2:
            d = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            d = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        denominator = 1 / (1 + d * denominator)
        numerator = 1 + d / numerator
        value *= numerator * denominator
        if abs(numerator * denominator - 1) < 1e-15:
            break
    return value


def beta_quantile(share: float, a: float, b: float) -> float:
    """Return the value that Beta(a, b) stays below with the chance `share`, by bisection."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if beta_share(middle, a, b) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def named_lately(lessons: Iterable[Lesson], today: date) -> set[str]:
    """Return the stations that results of the last weeks name as a fault, or to practise."""
    return {
        lesson.station
        for lesson in lessons
        if lesson.says in ("named", "practise") and 0 <= (today - lesson.day).days <= LATELY
    }


def strictness(weights: Iterable[Weight]) -> float:
    """Return how much a station counts, by the weights of what the standard asks there."""
    return max((STRICT.get(weight, 1.0) for weight in weights), default=1.0)


@dataclass(frozen=True)
class Lesson:
    """What a result says of a station: it was liked, named, or is to practise."""

    station: str
    says: str
    day: date


@dataclass(frozen=True)
class Place:
    """A station as the next session is chosen: how much it counts, what its marks come to, in which
    phase of the judging it is met, and whether a recent result names it (`named_lately`).
    """

    id: str
    counts: float
    sums: Sums
    phase: str = ""
    named: bool = False


@dataclass(frozen=True)
class Session:
    """The next session: `work` on these stations, `end` on one that is easy (None if none is),
    in whose `hands`, and how long.
    """

    work: tuple[str, ...]
    end: str | None
    hands: Hands
    minutes: tuple[int, int] = MINUTES


def next_session(places: Sequence[Place], now: float) -> Session:
    """Choose what to work on: what most likely lacks and counts most, the longest ago first.

    A session has three stations at most, and the last is an easy one, where one is: best of the
    phase in which the work ends, so that nobody goes from the table to the ring and back.
    """
    found = [(place, readiness(place.sums, now)) for place in places]
    needed = sorted(found, key=lambda one: (-_need(*one), one[0].sums.at))
    easy = [one for one in needed if one[0].sums.n > 0 and is_ready(one[1])]
    there = next((place.phase for place, _ in reversed(needed[: MOST - 1])), "")
    last = min(easy, key=lambda one: (one[0].phase != there, one[1].lacking), default=None)
    rest = [one for one in needed if one is not last]
    work = rest[: MOST - 1 if last else MOST]
    mean = min((ready.mean for place, ready in work if place.sums.n > 0), default=0.0)
    return Session(tuple(place.id for place, _ in work), last[0].id if last else None, _hands(mean))


def _need(place: Place, ready: Readiness) -> float:
    # Equals stay equal, whatever the last digit of a long sum is.
    return round(ready.lacking * place.counts * (NAMED if place.named else 1), 9)


def _hands(mean: float) -> Hands:
    if mean >= STRANGER_FROM:
        return "stranger"
    return "known" if mean >= KNOWN_FROM else "own"


def pack_practice(knowledge: Knowledge) -> Data:
    """Return what rehearsals go by, as the phone looks it up: the entries of practice.toml, and
    the "pace" of each body in the ring.
    """
    known = knowledge.practice.model_dump(exclude_none=True)
    paces: dict[str, Data] = {}
    for pace in knowledge.ring.pace:
        paces.setdefault(pace.body, pace.model_dump(include={"body", "minutes", "says", "source"}))
    return {**{part: list(entries) for part, entries in known.items()}, "pace": [*paces.values()]}
