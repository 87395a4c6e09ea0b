"""What a new phone's first pull costs, beside the same bytes from the same database, compressed and
sent in the same pages by the bare server."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import groupby
from time import perf_counter
from typing import Any

import brotli

from tests.benchmarks.registry import Row, benchmark, ms
from tests.benchmarks.sync import HISTORY, Client, Phone, both

ROUNDS = 5
FIRST, MOST = 24_000, 400_000  # characters a page, as the app asks on a quick link

Answer = dict[str, Any]


def fetched(client: Client, path: str, asked: Any) -> tuple[bytes, float]:
    """The answer as it came, and the seconds until it was here."""
    body = json.dumps(asked).encode()
    headers = {**client.headers, "Accept-Encoding": "br"}
    began = perf_counter()
    client.connection.request("POST", path, body, headers)
    response = client.connection.getresponse()
    answer = response.read()
    took = perf_counter() - began
    if response.status != 200 or response.headers["Content-Encoding"] != "br":
        raise RuntimeError(f"{path}: {response.status}, {response.headers['Content-Encoding']}")
    return answer, took


def pulled(phone: Phone, has_records: bool) -> tuple[list[Answer], int, float]:
    """Every page of a first pull, the bytes that came, and the seconds that was waited for them."""
    pages: list[Answer] = []
    phone.client.connection.close()  # the server may have, while it was idle
    length, waited, size = 0, 0.0, FIRST
    cursor, more = "", True
    while more:
        asked = {"protocol": 1, "device": phone.writer.device, "cursor": cursor, "size": size}
        asked |= {"records": has_records, "packs": phone.packs}
        body, took = fetched(phone.client, "/api/sync", asked)
        page = json.loads(brotli.decompress(body))
        pages.append(page)
        cursor, more, size = page["cursor"], page["more"], min(size * 2, MOST)
        length, waited = length + len(body), waited + took
    return pages, length, waited


def same(pages: list[Answer]) -> list[Answer]:
    """What to ask of the bare server, to get the same pages."""
    asked: list[Answer] = []
    last: dict[str, str] = {}  # the id of the last record of each kind
    upto = 0
    for page in pages:
        runs = []
        for kind, run in groupby(page["records"], lambda record: record[0]):
            ids = [record[1] for record in run]
            runs.append((kind, last.get(kind, ""), len(ids)))
            last[kind] = ids[-1]
        behind, upto = upto, upto + len(page["changes"])
        asked.append({"records": runs, "changes": (behind, upto)})
    return asked


def again(bare: Client, asked: list[Answer], pages: list[Answer]) -> tuple[int, float]:
    """Have the bare server send them; the bytes that came, and the seconds."""
    bare.connection.close()
    length, waited = 0, 0.0
    for one, page in zip(asked, pages, strict=True):
        body, took = fetched(bare, "/api/pull", one)
        found = json.loads(brotli.decompress(body))
        if any(found[name] != page[name] for name in ("records", "changes")):
            raise RuntimeError("The floor sent something else.")
        length, waited = length + len(body), waited + took
    return length, waited


@benchmark
def sync_of_a_new_phone() -> Iterator[Row]:
    """From an empty phone to all that the book holds."""
    with both(HISTORY, ("change", "record")) as (ours, bare, book):
        phone = Phone(ours, book)
        for what, has_records in (("as they stand", True), ("one by one", False)):
            times: list[tuple[float, float]] = []
            for _ in range(ROUNDS):  # in turn, so that both meet the same weather
                pages, here, took = pulled(phone, has_records)
                there, floor = again(bare, same(pages), pages)
                times.append((took, floor))
            took, floor = (min(column) for column in zip(*times, strict=True))
            yield Row(
                f"first pull of {HISTORY:,} changes, {what}",
                ms(took),
                f"{ms(floor)} bare",
                took / floor,
                "<= 1.3",
            )
            size = f"{here / 1e6:.1f} MB in {len(pages)} pages"
            yield Row("... what is sent", size, f"{there / 1e6:.1f} MB bare")
