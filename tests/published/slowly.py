"""Whether awards earn a title, by trying every choice: slow, and apart from the program.

Read from the wording of the rules alone: one group of awards for the slots has everything that is
asked of it, and points are added show by show. Points are always entered here.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import combinations

from dateutil.relativedelta import relativedelta

from ringside.domain.dog import Award, Dog
from ringside.knowledge.title_schema import Interval, Minimum, Route, Row, Scheme, Slots
from ringside.knowledge.titles import BodyTitle


def is_earned(title: BodyTitle, dog: Dog, awards: Sequence[Award]) -> bool:
    """Is every rule of some route met?"""
    return any(_route(title, route, dog, awards) for route in title.title.route)


def _route(title: BodyTitle, route: Route, dog: Dog, awards: Sequence[Award]) -> bool:
    held, tests = dog.titles or {}, dog.tests
    if any(need.title not in held for need in route.needs):
        return False
    if route.test and route.test.test not in tests:
        return False
    inside = [award for award in awards if _at_age(title, route, dog, award)]
    return _slots(route, dog, inside) and _points(title, route, dog, inside)


def _at_age(title: BodyTitle, route: Route, dog: Dog, award: Award) -> bool:
    kind = title.kinds.get(award.kind)
    ended = title.title.valid_to
    if kind is None or dog.born is None or (ended and award.day > ended):
        return False
    bounds = [kind, *([route.age] if route.age else [])]
    return all(
        award.day >= _at(dog.born, bound.from_months or 0)
        and (not bound.before_months or award.day < _at(dog.born, bound.before_months))
        for bound in bounds
    )


@functools.cache
def _at(born: date, months: int) -> date:
    """Return the day on which a dog is so many months old."""
    return born + relativedelta(months=months)


def _fits(slots: Slots, dog: Dog, award: Award) -> bool:
    born = dog.born or date.min
    return (
        award.kind in slots.kinds
        and (not slots.show_kinds or award.level in slots.show_kinds)
        and award.day >= (slots.since or date.min)
        and (not slots.over_months or award.day > _at(born, slots.over_months))
        and _follows(slots.after_title, dog, award)
    )


def _follows(title: str | None, dog: Dog, award: Award) -> bool:
    if title is None:
        return True
    day = (dog.titles or {}).get(title, date.max)
    return day is None or award.day > day


def _slots(route: Route, dog: Dog, awards: Sequence[Award]) -> bool:
    if not route.awards:
        return True
    slots, others = route.awards[0], (route.countries, route.judge_countries, route.interval)
    if route.judges and len(route.awards) == 1 and not any((*others, route.shows)):
        # Too many groups to try: each from another judge, so as many judges as slots.
        return len({a.judge for a in awards if _fits(slots, dog, a)} - {""}) >= slots.count
    # What is not among all of them is in no group.
    return _spread(route, awards) and any(
        _group_does(route, group) for group in _groups(route, dog, awards)
    )


def _groups(route: Route, dog: Dog, awards: Sequence[Award]) -> Iterator[tuple[Award, ...]]:
    """Yield every way to fill all slots, each award in one of them."""

    def fill(slots: Sequence[Slots], left: list[Award]) -> Iterator[tuple[Award, ...]]:
        fits = [award for award in left if _fits(slots[0], dog, award)]
        if len(slots) == 1:
            yield from combinations(fits, slots[0].count)
            return
        for chosen in combinations(fits, slots[0].count):
            for more in fill(slots[1:], [award for award in left if award not in chosen]):
                yield chosen + more

    yield from fill(route.awards, list(awards))


def _group_does(route: Route, group: Sequence[Award]) -> bool:
    if route.judges and not all(award.judge for award in group):
        return False
    apart = not route.shows or len({(award.day, award.show) for award in group}) == len(group)
    return apart and _spread(route, group)


def _spread(route: Route, awards: Sequence[Award]) -> bool:
    """Do they come from as many judges and countries, and days as far apart, as is asked?"""
    asked = {
        "judge": route.judges,
        "country": route.countries,
        "judge_country": route.judge_countries,
    }
    return all(
        rule is None or len({getattr(award, of) for award in awards} - {""}) >= rule.at_least
        for of, rule in asked.items()
    ) and (route.interval is None or _spans(route.interval, [award.day for award in awards]))


def _spans(apart: Interval, days: Sequence[date]) -> bool:
    least = relativedelta(years=apart.years, months=apart.months, days=apart.days)
    return bool(days) and max(days) >= min(days) + least


def won(
    title: BodyTitle, route: Route, dog: Dog, awards: Sequence[Award]
) -> list[tuple[Award, int]]:
    """Return the awards that bring points, and how many each is credited with."""
    rule = route.points
    if rule is None:
        return []
    scheme = title.schemes[rule.scheme]
    most = rule.max_per_show or scheme.max_per_award
    shows: dict[tuple[date, str], list[Award]] = {}
    for award in sorted(awards, key=lambda award: award.day):
        after = _follows(rule.after_title, dog, award) and award.day >= (rule.since or date.min)
        if award.kind in scheme.kinds and after and award.points:
            shows.setdefault((award.day, award.show), []).append(award)
    found = []
    for of_show in shows.values():
        left = most
        for award in _counted(scheme, of_show):
            bound = min(left, _bound(scheme, award, most))
            points = min(_worth(scheme, award), bound)
            left = bound - points
            if points:
                found.append((award, points))
    return found


def _worth(scheme: Scheme, award: Award) -> int:
    return min(award.points or 0, scheme.max_per_award)


def _counted(scheme: Scheme, of_show: list[Award]) -> list[Award]:
    """Return the awards of one show that count beside each other, the best of those that do not."""
    if len(of_show) == 1:
        return of_show
    kept = of_show
    for kinds in scheme.one_of or ((scheme.kinds,) if scheme.per_show == "highest" else ()):
        among = [award for award in kept if award.kind in kinds]
        best = max(among, key=lambda award: _worth(scheme, award), default=None)
        kept = [award for award in kept if award is best or award not in among]
    beside = [award for award in kept if not (row := _row(scheme, award)) or not row.alone]
    return beside or kept[:1]


def _bound(scheme: Scheme, award: Award, most: int) -> int:
    row = _row(scheme, award)
    return (row.most if row else None) or most


def _row(scheme: Scheme, award: Award) -> Row | None:
    fits = (
        row
        for row in scheme.row
        if award.kind in row.kinds and (not row.show_kinds or award.level in row.show_kinds)
    )
    return next(fits, None)


def _points(title: BodyTitle, route: Route, dog: Dog, awards: Sequence[Award]) -> bool:
    if route.points is None:
        return True
    credited = won(title, route, dog, awards)
    if sum(points for _, points in credited) < route.points.at_least:
        return False
    if route.wins:
        big = [award for award, points in credited if points >= route.wins.min_points]
        if len(big) < route.wins.at_least:
            return False
        if len({award.judge for award in big} - {""}) < (route.wins.judges or 0):
            return False
    judges = {award.judge for award, _ in credited} - {""}
    if route.judges and not route.awards and len(judges) < route.judges.at_least:
        return False
    beaten = {(award.day, award.show) for award, _ in credited if award.champions}
    if route.champions and len(beaten) < route.champions.at_least:
        return False
    return all(
        sum(points for award, points in credited if _in_part(part, dog, award)) >= part.points
        for part in route.minimum
    )


def _in_part(part: Minimum, dog: Dog, award: Award) -> bool:
    born = dog.born or date.min
    return (
        (not part.kinds or award.kind in part.kinds)
        and (not part.show_kinds or award.level in part.show_kinds)
        and award.day >= (part.since or date.min)
        and (not part.over_months or award.day > _at(born, part.over_months))
    )
