"""What a dog's awards come to: titles earned, what is still missing, the soonest it could be had.

A title is earned on the day when the last rule of one of its routes is met. Rules only ever ask
for more, so a further award never undoes what was reached.

Where a text leaves something open (a birthday itself, a month without that day, a condition that
texts dispute) awards are weighed twice: against the dog, which is the verdict, and for it; where
the two differ, the other verdict is given too, with what is open.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from ringside.knowledge.schema import Body, Sex
from ringside.knowledge.title_schema import (
    AtLeast,
    Interval,
    Minimum,
    OnTheDay,
    Points,
    Route,
    Rule,
    Schedule,
    Scheme,
    Slots,
    TitleSource,
    Wins,
)
from ringside.knowledge.titles import BodyTitle, TitleBook

Data = dict[str, Any]
Window = tuple[date, date]  # first day inside, first day outside

DAY = timedelta(days=1)
IDS_SHOWN = 5
WAITS_FOR_TITLE = "won before the title that must come first"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
WORDS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
)  # fmt: skip
ORDINALS = (
    "", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
    "tenth", "eleventh", "twelfth",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Award:
    """One award as the handler entered it; `competing` counts the winner too.

    `points` are those the show gave; where they are missing they are worked out if the body's
    table allows. `major` overrides what the points say. `champions` counts champions beaten.
    """

    day: date
    kind: str
    body: Body
    judge: str = ""
    country: str = ""
    judge_country: str = ""
    show: str = ""
    show_kind: str = ""
    points: int | None = None
    major: bool | None = None
    competing: int | None = None
    champions: int | None = None
    id: str = ""


@dataclass(frozen=True)
class Dog:
    """What titles depend on besides awards. `titles` and `tests` by id, None: held, date unknown.

    `trial`: whether the breed needs a working trial; `section`: where the body knows sections.
    """

    born: date | None = None
    titles: Mapping[str, date | None] = field(default_factory=dict)
    tests: Mapping[str, date | None] = field(default_factory=dict)
    trial: bool | None = None
    section: str = ""


@dataclass(frozen=True)
class Have:
    """How far one rule is met: `have` of `need`."""

    what: str
    have: int
    need: int


@dataclass(frozen=True)
class Verdict:
    """The outcome under one reading of the texts. `closed`: it can no longer be earned."""

    earned: date | None
    missing: str
    soonest: date | None
    closed: bool = False


@dataclass(frozen=True)
class Tally:
    """The outcome for one title. Awards are named by their place in the sequence given.

    `counts` are those that make up the title, or have been gathered for it; `aside` gives for
    each reason those that do not count. `rules` decided: what is lacking, or was met last.
    """

    title: BodyTitle
    route: str
    verdict: Verdict
    otherwise: Verdict | None
    open: tuple[str, ...]
    have: tuple[Have, ...]
    counts: tuple[int, ...]
    aside: Mapping[str, tuple[int, ...]]
    rules: tuple[Rule, ...]

    @property
    def earned(self) -> date | None:
        """The day on which the last condition was met."""
        return self.verdict.earned

    @property
    def missing(self) -> str:
        """What is still missing, in one sentence; empty once the title is earned."""
        return self.verdict.missing

    @property
    def soonest(self) -> date | None:
        """The first day that the rules allow, if any; how often shows are held is not known."""
        return self.verdict.soonest

    @property
    def clause(self) -> str:
        """The clause that decided."""
        return self.rules[0].clause

    @property
    def source(self) -> TitleSource:
        """The text that the deciding clause stands in, with its edition."""
        return self.title.sources[self.rules[0].source]


def tally(title: BodyTitle, dog: Dog, awards: Sequence[Award], today: date) -> Tally:
    """Weigh `awards` for `title`; those after `today` do not count yet."""
    order = sorted(range(len(awards)), key=lambda place: (awards[place].day, place))
    return _tally(title, dog, awards, order, today)


def tally_all(
    titles: Iterable[BodyTitle], dog: Dog, awards: Sequence[Award], today: date
) -> list[Tally]:
    """Weigh `awards` for each title in turn; one that is found earned counts for the next."""
    order = sorted(range(len(awards)), key=lambda place: (awards[place].day, place))
    held = dict(dog.titles)
    tallies = []
    for title in titles:
        known = Dog(dog.born, held, dog.tests, dog.trial, dog.section)
        result = _tally(title, known, awards, order, today)
        if result.earned:
            held.setdefault(title.id, result.earned)
        tallies.append(result)
    return tallies


def months_after(day: date, months: int) -> tuple[date, date]:
    """Return the day `months` calendar months on, under both readings where it does not exist.

    From the 31st to a shorter month, or from 29 February to a common year: the last day of that
    month, or the day after it. Otherwise both are the same day.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = monthrange(year, month + 1)[1]
    if day.day <= last:
        exact = date(year, month + 1, day.day)
        return exact, exact
    early = date(year, month + 1, last)
    return early, early + DAY


def scheduled_points(
    schedules: Iterable[Schedule],
    day: date,
    division: str,
    breed: str,
    sex: Sex,
    competing: int,
) -> int | None:
    """Return the points of a win under the schedule in force on `day`, None where there is none."""
    wanted = (_same(division), _same(breed), sex)
    for row in schedules:
        if (_same(row.division), _same(row.breed), row.sex) == wanted and (
            row.valid_from <= day <= row.valid_to
        ):
            return sum(competing >= needed for needed in row.needed)
    return None


# --- one title ---------------------------------------------------------------------------------


def _tally(
    title: BodyTitle, dog: Dog, awards: Sequence[Award], order: Sequence[int], today: date
) -> Tally:
    weighed = [
        _weigh(_Case(title, route, dog, awards, today, strict=True), order)
        for route in title.title.route
    ]
    best = min(weighed, key=_rank)
    verdict = _verdict(best, title, today)
    otherwise, remarks = None, best.case.remarks
    if any(result.case.open for result in weighed):
        lenient = [
            _weigh(_Case(title, route, dog, awards, today, strict=False), order)
            for route in title.title.route
        ]
        other = min(lenient, key=_rank)
        second = _verdict(other, title, today)
        if second != verdict:
            otherwise = second
            remarks = [*remarks, *dict.fromkeys([*best.case.open, *other.case.open])]
    return Tally(
        title=title,
        route=best.case.route.name,
        verdict=verdict,
        otherwise=otherwise,
        open=tuple(remarks),
        have=tuple(best.have),
        counts=tuple(sorted(best.counts)),
        aside={reason: tuple(places) for reason, places in best.aside.items()},
        rules=_deciding(best, today),
    )


class _Case:
    """One route weighed under one reading: the dates that its rules come to for this dog."""

    def __init__(
        self,
        title: BodyTitle,
        route: Route,
        dog: Dog,
        awards: Sequence[Award],
        today: date,
        *,
        strict: bool,
    ) -> None:
        self.title = title
        self.route = route
        self.dog = dog
        self.awards = awards
        self.today = today
        self.strict = strict
        self.open: list[str] = []  # what a text leaves open, where it matters to this dog
        self.remarks: list[str] = []
        scheme = route.points and title.schemes[route.points.scheme]
        self.scheme: Scheme | None = scheme or None
        kinds = dict.fromkeys(kind for slots in route.awards for kind in slots.kinds)
        kinds |= dict.fromkeys(self.scheme.kinds if self.scheme else ())
        self.windows = {kind: self._kind_window(kind) for kind in kinds}

    def _kind_window(self, name: str) -> Window:
        kind = self.title.kinds[name]
        first, end = self.window(kind.from_months, kind.before_months, kind.on_the_day, kind.note)
        if age := self.route.age:
            low, high = self.window(age.from_months, age.before_months, age.on_the_day, age.note)
            first, end = max(first, low), min(end, high)
        if self.title.title.valid_to:
            end = min(end, self.title.title.valid_to + DAY)
        return first, end

    def window(
        self, low: int | None, high: int | None, on_the_day: OnTheDay, note: str = ""
    ) -> Window:
        """Return the first day inside ages `low` to `high` and the first day outside again."""
        if (low or high) and self.dog.born is None:
            remark = "The date of birth is not entered, so ages were not checked."
            if remark not in self.remarks:
                self.remarks.append(remark)
        if self.dog.born is None:
            return date.min, date.max
        first, end = date.min, date.max
        if low:
            early, late = months_after(self.dog.born, low)
            first = late if self.strict else early
            self._note_month_end(early, late)
        if high:
            early, late = months_after(self.dog.born, high)
            end = early if self.strict else late
            if on_the_day == "in" or (on_the_day == "open" and not self.strict):
                end += DAY
            self._note_month_end(early, late)
            if on_the_day == "open":
                self.leave_open(note)
        return first, end

    def over(self, months: int | None, on_the_day: OnTheDay, note: str) -> date:
        """Return the first day on which the dog is over an age."""
        if not months:
            return date.min
        first, _ = self.window(months, None, "out")
        if first > date.min and (on_the_day == "out" or (on_the_day == "open" and self.strict)):
            first += DAY
        if on_the_day == "open":
            self.leave_open(note)
        return first

    def since_title(self, title: str | None) -> date:
        """Return the first day on which awards count that must follow another title."""
        if title is None or title not in self.dog.titles:
            return date.min if title is None else date.max
        held = self.dog.titles[title]
        return held + DAY if held else date.min

    def first_for(self, slots: Slots) -> date:
        """Return the first day on which an award can fill such a slot."""
        return max(
            self.over(slots.over_months, slots.on_the_day, slots.note),
            slots.since or date.min,
            self.since_title(slots.after_title),
        )

    def slot_window(self, slots: Slots, first: date) -> Window:
        """Return the days on which an award for such a slot can still be won."""
        windows = [self.windows[kind] for kind in slots.kinds]
        if first == date.max:  # waits for a title, which is said elsewhere
            first = date.min
        return max(first, min(low for low, _ in windows)), max(high for _, high in windows)

    def points_window(self) -> Window:
        """Return the days on which points can be won."""
        windows = [self.windows[kind] for kind in (self.scheme.kinds if self.scheme else ())]
        return min(low for low, _ in windows), max(high for _, high in windows)

    def interval_after(self, day: date) -> date:
        """Return the first day for a last award where the first was won on `day`."""
        rule = self.route.interval
        if rule is None:
            return day
        early, late = months_after(day, rule.years * 12 + rule.months)
        self._note_month_end(early, late)
        return (late if self.strict else early) + timedelta(days=rule.days)

    def leave_open(self, note: str) -> None:
        """Note what a text leaves open."""
        if note and note not in self.open:
            self.open.append(note)

    def _note_month_end(self, early: date, late: date) -> None:
        if early != late:
            self.leave_open(
                "The text does not say how months and years are counted to a month without that "
                f"day: {_day(early)} or {_day(late)}."
            )


@dataclass
class _Lack:
    """A rule not met: the awards it takes at least, from when, until when; how to say it."""

    rule: Rule
    says: str
    awards: int = 0
    first: date = date.min  # the first day for what is lacking
    end: date = date.max  # the first day too late for it
    unknown: bool = False  # no date can be told


@dataclass
class _Weighed:
    """What one route came to under one reading."""

    case: _Case
    met: list[tuple[Rule, date | None]] = field(default_factory=list)
    lacks: list[_Lack] = field(default_factory=list)
    have: list[Have] = field(default_factory=list)
    counts: set[int] = field(default_factory=set)
    aside: dict[str, list[int]] = field(default_factory=dict)

    @property
    def earned(self) -> date | None:
        """The day on which the last rule was met."""
        if self.lacks:
            return None
        return max((day for _, day in self.met if day), default=None)

    def set_aside(self, reason: str, place: int) -> None:
        """Note an award that does not count."""
        self.aside.setdefault(reason, []).append(place)


def _weigh(case: _Case, order: Sequence[int]) -> _Weighed:
    result = _Weighed(case)
    pool = _screen(case, order, result)
    if case.route.awards:
        _weigh_slots(case, pool, result)
    if case.route.points:
        _weigh_points(case, pool, result)
    _weigh_needs(case, result)
    for reason in list(result.aside):
        kept = [place for place in result.aside[reason] if place not in result.counts]
        if kept:
            result.aside[reason] = kept
        else:
            del result.aside[reason]
    return result


def _screen(case: _Case, order: Sequence[int], result: _Weighed) -> list[int]:
    """Return the awards that can count at all, oldest first; set the others aside."""
    pool: list[int] = []
    seen: set[tuple[object, ...]] = set()
    awards, windows, body = case.awards, case.windows, case.title.body
    born = case.dog.born or date.min
    for place in order:
        award = awards[place]
        if award.body != body:
            result.set_aside("given under another body", place)
            continue
        window = windows.get(award.kind)
        if window is None:
            kind = case.title.kinds.get(award.kind)
            plain = "not an award that this title counts"
            result.set_aside((kind.note if kind and kind.id == "rcacib" else "") or plain, place)
            continue
        entered = (
            award.day, award.kind, award.judge, award.country, award.show, award.show_kind,
            award.points,
        )  # fmt: skip
        if award.day > case.today:
            result.set_aside("still to come", place)
        elif award.day < born:
            result.set_aside("dated before the dog was born", place)
        elif entered in seen:
            result.set_aside("entered twice", place)
        elif award.day < window[0]:
            result.set_aside(f"won before the dog was old enough ({_day(window[0])})", place)
        elif award.day >= window[1]:
            result.set_aside(_too_late(case, window[1]), place)
        else:
            seen.add(entered)
            pool.append(place)
    return pool


def _too_late(case: _Case, end: date) -> str:
    last = case.title.title.valid_to
    if last and end == last + DAY:
        return f"won after the title ended on {_day(last)}"
    return f"won when the dog was too old (from {_day(end)})"


# --- certificates ------------------------------------------------------------------------------


class _Slotted:
    """The awards that may fill each kind of slot of a route, and the best way to fill them.

    Where every counted award must come from another judge a judge fills one slot only, and slots
    are matched with judges (augmenting paths), so that no choice of awards could do better.
    """

    def __init__(self, route: Route) -> None:
        self.units = [kind for kind, slots in enumerate(route.awards) for _ in range(slots.count)]
        self.by_judge = bool(route.judges and route.judges.at_least >= len(self.units) > 1)
        self.may: list[dict[object, int]] = [{} for _ in route.awards]  # key -> oldest award
        self.owner: dict[object, int] = {}
        self.free = list(range(len(self.units)))

    @property
    def filled(self) -> int:
        """How many slots are filled."""
        return len(self.units) - len(self.free)

    def offer(self, kinds: Sequence[int], key: object, place: int) -> None:
        """Let an award be used for some kinds of slot, and fill what that allows to fill."""
        news = [kind for kind in kinds if key not in self.may[kind]]
        for kind in news:
            self.may[kind][key] = place
        if news:
            self._fill()

    def refill(self) -> None:
        """Start again, the slots that ask most first: those still free then ask least."""
        self.owner.clear()
        self.free = list(range(len(self.units)))
        self._fill()

    def used(self) -> set[int]:
        """Return the awards that fill a slot."""
        return {self.may[self.units[unit]][key] for key, unit in self.owner.items()}

    def _fill(self) -> None:
        for unit in tuple(self.free):
            if self._place(unit, set()):
                self.free.remove(unit)

    def _place(self, unit: int, seen: set[object]) -> bool:
        for key in self.may[self.units[unit]]:
            if key not in seen:
                seen.add(key)
                if key not in self.owner or self._place(self.owner[key], seen):
                    self.owner[key] = unit
                    return True
        return False


def _weigh_slots(case: _Case, pool: Sequence[int], result: _Weighed) -> None:
    route = case.route
    slotted = _Slotted(route)
    firsts = [case.first_for(slots) for slots in route.awards]
    shows: set[tuple[date, str]] = set()
    fits: list[int] = []
    complete: date | None = None
    for place in pool:
        award = case.awards[place]
        kinds = [
            kind
            for kind, slots in enumerate(route.awards)
            if award.kind in slots.kinds
            and award.day >= firsts[kind]
            and (not slots.show_kinds or award.show_kind in slots.show_kinds)
        ]
        show = (award.day, _same(award.show))
        if not kinds:
            if any(award.kind in slots.kinds for slots in route.awards):
                result.set_aside(_unfit(case, award), place)
        elif slotted.by_judge and not award.judge.strip():
            result.set_aside("no judge entered", place)
        elif route.shows and show in shows:
            result.set_aside("another award of the same show counts", place)
        else:
            shows.add(show)
            fits.append(place)
            if complete is None:
                slotted.offer(kinds, _same(award.judge) if slotted.by_judge else place, place)
                complete = None if slotted.free else award.day
    if complete is None:
        slotted.refill()
    result.met.append((route.awards[0], complete))
    _judge_slots(case, slotted, fits, firsts, result)


def _unfit(case: _Case, award: Award) -> str:
    """Say why an award of the right kind fills no slot."""
    for slots in case.route.awards:
        if award.kind in slots.kinds:
            if slots.show_kinds and award.show_kind not in slots.show_kinds:
                return "not at the kind of show that is asked for"
            if slots.since and award.day < slots.since:
                return f"won before {_day(slots.since)}"
            if slots.after_title:
                return WAITS_FOR_TITLE
    return "won too young"


def _judge_slots(
    case: _Case, slotted: _Slotted, fits: Sequence[int], firsts: Sequence[date], result: _Weighed
) -> None:
    """See what is lacking in awards, judges, countries and time, or choose what counts.

    Except where each award needs another judge, a dog that has more awards than are asked for is
    read as having among them what is asked.
    """
    route = case.route
    free = [route.awards[slotted.units[unit]] for unit in slotted.free]
    for many in dict.fromkeys(slots.many for slots in route.awards):
        need = sum(slots.count for slots in route.awards if slots.many == many)
        lacking = sum(slots.many == many for slots in free)
        result.have.append(Have(many, need - lacking, need))
    spans = _spans(case, slotted, fits, result)
    last = _interval_end(case, fits, result)
    waits = last > date.min
    total = max([len(free), int(waits), *(rule.at_least - have for _, rule, have in spans)])
    if not total:
        latest = max(day for _, day in result.met if day)
        result.counts |= slotted.used() if slotted.by_judge else _enough(case, fits, latest)
    else:
        result.counts |= slotted.used() if slotted.by_judge else set(fits)
        rules: list[Rule] = list(dict.fromkeys(free))
        rules += [rule for _, rule, _ in spans]
        rules += [route.interval] if waits and route.interval else []
        _lack_slots(case, slotted, fits, firsts, result, rules, total, spans, last)
    judges = {_same(case.awards[place].judge) for place in result.counts}
    for place in fits:
        if place not in result.counts:
            spent = slotted.by_judge and _same(case.awards[place].judge) in judges
            result.set_aside(
                "same judge as an award that counts" if spent else "more than is asked", place
            )


def _spans(
    case: _Case, slotted: _Slotted, fits: Sequence[int], result: _Weighed
) -> list[tuple[str, AtLeast, int]]:
    """Return of what too few different ones gave awards: what, the rule, how many did."""
    route, awards = case.route, case.awards
    lacking = []
    for what, of, rule in (
        ("judge", "judge", route.judges),
        ("country", "country", route.countries),
        ("judge's country", "judge_country", route.judge_countries),
    ):
        if rule is None:
            continue
        found = ((awards[place].day, _same(getattr(awards[place], of))) for place in fits)
        have, met = _reach(found, rule.at_least)
        if what == "judge" and slotted.by_judge:
            have, met = slotted.filled, result.met[0][1]
        result.met.append((rule, met))
        plural = {"judge": "judges", "country": "countries"}.get(what, "countries of judges")
        result.have.append(Have(plural, min(have, rule.at_least), rule.at_least))
        if have < rule.at_least:
            lacking.append((what, rule, have))
    return lacking


def _reach(found: Iterable[tuple[date, object]], need: int) -> tuple[int, date | None]:
    """Count different things (not empty ones), and tell when there were `need` of them."""
    seen: set[object] = set()
    met = None
    for day, thing in found:
        if thing and thing not in seen:
            seen.add(thing)
            if len(seen) == need:
                met = day
    return len(seen), met


def _interval_end(case: _Case, fits: Sequence[int], result: _Weighed) -> date:
    """Return the day from which a last award would end the interval; date.min if none is due."""
    rule = case.route.interval
    if rule is None or not fits:
        return date.min
    end = case.interval_after(case.awards[fits[0]].day)
    met = next((case.awards[place].day for place in fits if case.awards[place].day >= end), None)
    result.met.append((rule, met))
    return date.min if met else end


def _lack_slots(
    case: _Case,
    slotted: _Slotted,
    fits: Sequence[int],
    firsts: Sequence[date],
    result: _Weighed,
    rules: Sequence[Rule],
    total: int,
    spans: Sequence[tuple[str, AtLeast, int]],
    last: date,
) -> None:
    """Say which awards are lacking, from whom, where and from when."""
    route = case.route
    units = [slotted.units[unit] for unit in slotted.free] or [0]
    windows = [case.slot_window(route.awards[kind], firsts[kind]) for kind in units]
    lows = {low for low, _ in windows}
    low, high = max(lows), min(high for _, high in windows)
    first = max(case.today, low)
    numbers: dict[Slots, int] = {}
    for kind in units:
        named = next(slots for slots in route.awards if slots.many == route.awards[kind].many)
        numbers[named] = numbers.get(named, 0) + 1
    if len(slotted.free) < total:
        numbers = {route.awards[0]: total}
    begun = {item.what for item in result.have if item.have}
    says = " and ".join(
        _more(number, slots.one, slots.many, more=slots.many in begun)
        for slots, number in numbers.items()
    )
    says += "".join(_span(what, total, rule.at_least, have) for what, rule, have in spans)
    starts = max(first, last)
    if low > case.today and last <= low:
        if total == 1:
            says += f", on or after {_day(low)}"
        elif len(lows) > 1:
            says += f", at least one on or after {_day(low)}"
        else:
            says += f", none before {_day(low)}"
    if last > first:
        says += f", {'' if total == 1 else 'the last '}on or after {_day(last)}"
    elif route.interval and not fits:
        starts = case.interval_after(first)
        says += f", the last at least {_length(route.interval)} after the first"
    for number, rule in enumerate(rules):
        result.lacks.append(_Lack(rule, "" if number else says, total, starts, high))


def _span(what: str, total: int, need: int, have: int) -> str:
    """Say from how many further judges or countries the lacking awards must come."""
    by = "in" if what == "country" else "from"
    one, many = ("judge", "judges") if what == "judge" else ("country", "countries")
    of_one, of_many = ("a judge of ", "judges of ") if what == "judge's country" else ("", "")
    short = need - have
    if short == 1 and have:
        least = "at least one " if total > 1 else ""
        return f", {least}{by} {of_one}a {_ordinal(need)} {one}"
    least = "at least " if total > short else ""
    further = "further" if have else "different"
    return f", {by} {of_many}{least}{_word(short)} {further} {many}"


def _enough(case: _Case, fits: Sequence[int], latest: date) -> set[int]:
    """Return as few awards as make up the title, from those won until it was complete.

    The first and the last, then always the one that brings most that is new.
    """
    route = case.route
    needed = sum(slots.count for slots in route.awards)
    rest = [place for place in fits if case.awards[place].day <= latest]
    group = [rest.pop(0), *([rest.pop()] if rest and needed > 1 else [])]
    names: dict[str, set[str]] = {}
    for rule, of in (
        (route.judges, "judge"),
        (route.countries, "country"),
        (route.judge_countries, "judge_country"),
    ):
        if rule:
            names[of] = {_same(getattr(case.awards[place], of)) for place in group}

    def news(place: int) -> int:
        award = case.awards[place]
        return sum(_same(getattr(award, of)) not in seen for of, seen in names.items())

    while rest:
        best = max(rest, key=news)
        if len(group) >= needed and not news(best):
            break
        group.append(best)
        rest.remove(best)
        for of, seen in names.items():
            seen.add(_same(getattr(case.awards[best], of)))
        rules = {"judge": route.judges, "country": route.countries}
        rules["judge_country"] = route.judge_countries
        if len(group) >= needed and all(
            len(seen - {""}) >= rule.at_least for of, seen in names.items() if (rule := rules[of])
        ):
            break
    return set(group)


# --- points ------------------------------------------------------------------------------------


def _weigh_points(case: _Case, pool: Sequence[int], result: _Weighed) -> None:
    route, scheme, rule = case.route, case.scheme, case.route.points
    if rule is None or scheme is None:
        return
    since = rule.since or date.min
    after = case.since_title(rule.after_title)
    floor = route.wins.min_points if route.wins else 0
    most = rule.max_per_show or scheme.max_per_award
    worth: dict[int, int] = {}
    by_show: dict[tuple[date, str], list[int]] = {}
    for place in pool:
        award = case.awards[place]
        if award.kind not in scheme.kinds:
            continue
        if award.day < since:
            result.set_aside(f"won before {_day(since)}", place)
        elif award.day < after:
            result.set_aside(WAITS_FOR_TITLE, place)
        else:
            value, reason = points_of(award, scheme, floor)
            if value:
                worth[place] = value
                by_show.setdefault((award.day, _same(award.show)), []).append(place)
            else:
                result.set_aside(reason, place)
    credited: list[tuple[int, int]] = []
    for places in by_show.values():
        credited += _credit(places, worth, scheme, most, result)
    result.counts |= {place for place, _ in credited}
    _sum_up(case, credited, most, result)
    for minimum in route.minimum:
        _part(case, minimum, worth, by_show, most, result)


def points_of(award: Award, scheme: Scheme, major: int = 0) -> tuple[int | None, str]:
    """Return the points of an award under `scheme`, or none and what would be needed to tell.

    `major` is the least that a win flagged as a major is worth where its points are missing.
    """
    if award.points is not None:
        value = max(0, min(award.points, scheme.max_per_award))
        return value, "" if value else "no points were won"
    if award.major and major:
        return major, ""
    rows = [row for row in scheme.row if award.kind in row.kinds]
    if scheme.base is None and not rows:
        return None, "no points entered"
    rows = [row for row in rows if not row.show_kinds or award.show_kind in row.show_kinds]
    if scheme.base is None and not rows:
        return None, "no points for it at this kind of show"
    counted = scheme.base is not None or any(row.competing_from or row.competing_to for row in rows)
    if counted and award.competing is None:
        return None, "neither points nor the number competing entered"
    competing = award.competing or 0
    if scheme.base is not None:
        return min(scheme.base + competing, scheme.max_per_award), ""
    for row in rows:
        high = competing if row.competing_to is None else row.competing_to
        if row.competing_from <= competing <= high and row.points:
            return row.points, ""
    return 0, "too few competed for points"


def _credit(
    places: Sequence[int], worth: Mapping[int, int], scheme: Scheme, most: int, result: _Weighed
) -> list[tuple[int, int]]:
    """Return what each award of one show is credited with."""
    if scheme.per_show == "highest":
        best = max(places, key=lambda place: worth[place])
        for place in places:
            if place != best:
                result.set_aside("a higher award of the same show counts", place)
        return [(best, min(worth[best], most))]
    credited = []
    left = most
    for place in places:
        points = min(worth[place], left)
        left -= points
        if points:
            credited.append((place, points))
        else:
            result.set_aside(f"beyond the {most} points that one show can give", place)
    return credited


def _sum_up(case: _Case, credited: Sequence[tuple[int, int]], most: int, result: _Weighed) -> None:
    """See when the points, wins, judges and beaten champions were enough, or what is lacking."""
    route, rule = case.route, case.route.points
    if rule is None:
        return
    won = [(case.awards[place], points) for place, points in credited]
    window = case.points_window()
    wait = f", none before {_day(window[0])}" if window[0] > case.today else ""

    def note(rule: Rule, what: str, have: int, need: int, met: date | None) -> bool:
        result.met.append((rule, met))
        result.have.append(Have(what, min(have, need), need))
        return met is None

    def lack(rule: Rule, says: str, awards: int) -> None:
        result.lacks.append(_Lack(rule, says, awards, max(case.today, window[0]), window[1]))

    total, met = 0, None
    for award, points in won:
        total += points
        if met is None and total >= rule.at_least:
            met = award.day
    if note(rule, "points", total, rule.at_least, met):
        short = rule.at_least - total
        lack(rule, f"{short}{' more' * bool(total)} {_points(short)}{wait}", -(-short // most))
    if route.wins:
        big = [award for award, points in won if _is_win(award, points, route.wins)]
        _, enough = _reach(((award.day, id(award)) for award in big), route.wins.at_least)
        judges, spread = _reach(
            ((award.day, _same(award.judge)) for award in big), route.wins.judges or 0
        )
        met = max(enough, spread) if enough and spread else None
        met = met if route.wins.judges else enough
        if note(route.wins, route.wins.many, len(big), route.wins.at_least, met):
            lack(route.wins, *_wins_lacking(route.wins, len(big), judges))
    if route.judges and not route.awards:
        need = route.judges.at_least
        have, met = _reach(((award.day, _same(award.judge)) for award, _ in won), need)
        if note(route.judges, "judges", have, need, met):
            if have == need - 1:
                says = f"a point from a {_ordinal(need)} judge"
            else:
                further = "further" if have else "different"
                says = f"points from {_word(need - have)} {further} judges"
            lack(route.judges, says, need - have)
    if route.champions:
        need = route.champions.at_least
        have, met = _reach(
            ((award.day, (award.day, _same(award.show))) for award, _ in won if award.champions),
            need,
        )
        if note(route.champions, "shows with a champion beaten", have, need, met):
            shows = _more(need - have, "show", "shows", more=have > 0)
            lack(route.champions, f"a champion beaten at {shows}", need - have)


def _is_win(award: Award, points: int, rule: Wins) -> bool:
    return points >= rule.min_points if award.major is None else award.major


def _wins_lacking(rule: Wins, wins: int, judges: int) -> tuple[str, int]:
    short_judges = max(0, (rule.judges or 0) - judges)
    short = max(rule.at_least - wins, short_judges)
    says = _more(short, rule.one, rule.many, more=wins > 0)
    says += f" ({rule.min_points} points or more at one show)"
    if short_judges == 1 and judges:
        says += f" from a {_ordinal(judges + 1)} judge"
    elif short_judges:
        says += f" from {_word(short_judges)} {'further' if judges else 'different'} judges"
    return says, short


def _part(
    case: _Case,
    minimum: Minimum,
    worth: Mapping[int, int],
    by_show: Mapping[tuple[date, str], Sequence[int]],
    most: int,
    result: _Weighed,
) -> None:
    """Check a part of the points that must come from certain wins."""
    if minimum.disputed:
        case.leave_open(minimum.note)
        if not case.strict:
            return
    over = case.over(minimum.over_months, minimum.on_the_day, minimum.note)
    first = max(over, minimum.since or date.min)
    highest = case.scheme is not None and case.scheme.per_show == "highest"
    got = 0
    met: date | None = None
    for (day, _), places in by_show.items():
        part = [worth[place] for place in places if _in_part(case.awards[place], minimum, first)]
        got += min(max(part, default=0) if highest else sum(part), most)
        if met is None and got >= minimum.points:
            met = day
    result.met.append((minimum, met))
    result.have.append(Have(f"points {minimum.says}", min(got, minimum.points), minimum.points))
    if met is None:
        short = minimum.points - got
        others = any(isinstance(lack.rule, Points) for lack in result.lacks)
        says = f"at least {short} of them" if others else f"{short} more {_points(short)}"
        says += f" {minimum.says}"
        if over > case.today:
            says += f" (from {_day(over)})"
        low, high = case.points_window()
        result.lacks.append(
            _Lack(minimum, says, -(-short // most), max(case.today, low, first), high)
        )


def _in_part(award: Award, minimum: Minimum, first: date) -> bool:
    return (
        award.day >= first
        and (not minimum.kinds or award.kind in minimum.kinds)
        and (not minimum.show_kinds or award.show_kind in minimum.show_kinds)
    )


# --- other titles and tests, and the verdict ---------------------------------------------------


def _weigh_needs(case: _Case, result: _Weighed) -> None:
    for need in case.route.needs:
        if need.title in case.dog.titles:
            result.met.append((need, case.dog.titles[need.title]))
        else:
            says = f"first the title {case.title.names[need.title]}"
            result.lacks.insert(0, _Lack(need, says, unknown=True))
    test = case.route.test
    if test:
        held = case.dog.tests.get(test.test)
        if test.test in case.dog.tests and (held is None or held <= case.today):
            result.met.append((test, held))
        else:
            result.lacks.append(_Lack(test, test.says, first=case.today))


def _verdict(result: _Weighed, title: BodyTitle, today: date) -> Verdict:
    if not result.lacks:
        return Verdict(result.earned, "", None)
    ended = title.title.valid_to
    if ended and today > ended:
        return Verdict(None, f"This title ended on {_day(ended)}.", None, closed=True)
    soonest = max(lack.first for lack in result.lacks)
    late = [lack.end for lack in result.lacks if max(lack.first, today) >= lack.end]
    if late:
        says = f"Can no longer be earned: what is missing had to be won before {_day(min(late))}."
        return Verdict(None, says, None, closed=True)
    parts = [lack.says for lack in result.lacks if lack.says]
    says = _sentence(parts)
    unknown = any(lack.unknown for lack in result.lacks)
    return Verdict(None, says, None if unknown else max(soonest, today))


def _rank(result: _Weighed) -> tuple[int, date, int, date]:
    """Put the route first that is earned first, else the one that lacks least, then soonest."""
    earned = result.earned
    if not result.lacks:
        return 0, earned or date.min, 0, date.min
    closed = any(lack.first >= lack.end for lack in result.lacks)
    awards = max(lack.awards for lack in result.lacks)
    return 2 if closed else 1, date.min, awards, max(lack.first for lack in result.lacks)


def _deciding(result: _Weighed, today: date) -> tuple[Rule, ...]:
    if result.lacks:
        return tuple(dict.fromkeys(lack.rule for lack in result.lacks))
    latest = max((day for _, day in result.met if day), default=today)
    last = [rule for rule, day in result.met if day == latest]
    return tuple(last or [rule for rule, _ in result.met])


# --- for the phone -----------------------------------------------------------------------------


def pack_titles(
    book: TitleBook, dog: Dog, awards: Sequence[Award], today: date, body: Body | None = None
) -> Data:
    """Return the tallies that concern the dog, for the phone.

    These are the titles of `body` and of every body that gave an award, save those that another
    kind of breed or section earns, that wait for another title, or that can no longer be earned.
    """
    bodies = {award.body for award in awards} | ({body} if body else set())
    titles = [title for title in book.titles.values() if title.body in bodies]
    shown = [
        result
        for result in tally_all(
            [title for title in titles if _concerns(title, dog)], dog, awards, today
        )
        if not result.verdict.closed and not _waits(result)
    ]
    sources: Data = {}
    packed = [_pack(result, awards, sources) for result in shown]
    caveats = {title.body: title.caveat for title in titles}
    return {"asof": today.isoformat(), "titles": packed, "sources": sources, "caveats": caveats}


def _concerns(title: BodyTitle, dog: Dog) -> bool:
    wanted = title.title
    if wanted.section and wanted.section != dog.section:
        return False
    return wanted.trial is None or dog.trial is None or wanted.trial == dog.trial


def _waits(result: Tally) -> bool:
    return result.missing.startswith("First the title")


def _pack(result: Tally, awards: Sequence[Award], sources: Data) -> Data:
    title = result.title.title
    data: Data = {"id": title.id, "name": title.name, "body": result.title.body}
    data |= _pack_verdict(result.verdict)
    if result.otherwise:
        data["otherwise"] = _pack_verdict(result.otherwise)
    if result.open:
        data["open"] = list(result.open)
    data["have"] = [[item.what, item.have, item.need] for item in result.have]
    data["counts"] = _ids(result.counts, awards)
    data["aside"] = [
        [reason, *_ids(places, awards)]
        for reason, places in result.aside.items()
        if reason not in ("given under another body", "not an award that this title counts")
    ]
    data["clauses"] = []
    for rule in result.rules:
        key = f"{result.title.body.lower()}-{rule.source}"
        if [rule.clause, key, rule.read] not in data["clauses"]:
            data["clauses"].append([rule.clause, key, rule.read])
        source = result.title.sources[rule.source]
        sources[key] = {
            name: value
            for name in ("body", "title", "number", "date", "address", "read", "note")
            if (value := getattr(source, name))
        }
    if len(title.route) > 1:
        data["route"] = result.route
    for name in ("applies", "note"):
        if getattr(title, name):
            data[name] = getattr(title, name)
    if title.dog:
        data["dog"] = list(title.dog)
    return data


def _pack_verdict(verdict: Verdict) -> Data:
    if verdict.earned:
        return {"earned": verdict.earned.isoformat()}
    data: Data = {"missing": verdict.missing}
    if verdict.soonest:
        data["soonest"] = verdict.soonest.isoformat()
    if verdict.closed:
        data["closed"] = True
    return data


def _ids(places: Sequence[int], awards: Sequence[Award]) -> list[Any]:
    """Return how many awards, and the first few by id (by place where they have none)."""
    return [len(places), [awards[place].id or place for place in places[:IDS_SHOWN]]]


# --- words -------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def _same(name: str) -> str:
    """Return a name such that two ways of typing it compare equal."""
    return " ".join(name.casefold().replace(".", " ").split())


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _word(number: int) -> str:
    return WORDS[number] if 0 <= number < len(WORDS) else str(number)


def _points(number: int) -> str:
    return "point" if number == 1 else "points"


def _length(rule: Interval) -> str:
    parts = ((rule.years, "year"), (rule.months, "month"), (rule.days, "day"))
    return " and ".join(
        f"{_word(number)} {unit}{'s' * (number > 1)}" for number, unit in parts if number
    )


def _ordinal(number: int) -> str:
    return ORDINALS[number] if number < len(ORDINALS) else f"{number}th"


def _more(number: int, one: str, many: str, *, more: bool) -> str:
    return f"{_word(number)}{' more' if more else ''} {one if number == 1 else many}"


def _sentence(parts: Sequence[str]) -> str:
    if any("," in part for part in parts):
        text = "; ".join(parts)
    elif len(parts) > 2:
        text = f"{', '.join(parts[:-1])}, and {parts[-1]}"
    else:
        text = " and ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."
