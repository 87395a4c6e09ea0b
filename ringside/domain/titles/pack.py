"""The tallies of a dog for the phone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import ringside.domain.titles.words as words
from ringside.domain.dog import Award, Dog
from ringside.domain.titles.record import Record
from ringside.domain.titles.shapes import Data, Tally, Verdict
from ringside.domain.titles.tallying import in_turn
from ringside.knowledge.titles import BodyTitle, TitleBook

IDS_SHOWN = 5
FAR_AHEAD = timedelta(days=3 * 366)


def pack_titles(book: TitleBook, dog: Dog, today: date) -> Data:
    """Return the tallies that concern the dog, for the phone.

    These are the titles of its body and of every body that gave an award, save those that are
    recorded already, that another kind of breed or section earns, that wait for another title, that
    can no longer be earned, or for which nothing is won and whose time is years ahead.
    """
    awards = dog.awards or ()
    bodies = {award.body for award in awards} | {dog.body}
    titles = [title for title in book.titles.values() if title.body in bodies]
    shown = [
        result
        for result in in_turn(titles, Record(dog, today), only=_concerns)
        if not result.verdict.closed and (result.counts or not _is_far(result, today))
    ]
    sources: Data = {}
    packed = [_pack(result, awards, sources) for result in shown]
    caveats = {title.body: title.caveat for title in titles}
    return {"asof": today.isoformat(), "titles": packed, "sources": sources, "caveats": caveats}


def _is_far(result: Tally, today: date) -> bool:
    return result.soonest is not None and result.soonest > today + FAR_AHEAD


def _concerns(title: BodyTitle, record: Record) -> bool:
    wanted, dog = title.title, record.dog
    if title.id in record.held:
        return False
    if wanted.section and wanted.section != dog.section:
        return False
    if dog.trial is not None and wanted.trial not in (None, dog.trial):
        return False
    needs = [need.title for route in wanted.route for need in route.needs]
    return all(need in record.held for need in needs)


def _pack(result: Tally, awards: Sequence[Award], sources: Data) -> Data:
    title = result.title.title
    data: Data = {"id": title.id, "name": title.name, "body": result.title.body}
    data |= _pack_verdict(result.verdict)
    if result.otherwise:
        data["otherwise"] = _pack_verdict(result.otherwise)
    if result.open:
        data["open"] = list(result.open)
    data["have"] = [[item.what, item.have, item.need] for item in result.have]
    data["counts"] = _ids(result.counts, awards)
    data["aside"] = [
        [reason, *_ids(places, awards)]
        for reason, places in result.aside.items()
        if reason not in (words.OTHER_BODY, words.OTHER_KIND, words.NOT_READ)
    ]
    data["clauses"] = []
    for rule in result.rules:
        key = f"{result.title.body.lower()}-{rule.source}"
        if [rule.clause, key, rule.read] not in data["clauses"]:
            data["clauses"].append([rule.clause, key, rule.read])
        source = result.title.sources[rule.source]
        sources[key] = {
            name: value
            for name in ("body", "title", "number", "date", "address", "read", "note")
            if (value := getattr(source, name))
        }
    if len(title.route) > 1:
        data["route"] = result.route
    for name in ("applies", "note"):
        if getattr(title, name):
            data[name] = getattr(title, name)
    if title.dog:
        data["dog"] = list(title.dog)
    return data


def _pack_verdict(verdict: Verdict) -> Data:
    if verdict.earned:
        return {"earned": verdict.earned.isoformat()}
    data: Data = {"missing": verdict.missing}
    if verdict.soonest:
        data["soonest"] = verdict.soonest.isoformat()
    if verdict.closed:
        data["closed"] = True
    return data


def _ids(places: Sequence[int], awards: Sequence[Award]) -> list[Any]:
    """Return how many awards, and the first few by id (by place where they have none)."""
    return [len(places), [awards[place].id or place for place in places[:IDS_SHOWN]]]
