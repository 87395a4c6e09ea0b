"""The book: what it takes, what it refuses, what it gives out, and which files it leaves alone."""

from __future__ import annotations

import itertools
import os
import random
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import uuid6

from ringside.book import clock, merge
from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.pages import Page
from ringside.book.place import FILE_NAME, Place
from ringside.book.store import Book, BookError
from ringside.book.taking import MOST_LEAD, Receipt

NOW = 1_760_000_000_000
PHONE, OTHER = str(uuid6.uuid7()), str(uuid6.uuid7())
DOG, NOTE = str(uuid6.uuid7()), str(uuid6.uuid7())

Change = dict[str, Any]


def stamp(at: int, device: str = PHONE, counter: int = 0) -> str:
    return f"{at:012x}-{counter:04x}-{clock.node_of(device)}"


def change(value: Any = "Juniper", at: int = NOW, **given: Any) -> Change:
    """A change of a dog's name unless told otherwise."""
    device = given.get("device", PHONE)
    return {
        "id": str(uuid6.uuid7()),
        "kind": "dog",
        "record": DOG,
        "field": "name",
        "value": value,
        "stamp": stamp(at, device),
        "base": "",
        "device": device,
        **given,
    }


def note(value: Any, at: int = NOW, **given: Any) -> Change:
    return change(value, at, **{"kind": "note", "record": NOTE, "field": "text", **given})


@pytest.fixture
def new_book(tmp_path: Path, new_database: Callable[[], str]) -> Iterator[Callable[[], Book]]:
    """A factory of books, each in a folder and a database of its own."""
    made: list[Book] = []

    def make() -> Book:
        made.append(open_book(Place(tmp_path / str(len(made)), new_database())))
        return made[-1]

    yield make
    for book in made:
        book.close()


@pytest.fixture
def book(new_book: Callable[[], Book]) -> Book:
    return new_book()


@pytest.fixture
def file_book(tmp_path: Path) -> Iterator[Book]:
    """A book in a file, for what is so of files alone."""
    book = open_book(Place(tmp_path / "closed"))
    yield book
    book.close()


def log(book: Book) -> list[tuple[Any, ...]]:
    with book.session():
        return book.rows("SELECT * FROM change ORDER BY seq")


def projection(book: Book) -> dict[str, list[tuple[Any, ...]]]:
    with book.session():
        return {
            kind: book.rows("SELECT * FROM record WHERE kind = ? ORDER BY id", kind)
            for kind in KINDS
        }


def pages(book: Book, cursor: str = "", most: int = 500) -> list[Page]:
    found = [book.page(cursor, (), most)]
    while found[-1].more:
        found.append(book.page(found[-1].cursor, (), most))
    return found


# --- taking in


def test_a_change_is_taken_and_shown(book: Book) -> None:
    made = change()
    assert book.append([made], NOW) == Receipt(taken=[made["id"]])
    assert book.records("dog") == {DOG: {"name": "Juniper"}}
    assert book.page("").changes == [made]


def test_a_known_change_counts_as_taken_and_is_kept_once(book: Book) -> None:
    made = change()
    for _ in range(3):
        assert book.append([made, made], NOW).taken == [made["id"], made["id"]]
    assert len(log(book)) == 1


def test_the_same_id_with_other_content_is_kept_apart(book: Book) -> None:
    made = change()
    book.append([made], NOW)
    for _ in range(2):
        receipt = book.append([{**made, "value": "Bramble"}], NOW)
        assert receipt.taken == []
        assert "both are saved" in receipt.refused[made["id"]]
    assert book.contested() == 1
    assert book.records("dog")[DOG]["name"] == "Juniper"


def test_the_same_id_twice_in_one_batch_with_other_content(book: Book) -> None:
    made = change()
    receipt = book.append([made, {**made, "value": "Bramble"}], NOW)
    assert receipt.taken == [made["id"]]
    assert book.contested() == 1


@pytest.mark.parametrize("many", [1, 64, 65, 66, 200])
def test_the_desk_settles_however_many_texts_are_apart(book: Book, many: int) -> None:
    devices = [str(uuid6.uuid7()) for _ in range(many)]
    book.append([note(f"{n}", device=device) for n, device in enumerate(devices)], NOW)
    receipt = book.revise("note", {NOTE: {"text": "Settled."}}, NOW + 1)
    assert receipt.refused == {}
    with book.session():
        heads = book.projection.cells("note", [NOTE])[NOTE]["text"]["heads"]
    assert list(heads.values()) == ["Settled."]


def test_one_bad_change_does_not_spoil_the_rest(book: Book) -> None:
    good, bad = change(), change("x" * 41)
    receipt = book.append([bad, good, 7, {"id": 5}], NOW)
    assert receipt.taken == [good["id"]]
    assert receipt.refused[bad["id"]] == (
        "The name of this dog has 41 characters; shorten it to 40."
    )
    assert "exactly the keys" in receipt.refused[""]


def nested(depth: int, *within: Any) -> Any:
    """Lists in each other, and what is in the last one."""
    value: Any = list(within)
    for _ in range(depth - 1):
        value = [value]
    return value


@pytest.mark.parametrize("value", [nested(50), nested(50, 7), ["é" * 262_142]], ids=range(3))
def test_what_is_not_known_is_taken_up_to_its_bounds(value: Any, book: Book) -> None:
    made = change(value, kind="cat")
    assert book.append([made], NOW).taken == [made["id"]]
    assert book.page("").changes == [made]


LONG_TEXT = "é" * 32_769
BAD: dict[str, tuple[Change, str]] = {
    "kind that is no word": (change(kind="a cat"), "The kind must be a word"),
    "kind of no type": (change(kind=["dog"]), "The kind must be a word"),
    "field that is no word": (change(field="__proto__"), "The field must be a word"),
    "field of no type": (change(field=None), "The field must be a word"),
    "unknown and more than 512 kB": (change(["é" * 262_143], kind="cat"), "more than 524288 bytes"),
    "unknown and 51 deep": (change(nested(51), kind="cat"), "nested more than 50 deep"),
    "unknown and 51 deep with a value": (change(nested(51, 7), field="horns"), "more than 50 deep"),
    "unknown and deeper than anybody reads": (change(nested(600, {}), kind="cat"), "50 deep"),
    "unknown and half a character": (change({"a": "\ud800"}, kind="cat"), "not JSON"),
    "unknown and no number": (change(float("nan"), field="horns"), "not JSON"),
    "wrong type": (change(7), "must be text"),
    "unknown choice": (change("cat", field="sex"), "must be one of: dog, bitch"),
    "no such day": (change("2026-02-30", field="born"), "there is no day"),
    "more than 64 kB": (note(LONG_TEXT), "split it into two"),
    "NUL": (note("a\0b"), "NUL"),
    "a lone surrogate": (note("a\ud800"), "half a character"),
    "an object for a value": (note({"a": {}}), "must be text"),
    "id not a UUID": (change(id="1"), "The id must be a UUID"),
    "record not a UUID": (change(record="x"), "The record must be a UUID"),
    "record of no type": (change(record=None), "The record must be a UUID"),
    "malformed stamp": (change(stamp="now"), "stamp is malformed"),
    "stamp in upper case": (change(stamp=stamp(NOW).upper()), "stamp is malformed"),
    "stamp with a newline": (change(stamp=stamp(NOW) + "\n"), "stamp is malformed"),
    "stamp of no type": (change(stamp=NOW), "stamp is malformed"),
    "stamp of another device": (change(stamp=stamp(NOW, OTHER)), "not made by the device"),
    "malformed base": (change(base="before"), "base is malformed"),
    "base of no type": (change(base=None), "base must be text"),
    "too many bases": (note("x", base=" ".join([stamp(1)] * 65)), "base must be text"),
    "base newer than itself": (change(base=stamp(NOW + 1, OTHER)), "replaces a newer value"),
    "base from the end of time": (
        note("x", base=stamp(2**48 - 1, OTHER)),
        "replaces a newer value",
    ),
    "base a count newer than itself": (
        change(base=stamp(NOW, counter=2)),
        "replaces a newer value",
    ),
    "a key more": ({**change(), "more": 1}, "exactly the keys"),
    "a key less": ({key: 0 for key in change() if key != "base"}, "exactly the keys"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_be_kept_is_refused_in_a_sentence(case: str, book: Book) -> None:
    book.append([change("Bramble", NOW - 9)], NOW)
    before = log(book), projection(book)
    bad, words = BAD[case]
    receipt = book.append([bad], NOW)
    assert receipt.taken == []
    (reason,) = receipt.refused.values()
    assert words in reason
    assert reason[0].isupper()
    assert reason.endswith(".")
    assert (log(book), projection(book)) == before


# --- order, repeats and splits


def history(length: int) -> list[Change]:
    """Changes by two phones, each building on what it has seen."""
    chance = random.Random(7)
    cells: dict[str, dict[Any, merge.Cell]] = {PHONE: {}, OTHER: {}}
    made: list[Change] = []
    for number in range(length):
        device = (
            [PHONE, OTHER][number % 2] if number >= length - 2 else chance.choice([PHONE, OTHER])
        )
        text = number >= length - 2 or chance.random() < 0.5
        key = ("note", NOTE, "text") if text else ("dog", DOG, "name")
        kind, record, name = key
        one = change(
            f"value {number}",
            NOW - length + number,
            kind=kind,
            record=record,
            field=name,
            device=device,
            base=merge.base(cells[device].get(key)),
        )
        made.append(one)
        # The last two are written apart: neither phone hears of the other's.
        seers = {device, chance.choice([PHONE, OTHER])} if number < length - 2 else {device}
        for seer in seers:
            cell = cells[seer].get(key)
            cells[seer][key] = merge.fold(cell, one["stamp"], one["base"], one["value"], text)
    return made


def test_any_order_split_and_repeat_lead_to_the_same_book(new_book: Callable[[], Book]) -> None:
    made = history(60)
    shuffled = made[:]
    random.Random(3).shuffle(shuffled)
    ways: list[list[list[Change]]] = [
        [made],
        [[one] for one in made],
        [shuffled],
        [[one] for one in shuffled],
        [made[:17], made[5:], made],
    ]
    found = []
    for way in ways:
        book = new_book()
        for batch in way:
            assert book.append(batch, NOW).refused == {}
        assert len(log(book)) == len(made)
        found.append(projection(book))
        book.rebuild()
        assert projection(book) == found[-1]
        apart = book.texts_apart()
        assert [(item["kind"], item["field"]) for item in apart] == [("note", "text")]
    assert all(one == found[0] for one in found)


def test_a_batch_of_ten_thousand(book: Book) -> None:
    made = [
        change(f"name {number}", NOW - 10_000 + number, record=str(uuid6.uuid7()))
        for number in range(10_000)
    ]
    receipt = book.append(made, NOW)
    assert len(receipt.taken) == 10_000
    assert len(book.records("dog")) == 10_000
    assert book.append(made, NOW).taken == receipt.taken
    got = [one for page in pages(book) for one in page.changes]
    assert sorted(got, key=lambda one: one["stamp"]) == made


def test_all_or_nothing_of_a_batch_is_stored(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: Any) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    with monkeypatch.context() as patch:
        patch.setattr(book.projection, "fold", fail)
        with pytest.raises(sqlite3.OperationalError):
            book.append([change(), note("text")], NOW)
    assert log(book) == []
    assert book.append([change()], NOW).refused == {}


# --- clocks


def test_a_stamp_that_leads_is_ordered_by_our_present(book: Book) -> None:
    early = change("early", NOW + MOST_LEAD)
    ahead = change("ahead", NOW + 86_400_000)
    receipt = book.append([early, ahead], NOW)
    assert receipt.taken == [early["id"], ahead["id"]]
    assert receipt.restamped == {ahead["id"]: stamp(NOW + MOST_LEAD, counter=1)}
    (*_, row) = log(book)
    assert ahead["stamp"] in row, "the raw stamp is kept"
    assert book.records("dog")[DOG]["name"] == "ahead"


@pytest.mark.parametrize("split", [1, 2, 3])
def test_edits_across_the_allowed_lead_keep_their_order(book: Book, split: int) -> None:
    """A phone five minutes ahead: one edit just within, the next just beyond."""
    within = note("within", NOW + MOST_LEAD - 1)
    beyond = note("beyond", NOW + MOST_LEAD + 1, base=within["stamp"])
    last = note("last", NOW + MOST_LEAD + 2, base=beyond["stamp"])
    made = [within, beyond, last]
    for batch in ([made], [made[:1], made[1:]], [[last, within, beyond]])[split - 1]:
        assert book.append(batch, NOW).refused == {}
    assert book.records("note")[NOTE]["text"] == "last"
    assert book.texts_apart() == []


def test_a_base_in_the_same_batch_follows_its_new_stamp(book: Book) -> None:
    day = 86_400_000
    first = note("first", NOW + day)
    second = note("second", NOW + day + 1, base=first["stamp"])
    receipt = book.append([first, second], NOW)
    assert receipt.refused == {}
    assert book.page("").changes[1]["base"] == receipt.restamped[first["id"]]


def test_a_base_whose_answer_was_lost_follows_its_new_stamp(book: Book) -> None:
    day = 86_400_000
    first = note("first", NOW + day)
    lost = book.append([first], NOW)
    second = note("second", NOW + day + 1, base=first["stamp"])
    receipt = book.append([first, second], NOW + 50)
    assert receipt.restamped[first["id"]] == lost.restamped[first["id"]]
    assert book.page("").changes[1]["base"] == lost.restamped[first["id"]]
    assert book.texts_apart() == []


def test_a_restamped_change_is_known_by_its_new_stamp_too(book: Book) -> None:
    made = change("ahead", NOW + 86_400_000)
    new = book.append([made], NOW).restamped[made["id"]]
    assert book.append([{**made, "stamp": new}], NOW) == Receipt(taken=[made["id"]])


def test_what_was_ordered_late_by_our_clock_gone_back_can_be_built_on(book: Book) -> None:
    """Our clock an hour back gave a phone a stamp later than its own next ones: no refusal."""
    book.append([note("of the hour", NOW, device=OTHER)], NOW)
    first = note("first", NOW - 3_000_000)
    new = book.append([first], NOW - 3_600_000).restamped[first["id"]]
    second = note("second", NOW - 2_999_000, base=new)
    assert book.append([second], NOW).refused == {}
    assert book.records("note")[NOTE]["text"] == "second"


# --- giving out


def test_pages_hold_everything_once_and_in_order(book: Book) -> None:
    made = history(23)
    for one in made:
        book.append([one], NOW)
    for most in (1, 7, 23, 24):
        found = pages(book, most=most)
        assert [one for page in found for one in page.changes] == made
        assert all(len(page.changes) <= most for page in found)
        assert not any(page.anew for page in found)
    assert book.page(found[-1].cursor).changes == []


def test_an_empty_book_gives_an_empty_page(book: Book) -> None:
    assert book.page("") == Page("", more=False, anew=False)


def test_what_was_just_sent_is_left_out_and_older_ones_of_the_device_are_not(book: Book) -> None:
    book.append([change("before", NOW - 9)], NOW)
    cursor = book.page("").cursor
    earlier, mine, yours = change("earlier"), change("mine"), change("yours", device=OTHER)
    book.append([earlier], NOW)
    taken = book.append([mine, yours], NOW).taken
    assert book.page(cursor, [mine["id"]]).changes == [earlier, yours]
    assert book.page(cursor, taken).changes == [earlier]
    assert book.page(book.page(cursor).cursor).changes == []


@pytest.mark.parametrize(
    "cursor",
    ["1", "7.x", "x", "99.1.000000000000", "-1.1.a", "١.1.a", "1.", " ", "1.1.a 2.2.b", "9" * 60],
)
def test_a_cursor_the_book_does_not_know_means_anew(book: Book, cursor: str) -> None:
    made = change()
    book.append([made], NOW)
    page = book.page(cursor)
    assert page.anew
    assert page.changes == [made]
    assert not book.page(page.cursor).anew


def lose_behind(book: Book, seq: int) -> None:
    """What restoring an older copy does."""
    with book.writing():
        book.rows("DELETE FROM change WHERE seq > ?", seq)
        book.rebuild()


def test_a_place_filled_again_after_a_restore_is_not_taken_for_the_old_one(book: Book) -> None:
    """Change 2 comes back as number 2, but behind another number 1 than before."""
    first, second, other = (change(str(number), NOW + number) for number in range(3))
    book.append([first], NOW)
    book.append([second], NOW + 1)
    cursor = book.page("").cursor
    lose_behind(book, 0)
    book.append([other], NOW + 2)
    book.append([second], NOW + 3)
    page = book.page(cursor)
    assert page.anew
    assert other in page.changes


def test_a_phone_in_the_midst_of_pages_hears_of_a_restore(book: Book) -> None:
    """Else it would believe that what it sent with the first page is safe."""
    book.append(history(9), NOW)
    cut = book.newest()
    book.append([change(device=OTHER)], NOW)
    page = book.page("", most=3)
    assert not book.page(page.cursor, most=3).anew
    lose_behind(book, cut)
    assert book.page(page.cursor, most=3).anew


def test_pages_skip_nothing_while_others_write(book: Book) -> None:
    """Two writers and a reader in threads of their own, each with its own connection."""
    batches = [
        [[change(f"{device[:4]} {number}", NOW + number, device=device) for number in group]
         for group in ([n, n + 1] for n in range(0, 120, 2))]
        for device in (PHONE, OTHER)
    ]  # fmt: skip
    failures: list[BaseException] = []

    def write(mine: list[list[Change]]) -> None:
        try:
            for batch in mine:
                with book.session():
                    book.append(batch, NOW)
        except BaseException as error:
            failures.append(error)

    writers = [threading.Thread(target=write, args=(mine,)) for mine in batches]
    for writer in writers:
        writer.start()
    got: list[str] = []
    cursor = ""
    while any(writer.is_alive() for writer in writers) or book.page(cursor).changes:
        page = book.page(cursor, most=5)
        got += [one["id"] for one in page.changes]
        cursor = page.cursor
        assert not page.anew
    for writer in writers:
        writer.join()
    assert failures == []
    wanted = [one["id"] for mine in batches for batch in mine for one in batch]
    assert sorted(got) == sorted(wanted)


def test_two_processes_may_write_the_same_book(book: Book) -> None:
    second = open_book(book.place)
    made = [change(str(number), NOW + number) for number in range(6)]
    for writer, one in zip(itertools.cycle([book, second]), made, strict=False):
        writer.append([one], NOW)
    assert book.page("").changes == second.page("").changes == made
    assert second.id == book.id
    second.close()


def test_deleting_can_be_undone(book: Book) -> None:
    book.append([change()], NOW)
    gone = change(True, NOW + 1, field="deleted")
    book.append([gone], NOW)
    assert book.records("dog") == {}
    assert DOG in book.records("dog", with_deleted=True)
    book.append([change(False, NOW + 2, field="deleted", base=gone["stamp"])], NOW)
    assert DOG in book.records("dog")


def test_a_list_is_given_back_as_a_list(book: Book) -> None:
    made = change(["bite", "head"], kind="order", field="stations")
    book.append([made], NOW)
    assert book.records("order")[DOG] == {"stations": ["bite", "head"]}
    assert book.page("").changes == [made]


# --- the file


def untouched(place: Place, words: str) -> None:
    before = place.file.read_bytes()
    with pytest.raises(BookError, match=words):
        open_book(place)
    assert place.file.read_bytes() == before
    assert [entry.name for entry in place.data.iterdir()] == [FILE_NAME]


@pytest.mark.parametrize(
    "content", [b"these are not the bytes of a book" * 200, b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_broken_file_is_left_alone(tmp_path: Path, content: bytes) -> None:
    place = Place(tmp_path)
    place.file.write_bytes(content)
    untouched(place, "not a book, or is damaged.*left as it is.*good copy.*--data")


def test_a_book_cut_short_is_left_alone(file_book: Book, tmp_path: Path) -> None:
    file_book.append(history(200), NOW)
    file_book.close()
    place = Place(tmp_path / "short")
    place.data.mkdir()
    whole = file_book.place.file.read_bytes()
    place.file.write_bytes(whole[: len(whole) // 2])
    untouched(place, "not a book, or is damaged")


@pytest.mark.parametrize(
    "table",
    ["dogs (name TEXT)", "meta (name TEXT)", "meta (key TEXT, value TEXT)"],
)
def test_another_programs_file_is_left_alone(tmp_path: Path, table: str) -> None:
    place = Place(tmp_path)
    with closing(sqlite3.connect(place.file)) as db:
        db.execute(f"CREATE TABLE {table}")
    untouched(place, "another program's data.*left as it is")


@pytest.mark.parametrize(
    ("number", "words"), [("3", "newer version; update"), ("many", "another program's data")]
)
def test_a_newer_format_is_left_alone(file_book: Book, number: str, words: str) -> None:
    with closing(sqlite3.connect(file_book.place.file)) as db:
        db.execute("UPDATE meta SET value = ? WHERE key = 'format'", (number,))
        db.commit()
    file_book.close()
    untouched(file_book.place, words)


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(BookError, match="Cannot make the folder"):
        open_book(Place(tmp_path / "file" / "deeper"))


def test_a_folder_in_the_books_place(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).mkdir()
    with pytest.raises(BookError, match="not a book, or is damaged"):
        open_book(Place(tmp_path))


@pytest.mark.skipif(os.name == "nt", reason="Windows has other permissions")
def test_only_its_owner_may_read_the_book(file_book: Book) -> None:
    assert file_book.place.file.stat().st_mode & 0o077 == 0
    assert file_book.place.data.stat().st_mode & 0o077 == 0


def test_a_closed_book_is_one_file_that_is_whole(file_book: Book) -> None:
    made = history(20)
    with file_book.session():
        file_book.append(made, NOW)
    file_book.close()
    assert [entry.name for entry in file_book.place.data.iterdir()] == [FILE_NAME]
    again = open_book(file_book.place)
    assert len(log(again)) == 20
    assert (again.id, again.secret) == (file_book.id, file_book.secret)
    again.close()
    file_book.close()
