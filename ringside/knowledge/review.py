"""Look the knowledge over: what contradicts itself, what has grown old, what is from memory.

Pure: the day is given. A contradiction is an error in the files; the rest are notes for whoever
keeps them. That every fact names its source, and that no low is above its high, the loader and the
schema have made sure of before.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from ringside.knowledge.loader import Knowledge
from ringside.knowledge.schema import Ask, Breed, Number, Source

OLD_YEARS = 5

# Units that measure the same, and how many of the first make one of the second.
_IN_BASE: Mapping[str, tuple[str, float]] = {
    "kg": ("kg", 1),
    "g": ("kg", 0.001),
    "lb": ("kg", 0.453_592_37),
    "oz": ("kg", 0.028_349_523_125),
    "cm": ("cm", 1),
    "mm": ("cm", 0.1),
    "in": ("cm", 2.54),
}
# A standard rounds when it gives the same measure in two units.
_ROUNDING = 0.02

# How a bite is named. Jaws and lips are called level too, which says nothing of the teeth.
_LEVEL_ELSE = re.compile(
    r"\b(?:lips?|jaws?)(?: are| is)? level\b|\blevel,? (?:\w+ )?(?:jaw|lip)s?\b"
)
_BITES: Mapping[str, re.Pattern[str]] = {
    "scissors": re.compile(r"\bscissors?\b"),
    "level": re.compile(r"\blevel\b|\bpincers?\b|\bbites? even\b|\beven bites?\b"),
    "undershot": re.compile(r"\bunder-?shot\b|\bunderbite\b"),
    "overshot": re.compile(r"\bover-?shot\b|\boverbite\b"),
}
_CLAUSE = re.compile(r"[;:.]|\bbut\b")
_DENIES = re.compile(r"\b(?:not|no|never|nor|neither|without|any bite|other than|faulty|fault)\b")
_ALLOWS = re.compile(
    r"\b(?:accepted|acceptable|allowed|permitted|permissible|tolerated|admitted|may|preferred)\b"
)


@dataclass(frozen=True)
class Review:
    """What was found. Texts are listed by body, asks from memory by breed."""

    contradictions: tuple[str, ...]
    old: Mapping[str, tuple[str, ...]]
    undated: Mapping[str, tuple[str, ...]]
    memory: Mapping[str, int]


def review(knowledge: Knowledge, today: date) -> Review:
    """Look over all that is known, as of `today`."""
    found = list(texts(knowledge))
    asks = ((breed.name, ask.read) for breed in knowledge.breeds.values() for ask in breed.ask)
    memory = Counter(name for name, read in asks if read == "memory")
    return Review(
        contradictions=tuple(
            f"{key}.toml: {problem}"
            for key, breed in sorted(knowledge.breeds.items())
            for problem in (*_ranges_apart(breed), *_bites_apart(breed))
        ),
        old=_by_body(text for text in found if text.date and _is_old(text.date, today)),
        undated=_by_body(text for text in found if not text.date),
        memory=dict(sorted(memory.items())),
    )


def texts(knowledge: Knowledge) -> Iterator[Source]:
    """Return every published text the knowledge rests on, each once."""
    everything: list[Source] = list(knowledge.sources.values())
    everything += [text for breed in knowledge.breeds.profiles.values() for text in breed.standard]
    everything += [edition for item in knowledge.regulations.values() for edition in item.edition]
    everything += knowledge.titles.texts
    everything += knowledge.chips.source
    yield from {(it.body, it.title, it.number, it.date): it for it in everything}.values()


def _by_body(found: Iterable[Source]) -> dict[str, tuple[str, ...]]:
    rows: dict[str, list[str]] = defaultdict(list)
    for text in found:
        number = f"no. {text.number}" if text.number.isdecimal() else text.number
        rows[text.body].append(", ".join(filter(None, (text.title, number, text.date))))
    return {body: tuple(sorted(names)) for body, names in sorted(rows.items())}


def _is_old(written: str, today: date) -> bool:
    """Whether the latest day that `written` can mean is more than five years before `today`."""
    limit = f"{today.year - OLD_YEARS:04}{today.isoformat()[4:]}"
    return written < limit[: len(written)]


# --- two ranges for one measure


def _ranges_apart(breed: Breed) -> Iterator[str]:
    for one, other in _pairs(breed):
        if not (one.number and other.number and one.weight == other.weight):
            continue
        if one.variety == other.variety and _apart(one.number, other.number):
            yield _sentence(one, other, f"two ranges for {one.number.what} that do not meet")


def _apart(one: Number, other: Number) -> bool:
    same = one.what.casefold() == other.what.casefold()
    if not same or (one.sex != other.sex and "both" not in (one.sex, other.sex)):
        return False
    unit, first = _span(one)
    other_unit, second = _span(other)
    slack = 1 + (_ROUNDING if one.unit != other.unit else 0)
    return unit == other_unit and (first[1] * slack < second[0] or second[1] * slack < first[0])


def _span(number: Number) -> tuple[str, tuple[float, float]]:
    unit, factor = _IN_BASE.get(number.unit, (number.unit, 1))
    low = float("-inf") if number.low is None else number.low * factor
    high = float("inf") if number.high is None else number.high * factor
    return unit, (low, high)


# --- two bites


def _bites_apart(breed: Breed) -> Iterator[str]:
    for one, other in _pairs(breed):
        if not (one.point == other.point == "bite" and one.weight == other.weight == "required"):
            continue
        if one.variety and other.variety and one.variety != other.variety:
            continue
        (asked, good), (other_asked, other_good) = bites(one.says), bites(other.says)
        if asked and other_asked and not good & other_good:
            yield _sentence(one, other, "two different bites are required")


def bites(says: str) -> tuple[frozenset[str], frozenset[str]]:
    """Return the bites that a line asks for, and with them those that it also puts up with."""
    asked: set[str] = set()
    good: set[str] = set()
    for clause in _CLAUSE.split(_LEVEL_ELSE.sub("", says.casefold())):
        named = {bite for bite, words in _BITES.items() if words.search(clause)}
        if _DENIES.search(clause):
            continue
        good |= named
        if not _ALLOWS.search(clause):
            asked |= named
    return frozenset(asked), frozenset(good)


def _pairs(breed: Breed) -> Iterator[tuple[Ask, Ask]]:
    by_standard: dict[str, list[Ask]] = defaultdict(list)
    for ask in breed.ask:
        by_standard[ask.standard].append(ask)
    for asks in by_standard.values():
        yield from combinations(asks, 2)


def _sentence(one: Ask, other: Ask, what: str) -> str:
    return f"standard {one.standard}: {what}: “{one.says}” and “{other.says}”"
