"""What the desk's home shows: the shows ahead with their entries, the dogs, and what waits.

Composed from rows of the book as they are, half ones too; no database and no page in here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from ringside.book.devices import Device
from ringside.book.kinds import KINDS
from ringside.domain.days import end_of, minutes_of, say_day
from ringside.knowledge import Knowledge
from ringside.web.desk.coming import Coming
from ringside.web.desk.moments import ago, say_near, say_span

Data = dict[str, Any]
Rows = Mapping[str, Data]
# Rows of one kind about one record, newest first: `about("walk", dog, 3)`.
About = Callable[[str, str, int], Rows]

LAST_WALKS = 3
FEW = 12  # notes and marks of a dog, the newest
AWAY_DAYS = 14
NO_DAY = date.max


def shows_ahead(
    shows: Rows, entries: Rows, dogs: Rows, about: About, knowledge: Knowledge, today: date
) -> list[Data]:
    """Return the shows that are not over, the next one first, those without a day last.

    Each is {id, name, when, days, facts, entries}, an entry {id, dog, name, time, day, facts,
    state} by time.
    """
    ahead = []
    for show, values in shows.items():
        first = as_day(values.get("day")) or NO_DAY
        last = end_of(first, as_day(values.get("until")))
        if last >= today:
            ahead.append((first, last, show, values))
    return [
        {
            "id": show,
            "name": values.get("name") or "A show without a name",
            "when": _when(first, last, today),
            "days": "" if first == NO_DAY else say_span(first, last),
            "facts": [fact for fact in (values.get("body"), values.get("place")) if fact],
            "entries": _entries(show, values, entries, dogs, about, knowledge, first <= today),
        }
        for first, last, show, values in sorted(
            ahead, key=lambda one: (one[0], one[1], (one[3].get("name") or "").casefold())
        )
    ]


def _when(first: date, last: date, today: date) -> str:
    if first == NO_DAY:
        return "No day yet"
    return say_near(max(first, today), today) if last >= today else ""


def _entries(
    show: str,
    at: Data,
    entries: Rows,
    dogs: Rows,
    about: About,
    knowledge: Knowledge,
    has_begun: bool,
) -> list[Data]:
    rows = [
        {
            "id": key,
            "dog": entry["dog"],
            "name": dogs[entry["dog"]].get("name") or "No name yet",
            "time": entry.get("time") or "",
            "facts": _entry_facts(entry, at, knowledge),
            "state": _state(key, about("walk", entry["dog"], LAST_WALKS)) if has_begun else "",
            "day": entry.get("day") or "",
        }
        for key, entry in entries.items()
        if entry.get("show") == show and entry.get("dog") in dogs
    ]
    return sorted(
        rows, key=lambda row: (row["day"], minutes_of(row["time"].strip()), row["name"].casefold())
    )


def _entry_facts(entry: Data, at: Data, knowledge: Knowledge) -> list[str]:
    klass = class_name(entry.get("klass"), at.get("body"), knowledge)
    ring, armband, judge = (entry.get(name) for name in ("ring", "armband", "judge"))
    day = at.get("until") and as_day(entry.get("day"))
    told = (day and say_day(day), klass, ring and f"ring {ring}", armband and f"armband {armband}")
    facts = [fact for fact in (*told, judge) if fact]
    return [fact[0].upper() + fact[1:] for fact in facts[:1]] + facts[1:]


def class_name(key: str | None, body: str | None, knowledge: Knowledge) -> str:
    """Return what the body calls a class, or the class as it was written."""
    regulation = knowledge.regulations.get((body or "").lower())
    names: dict[str, str] = {}
    if regulation:
        names = {one.id: one.name for one in regulation.named}
        names |= {one.id: one.name for one in regulation.classes}
    return names.get(key or "", key or "")


def _state(entry: str, walks: Rows) -> str:
    walk = next((one for one in walks.values() if one.get("entry") == entry), None)
    if not walk or walk.get("mode") != "ring":
        return ""
    return "Been in" if walk.get("ended") else "In the ring"


def dog_rows(
    dogs: Rows,
    coming: Mapping[str, Coming],
    about: About,
    knowledge: Knowledge,
    today: date,
) -> list[Data]:
    """Return the dogs by name, each with its next show, its newest notes and its newest marks."""
    rows = [
        {
            **values,
            "id": dog,
            "name": values.get("name") or "No name yet",
            "facts": _dog_facts(values, knowledge),
            "next": _next(coming[dog], today) if dog in coming else None,
            **{
                part: [_with_station(one, knowledge) for one in about(kind, dog, FEW).values()]
                for part, kind in (("notes", "note"), ("practice", "practice"))
            },
        }
        for dog, values in dogs.items()
    ]
    return sorted(rows, key=lambda row: row["name"].casefold())


def _next(coming: Coming, today: date) -> Data:
    day, _, show = coming
    name = show.get("name") or "A show without a name"
    return {"name": name, "when": say_near(date.fromisoformat(day), today)}


def _dog_facts(dog: Data, knowledge: Knowledge) -> list[str]:
    key, born = dog.get("breed") or "", as_day(dog.get("born"))
    breed = knowledge.breeds.profiles.get(key)
    told = (breed.name if breed else key, dog.get("sex"), born and f"born {say_day(born)}")
    return [fact for fact in told if fact]


def _with_station(record: Data, knowledge: Knowledge) -> Data:
    key, at = record.get("station") or "", as_day((record.get("at") or "")[:10])
    station = knowledge.stations.get(key)
    named = {"station_name": station.name if station else key, "day": at and say_day(at)}
    return {**record, **named}


def waiting(
    apart: Iterable[Data],
    name_of: Callable[[str, str], str],
    contested: int,
    devices: Iterable[Device],
    set_aside: Sequence[str],
    now: int,
) -> list[Data]:
    """Return what waits for a person: {words, link, path}, the link leading to where it is done.

    `apart` as `Book.texts_apart` gives it, `name_of` what a record is about by kind and id.
    """
    found: list[Data] = []
    if set_aside:
        words = "Something in your own breed files cannot be used and was left out."
        found.append({"words": words, "link": "See what and why", "path": "/desk/own"})
    for text in apart:
        about = name_of(text["kind"], text["record"])
        words = f"{KINDS[text['kind']].words.capitalize()}{' for ' if about else ''}{about}: "
        words += f"{len(text['texts'])} texts, written on different phones. Choose the one to show."
        found.append({"words": words, "link": "Choose in the app", "path": "/#/sync"})
    if contested:
        changes = "1 change" if contested == 1 else f"{contested} changes"
        words = f"{changes} had the id of another change. Kept, but not shown."
        found.append({"words": words, "link": "", "path": ""})
    for device in devices:
        days = ago(device.seen, now)
        if days >= AWAY_DAYS and not device.revoked:
            words = f"{device.name} was last here {days} days ago. What was written on it since is"
            words += " not in the book: open the app there where it can reach this server."
            found.append({"words": words, "link": "See devices", "path": "/desk/devices"})
    return found


def as_day(text: Any) -> date | None:
    """Return a day as it is written, None for what is none."""
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        return None
