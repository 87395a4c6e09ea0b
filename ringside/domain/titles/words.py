"""How a tally is worded: what is lacking, and why an award does not count.

Which certificates are lacking, and all of it in one sentence, is in `lacking`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache

from ringside.domain.days import say_day
from ringside.knowledge.title_schema import Interval, Wins

SERIES_OPEN = (
    "The text does not say whether the same awards must meet every condition, or all that were won."
)
AGES_NOT_CHECKED = "The date of birth is not entered, so ages were not checked."

# Why an award does not count.
BEFORE_BIRTH = "dated before the dog was born"
LOWER_AWARD = "a higher award of the same show counts"
MORE_THAN_ASKED = "more than is asked"
NEITHER_ENTERED = "neither points nor the number competing entered"
NO_JUDGE = "no judge entered"
NO_POINTS_ENTERED = "no points entered"
NO_POINTS_HERE = "no points for it at this kind of show"
NO_POINTS_WON = "no points were won"
NOT_READ = "what this title counts was not read"
OTHER_BODY = "given under another body"
OTHER_KIND = "not an award that this title counts"
OTHER_SHOW = "not at the kind of show that is asked for"
SAME_JUDGE = "judge already counted"
SAME_SHOW = "another award of the same show counts"
STILL_TO_COME = "still to come"
TOO_FEW = "too few competed for points"
TOO_YOUNG = "won too young"
TWICE = "entered twice"
VARIETY_CLASS = "not won in a class confined to the breed"
WAITS_FOR_TITLE = "won before the title that must come first"

PLURALS = {"judge": "judges", "country": "countries", "judge's country": "countries of judges"}
_WORDS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
)  # fmt: skip
_ORDINALS = (
    "", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
    "tenth", "eleventh", "twelfth",
)  # fmt: skip


@lru_cache(maxsize=4096)
def same(name: str) -> str:
    """Return a name such that two ways of typing it compare equal."""
    return " ".join(name.casefold().replace(".", " ").split())


# --- why an award does not count ---------------------------------------------------------------


def too_young(from_day: date) -> str:
    """Say that the dog was too young for it until `from_day`."""
    return f"won before the dog was old enough ({say_day(from_day)})"


def too_old(from_day: date) -> str:
    """Say that the dog was too old for it from `from_day` on."""
    return f"won when the dog was too old (from {say_day(from_day)})"


def too_early(since: date) -> str:
    """Say that such awards count since a day only."""
    return f"won before {say_day(since)}"


def after_the_end(last: date) -> str:
    """Say that the title was no longer given."""
    return f"won after the title ended on {say_day(last)}"


def beyond(most: int) -> str:
    """Say that one show gives no more."""
    return f"beyond the {most} points that one show can give"


# --- what is lacking ---------------------------------------------------------------------------


def points_lacking(short: int, wait: date | None, *, more: bool) -> str:
    """Say how many points are lacking, none of them before `wait`."""
    none_before = f", none before {say_day(wait)}" if wait else ""
    return f"{short}{' more' * more} {_points(short)}{none_before}"


def part_lacking(short: int, of: str, wait: date | None, *, among: bool) -> str:
    """Say how many points of one part are lacking, by themselves or among those that are."""
    says = f"at least {short}" if among else f"{short} more {_points(short)}"
    return f"{says} {of} (from {say_day(wait)})" if wait else f"{says} {of}"


def wins_lacking(rule: Wins, wins: int, judges: int, short: int, further: int) -> str:
    """Say that `short` wins are lacking, from `further` judges besides those that count."""
    says = more_of(short, rule.one, rule.many, more=wins > 0)
    says += f" ({rule.min_points} points or more at one show)"
    if further == 1 and judges:
        return f"{says} from a {ordinal(judges + 1)} judge"
    if further:
        return f"{says} from {word(further)} {'further' if judges else 'different'} judges"
    return says


def judges_lacking(have: int, need: int) -> str:
    """Say from how many judges points are lacking."""
    if have == need - 1:
        return f"a point from a {ordinal(need)} judge"
    return f"points from {word(need - have)} {'further' if have else 'different'} judges"


def champions_lacking(have: int, need: int) -> str:
    """Say at how many shows a champion must be beaten."""
    return f"a champion beaten at {more_of(need - have, 'show', 'shows', more=have > 0)}"


def first_title(name: str) -> str:
    """Say that another title must come first."""
    return f"first the title {name}"


def ended(last: date) -> str:
    """Say that the title is given no more."""
    return f"This title ended on {say_day(last)}."


def too_late(end: date) -> str:
    """Say that the title can no longer be had."""
    return f"Can no longer be earned: what is missing had to be won before {say_day(end)}."


def month_end_open(early: date, late: date) -> str:
    """Say that a text is silent on a month without that day."""
    return (
        "The text does not say how months and years are counted to a month without that "
        f"day: {say_day(early)} or {say_day(late)}."
    )


# --- numbers and lists -------------------------------------------------------------------------


def word(number: int) -> str:
    """Return a number in words, up to twelve."""
    return _WORDS[number] if 0 <= number < len(_WORDS) else str(number)


def ordinal(number: int) -> str:
    """Return "third" for 3."""
    return _ORDINALS[number] if number < len(_ORDINALS) else f"{number}th"


def _points(number: int) -> str:
    return "point" if number == 1 else "points"


def length(rule: Interval) -> str:
    """Return a span of time in words."""
    parts = ((rule.years, "year"), (rule.months, "month"), (rule.days, "day"))
    return " and ".join(
        f"{word(number)} {unit}{'s' * (number > 1)}" for number, unit in parts if number
    )


def more_of(number: int, one: str, many: str, *, more: bool) -> str:
    """Return "two more CACIB"."""
    return f"{word(number)}{' more' if more else ''} {one if number == 1 else many}"


def listed(parts: Sequence[str]) -> str:
    """Return "a, b and c"."""
    return f"{', '.join(parts[:-1])} and {parts[-1]}" if len(parts) > 1 else parts[0]
