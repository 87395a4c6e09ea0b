"""The shared vectors in Python: what the phone must give too (tests/browser/test_vectors.py)."""

from __future__ import annotations

import itertools
import json
import random
from typing import Any

import pytest

from ringside.book import clock, merge
from ringside.book.kinds import declaration, fields
from ringside.book.kinds.fields import Field
from ringside.domain.exam import Own, personalise
from tests.support import ROOT

VECTORS = ROOT / "tests" / "vectors"
MOST_ORDERS = 200


def cases(name: str, section: str) -> list[Any]:
    data = json.loads((VECTORS / f"{name}.json").read_text(encoding="utf-8"))
    return [pytest.param(case, id=case["why"]) for case in data[section]]


def card() -> Any:
    return json.loads((VECTORS / "own_order.json").read_text(encoding="utf-8"))["card"]


# --- the clock


@pytest.mark.parametrize("case", cases("clock", "tick"))
def test_tick(case: Any) -> None:
    assert clock.tick(case["last"], case["now"], case["by"]) == case["is"]
    assert case["is"] > case["last"]


@pytest.mark.parametrize("case", cases("clock", "later"))
def test_later(case: Any) -> None:
    assert clock.later(case["one"], case["other"]) == case["is"]


@pytest.mark.parametrize("case", cases("clock", "parts"))
def test_parts(case: Any) -> None:
    assert (clock.ms(case["stamp"]), clock.node(case["stamp"])) == (case["ms"], case["node"])


@pytest.mark.parametrize("case", cases("clock", "nodes"))
def test_node_of(case: Any) -> None:
    assert clock.node_of(case["device"]) == case["node"]


@pytest.mark.parametrize("case", cases("clock", "order"))
def test_order(case: Any) -> None:
    assert sorted(case["stamps"]) == case["stamps"]


@pytest.mark.parametrize("case", cases("clock", "form"))
def test_form(case: Any) -> None:
    assert bool(clock.STAMP.fullmatch(case["stamp"])) is case["fits"]


# --- the merge


def folded(changes: list[Any], is_text: bool) -> merge.Cell:
    cell: merge.Cell | None = None
    for change in changes:
        cell = merge.fold(cell, change["stamp"], change["base"], change["value"], is_text)
    assert cell is not None
    return cell


def orders(changes: list[Any]) -> list[list[Any]]:
    """Every order of a few changes, many of more; each with a replay of one change."""
    every = [list(order) for order in itertools.islice(itertools.permutations(changes), 5000)]
    chance = random.Random(1)
    some = chance.sample(every, min(len(every), MOST_ORDERS))
    return [[*order, chance.choice(order)] for order in some]


@pytest.mark.parametrize("case", cases("merge", "folds"))
def test_fold(case: Any) -> None:
    cell = folded(case["changes"], case["text"])
    seen = merge.value(cell), merge.apart(cell), merge.winner(cell), merge.base(cell)
    assert seen == (case["shown"], case["apart"], case["winner"], case["base"])
    if case.get("any_order", True):
        for order in orders(case["changes"]):
            assert folded(order, case["text"]) == cell


@pytest.mark.parametrize("case", cases("merge", "cells"))
def test_cell(case: Any) -> None:
    assert folded(case["changes"], case["text"]) == case["cell"]


@pytest.mark.parametrize("case", cases("merge", "joins"))
def test_join(case: Any) -> None:
    assert merge.join(case["one"], case["other"]) == case["is"]
    assert merge.join(case["other"], case["one"]) == case["is"]


@pytest.mark.parametrize("case", cases("merge", "folds"))
def test_cells_folded_apart_join_to_what_all_give(case: Any) -> None:
    changes, is_text = case["changes"], case["text"]
    whole = folded(changes, is_text)
    for cut in range(1, len(changes)):
        assert merge.join(folded(changes[:cut], is_text), folded(changes[cut:], is_text)) == whole


@pytest.mark.parametrize("case", cases("merge", "none"))
def test_no_cell(case: Any) -> None:
    assert merge.base(None) == case["base"]


def test_folding_leaves_the_cell_it_was_given_alone() -> None:
    before = {"seen": {"0000000000aa": "1"}, "heads": {"1": "text"}}
    copy = json.loads(json.dumps(before))
    merge.fold(before, f"{5:012x}-0000-0000000000aa", "", "other", is_text=True)
    assert before == copy


# --- the fields

MADE: dict[str, Any] = {
    "words": lambda declared: fields.Words(declared["most"]),
    "text": lambda declared: fields.FreeText(),
    "choice": lambda declared: fields.Choice(tuple(declared["of"])),
    "day": lambda declared: fields.Day(),
    "instant": lambda declared: fields.Instant(),
    "flag": lambda declared: fields.Flag(),
    "number": lambda declared: fields.Number(declared["most"]),
    "ref": lambda declared: fields.Ref(declared["to"]),
    "list": lambda declared: fields.WordList(),
}


def test_every_type_has_its_cases() -> None:
    kinds = declaration().values()
    declared = {field["type"] for kind in kinds for field in kind["fields"].values()}
    tried = {case.values[0]["declared"]["type"] for case in cases("check", "cases")}
    assert declared <= tried


def spelt_out(value: Any) -> Any:
    if isinstance(value, dict) and set(value) == {"repeat"}:
        text, times = value["repeat"]
        return text * times
    if isinstance(value, dict) and set(value) == {"list"}:
        text, times = value["list"]
        return [text] * times
    return [spelt_out(item) for item in value] if isinstance(value, list) else value


@pytest.mark.parametrize("case", cases("check", "cases"))
def test_check(case: Any) -> None:
    field: Field = MADE[case["declared"]["type"]](case["declared"])
    assert field.declare() == case["declared"]
    assert field.problem(spelt_out(case["value"])) == case["problem"]


# --- the handler's own order


@pytest.mark.parametrize("case", cases("own_order", "cases"))
def test_own_order(case: Any) -> None:
    own = case["own"]
    made = personalise(card(), Own(tuple(own["order"]), own["cues"], own["asks"]))
    phases = made["phases"]
    assert [[station["id"] for station in phase["stations"]] for phase in phases] == case[
        "stations"
    ]
    stations = {station["id"]: station for phase in phases for station in phase["stations"]}
    for part in ("cues", "asks"):
        assert {key: stations[key][part] for key in case.get(part, {})} == case.get(part, {})
