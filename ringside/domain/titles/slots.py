"""Certificates: awards that fill the slots of a route."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import ringside.domain.titles.words as words
from ringside.domain.dog import Award
from ringside.domain.titles.case import Case
from ringside.domain.titles.choice import Choice, spread_of
from ringside.domain.titles.choosing import choose
from ringside.domain.titles.lacking import lack_slots
from ringside.domain.titles.matching import fill_slots, one_a_show
from ringside.domain.titles.shapes import Have
from ringside.domain.titles.weighed import Weighed
from ringside.knowledge.title_schema import Slots


def weigh_slots(case: Case, pool: Sequence[int], result: Weighed) -> None:
    """See which awards of `pool` fill slots, and say what is lacking or left over."""
    route = case.route
    firsts = [case.first_for(slots) for slots in route.awards]
    fits = _fitting(case, pool, firsts, result)
    if route.countries or route.judge_countries or route.interval:
        choice = choose(case, [place for place, _ in fits], result)
    else:
        choice = fill_slots(case, fits, firsts, result)
    result.counts |= choice.group
    for many in dict.fromkeys(slots.many for slots in route.awards):
        need = sum(slots.count for slots in route.awards if slots.many == many)
        lacking = sum(slots.many == many for slots in choice.free)
        result.have.append(Have(many, need - lacking, need))
    for what, _, rule in spread_of(route):
        have = next((have for _, lacks, have in choice.spans if lacks is rule), rule.at_least)
        result.have.append(Have(words.PLURALS[what], have, rule.at_least))
    if choice.free:
        lack_slots(case, choice, result)
    _set_rest_aside(case, fits, choice, result)


def _fitting(
    case: Case, pool: Sequence[int], firsts: Sequence[date], result: Weighed
) -> list[tuple[int, list[int]]]:
    """Return the awards that can fill a slot, each with the kinds of slot; set others aside.

    `firsts` is for each kind of slot the first day on which an award can fill it.
    """
    route = case.route
    slots_of: dict[str, list[tuple[int, Slots]]] = {}
    for number, slots in enumerate(route.awards):
        for name in slots.kinds:
            slots_of.setdefault(name, []).append((number, slots))
    fits: list[tuple[int, list[int]]] = []
    for place in pool:
        award = case.awards[place]
        of_kind = slots_of.get(award.kind)
        if of_kind is None:
            continue
        kinds = [
            kind
            for kind, slots in of_kind
            if award.day >= firsts[kind]
            and (not slots.show_kinds or award.level in slots.show_kinds)
        ]
        if not kinds:
            result.set_aside(_unfit(case, award), place)
        elif route.judges and not award.judge.strip():
            result.set_aside(words.NO_JUDGE, place)
        else:
            fits.append((place, kinds))
    if not route.shows:
        return fits
    kept = one_a_show(case, [place for place, _ in fits])
    shows = {_show(case, place) for place in kept}
    for place, _ in fits:
        if place not in kept:
            spent = words.SAME_SHOW if _show(case, place) in shows else words.SAME_JUDGE
            result.set_aside(spent, place)
    return [(place, kinds) for place, kinds in fits if place in kept]


def _show(case: Case, place: int) -> tuple[date, str]:
    return case.awards[place].day, words.same(case.awards[place].show)


def _set_rest_aside(
    case: Case, fits: Sequence[tuple[int, list[int]]], choice: Choice, result: Weighed
) -> None:
    """Say of awards that could fill a slot, and do not, why not."""
    counted = {words.same(case.awards[place].judge) for place in choice.group}
    for place, _ in fits:
        if place not in choice.group:
            spent = case.route.judges and words.same(case.awards[place].judge) in counted
            result.set_aside(words.SAME_JUDGE if spent else words.MORE_THAN_ASKED, place)


def _unfit(case: Case, award: Award) -> str:
    """Say why an award of the right kind fills no slot."""
    for slots in case.route.awards:
        if award.kind in slots.kinds:
            if slots.show_kinds and award.level not in slots.show_kinds:
                return words.OTHER_SHOW
            if slots.since and award.day < slots.since:
                return words.too_early(slots.since)
            if slots.after_title:
                return words.WAITS_FOR_TITLE
    return words.TOO_YOUNG
