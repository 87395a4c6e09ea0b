"""What is missing is the least that would do: held to every set of further awards.

For random records and every title no set of fewer awards or fewer points earns it, and one of as
many as are named does, on the day that is named. What earns a title is told by `slowly`.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations_with_replacement
from math import comb

import pytest

from ringside.domain.dog import Award, Dog, kind_of_level
from ringside.domain.titles import Tally, tally
from ringside.knowledge.titles import BodyTitle
from tests.known import shipped
from tests.published.slowly import is_earned, won

BOOK = shipped().titles
TODAY = date(2024, 9, 15)
DAY = timedelta(days=1)
NUMBERS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
RECORDS = 16  # of each title
AT_A_TIME = 8  # further awards at most that are tried together
SETS = 500  # tried of each record at most


def dog_for(title: BodyTitle) -> Dog:
    """A dog that can win what the title asks for, and holds what must come first."""
    held: dict[str, date | None] = {
        need.title: None for route in title.title.route for need in route.needs
    }
    for route in title.title.route:
        after = [slots.after_title for slots in route.awards]
        after += [route.points.after_title] if route.points else []
        held |= {name: None for name in after if name}
    born = date(2023, 9, 10)
    if title.id == "kc-ja":
        born = date(2025, 1, 10)
    elif "-v" in title.id:
        born = date(2015, 2, 10)
    elif title.id == "akc-poa":
        born = date(2024, 4, 10)
    elif title.id not in ("fci-cib-j", "fci-cib-j-a2o", "kc-jw"):
        born = date(2021, 2, 10)
    tests: dict[str, date | None] = {"working-trial": None, "performance-title": None}
    return Dog(born=born, titles=held, tests=tests)


def kinds_of(title: BodyTitle) -> list[tuple[str, str]]:
    """The awards that the title counts, with a kind of show: one of all that serve alike."""
    kinds: set[str] = set()
    levels = {""}
    for route in title.title.route:
        kinds |= {kind for slots in route.awards for kind in slots.kinds}
        levels |= {level for slots in route.awards for level in slots.show_kinds}
        if route.points:
            kinds |= set(title.schemes[route.points.scheme].kinds)
        levels |= {level for part in route.minimum for level in part.show_kinds}
    alike: dict[object, tuple[str, str]] = {}
    for kind in sorted(kinds):
        for level in sorted(levels):
            alike.setdefault(_use(title, kind, level), (kind, level))
    return list(alike.values())


def _use(title: BodyTitle, kind: str, level: str) -> object:
    """What an award of this kind can be used for."""
    age = title.kinds[kind].from_months, title.kinds[kind].before_months
    uses = [
        kind in rule.kinds and (not rule.show_kinds or level in rule.show_kinds)
        if rule.kinds
        else level in rule.show_kinds
        for route in title.title.route
        for rule in (*route.awards, *route.minimum)
    ]
    brings = [
        kind in title.schemes[route.points.scheme].kinds
        for route in title.title.route
        if route.points
    ]
    return age, tuple(uses), tuple(brings)


def points_of(title: BodyTitle) -> int:
    """The most points that one award can bring."""
    return max(
        (
            min(points.max_per_show or 99, title.schemes[points.scheme].max_per_award)
            for route in title.title.route
            if (points := route.points)
        ),
        default=0,
    )


def made(title: BodyTitle, day: date, what: tuple[str, str], **more: object) -> Award:
    show_kind, ccs = kind_of_level(what[1])
    return Award(day, what[0], title.body, show_kind=show_kind, ccs=ccs, **more)  # type: ignore[arg-type]


def records(title: BodyTitle, dog: Dog) -> Iterator[list[Award]]:
    """Records near the title: whole series with awards left out, judges and places repeated."""
    chance = random.Random(title.id)
    kinds, most = kinds_of(title), points_of(title)
    goal = max((r.points.at_least for r in title.title.route if r.points), default=0)
    today = today_for(title)
    first = today - timedelta(days=60 if title.id == "akc-poa" else 420)
    slots = max(sum(s.count for s in route.awards) for route in title.title.route)
    for number in range(RECORDS if goal <= 100 else 5):
        size = chance.randint(0, slots + 2) if slots else 0
        if goal:
            usual = (max(1, most - 3) + most) / 2
            size = max(size, round(goal / usual) + chance.randint(-3, 3))
        awards = []
        for place in range(max(0, size)):
            day = first + DAY * chance.randrange((today - first).days)
            awards.append(
                made(
                    title,
                    day,
                    chance.choice(kinds),
                    judge=chance.choice("ABCD" if number % 2 else "ABCDEFGHIJKL"),
                    country=chance.choice(("AT", "DE", "CZ", "PL")[: 2 + number % 3]),
                    judge_country=chance.choice(("AT", "DE", "CZ", "PL")[: 2 + number % 3]),
                    show=str(place),
                    points=chance.randint(max(1, most - 3), most) if most else None,
                    champions=chance.choice((0, 0, 1)),
                )
            )
        if awards and number % 4 == 0:  # two awards of one show
            awards.append(
                replace(awards[0], kind=chance.choice(kinds)[0], judge=chance.choice("XY"))
            )
        yield awards


def more_awards(
    title: BodyTitle, record: Sequence[Award], days: Sequence[date], points: Sequence[int]
) -> list[Award]:
    """Every further award that could be won on one of `days`, such as differ in what is asked."""
    routes = title.title.route
    judges = (
        sorted({award.judge for award in record})[:3]
        if any(r.judges or r.wins for r in routes)
        else []
    )
    judges.append("new")
    countries, judge_countries = ["new"], ["new"]
    if any(route.countries for route in routes):
        countries += sorted({award.country for award in record})
    if any(route.judge_countries for route in routes):
        judge_countries += sorted({award.judge_country for award in record})
    champions = (0, 1) if any(route.champions for route in routes) else (0,)
    return [
        made(
            title,
            day,
            what,
            judge=judge,
            country=country,
            judge_country=of_judge,
            points=value,
            champions=beaten,
        )
        for day in days
        for what in kinds_of(title)
        for judge in judges
        for country in countries
        for of_judge in judge_countries
        for value in (points or [None])
        for beaten in champions
    ]


def at_a_show_of_its_own(award: Award, number: int) -> Award:
    """The same at the show of this number; whatever is new is new there."""
    names = ("judge", "country", "judge_country")
    new = {name: f"{number}{number}" for name in names if getattr(award, name) == "new"}
    return replace(award, show=f"further {number}", **new)


def named(result: Tally) -> tuple[int, int]:
    """Read from the sentence how many certificates and how many points are missing."""
    certificates = points = 0
    for part in result.missing.rstrip(".").split("; "):
        words = part.split(" or ")[0] if len(result.title.title.route) > 1 else part
        if found := re.match(r"(\d+) (?:more )?points?\b", words):
            points = int(found[1])
            continue
        if words.lower().startswith(("a point", "points from", "at least", "a champion")):
            continue
        if re.search(r"points or more at one show", words):
            continue
        lead = words.split(",")[0].lower()
        certificates += sum(
            NUMBERS.index(number)
            for number in re.findall(rf"(?:^| and )({'|'.join(NUMBERS)})\b", lead)
        )
    return certificates, points


def certificates_of(title: BodyTitle, awards: list[Award]) -> int:
    """How many of the awards are certificates that the title asks for."""
    kinds = {k for route in title.title.route for s in route.awards for k in s.kinds}
    return sum(award.kind in kinds for award in awards)


def points_won(title: BodyTitle, dog: Dog, awards: list[Award]) -> int:
    """How many points the awards bring on the cheapest route."""
    return sum(points for _, points in won(title, title.title.route[0], dog, awards))


def today_for(title: BodyTitle) -> date:
    """A day on which the title is given already."""
    return date(2026, 3, 15) if title.id == "kc-ja" else TODAY


def sets_of(pool: Sequence[Award], chance: random.Random) -> Iterator[list[Award]]:
    """Yield sets of further awards: all of those that are few, and some where they are too many."""
    # What each is as the first of a set, as the second and so on.
    apart = [[at_a_show_of_its_own(award, number) for award in pool] for number in range(AT_A_TIME)]
    places = range(len(pool))

    def won_at(chosen: Sequence[int]) -> list[Award]:
        return [apart[number][place] for number, place in enumerate(chosen)]

    for size in range(1, AT_A_TIME + 1):
        if comb(len(pool) + size - 1, size) > SETS:
            break
        yield from map(won_at, combinations_with_replacement(places, size))
    for _ in range(SETS):
        one, other = chance.choices(places, k=2)
        often = chance.randint(1, AT_A_TIME)
        yield won_at([one] * often + [other] * chance.randint(0, AT_A_TIME - often))


@pytest.mark.parametrize(
    "title", [title for title in BOOK.titles.values() if title.title.route], ids=lambda one: one.id
)
def test_what_is_missing_is_the_least_that_would_do(title: BodyTitle) -> None:
    chance = random.Random(title.id)
    dog, today = dog_for(title), today_for(title)
    tried = met = 0
    most = points_of(title)
    for record in records(title, dog):
        result = tally(title, replace(dog, awards=tuple(record)), today)
        assert (result.earned is not None) == is_earned(title, dog, record), record
        if result.earned or result.verdict.closed or result.soonest is None:
            continue
        tried += 1
        certificates, points = named(result)
        values = {1, 2, 3, most, points % most} - {0} if most else ()
        before = points_won(title, dog, record)
        pool = more_awards(title, record, sorted({today, result.soonest}), sorted(values))
        enough = [
            (
                certificates_of(title, more),
                points_won(title, dog, [*record, *more]) - before,
                max(award.day for award in more),
            )
            for more in sets_of(pool, chance)
            if is_earned(title, dog, [*record, *more])
        ]
        told = (result.missing, record)
        assert all(some >= certificates and value >= points for some, value, _ in enough), told
        least = [
            day
            for some, value, day in enough
            if some <= (certificates or some) and value <= (points or value)
        ]
        assert min(least, default=result.soonest) >= result.soonest, told
        met += result.soonest in least
    goal = max((route.points.at_least for route in title.title.route if route.points), default=0)
    # Few dogs are near so many points, and titles that only ask for others are named, not counted.
    if goal <= 120 and any(route.points or route.awards for route in title.title.route):
        assert title.title.valid_to or min(tried, met) >= 3
