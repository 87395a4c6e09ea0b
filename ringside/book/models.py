"""The tables of the book itself. What kinds of record there are is declared in `kinds`.

`Change` is the truth. A record's row is a projection of its changes.
"""

from __future__ import annotations

from peewee import (
    SQL,
    AutoField,
    BigIntegerField,
    BlobField,
    BooleanField,
    CompositeKey,
    Model,
    TextField,
)


class Meta(Model):
    """What the book knows of itself: `format`, `id`, `secret`, `kinds` and more, one row each."""

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
    """One record of any kind: `cells` is {field: merge cell} as JSON, the rest is for looking up.

    `about` is the record or breed it belongs to ("" for none), `beside` the first of what else its
    kind is looked up by, `moment` orders the records of one owner, `apart` tells that a text of it
    was written apart and waits for a choice. `deleted` is a field like any other, so that it can
    be undone.
    """

    kind = TextField()
    id = TextField()
    about = TextField()
    beside = TextField(constraints=[SQL("DEFAULT ''")])  # for versions that know no such column
    moment = TextField()
    deleted = BooleanField()
    apart = BooleanField()
    cells = TextField()

    class Meta:
        """Names the table, and what is looked up together."""

        table_name = "record"
        primary_key = CompositeKey("kind", "id")
        indexes = ((("kind", "about", "moment"), False),)


BESIDE = Record.index(
    Record.kind, Record.beside, name="record_beside", where=SQL("\"beside\" <> ''")
)
Record.add_index(BESIDE)
Record.add_index(Record.kind, name="record_apart", where=Record.apart)
Record.add_index(Record.kind, name="record_deleted", where=Record.deleted)


class Blob(Model):
    """The bytes of a photo that was copied to the book, by their SHA-256. No part of the log."""

    sha256 = TextField(primary_key=True)
    bytes = BlobField()
    received = BigIntegerField()

    class Meta:
        """Names the table."""

        table_name = "blob"


TABLES: list[type[Model]] = [Meta, Change, Contested, Record, Blob]
