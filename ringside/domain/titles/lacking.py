"""Say which certificates are lacking, and all that is lacking in one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from ringside.domain.days import say_day
from ringside.domain.titles.case import Case
from ringside.domain.titles.choice import Choice
from ringside.domain.titles.weighed import Lack, Weighed
from ringside.domain.titles.words import length, listed, more_of, ordinal, word
from ringside.knowledge.title_schema import (
    AtLeast,
    Interval,
    Minimum,
    NeedsTest,
    NeedsTitle,
    Points,
    Rule,
    Slots,
    Wins,
)


def lack_slots(case: Case, choice: Choice, result: Weighed) -> None:
    """Say which awards are lacking, from whom, where and from when."""
    windows = [
        case.slot_window(slots, first)
        for slots, first in zip(choice.free, choice.firsts, strict=True)
    ]
    lows = {low for low, _ in windows}
    low, high = max(lows), min(high for _, high in windows)
    total, last, interval = len(choice.free), choice.last, case.route.interval
    numbers: dict[str, int] = {}
    for slots in choice.free:
        numbers[slots.many] = numbers.get(slots.many, 0) + 1
    one = {slots.many: slots.one for slots in choice.free}
    begun = {item.what for item in result.have if item.have}
    says = " and ".join(
        more_of(number, one[many], many, more=many in begun) for many, number in numbers.items()
    )
    judges_too = any(what == "judge" for what, _, _ in choice.spans)
    says += "".join(
        span_of(what, total, rule.at_least, have, judges_too=judges_too)
        for what, rule, have in choice.spans
    )
    starts = max(case.today, low, last)
    if low > max(case.today, last if total == 1 else date.min):
        if total == 1:
            says += f", on or after {say_day(low)}"
        else:
            several = "at least one on or after" if len(lows) > 1 else "none before"
            says += f", {several} {say_day(low)}"
    if interval and not choice.begun:
        starts = case.interval_after(starts)
        says += f", the last at least {length(interval)} after the first"
    elif last > max(case.today, low):
        says += f", {'' if total == 1 else 'the last '}on or after {say_day(last)}"
    rules: list[Rule] = list(dict.fromkeys([*choice.free, *(rule for _, rule, _ in choice.spans)]))
    if interval and choice.begun and last > date.min:
        only = last > case.today and not choice.spans and total == 1
        rules = [interval, *rules] if only else [*rules, interval]
    for number, rule in enumerate(rules):
        result.lacks.append(Lack(rule, "" if number else says, total, starts, high))


def span_of(what: str, total: int, need: int, have: int, *, judges_too: bool) -> str:
    """Say from how many further judges or countries the lacking awards must come."""
    by = "in" if what == "country" else "from"
    one, many = ("judge", "judges") if what == "judge" else ("country", "countries")
    of_one = of_many = ""
    if what == "judge's country":
        by = "of" if judges_too else "from"
        of_one, of_many = ("", "") if judges_too else ("a judge of ", "judges of ")
    short = need - have
    if short == 1 and have:
        least = "at least one " if total > 1 else ""
        return f", {least}{by} {of_one}a {ordinal(need)} {one}"
    least = "at least " if total > short else ""
    further = "further" if have else "different"
    return f", {by} {of_many}{least}{word(short)} {further} {many}"


def all_lacking(lacks: Sequence[Lack], ways: Sequence[Sequence[str]]) -> str:
    """Say all that is lacking in one sentence: titles first, then awards, points and tests.

    `ways` are the awards lacking on each of several routes, one of which is enough.
    """
    before = [lack.says for lack in lacks if isinstance(lack.rule, NeedsTitle)]
    rest = [lack for lack in lacks if lack.says and not isinstance(lack.rule, NeedsTitle)]
    sums = [lack.says for lack in rest if isinstance(lack.rule, Points)]
    parts_of = [lack for lack in rest if isinstance(lack.rule, AtLeast | Wins | Minimum)]
    among = [(sums and lack.among) or lack.says for lack in parts_of]
    if sums and sums[0].startswith("1 ") and len(among) == 1 and among[0].startswith("a point"):
        sums = [f"{sums[0]}, {among[0].removeprefix('a point ')}"]
    elif sums and among:
        sums = [f"{sums[0]}, among them {listed(among)}"]
    parts = [lack.says for lack in rest if of_slots(lack)]
    if len(ways) > 1 and all(ways):
        parts = [" or ".join(dict.fromkeys("; ".join(way) for way in ways))]
    parts += sums or ([listed(among)] if among else [])
    parts += [lack.says for lack in rest if isinstance(lack.rule, NeedsTest)]
    text = "; ".join(parts)
    text = f"{listed(before)}; then {text}" if before and text else text or listed(before)
    return f"{text[:1].upper()}{text[1:]}."


def of_slots(lack: Lack) -> bool:
    """Tell whether it is certificates that are lacking."""
    return bool(lack.says) and isinstance(lack.rule, Slots | Interval)
