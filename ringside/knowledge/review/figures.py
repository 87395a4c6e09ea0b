"""The figures of a text: those that stand in it, in digits or words, and those that follow."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import isclose

_NAMES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
    " sixteen seventeen eighteen nineteen"
)
_UNITS = {word: value for value, word in enumerate(_NAMES.split())}
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
}  # fmt: skip
_PARTS = {"half": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7}
_PARTS |= {"eighth": 8, "ninth": 9, "tenth": 10, "twelfth": 12, "sixteenth": 16, "eighteenth": 18}
_SIGNS = {
    "½": 1 / 2, "⅓": 1 / 3, "⅔": 2 / 3, "¼": 1 / 4, "¾": 3 / 4, "⅕": 1 / 5, "⅖": 2 / 5, "⅗": 3 / 5,
    "⅘": 4 / 5, "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8,
}  # fmt: skip

_DIGITS = r"\d+(?:[.,]\d+)?"
_FIGURE = re.compile(
    r"(?<![\w.,/])(?:(?P<whole>\d+)[ -]?)?"
    rf"(?:(?P<over>\d+)/(?P<under>\d+)|(?P<sign>[{''.join(_SIGNS)}]))"
    rf"|(?<![\w.,/])(?P<plain>{_DIGITS})"
)
_AND = r"\s*(?:is to|to|by|and|:|/|–|-)\s*"
_PAIR = re.compile(rf"({_DIGITS}){_AND}(?=({_DIGITS}))")
_ONE, _TEN, _PART_OF = ("|".join(words) for words in (_UNITS, _TENS, _PARTS))
_COUNTED = re.compile(rf"\b(?:(?P<ten>{_TEN})(?:[ -](?P<one>{_ONE}))?|(?P<unit>{_ONE}))\b")
_PART = re.compile(rf"\b(?:(?P<count>{_ONE})[ -])?(?P<part>{_PART_OF}|halve)s?\b")
_PERCENT = re.compile(rf"(?:({_DIGITS}){_AND})?({_DIGITS})\s*(?:%|per ?cent)")
_EQUAL = re.compile(r"\b(?:equal\w*|same|square|identical|as (?:long|high|wide|broad|deep) as)\b")
# What may be added to a figure or taken from it stands near one of these, so many signs away.
_OFF = (
    (
        50,
        re.compile(
            r"±|\+ ?/? ?[-–]|tolera|margin|deviat|exception|give or take|either way|more or less"
        ),
    ),
    (
        25,
        re.compile(
            r"\b(?:plus|minus|above|below|over|under|outside|off|exceed\w*|up to|by more)\b"
        ),
    ),
)
_UNIT = re.compile(r"[^.;]{0,12}?(?:cm|centi|mm|milli|\bin\b|inch|kg|kilo|lb|pound)")
# Of two figures that stand apart by a word, such as 60 to 65, the one is no share of the other.
_MOST_IN_A_RATIO = 20
_MOST_TOLERANCE = 6


def figures(text: str) -> list[float]:
    """Return the figures that stand in digits in `text`, in its order."""
    return [_value(found) for found in _FIGURE.finditer(text)]


@dataclass(frozen=True)
class Figures:
    """What a text states, and what a reader gets from it.

    `shares` are ratios and percentages: a share is also what is longer or shorter by it, a pair is
    a ratio, and what is equal is 1 and 100. `near` are figures with a tolerance added or taken off.
    """

    stated: frozenset[float]
    shares: frozenset[float]
    near: frozenset[float]

    def have(self, value: float, unit: str = "") -> bool:
        """Whether a value follows: as a share, as a measure, or, without a unit, as either."""
        is_share = "%" in unit or "ratio" in unit
        known = self.stated | (frozenset() if unit and not is_share else self.shares)
        known |= frozenset() if is_share else self.near
        return any(isclose(value, figure, rel_tol=0.005, abs_tol=0.005) for figure in known)


def figures_of(text: str) -> Figures:
    """Return the figures that stand in `text`, and those that follow from them."""
    text = " ".join(text.casefold().split())
    counted = _COUNTED.sub(_in_digits, text)
    stated = {0.0, *figures(counted), *map(_number, re.findall(_DIGITS, counted)), *_words(text)}
    near = {one + sign * by for one, by, sign in product(stated, _tolerances(counted), (1, -1))}
    shares = {*_parts(text), *(value / 100 for value in _percents(counted))}
    shares |= {value for value in figures(text) if 0 < value < 1}
    ratios = {ratio for one, other in _pairs(counted) for ratio in (one / other, other / one)}
    ratios |= {1.0} if _EQUAL.search(text) else set()
    ratios |= {value for share in shares for value in (share, 1 + share, 1 - share)}
    if 100 in stated:  # as in "height 100, length 108"
        ratios |= {value / 100 for value in stated if 50 <= value <= 150}
    ratios |= {1 / ratio for ratio in ratios if ratio}
    ratios |= {100 * ratio for ratio in ratios}
    return Figures(frozenset(stated), frozenset(ratios), frozenset(near))


def _value(found: re.Match[str]) -> float:
    if found["plain"]:
        return _number(found["plain"])
    part = _SIGNS[found["sign"]] if found["sign"] else _share(found["over"], found["under"])
    return float(found["whole"] or 0) + part


def _share(over: str, under: str) -> float:
    return int(over) / int(under) if int(under) else 0.0


def _number(digits: str) -> float:
    return float(digits.replace(",", "."))


def _in_digits(found: re.Match[str]) -> str:
    if found["unit"]:
        return str(_UNITS[found["unit"]])
    return str(_TENS[found["ten"]] + _UNITS.get(found["one"] or "", 0))


def _words(text: str) -> Iterator[float]:
    yield from (2.0 for _ in re.finditer(r"\b(?:twice|double|both)\b", text))
    yield from (90.0 for _ in re.finditer(r"\bright[- ]angle", text))


def _parts(text: str) -> Iterator[float]:
    for found in _PART.finditer(text):
        count = _UNITS[found["count"]] if found["count"] else 1
        yield count / _PARTS.get(found["part"], 2)


def _percents(text: str) -> Iterator[float]:
    for one, other in _PERCENT.findall(text):
        yield from (_number(digits) for digits in (one, other) if digits)


def _pairs(text: str) -> Iterator[tuple[float, float]]:
    for found in _PAIR.finditer(text):
        one, other = map(_number, found.groups())
        is_ratio = ":" in found[0] or "/" in found[0] or max(one, other) <= _MOST_IN_A_RATIO
        if one and other and is_ratio:
            yield one, other


def _tolerances(text: str) -> set[float]:
    near = (
        text[max(0, found.start() - signs) : found.end() + signs]
        for signs, words in _OFF
        for found in words.finditer(text)
    )
    measures = (
        _value(found)
        for words in near
        for found in _FIGURE.finditer(words)
        if _UNIT.match(words, found.end())
    )
    return {value for value in measures if value <= _MOST_TOLERANCE}
