"""Each breed file against the independent table of its FCI standard (fci/README.md)."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections import Counter
from collections.abc import Iterator
from typing import Any

from ringside.knowledge.schema import Ask, Number, Standard
from tests.each import of_each
from tests.known import shipped
from tests.published.fci.matters import MATTERS, WEAK, without_ask
from tests.support import ROOT

Fact = dict[str, Any]
Row = dict[str, Any]

TABLES = sorted((ROOT / "tests" / "published" / "fci").glob("*.toml"))
FACTS: list[Fact] = [
    fact
    for table in TABLES
    for fact in tomllib.loads(table.read_text(encoding="utf-8"))["standard"]
]
BREEDS = shipped().breeds
WHAT = {"cm": "height at withers", "in": "height at withers", "kg": "weight", "lb": "weight"}
WANTED = ("required", "preferred")


def named(fact: Fact) -> str:
    return str(fact["breed"])


def standard(fact: Fact) -> Standard:
    return next(it for it in BREEDS[fact["breed"]].standard if it.of == "FCI")


def asks(fact: Fact) -> list[Ask]:
    breed = BREEDS[fact["breed"]]
    of_fci = {it.id for it in breed.standard if it.of == "FCI"}
    return [ask for ask in breed.ask if ask.standard in of_fci]


# --- what a text says of itself


def test_every_breed_of_the_fci_has_its_row() -> None:
    assert Counter(map(named, FACTS)) == Counter(
        key for key, breed in BREEDS.items() if breed.fci_number
    )
    assert len(FACTS) == 344


@of_each(FACTS, named)
def test_number_date_group_name_and_face_are_the_texts(fact: Fact) -> None:
    breed, held = BREEDS[fact["breed"]], standard(fact)
    assert held.number == fact["number"]
    assert breed.fci_number == int(fact["number"].split(",")[0])
    assert held.date == fact["date"]
    assert breed.fci_group == fact["group"]
    assert breed.short_faced == ("short" in fact)
    assert plain(fact["name"]) in {plain(name) for name in (breed.name, *breed.also)}


def plain(name: str) -> str:
    letters = unicodedata.normalize("NFKD", name.casefold())
    return re.sub(r"[^a-z0-9]", "", letters)


# --- sizes and weights


@of_each(FACTS, named)
def test_sizes_of_the_text_are_in_the_file(fact: Fact) -> None:
    missing = [row for row in fact["size"] if not held(row, asks(fact), WANTED)]
    assert not missing, told(fact, missing)


@of_each(FACTS, named)
def test_sizes_of_the_file_are_in_the_text(fact: Fact) -> None:
    rows = fact["size"]
    strange = [
        ask
        for ask in asks(fact)
        if ask.weight in WANTED
        and (number := ask.number)
        and number.what in WHAT.values()
        and not any(same(number, ask.variety, row) for row in rows if not row.get("about"))
    ]
    assert not strange, told(fact, rows)


@of_each([it for it in FACTS if "limit" in it], named)
def test_sizes_that_bar_a_dog_are_in_the_file(fact: Fact) -> None:
    missing = [row for row in fact["limit"] if not held(row, asks(fact), ("disqualifying",))]
    assert not missing, told(fact, missing)


@of_each(FACTS, named)
def test_sizes_that_bar_a_dog_are_of_the_text(fact: Fact) -> None:
    rows = [row for row in fact["size"] if not row.get("about")] + fact.get("limit", [])
    ends = rows + [without(row, "only") for row in rows]
    ends += [without(row, "under", "over") for row in rows]
    strange = [
        ask.says
        for ask in asks(fact)
        if ask.weight == "disqualifying"
        and ask.number
        and ask.number.what in WHAT.values()
        and not any(same(ask.number, ask.variety, row) for row in ends)
    ]
    assert strange == []


def without(row: Row, *keys: str) -> Row:
    return {key: value for key, value in row.items() if key not in keys}


def held(row: Row, among: list[Ask], weights: tuple[str, ...]) -> bool:
    """Whether an ask has the range of `row` as its number or, where it is about, in its words."""
    fitting = [ask for ask in among if ask.weight in weights]
    if row.get("about"):
        return in_words(row, fitting)
    sexes = {ask.number.sex for ask in fitting if ask.number and same(ask.number, ask.variety, row)}
    return bool(sexes & {"both", row.get("sex", "both")}) or sexes == {"dog", "bitch"}


def same(number: Number, variety: str, row: Row) -> bool:
    what = row.get("what", WHAT[row["unit"]])
    if (number.what, number.unit) != (what, row["unit"]):
        return False
    if not variety.casefold().startswith(row.get("variety", "").casefold()):
        return False
    sexes = {"dog", "bitch", "both"} if "sex" not in row else {row["sex"], "both"}
    return number.sex in sexes and (number.low, number.high) == span(row)


def span(row: Row) -> tuple[float | None, float | None]:
    """The range that is right without more ado: with a tolerance, unless only some have it."""
    under, over = (0 if row.get("only") else row.get(end, 0) for end in ("under", "over"))
    low, high = row.get("low"), row.get("high")
    return None if low is None else low - under, None if high is None else high + over


def in_words(row: Row, among: list[Ask]) -> bool:
    figures = {row[end] for end in ("low", "high")}
    return any(
        all(figure in figures_of(ask.says) for figure in figures)
        and not (ask.number and {ask.number.low, ask.number.high} == figures)
        for ask in among
    )


def figures_of(says: str) -> set[float]:
    return {float(digits) for digits in re.findall(r"(?<![\d.])\d+(?:\.\d+)?", says)}


# --- what bars a dog


@of_each(FACTS, named)
def test_every_eliminating_fault_has_an_ask_of_its_own(fact: Fact) -> None:
    barring = [f"{ask.point}: {ask.says}" for ask in asks(fact) if ask.weight == "disqualifying"]
    assert without_ask(fact["out"], barring) == []


# --- the table


def test_rows_are_well_formed() -> None:
    for fact in FACTS:
        well_formed(fact)


def well_formed(fact: Fact) -> None:
    assert set(fact) <= {
        "number", "breed", "name", "date", "group", "size", "limit", "out", "short", "eye",
    }  # fmt: skip
    assert re.fullmatch(r"\d{4}(-\d\d-\d\d)?", fact["date"])
    assert set(fact["out"]) <= {*MATTERS, *WEAK}
    assert fact["out"][:2] == ["temperament", "abnormal"]
    for row in [*fact["size"], *fact.get("limit", [])]:
        assert {"low", "high"} & set(row)
        assert row["unit"] in WHAT
        assert row.get("sex", "dog") in ("dog", "bitch")
        assert not (row.get("about") and set(row) & {"under", "over", "only"})


def told(fact: Fact, rows: list[Row]) -> str:
    numbers = (ask for ask in asks(fact) if ask.point == "size")
    return "\n".join(
        [f"{fact['breed']}: the text has", *map(str, rows), "the file", *lines(numbers)]
    )


def lines(among: Iterator[Ask]) -> Iterator[str]:
    for ask in among:
        number = ask.number.model_dump(exclude_none=True) if ask.number else ""
        yield f"{ask.weight}{ask.variety and f' ({ask.variety})'}: {ask.says} {number}"


# --- size, as `ringside/knowledge/breeds/README.md` has it decided

# Texts without a height or a weight, by what they say of size.
IN_WORDS = {"mastiff": "large", "bull-terrier": "medium", "dachshund": "small"}
BOUNDS = {"cm": (40, 60), "kg": (12, 40)}
METRIC = {"in": ("cm", 2.54), "lb": ("kg", 0.45359237)}


def size_of(rows: list[Row]) -> str | None:
    """The size by the middle of all figures, heights before weights."""
    figures: dict[str, list[float]] = {"cm": [], "kg": []}
    for row in rows:
        unit, factor = METRIC.get(row["unit"], (row["unit"], 1))
        if unit in figures and "what" not in row:
            figures[unit] += [row[edge] * factor for edge in ("low", "high") if edge in row]
    for unit, (small, large) in BOUNDS.items():
        if held := figures[unit]:
            middle = (min(held) + max(held)) / 2
            return "small" if middle < small else "large" if middle >= large else "medium"
    return None


@of_each(FACTS, named)
def test_size_follows_the_heights_of_the_text(fact: Fact) -> None:
    breed, rows = BREEDS[fact["breed"]], fact.get("size", [])
    kinds = {row["variety"] for row in rows if "variety" in row}
    by_kind = {kind: size_of([it for it in rows if it.get("variety") == kind]) for kind in kinds}
    if len(set(by_kind.values())) > 1:
        assert breed.size is None
        told = {it.name.split(",")[0]: it.size for it in breed.varieties if it.size}
        assert told == by_kind
    else:
        size = next(iter(by_kind.values()), None) or size_of(rows)
        assert breed.size == (size or IN_WORDS[fact["breed"]])
        assert not any(it.size for it in breed.varieties)
