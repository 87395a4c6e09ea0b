"""Fill slots, each from another judge."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from ringside.domain.titles.case import Case
from ringside.domain.titles.choice import Choice
from ringside.domain.titles.weighed import Weighed
from ringside.domain.titles.words import same
from ringside.knowledge.title_schema import Rule


class _Matching:
    """Slots and the judges (or awards) that may fill them, each of which fills one only.

    Augmenting paths fill as many slots as any choice of awards could.
    """

    def __init__(self, units: Sequence[int]) -> None:
        self.units = units  # the kind of each slot
        self.may: dict[int, dict[object, int]] = {kind: {} for kind in units}  # key: oldest award
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


def one_a_show(case: Case, places: Sequence[int]) -> set[int]:
    """Return awards, oldest first, of which no two share a show or, where judges count, a judge.

    No other choice has more of them, nor had more on any day.
    """
    awards = case.awards
    shows: dict[tuple[date, str], int] = {}
    of_show = {
        place: shows.setdefault((awards[place].day, same(awards[place].show)), len(shows))
        for place in places
    }
    matching = _Matching(range(len(shows)))
    for place in places:
        key = same(awards[place].judge) if case.route.judges else place
        matching.offer([of_show[place]], key, place)
    return matching.used()


def fill_slots(
    case: Case,
    fits: Sequence[tuple[int, list[int]]],
    firsts: Sequence[date],
    result: Weighed,
) -> Choice:
    """Fill the slots, each from another judge where the route counts judges."""
    route = case.route
    matching = _Matching(
        [kind for kind, slots in enumerate(route.awards) for _ in range(slots.count)]
    )
    met: date | None = None
    for place, kinds in fits:
        award = case.awards[place]
        matching.offer(kinds, same(award.judge) if route.judges else place, place)
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
    return Choice(
        group=matching.used(),
        free=[route.awards[kind] for kind in free],
        firsts=[firsts[kind] for kind in free],
        spans=spans,
        begun=bool(matching.owner),
    )
