"""How long the pack of a much-shown dog takes, and what it weighs on the way to the phone."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from ringside.book.packs import as_dog
from ringside.domain.pack import pack
from ringside.knowledge import Knowledge, load
from tests.benchmarks.registry import Row, benchmark, in_turn, ms

AWARDS = 300
RECORDS = 2000
ROUNDS = 40
BREED = "french-bulldog"
BODIES = ("FCI", "AKC", "KC", "CKC", "DA")

Data = dict[str, Any]


def dog_of(breed: str = BREED) -> Data:
    """A male of five years, born on a day that later months do not have."""
    return {
        "name": "Sorrel", "breed": breed, "sex": "dog", "born": "2021-01-31", "body": "FCI",
        "testes": "both", "testes_on": "2021-06-01",
    }  # fmt: skip


def awards_of(knowledge: Knowledge, count: int = AWARDS) -> list[tuple[str, Data]]:
    """Awards of every kind and body, at a show every fourth day, as the book gives them out."""
    made = []
    for number in range(count):
        body = BODIES[number % len(BODIES)]
        kinds = [*knowledge.titles.kinds[body], "class-first"]
        values = {
            "body": body,
            "what": kinds[number // len(BODIES) % len(kinds)],
            "day": (date(2022, 3, 1) + timedelta(days=number * 4)).isoformat(),
            "judge": f"Judge {number % 17}",
            "country": ("CZ", "GB", "AT", "DE")[number % 4],
            "show": f"Show {number // 3}",
            "level": "championship",
            "points": float(number % 5) if number % 3 else None,
            "competing": 20.0,
        }
        made.append((f"{number:08x}-0000-7000-8000-000000000000", values))
    return made


def others() -> list[str]:
    """The other records of the dog, as text: a pack needs none of them, loading them costs."""
    values = {"dog": "0" * 36, "station": "bite", "grade": "easy", "at": "2026-01-01T10:00:00.000Z"}
    return [json.dumps(values | {"handler": f"H {number}"}) for number in range(RECORDS - AWARDS)]


@benchmark
def packs() -> Iterator[Row]:
    """The pack against the least that must be done before: to load the same records."""
    knowledge = load()
    values, awards = dog_of(), awards_of(knowledge)
    rows = [json.dumps(values), *(json.dumps(award) for _, award in awards), *others()]

    def make() -> Data:
        return pack(knowledge, as_dog(values, awards))

    def read() -> None:
        for row in rows:
            json.loads(row)

    making, reading = in_turn(ROUNDS, make, read)
    yield Row(
        f"pack of a dog with {AWARDS} awards, {RECORDS} records",
        ms(making),
        f"loading the same records {ms(reading)}",
        making / reading,
        "5 ms",
    )
    data = make()
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()
    yield Row(
        "its size on the way",
        f"{len(gzip.compress(text)) / 1000:.1f} kB",
        f"unsqueezed {len(text) / 1000:.1f} kB",
        len(gzip.compress(text)) / len(text),
        "12 kB",
    )
