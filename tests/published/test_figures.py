"""Figures of breed files that stand otherwise in the text: judged by hand, reckoned again here."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests.known import shipped
from tests.support import ROOT

TABLE = ROOT / "tests" / "published" / "fci_figures.toml"
JUDGED: dict[str, list[Any]] = tomllib.loads(TABLE.read_text(encoding="utf-8"))
BREEDS = shipped().breeds


def number_of(row: Any) -> Any:
    ask = next(ask for ask in BREEDS[row["breed"]].ask if ask.says == row["says"])
    assert ask.number is not None
    return ask.number


def rounded(share: str, like: float) -> Decimal:
    """A share of the text, with as many places as the file has."""
    exact = Fraction(share)
    places = Decimal(str(like))
    return (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(places)


@pytest.mark.parametrize("row", JUDGED["figure"], ids=lambda row: f"{row['breed']}: {row['says']}")
def test_a_figure_is_that_of_the_text_rounded(row: Any) -> None:
    number = number_of(row)
    for edge in ("low", "high"):
        given, held = row.get(edge), getattr(number, edge)
        assert (given is None) == (held is None)
        if given is not None:
            scale = 100 if number.unit.startswith("%") else 1
            assert rounded(str(Fraction(given) * scale), held) == Decimal(str(held)), edge
    assert len(row["reason"]) > 10


@pytest.mark.parametrize("row", JUDGED["count"], ids=lambda row: row["breed"])
def test_as_many_asks_eliminate_as_the_text_lists(row: Any) -> None:
    breed = BREEDS[row["breed"]]
    of_fci = {standard.id for standard in breed.standard if standard.of == "FCI"}
    out = [ask for ask in breed.ask if ask.standard in of_fci and ask.weight == "disqualifying"]
    assert len(out) == row["disqualifying"]


def test_each_finding_was_judged_once() -> None:
    told = [(row["breed"], row["says"]) for row in JUDGED["figure"]]
    assert len(told) == len(set(told)) == 92
    assert len(JUDGED["count"]) == 5
