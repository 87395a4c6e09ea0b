"""Choose awards such that judges, countries and the time between are as the rules ask."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import combinations

from ringside.domain.titles.case import Case
from ringside.domain.titles.choice import Choice, spread_of
from ringside.domain.titles.weighed import Weighed
from ringside.domain.titles.words import SERIES_OPEN, same
from ringside.knowledge.title_schema import AtLeast, Rule

ENOUGH_OF_ONE = 4  # as many as any route has slots


def choose(case: Case, fits: Sequence[int], result: Weighed) -> Choice:
    """Choose awards for the slots: one group that has all that is asked for.

    Where the dog has more of them, the texts do not say that one group must have everything. Read
    for the dog, judges, countries and the time between are counted among all of them.
    """
    one_group = Weighed(case)
    strict, loose = _one_group(case, fits, one_group), _among_all(case, fits)
    days = [day for _, day in one_group.met]
    met = _all_met(case, fits) if not loose.free else None
    if len(loose.free) < len(strict.free) or (met and met < max(day or date.max for day in days)):
        case.leave_open(SERIES_OPEN)
        if not case.strict:
            result.met += [(rule, met) for rule, _ in one_group.met]
            return loose
    result.met += one_group.met
    return strict


def _all_met(case: Case, fits: Sequence[int]) -> date:
    """Return the first day on which all awards together lacked nothing."""
    number = next(n for n in range(1, len(fits) + 1) if not _among_all(case, fits[:n]).free)
    return case.awards[fits[number - 1]].day


def _among_all(case: Case, fits: Sequence[int]) -> Choice:
    """See what all the awards together still lack."""
    slots, interval, awards = case.route.awards[0], case.route.interval, case.awards
    spans = []
    for what, of, rule in spread_of(case.route):
        have = len({same(getattr(awards[place], of)) for place in fits} - {""})
        if have < rule.at_least:
            spans.append((what, rule, have))
    number = max(0, slots.count - len(fits), *(rule.at_least - have for _, rule, have in spans))
    last = date.min
    if interval and fits:
        end = case.interval_after(awards[fits[0]].day)
        if awards[fits[-1]].day < end:
            number, last = max(1, number), end
    first = case.first_for(slots)
    return Choice(set(fits), [slots] * number, [first] * number, spans, last, bool(fits))


def _one_group(case: Case, fits: Sequence[int], result: Weighed) -> Choice:
    """Choose one group such that judges, countries and the time between are as the rules ask.

    Awards of one judge in one country differ in their date only, and the oldest is the best
    first; so few groups need to be looked at.
    """
    route, awards = case.route, case.awards
    slots, interval, spread = route.awards[0], route.interval, spread_of(route)
    rules: list[Rule] = [slots, *(rule for _, _, rule in spread)]
    tags = {place: tuple(same(getattr(awards[place], of)) for _, of, _ in spread) for place in fits}
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
                return Choice(group, [], [], [])
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
    case: Case,
    fits: Sequence[int],
    spread: Sequence[tuple[str, str, AtLeast]],
    tags: Mapping[int, tuple[str, ...]],
    few: Sequence[int],
    ends: Mapping[int, date],
) -> Choice:
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
            return Choice(chosen, [slots] * number, [low] * number, spans, last, bool(chosen))
    raise AssertionError("as many new awards as there are slots always do")
