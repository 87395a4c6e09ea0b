"""Two builds that declare other kinds, on one book and among its phones: what one of them does not
know it keeps, shows to nobody, and a helper neither gives nor gets it."""

from __future__ import annotations

import dataclasses
import json
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import psycopg
import pytest
import uuid6
from flask import Flask

from ringside import cli
from ringside.app import Settings, create_app
from ringside.book import devices, keeping
from ringside.book.devices import HELPER, OWNER, Devices, views
from ringside.book.feeds import Feeds
from ringside.book.keeping import checks, open_book
from ringside.book.kinds import KINDS, Kind, Seen, digest
from ringside.book.kinds.fields import MOST_TEXT_BYTES, Choice, Day, FreeText, Ref, Words
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.knowledge import Knowledge
from ringside.web import library
from ringside.web.pocket import Edition, publish
from tests.known import shipped
from tests.unit.test_pairing import PORT, Phone

NOW = 1_760_000_000_000
Kinds = Mapping[str, Kind]
Change = dict[str, Any]


def sketch(seen: Seen, **more: Any) -> Kind:
    fields = {"dog": Ref("dog"), "says": FreeText(), **more}
    return Kind(name="sketch", words="sketch", seen=seen, about="dog", fields=fields)


def with_kind(kind: Kind) -> Kinds:
    return {**KINDS, kind.name: kind}


def with_field() -> Kinds:
    dog = dataclasses.replace(KINDS["dog"], fields={**KINDS["dog"].fields, "horns": Words(9)})
    return with_kind(dog)


PRIVATE = with_kind(sketch(Seen.BY_OWNERS))
OPEN = with_kind(sketch(Seen.BY_ALL))


def new_id() -> str:
    return str(uuid6.uuid7())


# --- Over HTTP, with a book and its roles as another build declares them


class Served:
    """A book at the mercy of builds: `by` serves it with other kinds, as after an update."""

    def __init__(self, place: Place, knowledge: Knowledge, patch: pytest.MonkeyPatch) -> None:
        self.place = place
        self.knowledge = knowledge
        self.patch = patch
        self.book: Book | None = None
        self.phones: list[Phone] = []

    def by(self, kinds: Kinds) -> Book:
        self.close()
        for role, view in views(kinds).items():
            self.patch.setitem(devices.VIEWS, role, view)
        self.book = open_book(self.place, kinds)
        app = self.app()
        for phone in self.phones:
            phone.client, jar = app.test_client(), phone.client._cookies
            phone.client._cookies = jar
        return self.book

    def app(self) -> Flask:
        assert self.book
        return create_app(Settings(self.place.data, PORT), self.book, self.knowledge)

    def pair(self, role: str) -> Phone:
        assert self.book
        phone = Phone(self.app(), new_id())
        with self.book.session():
            code = Devices(self.book).offer(role, time.time_ns() // 1_000_000).typed
        assert phone.pair(code).status_code == 200
        self.phones.append(phone)
        return phone

    def close(self) -> None:
        if self.book:
            self.book.close()


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return shipped()


@pytest.fixture(scope="module")
def edition() -> list[Edition]:
    return []


@pytest.fixture
def served(
    tmp_path: Path, knowledge: Knowledge, edition: list[Edition], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Served]:
    def made_once(app: Flask, known: Knowledge) -> Edition:
        if not edition:
            edition.append(publish(app, known))
        return edition[0]

    monkeypatch.setattr(library, "publish", made_once)
    with closing(Served(Place(tmp_path), knowledge, monkeypatch)) as served:
        yield served


def ids(changes: list[Change]) -> list[str]:
    return [one["id"] for one in changes]


def pulled(phone: Phone, **more: Any) -> list[str]:
    """The ids of all that the book gives a phone from where it stands, which it still knows."""
    got = []
    while True:
        answer = phone.sync(**more).get_json()
        assert not answer["anew"]
        got += ids(answer["changes"])
        if not answer["more"]:
            return got


def strange(phone: Phone) -> list[Change]:
    """What the book of this build does not know: a kind, a field, names that every object has."""
    return [
        phone.change("sketch", new_id(), "says", "A secret"),
        phone.change("dog", new_id(), "horns", "A secret"),
        phone.change("constructor", new_id(), "constructor", "A secret"),
    ]


def test_what_is_not_known_goes_to_owners_and_to_no_helper(served: Served) -> None:
    book = served.by(KINDS)
    owner, other, helper = served.pair(OWNER), served.pair(OWNER), served.pair(HELPER)
    made = strange(owner)
    answer = owner.sync(*made).get_json()
    assert answer["taken"] == ids(made)
    assert pulled(other) == ids(made)
    assert "A secret" not in helper.sync().text
    assert pulled(helper) == []
    helper.cursor = ""
    assert pulled(helper, most=1) == []
    with book.session():
        assert [book.records(kind, with_deleted=True) for kind in KINDS] == [{}] * len(KINDS)


def test_what_is_not_known_is_taken_from_no_helper(served: Served) -> None:
    book = served.by(KINDS)
    helper = served.pair(HELPER)
    made = strange(helper)
    answer = helper.sync(*made).get_json()
    assert answer["taken"] == []
    assert {row["id"] for row in answer["refused"]} == set(ids(made))
    assert all("ask an owner of the book" in row["reason"] for row in answer["refused"])
    with book.session():
        assert book.newest() == 0


MORE: dict[str, tuple[Kinds, Kinds]] = {
    "a kind": (KINDS, OPEN),
    "a field": (KINDS, with_field()),
    "a kind that was for owners": (PRIVATE, OPEN),
}


@pytest.mark.parametrize("case", MORE)
def test_an_update_that_shows_more_leads_a_helper_from_the_start(case: str, served: Served) -> None:
    """It gets what lay behind its cursor, and is not told to send anything again."""
    before, after = MORE[case]
    served.by(before)
    owner, helper = served.pair(OWNER), served.pair(HELPER)
    plain = owner.change("dog", new_id(), "name", "Juniper")
    hidden = [
        owner.change("sketch", new_id(), "says", "A start"),
        owner.change("dog", plain["record"], "horns", "two"),
    ]
    assert len(owner.sync(plain, *hidden).get_json()["taken"]) == 3
    assert pulled(helper) == ids([plain])
    served.by(after)
    fields = views(after)[HELPER].fields
    assert fields
    shown = [one for one in (plain, *hidden) if f"{one['kind']}.{one['field']}" in fields]
    assert len(shown) > 1
    assert pulled(helper, most=1) == ids(shown)
    assert pulled(helper) == []


def test_an_update_that_shows_no_more_leaves_a_helper_where_it_is(served: Served) -> None:
    served.by(KINDS)
    owner, helper = served.pair(OWNER), served.pair(HELPER)
    owner.sync(owner.change("dog", new_id(), "name", "Juniper"), *strange(owner))
    assert len(pulled(helper)) == 1
    before = helper.cursor
    served.by(PRIVATE)
    assert pulled(helper) == []
    assert helper.cursor == before


def test_who_sees_a_kind_is_part_of_what_names_the_view() -> None:
    """And of the book's digest: else a server would go on showing what an update made private."""
    assert digest(PRIVATE) != digest(OPEN)
    assert views(PRIVATE)[HELPER].mark != views(OPEN)[HELPER].mark
    assert views(PRIVATE)[HELPER] == views(KINDS)[HELPER]


def test_a_server_of_another_version_says_so_and_takes_nothing(served: Served) -> None:
    stale = served.by(KINDS)
    owner = served.pair(OWNER)
    assert owner.get("/healthz").get_json() == {"ok": True}
    open_book(served.place, PRIVATE).close()
    answer = owner.sync(owner.change("dog", new_id(), "name", "Juniper"))
    assert answer.status_code == 503
    assert answer.get_json()["message"].startswith("Another version of Ringside has this book")
    health = owner.get("/healthz")
    assert (health.status_code, health.get_json()["ok"]) == (503, False)
    assert health.get_json()["reason"] == answer.get_json()["message"]
    with stale.session():
        assert stale.newest() == 0


OTHERS: dict[str, tuple[Kinds, Kinds]] = {
    "a kind more": (KINDS, OPEN),
    "a kind less": (OPEN, KINDS),
    "a kind that is for owners now": (OPEN, PRIVATE),
}


@pytest.mark.parametrize("case", OTHERS)
def test_a_server_of_another_version_gives_nothing_out(case: str, served: Served) -> None:
    """Else a phone's cursor would pass what it was not given, or a helper see what is private."""
    before, after = OTHERS[case]
    stale = served.by(before)
    owner, helper = served.pair(OWNER), served.pair(HELPER)
    made = owner.change("sketch", new_id(), "says", "A secret")
    assert owner.sync(made).get_json()["taken"] == ids([made])
    with stale.session():
        feed = Feeds(stale).make(HELPER)
    open_book(served.place, after).close()
    owner.cursor = helper.cursor = ""
    for phone, more in ((owner, {}), (owner, {"records": True}), (helper, {})):
        answer = phone.sync(**more)
        assert (answer.status_code, phone.cursor) == (503, "")
        assert answer.get_json()["message"].startswith("Another version of Ringside has this book")
    for path in ("/desk", "/api/calendar/all.ics", f"/api/photos/{'0' * 64}", "/healthz",
                 f"/calendar/{feed}.ics"):  # fmt: skip
        assert owner.get(path).status_code == 503, path
    served.by(after)
    page = owner.sync(records=True).get_json()
    assert "A secret" in json.dumps([page["records"], page["changes"]])


def test_a_book_taken_over_amid_a_sync_is_not_given_out(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    served.by(KINDS)
    owner = served.pair(OWNER)
    made = owner.change("dog", new_id(), "name", "Juniper")
    append = Book.append

    def overtaken(book: Book, *given: Any) -> Any:
        receipt = append(book, *given)
        open_book(served.place, PRIVATE).close()
        return receipt

    with monkeypatch.context() as patch:
        patch.setattr(Book, "append", overtaken)
        assert owner.sync(made).status_code == 503
    served.by(PRIVATE)
    assert owner.sync(made).get_json()["taken"] == ids([made])


# --- The rows, in both databases


@pytest.fixture
def place(tmp_path: Path, new_database: Callable[[], str]) -> Place:
    return Place(tmp_path, new_database())


def write(book: Book, kind: str, **values: Any) -> str:
    """Write a record as the desk does; its id."""
    with book.session():
        receipt = book.write_down(kind, [values], NOW)
        assert not receipt.refused
        sql = "SELECT record FROM change WHERE id = ?"
        return str(book.rows(sql, receipt.taken[0])[0][0])


def reopened(book: Book, kinds: Kinds) -> Book:
    book.close()
    return open_book(book.place, kinds)


def copies(place: Place) -> list[Any]:
    """The copies that were made before rows were made anew."""
    if not place.url:
        return sorted(place.copies.glob("*before-rebuild*")) if place.copies.exists() else []
    sql = "SELECT schema_name FROM information_schema.schemata WHERE schema_name LIKE 'before%'"
    with psycopg.connect(place.url) as db:
        return sorted(name for (name,) in db.execute(sql))


SHAPES: dict[str, Kind] = {
    "about another": dataclasses.replace(KINDS["entry"], about="show", also=()),
    "found by more": dataclasses.replace(KINDS["entry"], also=("show", "day")),
    "newest by a field": dataclasses.replace(KINDS["entry"], newest="day"),
    "told apart by a field": dataclasses.replace(KINDS["entry"], by="klass"),
    "a field more": dataclasses.replace(
        KINDS["entry"], fields={**KINDS["entry"].fields, "number": Words(9)}
    ),
    "other values": dataclasses.replace(
        KINDS["entry"], fields={**KINDS["entry"].fields, "klass": Choice(("open",))}
    ),
}


@pytest.mark.parametrize("case", SHAPES)
def test_another_shape_makes_the_rows_anew_after_a_copy(case: str, place: Place) -> None:
    book = open_book(place)
    dog, show = write(book, "dog", name="Juniper"), write(book, "show", name="Quarry")
    entry = write(book, "entry", dog=dog, show=show, klass="veteran", day="2026-03-14")
    kinds = with_kind(SHAPES[case])
    book = reopened(book, kinds)
    assert len(copies(place)) == 1
    with book.session():
        assert checks.is_as_its_log(book)
        owner = show if case == "about another" else dog
        assert list(book.about("entry", owner)) == [entry]
        day = "2026-03-14" if kinds["entry"].newest else ""
        assert book.rows("SELECT moment FROM record WHERE kind = 'entry'") == [(f"{day} {entry}",)]
        klass = book.record("entry", entry).get("klass")
        assert klass == (None if case == "other values" else "veteran")
    book = reopened(book, kinds)
    assert len(copies(place)) == 1, "once is enough"
    book = reopened(book, KINDS)
    with book.session():
        assert book.record("entry", entry)["klass"] == "veteran"
    book.close()


def test_what_only_words_change_leaves_the_rows(place: Place) -> None:
    book = open_book(place)
    write(book, "dog", name="Juniper")
    dog = dataclasses.replace(KINDS["dog"], words="hound", listed=False, packs=())
    book = reopened(book, with_kind(dog))
    assert copies(place) == []
    book.close()


@pytest.mark.parametrize(
    "named",
    [{"packs": ("owner",)}, {"packs_where": ("owner", "x")}, {"beside_packs": ("name", "owner")}],
    ids=lambda named: next(iter(named)),
)
def test_a_kind_names_no_field_that_it_has_not(named: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="dog has no field owner"):
        dataclasses.replace(KINDS["dog"], **named)


def test_builds_may_take_turns_for_long(place: Place) -> None:
    """Each turn makes the rows anew, after a copy of its own; nothing is lost on the way."""
    book = open_book(place)
    dog, sketches = write(book, "dog", name="Juniper"), []
    for turn in range(1, 13):
        book = reopened(book, PRIVATE if turn % 2 else KINDS)
        assert len(copies(place)) == turn
        if turn % 2:
            sketches.append(write(book, "sketch", dog=dog, says=f"Number {turn}"))
            with book.session():
                assert sorted(book.about("sketch", dog)) == sorted(sketches)
        with book.session():
            assert book.record("dog", dog)["name"] == "Juniper"
    book.close()


def test_a_kind_that_comes_brings_what_was_written_of_it_before(place: Place) -> None:
    """From phones of a newer build to a book of an older one: texts written apart are both there
    when it learns to read them."""
    book = open_book(place)
    record, stamps = new_id(), iter(range(1, 9))

    def sent(says: Any, device: str, **more: Any) -> Change:
        stamp = f"{NOW + next(stamps):012x}-0000-{device[-12:]}"
        place = {"kind": "sketch", "record": record, "field": "says", "value": says}
        return {"id": new_id(), **place, "stamp": stamp, "base": "", "device": device, **more}

    one, other = new_id(), new_id()
    made = [sent("One", one), sent("Other", other), sent(["no text"], one)]
    made.append(sent("2026-03-14", other, field="day"))
    with book.session():
        assert not book.append(made, NOW + 99).refused
        assert book.texts_apart() == []
    kinds = with_kind(sketch(Seen.BY_OWNERS, day=Day()))
    book = reopened(book, kinds)
    with book.session():
        (apart,) = book.texts_apart()
        assert (apart["record"], sorted(apart["texts"])) == (record, ["One", "Other"])
        assert book.record("sketch", record) == {"says": "Other", "day": "2026-03-14"}
        assert [change["value"] for change in book.page("").changes] == [
            change["value"] for change in made
        ]
    book.close()


# --- Another version's commands, while a server has the book

DOGLESS = {name: kind for name, kind in KINDS.items() if name != "dog"}


@pytest.fixture
def kept(place: Place) -> Iterator[Book]:
    """A book that a server of another version has, with a dog that it does not know."""
    book = open_book(place)
    write(book, "dog", name="Juniper")
    with book.session():
        Devices(book).served_at("http://localhost:8470/")
    book = reopened(book, DOGLESS)
    before = copies(place)
    with keeping.serving(place):
        yield book
    with book.session():
        assert book.is_kept_by_us()
    write(book, "show", name="Quarry")
    assert copies(place) == before
    book.close()


def test_the_daily_copy_is_left_to_the_version_that_has_the_book(kept: Book) -> None:
    assert keeping.daily(kept.place, date(2026, 11, 25)) is None


def test_an_export_leaves_the_book_to_another_version(kept: Book, tmp_path: Path) -> None:
    whole = tmp_path / "all.json"
    assert keeping.export(kept.place, whole).changes == 1
    assert "Juniper" in whole.read_text(encoding="utf-8")


def test_a_copy_leaves_the_book_to_another_version(kept: Book, tmp_path: Path) -> None:
    back = Place(tmp_path / "back")
    keeping.restore(back, keeping.backup(kept.place, tmp_path / "copy.db"))
    with closing(open_book(back)) as book, book.session():
        assert [dog["name"] for dog in book.records("dog").values()] == ["Juniper"]


def test_a_table_of_the_records_leaves_the_book_to_another_version(
    kept: Book, tmp_path: Path
) -> None:
    assert keeping.export_csv(kept.place, tmp_path / "csv") == 1
    assert "Juniper" in (tmp_path / "csv" / "dog.csv").read_text(encoding="utf-8")
    assert not list(kept.place.data.glob(".*"))


def test_a_check_and_a_code_leave_the_book_to_another_version(
    kept: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    named = ["--data", str(kept.place.data), "--database", kept.place.url]
    assert cli.main(["check", *named]) == 0
    assert "opens; 1 changes, 0 dogs" in capsys.readouterr().out
    assert cli.main(["pair", *named]) == 2
    assert "Pair with that version" in capsys.readouterr().err


# --- What a newer version allows, and this one does not

WIDER = with_kind(
    dataclasses.replace(
        KINDS["dog"], fields={**KINDS["dog"].fields, "sex": Choice(("dog", "bitch", "unsure"))}
    )
)


def test_an_export_of_what_a_newer_version_allowed_is_imported(
    place: Place, tmp_path: Path, new_database: Callable[[], str]
) -> None:
    """After a rollback: the log holds it still, and the rows once the version comes again."""
    book = open_book(place, WIDER)
    dog = write(book, "dog", name="Juniper", sex="unsure")
    book = reopened(book, KINDS)
    book.close()
    whole, again = tmp_path / "all.json", tmp_path / "again.json"
    keeping.export(place, whole)
    there = Place(tmp_path / "there", new_database())
    assert keeping.import_(there, whole).new == 2
    assert keeping.import_(place, whole).known == 2
    keeping.export(there, again)
    assert again.read_bytes() == whole.read_bytes()
    with closing(open_book(there)) as book, book.session():
        assert book.record("dog", dog) == {"name": "Juniper"}
        assert book.meta("strange") == "1"
        assert checks.is_as_its_log(book)
    with closing(open_book(there, WIDER)) as book, book.session():
        assert book.record("dog", dog) == {"name": "Juniper", "sex": "unsure"}


NOTELESS = {name: kind for name, kind in KINDS.items() if name != "note"}


@pytest.mark.parametrize("sign", ["\n", '"', "\x01", "\U0001f415"], ids=repr)
def test_the_longest_text_of_a_kind_that_is_not_known_is_taken(
    sign: str, place: Place, tmp_path: Path
) -> None:
    text, device = sign * (MOST_TEXT_BYTES // len(sign.encode())), new_id()
    stamp = f"{NOW:012x}-0000-{device[-12:]}"
    made = {"id": new_id(), "kind": "note", "record": new_id(), "field": "text", "value": text,
            "stamp": stamp, "base": "", "device": device}  # fmt: skip
    book = open_book(place, NOTELESS)
    with book.session():
        assert not book.append([made], NOW).refused
        book.append([{**made, "value": f"{text[1:]}."}], NOW)  # kept apart
    book = reopened(book, KINDS)
    with book.session():
        assert book.record("note", made["record"]) == {"text": text}
    book.close()
    whole = tmp_path / "all.json"
    keeping.export(place, whole)
    assert keeping.import_(Place(tmp_path / "again"), whole).new == 1
    keeping.restore(Place(tmp_path / "back"), keeping.backup(place, tmp_path / "copy.db"))


# --- Who begins is given the records, and beside them all that no record holds

SHORT = with_kind(
    dataclasses.replace(KINDS["dog"], fields={**KINDS["dog"].fields, "name": Words(9)})
)
LONG_NAME = "Juniper of Nowhere"


def begun(book: Book, size: int, cursor: str = "") -> tuple[list[str], str]:
    """One page for a phone that begins: the values and names in it, and the cursor behind it."""
    page = book.page(cursor, size=size, records=True)
    values = [json.dumps(change["value"]) for change in page.changes]
    return [*values, *(record.cells for record in page.records)], page.cursor if page.more else ""


@pytest.mark.parametrize("first", [KINDS, SHORT], ids=["newer first", "older first"])
def test_records_bring_what_one_of_the_builds_does_not_allow(first: Kinds, place: Place) -> None:
    """Another build serves the book from the second page on."""
    book = open_book(place)
    names = [f"{LONG_NAME} {number}" for number in range(3)]
    for name in names:
        write(book, "dog", name=name)
        write(book, "show", name="Quarry")
    book = reopened(book, first)
    with book.session():
        got, cursor = begun(book, 100)
    book = reopened(book, SHORT if first is KINDS else KINDS)
    with book.session():
        while cursor:
            found, cursor = begun(book, 100, cursor)
            got += found
    assert [name for name in names if name not in " ".join(got)] == []
    book.close()


def test_records_bring_another_builds_changes_on_the_first_page(place: Place) -> None:
    book = reopened(open_book(place, PRIVATE), PRIVATE)
    write(book, "dog", name="Juniper")
    write(book, "sketch", says="Bite")
    book = reopened(book, KINDS)
    with book.session():
        found, cursor = begun(book, 10**6)
    assert not cursor
    assert '"Bite"' in found
    book.close()
