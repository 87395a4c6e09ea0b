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

from calendar import monthrange
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, Literal

from ringside.knowledge.regulation_schema import (
    Bar,
    Bound,
    Condition,
    Fact,
    Kind,
    Outcome,
    Question,
    Regulation,
    ShowClass,
    Tally,
)
from ringside.knowledge.schema import Read, Sex

Data = dict[str, Any]

DAY = timedelta(days=1)
# Nobody takes entries for a show more than a year ahead: from then on the closing date, which
# a window cannot know, makes no difference to what was won before it.
LONGEST_ENTRY = timedelta(days=366)
# Wins count to the seventh day before the closing date, that day included.
WINS_BEFORE_CLOSING = timedelta(days=7)

_CLOSING_READINGS = (
    "If what stands on the day of the show counts, that is what stood then.",
    "If what stood when entries closed counts, it rests on the closing date.",
)

# Holding a higher title means holding that of champion too.
_HIGHER = {"gch", "gchb", "gchs", "gchg", "gchp", "gchex", "grch", "supreme"}
_CHAMPION = _HIGHER | {"ch", "sh_ch", "national_ch", "cib", "cib_working", "cie"}
_TRUST: Sequence[Read] = ("memory", "secondary", "copy")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_KINDS: Mapping[Kind, str] = {
    "championship": "a championship show",
    "open": "an open show",
    "limited": "a limited show",
    "breed_club": "a breed club's show",
    "specialty": "a specialty",
    "cacib": "a CACIB show",
}


@dataclass(frozen=True)
class Title:
    """A title held, as "akc:ch"; without a day it counts as held all along."""

    id: str
    on: date | None = None


@dataclass(frozen=True)
class Award:
    """A win. What the record does not say stays None and makes a count uncertain."""

    award: str  # first, cc, cacib, championship_points, challenge_points ...
    body: str  # fci, akc, kc, ckc, da
    on: date | None = None
    klass: str | None = None
    kind: Kind | None = None
    ccs: bool | None = None  # whether CCs were on offer for the breed
    breed_only: bool | None = None  # whether the class was confined to the breed
    points: int = 1


@dataclass(frozen=True)
class Testes:
    """What was felt, and when."""

    state: Literal["both", "one", "none"]
    on: date


@dataclass(frozen=True)
class DogFacts:
    """What a ruling depends on. None (or a missing answer) means that nobody has said."""

    born: date
    sex: Sex | None = None
    neutered: bool | None = None
    titles: tuple[Title, ...] | None = None
    awards: tuple[Award, ...] | None = None
    testes: Testes | None = None
    born_in: str | None = None  # country, as "CA"
    registered: Mapping[str, bool] = field(default_factory=dict)  # by body: fci, akc ...
    answers: Mapping[Question, bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Show:
    """A show of one or several days, as far as it is known."""

    first: date
    last: date | None = None
    shown: date | None = None  # the day on which this dog is in the ring
    kinds: frozenset[Kind] | None = None
    closing: date | None = None


@dataclass(frozen=True)
class Ruling:
    """One class on one day. `fact` finds the deciding entry in the body's file."""

    klass: str
    verdict: Outcome
    why: str
    clause: str
    edition: str
    read: Read
    fact: str
    readings: tuple[str, ...] = ()
    instead: str | None = None


@dataclass(frozen=True)
class Window:
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
    last = monthrange(year, month)[1]
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


@dataclass(frozen=True)
class _Answer:
    """What holds for a while. `says` completes "if" for "may if", else is a whole sentence."""

    state: Outcome
    says: str
    fact: Fact
    name: str
    readings: tuple[str, ...] = ()
    read: Read = "copy"
    instead: str | None = None


_Track = list[tuple[date, _Answer]]


def _at(track: _Track, day: date) -> _Answer:
    found = track[0][1]
    for start, answer in track:
        if start > day:
            break
        found = answer
    return found


def _weakest(*reads: Read) -> Read:
    return min(reads, key=_TRUST.index)


def _read(fact: Fact, *keys: str) -> Read:
    """Return how a fact was read, as far as it rests on these keys."""
    return "memory" if set(keys) & set(fact.memory) else fact.read


# --- Age -----------------------------------------------------------------------------------


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
        found = set().union(*self.inside(day).values())
        return found.pop() if len(found) == 1 else None

    def readings(self, day: date, born: date) -> tuple[str, ...]:
        """Return in words each way to see a day in dispute."""
        age = _say_age(self.bound)
        inside = self.inside(day)
        if len(self.days) == 1:
            if self.low:
                return (
                    f"If {age} on the day is enough, it may go in.",
                    f"If it must be over {age}, it is a day too young.",
                )
            return (
                f"If the day on which it is {age} old still counts, it may go in.",
                "If the class ends the day before, it is too old.",
            )
        return tuple(
            f"Counted to {_month_words(born, place)}, it is {age} old on {say(reach)}: "
            f"{self._so(inside[reach])}."
            for place, reach in enumerate(self.days)
        )

    def _so(self, found: set[bool]) -> str:
        if len(found) > 1:
            return "it may go in only if that day itself counts"
        if found == {True}:
            return "it may go in"
        return "it is too young" if self.low else "it is too old"


def _month_words(born: date, place: int) -> str:
    if (born.month, born.day) == (2, 29):
        return ("28 February", "1 March")[place]
    return ("the month's last day", "the first day after the month")[place]


def _age_track(regulation: Regulation, klass: ShowClass, born: date) -> _Track:
    fact, name, low = _lowest_age(regulation, klass)
    sides = [
        _Side(bound, reached(regulation, born, bound), bound is low)
        for bound in (low, klass.high)
        if bound
    ]
    starts = {born}
    for side in sides:
        for day in side.days:
            starts |= {day, day + DAY}
    track: _Track = []
    for start in sorted(starts):
        answer = _age_answer(klass, fact, name, sides, start, born)
        if not track or track[-1][1] != answer:
            track.append((start, answer))
    return track


def _lowest_age(regulation: Regulation, klass: ShowClass) -> tuple[Fact, str, Bound | None]:
    """Return the class's own least age, or that for any dog where it names none."""
    if klass.low:
        return klass, "", klass.low
    for bar in regulation.bar:
        if bar.under and not any(klass.id in exempt.classes for exempt in bar.exempt):
            return bar, f"bar/{bar.id}", bar.under
    return klass, "", None


def _age_answer(
    klass: ShowClass, fact: Fact, name: str, sides: Sequence[_Side], day: date, born: date
) -> _Answer:
    low = next((side for side in sides if side.low), None)
    high = next((side for side in sides if not side.low), None)
    old_enough = low is None or low.state(day)
    young_enough = high is None or high.state(day)
    if low and old_enough is False:
        return _Answer(
            "may not", f"Too young: {_turns(low)}.", fact, name, read=_read(fact, "low", "under")
        )
    if high and young_enough is False:
        return _Answer("may not", f"Too old: {_turns(high)}.", klass, "", read=_read(klass, "high"))
    if old_enough and young_enough:
        return _Answer("may", _right_age(low, high), klass, "", read=_read(klass, "low", "high"))
    open_side = low if low and old_enough is None else high
    assert open_side
    return _Answer(
        "may if",
        _open_question(open_side, day, born),
        fact if open_side.low else klass,
        name if open_side.low else "",
        readings=open_side.readings(day, born),
        read=_read(fact if open_side.low else klass, "low" if open_side.low else "high"),
    )


def _turns(side: _Side) -> str:
    limit = ""
    if side.low and side.bound.inclusive is False:
        limit = ", and the class is for older dogs"
    if not side.low and side.bound.inclusive is True:
        limit = ", the last day for this class"
    return f"it is {_say_age(side.bound)} old on {_say_any(side.days)}{limit}"


def _right_age(low: _Side | None, high: _Side | None) -> str:
    """Name the bounds; the days themselves are those of the window."""
    if low and high:
        under = "up to" if high.bound.inclusive is True else "under"
        return f"Right age: {low.bound.age} to {under} {_say_age(high.bound)}"
    if low:
        over = "over" if low.bound.inclusive is False else "at least"
        return f"Right age: {over} {_say_age(low.bound)}"
    if high:
        under = "up to" if high.bound.inclusive is True else "under"
        return f"Right age: {under} {_say_age(high.bound)}"
    return "No age limit"


def _open_question(side: _Side, day: date, born: date) -> str:
    parts = []
    if len(side.days) > 1:
        if (born.month, born.day) == (2, 29):
            parts.append("whether 28 February or 1 March stands for 29 February")
        else:
            parts.append("how a month without the day of birth is counted")
    if any(len(found) > 1 for found in side.inside(day).values()):
        parts.append(f"whether the day on which it is {_say_age(side.bound)} old counts")
    return f"Depends on {' and on '.join(parts)}, of which the text says nothing"


# --- Titles, wins, answers -------------------------------------------------------------------


@dataclass(frozen=True)
class _Since:
    """Since when something holds: a day, all along (date.min), never, or nobody has said."""

    day: date | None = None
    known: bool = True


_NEVER = _Since()
_UNKNOWN = _Since(known=False)
_ALWAYS = _Since(date.min)


def _condition_track(
    regulation: Regulation, klass: ShowClass, condition: Condition, dog: DogFacts, show: Show | None
) -> _Track:
    """Return what a condition says about the dog, from birth on."""

    def answer(state: Outcome, says: str = "", readings: tuple[str, ...] = ()) -> _Answer:
        name = f"{klass.id}/{condition.id}"
        read = _read(condition, "titles", "tally", "counted_by")
        instead = condition.instead if state != "may" else None
        return _Answer(state, says, condition, name, readings, read, instead)

    def refusal(says: str) -> _Answer:
        # At some kinds of show only, and the kind is not known: then it is an "if".
        return answer("may if", asks) if open_kind else answer("may not", says)

    kinds = show.kinds if show else None
    if condition.kinds and kinds is not None and not set(condition.kinds) & kinds:
        return [(dog.born, answer("may"))]
    open_kind = bool(condition.kinds) and kinds is None
    asks = _asks(condition, open_kind)
    since = _earliest(_parts(regulation, condition, dog))
    if not since.known:
        return [(dog.born, answer("may if", asks))]
    needs = condition.how == "needs"
    before = [(dog.born, refusal(_lacks(condition)) if needs else answer("may"))]
    perhaps = _held(condition.perhaps, dog).day if condition.perhaps else None
    if needs and perhaps is not None:
        known = answer("may if", f"its title is recognised so that {asks}")
        before.append((max(perhaps, dog.born), known))
    if since.day is None:
        return before
    after = answer("may") if needs else refusal(_has(condition, since.day))
    before = [(day, held) for day, held in before if day < since.day]
    if since.day <= dog.born:
        return [(dog.born, after)]
    counted = _counted_from(condition, since.day, show)
    if counted is not None:
        return [*before, (counted, after)]
    says = _closing_words(condition, since.day, needs)
    readings = _CLOSING_READINGS if condition.counted_by == "silent" else ()
    return [
        *before,
        (since.day, answer("may if", says, readings)),
        (since.day + LONGEST_ENTRY, after),
    ]


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


def _closing_words(condition: Condition, day: date, needs: bool) -> str:
    if condition.counted_by == "seventh day before closing":
        day += WINS_BEFORE_CLOSING
    return f"entries closed {'on or after' if needs else 'before'} {say(day)}"


def _asks(condition: Condition, open_kind: bool) -> str:
    if open_kind:
        return f"at {_say_kinds(condition.kinds)} {condition.asks}"
    return condition.asks


def _say_kinds(kinds: Iterable[Kind]) -> str:
    return " or ".join(_KINDS[kind] for kind in kinds)


def _lacks(condition: Condition) -> str:
    if condition.question or condition.born_in:
        return f"Only if {condition.asks}; by its record that is not so."
    return f"Only if {condition.asks}; no such title is recorded."


def _has(condition: Condition, day: date) -> str:
    since = "" if day == date.min else f" since {say(day)}"
    return f"Only if {condition.asks}; by its record that is no longer so{since}."


def _parts(regulation: Regulation, condition: Condition, dog: DogFacts) -> Iterator[_Since]:
    if condition.titles:
        yield _held(condition.titles, dog)
    for tally in condition.tally:
        yield _won(tally, regulation.body.lower(), dog)
    if condition.question:
        yield _said(_reply(regulation, condition.question, dog))
    if condition.born_in:
        yield _said(None if dog.born_in is None else dog.born_in in condition.born_in)


def _earliest(parts: Iterable[_Since]) -> _Since:
    """Return since when any part holds. What is certain outweighs what nobody has said."""
    known = list(parts)
    days = [part.day for part in known if part.day is not None]
    if days:
        return _Since(min(days))
    return _NEVER if all(part.known for part in known) else _UNKNOWN


def _said(reply: bool | None) -> _Since:
    return _UNKNOWN if reply is None else _ALWAYS if reply else _NEVER


def _reply(regulation: Regulation, question: Question, dog: DogFacts) -> bool | None:
    """Return yes, no or None for a question about the dog."""
    if question == "neutered":
        return dog.neutered
    if question == "registered":
        return dog.registered.get(regulation.body.lower())
    if question == "never_first" and dog.awards is not None:
        if not any(award.award == "first" for award in dog.awards):
            return True
        return dog.answers.get(question)
    return dog.answers.get(question)


def _held(titles: Collection[str], dog: DogFacts) -> _Since:
    if dog.titles is None:
        return _UNKNOWN
    days = [title.on or date.min for title in dog.titles if _is_any(title.id, titles)]
    return _Since(min(days)) if days else _NEVER


def _is_any(held: str, titles: Collection[str]) -> bool:
    if held in titles:
        return True
    body, _, name = held.partition(":")
    if "any:ch" in titles and name in _CHAMPION:
        return True
    return name in _HIGHER and f"{body}:ch" in titles


def _won(tally: Tally, body: str, dog: DogFacts) -> _Since:
    """Return since when the wins reach the tally; open where the record says too little."""
    if dog.awards is None:
        return _UNKNOWN
    possible = 0
    sure: list[tuple[date, int]] = []
    for award in dog.awards:
        counts = _counts(tally, body, award)
        if counts is not False:
            possible += award.points
        if counts:
            sure.append((award.on or date.min, award.points))
    total = 0
    for day, points in sorted(sure):
        total += points
        if total >= tally.count:
            return _Since(day)
    return _UNKNOWN if possible >= tally.count else _NEVER


def _counts(tally: Tally, body: str, award: Award) -> bool | None:
    if award.award not in tally.awards or (not tally.everywhere and award.body != body):
        return False
    # A class of another body has its own names, which this body's lists do not mean.
    foreign = award.body != body
    known: list[bool | None] = []
    if tally.classes or tally.not_classes:
        name = None if foreign else award.klass
        if tally.classes:
            known.append(None if name is None else name in tally.classes)
        else:
            known.append(None if name is None else name not in tally.not_classes)
    if tally.kinds:
        known.append(None if award.kind is None else award.kind in tally.kinds)
    if tally.ccs:
        known.append(award.ccs)
    if tally.breed_only:
        known.append(award.breed_only)
    if False in known:
        return False
    return None if None in known else True


# --- What bars any dog -----------------------------------------------------------------------


def _bar_track(
    regulation: Regulation, klass: ShowClass, bar: Bar, dog: DogFacts, show: Show | None
) -> _Track:
    """Return what a bar means for the dog in this class; an empty track for nothing."""
    if not _hit(regulation, bar, dog) or bar.verdict == "may":
        return []
    state: Outcome = bar.verdict
    says = bar.asks if bar.verdict == "may if" and bar.asks else bar.says
    kinds = show.kinds if show else None
    if bar.kinds:
        if kinds is not None and not set(bar.kinds) & kinds:
            return []
        if kinds is None and bar.asks:
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
    fine = _Answer("may", "", bar, f"bar/{bar.id}")
    answer = _Answer(state, says, bar, f"bar/{bar.id}", read=_read(bar, "effect"))
    return [(start, answer)] if start == dog.born else [(dog.born, fine), (start, answer)]


def _hit(regulation: Regulation, bar: Bar, dog: DogFacts) -> bool:
    if bar.question is None or (bar.sex and dog.sex and bar.sex != dog.sex):
        return False
    if bar.question == "testes":
        return dog.testes is not None and dog.testes.state != "both" and not dog.neutered
    return _reply(regulation, bar.question, dog) is bar.when


def bars(regulation: Regulation, dog: DogFacts) -> list[Data]:
    """Return all that bars any dog, for the gate: {id, state, verdict, why, effect, clause ...}.

    `state` is "hit" where it holds for this dog, "clear" where it does not, "ask" where nobody
    has said. Ages are left to the classes.
    """
    found: list[Data] = []
    for bar in regulation.bar:
        if bar.question is None or (bar.sex and dog.sex and bar.sex != dog.sex):
            continue
        reply = dog.testes if bar.question == "testes" else _reply(regulation, bar.question, dog)
        state = "ask" if reply is None else "hit" if _hit(regulation, bar, dog) else "clear"
        found.append(
            {
                "id": bar.id,
                "state": state,
                "verdict": bar.verdict,
                "why": bar.says,
                "effect": bar.effect,
                "lasting": bar.lasting,
                "clause": bar.clause,
                "edition": edition(regulation, bar),
                "read": _read(bar, "effect"),
            }
        )
    return found


# --- A class -----------------------------------------------------------------------------------


def _constant(klass: ShowClass, dog: DogFacts, show: Show | None) -> Iterator[_Track]:
    """Yield what does not depend on age or record: sex, kind of show, since when."""
    if klass.sex and klass.sex != dog.sex:
        says = f"Only for a {klass.sex}." if dog.sex else f"it is a {klass.sex}"
        state: Outcome = "may not" if dog.sex else "may if"
        yield [(dog.born, _Answer(state, says, klass, "", read=klass.read))]
    kinds = show.kinds if show else None
    if klass.kinds and (kinds is None or not set(klass.kinds) & kinds):
        where = _say_kinds(klass.kinds)
        answer = (
            _Answer("may if", f"it is {where}", klass, "", read=klass.read)
            if kinds is None
            else _Answer("may not", f"Only at {where}.", klass, "", read=klass.read)
        )
        yield [(dog.born, answer)]
    if klass.valid_from and klass.valid_from > dog.born:
        says = f"The class began on {say(klass.valid_from)}."
        fine = _Answer("may", "", klass, "", read=klass.read)
        yield [
            (dog.born, _Answer("may not", says, klass, "", read=klass.read)),
            (klass.valid_from, fine),
        ]


def _tracks(
    regulation: Regulation, klass: ShowClass, dog: DogFacts, show: Show | None, *, lasting: bool
) -> list[_Track]:
    tracks = [_age_track(regulation, klass, dog.born), *_constant(klass, dog, show)]
    for condition in klass.condition:
        tracks.append(_condition_track(regulation, klass, condition, dog, show))
    for bar in regulation.bar:
        if bar.lasting or not lasting:
            tracks.append(_bar_track(regulation, klass, bar, dog, show))
    return [track for track in tracks if track]


def _combine(regulation: Regulation, klass: ShowClass, answers: Sequence[_Answer]) -> Ruling:
    """Lay the answers over one another: the first no decides, else every "if" is named."""
    for answer in answers:
        if answer.state == "may not":
            return _ruling(regulation, klass, answer, answer.says)
    age, *others = answers
    ifs = [answer for answer in others if answer.state == "may if"]
    asked = ", and ".join(dict.fromkeys(answer.says for answer in ifs))
    why = f"{age.says}; only if {asked}." if asked else f"{age.says}."
    involved = [age, *ifs]
    deciding = next((answer for answer in involved if answer.state == "may if"), age)
    return replace(
        _ruling(regulation, klass, deciding, why),
        read=_weakest(*(answer.read for answer in involved)),
        readings=tuple(words for answer in involved for words in answer.readings),
        instead=next((answer.instead for answer in ifs if answer.instead), None),
    )


def _ruling(regulation: Regulation, klass: ShowClass, by: _Answer, why: str) -> Ruling:
    return Ruling(
        klass.id,
        by.state,
        why,
        by.fact.clause,
        edition(regulation, by.fact),
        by.read,
        by.name or klass.id,
        by.readings,
        by.instead,
    )


# --- For a show, for a life, for the phone ---------------------------------------------------


def governs(regulation: Regulation) -> str:
    """Return the sentence that belongs under every verdict of this body."""
    return f"The show's own schedule governs; read from {edition(regulation, regulation.governs)}."


def edition(regulation: Regulation, fact: Fact) -> str:
    """Return the edition a fact was read in, as "title, number (date)"."""
    texts = regulation.edition
    text = next((item for item in texts if item.id == fact.edition), texts[0])
    label = f"{text.title}, {text.number}" if text.number else text.title
    return f"{label} ({text.date})" if text.date and text.date not in label else label


def verdicts(regulation: Regulation, dog: DogFacts, show: Show) -> list[Ruling]:
    """Return for each class of the body whether the dog may enter it at this show, and why."""
    return [verdict(regulation, klass, dog, show) for klass in regulation.classes]


def verdict(regulation: Regulation, klass: ShowClass, dog: DogFacts, show: Show) -> Ruling:
    """Return the ruling for one class."""
    tracks = _tracks(regulation, klass, dog, show, lasting=False)

    def on(day: date) -> Ruling:
        if day < dog.born:
            unborn = _Answer("may not", "Not born yet on that day.", klass, "", read=klass.read)
            return _ruling(regulation, klass, unborn, unborn.says)
        return _combine(regulation, klass, [_at(track, day) for track in tracks])

    decides = klass.decides or regulation.ages.decides
    decided_by = _read(klass, "decides") if klass.decides else regulation.ages.read
    days = _days(show)
    if decides == "closing date":
        return _on_closing(on, show)
    if decides == "first day" or len(days) == 1:
        ruling = on(days[0])
        if any(on(day).verdict != ruling.verdict for day in days[1:]):
            return replace(ruling, read=_weakest(ruling.read, decided_by))
        return ruling
    own = [show.shown] if show.shown else days
    if decides == "day shown":
        return _several(regulation, on, own, None)
    return _several(regulation, on, own, days[0])


def _on_closing(on: Callable[[date], Ruling], show: Show) -> Ruling:
    if show.closing:
        return on(show.closing)
    why = "The age on the closing date of entries decides, and that date is not known."
    return replace(on(show.first), verdict="may if", why=why)


def _days(show: Show) -> list[date]:
    last = max(show.first, show.last or show.first)
    return [show.first + DAY * step for step in range((last - show.first).days + 1)]


def _several(
    regulation: Regulation, on: Callable[[date], Ruling], own: Sequence[date], first: date | None
) -> Ruling:
    """Return the ruling on which all days agree, else "may if" with what each of them gives.

    `first` is the first day of the show where the text leaves open whether that one decides.
    """
    rulings = {day: on(day) for day in ([first] if first else []) + list(own)}
    one = next(iter(rulings.values()))
    if len({(ruling.verdict, ruling.readings) for ruling in rulings.values()}) == 1:
        return one
    readings = []
    if first:
        readings.append(f"If the first day of the show decides, {_says(rulings[first])}")
    for span, ruling in _spans(rulings, own):
        opening = "If its own day decides and it is shown on" if first else "Shown on"
        readings.append(f"{opening} {_say_span(span)}, {_says(ruling)}")
    why = (
        "Depends on whether the first day of the show or the dog's own day decides, "
        "which the text leaves open."
        if first
        else "Depends on the day on which it is shown."
    )
    return Ruling(
        one.klass,
        "may if",
        why,
        regulation.ages.clause,
        edition(regulation, regulation.ages),
        _weakest(regulation.ages.read, *(ruling.read for ruling in rulings.values())),
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


def windows(regulation: Regulation, dog: DogFacts) -> list[Window]:
    """Return for each class the windows of the dog's life, from birth on without a gap.

    They hold for lasting facts; lameness, season and the like belong to the day (`bars`). What
    a show alone would tell (its kind, its closing date) is part of the "may if".
    """
    return [
        window for klass in regulation.classes for window in _class_windows(regulation, klass, dog)
    ]


def _class_windows(regulation: Regulation, klass: ShowClass, dog: DogFacts) -> list[Window]:
    tracks = _tracks(regulation, klass, dog, None, lasting=True)
    starts = sorted({start for track in tracks for start, _ in track})
    found: list[tuple[date, Ruling]] = []
    for start in starts:
        ruling = _combine(regulation, klass, [_at(track, start) for track in tracks])
        if not found or found[-1][1] != ruling:
            found.append((start, ruling))
    ends = [start - DAY for start, _ in found[1:]]
    return [
        Window(start, end, ruling)
        for (start, ruling), end in zip(found, [*ends, None], strict=True)
    ]


# One letter each, to keep a pack small: "ns" is may not, by a secondary reading.
_LETTERS: Mapping[str, str] = {"may": "y", "may not": "n", "may if": "i"}


def pack_windows(regulations: Mapping[str, Regulation], dog: DogFacts) -> Data:
    """Return the windows of all bodies as the phone keeps them: small, to be looked up by date.

    {"v": 1, "born": day, "s": [sentence, ...], "w": {body: {class: [row, ...]}}}. A row is
    [from, code, sentence, fact, [reading, ...]]; it holds until the next row of its class begins,
    the last for good. `code` is y (may), n (may not) or i (may if), then c, s or m for copy,
    secondary, memory; sentences and readings are places in "s"; `fact` is a key of `pack_rules`,
    "" for the class itself. What is empty at the end of a row is left out. Days are ISO dates.
    """
    places: dict[str, int] = {}

    def place(sentence: str) -> int:
        return places.setdefault(sentence, len(places))

    def row(window: Window) -> list[Any]:
        ruling = window.ruling
        fact = "" if ruling.fact == ruling.klass else ruling.fact.removeprefix(f"{ruling.klass}/")
        cells: list[Any] = [
            window.start.isoformat(),
            _LETTERS[ruling.verdict] + ruling.read[0],
            place(ruling.why),
            fact,
            [place(words) for words in ruling.readings],
        ]
        while not cells[-1] and len(cells) > 3:
            cells.pop()
        return cells

    bodies = {
        body: {
            klass.id: [row(window) for window in _class_windows(regulation, klass, dog)]
            for klass in regulation.classes
        }
        for body, regulation in regulations.items()
    }
    return {"v": 1, "born": dog.born.isoformat(), "s": list(places), "w": bodies}


def pack_rules(regulations: Mapping[str, Regulation]) -> Data:
    """Return what is the same for every dog, once for the phone: names, clauses, editions.

    {"v": 1, "b": {body: {"n": name, "g": governing sentence, "d": which day decides, "e":
    [edition, ...], "c": {class: {...}}, "f": {fact: [clause, edition, read]}}}}. A class has "n"
    (name), "f" (its own fact) and, where it has them, "d", "w" (wins), "x" (never wins), "o"
    (optional), "k" (kinds of show), "s" (sex), "u" (note), "q" ({condition: {"f", "i" (the class
    instead)}}). Facts that are no class's: "ages" and "bar/...".
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
            "s": item.sex, "u": item.note or item.conflict, "h": item.handler, "v": item.over_age,
        }  # fmt: skip
        for key, value in optional.items():
            if value:
                data[key] = list(value) if isinstance(value, tuple) else value
        if item.optional is not None:
            data["o"] = item.optional
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
        "d": regulation.ages.decides,
        "e": editions,
        "c": {item.id: klass(item) for item in regulation.classes},
        "f": {"ages": fact(regulation.ages)}
        | {f"bar/{bar.id}": fact(bar) for bar in regulation.bar},
    }


def _labels(regulation: Regulation) -> Iterator[str]:
    yield edition(regulation, regulation.ages)
    for klass in regulation.classes:
        yield edition(regulation, klass)
        yield from (edition(regulation, condition) for condition in klass.condition)
    yield from (edition(regulation, bar) for bar in regulation.bar)
