"""Shows, entries and tasks as events of a calendar, and the iCalendar file that holds them.

What is an event and what rings is decided here; the book says what there is (book/agenda.py). The
format is that of RFC 5545 (Internet Calendaring and Scheduling, September 2009); the library writes
it and believes whatever it is given, so every event here has the same few well-formed parts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ringside.domain.days import DAY, hour_and_minute

# Loaded when a calendar is first asked for: it is a twentieth of a server's memory at rest.
if TYPE_CHECKING:
    from icalendar import Alarm, Calendar, Event

OURS = "-//Ringside//Calendar//EN"
SUFFIX = "@ringside"
AGAIN = timedelta(hours=6)
# What must ring is a short event at a time of day: some calendars drop alarms of whole days (from
# memory).
SHORT = timedelta(minutes=15)
IN_RING = timedelta(minutes=30)
MORNING, EVENING = time(9), time(18)


@dataclass(frozen=True)
class Stand:
    """How often what an event tells was changed, and when last (UTC)."""

    changes: int
    last: datetime


@dataclass(frozen=True)
class Happening:
    """One event. Without `at` it takes whole days, `day` to `until`, and keeps nobody busy.

    `key` is its record's id and what of it this tells: equal keys are the same event for ever.
    `zone` is where its clock stands, None for a clock that stands wherever the reader is. `rings`
    are the times from its beginning (for whole days from midnight) at which it is told.
    """

    key: str
    title: str
    day: date
    stand: Stand
    until: date | None = None
    at: time | None = None
    lasts: timedelta = SHORT
    zone: ZoneInfo | None = None
    place: str = ""
    words: str = ""
    rings: tuple[timedelta, ...] = ()
    is_cancelled: bool = False


def zone_named(name: str | None) -> ZoneInfo | None:
    """Return the time zone of an IANA name, None for no name or one that there is not."""
    try:
        return ZoneInfo(name) if name else None
    except (KeyError, OSError, ValueError):  # a name that is none, or that is a path
        return None


def time_of(text: str | None) -> time | None:
    """Return the time of day that a text such as "9:45" or "2:30 pm" begins with, None for none."""
    hour, minute = hour_and_minute(text) or (24, 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def calendar_file(happenings: Iterable[Happening], name: str, now: datetime) -> bytes:
    """Return an iCalendar file called `name` of these happenings, as made at `now` (UTC)."""
    from icalendar import Calendar

    calendar = Calendar()
    for key, value in (("prodid", OURS), ("version", "2.0"), ("method", "PUBLISH")):
        calendar.add(key, value)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", AGAIN, parameters={"VALUE": "DURATION"})
    told = list(happenings)
    for happening in told:
        calendar.add_component(_event(happening, now))
    if told:
        years = [happening.day.year for happening in told]
        calendar.add_missing_timezones(
            first_date=date(min(years) - 1, 1, 1), last_date=date(max(years) + 2, 1, 1)
        )
        _say_onsets_apart(calendar)
    return bytes(calendar.to_ical())


def _say_onsets_apart(calendar: Calendar) -> None:
    """Give each change of a clock a line: some readers take of a list of dates the first alone."""
    for zone in calendar.timezones:
        for part in zone.subcomponents:
            for onset in part.pop("rdate").dts if "rdate" in part else ():
                part.add("rdate", [onset.dt])


def _event(told: Happening, now: datetime) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", told.key + SUFFIX)
    event.add("dtstamp", now)
    event.add("last-modified", told.stand.last.astimezone(UTC))
    event.add("sequence", told.stand.changes)
    event.add("summary", told.title)
    if told.at is None:
        event.add("dtstart", told.day)
        event.add("dtend", (told.until or told.day) + DAY)  # the day after, as the format has it
    else:
        begins = datetime.combine(told.day, told.at, told.zone)
        event.add("dtstart", begins)
        event.add("dtend", begins + told.lasts)
    event.add("transp", "TRANSPARENT" if told.at is None else "OPAQUE")
    for key, value in (("location", told.place), ("description", told.words)):
        if value:
            event.add(key, value)
    event.add("status", "CANCELLED" if told.is_cancelled else "CONFIRMED")
    for ring in () if told.is_cancelled else told.rings:
        event.add_component(_alarm(told.title, ring))
    return event


def _alarm(words: str, ring: timedelta) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", ring)
    alarm.add("description", words)
    return alarm
