"""When a dog goes into the ring: a range for its turn, and whether two turns collide.

A work unit is one dog that is present; to close a class (final look, placing, the next class in)
takes `closing` units. How long a unit takes under a body is a habit (knowledge/ring.toml), and each
dog that is seen teaches how this judge does it. The time that remains is then that of many units at
a pace not known for sure: a compound gamma, whose quantiles are those of Fisher's F. Priors and
bounds below are ours, for want of any published spread; tests/benchmarks/ring.py prints how often
the range holds the truth, and names where it is weak.

Moments and spans are minutes, on any scale. The phone does the same as it is tapped
(static/js/core/ringclock.js); tests/vectors/ringclock.json holds both to the same answers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from statistics import NormalDist
from typing import Literal

from ringside.domain.practice import beta_quantile

What = Literal["judged", "absent", "paused", "goes on", "lunch", "begun", "posted"]

# What is believed of a ring before a dog was seen in it (ours).
RINGS_APART = 0.28  # coefficient of variation of the pace between rings
DOGS_APART, ITS_WEIGHT = 0.36, 10.0  # squared, of the time of a dog; as if so many were seen
DOGS_APART_UNLISTED = 0.6  # where classes are not listed, their closings hide among the dogs
CLOSING, ITS_CLOSINGS, MOST_CLOSING = 1.5, 2.0, 5.0  # units
CLASS = 4  # dogs of a class, of which a published pace has the closing in it
ABSENT, ITS_ENTRIES = 0.08, 20.0  # share of the entries
FADES = 0.97  # the weight of a dog, with each one that is seen after it
STRANGEST, LONGEST = 6.0, 12.0  # one slow dog does not tell all
MOST_STEPS = 6  # that the time of a dog is cut into
EXACT_BELOW = 3.0  # work so small that the short formula of the quantile errs
LUNCH = 45.0  # where nobody said how long
LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
POINTS = 80  # of a turn, to hold against those of another
_POINTS = tuple((at + 0.5) / POINTS for at in range(POINTS))


@dataclass(frozen=True)
class Tap:
    """What somebody saw at a ring: a dog judged or absent, or so many `dogs` at whatever times, or
    `until` when it rests.
    """

    what: What
    at: float
    dogs: int | None = None
    until: float | None = None


@dataclass(frozen=True)
class Stand:
    """Where an entry stands in its ring: the dogs of each class `ahead`, and those `before` it in
    its own. Of `floors`, (number, time), dogs from that number on do not go in before the time.
    """

    ahead: tuple[int, ...] = ()
    before: int = 0
    floors: tuple[tuple[int, float], ...] = ()

    @property
    def ends(self) -> tuple[int, ...]:
        """After how many dogs a class ends, for each that is not empty."""
        return tuple(sum(self.ahead[: at + 1]) for at, dogs in enumerate(self.ahead) if dogs)

    @property
    def dogs(self) -> int:
        """How many dogs go in before this one."""
        return sum(self.ahead) + self.before


@dataclass
class Seen:
    """What taps come to. `spans` are (minutes, classes closed) of the dogs that were timed; `last`
    is when the dog in the ring went in, and `mark` how many were seen by then; nobody is judged
    since `out` until `back` (None: not known), nor before `floor`.
    """

    dogs: int = 0
    absent: int = 0
    mark: int = 0
    spans: list[tuple[float, int]] = field(default_factory=list)
    last: float | None = None
    rest: float = 0.0
    out: float | None = None
    back: float | None = None
    floor: float | None = None
    has_begun: bool = False
    lunch: tuple[float, float] | None = None  # the one that is still to come

    def take(self, tap: Tap, ends: Sequence[int]) -> None:
        """Take one tap more, which is later than those before."""
        self.has_begun = self.has_begun or tap.what != "posted"
        match tap.what:
            case "judged":
                self._judged(tap, ends)
            case "absent":
                dogs = tap.dogs or 1
                self.dogs, self.absent = self.dogs + dogs, self.absent + dogs
            case "paused" | "lunch":
                self._rests(tap)
            case "goes on":
                self._goes_on(tap.at)
            case "begun":
                self.last, self.rest, self.out, self.floor = tap.at, 0.0, None, None
            case "posted":
                self.floor = tap.until

    def _judged(self, tap: Tap, ends: Sequence[int]) -> None:
        self.settle(tap.at)
        if self.last is not None and self.out is None and tap.dogs is None:
            closed = sum(self.mark <= end <= self.dogs for end in ends)
            self.spans.append((max(tap.at - self.last - self.rest, 0.0), closed))
        self.dogs += tap.dogs or 1
        self.mark, self.last, self.rest, self.out, self.floor = self.dogs, tap.at, 0.0, None, None

    def _rests(self, tap: Tap) -> None:
        self.out = tap.at if self.out is None else self.out
        self.back = None
        if tap.what == "lunch":
            length = self.lunch[1] - self.lunch[0] if self.lunch else LUNCH
            self.back, self.lunch = tap.at + length, None

    def _goes_on(self, at: float) -> None:
        if self.out is not None:
            self.rest, self.out, self.floor = self.rest + at - self.out, None, None

    def settle(self, now: float) -> None:
        """Let a rest that has ended by `now` be over, as was said of it."""
        if self.out is not None and self.back is not None and self.back <= now:
            self._goes_on(self.back)
        if self.lunch and self.last is not None and self.out is None:
            begins, ends = self.lunch
            if self.last <= begins and ends <= now:
                self.rest, self.lunch = self.rest + ends - begins, None


def replay(
    taps: Sequence[Tap], ends: Sequence[int], now: float, lunch: tuple[float, float] | None = None
) -> Seen:
    """Return what `taps` come to `now`; one that was undone is not among them.

    `ends` are those of the Stand, `lunch` (from, to) is the one that is planned.
    """
    seen = Seen(lunch=lunch)
    for tap in sorted(taps, key=lambda tap: tap.at):
        seen.take(tap, ends)
    seen.settle(now)
    return seen


@dataclass(frozen=True)
class Pace:
    """How a judge works: minutes a `unit`, its squared variation `spread`, the units of a
    `closing`, and how many units' `worth` of knowledge that is.
    """

    unit: float
    spread: float
    closing: float
    worth: float


def learned(minutes: float, spans: Sequence[tuple[float, int]], is_listed: bool) -> Pace:
    """Return the pace that begins as `minutes` a dog and is taught by `spans`, the newest last.

    Where classes are not listed, a dog's time has its part of the closings in it.
    """
    if is_listed:
        first, apart, closing = minutes * CLASS / (CLASS + CLOSING), DOGS_APART, CLOSING
    else:
        first, apart, closing = minutes, DOGS_APART_UNLISTED, 0.0
    timed = [(d, c, FADES ** (len(spans) - 1 - at)) for at, (d, c) in enumerate(spans)]
    weight = sum(w for *_, w in timed)
    unit, spread, worth = first, apart, apart / RINGS_APART**2
    for _ in range(2):
        strange = sum(w * _strangeness(d / unit, 1 + closing * c) for d, c, w in timed)
        spread = (ITS_WEIGHT * apart + strange) / (ITS_WEIGHT + weight)
        before = spread / RINGS_APART**2
        worth = before + sum(w * (1 + closing * c) for _, c, w in timed)
        unit = (before * first + sum(w * d for d, _, w in timed)) / worth
        if is_listed:
            closing = _closing(unit, timed)
    return Pace(unit, spread, closing, worth)


def _strangeness(units: float, wanted: float) -> float:
    return min((units - wanted) ** 2 / wanted, STRANGEST)


def _closing(unit: float, timed: Sequence[tuple[float, int, float]]) -> float:
    took = sum(w * (min(d / unit, LONGEST) - 1) for d, c, w in timed if c)
    count = sum(w * c for _, c, w in timed)
    return min(max((ITS_CLOSINGS * CLOSING + took) / (ITS_CLOSINGS + count), 0.0), MOST_CLOSING)


@dataclass(frozen=True)
class Work:
    """So much work ahead, as a compound gamma: `mean` minutes, of shape `k`, known as by `a`."""

    mean: float
    k: float
    a: float

    def quantile(self, share: float) -> float:
        """Return the minutes that it stays below with the chance `share`."""
        if self.mean <= 0:
            return 0.0
        return self.mean * (self.a - 1) / self.a * f_quantile(share, self.k, self.a)


def f_quantile(share: float, k: float, a: float) -> float:
    """Return the quantile of Fisher's F with (2k, 2a) degrees of freedom, within 0.5 %.

    By Paulson's form of Wilson and Hilferty's cube root (1942, from memory); where k is small, by
    the beta distribution.
    """
    if k < EXACT_BELOW:
        x = beta_quantile(share, k, a)
        return a * x / (k * (1 - x))
    z = NormalDist().inv_cdf(share)
    s, t = 1 / (9 * k), 1 / (9 * a)
    root = math.sqrt((1 - s) ** 2 * t + (1 - t) ** 2 * s - z * z * s * t)
    return (((1 - s) * (1 - t) + z * root) / ((1 - t) ** 2 - z * z * t)) ** 3


def _work(entries: int, closings: int, seen: Seen, pace: Pace, done: float = 0.0) -> Work:
    absent = (ITS_ENTRIES * ABSENT + seen.absent) / (ITS_ENTRIES + seen.dogs)
    units = entries * (1 - absent) + pace.closing * closings - done
    if units <= 0:
        return Work(0.0, 1.0, 2.0)
    variance = units * pace.spread + entries * (1 - absent) * absent
    k = max(units**2 / variance, 1.0)
    return Work(units * pace.unit, k, 2 + pace.worth / pace.spread)


def share_done(minutes: float, units: float, pace: Pace) -> float:
    """Return how much of `units` is done that have taken `minutes` and are not finished."""
    steps = min(max(round(units / pace.spread), 1), round(MOST_STEPS * max(units, 1)))
    x = minutes / (pace.unit * pace.spread)
    terms = [1.0]
    for j in range(1, steps):
        terms.append(terms[-1] * x / j)
    return sum(j * term for j, term in enumerate(terms)) / (steps * sum(terms))


@dataclass(frozen=True)
class Turn:
    """When an entry goes in, seen from `now`.

    `starts` are (moment, work): the turn is no earlier than any of them; `rests` (from, to) is one
    that is known of. `left` dogs and `closings` of classes are ahead; below 0 it has been in.
    """

    now: float
    starts: tuple[tuple[float, Work], ...]
    rests: tuple[float, float] | None
    left: int
    closings: int
    pace: Pace

    def quantile(self, share: float) -> float:
        """Return the moment by which its turn has come with the chance `share`."""
        return max(self._through(start, work.quantile(share)) for start, work in self.starts)

    def _through(self, start: float, minutes: float) -> float:
        if self.rests and start < self.rests[1]:
            begins = max(self.rests[0], start)
            if start + minutes > begins:
                return start + minutes + self.rests[1] - begins
        return start + minutes


def turn(stand: Stand, seen: Seen, pace: float, now: float, begins: float | None = None) -> Turn:
    """Return when the dog of `stand` goes in. `pace` is minutes a dog, `begins` when judging does.

    Before judging has begun it begins when it is said to, or now if that is past.
    """
    known = learned(pace, seen.spans, any(stand.ahead))
    left = stand.dogs - seen.dogs
    closings = sum(end >= seen.mark for end in stand.ends)
    start = now if seen.has_begun or begins is None else max(now, begins)
    done, known = _begun(stand, seen, known, now, left)
    whole = _work(max(left, 0), closings, seen, known, done)
    starts = [(start, whole)]
    if seen.floor is not None:
        starts.append((max(now, seen.floor), whole))
    for place, time in stand.floors:
        if place >= seen.dogs and time > now:
            after = sum(end > place for end in stand.ends)
            starts.append((time, _work(stand.dogs - place, after, seen, known)))
    return Turn(now, tuple(starts), _rest(seen, now), left, closings, known)


def _begun(stand: Stand, seen: Seen, pace: Pace, now: float, left: int) -> tuple[float, Pace]:
    """What is done of the dog in the ring, in units, and the pace with that taken into account."""
    if seen.last is None or left < 0:
        return 0.0, pace
    minutes = max((now if seen.out is None else seen.out) - seen.last - seen.rest, 0.0)
    closing = sum(seen.mark <= end <= seen.dogs for end in stand.ends)
    absent = (ITS_ENTRIES * ABSENT + seen.absent) / (ITS_ENTRIES + seen.dogs)
    units = min(left, 1) * (1 - absent) + pace.closing * closing
    if units <= 0:
        return 0.0, pace
    done = units * share_done(minutes, units, pace)
    worth = pace.worth + done
    unit = (pace.unit * pace.worth + minutes) / worth
    return done, replace(pace, unit=unit, worth=worth)


def _rest(seen: Seen, now: float) -> tuple[float, float] | None:
    """The rest that is known of: the one of the moment, or the lunch that is planned."""
    if seen.out is not None:
        return (seen.out, max(seen.back, now)) if seen.back is not None else None
    if seen.lunch is None or now >= seen.lunch[1]:
        return None
    begins, ends = seen.lunch
    late = max((seen.last or begins) - begins, 0.0)  # they judge on into it
    return begins + late, ends + late


def collide(one: Turn, other: Turn, in_ring: tuple[float, float], way: float) -> float:
    """Return the chance that two turns in two rings collide, which are taken as independent.

    Each dog is so long `in_ring`; `way` is what it takes from one to the other, in minutes.
    """
    first, second = ([turn.quantile(point) for point in _POINTS] for turn in (one, other))
    pairs = ((t1, t2) for t1 in first for t2 in second)
    hits = sum(t1 < t2 + in_ring[1] + way and t2 < t1 + in_ring[0] + way for t1, t2 in pairs)
    return hits / POINTS**2


def follow(
    first: Stand, second: Stand, seen: Seen, pace: float, in_ring: float, way: float
) -> float:
    """Return the chance that, in one ring, the second turn comes before the handler is back from
    the first, whose dog is so long `in_ring`.
    """
    place = max(first.dogs, seen.dogs)
    closings = sum(end > place for end in second.ends)
    known = learned(pace, seen.spans, any(second.ahead))
    work = _work(max(second.dogs - place, 0), closings, seen, known)
    return sum(work.quantile(point) < in_ring + way for point in _POINTS) / POINTS
