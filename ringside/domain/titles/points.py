"""Points: when they were enough, and what is lacking."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import ringside.domain.titles.words as words
from ringside.domain.dog import Award
from ringside.domain.titles.case import Case
from ringside.domain.titles.record import Record
from ringside.domain.titles.shapes import Have
from ringside.domain.titles.weighed import Lack, Weighed
from ringside.domain.titles.worth import credit
from ringside.knowledge.title_schema import AtLeast, Minimum, Points, Rule, Wins


def weigh_points(case: Case, pool: Sequence[int], record: Record, result: Weighed) -> None:
    """See what the awards of `pool` add up to, and say what is lacking."""
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
        found = credit(case.awards, pool, scheme, since=since, after=after, floor=floor, most=most)
        record.credits[key] = found
    result.set_all_aside(found.aside)
    result.counts.update(place for place, _ in found.credited)
    won = [(case.awards[place], points) for place, points in found.credited]
    total, place = _Sum(case, won, most, result), len(result.lacks)
    short = total.points(rule)
    if route.wins:
        total.wins(route.wins)
    if route.judges and not route.awards:
        total.judges(route.judges)
    if route.champions:
        total.champions(route.champions)
    for minimum in route.minimum:
        _part(case, minimum, won, most, result)
    if short:
        result.lacks.insert(place, total.lacking(rule, short, result.lacks[place:]))


@dataclass
class _Sum:
    """What credited awards add up to, rule by rule; each is met on a day, or lacking."""

    case: Case
    won: list[tuple[Award, int]]  # with the points credited, in the order of their days
    most: int  # points that one show can give
    result: Weighed

    def points(self, rule: Points) -> int:
        """See when the points were enough; return how many are lacking."""
        total, met = 0, None
        for award, points in self.won:
            total += points
            if met is None and total >= rule.at_least:
                met = award.day
        self._note(rule, "points", total, rule.at_least, met)
        return max(0, rule.at_least - total)

    def lacking(self, rule: Points, short: int, parts: Sequence[Lack]) -> Lack:
        """Return the lack of `short` points; the sum goes unsaid where `parts` ask for more."""
        first, high = self.case.points_window()
        wait = first if first > self.case.today else None
        least = _least_points(parts)
        says = words.points_lacking(short, wait, more=bool(self.won)) if least <= short else ""
        awards = -(-max(short, least) // self.most)
        return Lack(rule, says, awards, max(self.case.today, first), high)

    def wins(self, rule: Wins) -> None:
        """See when there were enough wins of enough points, from enough judges."""
        big = [award for award, points in self.won if _is_win(award, points, rule)]
        enough = big[rule.at_least - 1].day if len(big) >= rule.at_least else None
        judged = ((award.day, words.same(award.judge)) for award in big)
        judges, spread = _reach(judged, rule.judges or 0)
        met = max(enough, spread) if enough and spread else None
        met = met if rule.judges else enough
        if self._note(rule, rule.many, len(big), rule.at_least, met):
            further = max(0, (rule.judges or 0) - judges)
            short = max(rule.at_least - len(big), further)
            says = words.wins_lacking(rule, len(big), judges, short, further)
            self._lack(rule, says, short, rule.min_points)

    def judges(self, rule: AtLeast) -> None:
        """See when enough judges had given points."""
        need = rule.at_least
        have, met = _reach(((award.day, words.same(award.judge)) for award, _ in self.won), need)
        if self._note(rule, "judges", have, need, met):
            self._lack(rule, words.judges_lacking(have, need), need - have)

    def champions(self, rule: AtLeast) -> None:
        """See when champions had been beaten at enough shows."""
        need = rule.at_least
        beaten = (award for award, _ in self.won if award.champions)
        shows = ((award.day, (award.day, words.same(award.show))) for award in beaten)
        have, met = _reach(shows, need)
        if self._note(rule, "shows with a champion beaten", have, need, met):
            self._lack(rule, words.champions_lacking(have, need), need - have)

    def _note(self, rule: Rule, what: str, have: int, need: int, met: date | None) -> bool:
        """Note how far a rule is met; return whether it is lacking."""
        self.result.met.append((rule, met))
        self.result.have.append(Have(what, min(have, need), need))
        return met is None

    def _lack(self, rule: Rule, says: str, awards: int, each: int = 1) -> None:
        low, high = self.case.points_window()
        first = max(self.case.today, low)
        self.result.lacks.append(Lack(rule, says, awards, first, high, points=awards * each))


def _is_win(award: Award, points: int, rule: Wins) -> bool:
    return points >= rule.min_points if award.major is None else award.major


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


def _part(
    case: Case,
    minimum: Minimum,
    won: Sequence[tuple[Award, int]],
    most: int,
    result: Weighed,
) -> None:
    """Check a part of the points that must come from certain wins, as they were credited."""
    if minimum.disputed and not case.strict:
        return
    over = case.over(minimum.over_months, minimum.on_the_day, minimum.note)
    first = max(over, minimum.since or date.min)
    got = 0
    met: date | None = None
    for award, points in won:
        if award.day >= first and _in_part(award, minimum):
            got += points
            if met is None and got >= minimum.points:
                met = award.day
    if minimum.disputed and (met is None or any(day and day < met for _, day in result.met)):
        case.leave_open(minimum.note)
    result.met.append((minimum, met))
    result.have.append(Have(f"points {minimum.says}", min(got, minimum.points), minimum.points))
    if met is None:
        short = minimum.points - got
        wait = over if over > case.today else None
        says, among = (
            words.part_lacking(short, minimum.says, wait, among=among) for among in (False, True)
        )
        low, high = case.points_window()
        awards, start = -(-short // most), max(case.today, low, first)
        result.lacks.append(Lack(minimum, says, awards, start, high, points=short, among=among))


def _least_points(parts: Sequence[Lack]) -> int:
    """Return how few points can meet all `parts` of a sum.

    A major can come from a judge, and beat a champion, that is asked for too; points won in two
    kinds of competition cannot be the same.
    """
    wins = [lack for lack in parts if isinstance(lack.rule, Wins)]
    awards = max(
        (lack.awards for lack in parts if isinstance(lack.rule, AtLeast | Wins)), default=0
    )
    one_by_one = awards + sum(lack.points - lack.awards for lack in wins)
    separate: list[Lack] = []
    for lack in sorted(parts, key=lambda lack: -lack.points):
        if isinstance(lack.rule, Minimum) and all(_apart(lack.rule, one.rule) for one in separate):
            separate.append(lack)
    return max(one_by_one, sum(lack.points for lack in separate))


def _apart(one: Rule, other: Rule) -> bool:
    """Tell whether no award can be in both of two parts."""
    if not isinstance(one, Minimum) or not isinstance(other, Minimum):
        return False
    kinds, shows = (one.kinds, other.kinds), (one.show_kinds, other.show_kinds)
    return any(all(pair) and not set(pair[0]) & set(pair[1]) for pair in (kinds, shows))


def _in_part(award: Award, minimum: Minimum) -> bool:
    return (not minimum.kinds or award.kind in minimum.kinds) and (
        not minimum.show_kinds or award.level in minimum.show_kinds
    )
