"""How a record stands and what of it a version knows, in Python; the phone is asked by
tests/browser/test_vectors.py."""

from __future__ import annotations

import dataclasses
import itertools
import json
import random
from collections.abc import Iterator
from typing import Any

import pytest

from ringside.book import merge
from ringside.book.kinds import Kind, Seen
from ringside.book.kinds.fields import Field
from ringside.book.opening import open_at
from ringside.book.packs import packs_of
from ringside.book.place import Place
from ringside.book.projection import Edit
from ringside.book.store import Book
from tests.support import ROOT
from tests.unit.test_vectors import MADE

DATA = json.loads((ROOT / "tests" / "vectors" / "rows.json").read_text(encoding="utf-8"))
MOST_ORDERS = 24
RECORD = "00000000-0000-7000-8000-0000000000e1"
STAMP = "0199c82cc000-0000-0000000000aa"


def field_of(declared: dict[str, Any]) -> Field:
    made: Field = MADE[declared["type"]](declared)
    return dataclasses.replace(made, required=declared.get("required", False))


def kind_of(name: str, said: dict[str, Any]) -> Kind:
    return Kind(
        name=name,
        words=said["words"],
        seen=Seen.BY_ALL,
        about=said["about"],
        also=tuple(said["also"]),
        newest=said["newest"],
        by=said["by"],
        packs=tuple(said["packs"]),
        packs_where=said["packs_where"] and tuple(said["packs_where"]),
        beside_packs=tuple(said["beside_packs"]),
        listed=said["listed"],
        fields={field: field_of(declared) for field, declared in said["fields"].items()},
    )


KINDS = {name: kind_of(name, said) for name, said in DATA["declared"].items()}


def cases(section: str) -> list[Any]:
    return [pytest.param(case, id=case["why"]) for case in DATA[section]]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    book = open_at(Place(tmp_path_factory.mktemp("rows")), kinds=KINDS)
    with book.session():
        yield book
    book.close()


def standing(book: Book, edits: list[Edit]) -> dict[str, Any] | None:
    """How a record stands once `edits` are folded, and nothing else; None if there is none."""
    book.rows("DELETE FROM record")
    book.projection.fold(book.projection.known(edits))
    rows = book.rows("SELECT kind, id, about, moment, deleted, apart, cells FROM record")
    if not rows:
        return None
    ((kind, record, about, moment, deleted, apart, cells),) = rows
    assert record == edits[0][1]
    shown = {field: merge.value(cell) for field, cell in json.loads(cells).items()}
    places = [] if deleted else [[kind, about, moment]]
    return {"values": shown, "places": places, "removed": bool(deleted), "apart": bool(apart)}


def test_the_kinds_are_declared_as_the_phone_gets_them() -> None:
    assert {name: kind.declare() for name, kind in KINDS.items()} == DATA["declared"]


@pytest.mark.parametrize("case", cases("knows"))
def test_what_is_known(book: Book, case: Any) -> None:
    change = case["change"]
    edit = (change["kind"], RECORD, change["field"], STAMP, "", change["value"])
    found = standing(book, [edit])
    assert (found is not None) is case["is"]
    assert found is None or found["values"] == {change["field"]: change["value"]}


@pytest.mark.parametrize("case", cases("rows"))
def test_how_a_record_stands(book: Book, case: Any) -> None:
    edits: list[Edit] = [
        (one["kind"], case["id"], one["field"], one["stamp"], one["base"], one["value"])
        for one in case["changes"]
    ]
    wanted = case["is"] and {**case["is"], "places": case["is"]["places"][:1]}
    chance = random.Random(1)
    every = list(itertools.permutations(edits))
    for order in [edits, *chance.sample(every, min(len(every), MOST_ORDERS))]:
        assert standing(book, [*order, chance.choice(edits)]) == wanted


@pytest.mark.parametrize("case", cases("packs"))
def test_which_packs_are_made_from_a_record(case: Any) -> None:
    found = packs_of(KINDS[case["kind"]], case["id"], case["values"])
    assert sorted(found) == [tuple(pack) for pack in case["is"]]
