"""Fill a throw-away book with the invented kennel of demo_data, as changes like any others.

Everything is derived from the file: the same ids and stamps each time, so that a browser that has
seen the demo before meets the same dogs again and not their doubles.
"""

from __future__ import annotations

import hashlib
import tomllib
import uuid
from calendar import monthrange
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from itertools import chain
from pathlib import Path
from typing import Any

from ringside.book import clock
from ringside.book.blobs import Blobs, looked_at
from ringside.book.changes import Change
from ringside.book.kinds.fields import UUID
from ringside.book.store import Book
from ringside.files import folder

Data = dict[str, list[dict[str, Any]]]

NAMESPACE = uuid.UUID("5f0f3d1c-6a1e-5c1a-9d6b-52494e475349")
BOOK_ID = str(uuid.uuid5(NAMESPACE, "book"))
DEVICE = str(uuid.uuid5(NAMESPACE, "device"))
EPOCH_MS = 1_760_000_000_000
# Fields that are another value on another day.
AGING = (
    "born", "day", "closing", "time", "begins", "at", "due", "began", "ended", "testes_on",
)  # fmt: skip
# What happens today happens within this of now; nearer to midnight all of it lies closer.
WITHIN = timedelta(minutes=85)
REFERENCES = {
    ("entry", "show"), ("walk", "entry"), ("gate", "entry"), ("tick", "walk"), ("task", "entry"),
    ("ringday", "show"), ("ringtap", "ringday"), ("result", "entry"), ("result", "show"),
    ("lesson", "result"), ("award", "entry"), ("marking", "photo"),
}  # fmt: skip


def fill(book: Book) -> None:
    """Put the demo's records and photos into `book`; those it has already are left alone."""
    data = tomllib.loads((folder("demo_data") / "kennel.toml").read_text(encoding="utf-8"))
    with book.session():
        book.rename(BOOK_ID)
        receipt = book.append(changes(data, datetime.now().astimezone()), clock.wall())
        put_photos(book, folder("demo_data") / "photos")
    if receipt.refused:
        raise ValueError(f"demo_data/kennel.toml does not fit the book: {receipt.refused}")


def put_photos(book: Book, photos: Path) -> None:
    """Copy to `book` those files in the folder `photos` that its records name by their SHA-256."""
    kept = Blobs(book)
    with book.writing():
        for path in sorted(photos.glob("*.jpg")):
            data = path.read_bytes()
            sha256 = hashlib.sha256(data).hexdigest()
            if kept.asked_for(sha256):
                looked_at(sha256, data)
                kept.put((sha256, data, clock.wall()))


def changes(data: Data, now: datetime) -> list[Change]:
    """Return the changes that make the records of `data`: {kind: [{key, field: value}]}.

    Days and moments are given as distances (`months_old`, `days_ago`, `days_ahead`, `due_in`,
    `closes_in`, `a_day_short_of` an age at a show, `minutes_ago`, `in_minutes`, `begins_in`) from
    `now`, the time here, so that the demo never ages. `each` makes of one record many: {field: its
    values}.
    """
    made: list[Change] = []
    stamp = ""
    for kind, key, name, value in _fields(data, now):
        stamp = clock.tick(stamp, EPOCH_MS, clock.node_of(DEVICE))
        made.append(
            {
                "id": _id(kind, key, name, str(value) if name in AGING else ""),
                "kind": kind,
                "record": _id(kind, key),
                "field": name,
                "value": value,
                "stamp": stamp,
                "base": "",
                "device": DEVICE,
            }
        )
    return made


def _id(*parts: str) -> str:
    _, key, *rest = parts
    if UUID.fullmatch(key) and not rest:
        return key  # made by the phone from what it is about
    return str(uuid.uuid5(NAMESPACE, "/".join(parts)))


def _fields(data: Data, now: datetime) -> Iterator[tuple[str, str, str, Any]]:
    shows = {show["key"]: now.date() + timedelta(show["days_ahead"]) for show in data["show"]}
    for kind, records in data.items():
        for record in chain.from_iterable(map(_spread, records)):
            for name, value in record.items():
                if name != "key":
                    yield kind, record["key"], *_field(kind, name, value, now, shows)


def _spread(record: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield the record, or one for each value of the field that `each` names."""
    plain = {name: value for name, value in record.items() if name != "each"}
    for name, values in record.get("each", {"key": [record["key"]]}).items():
        for value in values:
            key = {"key": f"{record['key']}-{value}"} if "each" in record else {}
            yield {**plain, name: value, **key}


def _field(
    kind: str, name: str, value: Any, now: datetime, shows: dict[str, date]
) -> tuple[str, Any]:
    today = now.date()
    if name == "months_old":
        return "born", (today - timedelta(days=round(value * 30.44))).isoformat()
    if name == "a_day_short_of":
        return "born", _born_too_late(shows[value["show"]], value["months"]).isoformat()
    if name == "days_ahead":
        return "day", (today + timedelta(value)).isoformat()
    if name == "closes_in":
        return "closing", (today + timedelta(value)).isoformat()
    if name == "days_ago":
        day = today - timedelta(days=value)
        evening = datetime(day.year, day.month, day.day, 17, 30, tzinfo=UTC)
        is_moment = kind in ("practice", "floor", "drill")
        return ("at", _instant(evening)) if is_moment else ("day", day.isoformat())
    if name == "due_in":
        return "due", (today + timedelta(value)).isoformat()
    if name == "felt_days_ago":
        return "testes_on", (today - timedelta(days=value)).isoformat()
    if name in ("in_minutes", "begins_in"):
        clock_time = f"{_today(now, value):%H:%M}"
        return "time" if name == "in_minutes" else "begins", clock_time
    if name in ("minutes_ago", "ended_minutes_ago"):
        moment = _instant(now - timedelta(minutes=value))
        return {"minutes_ago": "began" if kind == "walk" else "at"}.get(name, "ended"), moment
    is_reference = name == "dog" or (kind, name) in REFERENCES
    return name, _id(name, value) if is_reference else value


def _today(now: datetime, minutes: float) -> datetime:
    """Return a moment so far from now, or nearer, so that all that is in this order is today."""
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    room = now - midnight if minutes < 0 else midnight + timedelta(days=1) - now
    return now + timedelta(minutes=minutes) * min(1.0, room / WITHIN)


def _born_too_late(show: date, months: int) -> date:
    """Return a birthday by which a dog is one day short of `months` on the day of the show."""
    year, month = divmod(show.year * 12 + show.month - 1 - months, 12)
    day = min(show.day, monthrange(year, month + 1)[1])
    return date(year, month + 1, day) + timedelta(days=1)


def _instant(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")
