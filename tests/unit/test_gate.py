"""The gate check over all bodies and breeds: what bars reaches it, and nothing is said twice."""

from __future__ import annotations

from itertools import product
from typing import Any, get_args

import pytest

from ringside.domain import eligibility, gate
from ringside.domain.dog import Dog
from ringside.domain.eligibility.bars import stands_for
from ringside.domain.limits import limits
from ringside.domain.pack import rules_book
from ringside.domain.says import sentence
from ringside.knowledge.regulation_schema import Kind
from ringside.knowledge.schema import Sex
from tests.known import shipped

KNOWLEDGE = shipped()
RULES = KNOWLEDGE.regulations
BOOK = rules_book(KNOWLEDGE)
LISTED = BOOK["gate"]["items"]
ENTRY = {"armband": "12", "ring": "3", "time": "10:20"}
# Answered by what is on the dog's record, with findings of their own.
ON_RECORD = {"testes"}
FOLLOWS = {"may not": "wrong", "may if": "unknown", "may": "advice"}
GRAVEST = ("may not", "may if", "may")


def bars_of(body: str, dog: Dog, klass: str | None = None, kind: str | None = None) -> Any:
    return eligibility.bars_for(BOOK["bars"][body], dog, klass=klass, kind=kind, day=None)


@pytest.mark.parametrize("body", RULES)
def test_every_bar_is_asked_about_at_the_gate(body: str) -> None:
    """By exactly one row, or by what is on the dog's record; under age is said with the class."""
    asked = [question for item in LISTED for question in item.get("bars", ())]
    assert len(asked) == len(set(asked))
    for bar in RULES[body].bar:
        assert bar.question is None or bar.question in {*asked, *ON_RECORD}, bar.id
        assert bar.question or bar.under, bar.id


@pytest.mark.parametrize("body", RULES)
def test_what_is_packed_bars_what_the_text_bars(body: str) -> None:
    """In every class at every kind of show."""
    dog = Dog()
    classes = [item.id for item in RULES[body].classes]
    for klass, kind in product(classes, (None, *get_args(Kind))):
        kinds = frozenset([kind]) if kind else None
        wanted = {}
        for bar in RULES[body].bar:
            stands = stands_for(bar, klass, kinds) if bar.question else None
            if stands:
                wanted[bar.question] = (stands[0], stands[1] if stands[0] == "may if" else None)
        found = {bar["question"]: (bar["verdict"], bar["asks"])
                 for bar in bars_of(body, dog, klass, kind)}  # fmt: skip
        assert found == wanted, (klass, kind)


@pytest.mark.parametrize(("body", "sex"), list(product(RULES, get_args(Sex))))
def test_what_is_denied_follows_the_gravest_bar(body: str, sex: Sex) -> None:
    items = gate.items_of(LISTED, ENTRY, [], bars_of(body, Dog(sex=sex)))
    for item in (one for one in items if one["bars"]):
        sorted_out = gate.sort_out([], [item], {item["id"]: "not ready"})
        verdicts = [bar["verdict"] for bar in item["bars"]]
        state = FOLLOWS[min(verdicts, key=GRAVEST.index)]
        if state == "advice":
            assert [point["id"] for point in sorted_out["advice"]] == [item["id"]]
            assert (sorted_out["wrong"], sorted_out["todo"]) == ([], 0)
            continue
        (point,) = sorted_out["wrong"]
        assert (point["state"], point["words"]) == (state, item["denied"])
        assert [bar["why"] for bar in item["bars"]] == [
            said for said in point["why"] if isinstance(said, str)
        ]
        assert sorted_out["todo"] == (state == "unknown")


def test_a_lame_dog_is_wrong_under_every_body() -> None:
    for body in RULES:
        items = gate.items_of(LISTED, ENTRY, [], bars_of(body, Dog(sex="bitch")))
        sorted_out = gate.sort_out([], items, {"sound": "not ready"})
        assert [point["words"] for point in sorted_out["wrong"]] == ["Lame or unwell"]


def measured(value: float) -> list[dict[str, Any]]:
    return [
        {"what": what, "value": value, "unit": unit, "day": "2026-03-04"}
        for what, unit in (("weight", "kg"), ("height", "cm"))
    ]


@pytest.mark.parametrize(("body", "sex"), list(product(RULES, get_args(Sex))))
def test_nothing_stands_twice_and_advice_never_counts(body: str, sex: Sex) -> None:
    """Of a dog of every breed, not measured, far too small and far too large, by its words."""
    code = RULES[body].body
    for breed, values in product(sorted(KNOWLEDGE.breeds), ((), (1.0,), (200.0,))):
        dog = Dog(breed=breed, sex=sex)
        bars = bars_of(body, dog)
        measures = [one for value in values for one in measured(value)]
        found = gate.findings(
            None, dog, body=code, klass=None, bars=bars, measures=measures,
            limits=limits(KNOWLEDGE.breeds[breed], sex),
        )  # fmt: skip
        items = gate.items_of(LISTED, ENTRY, [{"id": "k1", "line": "Spare lead"}], bars)
        for states in ({}, {item["id"]: "not ready" for item in items}):
            said = gate.sort_out(found, items, states)
            points = [
                point for part in ("wrong", "rows", "advice", "right") for point in said[part]
            ]
            ids = [point["id"] for point in points]
            words = [sentence(BOOK["says"], point["words"]) for point in points]
            assert len(ids) == len(set(ids)) == len(found) + len(items), (breed, ids)
            assert len(words) == len(set(words)), (breed, words)
        ticked = {point["id"]: "ready" for point in gate.sort_out(found, items, {})["rows"]}
        done = gate.sort_out(found, items, ticked)
        assert done["todo"] == 0
        assert all(point in found for point in done["wrong"])
