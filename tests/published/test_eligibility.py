"""Who may enter: against the regulations' own wording, dateutil, and the program against itself."""

from __future__ import annotations

import gzip
import json
import tomllib
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta

from ringside.book.kinds.common import MEMBERS as COUNTRIES
from ringside.domain.days import month_later
from ringside.domain.dog import Award, Dog, Felt
from ringside.domain.eligibility import (
    Ruling,
    Show,
    Window,
    bars,
    governs,
    pack_rules,
    pack_windows,
    verdicts,
    windows,
)
from ringside.domain.eligibility.members import members
from ringside.knowledge.regulation_schema import Bound, Regulation, ShowClass
from tests.known import shipped

REGULATIONS = shipped().regulations
MEMBERS = {key: regulation for key, _, regulation in members(REGULATIONS)}
BODIES = ("fci", "akc", "kc", "ckc", "da")
TABLE = Path(__file__).parent / "eligibility_examples.toml"
EXAMPLES = tomllib.loads(TABLE.read_text(encoding="utf-8"))["example"]
DAY = timedelta(days=1)


def first_prize(day: date, **other: Any) -> Award:
    """A first prize under The Kennel Club, at an open show unless said otherwise."""
    return Award(day, "class-first", "KC", **({"show_kind": "open"} | other))


# Dogs whose days are hard: no 31st, no 29 February, plain; with nothing and with much known.
DOGS = {
    "31st": Dog(born=date(2023, 8, 31)),
    "29 February": Dog(
        born=date(2024, 2, 29),
        sex="bitch",
        neutered=False,
        titles={"akc-ch": date(2025, 6, 1), "ckc-ch": date(2025, 7, 1)},
        awards=(
            first_prize(date(2025, 3, 1), klass="junior", ccs=False, breed_only=True),
            Award(date(2025, 4, 1), "cc", "DA", show_kind="championship"),
        ),
        born_in="US",
    ),
    "plain": Dog(
        born=date(2022, 1, 15),
        sex="dog",
        titles={},
        awards=tuple(
            first_prize(
                date(2023, 1, 1) + DAY * 30 * place, klass="limit", show_kind="championship"
            )
            for place in range(9)
        ),
        testes=Felt("one", date(2022, 6, 1)),
        registered={"KC": True, "DA": False},
        answers={"docked": True, "bred_by_exhibitor": True},
    ),
}


def award_of(written: dict[str, Any]) -> Award:
    """An award as the examples write it: what, whose, on which day, in which class and show."""
    names = {"award": "kind", "on": "day", "kind": "show_kind"}
    return Award(**{names.get(key, key): value for key, value in written.items()})


def dog_of(example: dict[str, Any]) -> Dog:
    known = dict(example.get("dog", {}))
    if "awards" in known:
        known["awards"] = tuple(award_of(award) for award in known["awards"])
    if "testes" in known:
        known["testes"] = Felt(**known["testes"])
    return Dog(born=example["born"], **known)


def show_of(example: dict[str, Any]) -> Show:
    kinds = frozenset(example["kinds"]) if "kinds" in example else None
    days = {key: example.get(key) for key in ("last", "shown", "closing")}
    return Show(example["first"], kinds=kinds, **days)


def ruling_of(example: dict[str, Any]) -> Ruling:
    found = verdicts((REGULATIONS | MEMBERS)[example["body"]], dog_of(example), show_of(example))
    return next(ruling for ruling in found if ruling.klass == example["class"])


def name_of(example: dict[str, Any]) -> str:
    return f"{example['body']} {example['class']} {example['born']} {example['first']}"


# --- The regulations' own wording ------------------------------------------------------------


@pytest.mark.parametrize("example", EXAMPLES, ids=name_of)
def test_examples_from_the_regulations(example: dict[str, Any]) -> None:
    ruling = ruling_of(example)
    assert (ruling.verdict, ruling.clause) == (example["expect"], example["clause"]), ruling.why
    assert ruling.why.endswith(".")
    assert example.get("says", "") in " ".join((ruling.why, *ruling.readings))
    assert len(ruling.readings) == example.get("readings", 0), ruling.readings
    assert ruling.instead == example.get("instead") or "instead" not in example
    assert ruling.read == example.get("read", ruling.read)


def test_the_examples_are_many_and_of_every_body() -> None:
    count = Counter(example["body"] for example in EXAMPLES)
    assert sum(count.values()) >= 60
    assert min(count[body] for body in BODIES) >= 10
    assert all(len(example["why"]) > 5 and example["clause"] for example in EXAMPLES)


@pytest.mark.parametrize("body", BODIES)
def test_every_verdict_names_clause_edition_and_how_it_was_read(body: str) -> None:
    regulation = REGULATIONS[body]
    for dog in DOGS.values():
        for window in windows(regulation, dog):
            ruling = window.ruling
            assert ruling.clause
            assert ruling.edition
            assert ruling.read in ("copy", "secondary", "memory")
            assert ruling.verdict in ("may", "may not", "may if")
            assert ruling.why.endswith(".")
            assert ".." not in ruling.why
    assert "schedule comes first" in governs(regulation)
    assert regulation.edition[0].title in governs(regulation)


def test_what_nobody_could_read_is_never_given_as_the_bodys_own_words() -> None:
    veteran = next(
        window.ruling
        for window in windows(REGULATIONS["akc"], Dog(born=date(2018, 1, 10)))
        if window.ruling.klass == "veterans"
    )
    assert veteran.read == "memory"


# --- Calendar months ---------------------------------------------------------------------------


def test_months_are_counted_as_dateutil_does_and_the_other_reading_is_the_next_day() -> None:
    checked = 0
    for step in range(0, 1461 * 2, 1):
        born = date(2019, 1, 1) + DAY * step
        for months in (3, 4, 6, 9, 12, 15, 18, 24, 36, 84, 96):
            early, late = month_later(born, months)
            assert early == born + relativedelta(months=months)
            assert late == (early if early.day == born.day else early + DAY)
            checked += 1
    assert checked > 30_000


def independent(bound: Bound, born: date, day: date, *, low: bool) -> bool | None:
    """Whether `day` is inside by dateutil's count; None where the bound or the month is open."""
    months = bound.months()
    assert months is not None
    gone = relativedelta(day, born)
    age = (gone.years * 12 + gone.months, gone.days)
    exact = age == (months, 0)
    if bound.inclusive == "silent" and exact:
        return None
    if low:
        return age >= (months, 0) if bound.inclusive else age > (months, 0)
    return age <= (months, 0) if bound.inclusive else age < (months, 0)


def age_state(window: Window) -> str:
    # Age is looked at first: any other reason means that the age was right.
    words = window.ruling.parts[0]
    for opening in ("Too young", "Too old", "Depends"):
        if words.startswith(opening):
            return opening
    return "inside"


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("born", [date(2023, 1, 1), date(2024, 2, 28), date(2022, 11, 15)])
def test_windows_agree_with_dateutil_where_nothing_is_open(body: str, born: date) -> None:
    regulation = REGULATIONS[body]
    known = Dog(
        born=born,
        titles={},
        awards=(),
        born_in="XX",
        answers={"country_admits_age": True},
    )
    classes = {klass.id: klass for klass in regulation.classes}
    for window in windows(regulation, known):
        klass = classes[window.ruling.klass]
        if klass.low is None:
            continue
        for day in days_of(window, born + DAY * 1200):
            expected = expected_age(klass, born, day)
            assert age_state(window) == expected, day


def expected_age(klass: ShowClass, born: date, day: date) -> str:
    low = independent(klass.low, born, day, low=True) if klass.low else True
    high = independent(klass.high, born, day, low=False) if klass.high else True
    if low is False:
        return "Too young"
    if high is False:
        return "Too old"
    return "Depends" if None in (low, high) else "inside"


def days_of(window: Window, until: date) -> Iterator[date]:
    day = window.start
    while day <= min(window.end or until, until):
        yield day
        day += DAY


# --- Windows -----------------------------------------------------------------------------------


def by_class(regulation: Regulation, dog: Dog) -> dict[str, list[Window]]:
    found: dict[str, list[Window]] = {}
    for window in windows(regulation, dog):
        found.setdefault(window.ruling.klass, []).append(window)
    return found


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("dog", DOGS.values(), ids=DOGS)
def test_windows_cover_the_whole_life_without_gap(body: str, dog: Dog) -> None:
    found = by_class(REGULATIONS[body], dog)
    assert set(found) == {klass.id for klass in REGULATIONS[body].classes}
    for row in found.values():
        assert row[0].start == dog.born
        assert row[-1].end is None
        for before, after in pairwise(row):
            assert before.end is not None
            assert before.start <= before.end
            assert after.start == before.end + DAY
            assert before.ruling != after.ruling


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("dog", DOGS.values(), ids=DOGS)
def test_windows_agree_with_the_verdict_of_every_day(body: str, dog: Dog) -> None:
    regulation = REGULATIONS[body]
    rows = by_class(regulation, dog)
    places = dict.fromkeys(rows, 0)
    for step in range(3 * 366):
        day = dog.born + DAY * step
        for ruling in verdicts(regulation, dog, Show(day)):
            row = rows[ruling.klass]
            place = places[ruling.klass]
            if row[place].end == day - DAY:
                place = places[ruling.klass] = place + 1
            assert row[place].ruling == ruling, (day, ruling.klass)


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize(
    "born", [date(2025, 5, 31), date(2024, 2, 29), date(2025, 8, 30), date(2023, 8, 31)]
)
def test_days_in_dispute_form_windows_of_their_own(body: str, born: date) -> None:
    disputed = [
        window
        for window in windows(REGULATIONS[body], Dog(born=born))
        if window.ruling.parts[0].startswith("Depends on")
    ]
    assert disputed
    for window in disputed:
        assert window.end is not None
        assert (window.end - window.start).days <= 1
        assert window.ruling.verdict == "may if"
        assert len(window.ruling.readings) == 2
        assert len(set(window.ruling.readings)) == 2


def test_a_birth_in_the_middle_of_a_month_leaves_no_month_in_dispute() -> None:
    for body in BODIES:
        for window in windows(REGULATIONS[body], Dog(born=date(2025, 3, 15))):
            assert "that has no" not in window.ruling.why
            assert "29 February" not in window.ruling.why


def test_a_window_as_data_has_the_dates_and_the_reason() -> None:
    row = by_class(REGULATIONS["kc"], Dog(born=date(2025, 1, 10)))["minor_puppy"][1].as_data()
    assert row == {
        "class": "minor_puppy",
        "from": date(2025, 7, 10),
        "to": date(2025, 10, 10),
        "verdict": "may",
        "why": "Right age: at least 6 months and not over 9 months.",
        "clause": "definitions of classes, Minor Puppy",
        "edition": "Show Regulations F, definitions of classes, "
        "as reprinted for shows of 2014 to 2021",
        "read": "secondary",
    }


def test_lameness_today_bars_at_the_show_but_is_no_window() -> None:
    sound = Dog(born=date(2023, 1, 10))
    lame = Dog(born=date(2023, 1, 10), answers={"lame": True})
    akc = REGULATIONS["akc"]
    assert windows(akc, lame) == windows(akc, sound)
    assert {ruling.verdict for ruling in verdicts(akc, lame, Show(date(2026, 1, 1)))} == {"may not"}


def test_a_show_before_birth_takes_no_dog() -> None:
    found = verdicts(REGULATIONS["kc"], Dog(born=date(2025, 1, 10)), Show(date(2024, 12, 1)))
    assert {ruling.why for ruling in found} == {"Not born yet on that day."}


# --- Rules that none of the five bodies has today ------------------------------------------------


def other(**changes: Any) -> Regulation:
    """The KC's regulations with some of their rules exchanged."""
    return REGULATIONS["kc"].model_copy(update=changes)


def minor_puppy(regulation: Regulation, born: date, show: Show) -> Ruling:
    found = verdicts(regulation, Dog(born=born), show)
    return next(ruling for ruling in found if ruling.klass == "minor_puppy")


@pytest.mark.parametrize(("reading", "day"), [("last day", 28), ("next day", 1)])
def test_a_body_that_settles_the_months_end_leaves_nothing_open(reading: str, day: int) -> None:
    rule = REGULATIONS["kc"].month_end.model_copy(update={"reading": reading})
    first = date(2026, 2, 28) if day == 28 else date(2026, 3, 1)
    born = date(2025, 8, 31)
    settled = other(month_end=rule)
    assert minor_puppy(settled, born, Show(first - DAY)).verdict == "may not"
    assert minor_puppy(settled, born, Show(first)).verdict == "may"


def test_the_closing_date_can_decide() -> None:
    ages = REGULATIONS["kc"].ages.model_copy(update={"decides": "closing date"})
    body, born, show_day = other(ages=ages), date(2025, 1, 10), date(2025, 7, 20)
    unknown = minor_puppy(body, born, Show(show_day))
    assert unknown.verdict == "may if"
    assert "closing date" in unknown.why
    early = minor_puppy(body, born, Show(show_day, closing=date(2025, 7, 9)))
    late = minor_puppy(body, born, Show(show_day, closing=date(2025, 7, 10)))
    assert (early.verdict, late.verdict) == ("may not", "may")


@pytest.mark.parametrize(("unit", "age", "days"), [("weeks", 16, 112), ("days", 90, 90)])
def test_weeks_and_days_are_counted_as_days(unit: str, age: int, days: int) -> None:
    kc = REGULATIONS["kc"]
    low = Bound.model_validate({"age": age, "unit": unit, "inclusive": True})
    klass = next(item for item in kc.classes if item.id == "minor_puppy")
    body = other(classes=(klass.model_copy(update={"low": low}),))
    born = date(2025, 8, 31)
    assert minor_puppy(body, born, Show(born + DAY * (days - 1))).verdict == "may not"
    assert minor_puppy(body, born, Show(born + DAY * days)).verdict == "may"


def test_a_first_prize_is_one_whatever_points_it_brought() -> None:
    firsts = tuple(first_prize(date(2025, 1, day), klass="junior", points=3) for day in (4, 5))
    dog = Dog(born=date(2023, 1, 10), awards=firsts)
    found = verdicts(REGULATIONS["kc"], dog, Show(date(2026, 6, 1)))
    assert next(ruling for ruling in found if ruling.klass == "novice").verdict == "may"


# --- The gate's list -----------------------------------------------------------------------------


def test_bars_tell_what_holds_what_does_not_and_what_to_ask() -> None:
    dog = Dog(born=date(2023, 1, 10), sex="dog", neutered=False, answers={"deaf": True})
    states = {bar["id"]: bar["state"] for bar in bars(REGULATIONS["ckc"], dog)}
    assert states["neutered"] == "clear"
    assert states["deaf"] == "hit"
    assert states["blind"] == "ask"
    assert states["testes"] == "ask"
    assert "in_season" not in {bar["id"] for bar in bars(REGULATIONS["akc"], dog)}


# --- What the phone is given -------------------------------------------------------------------


def unpacked(pack: dict[str, Any], body: str, klass: str) -> list[tuple[Any, ...]]:
    """Read rows as the phone does: verdict, read, sentence, readings from a day on."""
    words, found = pack["s"], []
    for start, code, parts, *rest in pack["w"][body][klass]:
        first, *others = [words[part] for part in ([parts] if isinstance(parts, int) else parts)]
        why = f"{first}; only if {', and '.join(others)}." if others else f"{first}."
        verdict = {"y": "may", "n": "may not", "i": "may if"}[code[0]]
        readings = tuple(words[place] for place in (rest[1] if len(rest) > 1 else ()))
        found.append((start, verdict, code[1], why, rest[0] if rest else "", readings))
    return found


@pytest.mark.parametrize("dog", DOGS.values(), ids=DOGS)
def test_the_pack_says_the_same_as_the_windows(dog: Dog) -> None:
    pack = json.loads(json.dumps(pack_windows(REGULATIONS, dog)))
    rules = json.loads(json.dumps(pack_rules(REGULATIONS)))
    for body in BODIES:
        for klass, row in by_class(REGULATIONS[body], dog).items():
            read = unpacked(pack, body, klass)
            assert len(read) == len(row)
            for window, (start, verdict, letter, why, fact, readings) in zip(
                row, read, strict=True
            ):
                ruling = window.ruling
                assert start == window.start.isoformat()
                assert (verdict, letter, why, readings) == (
                    ruling.verdict,
                    ruling.read[0],
                    ruling.why,
                    ruling.readings,
                )
                assert clause_in(rules["b"][body], klass, fact) == (ruling.clause, ruling.edition)


def clause_in(rules: dict[str, Any], klass: str, fact: str) -> tuple[str, str]:
    """Look a fact up as the phone does."""
    if not fact:
        clause, place, _ = rules["c"][klass]["f"]
    elif fact in rules["f"]:
        clause, place, _ = rules["f"][fact]
    else:
        clause, place, _ = rules["c"][klass]["q"][fact]["f"]
    return clause, rules["e"][place]


def weight(data: Any) -> int:
    return len(gzip.compress(json.dumps(data, separators=(",", ":")).encode()))


@pytest.mark.parametrize("born", [date(2025, 3, 15), date(2025, 8, 31), date(2024, 2, 29)])
def test_the_pack_of_a_puppy_is_small(born: date) -> None:
    assert weight(pack_windows(REGULATIONS, Dog(born=born))) < 3000
    assert weight(pack_rules(REGULATIONS)) < 6000


@pytest.mark.parametrize("dog", DOGS.values(), ids=DOGS)
def test_the_pack_of_a_dog_with_a_record_is_small(dog: Dog) -> None:
    assert weight(pack_windows(REGULATIONS, dog)) < 3300


def test_a_show_may_name_each_member_body() -> None:
    assert tuple(f"fci-{code}" for code in COUNTRIES) == tuple(sorted(MEMBERS))
