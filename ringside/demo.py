"""Fill a throw-away book with the invented kennel of demo_data, as changes like any others.

Everything is derived from the file: the same ids and stamps each time, so that a browser that has
seen the demo before meets the same dogs again and not their doubles.
"""

from __future__ import annotations

import time
import tomllib
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

from ringside.book import clock
from ringside.book.changes import Change
from ringside.book.store import Book
from ringside.files import folder

NAMESPACE = uuid.UUID("5f0f3d1c-6a1e-5c1a-9d6b-52494e475349")
BOOK_ID = str(uuid.uuid5(NAMESPACE, "book"))
DEVICE = str(uuid.uuid5(NAMESPACE, "device"))
EPOCH_MS = 1_760_000_000_000


def fill(book: Book) -> None:
    """Put the demo's records into `book`; those it has already are left alone."""
    data = tomllib.loads((folder("demo_data") / "kennel.toml").read_text(encoding="utf-8"))
    with book.session():
        book.rename(BOOK_ID)
        receipt = book.append(changes(data, date.today()), time.time_ns() // 1_000_000)
    if receipt.refused:
        raise ValueError(f"demo_data/kennel.toml does not fit the book: {receipt.refused}")


def changes(data: dict[str, list[dict[str, Any]]], today: date) -> list[Change]:
    """Return the changes that make the records of `data`: {kind: [{key, field: value}]}.

    `born` may be given as `months_old` and `at` as `days_ago`, so that the demo never ages.
    """
    made: list[Change] = []
    stamp = ""
    for kind, key, name, value in _fields(data, today):
        stamp = clock.tick(stamp, EPOCH_MS, clock.node_of(DEVICE))
        made.append(
            {
                "id": _id(kind, key, name, str(value) if name in ("born", "at") else ""),
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
    return str(uuid.uuid5(NAMESPACE, "/".join(parts)))


def _fields(data: dict[str, Any], today: date) -> Iterator[tuple[str, str, str, Any]]:
    for kind, records in data.items():
        for record in records:
            key = record["key"]
            for name, value in record.items():
                if name == "months_old":
                    yield (
                        kind,
                        key,
                        "born",
                        (today - timedelta(days=round(value * 30.44))).isoformat(),
                    )
                elif name == "days_ago":
                    yield kind, key, "at", _moment(today - timedelta(days=value))
                elif name in ("dog", "walk"):
                    yield kind, key, name, _id(name, value)
                elif name != "key":
                    yield kind, key, name, value


def _moment(day: date) -> str:
    moment = datetime(day.year, day.month, day.day, 17, 30, tzinfo=UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.000Z")
