"""One route to a title under one reading: the dates that its rules come to for this dog."""

from __future__ import annotations

from collections.abc import Set
from datetime import date, timedelta

import ringside.domain.titles.words as words
from ringside.domain.days import DAY, month_later
from ringside.domain.titles.record import Record
from ringside.knowledge.title_schema import OnTheDay, Route, Scheme, Slots
from ringside.knowledge.titles import BodyTitle

Window = tuple[date, date]  # first day inside, first day outside


class Case:
    """One route weighed under one reading: the dates that its rules come to for this dog."""

    def __init__(self, title: BodyTitle, route: Route, record: Record, *, strict: bool) -> None:
        self.title = title
        self.route = route
        self.born = record.dog.born
        self.held = record.held
        self.tests = record.dog.tests
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
        first = max(first, kind.since or date.min)
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
        if self.born is None:
            if (low or high) and words.AGES_NOT_CHECKED not in self.remarks:
                self.remarks.append(words.AGES_NOT_CHECKED)
            return date.min, date.max
        first, end = date.min, date.max
        if low:
            early, late = month_later(self.born, low)
            first = late if self.strict else early
            self._note_month_end(early, late)
        if high:
            early, late = month_later(self.born, high)
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
        if title is None or title not in self.held:
            return date.min if title is None else date.max
        held = self.held[title]
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
        early, late = month_later(day, rule.years * 12 + rule.months)
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
            self.leave_open(words.month_end_open(early, late))
