"""Days and moments as the desk says them, by the clock of the computer that keeps the book."""

from __future__ import annotations

from datetime import UTC, date, datetime

from ringside.domain.days import say_day

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAY_MS = 24 * 60 * 60 * 1000


def say_weekday(day: date) -> str:
    """Return a day with its name: "Saturday, 28 November 2026"."""
    return f"{WEEKDAYS[day.weekday()]}, {say_day(day)}"


def say_near(day: date, today: date) -> str:
    """Return a day as one says it today: "Yesterday", "In 24 days", "3 May 2025"."""
    apart = (day - today).days
    near = {-1: "Yesterday", 0: "Today", 1: "Tomorrow"}
    if apart in near:
        return near[apart]
    return f"In {apart} days" if apart > 0 else say_day(day)


def say_span(first: date, last: date) -> str:
    """Return the days of a show: "28 November 2026", "28 to 30 November 2026"."""
    if last <= first:
        return say_day(first)
    is_one_month = (first.year, first.month) == (last.year, last.month)
    return f"{first.day if is_one_month else say_day(first)} to {say_day(last)}"


def say_moment(moment: int) -> str:
    """Return a moment (ms) by the clock of this computer: "28 November 2026, 18:54"."""
    local = datetime.fromtimestamp(moment / 1000, UTC).astimezone()
    return f"{say_day(local.date())}, {local:%H:%M}"


def ago(moment: int, now: int) -> int:
    """Return how many whole days lie between two moments (ms), none below 0."""
    return max(0, (now - moment) // DAY_MS)
