"""Packs from the records of the book: what card, limits, titles and classes are made from."""

from __future__ import annotations

import gzip
import json
import threading
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.kinds.fields import Choice
from ringside.book.packs import PackShelf, as_dog
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.domain.limits import limits
from ringside.domain.pack import digest, pack, sources_book
from tests.benchmarks.packs import awards_of, dog_of
from tests.each import of_each
from tests.known import shipped
from tests.support import PATIENCE

KNOWLEDGE = shipped()
Data = dict[str, Any]

DOG = {
    "name": "Sorrel",
    "breed": "french-bulldog",
    "sex": "dog",
    "born": "2022-03-31",
    "body": "KC",
}
MOST_BYTES = 12_000


def made(values: Data, awards: list[tuple[str, Data]] | None = None) -> Data:
    return pack(KNOWLEDGE, as_dog(DOG | values, awards or []))


def award(number: int, **values: Any) -> tuple[str, Data]:
    usual = {"body": "AKC", "what": "winners", "day": f"2024-0{number}-15", "judge": f"J. {number}"}
    return f"a{number}", usual | values


def why(enter: Data, body: str, klass: str, day: str) -> str:
    """What the last row that has begun by `day` says."""
    row = [row for row in enter["w"][body][klass] if row[0] <= day][-1]
    places = row[2] if isinstance(row[2], list) else [row[2]]
    return row[1][0] + " " + "; ".join(enter["s"][place] for place in places)


# --- awards to titles to classes


def test_awards_make_a_title_and_the_title_opens_and_bars_classes() -> None:
    awards = [award(number, points=5) for number in (1, 2, 3)]
    found = made({"body": "AKC"}, awards)
    champion = next(t for t in found["titles"]["titles"] if t["id"] == "akc-ch")
    assert champion["earned"] == "2024-03-15"
    assert champion["counts"] == [3, ["a1", "a2", "a3"]]
    before, after = "2024-03-01", "2026-03-01"
    # Without the title it is an "if" for the owner's own count; with it, it is open.
    lacking = why(made({"body": "AKC"})["enter"], "akc", "best_of_breed", after)
    assert lacking.startswith("i ")
    assert not why(found["enter"], "akc", "best_of_breed", before).startswith("y ")
    assert why(found["enter"], "akc", "best_of_breed", after).startswith("y ")


def test_an_award_short_of_a_title_says_what_is_missing() -> None:
    titles = made({"body": "AKC"}, [award(1, points=4)])["titles"]["titles"]
    (champion,) = (title for title in titles if title["id"] == "akc-ch")
    assert champion["missing"].startswith("11 more points")
    assert "earned" not in champion
    assert made({"body": "AKC"})["titles"]["titles"] == []


def test_first_prizes_bar_where_the_class_counts_them() -> None:
    """A dog with four first prizes in the right classes is past the class for beginners."""
    wins = [
        award(n, body="KC", what="class-first", klass="open", level="championship-cc")
        for n in range(1, 6)
    ]
    plain, won = (
        why(made({}, awards)["enter"], "kc", "novice", "2026-06-01") for awards in ([], wins)
    )
    assert plain.startswith("y ")
    assert won.startswith("n ")


def test_an_award_without_its_day_or_body_counts_for_nothing() -> None:
    broken = [("b1", {"what": "winners", "points": 5}), ("b2", {"body": "AKC", "points": 5})]
    assert made({}, broken) == made({}, [])


def test_half_points_and_strange_kinds_are_no_hurdle() -> None:
    found = made({}, [award(1, what="no-such-award", points=2.5, competing=12.0)])
    assert {title["body"] for title in found["titles"]["titles"]} >= {"AKC"}


# --- testes, neutered


@pytest.mark.parametrize("state", ["one", "none"])
def test_testes_that_are_not_down_are_an_if(state: str) -> None:
    found = made({"testes": state, "testes_on": "2023-05-01"})
    assert "both testes are down by then" in why(found["enter"], "fci", "open", "2025-01-01")
    both = made({"testes": "both", "testes_on": "2023-05-01"})
    assert both["enter"] == made({})["enter"]


def test_testes_without_a_day_are_not_dated() -> None:
    """What was felt no one knows when is for the gate check to say."""
    assert made({"testes": "one"})["enter"] == made({})["enter"]


def test_neutered() -> None:
    found = made({"neutered": True})["enter"]
    changed = {
        body
        for body, classes in found["w"].items()
        for klass in classes
        if why(found, body, klass, "2025-01-01")
        != why(made({})["enter"], body, klass, "2025-01-01")
    }
    assert len(changed) >= 3


def test_without_a_birthday_there_are_no_classes() -> None:
    assert "enter" not in made({"born": None})
    assert made({"born": None})["limits"] == made({})["limits"]


@pytest.mark.parametrize("day", ["0001-01-01", "0002-12-31", "1899-12-31", "9999-12-31"])
@pytest.mark.parametrize("body", ["FCI", "AKC", "KC", "CKC", "DA"])
def test_a_day_at_either_end_of_the_calendar_is_taken_for_none(day: str, body: str) -> None:
    values = {"body": body, "born": day, "testes": "one", "testes_on": day}
    assert made(values, [award(1, day=day)]) == made({"body": body, "born": None})


@pytest.mark.parametrize("day", ["1900-01-01", "2199-12-31"])
def test_the_first_and_the_last_day_that_packs_are_made_from(day: str) -> None:
    values = {"born": day, "testes": "one", "testes_on": day}
    assert "enter" in made(values, [award(1, day=day)])


# --- the shelf


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    opened = open_book(Place(tmp_path))
    yield opened
    opened.close()


class Writer:
    """Writes fields into a book, each later than the last."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.count = 0

    def write(self, kind: str, number: int, **values: Any) -> str:
        record = f"00000000-0000-7000-8000-{number:012x}"
        changes = []
        for name, value in values.items():
            self.count += 1
            changes.append(
                {
                    "id": f"10000000-0000-7000-8000-{self.count:012x}",
                    "kind": kind,
                    "record": record,
                    "field": name,
                    "value": value,
                    "stamp": f"{self.count:012x}-0000-00000000000a",
                    "base": "",
                    "device": "00000000-0000-7000-8000-00000000000a",
                }
            )
        with self.book.session():
            receipt = self.book.append(changes, 1_800_000_000_000)  # type: ignore[arg-type]
        assert not receipt.refused, receipt.refused
        return record


def offered(shelf: PackShelf, book: Book, held: Any) -> Data:
    with book.session():
        return shelf.offer(book, held)


def test_the_shelf_makes_anew_what_changed_and_nothing_else(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    one = writer.write("dog", 1, **DOG)
    other = writer.write("dog", 2, **(DOG | {"name": "Rust"}))
    first = offered(shelf, book, {})
    assert set(first["packs"]) == {f"dog/{one}", f"dog/{other}"}
    counted: list[str] = []

    def counting(knowledge: Any, dog: Any) -> Data:
        counted.append(dog.breed)
        return pack(knowledge, dog)

    monkeypatch.setattr("ringside.book.packs.pack", counting)
    assert offered(shelf, book, first["hashes"])["packs"] == {}
    writer.write("award", 3, dog=one, body="AKC", what="winners", day="2024-03-01", points=5)
    second = offered(shelf, book, first["hashes"])
    assert list(second["packs"]) == [f"dog/{one}"]
    assert len(counted) == 1
    # What is no part of a pack changes none: a note, a weight, an entry.
    writer.write("measure", 4, dog=one, what="weight", value=13, unit="kg", day="2024-03-01")
    assert offered(shelf, book, second["whole"]) == {}
    # An award that is taken back counts no more.
    writer.write("award", 3, deleted=True)
    third = offered(shelf, book, second["hashes"])
    assert third["packs"] == {f"dog/{one}": first["packs"][f"dog/{one}"]}


def test_the_testes_felt_last_count_by_the_record_or_by_a_check(book: Book) -> None:
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    dog = writer.write("dog", 1, **DOG, testes="both", testes_on="2024-03-01")

    def pack_of() -> Data:
        pack: Data = offered(shelf, book, {})["packs"][f"dog/{dog}"]
        return pack

    by_record = pack_of()
    writer.write("check", 2, dog=dog, what="testes", found="one", day="2024-04-01")
    assert pack_of() == made({"testes": "one", "testes_on": "2024-04-01"}) != by_record
    # An older check, or one of something else, says nothing of it.
    writer.write("check", 2, day="2024-02-01")
    writer.write("check", 3, dog=dog, what="bite", found="good", day="2024-05-01")
    assert pack_of() == by_record


def test_a_check_of_anything_but_the_testes_makes_no_pack_anew(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    dog = writer.write("dog", 1, **DOG)
    whole = offered(shelf, book, {})["whole"]
    made: list[Any] = []
    monkeypatch.setattr("ringside.book.packs.pack", lambda *_: made.append(1) or {})
    writer.write("check", 2, dog=dog, what="bite", found="good", day="2024-05-01")
    assert offered(shelf, book, whole) == {}
    assert made == []
    for what in ("testes", "bite"):  # it becomes one of the testes, and is one no more
        writer.write("check", 2, what=what)
        offered(shelf, book, whole)
    assert made == [1, 1]


# Another value for a field of each type.
ANOTHER = {
    "words": "Other",
    "ref": "00000000-0000-7000-8000-0000000000ff",
    "flag": True,
    "day": "2021-03-31",
    "number": 7,
}
RECORDS = {
    "award": {"body": "KC", "what": "class-first", "klass": "open", "day": "2024-02-01"},
    "title": {"body": "KC", "what": "kc-ch"},
    "check": {"what": "testes", "found": "one", "day": "2024-04-01"},
}


@pytest.mark.parametrize(
    ("kind", "name"), [(kind.name, name) for kind in KINDS.values() for name in kind.beside_packs]
)
def test_what_is_declared_to_be_beside_the_packs_changes_none(
    book: Book, kind: str, name: str
) -> None:
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    dog = writer.write("dog", 1, **DOG)
    numbers = {"dog": 1}
    for number, (about, values) in enumerate(RECORDS.items(), 2):
        writer.write(about, number, dog=dog, **values)
        numbers[about] = number
    whole = offered(shelf, book, {})["whole"]
    field = KINDS[kind].fields[name]
    another = field.of[-1] if isinstance(field, Choice) else ANOTHER[field.kind]
    writer.write(kind, numbers[kind], **{name: another})
    assert offered(shelf, book, whole) == {}


def test_a_title_or_a_test_that_is_written_down_counts_everywhere(book: Book) -> None:
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    dog = writer.write("dog", 1, **(DOG | {"born": "2020-03-10", "body": "AKC"}))
    win = {"dog": dog, "body": "AKC", "what": "best-of-breed", "points": 5, "judge": "Ann"}
    writer.write("award", 2, **win, day="2024-03-01", champions=1)

    def pack_of() -> Data:
        return offered(shelf, book, {})["packs"][f"dog/{dog}"]

    def titles() -> set[str]:
        return {title["id"] for title in pack_of()["titles"]["titles"]}

    before = pack_of()["enter"]
    assert "akc-ch" in titles()
    assert "akc-gch" not in titles()  # waits for the title of champion
    writer.write("title", 3, dog=dog, body="AKC", what="akc-ch", day="2024-01-01")
    assert "akc-gch" in titles()
    assert "akc-ch" not in titles()
    assert pack_of()["enter"] != before  # some classes are for champions, or not for them
    writer.write("title", 3, deleted=True)
    assert pack_of()["enter"] == before


def test_a_working_test_that_is_written_down_earns_its_title(book: Book) -> None:
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    dog = writer.write("dog", 1, **(DOG | {"born": "2018-03-10", "body": "FCI", "trial": True}))
    for number, (day, judge, country) in enumerate(
        [("2023-02-01", "Ann", "AT"), ("2024-02-01", "Ben", "DE")]
    ):
        award = {"body": "FCI", "what": "cacib", "judge": judge, "country": country}
        writer.write("award", 2 + number, dog=dog, day=day, **award)

    def working() -> Data:
        tallies = offered(shelf, book, {})["packs"][f"dog/{dog}"]["titles"]["titles"]
        assert "fci-cib" not in {title["id"] for title in tallies}  # for breeds without a trial
        return next(title for title in tallies if title["id"] == "fci-cib-working")

    assert working()["missing"].startswith("A working test or trial")
    writer.write("title", 4, dog=dog, body="FCI", what="working-trial")
    assert working()["earned"] == "2024-02-01"


def test_two_who_renew_at_once_leave_no_older_packs(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One is slow with the packs as they were, and ends after one who saw a change since."""
    writer, shelf = Writer(book), PackShelf(KNOWLEDGE)
    dog = writer.write("dog", 1, **DOG)
    before = offered(PackShelf(KNOWLEDGE), book, {})
    almost, may_end = threading.Event(), threading.Event()
    slow = threading.Thread(target=offered, args=(shelf, book, {}))

    def held_up(data: Any) -> str:
        if threading.current_thread() is slow and set(data) == {f"dog/{dog}"}:  # the digest of all
            almost.set()
            assert may_end.wait(PATIENCE)
        return digest(data)

    monkeypatch.setattr("ringside.book.packs.digest", held_up)
    slow.start()
    assert almost.wait(PATIENCE)
    writer.write("dog", 1, breed="pug")
    offered(shelf, book, {})
    may_end.set()
    slow.join(PATIENCE)
    assert offered(shelf, book, before["whole"]) == {"wanted": True}
    assert list(offered(shelf, book, before["hashes"])["packs"]) == [f"dog/{dog}"]


# --- limits


def found(breed: str, sex: Any) -> list[Data]:
    return limits(KNOWLEDGE.breeds[breed], sex)


def test_limits_keep_the_standards_unit_and_weight() -> None:
    akc = [one for one in found("french-bulldog", "dog") if one["of"] == "AKC"]
    (bar,) = (one for one in akc if one["weight"] == "disqualifying")
    assert (bar["what"], bar["high"], bar["unit"], bar["of"]) == ("weight", 28, "lb", "AKC")
    assert "low" not in bar
    assert bar["source"].startswith("American Kennel Club: ")


def test_limits_are_those_of_the_sex() -> None:
    def fci(sex: Any) -> list[tuple[Any, ...]]:
        return [
            (one["what"], one.get("low"), one.get("high"))
            for one in found("french-bulldog", sex)
            if one["of"] == "FCI" and one["weight"] == "required"
        ]

    assert fci("dog") == [("height", 26, 36), ("weight", 9, 14)]
    assert fci("bitch") == [("height", 23, 33), ("weight", 8, 13)]
    assert sorted(fci(None)) == sorted(fci("dog") + fci("bitch"))


def test_a_limit_that_was_not_read_in_a_copy_says_so() -> None:
    (wanted,) = (one for one in found("beagle", "dog") if one["of"] == "KC")
    assert wanted["read"] == "memory"


def test_limits_of_a_variety_are_left_out() -> None:
    for breed in KNOWLEDGE.breeds.values():
        with_variety = {ask.says for ask in breed.ask if ask.variety}
        without = {ask.says for ask in breed.ask if not ask.variety}
        assert not {one["says"] for one in limits(breed, None)} & (with_variety - without)
    assert limits(None, "dog") == []


def test_only_means_that_no_other_body_disqualifies() -> None:
    seen = set()
    for breed in KNOWLEDGE.breeds.values():
        every = limits(breed, "dog")
        barring = [one for one in every if one["weight"] == "disqualifying"]
        for one in barring:
            alone = {other["of"] for other in barring} == {one["of"]}
            assert one.get("only", False) is alone, breed.name
            seen.add(alone)
        assert not [one for one in every if one not in barring and "only" in one]
    assert True in seen


def test_every_limit_can_be_compared_by_the_phone() -> None:
    units = {
        (one["what"], one["unit"])
        for breed in KNOWLEDGE.breeds.values()
        for one in limits(breed, None)
    }
    assert units <= {("weight", "kg"), ("weight", "lb"), ("height", "cm"), ("height", "in")}
    for breed in KNOWLEDGE.breeds.values():
        assert all("low" in one or "high" in one for one in limits(breed, None)), breed.name


# --- size


@of_each(sorted(KNOWLEDGE.breeds))
def test_a_pack_is_small(breed: str) -> None:
    """300 awards under all five bodies, for any breed, squeezed as it is sent."""
    values = dog_of(breed)
    awards = awards_of(KNOWLEDGE, 300)
    data = pack(KNOWLEDGE, as_dog(values, awards))
    squeezed = gzip.compress(json.dumps(data, ensure_ascii=False).encode())
    assert len(squeezed) <= MOST_BYTES


def test_a_pack_is_the_same_on_every_day() -> None:
    awards = awards_of(KNOWLEDGE, 30)
    data = json.dumps(pack(KNOWLEDGE, as_dog(DOG, awards)))
    assert date.today().isoformat() not in data.replace(awards[-1][1]["day"], "")


def test_the_sources_page_has_every_standard_once() -> None:
    rows = sources_book(KNOWLEDGE)["sources"]
    keys = [(row["body"], row["title"], row.get("number"), row.get("date")) for row in rows]
    assert len({json.dumps(row, sort_keys=True) for row in rows}) == len(rows)
    titles = {key[1] for key in keys}
    for breed in KNOWLEDGE.breeds.values():
        assert {standard.title for standard in breed.standard} <= titles
