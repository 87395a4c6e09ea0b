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
from itertools import combinations
from typing import Any

from ringside.knowledge.schema import Body, Sex
from ringside.knowledge.title_schema import (
    AtLeast,
    Minimum,
    OnTheDay,
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
BRUTE_FORCE_MOST = 14
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

    def after(self, day: date, months: int) -> date:
        """Return the day some months after `day`, as this reading has it."""
        early, late = months_after(day, months)
        self._note_month_end(early, late)
        return late if self.strict else early

    def since_title(self, title: str | None) -> date:
        """Return the first day on which awards count that must follow another title."""
        if title is None or title not in self.dog.titles:
            return date.min if title is None else date.max
        held = self.dog.titles[title]
        return held + DAY if held else date.min

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

    def __init__(self, case: _Case) -> None:
        route = case.route
        self.slots = route.awards
        self.units = [kind for kind, slots in enumerate(self.slots) for _ in range(slots.count)]
        self.by_judge = bool(route.judges and route.judges.at_least >= len(self.units) > 1)
        self.may: list[dict[object, int]] = [{} for _ in self.slots]  # key -> oldest award
        self.owner: dict[object, int] = {}
        self.free = list(range(len(self.units)))

    def offer(self, kind: int, key: object, place: int) -> bool:
        """Let an award be used for a kind of slot; return whether that was news."""
        if key in self.may[kind]:
            return False
        self.may[kind][key] = place
        return True

    def fill(self) -> None:
        """Fill free slots as long as any can be filled."""
        for unit in tuple(self.free):
            if self._place(unit, set()):
                self.free.remove(unit)

    def refill(self) -> None:
        """Start again, the slots that ask most first: those still free then ask least."""
        self.owner.clear()
        self.free = list(range(len(self.units)))
        self.fill()

    def used(self) -> set[int]:
        """Return the awards that fill a slot."""
        return {self.may[self.units[unit]][key] for key, unit in self.owner.items()}

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
    slotted = _Slotted(case)
    firsts = [
        max(
            case.over(slots.over_months, slots.on_the_day, slots.note),
            slots.since or date.min,
            case.since_title(slots.after_title),
        )
        for slots in route.awards
    ]
    apart = route.shows is not None
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
        if not kinds:
            if any(award.kind in slots.kinds for slots in route.awards):
                result.set_aside(_unfit(case, award), place)
            continue
        if slotted.by_judge and not award.judge.strip():
            result.set_aside("no judge entered", place)
            continue
        show = (award.day, _same(award.show))
        if apart and show in shows:
            result.set_aside("another award of the same show counts", place)
            continue
        shows.add(show)
        fits.append(place)
        if complete is None:
            key: object = _same(award.judge) if slotted.by_judge else place
            if any([slotted.offer(kind, key, place) for kind in kinds]):
                slotted.fill()
            if not slotted.free:
                complete = award.day
    if complete is None:
        slotted.refill()
    result.met.append((route.awards[0], complete))
    if slotted.by_judge:
        _judge_each(case, slotted, fits, firsts, result)
    else:
        _judge_among(case, slotted, fits, firsts, result)


def _unfit(case: _Case, award: Award) -> str:
    """Say why an award of the right kind fills no slot."""
    for slots in case.route.awards:
        if award.kind not in slots.kinds:
            continue
        if slots.show_kinds and award.show_kind not in slots.show_kinds:
            return "not at the kind of show that is asked for"
        if slots.since and award.day < slots.since:
            return f"won before {_day(slots.since)}"
        if slots.after_title and award.day < case.since_title(slots.after_title):
            return "won before the title that must come first"
    return f"won too young: the slot that is left asks for {_over(case)}"


def _over(case: _Case) -> str:
    months = [slots.over_months for slots in case.route.awards if slots.over_months]
    return f"a dog over {months[0]} months" if months else "another award"


def _judge_each(
    case: _Case, slotted: _Slotted, fits: Sequence[int], firsts: Sequence[date], result: _Weighed
) -> None:
    """Take every counted award from another judge: the matching has done the work."""
    route = case.route
    needed = len(slotted.units)
    have = needed - len(slotted.free)
    result.counts |= slotted.used()
    judges = {_same(case.awards[place].judge) for place in result.counts}
    for place in fits:
        if place not in result.counts:
            same = _same(case.awards[place].judge) in judges
            result.set_aside(
                "same judge as an award that counts" if same else "more than is asked", place
            )
    what = dict.fromkeys(slots.many for slots in route.awards)
    for many in what:
        kinds = [kind for kind, slots in enumerate(route.awards) if slots.many == many]
        need = sum(route.awards[kind].count for kind in kinds)
        lacking = sum(slotted.units[unit] in kinds for unit in slotted.free)
        result.have.append(Have(many, need - lacking, need))
    result.have.append(Have("judges", have, needed))
    if route.judges:
        result.met.append((route.judges, result.met[-1][1]))
    if not slotted.free:
        _judge_countries(case, sorted(result.counts), result)
        return
    lacking: dict[str, int] = {}
    first, starts = date.min, case.today
    ends: list[date] = []
    for unit in slotted.free:
        kind = slotted.units[unit]
        slots = route.awards[kind]
        words = slots.many
        lacking[words] = lacking.get(words, 0) + 1
        low, high = _slot_window(case, slots, firsts[kind])
        first, starts = max(first, low), max(starts, low)
        ends.append(high)
    rule = route.awards[slotted.units[slotted.free[0]]]
    total = len(slotted.free)
    says = " and ".join(
        _more(
            number,
            next(slots.one for slots in route.awards if slots.many == many),
            many,
            more=result.have[[item.what for item in result.have].index(many)].have > 0,
        )
        for many, number in lacking.items()
    )
    if total == 1:
        says += f", from a {_ordinal(needed)} judge"
    elif have == 0:
        says += ", each from a different judge"
    else:
        says += ", each from a judge not yet counted"
    says += _countries_lacking(case, fits, total)
    if first > case.today:
        says += (
            f", on or after {_day(first)}" if total == 1 else f", {_one_of(case, slotted, first)}"
        )
    result.lacks.append(_Lack(rule, says, total, starts, min(ends)))


def _one_of(case: _Case, slotted: _Slotted, first: date) -> str:
    """Say for how many of several lacking awards the date holds."""
    bound = [case.route.awards[slotted.units[unit]].over_months for unit in slotted.free]
    some = any(bound) and not all(bound)
    young = min(case.windows[kind][0] for slots in case.route.awards for kind in slots.kinds)
    return f"{'at least one' if some and young <= case.today else 'none'} " + (
        f"on or after {_day(first)}" if some and young <= case.today else f"before {_day(first)}"
    )


def _judge_among(
    case: _Case, slotted: _Slotted, fits: Sequence[int], firsts: Sequence[date], result: _Weighed
) -> None:
    """Take so many awards, and among them so many judges, countries and so long a time.

    A dog that has more awards than are asked for is read as having among them what is asked.
    """
    route, awards = case.route, case.awards
    slots = route.awards[0]
    needed = len(slotted.units)
    have = needed - len(slotted.free)
    result.have.append(Have(slots.many, have, needed))
    short = len(slotted.free)
    spans: list[tuple[str, AtLeast, int]] = []
    for what, of, rule in (
        ("judge", "judge", route.judges),
        ("country", "country", route.countries),
        ("country for a judge", "judge_country", route.judge_countries),
    ):
        if rule:
            found: set[str] = set()
            met: date | None = None
            for place in fits:
                if name := _same(getattr(awards[place], of)):
                    found.add(name)
                    if met is None and len(found) >= rule.at_least:
                        met = awards[place].day
            result.met.append((rule, met))
            spans.append((what, rule, len(found)))
            result.have.append(
                Have(_plural_of(what), min(len(found), rule.at_least), rule.at_least)
            )
    last = _interval_end(case, fits, result)
    lacking = [(what, rule, count) for what, rule, count in spans if count < rule.at_least]
    waits = last is not None and last > date.min
    total = max([short, *(rule.at_least - count for _, rule, count in lacking), 1 if waits else 0])
    if not total:
        result.counts |= _smallest(case, fits, needed, [day for _, day in result.met if day])
        for place in fits:
            if place not in result.counts:
                result.set_aside("more than is asked", place)
        return
    result.counts |= set(fits)
    low, high = _slot_window(case, slots, firsts[0])
    says = _more(total, slots.one, slots.many, more=bool(fits))
    for what, rule, count in lacking:
        says += _span(what, total, rule.at_least, count)
    first = starts = max(case.today, low)
    if waits and last is not None:
        starts = max(starts, last)
    elif route.interval and not fits:
        starts = _plus(case, first)
    says += _when(case, total, low, last if waits else None, begun=bool(fits))
    rules: list[Rule] = [slots] if short else []
    rules += [rule for _, rule, _ in lacking]
    rules += [route.interval] if waits and route.interval else []
    result.lacks += [
        _Lack(rule, says if not number else "", total, starts, high)
        for number, rule in enumerate(rules)
    ]


def _interval_end(case: _Case, fits: Sequence[int], result: _Weighed) -> date | None:
    """Return the day from which a last award would end the interval; date.min if it has ended."""
    rule = case.route.interval
    if rule is None or not fits:
        return None
    end = _plus(case, case.awards[fits[0]].day)
    met = next((case.awards[place].day for place in fits if case.awards[place].day >= end), None)
    result.met.append((rule, met))
    return date.min if met else end


def _plus(case: _Case, day: date) -> date:
    rule = case.route.interval
    if rule is None:
        return day
    return case.after(day, rule.years * 12 + rule.months) + timedelta(days=rule.days)


def _when(case: _Case, total: int, low: date, last: date | None, *, begun: bool) -> str:
    """Say when the lacking awards can be had, as far as dates bind them."""
    says = ""
    if last and last > case.today and (total == 1 or last > low):
        if low > case.today and total > 1:
            says += f", none before {_day(low)}"
        return f"{says}, {'' if total == 1 else 'the last '}on or after {_day(last)}"
    if low > case.today:
        says += f", on or after {_day(low)}" if total == 1 else f", none before {_day(low)}"
    if case.route.interval and not begun:
        rule = case.route.interval
        parts = [(rule.years, "year"), (rule.months, "month"), (rule.days, "day")]
        length = " and ".join(
            f"{_word(number)} {unit}{'s' * (number > 1)}" for number, unit in parts if number
        )
        says += f", the last at least {length} after the first"
    return says


def _span(what: str, total: int, needed: int, have: int) -> str:
    """Say from how many further judges or countries the lacking awards must come."""
    by, named = {
        "judge": ("from", "judge"),
        "country": ("in", "country"),
        "country for a judge": ("from", "country"),
    }[what]
    prefix = "a judge of " if what == "country for a judge" else ""
    short = needed - have
    if total == 1:
        return f", {by} {prefix}a {_ordinal(needed)} {named}"
    many = "judges" if named == "judge" else "countries"
    prefix = "judges of " if prefix else ""
    if have == 0:
        return f", {by} {prefix}at least {_word(needed)} {many}"
    if short == 1:
        single = "a judge of " if prefix else ""
        return f", at least one {by} {single}a {_ordinal(needed)} {named}"
    return f", {by} {prefix}at least {_word(short)} further {many}"


def _plural_of(what: str) -> str:
    return {"judge": "judges", "country": "countries"}.get(what, "countries of judges")


def _countries_lacking(case: _Case, fits: Sequence[int], total: int) -> str:
    rule = case.route.judge_countries
    if not rule:
        return ""
    found = {_same(case.awards[place].judge_country) for place in fits} - {""}
    if len(found) >= rule.at_least:
        return ""
    return _span("country for a judge", total, rule.at_least, len(found))


def _judge_countries(case: _Case, counts: Sequence[int], result: _Weighed) -> None:
    """Check the countries of judges among awards that each come from another judge."""
    rule = case.route.judge_countries
    if not rule:
        return
    found: set[str] = set()
    met: date | None = None
    for place in sorted(counts, key=lambda place: case.awards[place].day):
        found.add(_same(case.awards[place].judge_country))
        if met is None and len(found - {""}) >= rule.at_least:
            met = case.awards[place].day
    found -= {""}
    result.met.append((rule, met))
    result.have.append(Have("countries of judges", min(len(found), rule.at_least), rule.at_least))
    short = rule.at_least - len(found)
    if short > 0:
        slots = case.route.awards[0]
        says = _more(short, slots.one, slots.many, more=True)
        says += _span("country for a judge", short, rule.at_least, len(found))
        low, high = _slot_window(case, slots, date.min)
        result.lacks.append(_Lack(rule, says, short, max(case.today, low), high))


def _smallest(case: _Case, fits: Sequence[int], needed: int, met: Sequence[date]) -> set[int]:
    """Return as few awards as make up the title, from those won until it was complete."""
    complete = max(met)
    chosen = [place for place in fits if case.awards[place].day <= complete]
    if len(chosen) <= needed:
        return set(chosen)
    greedy = _cover(case, chosen, needed)
    if len(greedy) > needed and len(chosen) <= BRUTE_FORCE_MOST:
        for group in combinations(chosen, needed):
            if _makes_up(case, group):
                return set(group)
    return greedy


def _cover(case: _Case, chosen: Sequence[int], needed: int) -> set[int]:
    """Take the first and the last, then always the award that brings most that is new."""
    group = [chosen[0], chosen[-1]]
    rest = list(chosen[1:-1])
    while rest and not (len(group) >= needed and _makes_up(case, group)):
        judges = {_same(case.awards[place].judge) for place in group}
        countries = {_same(case.awards[place].country) for place in group}
        best = max(
            rest,
            key=lambda place: (
                (_same(case.awards[place].judge) not in judges)
                + (_same(case.awards[place].country) not in countries)
            ),
        )
        group.append(best)
        rest.remove(best)
    return set(group)


def _makes_up(case: _Case, group: Sequence[int]) -> bool:
    route = case.route
    for rule, of in (
        (route.judges, "judge"),
        (route.countries, "country"),
        (route.judge_countries, "judge_country"),
    ):
        if rule:
            found = {_same(getattr(case.awards[place], of)) for place in group} - {""}
            if len(found) < rule.at_least:
                return False
    days = [case.awards[place].day for place in group]
    return route.interval is None or max(days) >= _plus(case, min(days))


def _slot_window(case: _Case, slots: Slots, first: date) -> Window:
    """Return the days on which an award for such a slot can be won."""
    windows = [case.windows[kind] for kind in slots.kinds]
    if first == date.max:  # waits for a title; said elsewhere
        first = date.min
    return max(first, min(low for low, _ in windows)), max(high for _, high in windows)


# --- points ------------------------------------------------------------------------------------


def _weigh_points(case: _Case, pool: Sequence[int], result: _Weighed) -> None:
    route, awards, scheme, rule = case.route, case.awards, case.scheme, case.route.points
    if rule is None or scheme is None:
        return
    first = max(rule.since or date.min, case.since_title(rule.after_title))
    worth: dict[int, int] = {}
    by_show: dict[tuple[date, str], list[int]] = {}
    floor = route.wins.min_points if route.wins else 0
    for place in pool:
        award = awards[place]
        if award.kind not in scheme.kinds:
            continue
        if award.day < first:
            waits = rule.after_title and award.day >= (rule.since or date.min)
            reason = "won before the title that must come first" if waits else "too early"
            result.set_aside(reason if waits else f"won before {_day(first)}", place)
            continue
        value, reason = points_of(award, scheme, floor)
        if not value:
            result.set_aside(reason, place)
            continue
        worth[place] = value
        by_show.setdefault((award.day, _same(award.show)), []).append(place)
    most = rule.max_per_show or scheme.max_per_award
    credited: list[tuple[int, int]] = []
    for places in by_show.values():
        credited += _credit(places, worth, scheme, most, result)
    _sum_up(case, credited, result)
    _minimums(case, worth, by_show, most, result, sum(points for _, points in credited))


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
    if scheme.base is not None:
        if award.competing is None:
            return None, "neither points nor the number of dogs entered"
        return min(scheme.base + award.competing, scheme.max_per_award), ""
    fitting = [row for row in rows if not row.show_kinds or award.show_kind in row.show_kinds]
    if not fitting:
        return None, "no points for it at this kind of show"
    if award.competing is None and any(row.competing_from or row.competing_to for row in fitting):
        return None, "neither points nor the number competing entered"
    for row in fitting:
        competing = award.competing or 0
        if row.competing_from <= competing and (
            row.competing_to is None or competing <= row.competing_to
        ):
            return row.points, "" if row.points else "too few competed for points"
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


def _sum_up(case: _Case, credited: Sequence[tuple[int, int]], result: _Weighed) -> None:
    """Walk through the credited awards once, noting when each rule was met and what lacks."""
    route, awards, rule = case.route, case.awards, case.route.points
    if rule is None:
        return
    judges_rule = None if route.awards else route.judges
    total = wins = 0
    judges: set[str] = set()
    win_judges: set[str] = set()
    beaten: set[tuple[date, str]] = set()
    met: dict[str, date] = {}
    for place, points in credited:
        award = awards[place]
        judge = _same(award.judge)
        total += points
        if judge:
            judges.add(judge)
        if total >= rule.at_least:
            met.setdefault("points", award.day)
        if judges_rule and len(judges) >= judges_rule.at_least:
            met.setdefault("judges", award.day)
        if route.wins:
            won = points >= route.wins.min_points if award.major is None else award.major
            if won:
                wins += 1
                win_judges |= {judge} - {""}
            if wins >= route.wins.at_least and len(win_judges) >= (route.wins.judges or 0):
                met.setdefault("wins", award.day)
        if route.champions:
            if award.champions:
                beaten.add((award.day, _same(award.show)))
            if len(beaten) >= route.champions.at_least:
                met.setdefault("champions", award.day)
        result.counts.add(place)
    most = rule.max_per_show or (case.scheme.max_per_award if case.scheme else 1)
    low, high = _points_window(case)
    starts = max(case.today, low)
    wait = f", none before {_day(low)}" if low > case.today else ""

    def lack(what: Rule, says: str, number: int) -> None:
        result.lacks.append(_Lack(what, says, number, starts, high))

    result.met.append((rule, met.get("points")))
    result.have.append(Have("points", min(total, rule.at_least), rule.at_least))
    if "points" not in met:
        short = rule.at_least - total
        more = " more" if total else ""
        lack(rule, f"{short}{more} point{'s' * (short > 1)}{wait}", -(-short // most))
    if route.wins:
        result.met.append((route.wins, met.get("wins")))
        result.have.append(
            Have(route.wins.many, min(wins, route.wins.at_least), route.wins.at_least)
        )
        if "wins" not in met:
            says, number = _wins_lacking(route.wins, wins, len(win_judges))
            lack(route.wins, says, number)
    if judges_rule:
        result.met.append((judges_rule, met.get("judges")))
        have, need = min(len(judges), judges_rule.at_least), judges_rule.at_least
        result.have.append(Have("judges", have, need))
        if have < need:
            if need - have == 1:
                says = f"a point from a {_ordinal(need)} judge"
            elif have:
                says = f"points from {_word(need - have)} further judges"
            else:
                says = f"points from at least {_word(need)} judges"
            lack(judges_rule, says, need - have)
    if route.champions:
        result.met.append((route.champions, met.get("champions")))
        have, need = min(len(beaten), route.champions.at_least), route.champions.at_least
        result.have.append(Have("shows with a champion beaten", have, need))
        if have < need:
            number, more = _word(need - have), " more" if have else ""
            shows = f"{number}{more} show{'s' * (need - have > 1)}"
            lack(route.champions, f"a champion beaten at {shows}", need - have)


def _wins_lacking(rule: Wins, wins: int, judges: int) -> tuple[str, int]:
    short_judges = max(0, (rule.judges or 0) - judges)
    short = max(rule.at_least - wins, short_judges)
    says = f"{_word(short)}{' more' if wins else ''} {rule.one if short == 1 else rule.many}"
    says += f" ({rule.min_points} points or more at one show)"
    if short_judges == 1 and judges:
        says += f" from a {_ordinal(rule.judges or 1)} judge"
        if short > 1:
            says = f"{says} at least once"
    elif short_judges:
        says += f" from {_word(short_judges)}{' further' if judges else ' different'} judges"
    return says, short


def _minimums(
    case: _Case,
    worth: Mapping[int, int],
    by_show: Mapping[tuple[date, str], Sequence[int]],
    most: int,
    result: _Weighed,
    total: int,
) -> None:
    """Check the parts of the points that must come from certain wins."""
    rule = case.route.points
    for minimum in case.route.minimum:
        first = max(
            case.over(minimum.over_months, minimum.on_the_day, minimum.note),
            minimum.since or date.min,
        )
        if minimum.disputed:
            case.leave_open(minimum.note)
            if not case.strict:
                continue
        got = 0
        met: date | None = None
        for places in by_show.values():
            part = [
                worth[place] for place in places if _in_part(case.awards[place], minimum, first)
            ]
            if part:
                highest = case.scheme is not None and case.scheme.per_show == "highest"
                got += min(max(part) if highest else sum(part), most)
                if met is None and got >= minimum.points:
                    met = case.awards[places[0]].day
        result.met.append((minimum, met))
        result.have.append(Have(f"points {minimum.says}", min(got, minimum.points), minimum.points))
        if met is None and rule:
            short = minimum.points - got
            points = f"{short} more point{'s' * (short > 1)}"
            says = f"at least {short} of them " if total < rule.at_least else f"{points} "
            low, high = _points_window(case)
            starts = max(case.today, low, first)
            says += minimum.says
            if minimum.over_months and first > case.today:
                says += f" (from {_day(first)})"
            result.lacks.append(_Lack(minimum, says, -(-short // most), starts, high))


def _in_part(award: Award, minimum: Minimum, first: date) -> bool:
    return (
        award.day >= first
        and (not minimum.kinds or award.kind in minimum.kinds)
        and (not minimum.show_kinds or award.show_kind in minimum.show_kinds)
    )


def _points_window(case: _Case) -> Window:
    windows = [case.windows[kind] for kind in (case.scheme.kinds if case.scheme else ())]
    return min(low for low, _ in windows), max(high for _, high in windows)


# --- other titles and tests, and the verdict ---------------------------------------------------


def _weigh_needs(case: _Case, result: _Weighed) -> None:
    for need in case.route.needs:
        if need.title in case.dog.titles:
            result.met.append((need, case.dog.titles[need.title]))
        else:
            result.lacks.insert(
                0, _Lack(need, f"first the title {_named(need.title)}", unknown=True)
            )
    test = case.route.test
    if test:
        held = case.dog.tests.get(test.test)
        if test.test in case.dog.tests and (held is None or held <= case.today):
            result.met.append((test, held))
        else:
            result.lacks.append(_Lack(test, test.says, first=case.today))


def _named(title: str) -> str:
    """Name a title by its id where only that is at hand: da-ch as CH."""
    return title.partition("-")[2].upper()


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
