"""The tables. Each kind of record declares its fields once, here; the phone receives the same.

`Change` is the truth. A record's row is a projection of its changes: `cells` holds each field's
merge cell as JSON, the other columns the values shown, for queries.
"""

from __future__ import annotations

from typing import Any

from peewee import AutoField, BigIntegerField, Model, TextField

from ringside.book.fields import (
    Choice,
    Day,
    Flag,
    FreeText,
    Instant,
    Number,
    RecordField,
    Ref,
    WordList,
    Words,
)

STATION = 40
BODIES = ("FCI", "AKC", "KC", "CKC", "DA")
LEVELS = ("championship", "championship-cc", "open", "limited", "breed-club", "specialty", "cacib")


class Meta(Model):
    """What the book knows of itself: `format`, `id`, `secret`, one row each."""

    key = TextField(primary_key=True)
    value = TextField()

    class Meta:
        """Names the table."""

        table_name = "meta"


class Change(Model):
    """One field of one record set to one value; kept for ever.

    `seq` counts arrivals in commit order. `stamp` is what edits are ordered by; `raw` is the stamp
    the device gave, which differs only where its clock ran ahead of ours.
    """

    seq = AutoField()
    id = TextField(unique=True)
    kind = TextField()
    record = TextField()
    field = TextField()
    value = TextField()
    stamp = TextField(index=True)
    raw = TextField()  # type: ignore[assignment]  # hides Model.raw(), which we never call
    base = TextField()
    device = TextField()
    received = BigIntegerField()

    class Meta:
        """Names the table, and what is looked up together."""

        table_name = "change"
        indexes = ((("record", "field"), False),)


class Contested(Model):
    """A change that came with the id of another one but other content: kept apart, and shown."""

    key = AutoField()
    id = TextField(index=True)
    content = TextField()
    received = BigIntegerField()

    class Meta:
        """Names the table."""

        table_name = "contested"


class Record(Model):
    """Base of all kinds of record. `deleted` is a field like any other, so it can be undone."""

    id = TextField(primary_key=True)
    cells = TextField(default="{}")
    deleted = Flag()


class Dog(Record):
    """A dog of the kennel."""

    name = Words(40, required=True)
    pedigree = Words(120)
    breed = Words(60, required=True)
    sex = Choice("dog", "bitch", required=True)
    born = Day(required=True)
    surface = Choice("table", "ground", "ramp")
    body = Choice(*BODIES)
    short_faced = Flag()
    neutered = Flag()
    testes = Choice("both", "one", "none")
    testes_on = Day()
    microchip = Words(40)
    registration = Words(60)
    born_in = Words(2)


class Note(Record):
    """A private note on one dog at one station."""

    dog = Ref("dog", required=True)
    station = Words(STATION, required=True)
    text = FreeText(required=True)


class Cue(Record):
    """The handler's own line for one dog at one station; it leads the Ring card there."""

    dog = Ref("dog", required=True)
    station = Words(STATION, required=True)
    line = Words(80, required=True)


class Ask(Record):
    """The handler's own ask of a breed at one station, for all their dogs of that breed."""

    breed = Words(60, required=True)
    station = Words(STATION, required=True)
    says = FreeText(required=True)


class Order(Record):
    """An order of stations of one's own for a dog, named for the judge or the ring."""

    dog = Ref("dog", required=True)
    label = Words(40, required=True)
    stations = WordList(required=True)

    class Meta:
        """Names the table; `order` is a word of SQL."""

        table_name = "own_order"


class Walk(Record):
    """One walk through the card: where it stands, so that any phone can take it up again."""

    dog = Ref("dog", required=True)
    mode = Choice("ring", "rehearse", required=True)
    stations = WordList(required=True)
    place = Words(STATION)
    began = Instant(required=True)
    ended = Instant()


class Tick(Record):
    """What happened at one station of a walk. `open` again after an undo."""

    walk = Ref("walk", required=True)
    station = Words(STATION, required=True)
    state = Choice("done", "skipped", "open", required=True)
    at = Instant(required=True)


class Practice(Record):
    """How one station went in a rehearsal."""

    dog = Ref("dog", required=True)
    walk = Ref("walk")
    station = Words(STATION, required=True)
    grade = Choice("easy", "needs work", "not yet", required=True)
    handler = Words(60)
    at = Instant(required=True)


class Show(Record):
    """A show one means to go to, of one day or several."""

    name = Words(80, required=True)
    body = Choice(*BODIES, required=True)
    level = Choice(*LEVELS)
    day = Day(required=True)
    until = Day()
    place = Words(120)


class Entry(Record):
    """One dog at one show: where and when it goes in, as the schedule and the catalogue say."""

    dog = Ref("dog", required=True)
    show = Ref("show", required=True)
    klass = Words(40)
    day = Day()
    judge = Words(60)
    ring = Words(20)
    time = Words(20)
    armband = Words(12)


class Gate(Record):
    """One item of the gate check for one entry, as the handler's finger left it."""

    entry = Ref("entry", required=True)
    item = Words(STATION, required=True)
    state = Choice("ready", "not ready", "open", required=True)
    at = Instant(required=True)


class Kit(Record):
    """An item of one's own in the gate check of a dog."""

    dog = Ref("dog", required=True)
    line = Words(40, required=True)


class Measure(Record):
    """A weight or a height on a day."""

    dog = Ref("dog", required=True)
    what = Choice("weight", "height", required=True)
    value = Number(1000, required=True)
    unit = Choice("kg", "lb", "cm", "in", required=True)
    day = Day(required=True)


class Award(Record):
    """What a dog won: the stuff titles are counted from. `what` is an award kind of the body."""

    dog = Ref("dog", required=True)
    day = Day(required=True)
    body = Choice(*BODIES, required=True)
    what = Words(STATION, required=True)
    judge = Words(60)
    judge_country = Words(2)
    country = Words(2)
    show = Words(80)
    level = Choice(*LEVELS)
    klass = Words(40)
    points = Number(100)
    major = Flag()
    competing = Number(5000)
    champions = Number(5000)


KINDS: dict[str, type[Record]] = {
    model.__name__.lower(): model
    for model in (
        Dog,
        Note,
        Cue,
        Ask,
        Order,
        Walk,
        Tick,
        Practice,
        Show,
        Entry,
        Gate,
        Kit,
        Measure,
        Award,
    )
}
FIELDS: dict[str, dict[str, RecordField]] = {
    kind: {
        name: field for name, field in model._meta.fields.items() if isinstance(field, RecordField)
    }
    for kind, model in KINDS.items()
}
TABLES: list[type[Model]] = [Meta, Change, Contested, *KINDS.values()]


def declaration() -> dict[str, Any]:
    """Return {kind: {field: declaration}} as the phone receives it."""
    return {
        kind: {name: field.declare() for name, field in fields.items()}
        for kind, fields in FIELDS.items()
    }


__all__ = ["FIELDS", "KINDS", "TABLES", "Change", "Contested", "Meta", "Record"]
