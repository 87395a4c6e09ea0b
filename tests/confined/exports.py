"""Exports of strangers: taken whole, or refused in a sentence, however long and deep."""

from __future__ import annotations

import copy
import json
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from ringside.book import keeping
from ringside.book.place import Place
from ringside.book.store import BookError
from tests.confined import MB, few
from tests.confined.copies import made

with tempfile.TemporaryDirectory() as _name:
    _place, _ = made(Path(_name))
    keeping.export(_place, Path(_name, "all.json"))
    SOUND: dict[str, Any] = json.loads(Path(_name, "all.json").read_text(encoding="utf-8"))

json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
    | st.sampled_from(["__proto__", "x" * 3 * MB, 10**4000, 2**63, 1e308, -1, "\ud800", "\0"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3)
    ),
    max_leaves=5,
)  # fmt: skip


def ways(value: Any, so_far: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give the way to each part of a value."""
    keys: Any = value if isinstance(value, dict) else range(len(value))
    for key in keys:
        yield (*so_far, key)
        if isinstance(value[key], dict | list):
            yield from ways(value[key], (*so_far, key))


WAYS = list(ways(SOUND))


def taken(content: list[str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        source, place = Path(name, "all.json"), Place(Path(name, "data"))
        with source.open("w", encoding="utf-8", errors="surrogatepass") as file:
            file.writelines(content)
        refused = ""
        try:
            keeping.import_(place, source)
        except BookError as error:
            refused = str(error)
        assert len(refused) < 2000
        if not refused:
            keeping.export(place, Path(name, "again.json"))


@few
@given(st.lists(st.tuples(st.sampled_from(WAYS), json_values), min_size=1, max_size=3))
def any_part_of_any_value(changes: list[tuple[tuple[Any, ...], Any]]) -> None:
    whole = copy.deepcopy(SOUND)
    for (*way, last), value in changes:
        part: Any = whole
        for key in way:
            part = part[key] if isinstance(part, dict | list) and _has(part, key) else {}
        if isinstance(part, dict) or (isinstance(part, list) and _has(part, last)):
            part[last] = value
    taken([json.dumps(whole)])


def _has(part: Any, key: Any) -> bool:
    return key in part if isinstance(part, dict) else isinstance(key, int) and key < len(part)


def longer_than_the_memory() -> None:
    """What is said again and again, at each place where something may stand."""
    head = json.dumps(SOUND)[:-1]
    for before in ("", head + ', "more": ', head[:40], '{"changes": ', '{"changes": [{"value": '):
        for said in ("[", " ", '"', "x", "9", '{"a":', '"\\u0041', "[1],", "{},", '"a":1,'):
            taken([before, *[said * (MB // len(said))] * 5])
    taken([*[" " * MB] * 32, "x"])
    change = json.dumps(SOUND["changes"][0])
    taken(['{"changes": [', *[f"{change},\n" * 1000] * 60, "]}"])
