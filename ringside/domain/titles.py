"""What a dog's awards come to: titles earned, what is still missing, the soonest it could be had.

A title is earned on the day when the last rule of one of its routes is met. Rules only ever ask
for more, so a further award never undoes what was reached.

Where a text leaves something open (a birthday itself, a month without that day, a condition that
texts dispute) awards are weighed twice: against the dog, which is the verdict, and for it; where
the two differ, the other verdict is given too, with what is open.
"""

from __future__ import annotations

from calendar import isleap
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache
from itertools import chain, combinations
from typing import Any, NamedTuple

from ringside.knowledge.schema import Body, Sex
from ringside.knowledge.title_schema import (
    AtLeast,
    Interval,
    Minimum,
    NeedsTest,
    NeedsTitle,
    OnTheDay,
    Points,
    Route,
    Row,
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
FAR_AHEAD = timedelta(days=3 * 366)
_PLURALS = {"judge": "judges", "country": "countries", "judge's country": "countries of judges"}
ENOUGH_OF_ONE = 4  # as many as any route has slots
LOWER_AWARD = "a higher award of the same show counts"
OTHER_BODY = "given under another body"
OTHER_KIND = "not an award that this title counts"
WAITS_FOR_TITLE = "won before the title that must come first"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WORDS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
)  # fmt: skip
ORDINALS = (
    "", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
    "tenth", "eleventh", "twelfth",
)  # fmt: skip


class Award(NamedTuple):
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
    def sentence(self) -> str:
        """The verdict in one sentence."""
        return self.missing or f"Earned on {_day(self.earned or date.min)}."

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
    return _tally(title, _Record(dog, awards, today))


def tally_all(
    titles: Iterable[BodyTitle], dog: Dog, awards: Sequence[Award], today: date
) -> list[Tally]:
    """Weigh `awards` for each title in turn; one that is found earned counts for the next."""
    return _in_turn(titles, _Record(dog, awards, today), only=lambda title, dog: True)


def months_after(day: date, months: int) -> tuple[date, date]:
    """Return the day `months` calendar months on, under both readings where it does not exist.

    From the 31st to a shorter month, or from 29 February to a common year: the last day of that
    month, or the day after it. Otherwise both are the same day.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = 29 if month == 1 and isleap(year) else LENGTHS[month]
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


class _Record:
    """What is known of the dog, and what several titles would each work out again."""

    def __init__(self, dog: Dog, awards: Sequence[Award], today: date) -> None:
        self.held = dict(dog.titles)
        self.dog = replace(dog, titles=self.held)
        self.awards = awards
        self.today = today
        self.order: dict[Body, list[int]] = {}  # the awards of each body, oldest first
        self.days: dict[Body, set[date]] = {}
        for place in sorted(range(len(awards)), key=lambda place: awards[place].day):
            award = awards[place]
            self.order.setdefault(award.body, []).append(place)
            self.days.setdefault(award.body, set()).add(award.day)
        self.others: dict[Body, tuple[int, ...]] = {}  # for a body the awards of all others
        self.screened: dict[object, _Screened] = {}
        self.credits: dict[object, _Credits] = {}

    def foreign(self, body: Body) -> tuple[int, ...]:
        """Return the awards that other bodies gave."""
        if body not in self.others:
            of_others = [of for other, of in self.order.items() if other != body]
            self.others[body] = tuple(sorted(chain.from_iterable(of_others)))
        return self.others[body]


def _in_turn(
    titles: Iterable[BodyTitle], record: _Record, *, only: Callable[[BodyTitle, Dog], bool]
) -> list[Tally]:
    tallies = []
    for title in titles:
        if only(title, record.dog):
            result = _tally(title, record)
            if result.earned:
                record.held.setdefault(title.id, result.earned)
            tallies.append(result)
    return tallies


def _tally(title: BodyTitle, record: _Record) -> Tally:
    best, verdict = _best(title, record, strict=True)
    otherwise, remarks = None, best.case.remarks
    if best.open:
        other, second = _best(title, record, strict=False)
        if second != verdict:
            otherwise = second
            remarks = [*remarks, *dict.fromkeys([*best.open, *other.open])]
    foreign = record.foreign(title.body)
    others = {OTHER_BODY: foreign} if foreign else {}
    return Tally(
        title=title,
        route=best.case.route.name,
        verdict=verdict,
        otherwise=otherwise,
        open=tuple(remarks),
        have=tuple(best.have),
        counts=tuple(sorted(best.counts)),
        aside={reason: tuple(places) for reason, places in best.aside.items() if places} | others,
        rules=_deciding(best, record.today),
    )


def _best(title: BodyTitle, record: _Record, *, strict: bool) -> tuple[_Weighed, Verdict]:
    """Weigh every route under one reading; return the best, and the verdict on all."""
    weighed = [
        _weigh(_Case(title, route, record, strict=strict), record) for route in title.title.route
    ]
    best = min(weighed, key=_rank)
    best.open = list(dict.fromkeys(note for result in weighed for note in result.case.open))
    equal = [result for result in weighed if _rank(result)[:3] == _rank(best)[:3]]
    return best, _verdict(best, equal, title, record.today)


class _Case:
    """One route weighed under one reading: the dates that its rules come to for this dog."""

    def __init__(self, title: BodyTitle, route: Route, record: _Record, *, strict: bool) -> None:
        self.title = title
        self.route = route
        self.dog = record.dog
        self.awards = record.awards
        self.days: Set[date] = record.days.get(title.body, frozenset())
        self.today = record.today
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
            if on_the_day == "open" and (self.matters(early) or self.matters(late)):
                self.leave_open(note)
        return first, end

    def over(self, months: int | None, on_the_day: OnTheDay, note: str) -> date:
        """Return the first day on which the dog is over an age."""
        if not months:
            return date.min
        birthday, _ = self.window(months, None, "out")
        if birthday == date.min or on_the_day == "in":
            return birthday
        if on_the_day == "open":
            if self.matters(birthday):
                self.leave_open(note)
            if not self.strict:
                return birthday
        return birthday + DAY

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

    def matters(self, day: date) -> bool:
        """Tell whether a day that a text leaves open is still to come, or has an award."""
        return day >= self.today or day in self.days

    def leave_open(self, note: str) -> None:
        """Note what a text leaves open."""
        if note and note not in self.open:
            self.open.append(note)

    def _note_month_end(self, early: date, late: date) -> None:
        if early != late and self.matters(early):
            self.leave_open(
                "The text does not say how months and years are counted to a month without that "
                f"day: {_day(early)} or {_day(late)}."
            )


@dataclass
class _Lack:
    """A rule not met: the awards it takes at least, from when, until when; how to say it."""

    rule: Rule
    says: str
    awards: int = 0  # the least number of further awards that can meet it
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
    open: list[str] = field(default_factory=list)

    @property
    def earned(self) -> date | None:
        """The day on which the last rule was met."""
        if self.lacks:
            return None
        return max((day for _, day in self.met if day), default=None)

    def set_all_aside(self, aside: Mapping[str, Sequence[int]]) -> None:
        """Note awards that do not count, by reason."""
        for reason, places in aside.items():
            self.aside.setdefault(reason, []).extend(places)

    def set_aside(self, reason: str, place: int) -> None:
        """Note an award that does not count."""
        self.aside.setdefault(reason, []).append(place)


def _weigh(case: _Case, record: _Record) -> _Weighed:
    result = _Weighed(case)
    key = (case.title.body, tuple(case.windows.items()))
    found = record.screened.get(key)
    if found is None:
        order = record.order.get(case.title.body, ())
        found = record.screened[key] = _screen(case, order)
    result.set_all_aside(found.aside)
    if case.route.awards:
        _weigh_slots(case, found.pool, result)
    if case.route.points:
        _weigh_points(case, found.pool, record, result)
    _weigh_needs(case, result)
    told = set(result.counts)  # what counts in one way, or was told of, is not told of again
    for reason, places in result.aside.items():
        result.aside[reason] = [place for place in dict.fromkeys(places) if place not in told]
        told.update(places)
    return result


@dataclass
class _Screened:
    """The awards that can count at all, oldest first, and why others cannot."""

    pool: list[int] = field(default_factory=list)
    aside: dict[str, list[int]] = field(default_factory=dict)


def _screen(case: _Case, order: Sequence[int]) -> _Screened:
    found = _Screened()
    day, same_day = date.min, list[int]()
    awards, windows = case.awards, case.windows
    born = case.dog.born or date.min
    for place in order:
        award = awards[place]
        window = windows.get(award.kind)
        reason = ""
        if award.day != day:
            day, same_day = award.day, []
        if window is None:
            kind = case.title.kinds.get(award.kind)
            reason = (kind and kind.unless) or OTHER_KIND
        elif award.day > case.today:
            reason = "still to come"
        elif award.day < born:
            reason = "dated before the dog was born"
        elif same_day and any(_alike(award, awards[other]) for other in same_day):
            reason = "entered twice"
        elif award.day < window[0]:
            reason = f"won before the dog was old enough ({_day(window[0])})"
        elif award.day >= window[1]:
            reason = _too_late(case, window[1])
        if reason:
            found.aside.setdefault(reason, []).append(place)
        else:
            same_day.append(place)
            found.pool.append(place)
    return found


def _alike(award: Award, other: Award) -> bool:
    """Tell whether two awards of one day are the same, entered twice."""
    return (
        award.kind == other.kind
        and award.judge == other.judge
        and award.show == other.show
        and award._replace(id="") == other._replace(id="")
    )


def _too_late(case: _Case, end: date) -> str:
    last = case.title.title.valid_to
    if last and end == last + DAY:
        return f"won after the title ended on {_day(last)}"
    return f"won when the dog was too old (from {_day(end)})"


# --- certificates ------------------------------------------------------------------------------


@dataclass
class _Choice:
    """Awards chosen for the slots of a route, and what it takes to complete them."""

    group: set[int]
    free: list[Slots]  # slots that are not filled, one entry each
    firsts: list[date]  # for each free slot the first day of an award that can fill it
    spans: list[tuple[str, AtLeast, int]]  # of what too few different ones: what, rule, how many
    last: date = date.min  # the first day for the last award, where an interval binds
    begun: bool = False


def _weigh_slots(case: _Case, pool: Sequence[int], result: _Weighed) -> None:
    route = case.route
    firsts = [case.first_for(slots) for slots in route.awards]
    slots_of: dict[str, list[tuple[int, Slots]]] = {}
    for number, slots in enumerate(route.awards):
        for name in slots.kinds:
            slots_of.setdefault(name, []).append((number, slots))
    by_judge = route.judges is not None
    shows: set[tuple[date, str]] = set()
    fits: list[tuple[int, list[int]]] = []  # an award, and the kinds of slot that it can fill
    for place in pool:
        award = case.awards[place]
        of_kind = slots_of.get(award.kind)
        if of_kind is None:
            continue
        kinds = [
            kind
            for kind, slots in of_kind
            if award.day >= firsts[kind]
            and (not slots.show_kinds or award.show_kind in slots.show_kinds)
        ]
        show = (award.day, _same(award.show)) if route.shows else None
        if not kinds:
            result.set_aside(_unfit(case, award), place)
        elif by_judge and not award.judge.strip():
            result.set_aside("no judge entered", place)
        elif show in shows:
            result.set_aside("another award of the same show counts", place)
        else:
            if show:
                shows.add(show)
            fits.append((place, kinds))
    if route.countries or route.judge_countries or route.interval:
        choice = _choose(case, [place for place, _ in fits], result)
    else:
        choice = _match(case, fits, firsts, result)
    result.counts |= choice.group
    for many in dict.fromkeys(slots.many for slots in route.awards):
        need = sum(slots.count for slots in route.awards if slots.many == many)
        lacking = sum(slots.many == many for slots in choice.free)
        result.have.append(Have(many, need - lacking, need))
    for what, _, rule in _spread(route):
        have = next((have for _, lacks, have in choice.spans if lacks is rule), rule.at_least)
        result.have.append(Have(_PLURALS[what], have, rule.at_least))
    if choice.free:
        _lack_slots(case, choice, result)
    judges = {_same(case.awards[place].judge) for place in choice.group} if by_judge else set()
    for place, _ in fits:
        if place not in choice.group:
            spent = _same(case.awards[place].judge) in judges
            result.set_aside("judge already counted" if spent else "more than is asked", place)


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


def _spread(route: Route) -> list[tuple[str, str, AtLeast]]:
    """Return of what the awards need several different ones: what, field of the award, rule."""
    rules = (
        ("judge", "judge", route.judges),
        ("country", "country", route.countries),
        ("judge's country", "judge_country", route.judge_countries),
    )
    return [(what, of, rule) for what, of, rule in rules if rule]


class _Matching:
    """Slots and the judges (or awards) that may fill them, each of which fills one only.

    Augmenting paths fill as many slots as any choice of awards could.
    """

    def __init__(self, route: Route) -> None:
        self.units = [kind for kind, slots in enumerate(route.awards) for _ in range(slots.count)]
        self.may: list[dict[object, int]] = [{} for _ in route.awards]  # key -> oldest award
        self.owner: dict[object, int] = {}
        self.free = list(range(len(self.units)))

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


def _match(
    case: _Case,
    fits: Sequence[tuple[int, list[int]]],
    firsts: Sequence[date],
    result: _Weighed,
) -> _Choice:
    """Fill the slots, each from another judge where the route counts judges."""
    route = case.route
    matching = _Matching(route)
    met: date | None = None
    for place, kinds in fits:
        award = case.awards[place]
        matching.offer(kinds, _same(award.judge) if route.judges else place, place)
        if not matching.free:
            met = award.day
            break
    else:
        matching.refill()
    rules: list[Rule] = [*route.awards, *(rule for rule in (route.judges, route.shows) if rule)]
    result.met += [(rule, met) for rule in rules]
    free = [matching.units[unit] for unit in matching.free]
    spans = []
    if route.judges and free:
        spans.append(("judge", route.judges, len(matching.units) - len(free)))
    return _Choice(
        group=matching.used(),
        free=[route.awards[kind] for kind in free],
        firsts=[firsts[kind] for kind in free],
        spans=spans,
        begun=bool(matching.owner),
    )


def _choose(case: _Case, fits: Sequence[int], result: _Weighed) -> _Choice:
    """Choose awards such that judges, countries and the time between are as the rules ask.

    Awards of one judge in one country differ in their date only, and the oldest is the best
    first; so few groups need to be looked at.
    """
    route, awards = case.route, case.awards
    slots, interval, spread = route.awards[0], route.interval, _spread(route)
    rules: list[Rule] = [slots, *(rule for _, _, rule in spread)]
    tags = {
        place: tuple(_same(getattr(awards[place], of)) for _, of, _ in spread) for place in fits
    }
    ends = {}  # for the oldest of each judge and country, when the interval from it ends
    oldest: dict[tuple[str, ...], int] = {}
    seen: list[set[str]] = [set() for _ in spread]
    for number, place in enumerate(fits, start=1):
        day = awards[place].day
        if tags[place] not in oldest:
            oldest[tags[place]] = place
            ends[place] = case.interval_after(day)
            for names, name in zip(seen, tags[place], strict=True):
                names.update([name] if name else [])
        if number < slots.count or day < ends[fits[0]]:
            continue
        if any(len(names) < rule.at_least for names, (*_, rule) in zip(seen, spread, strict=True)):
            continue
        few = _few(oldest)
        for others in combinations(few, min(slots.count - 1, len(few))):
            group = {place, *others}
            if interval and all(ends[other] > day for other in others):
                continue
            if not any(_short(spread, [tags[one] for one in group])):
                group |= set(_fill_up(fits[:number], group, slots.count))
                result.met += [(rule, day) for rule in [*rules, *([interval] if interval else [])]]
                return _Choice(group, [], [], [])
    result.met += [(rule, None) for rule in rules]
    return _lacking(case, fits, spread, tags, _few(oldest), ends)


def _few(oldest: Mapping[tuple[str, ...], int]) -> list[int]:
    """Leave out awards whose judge or country has so many older ones that one can stand in."""
    used: dict[tuple[int, str], int] = {}
    few = []
    for names, place in oldest.items():
        marks = list(enumerate(names))
        if all(used.get(mark, 0) < ENOUGH_OF_ONE for mark in marks):
            few.append(place)
            for mark in marks:
                used[mark] = used.get(mark, 0) + 1
    return few


def _short(
    spread: Sequence[tuple[str, str, AtLeast]], tags: Sequence[tuple[str, ...]]
) -> list[int]:
    """Return how many different ones are lacking, for each rule that asks for some."""
    return [
        max(0, rule.at_least - len({names[number] for names in tags} - {""}))
        for number, (_, _, rule) in enumerate(spread)
    ]


def _fill_up(fits: Sequence[int], group: set[int], size: int) -> list[int]:
    """Return the oldest other awards that bring a group up to its size."""
    return [place for place in fits if place not in group][: max(0, size - len(group))]


def _lacking(
    case: _Case,
    fits: Sequence[int],
    spread: Sequence[tuple[str, str, AtLeast]],
    tags: Mapping[int, tuple[str, ...]],
    few: Sequence[int],
    ends: Mapping[int, date],
) -> _Choice:
    """Choose awards that leave fewest to be won, then those that allow it soonest and easiest."""
    slots = case.route.awards[0]
    first = min(ends.values(), default=case.today)
    for number in range(max(1, slots.count - len(fits)), slots.count + 1):
        size = slots.count - number
        best: tuple[date, int, tuple[int, ...]] | None = None
        for group in combinations(few, min(size, len(few))):
            short = _short(spread, [tags[place] for place in group])
            if max(short, default=0) <= number:
                end = min((ends[place] for place in group), default=date.min)
                found = (max(end, case.today), sum(short), group)
                best = min(best, found) if best else found
                if best[0] <= max(first, case.today) and best[1] == 0:
                    break
        if best:
            group = best[2]
            short = _short(spread, [tags[place] for place in group])
            spans = [
                (what, rule, rule.at_least - lacks)
                for (what, _, rule), lacks in zip(spread, short, strict=True)
                if lacks
            ]
            chosen = {*group, *_fill_up(fits, set(group), size)}
            low = case.first_for(slots)
            last = min((ends[place] for place in group), default=date.min)
            last = last if case.route.interval else date.min
            return _Choice(chosen, [slots] * number, [low] * number, spans, last, bool(chosen))
    raise AssertionError("as many new awards as there are slots always do")


def _lack_slots(case: _Case, choice: _Choice, result: _Weighed) -> None:
    """Say which awards are lacking, from whom, where and from when."""
    windows = [
        case.slot_window(slots, first)
        for slots, first in zip(choice.free, choice.firsts, strict=True)
    ]
    lows = {low for low, _ in windows}
    low, high = max(lows), min(high for _, high in windows)
    total, last, interval = len(choice.free), choice.last, case.route.interval
    numbers: dict[str, int] = {}
    for slots in choice.free:
        numbers[slots.many] = numbers.get(slots.many, 0) + 1
    one = {slots.many: slots.one for slots in choice.free}
    begun = {item.what for item in result.have if item.have}
    says = " and ".join(
        _more(number, one[many], many, more=many in begun) for many, number in numbers.items()
    )
    judges_too = any(what == "judge" for what, _, _ in choice.spans)
    says += "".join(
        _span(what, total, rule.at_least, have, judges_too=judges_too)
        for what, rule, have in choice.spans
    )
    starts = max(case.today, low, last)
    if low > max(case.today, last if total == 1 else date.min):
        if total == 1:
            says += f", on or after {_day(low)}"
        else:
            several = "at least one on or after" if len(lows) > 1 else "none before"
            says += f", {several} {_day(low)}"
    if interval and not choice.begun:
        starts = case.interval_after(starts)
        says += f", the last at least {_length(interval)} after the first"
    elif last > max(case.today, low):
        says += f", {'' if total == 1 else 'the last '}on or after {_day(last)}"
    rules: list[Rule] = list(dict.fromkeys([*choice.free, *(rule for _, rule, _ in choice.spans)]))
    if interval and choice.begun and last > date.min:
        only = last > case.today and not choice.spans and total == 1
        rules = [interval, *rules] if only else [*rules, interval]
    for number, rule in enumerate(rules):
        result.lacks.append(_Lack(rule, "" if number else says, total, starts, high))


def _span(what: str, total: int, need: int, have: int, *, judges_too: bool) -> str:
    """Say from how many further judges or countries the lacking awards must come."""
    by = "in" if what == "country" else "from"
    one, many = ("judge", "judges") if what == "judge" else ("country", "countries")
    of_one = of_many = ""
    if what == "judge's country":
        by = "of" if judges_too else "from"
        of_one, of_many = ("", "") if judges_too else ("a judge of ", "judges of ")
    short = need - have
    if short == 1 and have:
        least = "at least one " if total > 1 else ""
        return f", {least}{by} {of_one}a {_ordinal(need)} {one}"
    least = "at least " if total > short else ""
    further = "further" if have else "different"
    return f", {by} {of_many}{least}{_word(short)} {further} {many}"


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


# --- points ------------------------------------------------------------------------------------


@dataclass
class _Credits:
    """What awards are worth, by show, and what they are credited with."""

    worth: dict[int, int] = field(default_factory=dict)
    shows: dict[tuple[date, str], list[int]] = field(default_factory=dict)
    credited: list[tuple[int, int]] = field(default_factory=list)
    aside: dict[str, list[int]] = field(default_factory=dict)


def _weigh_points(case: _Case, pool: Sequence[int], record: _Record, result: _Weighed) -> None:
    route, scheme, rule = case.route, case.scheme, case.route.points
    if rule is None or scheme is None:
        return
    since = rule.since or date.min
    after = case.since_title(rule.after_title)
    floor = route.wins.min_points if route.wins else 0
    most = rule.max_per_show or scheme.max_per_award
    key = (case.title.body, scheme.id, since, after, floor, most, tuple(pool))
    found = record.credits.get(key)
    if found is None:
        found = record.credits[key] = _Credits()
        _credit(case.awards, pool, scheme, since, after, floor, most, found)
    result.set_all_aside(found.aside)
    result.counts.update(place for place, _ in found.credited)
    _sum_up(case, found.credited, most, result)
    for minimum in route.minimum:
        _part(case, minimum, found.worth, found.shows, most, result)


def _credit(
    awards: Sequence[Award],
    pool: Sequence[int],
    scheme: Scheme,
    since: date,
    after: date,
    floor: int,
    most: int,
    found: _Credits,
) -> None:
    """Find what each award is worth, and credit it within what one show can give."""
    rows: dict[tuple[str, str], Sequence[Row]] = {}
    for place in pool:
        award = awards[place]
        if award.kind not in scheme.kinds:
            continue
        value: int | None = None
        if award.day < since:
            reason = f"won before {_day(since)}"
        elif award.day < after:
            reason = WAITS_FOR_TITLE
        else:
            value, reason = points_of(award, scheme, floor, rows)
        if value:
            found.worth[place] = value
            found.shows.setdefault((award.day, _same(award.show)), []).append(place)
        else:
            found.aside.setdefault(reason, []).append(place)
    for places in found.shows.values():
        left = most
        best = max(places, key=found.worth.__getitem__) if len(places) > 1 else places[0]
        for place in places:
            if scheme.per_show == "highest" and place != best:
                found.aside.setdefault(LOWER_AWARD, []).append(place)
            elif not left:
                reason = f"beyond the {most} points that one show can give"
                found.aside.setdefault(reason, []).append(place)
            else:
                points = min(found.worth[place], left)
                left -= points
                found.credited.append((place, points))


def points_of(
    award: Award,
    scheme: Scheme,
    major: int = 0,
    found: dict[tuple[str, str], Sequence[Row]] | None = None,
) -> tuple[int | None, str]:
    """Return the points of an award under `scheme`, or none and what would be needed to tell.

    `major` is the least that a win flagged as a major is worth where its points are missing;
    `found` keeps rows between calls.
    """
    if award.points is not None:
        value = max(0, min(award.points, scheme.max_per_award))
        return value, "" if value else "no points were won"
    if award.major and major:
        return major, ""
    rows: Sequence[Row] | None = found.get((award.kind, award.show_kind)) if found else None
    if rows is None:
        rows = [
            row
            for row in scheme.row
            if award.kind in row.kinds and (not row.show_kinds or award.show_kind in row.show_kinds)
        ]
        if found is not None:
            found[award.kind, award.show_kind] = rows
    if scheme.base is None and not rows:
        known = any(award.kind in row.kinds for row in scheme.row)
        return None, "no points for it at this kind of show" if known else "no points entered"
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
        enough = big[route.wins.at_least - 1].day if len(big) >= route.wins.at_least else None
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
    if minimum.disputed and not case.strict:
        return
    over = case.over(minimum.over_months, minimum.on_the_day, minimum.note)
    first = max(over, minimum.since or date.min)
    highest = case.scheme is not None and case.scheme.per_show == "highest"
    got = 0
    met: date | None = None
    for (day, _), places in by_show.items():
        if day < first:
            continue
        part = [worth[place] for place in places if _in_part(case.awards[place], minimum)]
        got += min(max(part, default=0) if highest else sum(part), most)
        if met is None and got >= minimum.points:
            met = day
    if minimum.disputed and (met is None or any(day and day < met for _, day in result.met)):
        case.leave_open(minimum.note)
    result.met.append((minimum, met))
    result.have.append(Have(f"points {minimum.says}", min(got, minimum.points), minimum.points))
    if met is None:
        short = minimum.points - got
        others = any(isinstance(lack.rule, Points) for lack in result.lacks)
        says = f"at least {short}" if others else f"{short} more {_points(short)}"
        says += f" {minimum.says}"
        if over > case.today:
            says += f" (from {_day(over)})"
        low, high = case.points_window()
        result.lacks.append(
            _Lack(minimum, says, -(-short // most), max(case.today, low, first), high)
        )


def _in_part(award: Award, minimum: Minimum) -> bool:
    return (not minimum.kinds or award.kind in minimum.kinds) and (
        not minimum.show_kinds or award.show_kind in minimum.show_kinds
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


def _verdict(result: _Weighed, equal: Sequence[_Weighed], title: BodyTitle, today: date) -> Verdict:
    """Put into words what a route came to; `equal` are those that lack as few awards."""
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
    ways = [[lack.says for lack in way.lacks if _of_slots(lack)] for way in equal]
    alike = all(
        [lack.says for lack in way.lacks if not _of_slots(lack)]
        == [lack.says for lack in result.lacks if not _of_slots(lack)]
        for way in equal
    )
    says = _sentence(result.lacks, ways if alike else [])
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

    These are the titles of `body` and of every body that gave an award, save those that are
    recorded already, that another kind of breed or section earns, that wait for another title, that
    can no longer be earned, or for which nothing is won and whose time is years ahead.
    """
    bodies = {award.body for award in awards} | ({body} if body else set())
    titles = [title for title in book.titles.values() if title.body in bodies]
    shown = [
        result
        for result in _in_turn(titles, _Record(dog, awards, today), only=_concerns)
        if not result.verdict.closed and (result.counts or not _is_far(result, today))
    ]
    sources: Data = {}
    packed = [_pack(result, awards, sources) for result in shown]
    caveats = {title.body: title.caveat for title in titles}
    return {"asof": today.isoformat(), "titles": packed, "sources": sources, "caveats": caveats}


def _is_far(result: Tally, today: date) -> bool:
    return result.soonest is not None and result.soonest > today + FAR_AHEAD


def _concerns(title: BodyTitle, dog: Dog) -> bool:
    wanted = title.title
    if title.id in dog.titles:
        return False
    if wanted.section and wanted.section != dog.section:
        return False
    if dog.trial is not None and wanted.trial not in (None, dog.trial):
        return False
    needs = [need.title for route in wanted.route for need in route.needs]
    return all(need in dog.titles for need in needs)


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
        if reason not in (OTHER_BODY, OTHER_KIND)
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


def _listed(parts: Sequence[str]) -> str:
    return f"{', '.join(parts[:-1])} and {parts[-1]}" if len(parts) > 1 else parts[0]


def _of_slots(lack: _Lack) -> bool:
    return bool(lack.says) and isinstance(lack.rule, Slots | Interval)


def _sentence(lacks: Sequence[_Lack], ways: Sequence[Sequence[str]]) -> str:
    """Say all that is lacking in one sentence: titles first, then awards, points and tests.

    `ways` are the awards lacking on each of several routes, one of which is enough.
    """
    before = [lack.says for lack in lacks if isinstance(lack.rule, NeedsTitle)]
    rest = [lack for lack in lacks if lack.says and not isinstance(lack.rule, NeedsTitle)]
    sums = [lack.says for lack in rest if isinstance(lack.rule, Points)]
    among = [lack.says for lack in rest if isinstance(lack.rule, AtLeast | Wins | Minimum)]
    if sums and sums[0].startswith("1 ") and len(among) == 1 and among[0].startswith("a point"):
        sums = [f"{sums[0]}, {among[0].removeprefix('a point ')}"]
    elif sums and among:
        sums = [f"{sums[0]}, among them {_listed(among)}"]
    parts = [lack.says for lack in rest if _of_slots(lack)]
    if len(ways) > 1 and all(ways):
        parts = [" or ".join(dict.fromkeys("; ".join(way) for way in ways))]
    parts += sums or ([_listed(among)] if among else [])
    parts += [lack.says for lack in rest if isinstance(lack.rule, NeedsTest)]
    text = "; ".join(parts)
    text = f"{_listed(before)}; then {text}" if before and text else text or _listed(before)
    return f"{text[:1].upper()}{text[1:]}."
