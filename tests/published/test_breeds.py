"""The breed files against the independent table of published values (see README.md here)."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from typing import Any

import pytest

from ringside.knowledge.schema import Ask, Breed, Number
from tests.each import of_each
from tests.known import shipped
from tests.support import ROOT

Row = dict[str, Any]
Key = tuple[str, str, str, str, str]

TABLE = ROOT / "tests" / "published" / "breed_values.toml"
ROWS: list[Row] = tomllib.loads(TABLE.read_text(encoding="utf-8"))["value"]
BREEDS = shipped().breeds
FEWEST_ROWS = 8
BREEDS_OF_THE_TABLE = 34  # the others are held to the FCI's texts by test_fci.py

# The international yard and pound agreement of 1959; shares as a part of one.
EXACT = {"in": 2.54, "cm": 1.0, "lb": 0.45359237, "kg": 1.0}
EXACT |= {"ratio": 1.0, "percent": 0.01, "% of height": 0.01}
LENGTH, MASS, SHARE = {"in", "cm"}, {"lb", "kg"}, {"ratio", "percent", "% of height"}

# What the table calls a number, by kind of unit, and what the breed files call it.
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
# The table's names of sizes judged apart, where the breed files have another.
VARIETIES = {
    ("beagle", "13 inch"): "Thirteen inch",
    ("beagle", "15 inch"): "Fifteen inch",
    ("boston-terrier", "under 15"): "Light class",
    ("boston-terrier", "15 to under 20"): "Middle class",
    ("boston-terrier", "20 to 25"): "Heavy class",
    ("papillon", "under 2.5 kg"): "Light class",
    ("papillon", "over 2.5 kg"): "Heavier class",
}
# How our lines call the sexes, and the units that they write out.
SEXED = {"dog": r"\b(?:dogs?|males?)\b", "bitch": r"\b(?:bitch(?:es)?|females?)\b"}
WORDS = {"in": "in(?:ch(?:es)?)?", "lb": "pounds?"}
# Rows whose note allows another station, and the one where our breed file has it.
ELSEWHERE: dict[Key, str] = {
    ("rhodesian-ridgeback", "AKC", "ridgeless", "both", ""): "coat",
}
# Words that a breed file says in more than one ask of the station: a line for each on the card.
SPREAD: set[Key] = {
    ("beagle", "FCI", "tail", "both", ""),
    ("border-collie", "FCI", "eyes", "both", ""),
    ("border-terrier", "FCI", "tail", "both", ""),
    ("bulldog", "FCI", "nose", "both", ""),
    ("dachshund", "FCI", "coat", "both", ""),
    ("english-cocker-spaniel", "FCI", "eyes", "both", ""),
    ("golden-retriever", "FCI", "colour", "both", ""),
    ("papillon", "FCI", "ears", "both", ""),
    ("pekingese", "FCI", "nostrils", "both", ""),
    ("pembroke-welsh-corgi", "AKC", "whitely", "both", ""),
    ("poodle", "FCI", "coat", "both", ""),
    ("shiba", "FCI", "colour", "both", ""),
    ("shih-tzu", "FCI", "nostrils", "both", ""),
    ("staffordshire-bull-terrier", "FCI", "colour", "both", ""),
    ("staffordshire-bull-terrier", "FCI", "tail", "both", ""),
}
# Rows, or with "date" dates of a standard, that the breed files hold otherwise on purpose: why.
EXCEPTIONS: dict[Key, str] = {
    ("cardigan-welsh-corgi", "AKC", "bite", "both", ""): (
        "the row is from memory; the clause as quoted from the text prefers a scissor bite, calls "
        "overshot, undershot and wry serious, and does not speak of a level bite"
    ),
}


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
    if "station" in row:
        asks = [ask for ask in asks if ask.point == ELSEWHERE.get(key(row), row["station"])]
    if "words" in row:
        texts = [ask.says for ask in asks]
        if key(row) in SPREAD:
            texts = [" ".join(texts)]
        if any(says_all(text, row["words"]) for text in texts):
            return None
    elif is_ideal(row):
        if any(names_all(ask.says, row) for ask in asks) and not any(is_point(ask) for ask in asks):
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
    fitting = [ask for ask in asks if ask.variety.lower() == variety.lower() and agrees(ask, row)]
    sexes = {ask.number.sex for ask in fitting if ask.number}
    return "both" in sexes or row["sex"] in sexes or sexes == {"dog", "bitch"}


def agrees(ask: Ask, row: Row) -> bool:
    number = ask.number
    assert number
    # A limit stands alone: whether there is another at the other end is for another row.
    ends = [end for end in ("low", "high") if end in row or row["what"] != "size_limit"]
    return all(same(getattr(number, end), number.unit, row.get(end), row["unit"]) for end in ends)


def is_ideal(row: Row) -> bool:
    """Whether a row is an ideal, an average or "about": said in words, and no limit of a range."""
    return bool(row.get("ideal"))


def is_point(ask: Ask) -> bool:
    """Whether a height or weight has a number of one point, off which every dog would be."""
    number = ask.number
    return bool(number and number.unit in LENGTH | MASS and number.low == number.high)


def names_all(says: str, row: Row) -> bool:
    """Whether a line tells the figures of an ideal, of the row's sex where it tells sexes apart."""
    parts = re.split(rf"(?={'|'.join(SEXED.values())})", says.lower())
    kept = [part for part in parts if row["sex"] == "both" or not of_other_sex(part, row["sex"])]
    text = "".join(kept)
    figures = {row[end] for end in ("low", "high") if end in row}
    last = max(figures)
    return names_figure(text, last, row["unit"]) and all(
        re.search(rf"(?<![\d.,]){re.escape(f'{figure:g}')}(?![\d.,]*\d)", text)
        for figure in figures - {last}
    )


def of_other_sex(part: str, sex: str) -> bool:
    return any(re.match(words, part) for other, words in SEXED.items() if other != sex)


def names_figure(text: str, figure: float, unit: str) -> bool:
    """Whether a figure is said with its unit; a length in percent of the height, or as its excess
    or ratio too.
    """
    said = [rf"{re.escape(f'{figure:g}')} {WORDS.get(unit, unit)}\b"]
    if unit == "% of height":
        said += [rf"{figure - 100:g} percent longer\b", rf"{figure / 100:g} to 1\b"]
    return any(re.search(rf"(?<![\d.,]){words}", text) for words in said)


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


@of_each(ROWS, named)
def test_published_value(row: Row) -> None:
    missing = complaint(row)
    if key(row) in EXCEPTIONS:
        assert missing, f"{named(row)}: holds now; take it out of EXCEPTIONS"
    else:
        assert missing is None, missing


DATED = sorted(
    {(row["breed"], row["body"], row["standard"], row["date"]) for row in ROWS if row["date"]}
)


@of_each(DATED)
def test_the_standard_is_the_dated_one(dated: tuple[str, str, str, str]) -> None:
    breed, of, standard, date = dated
    held = next(item for item in BREEDS[breed].standard if item.of == of)
    if of == "FCI":
        assert standard == f"FCI-Standard No {held.number}", f"{breed}: number of the standard"
    if (breed, of, "date", "both", "") in EXCEPTIONS:
        assert held.date != date, f"{breed}, {of}: the date agrees; take it out of EXCEPTIONS"
    else:
        message = f"{breed}, {of}: the text is of {date} in the table, of {held.date!r} in ours"
        assert held.date == date, message


# --- the table and its exceptions


def test_every_breed_of_the_table_has_enough_rows() -> None:
    rows = Counter(row["breed"] for row in ROWS)
    assert len(rows) == BREEDS_OF_THE_TABLE
    assert set(rows) <= set(BREEDS)
    assert {breed: count for breed, count in rows.items() if count < FEWEST_ROWS} == {}


@of_each(ROWS, named)
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
    kinds = Counter((key(row), "words" in row) for row in ROWS)
    assert [one for one, count in kinds.items() if count > 1] == []
    keys = Counter(map(key, ROWS))
    special = SPREAD | set(ELSEWHERE) | set(EXCEPTIONS)
    assert [one for one in special if keys[one] > 1] == []


def test_every_list_of_special_rows_names_rows() -> None:
    rows = {key(row) for row in ROWS}
    dates = {(row["breed"], row["body"], "date", "both", "") for row in ROWS if row["date"]}
    assert set(EXCEPTIONS) <= rows | dates
    assert SPREAD | set(ELSEWHERE) <= rows
    assert set(VARIETIES) <= {(row["breed"], row["variety"]) for row in ROWS}


def test_exceptions_are_few_and_reasoned() -> None:
    assert len(EXCEPTIONS) < 10
    assert all(len(reason.split()) > 5 for reason in EXCEPTIONS.values())


@of_each([row for row in ROWS if key(row) in SPREAD], named)
def test_spread_words_are_in_no_single_ask(row: Row) -> None:
    breed = BREEDS[row["breed"]]
    asks = [ask for ask in breed.ask if body(breed, ask) == row["body"]]
    single = [
        ask.says for ask in asks if ask.point == row["station"] and says_all(ask.says, row["words"])
    ]
    assert single == [], "one ask says it all; take the row out of SPREAD"


def test_what_a_note_allows_stands_in_it() -> None:
    notes = {key(row): row["note"] for row in ROWS}
    for row, station in ELSEWHERE.items():
        assert station in notes[row], row
