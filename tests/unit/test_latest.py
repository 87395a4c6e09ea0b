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
from ringside.knowledge import load
from ringside.web.desk.latest import latest

NOW = 1_760_000_000_000  # 2025-10-09T08:53:20Z
KNOWLEDGE = load()
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


def lines(book: Book) -> list[tuple[str, str, list[tuple[str, str]], str]]:
    """What is shown: kind, about, edits, by."""
    found = latest(book.recent(60), book.record, {PHONE: "Robin's phone"}, KNOWLEDGE)
    return [(one["kind"], one["about"], one["edits"], one["by"]) for one in found]


def test_what_was_written_together_is_one_line_in_words(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper", breed="border-terrier", sex="bitch", born="2024-02-29")
    (line,) = lines(book)
    assert line == (
        "Dog",
        "Juniper",
        [
            ("name", "Juniper"),
            ("breed", "Border Terrier"),
            ("sex", "bitch"),
            ("date of birth", "29 February 2024"),
        ],
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
        ("Station of a walk", "Juniper", [("station", "Bite"), ("state", "done")]),
        (
            "Walk through the card",
            "Juniper",
            [("mode", "ring"), ("began", "5 December 2026, 09:30 UTC")],
        ),
        ("Entry", "Juniper", [("show", "Hollow Meadow"), ("class", "open")]),
        ("Show", "Hollow Meadow", [("name", "Hollow Meadow"), ("day", "5 December 2026")]),
        ("Dog", "Juniper", [("name", "Juniper")]),
    ]


def test_a_private_note_stays_veiled(book: Book) -> None:
    write(book, "note", NOTE, dog=DOG, station="ears", text="Turns his head away")
    (line,) = lines(book)
    assert line[0] == "Private note"
    assert line[2] == [("station", "Ears"), ("text", "(private)")]
    assert "Turns" not in str(line)


def test_what_was_cleared_removed_or_leads_nowhere(book: Book) -> None:
    write(book, "dog", DOG, name="Juniper")
    write(book, "dog", DOG, NOW + 1, pedigree=None, neutered=False, deleted=True)
    write(book, "dog", DOG, NOW + 2, deleted=False)
    write(book, "entry", ENTRY, NOW + 3, dog=str(uuid6.uuid7()), show=str(uuid6.uuid7()))
    found = lines(book)
    assert found[0][1:3] == ("", [("show", "not known here")])
    assert found[1][2] == [("", "brought back")]
    assert found[2][2] == [("registered name", "cleared"), ("neutered", "no"), ("", "removed")]


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
    said = [part for one in found for edit in one["edits"] for part in edit]
    assert "_" not in "".join(said)
    assert "2026-01-02" not in said
