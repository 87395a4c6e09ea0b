"""The latest changes at the desk: in words, a line for what was written together."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uuid6

from ringside.book import clock
from ringside.book.keeping import open_book
from ringside.book.kinds import KINDS
from ringside.book.place import Place
from ringside.book.store import Book
from ringside.web.desk.latest import latest
from tests.known import shipped

NOW = 1_760_000_000_000  # 2025-10-09T08:53:20Z
KNOWLEDGE = shipped()
PHONE = str(uuid6.uuid7())
DOG, NOTE, WALK, TICK, SHOW, ENTRY = (str(uuid6.uuid7()) for _ in range(6))


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = open_book(Place(tmp_path))
    with book.session():
        yield book
    book.close()


def write(book: Book, kind: str, record: str, at: int = NOW, /, **values: Any) -> None:
    stamp, made = "", []
    for name, value in values.items():
        stamp = clock.tick(stamp, at, clock.node_of(PHONE))
        about = {"id": str(uuid6.uuid7()), "kind": kind, "record": record, "field": name}
        made.append({**about, "value": value, "stamp": stamp, "base": "", "device": PHONE})
    assert not book.append(made, at).refused


def lines(book: Book) -> list[tuple[str, str, str, str]]:
    """What is shown: kind, about, phrase, by."""
    found = latest(book.recent(60), book.record, {PHONE: "Robin's phone"}, KNOWLEDGE)
    return [(one["kind"], one["about"], one["phrase"], one["by"]) for one in found]


def test_what_was_written_together_is_one_line_in_words(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper", breed="border-terrier", sex="bitch", born="2024-02-29")
    (line,) = lines(book)
    assert line == (
        "dog",
        "Juniper",
        "name Juniper, breed Border Terrier, sex bitch, date of birth 29 February 2024",
        "Robin's phone",
    )
    (said,) = latest(book.recent(9), book.record, {}, KNOWLEDGE)
    assert (said["when"].isoformat(), said["by"]) == ("2025-10-09T08:53:20+00:00", "")


def test_a_line_names_the_dog_it_leads_to(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper")
    write(book, "show", SHOW, NOW + 1, name="Hollow Meadow", day="2026-12-05")
    write(book, "entry", ENTRY, NOW + 2, dog=DOG, show=SHOW, klass="open")
    write(book, "walk", WALK, NOW + 3, dog=DOG, mode="ring", began="2026-12-05T09:30:00.000Z")
    write(book, "tick", TICK, NOW + 4, walk=WALK, station="bite", state="done")
    assert [line[:3] for line in lines(book)] == [
        ("station of a walk", "Juniper", "Bite: done"),
        ("walk through the card", "Juniper", "in the ring"),
        ("entry", "Juniper", "show Hollow Meadow, class open"),
        ("show", "Hollow Meadow", "name Hollow Meadow, day 5 December 2026"),
        ("dog", "Juniper", "name Juniper"),
    ]


def test_a_part_that_was_not_written_just_then_is_as_it_is_now(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper")
    write(book, "walk", WALK, dog=DOG, mode="ring", began="2026-12-05T09:30:00.000Z")
    write(book, "tick", TICK, NOW + 1, walk=WALK, station="bite", state="done")
    write(book, "tick", TICK, NOW + 2, state="open", at="2026-12-05T09:31:00.000Z")
    write(book, "walk", WALK, NOW + 3, place="neck")
    write(book, "walk", WALK, NOW + 4, ended="2026-12-05T09:40:00.000Z")
    assert [line[2] for line in lines(book)][:4] == ["ended", "", "Bite: open", "Bite: done"]


def test_what_people_won_weighed_and_packed_is_said_by_name(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper")
    made = {
        "award": {"body": "AKC", "what": "winners", "points": 3},
        "measure": {"what": "weight", "value": 5.8, "unit": "kg"},
        "gate": {"entry": ENTRY, "item": "papers-here", "state": "ready"},
        "kit": {"line": "Cooling coat wet"},
    }
    for later, (kind, values) in enumerate(made.items(), 1):
        owner = {} if kind == "gate" else {"dog": DOG}
        write(book, kind, str(uuid6.uuid7()), NOW + later, **owner, **values)
    name = KNOWLEDGE.titles.kinds["AKC"]["winners"].name
    assert [line[2] for line in lines(book)][:4] == [
        "Cooling coat wet",
        "Papers in the bag: ready",
        "weight 5.8 kg",
        f"{name}, rules of AKC, points 3",
    ]


def test_a_private_note_stays_veiled(book: Book) -> None:
    write(book, "note", NOTE, dog=DOG, station="ears", text="Turns his head away")
    (line,) = lines(book)
    assert line[0] == "private note"
    assert line[2] == "Ears: (private)"
    assert "Turns" not in str(line)


def test_what_was_cleared_removed_or_leads_nowhere(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper")
    write(book, "dog", DOG, NOW + 1, pedigree=None, neutered=False, deleted=True)
    write(book, "dog", DOG, NOW + 2, deleted=False)
    write(book, "entry", ENTRY, NOW + 3, dog=str(uuid6.uuid7()), show=str(uuid6.uuid7()))
    found = lines(book)
    assert found[0][1:3] == ("", "show not known here")
    assert found[1][2] == "brought back"
    assert found[2][2] == "registered name cleared, neutered no, removed"


def test_every_field_of_every_kind_can_be_said(book: Book) -> None:
    """Whatever a phone may write, the desk opens."""
    plain = {
        "words": "GB", "text": "A text", "choice": None, "day": "2026-01-02", "flag": True,
        "instant": "2026-01-02T03:04:05.678Z", "number": 4.5, "ref": DOG, "list": ["head", "bite"],
    }  # fmt: skip
    for kind, declared in KINDS.items():
        write(
            book,
            kind,
            str(uuid6.uuid7()),
            **{name: plain[f.kind] for name, f in declared.fields.items()},
        )
    found = latest(book.recent(500), book.record, {}, KNOWLEDGE)
    assert len(found) == len([kind for kind in KINDS.values() if kind.listed])
    said = [one["phrase"] for one in found]
    assert all(said)
    assert "_" not in "".join(said)
    assert "2026-01-02" not in said
