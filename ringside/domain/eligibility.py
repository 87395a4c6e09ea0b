"""Whether a dog may enter a class on a day, and why, by one body's show regulations.

Ages are counted in calendar months. Where a body's text leaves something open (a month without
the day of birth, 29 February, whether the day itself counts, which day of a show of several days
decides) and it matters, the verdict is "may if" and carries the readings in words. A ruling speaks
for the dog as its record stands. The show's own schedule always governs: see `governs`.

The work is done in three steps: every question about a class becomes a *track*, a list of days
from which on an answer holds; the tracks of a class are laid over one another; the result is read
off for one day (`verdicts`) or run through from birth (`windows`, `pack_windows`).
"""

from __future__ import annotations

from calendar import isleap
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any, Literal, NamedTuple

from ringside.knowledge.regulation_schema import (
    Bar,
    Bound,
    Condition,
    Edition,
    Fact,
    Kind,
    Outcome,
    Question,
    Regulation,
    ShowClass,
    Tally,
    Win,
)
from ringside.knowledge.schema import Body, Read, Sex

Data = dict[str, Any]

DAY = timedelta(days=1)
# Nobody takes entries for a show more than a year ahead: from then on the closing date, which
# a window cannot know, makes no difference to what was won before it.
LONGEST_ENTRY = timedelta(days=366)
# Wins count to the seventh day before the closing date, that day included.
WINS_BEFORE_CLOSING = timedelta(days=7)

# Holding a higher title means holding that of champion too.
_HIGHER = {"gch", "gchb", "gchs", "gchg", "gchp", "gchex", "grch", "supreme"}
_CHAMPION = _HIGHER | {
    "ch", "sh-ch", "national-ch", "cib", "cib-working", "cib-asia-pacific", "cie",
}  # fmt: skip
_TRUST: Sequence[Read] = ("memory", "secondary", "copy")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_KINDS: Mapping[Kind, str] = {
    "championship": "a championship show",
    "open": "an open show",
    "limited": "a limited show",
    "breed-club": "a breed club's show",
    "specialty": "a specialty",
    "cacib": "a CACIB show",
}


class Award(NamedTuple):
    """A win. What the record does not say stays None and makes a count uncertain."""

    award: Win
    body: Body
    on: date | None = None
    klass: str | None = None
    kind: Kind | None = None
    ccs: bool | None = None  # whether CCs were on offer for the breed
    breed_only: bool | None = None  # whether the class was confined to the breed
    points: int = 1  # of an award that is points; a first prize is one, whatever it brought


@dataclass(frozen=True)
class Felt:
    """What was felt, and when."""

    state: Literal["both", "one", "none"]
    on: date


@dataclass(frozen=True)
class DogFacts:
    """What a ruling depends on. None (or a missing answer) means that nobody has said."""

    born: date
    sex: Sex | None = None
    neutered: bool | None = None
    # By id as in titles/*.toml; None: held, date unknown, so held all along.
    titles: Mapping[str, date | None] | None = field(default=None, hash=False)
    awards: tuple[Award, ...] | None = None
    testes: Felt | None = None
    born_in: str | None = None  # country, as "CA"
    registered: Mapping[Body, bool] = field(default_factory=dict, hash=False)
    answers: Mapping[Question, bool] = field(default_factory=dict, hash=False)

    @cached_property
    def wins(self) -> list[tuple[Award, list[tuple[date, int]]]]:
        """The awards by kind, each with the days (and points, else 1) of all of its kind."""
        kinds: dict[Any, tuple[Award, list[tuple[date, int]]]] = {}
        for award in self.awards or ():
            key = (award.award, award.body, award.klass, award.kind, award.ccs, award.breed_only)
            weight = award.points if award.award.endswith("-points") else 1
            kinds.setdefault(key, (award, []))[1].append((award.on or date.min, weight))
        return list(kinds.values())


@dataclass(frozen=True)
class Show:
    """A show of one or several days, as far as it is known."""

    first: date
    last: date | None = None
    shown: date | None = None  # the day on which this dog is in the ring
    kinds: frozenset[Kind] | None = None
    closing: date | None = None


class Ruling(NamedTuple):
    """One class on one day. `fact` finds the deciding entry, see `pack_rules`."""

    klass: str
    verdict: Outcome
    parts: tuple[str, ...]  # the first is said by itself, the others follow "only if"
    clause: str
    edition: str
    read: Read
    fact: str
    readings: tuple[str, ...] = ()
    instead: str | None = None  # the class to which the body would move it

    @property
    def why(self) -> str:
        """Return the reason in one sentence."""
        first, *others = self.parts
        return f"{first}; only if {', and '.join(others)}." if others else f"{first}."


class Window(NamedTuple):
    """A ruling that holds from `start` to `end`, both included; no `end` means for good."""

    start: date
    end: date | None
    ruling: Ruling

    def as_data(self) -> Data:
        """Return plain data with the dates as datetime.date."""
        ruling = self.ruling
        data: Data = {"class": ruling.klass, "from": self.start, "to": self.end}
        for key in ("verdict", "why", "clause", "edition", "read"):
            data[key] = getattr(ruling, key)
        if ruling.readings:
            data["readings"] = list(ruling.readings)
        if ruling.instead:
            data["instead"] = ruling.instead
        return data


# --- Days ----------------------------------------------------------------------------------


def month_later(born: date, months: int) -> tuple[date, date]:
    """Return the day `months` calendar months after `born`, by both readings.

    They differ where that month has no such day: its last day, and the first of the next.
    """
    year, month = divmod(born.year * 12 + born.month - 1 + months, 12)
    month += 1
    last = 29 if month == 2 and isleap(year) else _LENGTHS[month - 1]
    if born.day <= last:
        day = date(year, month, born.day)
        return day, day
    day = date(year, month, last)
    return day, day + DAY


def reached(regulation: Regulation, born: date, bound: Bound) -> tuple[date, ...]:
    """Return the day on which the age is reached; both days where the body's text is silent."""
    days = bound.days()
    if days is not None:
        return (born + timedelta(days=days),)
    early, late = month_later(born, bound.months() or 0)
    if early == late:
        return (early,)
    leap_day = (born.month, born.day) == (2, 29)
    rule = regulation.leap_day if leap_day else regulation.month_end
    if rule.reading == "last day":
        return (early,)
    return (late,) if rule.reading == "next day" else (early, late)


def say(day: date) -> str:
    """Return a day as a person says it."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _say_any(days: Sequence[date]) -> str:
    return " or ".join(say(day) for day in days)


def _say_age(bound: Bound) -> str:
    return f"{bound.age} {bound.unit if bound.age > 1 else bound.unit.removesuffix('s')}"


# --- Tracks: answers that hold from a day on -------------------------------------------------


class _Answer(NamedTuple):
    """What holds for a while; `says` is a clause that "only if" can precede where it is an if."""

    state: Outcome
    says: str
    fact: Fact
    name: str  # see Ruling.fact
    read: Read
    readings: tuple[str, ...] = ()
    instead: str | None = None


_Track = list[tuple[date, _Answer]]


@dataclass
class _Case:
    """One dog before one body, at a show where one is given, with what was already worked out."""

    regulation: Regulation
    dog: DogFacts
    show: Show | None = None
    ages: dict[Any, list[_Stage]] = field(default_factory=dict)
    labels: dict[str | None, str] = field(default_factory=dict)

    @cached_property
    def hits(self) -> list[Bar]:
        """The bars that mean something for this dog."""
        return [bar for bar in self.regulation.bar if bar.verdict != "may" and _hit(self, bar)]

    @property
    def kinds(self) -> frozenset[Kind] | None:
        return self.show.kinds if self.show else None

    def label(self, fact: Fact) -> str:
        if fact.edition not in self.labels:
            self.labels[fact.edition] = edition(self.regulation, fact)
        return self.labels[fact.edition]


def _at(track: _Track, day: date) -> _Answer:
    found = track[0][1]
    for start, answer in track:
        if start > day:
            break
        found = answer
    return found


def _weakest(reads: Iterable[Read]) -> Read:
    return min(reads, key=_TRUST.index)


def _read(fact: Fact, *keys: str) -> Read:
    """Return how a fact was read, as far as it rests on these keys."""
    return fact.read if fact.memory == () or not set(keys) & set(fact.memory) else "memory"


# --- Age -----------------------------------------------------------------------------------


class _Stage(NamedTuple):
    """A stretch of life as two bounds see it; `by` names the bound that speaks."""

    start: date
    state: Outcome
    says: str
    by: Literal["low", "high", "both"]
    readings: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Side:
    """One bound of a class for one dog."""

    bound: Bound
    days: tuple[date, ...]
    low: bool

    def inside(self, day: date) -> dict[date, set[bool]]:
        """Return for each reading of the month whether `day` is inside, by each way to count."""
        ways = (True, False) if self.bound.inclusive == "silent" else (self.bound.inclusive,)
        return {reach: {self._is_in(day, reach, way) for way in ways} for reach in self.days}

    def _is_in(self, day: date, reach: date, inclusive: bool) -> bool:
        if day == reach:
            return inclusive
        return day > reach if self.low else day < reach

    def state(self, day: date) -> bool | None:
        """Return whether `day` is inside, or None where that is open."""
        if day not in self.days:
            outside = [self._is_in(day, reach, False) for reach in self.days]
            if len(set(outside)) == 1:
                return outside[0]
        found = set().union(*self.inside(day).values())
        return found.pop() if len(found) == 1 else None

    def question(self, day: date, born: date) -> str:
        """Return what is open about `day`."""
        parts = []
        if len(self.days) > 1:
            parts.append(_month_question(born))
        if any(len(found) > 1 for found in self.inside(day).values()):
            parts.append(f"whether the day on which it is {_say_age(self.bound)} old counts")
        return f"Depends on {' and on '.join(parts)}, which the text leaves open"

    def readings(self, day: date, born: date) -> tuple[str, ...]:
        """Return in words each way to see a day in dispute."""
        age = _say_age(self.bound)
        if len(self.days) > 1:
            return tuple(
                f"Counted to {words} it is {age} old on {say(reach)}: {self._so(found)}."
                for words, (reach, found) in zip(
                    _month_words(born), self.inside(day).items(), strict=True
                )
            )
        if self.low:
            return (
                f"If {age} on the day is enough, it may go in.",
                f"If it must be over {age}, it is a day too young.",
            )
        return (
            f"If the day on which it is {age} old still counts, it may go in.",
            "If the class ends the day before, it is too old.",
        )

    def _so(self, found: set[bool]) -> str:
        if len(found) > 1:
            return "in only if that day itself counts"
        if found == {True}:
            return "it may go in"
        return "too young" if self.low else "too old"

    def turns(self) -> str:
        """Return when the age is reached, and what that means where it is not plain."""
        limit = ""
        if self.low and self.bound.inclusive is False:
            limit = ", and the class is for older dogs"
        if not self.low and self.bound.inclusive is True:
            limit = ", the last day for this class"
        return f"it is {_say_age(self.bound)} old on {_say_any(self.days)}{limit}"


def _month_question(born: date) -> str:
    if (born.month, born.day) == (2, 29):
        return "whether 28 February or 1 March stands for 29 February"
    return f"how a month that has no {born.day}{'st' if born.day == 31 else 'th'} is counted"


def _month_words(born: date) -> tuple[str, str]:
    if (born.month, born.day) == (2, 29):
        return "28 February", "1 March"
    return "the month's last day", "the day after the month"


def _age_track(case: _Case, klass: ShowClass) -> _Track:
    by_low, name, low = _lowest_age(case.regulation, klass)
    track: _Track = []
    for stage in _stages(case, low, klass.high):
        if stage.by == "low":
            answer = _Answer(
                stage.state, stage.says, by_low, name, _read(by_low, "low", "under"), stage.readings
            )
        else:
            keys = ("high",) if stage.by == "high" else ("low", "high")
            read = _read(klass, *keys)
            answer = _Answer(stage.state, stage.says, klass, "", read, stage.readings)
        track.append((stage.start, answer))
    return track


def _lowest_age(regulation: Regulation, klass: ShowClass) -> tuple[Fact, str, Bound | None]:
    """Return the class's own least age, or that for any dog where it names none."""
    if klass.low:
        return klass, "", klass.low
    for bar in regulation.bar:
        if bar.under and not any(klass.id in exempt.classes for exempt in bar.exempt):
            return bar, f"bar/{bar.id}", bar.under
    return klass, "", None


def _stages(case: _Case, low: Bound | None, high: Bound | None) -> list[_Stage]:
    """Return the life of the dog as these bounds see it. Many classes share theirs."""
    rules = (case.regulation.month_end.reading, case.regulation.leap_day.reading)
    key = (rules, *((it.age, it.unit, it.inclusive) if it else None for it in (low, high)))
    if key not in case.ages:
        case.ages[key] = list(_work_out(case, low, high))
    return case.ages[key]


def _work_out(case: _Case, low: Bound | None, high: Bound | None) -> Iterator[_Stage]:
    born = case.dog.born
    floor = _Side(low, reached(case.regulation, born, low), True) if low else None
    ceiling = _Side(high, reached(case.regulation, born, high), False) if high else None
    turns = {day for side in (floor, ceiling) if side for day in side.days}
    last: _Stage | None = None
    for start in sorted({born} | turns | {day + DAY for day in turns}):
        stage = _stage(floor, ceiling, start, born)
        if last is None or last._replace(start=start) != stage:
            yield stage
            last = stage


def _stage(floor: _Side | None, ceiling: _Side | None, day: date, born: date) -> _Stage:
    old_enough = floor.state(day) if floor else True
    young_enough = ceiling.state(day) if ceiling else True
    if floor and old_enough is False:
        return _Stage(day, "may not", f"Too young: {floor.turns()}", "low")
    if ceiling and young_enough is False:
        return _Stage(day, "may not", f"Too old: {ceiling.turns()}", "high")
    if floor and old_enough is None:
        question, readings = floor.question(day, born), floor.readings(day, born)
        return _Stage(day, "may if", question, "low", readings)
    if ceiling and young_enough is None:
        question, readings = ceiling.question(day, born), ceiling.readings(day, born)
        return _Stage(day, "may if", question, "high", readings)
    return _Stage(day, "may", _right_age(floor, ceiling), "both")


def _right_age(floor: _Side | None, ceiling: _Side | None) -> str:
    parts = []
    if floor:
        over = "over" if floor.bound.inclusive is False else "at least"
        parts.append(f"{over} {_say_age(floor.bound)}")
    if ceiling:
        under = "not over" if ceiling.bound.inclusive else "under"
        if ceiling.bound.inclusive == "silent":
            under = "up to"
        parts.append(f"{under} {_say_age(ceiling.bound)}")
    return f"Right age: {' and '.join(parts)}" if parts else "No age limit"


# --- Titles, wins, answers -------------------------------------------------------------------


class _Since(NamedTuple):
    """Since when something holds: a day, all along (date.min), never, or nobody has said."""

    day: date | None = None
    known: bool = True


_NEVER = _Since()
_UNKNOWN = _Since(known=False)
_ALWAYS = _Since(date.min)


def _condition_track(case: _Case, klass: ShowClass, condition: Condition) -> _Track:
    """Return what a condition says about the dog, from birth on."""
    name = f"{klass.id}/{condition.id}"
    read = _read(condition, "titles", "tally", "counted_by")
    born = case.dog.born

    def answer(state: Outcome, says: str = "", readings: tuple[str, ...] = ()) -> _Answer:
        instead = condition.instead if state != "may" else None
        return _Answer(state, says, condition, name, read, readings, instead)

    def refusal(says: str) -> _Answer:
        # At some kinds of show only, and the kind is not known: then it is an "if".
        return answer("may if", asks) if open_kind else answer("may not", says)

    if condition.kinds and case.kinds is not None and not set(condition.kinds) & case.kinds:
        return []
    open_kind = bool(condition.kinds) and case.kinds is None
    asks = f"at {_say_kinds(condition.kinds)} {condition.asks}" if open_kind else condition.asks
    since = _earliest(_parts(case, condition))
    if not since.known:
        return [(born, answer("may if", asks))]
    needs = condition.how == "needs"
    before = [(born, refusal(_lacks(condition)) if needs else answer("may"))]
    perhaps = _held(condition.perhaps, case.dog).day if needs and condition.perhaps else None
    if perhaps is not None:
        says = f"its title is recognised, so that {asks}"
        before.append((max(perhaps, born), answer("may if", says)))
    if since.day is None:
        return before
    after = answer("may") if needs else refusal(_has(condition, since.day))
    if since.day <= born:
        return [(born, after)]
    before = [(day, held) for day, held in before if day < since.day]
    counted = _counted_from(condition, since.day, case.show)
    if counted is not None:
        return [*before, (counted, after)]
    between = (since.day, answer("may if", *_by_closing(condition, since.day, needs)))
    return [*before, between, (since.day + LONGEST_ENTRY, after)]


def _counted_from(condition: Condition, day: date, show: Show | None) -> date | None:
    """Return from which show day on something earned on `day` counts; None where it is open."""
    if condition.counted_by == "day of show":
        return day
    if show is None or show.closing is None:
        return None
    closing = show.closing
    if condition.counted_by == "seventh day before closing":
        closing -= WINS_BEFORE_CLOSING
    if day <= closing:
        return day
    return None if condition.counted_by == "silent" else date.max


def _by_closing(condition: Condition, day: date, needs: bool) -> tuple[str, tuple[str, ...]]:
    """Return what to ask of the closing date, and the readings where the text names no day."""
    if condition.counted_by == "seventh day before closing":
        day += WINS_BEFORE_CLOSING
    closed = f"entries closed {'on or after' if needs else 'before'} {say(day)}"
    reason = f"as the class asks that {condition.asks}"
    if condition.counted_by != "silent":
        return f"{closed}, {reason}", ()
    if needs:
        says = f"the day of the show decides, which the text leaves open, or {closed}, {reason}"
        return says, (
            "If the day of the show decides, it has what is asked.",
            f"If the closing date decides, it has it only where {closed}.",
        )
    says = f"the closing date decides, which the text leaves open, and {closed}, {reason}"
    return says, (
        "If the day of the show decides, it is barred.",
        f"If the closing date decides, it may go in where {closed}.",
    )


def _say_kinds(kinds: Iterable[Kind]) -> str:
    return " or ".join(_KINDS[kind] for kind in kinds)


def _lacks(condition: Condition) -> str:
    if condition.question or condition.born_in:
        return f"Only if {condition.asks}; by its record that is not so"
    return f"Only if {condition.asks}; no such title is recorded"


def _has(condition: Condition, day: date) -> str:
    since = "" if day == date.min else f" since {say(day)}"
    return f"Only if {condition.asks}; by its record that is no longer so{since}"


def _parts(case: _Case, condition: Condition) -> Iterator[_Since]:
    if condition.titles:
        yield _held(condition.titles, case.dog)
    for tally in condition.tally:
        yield _won(tally, case.regulation.body, case.dog)
    if condition.question:
        yield _said(_reply(case, condition.question))
    if condition.born_in:
        born_in = case.dog.born_in
        yield _said(None if born_in is None else born_in in condition.born_in)


def _earliest(parts: Iterable[_Since]) -> _Since:
    """Return since when any part holds. What is certain outweighs what nobody has said."""
    known = list(parts)
    days = [part.day for part in known if part.day is not None]
    if days:
        return _Since(min(days))
    return _NEVER if all(part.known for part in known) else _UNKNOWN


def _said(reply: bool | None) -> _Since:
    return _UNKNOWN if reply is None else _ALWAYS if reply else _NEVER


def _reply(case: _Case, question: Question) -> bool | None:
    """Return yes, no or None for a question about the dog."""
    dog = case.dog
    if question == "neutered":
        return dog.neutered
    if question == "registered":
        return dog.registered.get(case.regulation.body)
    if (
        question == "never_first"
        and dog.awards is not None
        and not any(award.award == "class-first" for award in dog.awards)
    ):
        return True
    return dog.answers.get(question)


def _held(titles: Collection[str], dog: DogFacts) -> _Since:
    if dog.titles is None:
        return _UNKNOWN
    days = [on or date.min for held, on in dog.titles.items() if _is_any(held, titles)]
    return _Since(min(days)) if days else _NEVER


def _is_any(held: str, titles: Collection[str]) -> bool:
    if held in titles:
        return True
    body, _, name = held.partition("-")
    if "any-ch" in titles and name in _CHAMPION:
        return True
    return name in _HIGHER and f"{body}-ch" in titles


def _won(tally: Tally, body: Body, dog: DogFacts) -> _Since:
    """Return since when the wins reach the tally; open where the record says too little."""
    if dog.awards is None:
        return _UNKNOWN
    possible = 0
    sure: list[tuple[date, int]] = []
    for award, won in dog.wins:
        counts = _counts(tally, body, award)
        if counts is not False:
            possible += sum(points for _, points in won)
        if counts:
            sure += won
    if possible < tally.count:
        return _NEVER
    total = 0
    for day, points in sorted(sure):
        total += points
        if total >= tally.count:
            return _Since(day)
    return _UNKNOWN


def _counts(tally: Tally, body: Body, award: Award) -> bool | None:
    """Return whether a win counts, or None where the record does not say enough."""
    if award.award not in tally.awards or not (tally.everywhere or award.body == body):
        return False
    # A class of another body has a name of its own, which this body's lists do not mean.
    klass = award.klass if award.body == body else None
    known = True
    for asked, given in (
        (tally.classes, klass and klass in tally.classes),
        (tally.not_classes, klass and klass not in tally.not_classes),
        (tally.kinds, award.kind and award.kind in tally.kinds),
        (tally.ccs, award.ccs),
        (tally.breed_only, award.breed_only),
    ):
        if asked and given is False:
            return False
        known = known and not (asked and given is None)
    return True if known else None


# --- What bars any dog -----------------------------------------------------------------------


def _bar_track(case: _Case, klass: ShowClass, bar: Bar) -> _Track:
    """Return what a bar that holds for the dog means in this class; an empty track for nothing."""
    dog = case.dog
    state, says = bar.verdict, bar.says.removesuffix(".")
    if bar.asks and bar.verdict == "may if":
        says = bar.asks
    if bar.kinds and case.kinds is not None and not set(bar.kinds) & case.kinds:
        return []
    if bar.kinds and case.kinds is None and bar.asks:
        state, says = "may if", bar.asks
    for exempt in bar.exempt:
        if klass.id in exempt.classes:
            if exempt.asks is None:
                return []
            state, says = "may if", exempt.asks
    start = max(dog.born, bar.valid_from or dog.born)
    if bar.question == "testes" and dog.testes:
        start = max(start, dog.testes.on)
        felt = "one was" if dog.testes.state == "one" else "none was"
        state, says = "may if", f"both testes are down by then ({felt} on {say(dog.testes.on)})"
    answer = _Answer(state, says, bar, f"bar/{bar.id}", _read(bar, "effect"))
    return _from(dog.born, start, answer)


def _from(born: date, start: date, answer: _Answer) -> _Track:
    """Return a track on which an answer holds from `start` on and nothing before."""
    if start <= born:
        return [(born, answer)]
    return [(born, answer._replace(state="may", says="")), (start, answer)]


def _hit(case: _Case, bar: Bar) -> bool:
    dog = case.dog
    if bar.question is None or (bar.sex and dog.sex and bar.sex != dog.sex):
        return False
    if bar.question == "testes":
        return dog.testes is not None and dog.testes.state != "both" and not dog.neutered
    return _reply(case, bar.question) is bar.when


def bars(regulation: Regulation, dog: DogFacts) -> list[Data]:
    """Return all that bars any dog, for the gate: {id, state, verdict, why, effect, clause ...}.

    `state` is "hit" where it holds for this dog, "clear" where it does not, "ask" where nobody
    has said. Ages are left to the classes.
    """
    case = _Case(regulation, dog)
    found: list[Data] = []
    for bar in regulation.bar:
        if bar.question is None or (bar.sex and dog.sex and bar.sex != dog.sex):
            continue
        if bar.question == "testes" and dog.neutered:
            continue
        reply = dog.testes if bar.question == "testes" else _reply(case, bar.question)
        found.append(
            {
                "id": bar.id,
                "state": "ask" if reply is None else "hit" if _hit(case, bar) else "clear",
                "verdict": bar.verdict,
                "why": bar.says,
                "effect": bar.effect,
                "lasting": bar.lasting,
                "clause": bar.clause,
                "edition": case.label(bar),
                "read": _read(bar, "effect"),
            }
        )
    return found


# --- A class -----------------------------------------------------------------------------------


def _own_tracks(case: _Case, klass: ShowClass) -> Iterator[_Track]:
    """Yield what a class asks besides age and conditions: sex, kind of show, since when."""
    dog = case.dog

    def answer(state: Outcome, says: str) -> _Answer:
        return _Answer(state, says, klass, "", klass.read)

    if klass.sex and dog.sex is None:
        yield [(dog.born, answer("may if", f"it is a {klass.sex}"))]
    elif klass.sex and klass.sex != dog.sex:
        yield [(dog.born, answer("may not", f"Only for a {klass.sex}"))]
    if klass.kinds and case.kinds is None:
        yield [(dog.born, answer("may if", f"the show is {_say_kinds(klass.kinds)}"))]
    elif klass.kinds and not set(klass.kinds) & (case.kinds or frozenset()):
        yield [(dog.born, answer("may not", f"Only at {_say_kinds(klass.kinds)}"))]
    if klass.valid_from and klass.valid_from > dog.born:
        says = f"The class began on {say(klass.valid_from)}"
        yield [(dog.born, answer("may not", says)), (klass.valid_from, answer("may", ""))]


def _tracks(case: _Case, klass: ShowClass, *, lasting: bool) -> list[_Track]:
    """Return all that a class asks of the dog, the age first."""
    tracks = [_age_track(case, klass), *_own_tracks(case, klass)]
    tracks += [_condition_track(case, klass, condition) for condition in klass.condition]
    tracks += [_bar_track(case, klass, bar) for bar in case.hits if bar.lasting >= lasting]
    return [track for track in tracks if track]


def _combine(case: _Case, klass: ShowClass, answers: Sequence[_Answer]) -> Ruling:
    """Lay the answers over one another: the first no decides, else every "if" is named."""
    for answer in answers:
        if answer.state == "may not":
            return _ruling(case, klass, answer, [answer])
    age, *others = answers
    involved = [age, *(answer for answer in others if answer.state == "may if")]
    deciding = next((answer for answer in involved if answer.state == "may if"), age)
    return _ruling(case, klass, deciding, involved)


def _ruling(case: _Case, klass: ShowClass, by: _Answer, involved: Sequence[_Answer]) -> Ruling:
    clause, label, name = by.fact.clause, case.label(by.fact), by.name or klass.id
    if len(involved) == 1:
        return Ruling(
            klass.id, by.state, (by.says,), clause, label, by.read, name, by.readings, by.instead
        )
    return Ruling(
        klass.id,
        by.state,
        tuple(dict.fromkeys(answer.says for answer in involved)),
        clause,
        label,
        _weakest(answer.read for answer in involved),
        name,
        tuple(words for item in involved for words in item.readings),
        next((answer.instead for answer in involved if answer.instead), None),
    )


# --- For a show ------------------------------------------------------------------------------


def governs(regulation: Regulation) -> str:
    """Return the sentence that belongs under every verdict of this body."""
    return f"The show's own schedule governs; read from {_label(regulation.edition[0])}."


def edition(regulation: Regulation, fact: Fact) -> str:
    """Return the edition a fact was read in, as "title, number (date)"."""
    texts = regulation.edition
    return _label(next((item for item in texts if item.id == fact.edition), texts[0]))


def _label(text: Edition) -> str:
    label = f"{text.title}, {text.number}" if text.number else text.title
    return f"{label} ({text.date})" if text.date and text.date not in label else label


def verdicts(regulation: Regulation, dog: DogFacts, show: Show) -> list[Ruling]:
    """Return for each class of the body whether the dog may enter it at this show, and why."""
    case = _Case(regulation, dog, show)
    return [_verdict(case, klass, show) for klass in regulation.classes]


def _verdict(case: _Case, klass: ShowClass, show: Show) -> Ruling:
    tracks = _tracks(case, klass, lasting=False)

    def on(day: date) -> Ruling:
        if day < case.dog.born:
            unborn = _Answer("may not", "Not born yet on that day", klass, "", klass.read)
            return _ruling(case, klass, unborn, [unborn])
        return _combine(case, klass, [_at(track, day) for track in tracks])

    ages = case.regulation.ages
    decides = klass.decides or ages.decides
    days = _days(show)
    if decides == "closing date":
        return _on_closing(on, show)
    if decides == "first day" or len(days) == 1:
        ruling = on(days[0])
        if any(on(day).verdict != ruling.verdict for day in days[1:]):
            by_day = _read(klass, "decides") if klass.decides else ages.read
            return ruling._replace(read=_weakest((ruling.read, by_day)))
        return ruling
    own = [show.shown] if show.shown else days
    return _several(case, on, own, None if decides == "day shown" else days[0])


def _on_closing(on: Callable[[date], Ruling], show: Show) -> Ruling:
    if show.closing:
        return on(show.closing)
    why = "The age on the closing date of entries decides, and that date is not known"
    return on(show.first)._replace(verdict="may if", parts=(why,), readings=())


def _days(show: Show) -> list[date]:
    last = max(show.first, show.last or show.first)
    return [show.first + DAY * step for step in range((last - show.first).days + 1)]


def _several(
    case: _Case, on: Callable[[date], Ruling], own: Sequence[date], first: date | None
) -> Ruling:
    """Return the ruling on which all days agree, else "may if" with what each of them gives.

    `first` is the first day of the show where the text leaves open whether that one decides.
    """
    rulings = {day: on(day) for day in ([first] if first else []) + list(own)}
    one = next(iter(rulings.values()))
    if len({(ruling.verdict, ruling.readings) for ruling in rulings.values()}) == 1:
        return one
    why = "Depends on the day on which it is shown"
    readings = []
    if first:
        why = (
            "Depends on whether the first day of the show or the dog's own day decides, "
            "which the text leaves open"
        )
        readings.append(f"If the first day of the show decides, {_says(rulings[first])}")
    for span, ruling in _spans(rulings, own):
        opening = "If its own day decides and it is shown on" if first else "Shown on"
        readings.append(f"{opening} {_say_span(span)}, {_says(ruling)}")
    ages = case.regulation.ages
    return Ruling(
        one.klass,
        "may if",
        (why,),
        ages.clause,
        case.label(ages),
        _weakest((ages.read, *(ruling.read for ruling in rulings.values()))),
        "ages",
        tuple(readings),
    )


def _says(ruling: Ruling) -> str:
    return f"it {ruling.verdict}: {ruling.why[0].lower()}{ruling.why[1:]}"


def _spans(
    rulings: Mapping[date, Ruling], days: Sequence[date]
) -> Iterator[tuple[list[date], Ruling]]:
    span: list[date] = []
    for day in days:
        if span and rulings[span[-1]] != rulings[day]:
            yield span, rulings[span[-1]]
            span = []
        span.append(day)
    yield span, rulings[span[-1]]


def _say_span(days: Sequence[date]) -> str:
    return say(days[0]) if len(days) == 1 else f"{say(days[0])} to {say(days[-1])}"


# --- For a life, and for the phone -----------------------------------------------------------


def windows(regulation: Regulation, dog: DogFacts) -> list[Window]:
    """Return for each class the windows of the dog's life, from birth on without a gap.

    They hold for lasting facts; lameness, season and the like belong to the day (`bars`). What
    a show alone would tell (its kind, its closing date) is part of the "may if".
    """
    case = _Case(regulation, dog)
    return [window for klass in regulation.classes for window in _class_windows(case, klass)]


def _class_windows(case: _Case, klass: ShowClass) -> list[Window]:
    found = _class_rulings(case, klass)
    ends = [start - DAY for start, _ in found[1:]]
    return [
        Window(start, end, ruling)
        for (start, ruling), end in zip(found, [*ends, None], strict=True)
    ]


def _class_rulings(case: _Case, klass: ShowClass) -> list[tuple[date, Ruling]]:
    """Return the rulings of a life, each with the day from which on it holds."""
    tracks = _tracks(case, klass, lasting=True)
    found: list[tuple[date, Ruling]] = []
    if len(tracks) == 1:
        answers = [(start, [answer]) for start, answer in tracks[0]]
    else:
        starts = sorted({start for track in tracks for start, _ in track})
        answers = [(start, [_at(track, start) for track in tracks]) for start in starts]
    for start, given in answers:
        ruling = _combine(case, klass, given)
        if not found or found[-1][1] != ruling:
            found.append((start, ruling))
    return found


# One letter each, to keep a pack small: "ns" is may not, by a secondary reading.
_LETTERS: Mapping[str, str] = {"may": "y", "may not": "n", "may if": "i"}


def pack_windows(regulations: Mapping[str, Regulation], dog: DogFacts) -> Data:
    """Return the windows of all bodies as the phone keeps them: small, to be looked up by date.

    {"v": 1, "born": day, "s": [words, ...], "w": {body: {class: [row, ...]}}}. A row is
    [from, code, words, fact, readings]; it holds until the next row of its class begins, the last
    for good. `code` is y (may), n (may not) or i (may if), then c, s or m for copy, secondary,
    memory. `words` is one place in "s", or a list of places [a, b, c ...] that reads "a; only if b,
    and c"; a full stop ends either. `readings` are places of whole sentences. `fact` is a key of
    `pack_rules`, "" for the class itself. What is empty at the end of a row is left out.
    """
    places: dict[str, int] = {}

    def place(sentence: str) -> int:
        return places.setdefault(sentence, len(places))

    def row(start: date, ruling: Ruling) -> list[Any]:
        parts = ruling.parts
        cells: list[Any] = [
            start.isoformat(),
            _LETTERS[ruling.verdict] + ruling.read[0],
            place(parts[0]) if len(parts) == 1 else [place(part) for part in parts],
        ]
        fact = "" if ruling.fact == ruling.klass else ruling.fact.removeprefix(f"{ruling.klass}/")
        if ruling.readings:
            cells += [fact, [place(words) for words in ruling.readings]]
        elif fact:
            cells.append(fact)
        return cells

    bodies: Data = {}
    ages: dict[Any, list[_Stage]] = {}
    for body, regulation in regulations.items():
        case = _Case(regulation, dog, ages=ages)
        bodies[body] = {
            klass.id: [row(start, ruling) for start, ruling in _class_rulings(case, klass)]
            for klass in regulation.classes
        }
    return {"v": 1, "born": dog.born.isoformat(), "s": list(places), "w": bodies}


def pack_rules(regulations: Mapping[str, Regulation]) -> Data:
    """Return what is the same for every dog, once for the phone: names, clauses, editions.

    {"v": 1, "b": {body: {"n": name, "g": the sentence under every verdict, "t": what the body says
    of schedules, "d": which day decides, "e": [edition, ...], "c": {class: {...}}, "f": {fact:
    [clause, place of the edition, read]}}}}. A class has "n" (name), "f" (its own fact) and, where
    there is any, "d", "w" (can win), "x" (cannot), "o" (optional), "k" (kinds of show), "s" (sex),
    "h" (who handles), "v" (what becomes of a dog over age), "u" (note), "r" (how "d" was read) and
    "q" ({condition: {"f", "i": the class instead}}). Facts of no class: "ages", "month_end",
    "leap_day", "bar/...".
    """
    return {"v": 1, "b": {body: _rules(item) for body, item in regulations.items()}}


def _rules(regulation: Regulation) -> Data:
    editions = list(dict.fromkeys(_labels(regulation)))

    def fact(item: Fact) -> list[Any]:
        return [item.clause, editions.index(edition(regulation, item)), item.read[0]]

    def klass(item: ShowClass) -> Data:
        data: Data = {"n": item.name, "f": fact(item)}
        optional = {
            "d": item.decides, "w": item.wins, "x": item.never_wins, "k": item.kinds,
            "s": item.sex, "h": item.handler, "v": item.over_age,
            "u": f"{item.note} {item.conflict}".strip(),
        }  # fmt: skip
        for key, value in optional.items():
            if value:
                data[key] = list(value) if isinstance(value, tuple) else value
        if item.optional is not None:
            data["o"] = item.optional
        if item.decides:
            data["r"] = _read(item, "decides")[0]
        if item.condition:
            data["q"] = {
                condition.id: {"f": fact(condition)}
                | ({"i": condition.instead} if condition.instead else {})
                for condition in item.condition
            }
        return data

    return {
        "n": regulation.name,
        "g": governs(regulation),
        "t": regulation.governs.says,
        "d": regulation.ages.decides,
        "e": editions,
        "c": {item.id: klass(item) for item in regulation.classes},
        "f": {
            "ages": fact(regulation.ages),
            "month_end": fact(regulation.month_end),
            "leap_day": fact(regulation.leap_day),
        }
        | {f"bar/{bar.id}": fact(bar) for bar in regulation.bar},
    }


def _labels(regulation: Regulation) -> Iterator[str]:
    for rule in (regulation.ages, regulation.month_end, regulation.leap_day):
        yield edition(regulation, rule)
    for klass in regulation.classes:
        yield edition(regulation, klass)
        yield from (edition(regulation, condition) for condition in klass.condition)
    yield from (edition(regulation, bar) for bar in regulation.bar)
