"""What of the book goes into a calendar: shows, the days entries close, ring times, tasks.

Nothing private goes there: no note, no result, no measure. What a handler wrote as a task of their
own is the owner's alone. How often a record was changed is counted in the log, so that a calendar
sees a greater number only where something changed.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, get_args

from ringside.book import season
from ringside.book.kinds.countdown import OWN, TASK
from ringside.book.store import Book
from ringside.domain.calendar import (
    EVENING,
    IN_RING,
    MORNING,
    Happening,
    Stand,
    time_of,
    zone_named,
)
from ringside.domain.countdown import Step, Touch, laid_out, own_step, step_of, tasks_for
from ringside.domain.days import end_of
from ringside.domain.traits import traits
from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Body

Values = dict[str, Any]
Counts = Mapping[tuple[str, str], tuple[int, int]]

# How long a show that is over stays, and how long what was removed is told as cancelled (days).
BEHIND, CANCELLED_FOR = 400, 60
AHEAD = 5 * 366
NOTHING: tuple[timedelta, ...] = ()
AT_ONCE = timedelta(0)
COUNTS = """
    SELECT record, field, COUNT(*), MAX(received) FROM change
    WHERE record IN ({listed}) AND kind IN ('show', 'entry', 'task') GROUP BY record, field
"""


@dataclass(frozen=True)
class Entered:
    """An entry with what it leads to: the values of entry, show and dog, and the day it goes in."""

    id: str
    entry: Values
    show: Values
    dog: Values
    day: date
    is_gone: bool

    @property
    def name(self) -> str:
        """What the dog is called."""
        return self.dog.get("name") or "The dog"


class Agenda:
    """The happenings of one book as they stand. Make and use it within a session of the book."""

    def __init__(
        self, book: Book, knowledge: Knowledge, now: datetime, with_own: bool, show: str = ""
    ) -> None:
        """Read what is needed of `book`, for one `show` by its id or else for all that are near.

        `with_own`: with tasks in the handlers' own words.
        """
        self.knowledge, self.now, self.with_own = knowledge, now, with_own
        self.shows = book.some("show", [show]) if show else self._near(book)
        entries = book.beside("entry", list(self.shows), with_deleted=True)
        dogs = {entry.get("dog") or "" for entry in entries.values()}
        tasks = book.about_any(TASK.name, list(entries), with_deleted=True)
        told = json.dumps([*self.shows, *entries, *tasks])
        self.dogs = book.some("dog", sorted(dogs))
        self.entries, self.tasks = _by("show", entries), _by("entry", tasks)
        self.counts: Counts = {
            (record, field): (count, last) for record, field, count, last in book.rows(COUNTS, told)
        }

    def _near(self, book: Book) -> Mapping[str, Values]:
        today = self.now.date()
        first, last = today - timedelta(BEHIND), today + timedelta(AHEAD)
        # By their ids: a calendar whose shows change places would be another file.
        return dict(sorted(season.between(book, first, last).items()))

    def of_all(self) -> list[Happening]:
        """Return the happenings of all shows that are not long over."""
        return [one for show in self.shows for one in self.of_show(show)]

    def of_show(self, show: str) -> list[Happening]:
        """Return the happenings of one show, none where it has no day that can be believed."""
        values = self.shows.get(show, {})
        day = _day(values.get("day"))
        if not day or not self._is_near(day):
            return []
        entered = [
            self._entered(key, entry, values, day) for key, entry in self.entries[show].items()
        ]
        told = [*self._show(show, values, day), *self._closing(show, values)]
        told += [one for entry in entered for one in self._entry(show, entry)]
        return [one for one in told if self._is_told(one)]

    def _is_near(self, day: date) -> bool:
        return -BEHIND <= (day - self.now.date()).days <= AHEAD

    def _is_told(self, one: Happening) -> bool:
        # What was removed is told for a time, so that a calendar that has it learns of it.
        return not one.is_cancelled or (self.now - one.stand.last).days < CANCELLED_FOR

    def _stand(self, *parts: tuple[str, Iterable[str]]) -> Stand:
        """Return how often these fields of these records were changed."""
        found = [
            self.counts[record, field]
            for record, fields in parts
            for field in ("deleted", *fields)
            if (record, field) in self.counts
        ]
        last = max((last for _, last in found), default=0)
        return Stand(sum(count for count, _ in found), datetime.fromtimestamp(last // 1000, UTC))

    # --- the show

    def _show(self, key: str, show: Values, day: date) -> Iterator[Happening]:
        until = _day(show.get("until"))
        yield Happening(
            f"{key}.show",
            _show_name(show),
            day,
            self._stand((key, ("name", "day", "until", "place"))),
            until=end_of(day, until),
            place=show.get("place") or "",
            is_cancelled=bool(show.get("deleted")),
        )

    def _closing(self, key: str, show: Values) -> Iterator[Happening]:
        day, zone = _day(show.get("closing")), zone_named(show.get("zone"))
        if day and self._is_near(day):
            # Without a zone nobody knows when nine o'clock is: the whole day is told then.
            yield Happening(
                f"{key}.closing",
                f"Entries close: {_show_name(show)}",
                day,
                self._stand((key, ("name", "closing", "zone"))),
                at=MORNING if zone else None,
                zone=zone,
                rings=(timedelta(days=-1), AT_ONCE) if zone else (timedelta(hours=9),),
                is_cancelled=bool(show.get("deleted")),
            )

    # --- its entries

    def _entered(self, key: str, entry: Values, show: Values, day: date) -> Entered:
        dog = self.dogs.get(entry.get("dog") or "", {})
        own = _day(entry.get("day"))
        is_gone = any(one.get("deleted") for one in (entry, show, dog))
        return Entered(key, entry, show, dog, own if own and self._is_near(own) else day, is_gone)

    def _entry(self, show: str, entered: Entered) -> Iterator[Happening]:
        yield from self._ring_time(show, entered)
        yield from self._tasks(show, entered)

    def _ring_time(self, show: str, entered: Entered) -> Iterator[Happening]:
        at, zone = time_of(entered.entry.get("time")), zone_named(entered.show.get("zone"))
        if not at and (entered.id, "time") not in self.counts:
            return
        ring, armband = entered.entry.get("ring"), entered.entry.get("armband")
        place = [f"Ring {ring}" if ring else "", entered.show.get("place")]
        yield Happening(
            f"{entered.id}.ring",
            f"{entered.name} in the ring",
            entered.day,
            self._stand(
                (show, ("day", "place", "zone", "name")),
                (entered.id, ("day", "time", "ring", "armband")),
            ),
            at=at,
            lasts=IN_RING,
            zone=zone,
            place=", ".join(part for part in place if part),
            words=". ".join(
                part
                for part in (_show_name(entered.show), f"Armband {armband}" if armband else "")
                if part
            ),
            # A clock that stands wherever the reader is would ring at the wrong hour.
            rings=(timedelta(hours=-1), timedelta(minutes=-15)) if zone else NOTHING,
            is_cancelled=entered.is_gone or not at,
        )

    def _tasks(self, show: str, entered: Entered) -> Iterator[Happening]:
        breed = self.knowledge.breeds.profiles.get(entered.dog.get("breed") or "")
        coat: Any = traits(breed, entered.dog.get("variety") or "")["coat"]
        body: Any = entered.show.get("body")
        known = tasks_for(
            self.knowledge,
            coat,
            entered.dog.get("breed") or "",
            body if body in get_args(Body) else None,
        )
        kept = self.tasks[entered.id]
        own = {key: one for key, one in kept.items() if one.get("task") == OWN and self.with_own}
        names = {task.id: task.name for task in known}
        names |= {key: one.get("line") or "A task of your own" for key, one in own.items()}
        words = {task.id: task.says for task in known}
        rings = {task.id for task in known if task.leads == "gate"}
        records = {str(one.get("task")): key for key, one in kept.items() if key not in own}
        steps = _steps(map(step_of, known), own, entered.day)
        for due in laid_out(steps, _touched(kept), entered.day):
            if not self._is_near(due.day):
                continue
            touch = records.get(due.key, "")
            stand = self._stand(
                (show, ("day",)),
                (entered.id, ("day",)),
                (touch, ("state", "day")),
                (due.step, ("line", "day", "every")),
            )
            title = f"{names[due.step]}: {entered.name}"
            is_gone = entered.is_gone or bool(own.get(due.step, {}).get("deleted"))
            zone = zone_named(entered.show.get("zone")) if due.step in rings else None
            alarms = (AT_ONCE,) if zone else (timedelta(hours=9),)
            yield Happening(
                f"{entered.id}.{due.key}",
                f"Done: {title}" if due.state == "done" else title,
                due.day,
                stand,
                at=EVENING if zone else None,
                zone=zone,
                words=words.get(due.step, ""),
                rings=alarms if due.state == "open" else NOTHING,
                is_cancelled=is_gone or due.state == "skipped",
            )


def _by(field: str, records: Mapping[str, Values]) -> Mapping[str, dict[str, Values]]:
    """Return the records {id: values} by what this field of theirs leads to."""
    found: dict[str, dict[str, Values]] = defaultdict(dict)
    for key, values in records.items():
        found[values.get(field) or ""][key] = values
    return found


def _steps(known: Iterable[Step], own: Mapping[str, Values], show: date) -> list[Step]:
    written = [
        own_step(key, _day(one.get("day")), one.get("every"), show) for key, one in own.items()
    ]
    return [*known, *written]


def _touched(kept: Mapping[str, Values]) -> dict[str, Touch]:
    return {
        str(one.get("task")): Touch(one.get("state") or "open", _day(one.get("day")))
        for one in kept.values()
        if one.get("task") != OWN
    }


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _show_name(show: Values) -> str:
    return (show.get("name") or "").strip() or "A show without a name"
