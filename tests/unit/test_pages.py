"""What a phone is given: whole moments, pages by size, records as they stand, then the log."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import uuid6

from ringside.book import clock, merge
from ringside.book.devices import HELPER, VIEWS
from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.pages import Asked, Page, View
from ringside.book.place import Place
from ringside.book.store import Book

NOW = 1_760_000_000_000
PHONE, OTHER = (f"00000000-0000-7000-8000-00000000000{end}" for end in "ab")
HELPERS = VIEWS[HELPER]

Change = dict[str, Any]


@pytest.fixture
def book(tmp_path: Path, new_database: Callable[[], str]) -> Iterator[Book]:
    book = open_book(Place(tmp_path, new_database()))
    with book.session():
        yield book
    book.close()


def change(at: int, count: int = 0, device: str = PHONE, **given: Any) -> Change:
    return {
        "id": str(uuid6.uuid7()),
        "kind": "dog",
        "record": str(uuid6.uuid7()),
        "field": "name",
        "value": "Juniper",
        "stamp": f"{at:012x}-{2 * count:04x}-{clock.node_of(device)}",
        "base": "",
        "device": device,
        **given,
    }


def together(at: int, number: int, **given: Any) -> list[Change]:
    """Changes that one device wrote at one moment."""
    return [change(at, count, **given) for count in range(number)]


def pages(book: Book, asked: Asked, view: View | None = None) -> list[Page]:
    found = [book.seen(view or View(), asked)]
    while found[-1].more:
        following = Asked(found[-1].cursor, (), asked.most, asked.size, asked.records)
        found.append(book.seen(view or View(), following))
    return found


# --- whole moments


@pytest.mark.parametrize("most", [1, 2, 3, 7, 500])
@pytest.mark.parametrize("size", [1, 900, 2_000, 10**6])
def test_what_was_written_together_comes_together(book: Book, most: int, size: int) -> None:
    """Whatever the page holds else; and nothing is missing, doubled or out of its order."""
    chance = random.Random(most * size)
    moments = [together(NOW + at, chance.randint(1, 9)) for at in range(12)]
    for moment in moments:
        book.append(moment, NOW)
    found = pages(book, Asked(most=most, size=size))
    assert [one["id"] for page in found for one in page.changes] == [
        one["id"] for moment in moments for one in moment
    ]
    ids = [{one["id"] for one in page.changes} for page in found]
    for moment in moments:
        assert sum(bool(page & {one["id"] for one in moment}) for page in ids) == 1


def test_the_same_moment_of_two_devices_may_be_parted(book: Book) -> None:
    book.append(together(NOW, 3), NOW)
    book.append(together(NOW, 3, device=OTHER), NOW)
    assert [len(page.changes) for page in pages(book, Asked(most=1))] == [3, 3]


def test_a_page_is_cut_by_its_size(book: Book) -> None:
    """Long texts make short pages: 2,000 notes of 64 kB are never in memory at once."""
    for at in range(40):
        note = {"kind": "note", "field": "text", "value": "x" * 60_000}
        book.append([change(NOW + at, **note)], NOW)
    found = pages(book, Asked(size=200_000))
    assert [len(page.changes) for page in found] == [3] * 13 + [1]
    assert all(len(page.as_json()) < 260_000 for page in found)


def test_one_that_is_larger_than_a_page_comes_alone(book: Book) -> None:
    for at in range(3):
        note = {"kind": "note", "field": "text", "value": "x" * 60_000}
        book.append([change(NOW + at, **note)], NOW)
    assert [len(page.changes) for page in pages(book, Asked(size=2_000))] == [1, 1, 1]


def test_what_is_sent_reads_as_what_came(book: Book) -> None:
    strange = ['"', "\\", "\n", "\u2028", "é🐕", "</script>", "a" * 99]
    made = [change(NOW + at, field="pedigree", value=text) for at, text in enumerate(strange[:6])]
    made += [change(NOW + 9, kind="note", field="text", value=strange[2])]
    made += [change(NOW + 10, kind="order", field="stations", value=["bite", '"'])]
    taken = book.append(made, NOW).taken
    page = book.page("")
    said = json.loads(f"{{{page.as_json()}}}")["changes"]
    assert said == page.changes == [one for one in made if one["id"] in taken]


# --- records as they stand


def fill(book: Book, number: int = 60) -> None:
    chance = random.Random(3)
    dogs = [str(uuid6.uuid7()) for _ in range(4)]
    for at in range(number):
        dog = chance.choice(dogs)
        book.append([change(NOW + 3 * at, record=dog, value=f"Dog {at}")], NOW)
        values = (("dog", dog), ("station", "bite"), ("text", f"{at}"))
        for count, (field, value) in enumerate(values):
            place = {"kind": "note", "record": dog, "field": field}
            book.append([change(NOW + 3 * at + 1, count, **place, value=value)], NOW)


def standing(found: list[Page]) -> dict[tuple[str, str], dict[str, merge.Cell]]:
    """What a phone holds that joins the records and folds the changes it is given."""
    held: dict[tuple[str, str], dict[str, merge.Cell]] = {}
    for page in found:
        for record in page.records:
            cells = held.setdefault((record.kind, record.id), {})
            for name, cell in json.loads(record.cells).items():
                cells[name] = merge.join(cells[name], cell) if name in cells else cell
        for one in page.changes:
            kind = KINDS.get(one["kind"])
            if kind is None or one["field"] not in kind.fields:
                continue
            cells = held.setdefault((one["kind"], one["record"]), {})
            is_text = kind.fields[one["field"]].is_text
            cells[one["field"]] = merge.fold(
                cells.get(one["field"]), one["stamp"], one["base"], one["value"], is_text
            )
    return held


@pytest.mark.parametrize("size", [1, 500, 5_000, 10**6])
def test_who_begins_gets_the_records_as_they_stand(book: Book, size: int) -> None:
    fill(book)
    found = pages(book, Asked(size=size, records=True))
    assert standing(found) == standing(pages(book, Asked()))
    assert sum(len(page.changes) for page in found) == 0
    assert found[-1].cursor == book.page("").cursor
    assert not any(page.anew for page in found)


def test_what_the_others_are_about_comes_first(book: Book) -> None:
    """So that a new phone lists the dogs and the shows while the years behind are on their way."""
    fill(book)
    for number, kind in enumerate(("check", "show", "task", "dog")):
        field = "day" if kind in ("check", "show") else "deleted"
        value = "2026-03-14" if field == "day" else False
        made = change(NOW + number, kind=kind, field=field, value=value)
        assert not book.append([made], NOW).refused
    found = pages(book, Asked(size=300, records=True))
    kinds = [record.kind for page in found for record in page.records]
    first = sum(kind in ("dog", "show") for kind in kinds)
    assert {"check", "task", "note"} <= set(kinds[first:])
    assert set(kinds[:first]) == {"dog", "show"}


def test_what_is_written_meanwhile_comes_after(book: Book) -> None:
    fill(book)
    first = book.seen(View(), Asked(size=300, records=True))
    fill(book, 5)
    rest = pages(book, Asked(first.cursor, size=300, records=True))
    assert standing([first, *rest]) == standing(pages(book, Asked()))
    assert book.seen(View(), Asked(rest[-1].cursor, records=True)) == Page(
        rest[-1].cursor, more=False, anew=False
    )


def test_an_app_that_takes_no_records_gets_the_log(book: Book) -> None:
    fill(book, 3)
    (page,) = pages(book, Asked())
    assert not page.records
    assert len(page.changes) == 12


def test_a_helper_gets_no_private_record_and_no_private_field(book: Book) -> None:
    fill(book)
    found = pages(book, Asked(size=800, records=True), HELPERS)
    assert {record.kind for page in found for record in page.records} == {"dog"}
    assert "note" not in "".join(page.as_json() for page in found)


def test_what_no_record_holds_comes_as_it_was_written(book: Book) -> None:
    """A kind and a field of another version: to an owner's phone, and to nobody else's."""
    fill(book, 4)
    strange = [change(NOW + at, kind="sketch", field="lines", value=[at]) for at in range(700)]
    strange.append(change(NOW + 800, field="horns", value=2))
    assert not book.append(strange, NOW).refused
    fill(book, 2)
    found = pages(book, Asked(size=900, records=True))
    given = [one["id"] for page in found for one in page.changes]
    assert given == [one["id"] for one in strange]
    helpers = pages(book, Asked(size=900, records=True), HELPERS)
    assert not any(page.changes for page in helpers)


@pytest.mark.parametrize(
    "cursor",
    [
        "standing:", "standing:dog:x nothing", "standing:note: 1.2", "standing:?:x y.1",
        "standing:constructor:", "standing:dog", "standing:?:-1 ", "standing:é: é.1",
    ],
)  # fmt: skip
def test_a_place_among_records_that_is_none_means_anew(book: Book, cursor: str) -> None:
    fill(book, 3)
    page = book.seen(View(), Asked(cursor, records=True))
    assert page.anew
    assert page.records


def test_a_restored_copy_does_not_know_a_place_among_records(book: Book) -> None:
    fill(book)
    page = book.seen(View(), Asked(size=300, records=True))
    assert page.more
    with book.writing():
        book.rows("DELETE FROM change WHERE seq > 20")
        book.rebuild()
    assert book.seen(View(), Asked(page.cursor, size=300, records=True)).anew
