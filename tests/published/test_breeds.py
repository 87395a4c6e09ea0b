"""The breed files against the independent table of published values (see README.md here)."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest

from ringside.knowledge.loader import load
from ringside.knowledge.schema import Ask, Breed, Number
from tests.support import ROOT

Row = dict[str, Any]
Key = tuple[str, str, str, str, str]
Bounds = tuple[float | None, float | None]

TABLE = ROOT / "tests" / "published" / "breed_values.toml"
ROWS: list[Row] = tomllib.loads(TABLE.read_text(encoding="utf-8"))["value"]
BREEDS = load().breeds
FEWEST_ROWS = 8

# The international yard and pound agreement of 1959; shares as a part of one.
EXACT = {"in": 2.54, "cm": 1.0, "lb": 0.45359237, "kg": 1.0}
EXACT |= {"ratio": 1.0, "percent": 0.01, "% of height": 0.01}
LENGTH, MASS, SHARE = {"in", "cm"}, {"lb", "kg"}, {"ratio", "percent", "% of height"}

# What the table calls a number, by kind of unit, and what the breed files call it.
SIZES = ("size_limit", "height", "height_ideal", "height_extreme", "weight", "weight_ideal")
KINDS: dict[str, tuple[set[str], set[str]]] = {
    "height": (LENGTH, {"height at withers"}),
    "weight": (MASS, {"weight"}),
    "chest": (LENGTH, {"chest girth"}),
    "body_length": (SHARE, {"body length", "length to height", "withers to tail base"}),
    "ear_distance": (LENGTH, {"distance between ears"}),
    "muzzle": (LENGTH, {"muzzle length"}),
    "tail": (LENGTH, {"tail length"}),
    "ridge_width": (LENGTH, {"ridge width"}),
    "white": (SHARE, {"white share of coat"}),
}
# The table's names of sizes judged apart, and the breed files' own.
VARIETIES: dict[tuple[str, str], str] = {}
# Rows whose note says that the same bound is printed rounded differently, and that figure.
ROUNDED: dict[Key, dict[str, float]] = {}
# Rows, or with "date" dates of a standard, that the breed files hold otherwise on purpose: why.
EXCEPTIONS: dict[Key, str] = {}


def key(row: Row) -> Key:
    return row["breed"], row["body"], row["what"], row["sex"], row["variety"]


def named(row: Row) -> str:
    return "-".join(part for part in key(row) if part not in ("", "both")).replace(" ", "_")


# --- what a breed file lacks


def complaint(row: Row) -> str | None:
    """Return why `row` does not hold in its breed file, or None where it does."""
    breed = BREEDS[row["breed"]]
    if row["what"] in ("fci_number", "fci_group"):
        held = getattr(breed, row["what"])
        same = row["low"] == row["high"] == held
        return None if same else f"{row['breed']}: {row['what']} {row['low']} wanted, is {held}"
    asks = [ask for ask in breed.ask if body(breed, ask) == row["body"]]
    if "weight" in row:
        asks = [ask for ask in asks if ask.weight == row["weight"]]
    if "words" in row:
        asks = [ask for ask in asks if ask.point == row["station"]]
        if any(says_all(ask.says, row["words"]) for ask in asks):
            return None
    else:
        asks = [ask for ask in asks if ask.number and of_kind(ask.number, row)]
        if holds_number(asks, row):
            return None
    return f"{row['breed']}: {wanted(row)}\n  asks found:{''.join(map(shown, asks)) or ' none'}"


def body(breed: Breed, ask: Ask) -> str:
    return next(standard.of for standard in breed.standard if standard.id == ask.standard)


def says_all(text: str, groups: list[list[str]]) -> bool:
    return all(any(word.lower() in text.lower() for word in group) for group in groups)


def kind(row: Row) -> tuple[set[str], set[str]]:
    """Return the units and the breed files' names of what `row` measures."""
    if row["what"] in ("size_limit", "weight_class"):
        return KINDS["height" if row["unit"] in LENGTH else "weight"]
    return KINDS[row["what"].removesuffix("_ideal").removesuffix("_extreme")]


def of_kind(number: Number, row: Row) -> bool:
    units, names = kind(row)
    assert row["unit"] in units, f"{named(row)}: {row['unit']} does not measure a {row['what']}"
    return number.what in names and number.unit in units


def holds_number(asks: list[Ask], row: Row) -> bool:
    variety = VARIETIES.get((row["breed"], row["variety"]), row["variety"])
    fitting = [ask for ask in asks if ask.variety == variety and agrees(ask, row)]
    sexes = {ask.number.sex for ask in fitting if ask.number}
    return "both" in sexes or row["sex"] in sexes or sexes == {"dog", "bitch"}


def agrees(ask: Ask, row: Row) -> bool:
    number = ask.number
    assert number
    if row["what"].endswith("_ideal") and f"{row['low']:g} {row['unit']}" in ask.says:
        return True  # an ideal may stand in the words beside its range
    rounded = ROUNDED.get(key(row), {})
    return all(
        same(getattr(number, end), number.unit, row.get(end), row["unit"])
        or (end in rounded and same(getattr(number, end), number.unit, rounded[end], row["unit"]))
        for end in ("low", "high")
    )


def same(one: float | None, one_unit: str, other: float | None, other_unit: str) -> bool:
    if one is None or other is None:
        return one is other
    return one * EXACT[one_unit] == pytest.approx(other * EXACT[other_unit], rel=1e-9)


def wanted(row: Row) -> str:
    where = f"{row['body']} of {row['date'] or 'unknown date'}"
    weight = f", {row['weight']}" if "weight" in row else ""
    if "words" in row:
        words = " and ".join(" or ".join(map(repr, group)) for group in row["words"])
        return f"no ask ({where}) at {row['station']}{weight} with {words}; {row['note']}"
    bounds = f"low {row.get('low', 'none')}, high {row.get('high', 'none')} {row['unit']}"
    whom = ", ".join(part for part in (row["sex"], row["variety"]) if part)
    return f"no number ({where}) {row['what']}: {bounds} ({whom}{weight}); {row['note']}"


def shown(ask: Ask) -> str:
    number = ask.number
    bounds = (
        f" [{number.what}: low {number.low}, high {number.high} {number.unit}, {number.sex}]"
        if number
        else ""
    )
    variety = f" ({ask.variety})" if ask.variety else ""
    return f"\n    {ask.standard}, {ask.point}, {ask.weight}{variety}: {ask.says}{bounds}"


# --- the rows


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_published_value(row: Row) -> None:
    missing = complaint(row)
    if key(row) in EXCEPTIONS:
        assert missing, f"{named(row)}: holds now; take it out of EXCEPTIONS"
    else:
        assert missing is None, missing


def dated() -> Iterator[Any]:
    seen = {(row["breed"], row["body"], row["standard"], row["date"]) for row in ROWS}
    for breed, of, standard, date in sorted(seen):
        if date:
            yield pytest.param(breed, of, standard, date, id=f"{breed}-{of}")


@pytest.mark.parametrize(("breed", "of", "standard", "date"), dated())
def test_the_standard_is_the_dated_one(breed: str, of: str, standard: str, date: str) -> None:
    held = next(item for item in BREEDS[breed].standard if item.of == of)
    if of == "FCI":
        assert standard == f"FCI-Standard No {held.number}", f"{breed}: number of the standard"
    if (breed, of, "date", "both", "") in EXCEPTIONS:
        assert held.date != date, f"{breed}, {of}: the date agrees; take it out of EXCEPTIONS"
    else:
        assert held.date == date, f"{breed}, {of}: the table's text is of {date}, ours of this"


# --- the table and its exceptions


def test_every_breed_has_enough_rows() -> None:
    rows = Counter(row["breed"] for row in ROWS)
    assert set(rows) == set(BREEDS)
    assert {breed: count for breed, count in rows.items() if count < FEWEST_ROWS} == {}


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_a_row_says_one_thing_and_where_it_was_read(row: Row) -> None:
    assert row["note"].strip()
    assert row["sex"] in ("dog", "bitch", "both")
    if "words" in row:
        assert not {"low", "high", "unit"} & set(row)
        assert row["station"]
        assert row["words"]
        assert all(group and all(word.strip() for word in group) for group in row["words"])
    else:
        assert {"low", "high"} & set(row)


def test_rows_can_be_told_apart() -> None:
    assert [one for one, count in Counter(map(key, ROWS)).items() if count > 1] == []


def test_exceptions_name_rows_and_reasons() -> None:
    rows = {key(row) for row in ROWS}
    dates = {(row["breed"], row["body"], "date", "both", "") for row in ROWS if row["date"]}
    assert set(EXCEPTIONS) <= rows | dates
    assert all(len(reason.split()) > 3 for reason in EXCEPTIONS.values())


def test_a_rounded_figure_stands_in_the_note_of_its_row() -> None:
    notes = {key(row): row["note"] for row in ROWS}
    for row, figures in ROUNDED.items():
        for figure in figures.values():
            assert f"{figure:g}" in notes[row], row
