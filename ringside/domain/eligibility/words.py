"""How a ruling is worded: every sentence of this room, so that one can be reworded here alone.

A clause that "only if" can precede has no capital and no full stop.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from ringside.domain.days import say_day
from ringside.domain.eligibility.shapes import Ruling
from ringside.domain.says import sentence
from ringside.knowledge.regulation_schema import Bound, Condition, Kind, ShowClass

# What the phone says as well, about a day or a show; it gets these with the rules.
SHARED: Mapping[str, str] = {
    "unborn": "Not born yet on that day",
    "closing-unknown": "The age on the closing date decides, and we do not know that date",
    "depends-on-day": "Depends on the day it is shown",
    "depends-on-first": (
        "Depends on whether the first day of the show or the dog's own day decides, "
        "which the text does not say"
    ),
    "if-first": "If the first day of the show decides, it {verdict}: {why}",
    "if-own": "If its own day decides and it is shown on {days}, it {verdict}: {why}",
    "if-shown": "Shown on {days}, it {verdict}: {why}",
    "from-to": "{first} to {last}",
    "clause": "{clause}; {edition}.",
    "read-memory": "Written from memory.",
    "read-secondary": "Read in a second-hand account.",
    "clause-memory": "{clause} (from memory)",
    "clause-secondary": "{clause} (second-hand)",
}

_KINDS: Mapping[Kind, str] = {
    "championship": "a championship show",
    "open": "an open show",
    "limited": "a limited show",
    "breed-club": "a breed club's show",
    "specialty": "a specialty",
    "cacib": "a CACIB show",
}


def _kinds(kinds: Iterable[Kind]) -> str:
    return " or ".join(_KINDS[kind] for kind in kinds)


def _age(bound: Bound) -> str:
    return f"{bound.age} {bound.unit if bound.age > 1 else bound.unit.removesuffix('s')}"


def _any_day(days: Sequence[date]) -> str:
    return " or ".join(say_day(day) for day in days)


def governs(edition: str) -> str:
    """Say what stands above every verdict of a body."""
    return f"The show's own schedule comes first; this is from {edition}."


# --- age ---------------------------------------------------------------------------------------


def too_young(bound: Bound, reached: Sequence[date]) -> str:
    """Say when the dog reaches the least age; `reached` by each reading of the month."""
    limit = ", and the class is for older dogs" if bound.inclusive is False else ""
    return f"Too young: it turns {_age(bound)} on {_any_day(reached)}{limit}"


def too_old(bound: Bound, reached: Sequence[date]) -> str:
    """Say when the dog reached the greatest age."""
    limit = ", the last day for this class" if bound.inclusive is True else ""
    return f"Too old: it turns {_age(bound)} on {_any_day(reached)}{limit}"


def right_age(low: Bound | None, high: Bound | None) -> str:
    """Say what age the class asks for."""
    parts = []
    if low:
        parts.append(f"{'over' if low.inclusive is False else 'at least'} {_age(low)}")
    if high:
        under = "not over" if high.inclusive else "under"
        parts.append(f"{'up to' if high.inclusive == 'silent' else under} {_age(high)}")
    return f"Right age: {' and '.join(parts)}" if parts else "No age limit"


def open_age(bound: Bound, inside: Mapping[date, set[bool]], born: date) -> str:
    """Say what is open about a day; `inside` as it is by each reading of the month."""
    parts = []
    if len(inside) > 1:
        parts.append(_month_question(born))
    if any(len(found) > 1 for found in inside.values()):
        parts.append(f"whether the day it turns {_age(bound)} counts")
    return f"Depends on {' and on '.join(parts)}, which the text does not say"


def open_age_readings(
    bound: Bound, inside: Mapping[date, set[bool]], born: date, *, low: bool
) -> tuple[str, ...]:
    """Say each way to see a day in dispute."""
    age = _age(bound)
    if len(inside) > 1:
        return tuple(
            f"Counted to {month} it is {age} old on {say_day(reach)}: {_so(found, low=low)}."
            for month, (reach, found) in zip(_month_words(born), inside.items(), strict=True)
        )
    if low:
        return (
            f"If {age} on the day is enough, it can go in.",
            f"If it must be over {age}, it is a day too young.",
        )
    return (
        f"If the day it turns {age} still counts, it can go in.",
        "If the class ends the day before, it is too old.",
    )


def _so(found: set[bool], *, low: bool) -> str:
    if len(found) > 1:
        return "in only if that day itself counts"
    if found == {True}:
        return "it can go in"
    return "too young" if low else "too old"


def _month_question(born: date) -> str:
    if (born.month, born.day) == (2, 29):
        return "whether 28 February or 1 March stands for 29 February"
    return f"how a month that has no {born.day}{'st' if born.day == 31 else 'th'} is counted"


def _month_words(born: date) -> tuple[str, str]:
    if (born.month, born.day) == (2, 29):
        return "28 February", "1 March"
    return "the month's last day", "the day after the month"


# --- sex, kind of show, since when -------------------------------------------------------------


def if_of_sex(klass: ShowClass) -> str:
    """Complete "only if": the sex of the dog is not known."""
    return f"it is a {klass.sex}"


def of_other_sex(klass: ShowClass) -> str:
    """Refuse a dog of the other sex."""
    return f"Only for a {klass.sex}"


def if_at_kind(klass: ShowClass) -> str:
    """Complete "only if": the kind of show is not known."""
    return f"the show is {_kinds(klass.kinds)}"


def at_other_kind(klass: ShowClass) -> str:
    """Refuse at a show of another kind."""
    return f"Only at {_kinds(klass.kinds)}"


def not_yet_begun(day: date) -> str:
    """Say that the class was not there before `day`."""
    return f"The class began on {say_day(day)}"


# --- titles, wins, answers ---------------------------------------------------------------------


def asks_at_kind(condition: Condition) -> str:
    """Complete "only if" for a condition that holds at some kinds of show."""
    return f"at {_kinds(condition.kinds)} {condition.asks}"


def if_recognised(asks: str) -> str:
    """Complete "only if" where a title may be recognised, but need not."""
    return f"its title is recognised, so that {asks}"


def lacks(condition: Condition) -> str:
    """Refuse a dog that has not what is needed."""
    if condition.question or condition.born_in:
        return f"Only if {condition.asks}; its record says otherwise"
    return f"Only if {condition.asks}; no such title is recorded"


def has(condition: Condition, day: date) -> str:
    """Refuse a dog that has what bars, since `day` (date.min: all along)."""
    since = "" if day == date.min else f" since {say_day(day)}"
    return f"Only if {condition.asks}; by its record, not any more{since}"


def by_closing(condition: Condition, day: date, *, needs: bool) -> tuple[str, tuple[str, ...]]:
    """Return what to ask of the closing date, and the readings where the text names no day.

    `day` is the first on which the closing of entries counts what was earned.
    """
    closed = f"entries closed {'on or after' if needs else 'before'} {say_day(day)}"
    reason = f"as the class asks that {condition.asks}"
    if condition.counted_by != "silent":
        return f"{closed}, {reason}", ()
    if needs:
        says = f"the day of the show decides, which the text does not say, or {closed}, {reason}"
        return says, (
            "If the day of the show decides, it has what is asked.",
            f"If the closing date decides, it has it only where {closed}.",
        )
    says = f"the closing date decides, which the text does not say, and {closed}, {reason}"
    return says, (
        "If the day of the show decides, it is barred.",
        f"If the closing date decides, it can go in where {closed}.",
    )


# --- bars --------------------------------------------------------------------------------------


def if_both_down(*, one: bool, felt: date) -> str:
    """Complete "only if" for a dog that was felt to have one testis down, or none."""
    return f"both testes are down by then ({'one' if one else 'none'} was on {say_day(felt)})"


# --- a show of one day or several --------------------------------------------------------------


def unborn() -> str:
    """Refuse a dog on a day before its birth."""
    return SHARED["unborn"]


def closing_day_unknown() -> str:
    """Say what cannot be told without the closing date."""
    return SHARED["closing-unknown"]


def depends_on_day(*, or_first: bool) -> str:
    """Say that not all days give the same; `or_first`: the first day may be the one that counts."""
    return SHARED["depends-on-first" if or_first else "depends-on-day"]


def if_first_day(ruling: Ruling) -> str:
    """Say what follows if the first day of the show decides."""
    return sentence(SHARED, {"says": "if-first", **_it(ruling)})


def if_shown(days: Sequence[date], ruling: Ruling, *, or_first: bool) -> str:
    """Say what follows if it is shown on one of `days`, which stand in a row."""
    first, last = say_day(days[0]), say_day(days[-1])
    span = first if len(days) == 1 else {"says": "from-to", "first": first, "last": last}
    name = "if-own" if or_first else "if-shown"
    return sentence(SHARED, {"says": name, "days": span, **_it(ruling)})


def _it(ruling: Ruling) -> Mapping[str, str]:
    why = ruling.why
    return {"verdict": ruling.verdict, "why": f"{why[0].lower()}{why[1:]}"}
