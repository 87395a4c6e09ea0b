"""Titles: worked examples from the bodies' own wording, and two slow ways to the same answers."""

from __future__ import annotations

import gzip
import json
import random
import tomllib
from calendar import isleap
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, permutations
from pathlib import Path
from typing import Any, get_args

import pytest
from dateutil.relativedelta import relativedelta

from ringside.domain.days import month_later
from ringside.domain.dog import Award, Dog, kind_of_level
from ringside.domain.titles import Tally, pack_titles, scheduled_points, tally, tally_all
from ringside.knowledge.schema import Body
from ringside.knowledge.title_schema import Schedule
from tests.known import shipped

BOOK = shipped().titles
EXAMPLES: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "title_examples.toml").read_text(encoding="utf-8")
)["example"]
FLAGS = {"yes": True, "no": False}
NUMBERS = {"points", "competing", "champions"}
DAY = timedelta(days=1)


def written(line: str, body: Body) -> Award:
    """An award as the examples write it; an underscore stands for a space in a name."""
    day, kind, judge, *rest = line.split(" ")
    country = rest.pop(0) if rest and "=" not in rest[0] else ""
    more: dict[str, Any] = {}
    for pair in rest:
        key, _, value = pair.partition("=")
        more[key] = int(value) if key in NUMBERS else FLAGS.get(value, value)
    more |= at_level(more.get("show_kind", ""))
    return Award(
        day=date.fromisoformat(day),
        kind=kind,
        body=body,
        judge=judge.replace("_", " "),
        country=country.strip("-"),
        **more,
    )


def at_level(level: str) -> dict[str, Any]:
    """The kind of show as an award holds it, from the one word that title files use."""
    show_kind, ccs = kind_of_level(level)
    return {"show_kind": show_kind, "ccs": ccs}


def won(dog: Dog, awards: list[Award]) -> Dog:
    """The dog with these awards."""
    return replace(dog, awards=tuple(awards))


def weighed(example: dict[str, Any]) -> Tally:
    title = BOOK.titles[example["title"]]
    dog = Dog(
        born=example.get("born"),
        titles=example.get("titles", {}),
        tests=example.get("tests", {}),
        awards=tuple(written(line, title.body) for line in example["awards"]),
    )
    return tally(title, dog, example["today"])


@pytest.mark.parametrize(
    "example", EXAMPLES, ids=[f"{item['title']}: {item['why'][:60]}" for item in EXAMPLES]
)
def test_examples(example: dict[str, Any]) -> None:
    result = weighed(example)
    if "missing_begins" in example:
        assert result.missing.startswith(example["missing_begins"])
    else:
        assert result.missing == example.get("missing", "")
    assert result.earned == example.get("earned")
    if "soonest" in example:
        assert result.soonest == example["soonest"]
    assert result.verdict.closed == example.get("closed", False)
    other = result.otherwise
    assert (other.earned if other else None) == example.get("otherwise_earned")
    assert (other.missing if other else "") == example.get("otherwise_missing", "")
    assert bool(result.open) == bool(other)
    if "counts" in example:
        assert list(result.counts) == example["counts"]
    for reason, places in example.get("aside", {}).items():
        assert list(result.aside.get(reason, ())) == places
    if example.get("clause_of") == "scheme":
        clauses = {scheme.clause for scheme in result.title.schemes.values()}
    else:
        clauses = {rule.clause for rule in result.rules}
    assert example["clause"] in clauses


def test_there_are_enough_examples_of_every_body() -> None:
    assert len(EXAMPLES) >= 40
    bodies = Counter(BOOK.titles[example["title"]].body for example in EXAMPLES)
    assert set(bodies) == set(get_args(Body))
    assert min(bodies.values()) >= 6


def test_every_award_counts_or_is_set_aside_once() -> None:
    for example in EXAMPLES:
        result = weighed(example)
        places = [place for group in result.aside.values() for place in group]
        assert sorted([*result.counts, *places]) == list(range(len(example["awards"])))


def test_the_order_of_entry_does_not_matter() -> None:
    shuffled = random.Random(7)
    for example in EXAMPLES:
        other = {**example, "awards": shuffled.sample(example["awards"], len(example["awards"]))}
        first, second = weighed(example), weighed(other)
        assert (first.verdict, first.otherwise) == (second.verdict, second.otherwise)


def test_the_soonest_day_is_the_soonest() -> None:
    """With a helpful award on that day the title is had; with one the day before it is not."""
    tried = 0
    for example in EXAMPLES:
        result = weighed(example)
        if result.soonest is None or not result.missing.startswith("One more C"):
            continue
        tried += 1
        kind = result.title.title.route[0].awards[0].kinds[0]
        for day, earned in ((result.soonest, True), (result.soonest - DAY, False)):
            if not earned and day < example["today"]:
                continue  # bound by today, not by a rule
            helpful = f"{day} {kind} Zoe ZZ judge_country=ZZ"
            then = {**example, "awards": [*example["awards"], helpful]}
            then["today"] = max(day, example["today"])
            assert (weighed(then).earned == day) is earned
    assert tried >= 15


# --- calendar months and years -----------------------------------------------------------------


@pytest.mark.parametrize("months", [1, 6, 9, 12, 15, 18, 36, 96])
def test_months_are_counted_as_dateutil_counts_them(months: int) -> None:
    day = date(2019, 1, 1)
    while day < date(2025, 1, 1):
        early, late = month_later(day, months)
        assert early == day + relativedelta(months=months)
        assert late == (early if early.day == day.day else early + DAY)
        day += DAY


def test_a_year_and_a_day_as_the_fci_counts_it() -> None:
    """From a date to the same date of the next year: that is 366 days, both ends counted."""
    title = BOOK.titles["fci-cib"]
    day = date(2023, 1, 1)
    while day < date(2025, 1, 1):
        after = day + relativedelta(years=1)
        exact = after.day == day.day
        assert (after - day).days + 1 == (366 if not _leap_between(day, after) else 367) - (
            not exact
        )
        awards = [
            Award(day, "cacib", "FCI", "Ann", "AT"),
            Award(day + DAY, "cacib", "FCI", "Ben", "DE"),
            Award(day + 2 * DAY, "cacib", "FCI", "Cleo", "CZ"),
            Award(after, "cacib", "FCI", "Ann", "AT"),
        ]
        result = tally(title, Dog(born=date(2019, 1, 1), awards=tuple(awards)), after)
        assert result.earned == (after if exact else None)
        if exact:
            early = (*awards[:3], Award(after - DAY, "cacib", "FCI", "Dan", "AT"))
            assert tally(title, Dog(born=date(2019, 1, 1), awards=early), after).earned is None
        else:
            assert result.otherwise
            assert result.otherwise.earned == after
        day += DAY


def _leap_between(first: date, last: date) -> bool:
    years = (year for year in (first.year, last.year) if isleap(year))
    return any(first <= date(year, 2, 29) <= last for year in years)


# --- the same by trying everything -------------------------------------------------------------


def slow_cib(awards: list[Award], count: int, judges: int, countries: int, apart: bool) -> bool:
    """Is there any group of `count` awards that has what the clause asks for?"""
    return any(
        len({award.judge for award in group}) >= judges
        and len({award.country for award in group}) >= countries
        and (
            not apart
            or max(award.day for award in group)
            >= min(award.day for award in group) + relativedelta(years=1)
        )
        for group in combinations(awards, count)
    )


@pytest.mark.parametrize(
    ("title", "kind", "count", "judges", "countries", "apart"),
    [
        ("fci-cib", "cacib", 4, 3, 3, True),
        ("fci-cib-working", "cacib", 2, 2, 2, True),
        ("fci-cib-v", "cacib-v", 3, 3, 3, False),
    ],
)
def test_no_group_of_certificates_is_overlooked(
    title: str, kind: str, count: int, judges: int, countries: int, apart: bool
) -> None:
    chance = random.Random(title)
    dog = Dog(born=date(2010, 3, 1), tests={"working-trial": None})
    seen = Counter[bool]()
    for _ in range(300):
        awards = [
            Award(
                date(2023, 2, 1) + DAY * chance.randrange(0, 480, 5),
                kind,
                "FCI",
                chance.choice("ABCD"),
                chance.choice(("AT", "DE", "CZ", "PL")),
                show=str(number),
            )
            for number in range(chance.randrange(count, 9))
        ]
        if chance.random() < 0.5:  # a few judges and countries only, where choosing is hard
            awards = [
                Award(award.day, kind, "FCI", award.judge, "AT", show=award.show)
                if award.judge != "A"
                else award
                for award in awards
            ]
        awards.sort(key=lambda award: award.day)
        days = sorted({award.day for award in awards})
        first = next(
            (
                day
                for day in days
                if slow_cib(
                    [award for award in awards if award.day <= day], count, judges, countries, apart
                )
            ),
            None,
        )
        result = tally(BOOK.titles[title], won(dog, awards), date(2025, 1, 1))
        assert result.earned == first
        seen[first is None] += 1
        if first:
            assert len(result.counts) == count
            assert slow_cib(
                [awards[place] for place in result.counts], count, judges, countries, apart
            )
    assert min(seen.values()) > 30


def slow_kc(awards: list[Award], of_age: date) -> bool:
    """Can the slots of either way be filled, each by another judge?"""
    adult = {award.judge for award in awards if award.kind == "cc" and award.day >= of_age}
    some = {award.judge for award in awards if award.kind == "cc"}
    reserve = {award.judge for award in awards if award.kind == "rcc"}
    return any(
        pair[0] in adult and (len(some - set(pair)) >= 1 or len(reserve - set(pair)) >= 5)
        for pair in permutations(some, 2)
    )


def test_no_choice_of_judges_is_overlooked() -> None:
    chance = random.Random(3)
    dog = Dog(born=date(2023, 3, 10))
    of_age = date(2024, 3, 11)
    seen = Counter[bool]()
    for _ in range(400):
        awards = [
            Award(
                date(2023, 10, 1) + DAY * chance.randrange(300),
                chance.choice(("cc", "rcc", "rcc", "rcc")),
                "KC",
                chance.choice("ABCDEFGHI"),
                show=str(number),
            )
            for number in range(chance.randrange(3, 14))
        ]
        awards = [award for award in awards if award.day != date(2024, 3, 10)]
        days = sorted({award.day for award in awards})
        first = next(
            (
                day
                for day in days
                if slow_kc([award for award in awards if award.day <= day], of_age)
            ),
            None,
        )
        result = tally(BOOK.titles["kc-ch"], won(dog, awards), date(2025, 1, 1))
        assert result.earned == first
        seen[first is None] += 1
    assert min(seen.values()) > 30


def test_the_day_it_was_earned_is_the_first_day_on_which_it_was() -> None:
    """Day by day, as the awards come in: earned once, and never undone by a further award."""
    chance = random.Random(11)
    earned = 0
    for title in BOOK.titles.values():
        held: dict[str, date | None] = {
            need.title: None for route in title.title.route for need in route.needs
        }
        held["ckc-ch"] = None
        veteran = "-v" in title.id
        young = title.id == "akc-poa"
        born = date(2023, 9, 1) if young else date(2014 if veteran else 2023, 2, 1)
        tests: dict[str, date | None] = {"working-trial": None, "performance-title": None}
        dog = Dog(born=born, titles=held, tests=tests)
        kinds = sorted(
            {kind for route in title.title.route for slots in route.awards for kind in slots.kinds}
            | {kind for scheme in title.schemes.values() for kind in scheme.kinds}
        )
        if not any(route.awards or route.points for route in title.title.route):
            continue
        for _ in range(6):
            awards = [
                Award(
                    date(2024, 1, 1) + DAY * chance.randrange(90 if young else 540),
                    chance.choice(kinds),
                    title.body,
                    chance.choice("ABCDEFGHIJKL"),
                    chance.choice(("AT", "DE", "CZ")),
                    chance.choice(("AT", "DE", "CZ")),
                    show=str(number),
                    **at_level(chance.choice(("open", "championship-cc", "specialty"))),
                    points=chance.choice((1, 3, 5, 25)),
                    champions=chance.choice((None, 1)),
                )
                for number in range(120)
            ]
            whole = tally(title, won(dog, awards), date(2026, 1, 1))
            days = sorted({award.day for award in awards})
            for day in (days[0], *chance.sample(days, 12), whole.earned or days[-1]):
                then = tally(title, won(dog, awards), day)
                assert then.earned == (
                    whole.earned if whole.earned and whole.earned <= day else None
                )
            if whole.earned:
                earned += 1
                before = [award for award in awards if award.day < whole.earned]
                assert tally(title, won(dog, before), date(2026, 1, 1)).earned is None
    assert earned > 40


# --- several titles, yearly schedules, the phone -----------------------------------------------


def test_a_title_found_earned_counts_for_the_next() -> None:
    awards = [
        Award(date(2024, 1, day), "winners", "AKC", f"Judge {day}", points=5) for day in (1, 2, 3)
    ]
    awards += [
        Award(date(2024, 2, day), "best-of-breed", "AKC", f"Judge {day}", points=5, champions=1)
        for day in (1, 2, 3, 4, 5)
    ]
    wanted = [BOOK.titles["akc-ch"], BOOK.titles["akc-gch"], BOOK.titles["akc-gchb"]]
    dog = won(Dog(born=date(2021, 1, 1)), awards)
    champion, grand, bronze = tally_all(wanted, dog, date(2025, 1, 1))
    assert champion.earned == date(2024, 1, 3)
    assert grand.earned == date(2024, 2, 5)
    assert bronze.missing == "75 more points."


def test_points_of_a_yearly_schedule() -> None:
    """Rows as published for 1999: dogs needed for one to five points, by division and sex."""
    rows = [
        Schedule(
            source="rules-16",
            clause="schedule of points",
            read="secondary",
            scheme="akc-ch",
            year=1999,
            valid_from=date(1999, 5, 1),
            valid_to=date(2000, 4, 30),
            division="1",
            breed="Moor Hound",
            sex=sex,
            needed=needed,
        )
        for sex, needed in (("dog", (2, 8, 14, 19, 27)), ("bitch", (3, 11, 18, 26, 40)))
    ]
    day = date(1999, 6, 1)
    for competing, points in ((1, 0), (2, 1), (7, 1), (8, 2), (14, 3), (26, 4), (27, 5), (99, 5)):
        assert scheduled_points(rows, day, "1", "moor hound", "dog", competing) == points
    assert scheduled_points(rows, day, "1", "Moor Hound", "bitch", 18) == 3
    assert scheduled_points(rows, date(2000, 5, 1), "1", "Moor Hound", "dog", 18) is None
    assert scheduled_points(rows, day, "2", "Moor Hound", "dog", 18) is None


def test_unknown_date_of_birth_is_said() -> None:
    awards = [Award(date(2024, 1, day), "cc", "KC", f"Judge {day}") for day in (1, 2, 3)]
    result = tally(BOOK.titles["kc-ch"], won(Dog(), awards), date(2025, 1, 1))
    assert result.earned == date(2024, 1, 3)
    assert result.open == ("The date of birth is not entered, so ages were not checked.",)


@pytest.mark.parametrize(
    ("title", "lines", "reason", "places"),
    [
        ("kc-ch", ["2022-12-31 cc Ann"], "dated before the dog was born", (0,)),
        ("kc-ch", ["2024-06-01 cc Ann", "2024-06-01 cc Ann"], "entered twice", (1,)),
        (
            "kc-ch",
            ["2024-06-01 cc Ann show=North", "2024-06-01 cc Ann show=South"],
            "judge already counted",
            (1,),
        ),
        ("kc-ch", ["2024-06-01 cc "], "no judge entered", (0,)),
        ("kc-ch", ["2024-06-01 group-1 Ann"], "not an award that this title counts", (0,)),
        ("akc-ch", ["2024-06-01 winners Ann"], "no points entered", (0,)),
        ("akc-ch", ["2024-06-01 winners Ann points=0"], "no points were won", (0,)),
        (
            "da-ch",
            ["2024-06-01 group-1 Ann"],
            "neither points nor the number competing entered",
            (0,),
        ),
        (
            "kc-jw",
            ["2024-06-01 best-puppy Ann - show_kind=championship-cc competing=9"],
            "no points for it at this kind of show",
            (0,),
        ),
        (
            "ckc-ch",
            ["2024-06-01 winners Ann competing=13", "2024-06-01 group-1 Ben competing=13"],
            "beyond the 5 points that one show can give",
            (1,),
        ),
        (
            "ckc-gchex",
            ["2024-06-01 best-in-show Ann points=5"],
            "won before the title that must come first",
            (0,),
        ),
    ],
)
def test_why_an_award_does_not_count(
    title: str, lines: list[str], reason: str, places: tuple[int, ...]
) -> None:
    rules = BOOK.titles[title]
    awards = [written(line, rules.body) for line in lines]
    result = tally(rules, won(Dog(born=date(2023, 1, 1)), awards), date(2024, 6, 15))
    assert dict(result.aside) == {reason: places}


def test_a_win_flagged_as_a_major_counts_at_least_as_one() -> None:
    awards = [Award(date(2024, 6, 1), "winners", "AKC", "Ann", major=True)]
    awards.append(Award(date(2024, 6, 2), "winners", "AKC", "Ben", points=4, major=False))
    result = tally(BOOK.titles["akc-ch"], won(Dog(), awards), date(2025, 1, 1))
    assert [(item.what, item.have, item.need) for item in result.have] == [
        ("points", 7, 15),
        ("majors", 1, 2),
        ("judges", 2, 3),
    ]


def test_a_tally_names_its_clause_and_edition() -> None:
    awards = [Award(date(2024, 1, day), "cc", "KC", f"Judge {day}") for day in (1, 2, 3)]
    dog = won(Dog(born=date(2020, 1, 1)), awards)
    result = tally(BOOK.titles["kc-ch"], dog, date(2025, 1, 1))
    assert result.sentence == "Earned on 3 January 2024."
    assert result.clause == "first way: one CC when the dog is over 12 months"
    assert (result.source.date, result.source.read) == ("2023-05", "copy")
    assert result.route == "three CCs"


def test_the_phone_gets_both_readings() -> None:
    awards = [Award(date(2024, 3, day), "cc", "KC", f"Judge {day}") for day in (8, 9, 10)]
    dog = won(Dog(born=date(2023, 3, 10), body="KC"), awards)
    packed = pack_titles(BOOK, dog, date(2024, 3, 10))
    champion = packed["titles"][0]
    assert champion["missing"] == "One more CC, from a third judge, on or after 11 March 2024."
    assert champion["otherwise"] == {"earned": "2024-03-10"}
    assert champion["open"] == [
        "Whether a CC of the very day on which the dog turns 12 months counts was not read."
    ]


def test_what_the_phone_gets() -> None:
    awards = [
        Award(date(2026, 3, 4), "cacib", "FCI", "Ann", "AT", id="a1"),
        Award(date(2026, 5, 10), "cacib", "FCI", "Ben", "DE", id="a2"),
        Award(date(2026, 6, 1), "rcacib", "FCI", "Ben", "CZ", id="a3"),
    ]
    dog = won(Dog(born=date(2023, 5, 1), body="FCI", trial=False), awards)
    packed = pack_titles(BOOK, dog, date(2026, 11, 25))
    assert json.loads(json.dumps(packed)) == packed
    assert [title["id"] for title in packed["titles"]] == ["fci-cib"]
    first = packed["titles"][0]
    assert first["missing"] == (
        "Two more CACIB, at least one from a third judge, at least one in a third country, "
        "the last on or after 4 March 2027."
    )
    assert first["soonest"] == "2027-03-04"
    assert first["have"] == [["CACIB", 2, 4], ["judges", 2, 3], ["countries", 2, 3]]
    assert first["counts"] == [2, ["a1", "a2"]]
    assert [aside[1:] for aside in first["aside"]] == [[1, ["a3"]]]
    clause, key, read = first["clauses"][0]
    assert (clause, read) == ("part A, a", "secondary")
    assert packed["sources"][key]["date"] == "2011"
    assert "schedule" in packed["caveats"]["FCI"]


def test_the_pack_is_small() -> None:
    chance = random.Random(5)
    awards = []
    for number in range(300):
        body = chance.choice(get_args(Body))
        kind = chance.choice(sorted(BOOK.kinds[body]))
        day = date(2024, 1, 1) + DAY * chance.randrange(700)
        judge = f"Judge {chance.randrange(60)}"
        awards.append(
            Award(
                day,
                kind,
                body,
                judge,
                chance.choice(("AT", "DE", "FR")),
                show=str(number),
                points=chance.choice((None, 1, 2, 5)),
                id=f"0192f0c1-2b3c-7d4e-8f90-{number:012d}",
            )
        )
    packed = pack_titles(BOOK, won(Dog(born=date(2021, 6, 1)), awards), date(2026, 1, 1))
    text = json.dumps(packed, separators=(",", ":"), ensure_ascii=False)
    assert len(gzip.compress(text.encode())) < 5_000


def test_every_rule_says_where_it_stands() -> None:
    for title in BOOK.titles.values():
        for route in title.title.route:
            for rule in route.rules():
                source = title.sources[rule.source]
                assert rule.clause
                assert source.title
                assert rule.read in ("copy", "secondary", "memory")
                assert rule.read != "copy" or source.read == "copy"
